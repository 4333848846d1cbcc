"""Where the paths that the ear gives arrive: sharp strokes, slides into a pitch, chokes let down again."""

import pytest

from feedback.heard import Sound, sounds_of
from feedback.judges.limits import Limits
from listener.notes import NoteEvent


def heard(*cents: float, midi: int = 60) -> list[Sound]:
    """Sounds of one event at second 1 whose path has a point every 10 ms."""
    event = NoteEvent(
        onset_sec=1.0,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=1.0,
        heard_sec=1.03,
        settled_sec=1.4,
        path=tuple((1.0 + 0.010 * k, c) for k, c in enumerate(cents)),
    )
    return sounds_of([event], Limits())


def arrival(*cents: float) -> tuple[float, int] | None:
    """Second and pitch at which such an event arrives."""
    moved = [(s.onset_sec, s.midi) for s in heard(*cents) if s.moved]
    assert len(moved) <= 1
    return moved[0] if moved else None


def test_a_plain_note_arrives_nowhere() -> None:
    (sound,) = heard()
    assert (sound.midi, sound.has_path, sound.reaches_midi) == (60, False, None)


def test_a_choke_arrives_when_it_comes_near_its_half_step() -> None:
    assert arrival(12.0, 30.0, 64.0, 65.0, 104.0, 101.0) == (pytest.approx(1.03), 61)


def test_a_choke_that_is_let_down_arrives_at_its_peak() -> None:
    assert arrival(15.0, 90.0, 190.0, 203.0, 120.0, 8.0) == (pytest.approx(1.02), 62)


def test_a_bent_string_that_is_let_down_arrives_below() -> None:
    assert arrival(4.0, -60.0, -130.0, -196.0) == (pytest.approx(1.03), 58)


@pytest.mark.parametrize("cents", [(-104.0, -98.0, -20.0, 2.0), (206.0, 104.0, 3.0, 1.0)])
def test_a_slide_into_the_pitch_that_was_heard_arrives_nowhere_else(cents: tuple[float, ...]) -> None:
    assert arrival(*cents) is None
    assert [s.has_path for s in heard(*cents)] == [True]


def test_a_peak_between_half_steps_is_no_arrival() -> None:
    assert arrival(10.0, 40.0, 64.0, 63.0) is None
    assert arrival(10.0, 80.0, 135.0, 136.0) is None
