"""Sketches that the hands try: the first look, all places where it fails, and the notes that come of it."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from routines.chords import Chord
from routines.hand.wanted import Given, Played, Trouble, Wanted
from routines.lick import Lick
from routines.moving import trial
from routines.moving.drones import drones_moved
from routines.moving.guess import guessed
from routines.moving.sketch import Sketch, sketched
from routines.moving.source import source_of
from routines.moving.trial import finished, tried
from routines.neck import Neck
from tests.lick_texts import HOME, typed

SLURRED = typed(f"2/0h 3/2 2/3 5/0 2/1 . 1/0 5/0 {HOME}")
"""The second note stands inside the hammer-on; a whole step lower it is the open G of the slur's string."""


def sketch_of(lick: Lick, half_steps: int = 0) -> Sketch:
    source = source_of(lick)
    return sketched(source, drones_moved(source, Neck(), half_steps, Chord.parse("G")), half_steps)


def fake(troubled: bool, asked: list[bool]):  # type: ignore[no-untyped-def]
    """Hands that are in trouble where each note has one place, and else take the last one."""

    def best(wanted: Sequence[Wanted], given: Given, *, quick: bool = False) -> Played:
        free = any(len(w.choices) > 1 for w in wanted)
        asked.append(free)
        bad = troubled and not free
        return Played(
            places=tuple(w.choices[-1] for w in wanted),
            left=(0,) * len(wanted),
            right=tuple("T" if w.picked else "" for w in wanted),
            cost=1000.0 if bad else 1.0,
            troubles=(Trouble(onset_quarters=0.0, words="too far"),) if bad else (),
        )

    return best


def test_what_the_first_look_found_is_enough_where_it_is_playable(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    monkeypatch.setattr(trial, "best", fake(False, asked))
    assert tried(sketch_of(typed(f"4/4 . 1/0 . 2/1 . 1/0 . {HOME}"), 2)) is not None
    assert asked == [False]


def test_all_places_are_asked_where_it_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    monkeypatch.setattr(trial, "best", fake(True, asked))
    found = tried(sketch_of(typed("4/4 . 3/5 . 2/1 . 1/0 . | 2/0 . . . . . . ."), 2))
    assert asked == [False, True]
    assert found is not None
    assert found.playable


def test_a_note_inside_a_slur_leaves_its_string() -> None:
    guess = guessed(sketch_of(SLURRED, -2))
    assert guess is not None
    strings = [place.string for place in guess.rough.places]
    ends = next(i for i, w in enumerate(guess.wanted) if w.slurred_from is not None)
    begins = guess.wanted[ends].slurred_from
    assert begins is not None
    assert strings[ends] == strings[begins]
    inside = [
        strings[i]
        for i, w in enumerate(guess.wanted)
        if guess.wanted[begins].onset_quarters < w.onset_quarters < guess.wanted[ends].onset_quarters
    ]
    assert inside
    assert strings[ends] not in inside


def test_no_way_for_a_note_that_lies_nowhere() -> None:
    assert guessed(sketch_of(typed(f"4/0 . 1/0 5/0 2/1 . 1/0 5/0 {HOME}"), -2)) is None


def test_slides_and_chokes_begin_where_they_did() -> None:
    lick = typed(f"3/2s4 . 1/0 5/0 2/1c3 . 3/2s 3/4 {HOME}")
    found = tried(sketch_of(lick, 2))
    assert found is not None
    for index, note in found.targets().items():
        old = lick.notes[index]
        assert note.from_midi == (None if old.from_midi is None else old.from_midi + 2)
    fingering = finished(found, Chord.parse("A"))
    assert fingering.exact
    assert fingering.half_steps == 2
    assert fingering.direction == "up a whole step"


def test_a_lost_slur_is_told() -> None:
    lick = typed(f"4/0h 4/10 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    source = source_of(lick)
    drones = drones_moved(source, Neck("gCGBD"), 0, Chord.parse("G"))
    # With the fourth string at C the D is fret 2, and the C4 is fret 12: still one string.
    same = sketched(source, drones, 0)
    assert same.exact
    high = sketched(source, drones_moved(source, Neck("gCGBD"), 10, Chord.parse("F")), 10)
    assert high.unslurred == ()
    assert high.wanted[1].technique == "hammer"


def test_the_sentence_names_the_fall_as_it_now_is() -> None:
    lick = typed(f"4/4 . 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    found = tried(sketch_of(lick, 1))
    assert found is not None
    assert finished(found, Chord.parse("Ab")).lick.trains == (
        "Try from G, up a half step: Db falls to C, from Eb7 to Ab."
    )
    colour = typed("2/1 . . . . . . . | 2/1 . . . . . . .")
    kept = tried(sketch_of(colour))
    assert kept is not None
    assert finished(kept, Chord.parse("G")).lick.trains == "Try from G, at the same pitch."
