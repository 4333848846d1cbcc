"""A lick between bars of plain roll, or in a form."""

from __future__ import annotations

from dataclasses import replace

import pytest

from routines.chords import Chord
from routines.errors import BadRoutine
from routines.hand.playing import hands
from routines.library import load
from routines.lick import SLURS, Lick, TargetNote, Use
from routines.neck import Neck
from routines.rolling import ROLLS, roll_bar
from routines.traffic import BARS, WAYS, around, between, in_form, stands
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.lick_texts import typed

SUPPER = load("slab-wood-supper")  # D7 | G
WALTZ = load("log-deck-waltz")  # E7 for two bars, A for two
KICK_OFF = load("first-log-up")  # three eighths of pickup over G7, then C for two bars
FORWARD = ROLLS[4.0]["forward"]
NECK = Neck()

PLACED = [(lick, way) for lick in few_licks()[::2] for way in ("traffic", "form 8") if stands(lick, 8)]


def _places(notes: tuple[TargetNote, ...]) -> list[tuple[int, int]]:
    return [(note.string, note.fret) for note in notes]


def _own(lick: Lick, whole: Lick) -> tuple[int, ...]:
    """Where the notes of the lick stand in the whole."""
    moved = whole.sevenths[0].note - lick.sevenths[0].note
    return tuple(range(moved, moved + len(lick.notes)))


def _shift(lick: Lick, whole: Lick) -> float:
    return whole.notes[_own(lick, whole)[0]].onset_quarters - lick.notes[0].onset_quarters


# Between bars of roll


def test_the_lick_stands_between_two_bars_of_roll() -> None:
    whole = between(SUPPER)
    assert (whole.title, whole.id, whole.file) == ("Slab Wood Supper, in traffic", SUPPER.id, SUPPER.file)
    assert (whole.bars, whole.pickup_quarters) == (4, 0.0)
    assert whole.top_tempo_half_bpm == SUPPER.top_tempo_half_bpm
    assert [(s.start_quarters, s.end_quarters, s.symbol) for s in whole.chords] == [
        (0.0, 4.0, "G"),
        (4.0, 8.0, "D7"),
        (8.0, 16.0, "G"),
    ]
    assert _places(whole.notes[:8]) == _places(roll_bar(FORWARD, Chord.parse("G"), NECK))
    (ask,) = whole.sevenths
    assert (ask.change_quarters, ask.place_quarters, ask.due_midi) == (8.0, 8.0, 59)
    assert whole.notes[ask.note].onset_quarters == 6.0
    assert (ask.due_note, whole.notes[ask.due_note or 0].midi) == (14, 59)


def test_the_pickup_takes_the_place_of_the_end_of_the_roll() -> None:
    whole = between(KICK_OFF)
    assert whole.pickup_quarters == 0.0
    assert [note.onset_quarters for note in whole.notes[:9]] == [0.5 * eighth for eighth in range(9)]
    assert _own(KICK_OFF, whole)[0] == 5
    assert whole.notes[5].onset_quarters == 2.5
    assert [s.start_quarters for s in whole.chords] == [0.0, 2.5, 4.0]


def test_a_waltz_gets_a_waltz_roll() -> None:
    whole = between(WALTZ)
    assert whole.bars == 6
    assert [note.onset_quarters for note in whole.notes[:7]] == [0.5 * eighth for eighth in range(7)]
    assert whole.notes[6].onset_quarters == 3.0


@pytest.mark.parametrize(("bars", "whole"), [(1, 4), (2, 4), (3, 6), (4, 6)])
def test_the_whole_is_an_even_number_of_bars(bars: int, whole: int) -> None:
    lick = typed("|".join(bars * ["3/0 2/1 1/0 . . . . ."]), chords={0: "G"})
    assert between(lick).bars == whole


@pytest.mark.parametrize(
    ("chord", "goes_on"), [("D7", "G"), ("C7", "C"), ("G7", "G"), ("Am7", "Am"), ("N.C.", "G")]
)
def test_the_roll_goes_on_over_the_last_chord_but_home_after_the_seventh_that_wants_it(
    chord: str, goes_on: str
) -> None:
    lick = typed("3/0 2/1 1/0 . . . . . | 3/0 . . . . . . .", chords={0: "G", 8: chord})
    assert between(lick).chords[-1].symbol == goes_on


