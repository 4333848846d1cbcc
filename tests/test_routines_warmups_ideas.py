"""What each warm-up is about, looked for in its notes."""

from __future__ import annotations

from itertools import pairwise

from routines.chords import Chord, home_of
from routines.hand.playing import hands
from routines.keys import CALLED
from routines.lick import Lick, TargetNote
from routines.warmups.steps import Step
from routines.warmups.table import warm_up


def rounds(name: str) -> list[tuple[Step, ...]]:
    found = warm_up(name)
    return [found.steps(number) for number in range(found.rounds)]


def steps(name: str) -> list[Step]:
    return [step for there in rounds(name) for step in there]


def due(lick: Lick, seven: int = -1) -> tuple[TargetNote, TargetNote]:
    """The last seven (or another one) and the note that it falls to."""
    ask = lick.sevenths[seven]
    assert ask.due_note is not None
    return lick.notes[ask.note], lick.notes[ask.due_note]


def place(note: TargetNote) -> tuple[float, int, int]:
    return note.onset_quarters, note.string, note.fret


class TestOpenStrings:
    def test_nothing_is_stopped(self) -> None:
        assert {note.fret for step in steps("open-strings") for note in step.lick.notes} == {0}

    def test_every_round_begins_with_two_fingers_on_one_string(self) -> None:
        for first, *_ in rounds("open-strings"):
            by_string: dict[int, str] = {}
            for note in first.lick.notes:
                by_string[note.string] = by_string.get(note.string, "") + note.finger
            assert by_string == {3: "TITITITI", 1: "MIMIMIM"}

    def test_all_five_rolls_come(self) -> None:
        names = {step.name for step in steps("open-strings")} - {"even"}
        assert names == {"forward", "backward", "alternating-thumb", "forward-reverse", "index-led"}


