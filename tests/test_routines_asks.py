"""What a lick asks of its sevens and thirds, worked by hand; the examples of the judges' words among them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.asks import Asked, Marks, read_asks
from routines.changes import parse_changes
from routines.chords import Chord, ChordSpan
from routines.library import load
from routines.lick import Ask, Lick, TargetNote
from routines.neck import Neck
from tests.few import few_licks
from tests.in_turn import in_turn

NECK = Neck()
A = "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 2/0 1/0 5/0 3/0 1/0 5/0 3/0 -"
B = "3/0 2/0 1/3 5/0 2/0 1/3 5/0 1/3 3/0 1/2 5/0 2/1 - - - -"


def notes_at(places: str) -> list[TargetNote]:
    """Notes from string/fret, one an eighth; `-` is a rest, `+` joins a pinch."""
    notes = []
    for eighth, typed in enumerate(places.split()):
        for place in typed.split("+") if typed != "-" else []:
            string, fret = map(int, place.split("/"))
            midi = NECK.midi(string, fret)
            notes.append(
                TargetNote(
                    onset_quarters=eighth / 2, duration_quarters=0.5, midi=midi, string=string, fret=fret
                )
            )
    return sorted(notes, key=lambda note: (note.onset_quarters, note.midi))


def asked(places: str, changes: str, *, bar: float = 4.0, **marks: frozenset[float]) -> Asked:
    meter = "2/2" if bar == 4.0 else "3/4"
    return read_asks(notes_at(places), parse_changes(changes, meter=meter), bar, Marks(**marks))


def sevens(
    places: str, changes: str, **marks: frozenset[float]
) -> list[tuple[float, str, float | None, int | None]]:
    """Of each seven: its onset, how it is asked, and where and to what pitch."""
    found = asked(places, changes, **marks)
    return [(found.notes[a.note].onset_quarters, a.how, a.place_quarters, a.due_midi) for a in found.sevenths]


def at(*eighths: int) -> frozenset[float]:
    return frozenset((eighth - 1) / 2 for eighth in eighths)


# Eighths below are counted from 1: b2e1 is 9, at 4.0 quarters.


def test_lick_a_every_c_is_asked_to_fall_to_b_on_the_downbeat() -> None:
    assert sevens(A, "D7 G") == [
        (0.5, "resolve", 4.0, 59),
        (2.0, "resolve", 4.0, 59),
        (3.5, "resolve", 4.0, 59),
    ]


def test_lick_b_written_late_is_asked_for_where_it_is_written() -> None:
    assert sevens(B, "G7 C") == [(n, "resolve", 4.5, 64) for n in (1.0, 2.5, 3.5)]


def test_an_ask_names_both_chords_the_change_and_the_due_note() -> None:
    found = asked("3/2 - - - - - 2/1 - 2/0", "D7 G")
    assert found.sevenths == (
        Ask(
            note=1, chord="D7", next_chord="G", change_quarters=4.0, how="resolve", due_midi=59,
            place_quarters=4.0, due_note=2, marked=False,
        ),
    )  # fmt: skip


class TestRoles:
    def test_functions_over_the_chord_of_the_moment(self) -> None:
        found = asked("1/0 1/4 3/2 2/1 2/0 - - - 2/0 1/0 3/0 2/1", "D7 G")
        assert [n.role for n in found.notes] == [
            "root", "third", "fifth", "seven", "passing", "third", "fifth", "root", "passing",
        ]  # fmt: skip

    def test_an_open_fifth_string_is_a_drone_even_where_it_is_the_seven(self) -> None:
        assert asked("5/0 - 5/7", "A7 D").notes[0].role == "drone"
        assert asked("5/0", "A7 D").sevenths == ()

    def test_unless_the_lick_marks_it_as_the_seven(self) -> None:
        found = asked("3/2 - - - - - 5/0 - 1/4", "A7 D", fifth_seven=at(7))
        assert found.notes[1].role == "seven"
        assert [(a.note, a.due_midi, a.due_note) for a in found.sevenths] == [(1, 66, 2)]

    def test_a_mark_does_not_make_another_pitch_a_seven(self) -> None:
        assert asked("5/0", "D7 G", fifth_seven=at(1)).notes[0].role == "drone"

    def test_a_stopped_fifth_string_is_no_drone(self) -> None:
        assert asked("5/9", "G7 C").notes[0].role == "third"

    def test_the_seventh_of_a_major_seven_is_no_seven(self) -> None:
        found = asked("1/4", "Gmaj7 C")
        assert found.notes[0].role == "passing"
        assert found.sevenths == ()


class TestWhere:
    """Each place at which the due note may be written, in the order of preference."""

    def test_the_downbeat_before_a_later_one(self) -> None:
        assert sevens("- - - - - - 2/1 - 2/0 - 2/0", "D7 G")[0][2] == 4.0

    def test_else_the_first_within_a_bar_after_the_change(self) -> None:
        assert sevens("- - - - - - 2/1 - 3/0 2/0 2/0", "D7 G")[0][2] == 4.5

    def test_the_last_eighth_of_that_bar_but_not_the_next_downbeat(self) -> None:
        rest = "- - - - - - 2/1 - 3/0 - - - - - - "
        assert sevens(rest + "2/0", "D7 G .")[0][:3] == (3.0, "resolve", 7.5)
        assert sevens(rest + "- 2/0", "D7 G .")[0][:3] == (3.0, "colour", None)

    def test_not_after_the_chord_has_changed_again(self) -> None:
        late = "- - - - - - 2/1 - 3/0 - - - 2/0"
        assert sevens(late, "D7 G")[0][:3] == (3.0, "resolve", 6.0)
        assert sevens(late, "D7 (G Em)")[0][:3] == (3.0, "colour", None)

    def test_else_an_eighth_ahead(self) -> None:
        assert sevens("- - - - - - 2/1 2/0 3/0", "D7 G")[0][:3] == (3.0, "resolve", 3.5)

    def test_not_two_eighths_ahead(self) -> None:
        assert sevens("- - - - - 2/1 2/0 - 3/0", "D7 G")[0][1] == "colour"

    def test_not_ahead_where_the_last_seven_is_hammered_from_it(self) -> None:
        b, c = (
            TargetNote(onset_quarters=n, duration_quarters=0.25, midi=m, string=2, fret=m - 59)
            for n, m in ((3.5, 59), (3.75, 60))
        )
        found = read_asks([b, c], parse_changes("D7 G"), 4.0)
        assert [(a.note, a.how) for a in found.sevenths] == [(1, "colour")]

    def test_late_before_ahead(self) -> None:
        assert sevens("- - - - - - 2/1 2/0 3/0 2/0", "D7 G")[0][1:3] == ("resolve", 4.5)

    def test_else_in_another_octave_within_the_bar(self) -> None:
        high = "- - - - - - 2/1 - 3/0 1/9"
        assert sevens(high, "D7 G") == [(3.0, "octave", 4.5, 59)]
        assert asked(high, "D7 G").notes[asked(high, "D7 G").sevenths[0].due_note or 0].midi == 71

    def test_its_own_octave_ahead_before_another_after(self) -> None:
        assert sevens("- - - - - - 2/1 2/0 1/9", "D7 G")[0][1:3] == ("resolve", 3.5)

    def test_else_nowhere(self) -> None:
        assert sevens("- - - - - - 2/1 - 3/0 1/0", "D7 G") == [(3.0, "colour", None, None)]

    def test_a_drone_is_not_the_due_note(self) -> None:
        # A4 of B7 falls a whole step to G4, which only the drone has.
        assert sevens("- - - - - - 1/7 - 5/0", "B7 Em")[0][1] == "colour"
        assert sevens("- - - - - - 1/7 - 1/5", "B7 Em")[0][1:] == ("resolve", 4.0, 67)

    def test_a_whole_step_to_a_minor_third(self) -> None:
        assert sevens("- - - - - - 2/1 - 3/3", "D7 Gm")[0][1:] == ("resolve", 4.0, 58)


class TestMarkedPlaces:
    def test_a_marked_note_wins_over_the_downbeat(self) -> None:
        typed = "- - - - - - 2/1 - 2/0 - 2/0"
        found = asked(typed, "D7 G", resolve=at(11)).sevenths[0]
        assert (found.place_quarters, found.due_note, found.marked) == (5.0, 2, True)

    def test_a_mark_may_ask_for_another_octave(self) -> None:
        # E7 on the open fourth string: no C#3 lies below it.
        found = asked("- - - - - - 4/0 - 2/2", "E7 A", resolve=at(9)).sevenths[0]
        assert (found.how, found.due_midi, found.place_quarters, found.due_note) == ("octave", 49, 4.0, 1)

    def test_a_mark_may_ask_for_it_ahead_or_more_than_a_bar_late(self) -> None:
        ahead = asked("- - - - 2/1 - 2/0 - 2/0", "D7 G", resolve=at(7)).sevenths[0]
        late = asked("- - - - - - - 2/1 2/0 - - - - - - - - - 2/0", "D7 G .", resolve=at(19)).sevenths[0]
        assert (ahead.place_quarters, late.place_quarters) == (3.0, 9.0)

    def test_a_mark_before_the_seven_or_after_the_next_chord_is_not_meant(self) -> None:
        typed = "2/0 - - - - - 2/1 - 2/0 - - - - - - - 2/0"
        for place in (1, 17):
            found = asked(typed, "D7 G C", resolve=at(place)).sevenths[0]
            assert (found.place_quarters, found.marked) == (4.0, False)

    def test_a_mark_may_name_the_drone(self) -> None:
        found = asked("- - - - - - 1/7 - 5/0", "B7 Em", resolve=at(9)).sevenths[0]
        assert (found.how, found.due_midi, found.due_note) == ("resolve", 67, 1)


class TestColour:
    @pytest.mark.parametrize("changes", ["C7 G", "D7 C", "D7 Am7"])
    def test_where_the_next_chord_gives_it_nowhere_to_fall(self, changes: str) -> None:
        spans = parse_changes(changes)
        typed = "3/3 - - - - - - - 3/2" if changes.startswith("C") else "2/1 - - - - - - - 2/0"
        found = read_asks(notes_at(typed), spans, 4.0)
        assert {a.how for a in found.sevenths} == {"colour"}

    def test_where_no_chord_follows_it_does_not_wrap_round(self) -> None:
        (ask,) = asked("2/0 - - - - - - - - - - - - - 2/1", "G D7").sevenths
        assert (ask.how, ask.next_chord, ask.change_quarters) == ("colour", "", None)

    def test_where_nothing_is_played_after_it(self) -> None:
        spans = [ChordSpan(0.0, 4.0, Chord.parse("D7")), ChordSpan(4.0, 8.0, None)]
        (ask,) = read_asks(notes_at("- - 2/1 - - - - - 2/0"), spans, 4.0).sevenths
        assert (ask.how, ask.next_chord) == ("colour", "")

    def test_where_the_lick_says_so(self) -> None:
        (ask,) = asked("- - - - - - 2/1 - 2/0", "D7 G", colour=at(7)).sevenths
        assert (ask.how, ask.marked, ask.due_midi, ask.place_quarters) == ("colour", True, None, None)

    def test_a_bar_may_lie_between_and_no_more(self) -> None:
        assert sevens("2/1" + " -" * 7 + " 2/0", "D7 G")[0][1] == "resolve"
        assert sevens("- - - - - - - 2/1" + " -" * 8 + " 2/0", "D7 . G")[0][1] == "colour"
        assert sevens("- - - - - - - - 2/1" + " -" * 7 + " 2/0", "D7 . G")[0][1] == "resolve"

    def test_the_last_seven_of_the_chord_counts_for_that(self) -> None:
        typed = "2/1" + " -" * 13 + " 2/1 - 2/0"
        assert [how for _, how, _, _ in sevens(typed, "D7 . G")] == ["resolve", "resolve"]


class TestThirds:
    def test_at_a_plain_chord_the_third_rises(self) -> None:
        found = asked("1/4 - - - - - - - 1/5", "D7 G")
        assert [(a.note, a.how, a.due_midi, a.place_quarters) for a in found.thirds] == [
            (0, "resolve", 67, 4.0)
        ]

    def test_in_a_chain_of_sevenths_it_falls(self) -> None:
        found = asked("1/4 - - - - - - - 1/3", "D7 G7")
        assert [(a.due_midi, a.chord, a.next_chord) for a in found.thirds] == [(65, "D7", "G7")]

    def test_the_drone_is_credited_only_where_it_is_marked(self) -> None:
        typed = "1/4 - - - - - - - 5/0"
        assert asked(typed, "D7 G").thirds == ()
        (ask,) = asked(typed, "D7 G", third=at(9)).thirds
        assert (ask.due_note, ask.marked) == (1, True)

    def test_one_that_leads_nowhere_is_not_asked_about(self) -> None:
        assert asked("2/0 - - - - - - - 2/0", "G C").thirds == ()
        assert asked("1/4 - - - - - - - 2/0", "D7 G").thirds == ()

    def test_marks_of_sevens_do_not_move_thirds(self) -> None:
        found = asked("1/4 - - - 2/1 - - - 2/0+1/5 - 2/0+1/5", "D7 G", resolve=at(11))
        assert [a.place_quarters for a in found.sevenths] == [5.0]
        assert [a.place_quarters for a in found.thirds] == [4.0]


class TestCore:
    def core(self, places: str, changes: str, **kwargs: frozenset[float] | float) -> list[float]:
        found = asked(places, changes, **kwargs)  # type: ignore[arg-type]
        return sorted({note.onset_quarters for note in found.notes if note.core})

    def test_half_note_beats_in_cut_time(self) -> None:
        assert self.core("3/0 " * 8, "G") == [0.0, 2.0]

    def test_downbeats_in_waltz_time(self) -> None:
        assert self.core("3/0 " * 12, "G .", bar=3.0) == [0.0, 3.0]

    def test_each_seven_and_its_resolution(self) -> None:
        assert self.core("- 2/1 - 2/1 - - - - - 2/0 - 3/0", "D7 G") == [0.5, 1.5, 4.5]

    def test_a_colour_seven_too(self) -> None:
        assert self.core("- 2/1 - 3/0", "D7") == [0.5]

    def test_marked_notes(self) -> None:
        assert self.core("- 3/0 - 3/0", "G", core=at(4)) == [1.5]

    def test_a_third_and_where_it_goes_only_where_marked(self) -> None:
        typed = "- 1/4 - - - - - - - 1/5"
        assert self.core(typed, "D7 G") == []
        assert self.core(typed, "D7 G", third=at(10)) == [0.5, 4.5]

    def test_one_voice_of_a_pinch(self) -> None:
        found = asked("- 1/0+2/1", "D7")
        assert [(n.midi, n.core) for n in found.notes] == [(60, True), (62, False)]

    def test_a_pickup_has_beats_before_bar_one(self) -> None:
        notes = [
            TargetNote(onset_quarters=n / 2, duration_quarters=0.5, midi=55, string=3, fret=0)
            for n in range(-5, 1)
        ]
        found = read_asks(notes, [ChordSpan(-2.5, 4.0, None)], 4.0)
        assert [n.onset_quarters for n in found.notes if n.core] == [-2.0, 0.0]


FRETS = st.tuples(st.integers(1, 4), st.integers(0, 12)).map(lambda place: f"{place[0]}/{place[1]}")
LINES = st.lists(st.one_of(st.just("-"), st.just("5/0"), FRETS), min_size=16, max_size=16).map(" ".join)
CHANGES = st.lists(st.sampled_from(["D7", "G", "A7", "C7", "Em", "C"]), min_size=2, max_size=2).map(" ".join)


@given(LINES, CHANGES)
@settings(max_examples=150, deadline=None)
def test_every_ask_points_at_a_note_that_it_describes(line: str, changes: str) -> None:
    found = asked(line, changes)
    assert [a.note for a in found.sevenths] == [i for i, n in enumerate(found.notes) if n.role == "seven"]
    for ask in (*found.sevenths, *found.thirds):
        note = found.notes[ask.note]
        assert note.core or ask in found.thirds
        if ask.how == "colour":
            assert (ask.due_midi, ask.place_quarters, ask.due_note) == (None, None, None)
            continue
        due = found.notes[ask.due_note if ask.due_note is not None else -1]
        assert due.onset_quarters == ask.place_quarters
        assert due.onset_quarters > note.onset_quarters
        assert (due.midi == ask.due_midi) == (ask.how == "resolve")
        assert (due.midi - (ask.due_midi or 0)) % 12 == 0
        assert due.role != "drone"


def test_in_the_library_the_late_one_is_marked_late_and_the_blue_one_is_colour() -> None:
    (lean,) = load("pond-mans-lean").sevenths
    assert (lean.marked, lean.how, lean.place_quarters, lean.change_quarters) == (True, "resolve", 5.0, 4.0)
    assert {a.how for a in load("sawdust-in-the-coffee").sevenths} == {"colour"}


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_reading_the_asks_of_a_lick_again_changes_nothing_but_marks(lick: Lick) -> None:
    again = read_asks(lick.notes, lick.chords, lick.quarters_a_bar)
    by_mark = {i for i, n in enumerate(lick.notes) if (n.role, n.string, n.fret) == ("seven", 5, 0)}
    assert [n.role for i, n in enumerate(again.notes) if i not in by_mark] == [
        n.role for i, n in enumerate(lick.notes) if i not in by_mark
    ]
    assert all(again.notes[i].role == "drone" for i in by_mark)
    by_mark |= {a.note for a in lick.sevenths if a.how == "colour" and a.marked}
    assert {a.note: a.due_midi for a in again.sevenths if a.note not in by_mark} == {
        a.note: a.due_midi for a in lick.sevenths if a.note not in by_mark
    }