def test_a_lick_in_minor_comes_out_of_its_own_home() -> None:
    lick = typed("3/2 2/0 1/1 . . . . . | 3/0 . . . . . . .", chords={0: "B7", 8: "Em"}, key="Em")
    assert [span.symbol for span in between(lick).chords] == ["Em", "B7", "Em"]


@pytest.mark.parametrize(("finger", "last"), [("T", "M"), ("I", "M"), ("M", "I")])
def test_the_roll_ends_on_another_finger_than_the_lick_begins_with(finger: str, last: str) -> None:
    lick = typed("2/1 . 2/0 . 3/0 . . .", chords={0: "D7"}, fingers={0: finger})
    before = between(lick).notes[:8]
    assert (before[-1].finger, before[-1].onset_quarters) == (last, 3.5)


def test_where_both_fingers_are_wanted_the_last_stroke_is_left_out() -> None:
    lick = typed("2/1+1/4 . 2/0 . 3/0 . . .", chords={0: "D7"}, fingers={0: "IM"})
    before = between(lick).notes[:7]
    assert [note.onset_quarters for note in before] == [0.5 * eighth for eighth in range(7)]
    assert before[-1].finger == "T"


@pytest.mark.parametrize(
    ("meter", "finger", "last"),
    [
        ("2/2", "T", (2, "I")),  # the usual roll would end on the first string
        ("3/4", "I", (5, "T")),
        ("2/2", "I", (1, "M")),  # no whole bar of roll ends elsewhere: rather that than a stroke left out
    ],
)
def test_the_lick_does_not_begin_on_the_string_that_was_just_struck(
    meter: str, finger: str, last: tuple[int, str]
) -> None:
    eighths = 8 if meter == "2/2" else 6
    rests = (eighths - 5) * " ."
    lick = typed(
        f"1/3 . 2/1 . 3/0{rests} | 2/0 . . . .{rests}",
        chords={0: "G7", eighths: "C"},
        fingers={0: finger},
        meter=meter,
    )
    before = between(lick).notes[eighths - 1]
    assert before.onset_quarters == 0.5 * (eighths - 1)
    assert (before.string, before.finger) == last


def test_the_last_bar_closes_with_the_roll_that_comes_back() -> None:
    home = Chord.parse("G")
    assert _places(between(SUPPER).notes[-8:]) == _places(roll_bar(ROLLS[4.0]["forward-reverse"], home, NECK))
    bars = [note for note in in_form(SUPPER, 8).notes if note.onset_quarters < 4.0]
    assert _places(tuple(bars)) == _places(roll_bar(FORWARD, home, NECK))


@pytest.mark.parametrize(("finger", "first"), [("T", "I"), ("I", "T"), ("M", "T")])
def test_the_roll_after_it_begins_on_another_finger_than_the_lick_ends_with(finger: str, first: str) -> None:
    lick = typed("2/0 . 1/0 . 3/0 . . 2/0", chords={0: "G"}, fingers={7: finger})
    assert between(lick).notes[8 + 4].finger == first


def test_the_shape_lies_near_a_lick_that_begins_out_of_reach() -> None:
    far = typed("1/12 . 2/10 . 3/10 . . . | 1/10 . . . . . . .", chords={0: "C7", 8: "F"}, key="F")
    near = typed("3/3 . 2/1 . 3/2 . . . | 3/2 . . . . . . .", chords={0: "C7", 8: "F"}, key="F")
    assert {note.fret for note in between(far).notes[:7]} == {0, 10}
    assert {note.fret for note in between(near).notes[:7]} == {0, 1, 2, 3}


def test_a_hand_that_goes_up_the_neck_between_two_bars_of_roll_has_a_quarter_for_it() -> None:
    far = typed("1/12 . 2/10 . 3/10 . . . | 1/10 . . . . . . .", chords={0: "C7", 8: "F"}, key="F")
    whole = in_form(far, 8)
    bar = [note for note in whole.notes if 16.0 <= note.onset_quarters < 24.0]
    stopped = [note for note in bar if note.fret]
    low = max(note.onset_quarters for note in stopped if note.fret <= 3)
    high = min(note.onset_quarters for note in stopped if note.fret >= 10)
    assert high - low >= 1.5
    assert not hands(whole).troubles


