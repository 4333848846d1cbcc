"""A lick moved whole: exact, spelled, as its text would be read, and with the answer that a player takes."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from routines.checker.lick import faults
from routines.errors import BadRoutine
from routines.library import load
from routines.moving.answers import CapoAnswer, Moved
from routines.moving.move import in_key, move
from routines.tab import parse_lick, write_tab
from tests.in_turn import in_turn
from tests.lick_texts import HOME, typed

MOVES = (
    ("slab-wood-supper", "C"),
    ("slab-wood-supper", "E"),
    ("pond-mans-lean", "Eb"),  # marked: the seven is left leaning
    ("first-log-up", "D"),  # a pickup and pull-offs
    ("sawdust-in-the-coffee", "A"),  # chokes, up the neck
    ("log-deck-waltz", "G"),
    ("trimmers-choice", "F"),  # under a capo, slides
    ("the-edgers-nod", "F#"),  # a slide to its own eighth
    ("guide-tone-pinches", "D"),
)


@cache
def moved(name: str, key: str, **asked: object) -> Moved:
    return move(load(name), key, **asked)  # type: ignore[arg-type]


@in_turn(("name", "key"), MOVES)
def test_an_exact_fingering_moves_every_voice_by_the_same_half_steps(name: str, key: str) -> None:
    lick, fingering = load(name), moved(name, key).fingering
    assert fingering.exact
    assert sorted(fingering.sources) == list(range(len(lick.notes)))
    for source, note in zip(fingering.sources, fingering.lick.notes, strict=True):
        old = lick.notes[source]
        assert (note.onset_quarters, note.technique, note.picked) == (
            old.onset_quarters,
            old.technique,
            old.picked,
        )
        if old.role == "drone":
            assert (note.role, note.string, note.fret) == ("drone", 5, 0)
            continue
        assert note.midi - old.midi == fingering.half_steps
        assert note.role == old.role
        if old.from_midi is not None and note.from_midi is not None:
            assert note.from_midi - old.from_midi == fingering.half_steps


@in_turn(("name", "key"), MOVES)
def test_it_asks_what_the_lick_asks(name: str, key: str) -> None:
    lick, fingering = load(name), moved(name, key).fingering
    row = {source: at for at, source in enumerate(fingering.sources)}
    asks = [(a.note, a.how, a.due_note, a.marked) for a in fingering.lick.sevenths]
    assert sorted(asks) == sorted(
        (row[a.note], a.how, None if a.due_note is None else row[a.due_note], a.marked) for a in lick.sevenths
    )
    for source, note in zip(fingering.sources, fingering.lick.notes, strict=True):
        assert note.core == lick.notes[source].core


@in_turn(("name", "key"), MOVES)
def test_its_text_reads_back_and_passes_the_checker(name: str, key: str) -> None:
    lick, there = load(name), moved(name, key).fingering.lick
    assert parse_lick(write_tab(there), there.file) == there
    assert {fault.check for fault in faults(there)} <= {fault.check for fault in faults(lick)}


@in_turn(("name", "key"), MOVES)
def test_left_hand_and_frets_agree(name: str, key: str) -> None:
    fingering = moved(name, key).fingering
    assert fingering.playable == (not fingering.troubles)
    for note, left in zip(fingering.lick.notes, fingering.left, strict=True):
        assert (left == 0) == (note.fret == 0)
        assert note.picked == bool(note.finger)


def test_names_and_chords_are_those_of_the_key() -> None:
    there = moved("slab-wood-supper", "E").fingering.lick
    assert (there.id, there.title, there.key) == ("slab-wood-supper-in-e", "Slab Wood Supper in E", "E")
    assert [span.symbol for span in there.chords] == ["B7", "E"]
    assert there.neck.capo == 0
    assert "A falls to G#, from B7 to E." in there.trains


def test_a_lick_under_a_capo_is_fingered_without() -> None:
    answer = moved("trimmers-choice", "F")
    assert answer.fingering.lick.neck.capo == 0
    assert answer.capo is None
    assert "would want capo 10" in answer.no_capo


def test_with_a_capo_asked_for_it_is_fingered_there() -> None:
    answer = moved("slab-wood-supper", "A", capo=2)
    assert answer.capo is not None
    assert answer.fingering.lick.neck.capo == 2
    other = moved("slab-wood-supper", "C", capo=3)
    assert other.capo is None
    assert other.fingering.lick.neck.capo == 3
    assert [span.symbol for span in other.fingering.lick.chords] == ["G7", "C"]


def test_another_tuning_is_a_move_too() -> None:
    fingering = moved("slab-wood-supper", "G", tuning="gCGBD").fingering
    assert fingering.half_steps == 0
    assert fingering.lick.neck.tuning == "gCGBD"
    low = fingering.sources.index(0)  # F#3, on the fourth string tuned to C
    assert (fingering.lick.notes[low].string, fingering.lick.notes[low].fret) == (4, 6)


def test_starred_notes_stay_core() -> None:
    lick = typed(f"4/4 . 1/0 5/0 2/1 . 1/0 5/0 {HOME}", marks={2: "*"})
    there = move(lick, "A")
    assert there.capo is not None
    for moved_lick in (there.capo.lick, there.fingering.lick):
        starred = [note.core for note in moved_lick.notes if note.onset_quarters == 1.0]
        assert starred == [True]


def test_in_key_is_what_a_player_takes() -> None:
    supper = load("slab-wood-supper")
    for key in ("G", "g"):
        assert in_key(supper, key).lick is supper
    assert in_key(supper, "A").lick.neck.capo == 2
    assert in_key(supper, "B").lick.neck.capo == 4
    assert in_key(supper, "E") == moved("slab-wood-supper", "E").fingering
    shapes = in_key(load("trimmers-choice"), "G")  # G shapes under a capo: without it
    assert isinstance(shapes, CapoAnswer)
    assert shapes.lick.neck.capo == 0


def test_beyond_a_low_capo_a_cheap_fingering_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    supper = load("slab-wood-supper")
    assert in_key(supper, "C") == moved("slab-wood-supper", "C").fingering
    monkeypatch.setattr("routines.moving.move._CHEAP_A_NOTE", 0.0)
    dear = in_key(supper, "C")
    assert isinstance(dear, CapoAnswer)
    assert dear.lick.neck.capo == 5


def test_the_banjos_own_key_wants_no_capo(monkeypatch: pytest.MonkeyPatch) -> None:
    assert in_key(load("backward-roll"), "G").lick.neck.capo == 0  # C shapes would want capo 7
    lick = load("jump-to-the-boom-stick")  # F shapes would want capo 2
    assert in_key(lick, "G") == moved(lick.id, "G").fingering
    monkeypatch.setattr("routines.moving.move._OWN_KEYS", {"gDGBD": "Db"})
    assert in_key(lick, "G") == moved(lick.id, "G").capo


def test_up_and_down_are_asked_for() -> None:
    supper = load("slab-wood-supper")
    assert move(supper, "F").fingering.direction == "down a whole step"
    assert move(supper, "F", way="down").fingering.half_steps == -2
    assert move(supper, "F", way="up").fingering.half_steps == 10
    assert move(supper, "G", way="up").fingering.half_steps == 12


def test_a_bass_between_chops_stays_below_them() -> None:
    there = moved("chairs-along-the-wall", "G").fingering.lick
    sizes = Counter(note.onset_quarters for note in there.notes)
    basses = [note for note in there.notes if sizes[note.onset_quarters] == 1]
    assert basses
    assert all(note.string >= 3 and note.finger == "T" for note in basses)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"key": "H"}, "no key 'H'"),
        ({"key": "Am"}, "accepted is a major key"),
        ({"key": "A", "tuning": "eadgbe"}, "no tuning 'eadgbe'"),
        ({"key": "A", "capo": 13}, "no capo at fret 13"),
        ({"key": "A", "capo": -1}, "no capo at fret -1"),
    ],
)
def test_what_is_none_is_refused(asked: dict[str, object], words: str) -> None:
    with pytest.raises(BadRoutine, match=words):
        move(load("slab-wood-supper"), **asked)  # type: ignore[arg-type]


def test_a_note_that_stands_inside_a_slur_keeps_off_its_string() -> None:
    lick = typed(f"3/0h 1/0 3/2 5/0 2/1 . 1/0 5/0 {HOME}")
    for key in ("G", "A"):
        there = move(lick, key).fingering.lick
        assert parse_lick(write_tab(there), there.file) == there


def test_a_lick_with_a_wide_reach_has_an_answer_in_each_key() -> None:
    wide = typed(f"4/0 . 1/14 5/0 2/1 . 1/0 5/0 {HOME}")
    for key in ("F", "F#"):
        fingering = move(wide, key).fingering
        assert not fingering.exact
        assert fingering.altered
        assert parse_lick(write_tab(fingering.lick), fingering.lick.file) == fingering.lick
