"""A small share of the rows, heard: block sizes, levels, tuning, and sound that is no note."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from listener.notes import NoteEvent
from tests.bench.changes import at_level, disturbed_alone
from tests.bench.cost import BLOCKS, events_by_block
from tests.bench.hearers import heard
from tests.bench.note_scores import Tally
from tests.bench.passages import Hand, Passage, rest_of
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take

FORWARD = ((3, 0), (2, 1), (1, 2), (5, 0), (2, 1), (1, 2), (5, 0), (1, 2))
SEED = 11


def _simple() -> Passage:
    """One bar of a forward roll over a D7 shape, four eighths a second."""
    hand = Hand(SEED, 4.0, 4.0)
    for eighth, place in enumerate(FORWARD):
        hand.play(eighth, place)
    return hand.passage()


@cache
def _take(tuning_cents: float | None = None) -> Take:
    simple = _simple()
    return SOUNDS["simulated"].take(
        Passage(performance=simple.performance, watched={}, tuning_cents=tuning_cents)
    )


@cache
def _usual() -> list[NoteEvent]:
    return heard(_take())


def _recall(take: Take, events: list[NoteEvent]) -> float:
    tally = Tally()
    tally.add(take.truth, events)
    return tally.recall()


def test_blocks_from_32_to_4096_samples_give_the_same_events() -> None:
    take = _take()
    sound = take.sound[: round((take.truth[4].onset_sec + 0.05) * take.rate)]
    first = events_by_block(sound, take.rate, BLOCKS[0])
    assert {event.midi for event in first} >= {note.midi for note in take.truth[:4]}
    for block in BLOCKS[1:]:
        assert events_by_block(sound, take.rate, block) == first


@pytest.mark.parametrize("peak_dbfs", [-30.0, -0.3])
def test_soft_and_loud_the_same_notes_are_heard(peak_dbfs: float) -> None:
    take, usual = _take(), _usual()
    other = heard(at_level(take, SEED, peak_dbfs=peak_dbfs))
    assert _recall(take, usual) == 1.0
    assert [event.midi for event in other] == [event.midi for event in usual]
    assert [e.onset_sec for e in other] == pytest.approx([e.onset_sec for e in usual], abs=0.002)


@pytest.mark.parametrize("cents", [-40.0, 40.0])
def test_forty_cents_off_the_half_steps_are_right(cents: float) -> None:
    take = _take(cents)
    assert _recall(take, heard(take)) == 1.0


def test_silence_and_a_soft_squeak_are_no_notes() -> None:
    nothing = SOUNDS["simulated"].take(rest_of(SEED, 1.5))
    assert len(nothing.sound) == round(3.0 * nothing.rate)
    assert heard(nothing) == []
    assert heard(disturbed_alone(nothing, SEED, by="squeak", peak_dbfs=-40.0)) == []
    assert heard(Take(nps=1.0, truth=(), sound=np.zeros(44_100, np.float32), rate=44_100)) == []