# In a form


def test_the_fall_comes_home_at_the_end() -> None:
    whole = in_form(SUPPER, 8)
    assert whole.title == "Slab Wood Supper, in a form of 8 bars"
    assert (whole.bars, _shift(SUPPER, whole)) == (8, 24.0)
    assert [span.symbol for span in whole.chords] == ["G", "C", "G", "C", "G", "D7", "G"]
    assert _shift(SUPPER, in_form(SUPPER, 16)) == 56.0


def _bar_of(chords: dict[int, str], bars: int = 2, *, key: str = "G", use: Use = "", pickup: int = 0) -> int:
    """In which bar of 8 such a lick begins, from 1; 0 where it has no place."""
    tab = "|".join(bars * ["3/0 . . . . . . ."])
    lick = (
        typed(f"{pickup * '3/0 '}|{tab}", chords=chords, key=key, pickup=f"{pickup} eighths")
        if pickup
        else typed(tab, chords=chords, key=key)
    )
    if not stands(lick, 8):
        return 0
    whole = in_form(replace(lick, use=use), 8)
    rolled = next(k for k in range(8) if not [n for n in whole.notes if n.onset_quarters == 4 * k + 0.5])
    return rolled + 1


@pytest.mark.parametrize(
    ("chords", "bar"),
    [
        ({0: "D7", 8: "G"}, 7),
        ({0: "G7", 8: "C"}, 4),
        ({0: "C7", 8: "G"}, 5),
        ({0: "A7", 4: "D7", 8: "G"}, 7),
        ({0: "A7", 8: "D7"}, 6),
        ({0: "B7", 8: "Em"}, 3),
        ({0: "F7", 8: "G"}, 3),
    ],
)
def test_where_a_lick_stands(chords: dict[int, str], bar: int) -> None:
    assert _bar_of(chords) == bar


def test_a_kick_off_leads_in_a_turnaround_leads_back() -> None:
    assert _bar_of({0: "D7", 4: "G"}, use="kick-off", pickup=4) == 1
    assert _bar_of({0: "D7", 8: "G"}, use="kick-off") == 4
    assert _bar_of({0: "G", 8: "D7"}, use="turnaround") == 7


def test_a_kick_off_keeps_its_pickup_where_nothing_is_before_it() -> None:
    lick = replace(KICK_OFF, use="kick-off")
    whole = in_form(lick, 8)
    assert whole.pickup_quarters == 1.5
    assert whole.notes[0].onset_quarters == whole.chords[0].start_quarters == -1.5
    # As the form goes round, the pickup takes the place of the end of its last bar.
    assert whole.notes[-1].onset_quarters == whole.end_quarters - 2.0


def test_what_has_no_place_is_refused_in_a_plain_sentence() -> None:
    lick = typed("3/0 . . . . . . .|3/0 . . . . . . .", chords={0: "Db7", 8: "Gb"})
    assert not stands(lick, 8)
    with pytest.raises(BadRoutine, match=r"try fits no form of 8 bars in G: its chords are Db7 Gb"):
        in_form(lick, 8)


def test_a_waltz_with_a_chord_on_its_second_beat_is_refused_in_the_same_sentence() -> None:
    waltz = typed(
        "1/3 . 2/0 . 5/0 .|1/2 . 2/1 . 3/0 .", chords={0: "F7", 2: "Bb7", 6: "C"}, meter="3/4", key="G"
    )
    assert not stands(waltz, 8)
    with pytest.raises(BadRoutine, match="fits no form of 8 bars in G"):
        in_form(waltz, 8)


def test_there_are_forms_of_8_and_16_bars_only() -> None:
    assert set(WAYS) == {"traffic", *(f"form {bars}" for bars in BARS)}
    with pytest.raises(BadRoutine, match="no form of 12 bars: accepted are 8 and 16"):
        in_form(SUPPER, 12)
    with pytest.raises(BadRoutine, match="no way 'jam'"):
        around(SUPPER, "jam")
    assert around(SUPPER, "") is SUPPER


