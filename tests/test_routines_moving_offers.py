"""The nearest that can be played: in which order, and what is never touched."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from routines.chords import Chord
from routines.errors import BadRoutine
from routines.hand.wanted import Played, Trouble
from routines.lick import Lick
from routines.moving import offers
from routines.moving.drones import Drones, drones_moved
from routines.moving.sketch import Sketch, sketched
from routines.moving.source import source_of
from routines.moving.trial import Trial, finished
from routines.neck import Neck
from tests.lick_texts import HOME, typed

LICK = typed(f"4/4 . 1/0 5/0 2/1 . 3/2 5/0 {HOME}", top=100)  # C on eighth 5, B on the downbeat after it
C, A, B = 3, 4, 6  # C4, A3 right after it, B3


def sketch_of(lick: Lick = LICK, half_steps: int = 0) -> Sketch:
    source = source_of(lick)
    return sketched(source, drones_moved(source, Neck(), half_steps, Chord.parse("G")), half_steps)


def hands(allowed: Callable[[Sketch], bool], at: int = A) -> Callable[[Sketch], Trial | None]:
    """Hands that play each note at its lowest fret, and are in trouble at a note unless it is allowed."""

    def tried(sketch: Sketch) -> Trial | None:
        asked.append(sketch)
        if sketch.homeless:
            return None
        onset = sketch.source.lick.notes[at].onset_quarters
        played = Played(
            places=tuple(w.choices[0] for w in sketch.wanted.values()),
            left=(0,) * len(sketch.wanted),
            right=tuple("T" if w.picked else "" for w in sketch.wanted.values()),
            cost=1.0,
            troubles=() if allowed(sketch) else (Trouble(onset_quarters=onset, words="too far"),),
        )
        return Trial(sketch=sketch, played=played)

    return tried


asked: list[Sketch] = []


def offer(monkeypatch: pytest.MonkeyPatch, allowed: Callable[[Sketch], bool], at: int = A) -> Trial:
    asked.clear()
    tried = hands(allowed, at)
    monkeypatch.setattr(offers, "tried", tried)
    sketch = sketch_of()
    return offers.nearest([sketch], tried(sketch))


def test_the_sketch_is_what_the_test_says() -> None:
    assert [LICK.notes[i].midi for i in (C, A, B)] == [60, 57, 59]
    assert source_of(LICK).guides == {C, B}


def test_a_little_slower_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: sketch.tempo_half_bpm <= 90 or A in sketch.changes.shifts)
    assert found.sketch.tempo_half_bpm == 90
    fingering = finished(found, Chord.parse("G"))
    (altered,) = fingering.altered
    assert (altered.index, altered.before, altered.after) == (
        None,
        "100 half notes a minute",
        "90 half notes a minute",
    )
    assert fingering.playable
    assert not fingering.exact
    assert fingering.lick.top_tempo_half_bpm == 90


def test_then_another_tone_of_the_chord(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: A in sketch.changes.shifts)
    shifts = found.sketch.changes.shifts[A]
    assert set(shifts) == {-3, 5}  # from A to F# and D; the seven C is none of them
    fingering = finished(found, Chord.parse("G"))
    (altered,) = fingering.altered
    assert (altered.index, altered.before) == (A, "A3")
    assert altered.after in ("F#3", "D4")
    assert altered.why.startswith("another tone of the chord")


def test_then_the_note_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: A not in sketch.wanted)
    fingering = finished(found, Chord.parse("G"))
    assert [(one.index, one.after) for one in fingering.altered] == [(A, "left out")]
    assert len(fingering.lick.notes) == len(LICK.notes) - 1
    before = next(i for i, source in enumerate(fingering.sources) if source == C)
    assert fingering.lick.notes[before].duration_quarters == 1.5  # until the drone after it


def test_then_a_phrase_in_another_octave(monkeypatch: pytest.MonkeyPatch) -> None:
    lick = typed(
        f"4/4 . 1/0 5/0 2/1 . 3/2 5/0 {HOME} | 3/0 . 3/2 . 4/4 . 5/0 .",
        chords={0: "D7", 8: "G"},
    )
    sketch = sketch_of(lick)
    last = len(lick.notes) - 2
    tried = hands(lambda one: one.changes.shifts.get(last) == (12,), last)
    monkeypatch.setattr(offers, "tried", tried)
    found = offers.nearest([sketch], tried(sketch))
    shifted = {lick.notes[index].onset_quarters for index in found.sketch.changes.shifts}
    assert min(shifted) == 8.0  # from a bar line on; not from the change, which would part C from its B
    fingering = finished(found, Chord.parse("G"))
    assert all("another octave" in one.why for one in fingering.altered)
    drones = set(source_of(lick).drones)
    assert {one.index for one in fingering.altered}.isdisjoint(drones)


def test_then_much_slower(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: sketch.tempo_half_bpm <= 65)
    assert found.sketch.tempo_half_bpm == 60
    assert not found.sketch.changes.left_out
    assert not found.sketch.changes.shifts


def test_a_guide_tone_is_never_touched(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: False, at=C)
    assert not found.playable
    for sketch in asked:
        assert {C, B} <= set(sketch.wanted)
        assert C not in sketch.changes.shifts or set(sketch.changes.shifts) > {C, B}


def test_where_nothing_helps_the_exact_one_stands_with_its_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    found = offer(monkeypatch, lambda sketch: False)
    fingering = finished(found, Chord.parse("G"))
    assert (fingering.playable, fingering.exact, fingering.troubles) == (False, True, ("too far",))


def test_fingered_drones_give_way_first(monkeypatch: pytest.MonkeyPatch) -> None:
    source = source_of(LICK)
    drones = Drones(neck=Neck(), fingered=frozenset(source.drones), words="fingered")
    sketch = sketched(source, drones, 0)
    first = source.drones[0]
    tried = hands(lambda one: first not in one.wanted, first)
    monkeypatch.setattr(offers, "tried", tried)
    found = offers.nearest([sketch], tried(sketch))
    assert set(source.drones) - set(found.sketch.wanted) == {first}
    (altered,) = finished(found, Chord.parse("G")).altered
    assert (altered.before, altered.after) == ("the drone", "left out")


def test_a_note_below_the_lowest_string_is_exchanged(monkeypatch: pytest.MonkeyPatch) -> None:
    lick = typed(f"4/0 . 1/0 5/0 2/1 . 3/2 5/0 {HOME}")
    monkeypatch.setattr(offers, "tried", hands(lambda sketch: True))
    found = offers.nearest([sketch_of(lick, -2)], None)
    (altered,) = finished(found, Chord.parse("F")).altered
    assert (altered.index, altered.before, altered.after) == (0, "C3", "E3")


def test_a_guide_tone_that_lies_nowhere_takes_its_due_note_along(monkeypatch: pytest.MonkeyPatch) -> None:
    # The seven Eb3 and the D3 that it falls to; two half steps lower both are off the neck.
    lick = typed("2/1 . 3/2 . 4/1 . 2/1 5/0 | 4/0 . 3/0 . 2/0 . . .", chords={0: "F7", 8: "Bb"}, key="Bb")
    monkeypatch.setattr(offers, "tried", hands(lambda sketch: True, at=0))
    found = offers.nearest([sketch_of(lick, -2)], None)
    assert set(found.sketch.changes.shifts) == source_of(lick).guides
    fingering = finished(found, Chord.parse("Ab"))
    assert [(one.before, one.after) for one in fingering.altered] == [("Db3", "Db4"), ("C3", "C4")]
    assert [ask.how for ask in fingering.lick.sevenths] == ["resolve"]
    half = offers.nearest([sketch_of(lick, -1)], None)  # only the D3 is off the neck
    assert set(half.sketch.changes.shifts) == source_of(lick).guides


def test_a_pinch_that_has_not_enough_strings_is_thinned(monkeypatch: pytest.MonkeyPatch) -> None:
    lick = typed("4/4 . 1/0 5/0 2/1 . 3/2+2/3+1/5 . | 2/0 . . . . . . .")
    guides = source_of(lick).guides
    inner = {i for i, note in enumerate(lick.notes) if note.onset_quarters == 3.0 and note.midi < 67}

    def no_room(sketch: Sketch) -> Trial | None:
        return hands(lambda one: True)(sketch) if inner & set(sketch.changes.left_out) else None

    monkeypatch.setattr(offers, "tried", no_room)
    found = offers.nearest([sketch_of(lick)], None)
    assert inner <= found.sketch.changes.left_out
    assert guides <= set(found.sketch.wanted)
    monkeypatch.setattr(offers, "tried", lambda sketch: None)
    with pytest.raises(BadRoutine, match="lies nowhere on this neck"):
        offers.nearest([sketch_of(lick)], None)
