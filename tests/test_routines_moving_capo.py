"""The same frets as written under a capo."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.chords import Chord
from routines.library import all_licks, load
from routines.lick import Lick
from routines.moving.answers import CapoAnswer
from routines.moving.capo import HIGHEST, capo_answer
from routines.tab import parse_lick, write_tab
from tests.lick_texts import typed

SUPPER = load("slab-wood-supper")  # G shapes
CHOICE = load("trimmers-choice")  # G shapes, capo 4, fifth to b by its peg
KEYS = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]


def answer(lick: Lick, key: str, **asked: object) -> CapoAnswer:
    found = capo_answer(lick, Chord.parse(key), **asked)  # type: ignore[arg-type]
    assert isinstance(found, CapoAnswer), found
    return found


def refusal(lick: Lick, key: str, **asked: object) -> str:
    found = capo_answer(lick, Chord.parse(key), **asked)  # type: ignore[arg-type]
    assert isinstance(found, str)
    return found


@pytest.mark.parametrize(("key", "capo", "fifth"), [("A", 2, 69), ("Bb", 3, 70), ("B", 4, 71)])
def test_g_shapes_go_up_with_the_fifth_string(key: str, capo: int, fifth: int) -> None:
    there = answer(SUPPER, key)
    assert (there.lick.neck.capo, there.lick.neck.open_midi(5), there.shapes) == (capo, fifth, "G")
    assert there.half_steps == capo


def test_two_lines_say_what_to_do() -> None:
    assert answer(SUPPER, "A").words == (
        "Capo 2, G shapes, the same frets as written: up a whole step.",
        "Fifth string up to a, by a spike at fret 7 or its peg.",
    )
    assert answer(SUPPER, "C").words[1] == "Fifth string up to c, by a spike at fret 10."
    assert answer(SUPPER, "Bb").words[1] == "Fifth string up to bb, by a spike at fret 8."
    assert answer(SUPPER, "Ab").words[1] == "Fifth string up to g#, by its peg."


@given(st.sampled_from(all_licks()), st.sampled_from(KEYS))
def test_every_note_moves_alike_and_keeps_its_fret(lick: Lick, key: str) -> None:
    there = capo_answer(lick, Chord.parse(key))
    if isinstance(there, str):
        return
    assert there.lick.neck.capo <= HIGHEST
    for old, new in zip(lick.notes, there.lick.notes, strict=True):
        assert new.midi - old.midi == there.half_steps
        assert (new.string, new.fret, new.finger, new.technique) == (
            old.string,
            old.fret,
            old.finger,
            old.technique,
        )
        assert (new.role, new.core, new.duration_quarters) == (old.role, old.core, old.duration_quarters)
    for old, new in zip(lick.sevenths, there.lick.sevenths, strict=True):
        assert (new.note, new.how, new.due_note, new.marked) == (old.note, old.how, old.due_note, old.marked)
    assert parse_lick(write_tab(there.lick), there.lick.file) == there.lick


def test_a_lick_under_a_capo_is_seen_as_its_shape() -> None:
    there = answer(CHOICE, "A")
    assert (there.shapes, there.lick.neck.capo, there.half_steps) == ("G", 2, -2)
    home = answer(CHOICE, "G")
    assert home.words == (
        "No capo, G shapes, the same frets as written: down a major third.",
        "Fifth string at g, as it is tuned.",
    )
    assert [span.symbol for span in home.lick.chords] == ["D7", "G"]


def test_in_its_own_key_it_is_the_lick_itself() -> None:
    assert answer(CHOICE, "B").lick is CHOICE
    assert answer(SUPPER, "G").lick is SUPPER


def test_the_names_of_a_moved_lick() -> None:
    there = answer(SUPPER, "Bb").lick
    assert (there.id, there.title, there.key) == ("slab-wood-supper-in-bb", "Slab Wood Supper in Bb", "Bb")
    assert [span.symbol for span in there.chords] == ["F7", "Bb"]
    again = answer(there, "B").lick
    assert (again.id, again.title) == ("slab-wood-supper-in-b", "Slab Wood Supper in B")


def test_no_capo_where_it_would_be_silly() -> None:
    assert "would want capo 10 for F, and 5 is the limit" in refusal(SUPPER, "F")
    assert "would want capo 7 for D" in refusal(SUPPER, "D")
    assert answer(SUPPER, "C").lick.neck.capo == 5


def test_beyond_the_last_spike_only_a_lick_that_leaves_the_fifth_string_alone() -> None:
    assert "does not come to D5" in refusal(SUPPER, "D", capo=7)
    silent = typed("4/4 . 1/0 . 2/1 . 1/0 . | 2/0 . . . . . . .")
    there = answer(silent, "D", capo=7)  # who asks for it gets it
    assert there.words[1] == "Fifth string left at g: the lick does not use it open."
    assert there.lick.neck.open_midi(5) == 67
    assert parse_lick(write_tab(there.lick), there.lick.file) == there.lick
    assert answer(there.lick, "D", capo=7).lick is there.lick
    written = typed("4/4 . 1/0 5/0 2/1 . 1/0 . | 2/0 . . . . . . .", capo=7, fifth="plain", key="D")
    assert answer(written, "D", capo=7).words[1] == "Fifth string at g, as it is tuned."


def test_no_spike_sits_at_fret_6() -> None:
    assert answer(SUPPER, "Ab").lick.neck.fifth_string.how == "peg"
    stopped = typed("5/7 . 1/0 5/9 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    assert "no capo answer: with capo 1" in refusal(stopped, "Ab")


def test_another_capo_or_tuning_has_other_frets() -> None:
    assert "G shapes sound in A with capo 2" in refusal(SUPPER, "A", capo=3)
    assert "gCGBD" in refusal(SUPPER, "A", tuning="gCGBD")
    assert answer(SUPPER, "A", tuning="gDGBD", capo=2).lick.neck.capo == 2


def test_a_stopped_fifth_string_wants_the_spike() -> None:
    lick = typed("5/7 . 1/0 5/9 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    there = answer(lick, "A")
    assert there.lick.neck.fifth_string.how == "spike"
    assert there.words[1] == "Fifth string up to a, by a spike at fret 7, so that its stopped frets stay."
    low = typed("5/6 . 1/0 5/9 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    assert answer(low, "A").lick.neck.midi(5, 6) == 70


def test_a_drone_that_is_not_the_shapes_own_keeps_its_place_in_the_shape() -> None:
    lick = typed("4/4 . 1/0 5/0 2/1 . 1/0 5/0 | 2/0 . . . . . . .", capo=2, fifth="plain", key="A")
    drones = [note.midi for note in answer(lick, "C").lick.notes if note.role == "drone"]
    assert set(drones) == {70}
    assert answer(lick, "G").words[1] == "Fifth string down to f, by its peg."
    silent = typed("4/4 . 1/0 . 2/1 . 1/0 . | 2/0 . . . . . . .", capo=2, fifth="plain", key="A")
    assert answer(silent, "C").lick.neck.open_midi(5) == 70


def test_frets_above_the_last_are_no_answer() -> None:
    high = typed("1/20 . 1/0 5/0 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    assert answer(high, "A").lick.neck.capo == 2
    assert "not every fret is there" in refusal(high, "Bb")


def test_a_slide_inside_its_eighth_needs_the_fret_where_it_begins() -> None:
    high = typed("1/20s18 . 1/0 5/0 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    assert [(note.technique, note.fret) for note in high.notes[:1]] == [("slide", 18)]
    assert answer(high, "A").lick.neck.capo == 2
    assert "not every fret is there" in refusal(high, "Bb")  # fret 18 is there, fret 20 is not