def test_under_a_capo_the_form_sounds_in_the_key() -> None:
    whole = in_form(load("cant-hook-shuffle"), 8)
    assert whole.chords[0].symbol == "A"
    assert _places(whole.notes[:3]) == [(3, 0), (2, 0), (1, 0)]


# What holds for every lick


@in_turn(("lick", "way"), PLACED, ids=lambda one: getattr(one, "id", one))
def test_the_lick_inside_is_the_lick(lick: Lick, way: str) -> None:
    whole = around(lick, way)
    own, shift = _own(lick, whole), _shift(lick, whole)
    for index, note in zip(own, lick.notes, strict=True):
        here = whole.notes[index]
        moved = replace(note, onset_quarters=note.onset_quarters + shift)
        assert replace(here, duration_quarters=note.duration_quarters) == moved
    for mine, theirs in ((lick.sevenths, whole.sevenths), (lick.thirds, whole.thirds)):
        assert len(mine) == len(theirs)
        for a, b in zip(mine, theirs, strict=True):
            assert (a.chord, a.next_chord, a.how, a.due_midi) == (b.chord, b.next_chord, b.how, b.due_midi)
            assert b.note == own[a.note]
            assert b.due_note == (None if a.due_note is None else own[a.due_note])
            if a.place_quarters is not None:
                assert b.place_quarters == a.place_quarters + shift
            if a.change_quarters is not None:
                assert b.change_quarters == a.change_quarters + shift
                assert b.change_quarters in {span.start_quarters for span in whole.chords}


@in_turn(("lick", "way"), PLACED, ids=lambda one: getattr(one, "id", one))
def test_the_roll_around_it_is_plain(lick: Lick, way: str) -> None:
    whole, own = around(lick, way), _own(lick, around(lick, way))
    assert whole.bars in (4, 6, 8)
    for index, note in enumerate(whole.notes):
        if index in own:
            continue
        assert note.core is (note.onset_quarters % whole.quarters_a_bar == 0)
        span = next(s for s in whole.chords if s.start_quarters <= note.onset_quarters < s.end_quarters)
        assert span.chord is not None
        assert span.chord.tone("seven") is None
        assert span.chord.function_of(note.midi) is not None or (note.string, note.fret) == (5, 0)


@in_turn(("lick", "way"), PLACED, ids=lambda one: getattr(one, "id", one))
def test_chords_and_notes_fill_the_whole_without_gap(lick: Lick, way: str) -> None:
    whole = around(lick, way)
    assert whole.chords[0].start_quarters == -whole.pickup_quarters
    assert whole.chords[-1].end_quarters == whole.end_quarters
    for a, b in zip(whole.chords, whole.chords[1:], strict=False):
        assert a.end_quarters == b.start_quarters
        assert a.chord != b.chord
    onsets = [note.onset_quarters for note in whole.notes]
    assert onsets == sorted(onsets)
    for note in whole.notes:
        later = [onset for onset in onsets if onset > note.onset_quarters]
        assert note.duration_quarters == min([*later, whole.end_quarters]) - note.onset_quarters


@in_turn(("lick", "way"), PLACED, ids=lambda one: getattr(one, "id", one))
def test_no_finger_picks_twice_within_a_quarter_where_roll_and_lick_meet(lick: Lick, way: str) -> None:
    whole = around(lick, way)
    own = set(_own(lick, whole))
    strokes = [(k, note) for k, note in enumerate(whole.notes) if note.technique not in SLURS or note.finger]
    for i, a in strokes:
        for j, b in strokes:
            if i < j and not {i, j} <= own and b.onset_quarters - a.onset_quarters < 1.0:
                assert a.finger != b.finger


@pytest.mark.parametrize("lick", few_licks()[::5], ids=lambda lick: lick.id)
def test_hands_get_into_it_and_out_of_it(lick: Lick) -> None:
    assert len(hands(between(lick)).troubles) <= len(hands(lick).troubles)