class TestHeldSevens:
    def test_the_thumb_strikes_the_seven_last_and_most_often_its_fall(self) -> None:
        for step in steps("held-sevens"):
            seven, fall = due(step.lick)
            assert (seven.onset_quarters, seven.finger) == (3.0, "T")
            assert (seven.midi - fall.midi, fall.onset_quarters) == (1, 4.0)
            drone = seven.string == 5
            assert (fall.string, fall.finger) == ((1, "M") if drone else (seven.string, "T"))

    def test_the_thumb_has_the_string_of_the_seven_to_itself_before_it(self) -> None:
        for step in steps("held-sevens"):
            seven, _ = due(step.lick)
            before = [n.string for n in step.lick.notes if n.onset_quarters == 2.5]
            assert seven.string not in before

    def test_each_round_has_all_four(self) -> None:
        for there in rounds("held-sevens"):
            assert [step.lick.chords[0].symbol for step in there] == ["D7", "G7", "C7", "A7"]

    def test_the_words_say_which_finger_brings_the_fall(self) -> None:
        for step in steps("held-sevens"):
            _, fall = due(step.lick)
            thumb = "the same thumb brings" in step.lick.trains
            assert thumb == (fall.finger == "T")
            assert thumb or step.lick.trains.endswith("the middle finger brings its fall on string 1.")

    def test_each_bar_is_one_held_shape_and_the_same_in_each_round(self) -> None:
        """No finger jumps from string to string; but one may lie over several strings at one fret."""
        held: dict[tuple[str, int, int], int] = {}
        for step in steps("held-sevens"):
            shapes: dict[tuple[str, int], set[tuple[int, int]]] = {}
            for note, finger in zip(step.lick.notes, hands(step.lick).left, strict=True):
                bar = step.lick.chords[int(note.onset_quarters // 4)].symbol
                assert held.setdefault((bar, note.string, note.fret), finger) == finger, step.name
                if finger:
                    shapes.setdefault((bar, finger), set()).add((note.string, note.fret))
            for places in shapes.values():
                assert len({fret for _, fret in places}) == 1, step.name

    def test_f_is_held_with_middle_index_and_ring_finger(self) -> None:
        for step in steps("held-sevens"):
            if step.lick.key == "F":
                found = zip(step.lick.notes, hands(step.lick).left, strict=True)
                over_f = {(n.string, n.fret): left for n, left in found if n.onset_quarters >= 4}
                assert over_f == {(3, 2): 2, (2, 1): 1, (1, 3): 3}

    def test_over_a7_each_open_fifth_string_is_the_seven(self) -> None:
        for step in steps("held-sevens"):
            drones = [note for note in step.lick.notes if note.string == 5 and note.onset_quarters < 4]
            over_a7 = step.lick.chords[0].symbol == "A7"
            assert drones
            assert {note.role for note in drones} == ({"seven"} if over_a7 else {"drone"})


class TestPinches:
    def test_a_round_goes_once_round_the_circle_and_closes(self) -> None:
        for there in rounds("pinches"):
            spans = [[span.chord for span in step.lick.chords] for step in there]
            chain = [chord for chords in spans for chord in chords[:-1] if chord]
            assert len({chord.root.pitch_class for chord in chain}) == 12
            ends = [chords[-1].root.pitch_class for chords in spans if chords[-1]]
            starts = [chords[0].root.pitch_class for chords in spans if chords[0]]
            assert ends == [*starts[1:], starts[0]]

    def test_in_a_chain_both_fall_a_fret_and_at_home_the_third_rises(self) -> None:
        for step in steps("pinches"):
            lick = step.lick
            for bar in range(1, lick.bars):
                before, after = ({n.string: n for n in _in_bar(lick, b)} for b in (bar - 1, bar))
                moves = {before[s].role: after[s].fret - before[s].fret for s in before}
                home = bar == lick.bars - 1
                assert moves == {"seven": -1, "third": 1 if home else -1}
            assert all(ask.marked for ask in lick.thirds if ask.change_quarters)
            assert len(lick.thirds) == len(lick.sevenths) == 9


def _in_bar(lick: Lick, bar: int) -> list[TargetNote]:
    return [note for note in lick.notes if 4 * bar <= note.onset_quarters < 4 * (bar + 1)]


class TestSlurs:
    def test_each_brings_a_seven_in_its_own_way(self) -> None:
        for there in rounds("slurs"):
            found = [{step.lick.notes[ask.note].technique for ask in step.lick.sevenths} for step in there]
            ways = [ways - {"pick"} for ways in found]
            assert ways == [{"hammer"}, {"pull"}, {"slide"}, {"choke"}]
            for step in there:
                assert due(step.lick)[1].onset_quarters == 4.0

    def test_the_slid_seven_rings_as_long_as_is_said(self) -> None:
        (step,) = {step for step in steps("slurs") if step.name == "slide"}
        seven, fall = due(step.lick)
        assert (fall.onset_quarters - seven.onset_quarters) / 0.5 == 3
        assert "rings for three eighths" in step.lick.trains
        on_its_string = [n.onset_quarters for n in step.lick.notes if n.string == seven.string]
        assert not any(seven.onset_quarters < onset < fall.onset_quarters for onset in on_its_string)


class TestWanderingSeven:
    def test_only_the_eighth_of_the_seven_moves(self) -> None:
        for there in rounds("wandering-seven"):
            assert [due(step.lick)[0].onset_quarters for step in there] == [2.0, 2.5, 3.0, 3.5]
            assert len({place(due(step.lick)[1]) for step in there}) == 1
            assert len({due(step.lick)[0].midi for step in there}) == 1
            around = {
                tuple((n.string, n.fret) for n in step.lick.notes if n.role != "seven") for step in there
            }
            assert len(around) == 1
            fixed = {
                tuple(place(n) for n in step.lick.notes if not 2.0 <= n.onset_quarters < 4.0)
                for step in there
            }
            assert len(fixed) == 1

    def test_each_round_has_its_seven_on_another_string(self) -> None:
        assert [due(there[0].lick)[0].string for there in rounds("wandering-seven")] == [2, 1, 3]


class TestTwoDoors:
    def test_the_same_seven_falls_to_the_same_note_and_the_third_rises_in_both(self) -> None:
        over_g, over_em, _ = (step.lick for step in warm_up("two-doors").steps(0))
        assert [place(n) for n in due(over_g)] == [place(n) for n in due(over_em)]
        assert [n.midi for n in due(over_g)] == [60, 59]
        assert [n.role for n in (due(over_g)[1], due(over_em)[1])] == ["third", "fifth"]
        for lick in (over_g, over_em):
            (third,) = lick.thirds
            assert (lick.notes[third.note].midi, third.due_midi, third.how) == (54, 55, "resolve")

    def test_only_what_stands_under_them_differs(self) -> None:
        over_g, over_em, _ = (step.lick for step in warm_up("two-doors").steps(0))
        differ = [
            (one.string, one.fret, other.fret)
            for one, other in zip(over_g.notes, over_em.notes, strict=True)
            if place(one) != place(other)
        ]
        assert differ == [(4, 0, 2), (1, 0, 2), (1, 0, 2)]

    def test_both_is_one_after_the_other(self) -> None:
        both = warm_up("two-doors").steps(0)[2].lick
        assert [span.symbol for span in both.chords] == ["D7", "G", "D7", "Em"]


class TestSevenFinder:
    def test_a_round_keeps_to_one_string_and_finds_every_seventh_of_the_keys_that_jams_call(self) -> None:
        for there in rounds("seven-finder"):
            assert len({note.string for step in there for note in step.lick.notes}) == 1
            chords = [span.chord for step in there for span in step.lick.chords if span.chord]
            sevenths = [chord for chord in chords if chord.dominant]
            assert {home_of(chord).symbol for chord in sevenths} == set(CALLED)
            assert len(sevenths) == len(CALLED)

    def test_every_note_is_a_seven_or_its_fall_on_the_same_string(self) -> None:
        for step in steps("seven-finder"):
            for ask in step.lick.sevenths:
                assert ask.due_note is not None
                seven, fall = step.lick.notes[ask.note], step.lick.notes[ask.due_note]
                assert (seven.fret - fall.fret, seven.string) == (1, fall.string)
            assert len(step.lick.sevenths) == 6
            assert {n.role for n in step.lick.notes if n.onset_quarters % 8 >= 4} == {"third"}

    def test_its_words_name_what_is_looked_for(self) -> None:
        assert warm_up("seven-finder").steps(0)[0].says == "String 2. F#7: E. B7: A."


class TestChopSevenths:
    def test_closed_shapes_on_two_and_four_alone(self) -> None:
        for step in steps("chop-sevenths"):
            assert {note.onset_quarters % 4 for note in step.lick.notes} == {1.0, 3.0}
            assert all(note.fret for note in step.lick.notes)
            assert 0 not in hands(step.lick).left

    def test_the_seven_moves_a_fret_on_its_string_and_the_third_as_it_should(self) -> None:
        for step in steps("chop-sevenths"):
            for number, ask in enumerate(step.lick.sevenths):
                seven, fall = due(step.lick, number)
                assert (ask.how, seven.string, seven.fret - fall.fret) == ("resolve", fall.string, 1)
            assert all(ask.how == "resolve" for ask in step.lick.thirds)
            assert len(step.lick.thirds) == len(step.lick.sevenths)

    def test_words_say_where_the_seven_is(self) -> None:
        assert warm_up("chop-sevenths").steps(0)[0].says.endswith("the seven inside, string 3, fret 5 to 4")
        assert warm_up("chop-sevenths").steps(1)[0].says.endswith("the seven on top, string 1, fret 5 to 4")

    def test_words_of_a_chain_name_its_moves(self) -> None:
        for step in rounds("chop-sevenths")[2]:
            bars = [{n.string: n.fret for n in _in_bar(step.lick, bar)} for bar in range(3)]
            moves = [{s: after[s] - before[s] for s in before} for before, after in pairwise(bars)]
            assert moves == [{3: -1, 2: -2, 1: -1}, {3: -1, 2: 0, 1: 1}]
            assert step.says.endswith(": all down, string 2 by 2 frets; then string 3 down, 1 up")


class TestThroughTheKeys:
    def test_the_capo_only_goes_up_and_the_frets_stay(self) -> None:
        there = steps("through-the-keys")
        assert [step.lick.key for step in there] == ["G", "A", "Bb", "B", "C"]
        assert [step.lick.neck.capo for step in there] == [0, 2, 3, 4, 5]
        assert len({tuple(place(note) for note in step.lick.notes) for step in there}) == 1

    def test_the_words_say_where_capo_and_fifth_string_go(self) -> None:
        assert [step.says for step in warm_up("through-the-keys").steps(0)] == [
            "G: no capo",
            "A: capo 2, fifth string up to a, by a spike at fret 7 or its peg",
            "Bb: capo 3, fifth string up to bb, by a spike at fret 8",
        ]


class TestThinningClick:
    def test_the_same_roll_with_ever_less_click(self) -> None:
        there = rounds("thinning-click")
        assert [[step.click for step in one] for one in there] == [["halves"], ["second"], ["gaps"], ["off"]]
        assert len({one[0].lick for one in there}) == 1
        assert Chord.parse("D7") in [span.chord for span in there[0][0].lick.chords]
