"""What is too faint to be a note: a finger that leaves its string, beside notes that were struck."""

from __future__ import annotations

import numpy as np
import pytest

from listener.ear import Ear, EarSettings
from listener.expecting import Expectation
from listener.framing import Past
from listener.measures import Levels
from listener.notes import NoteEvent, standing
from listener.offset import TuningOffset
from listener.scorer import Struck
from listener.strikes import Strike
from tests.plucks import plucked

RATE = 44100
EXPECTED = [Expectation(onset_sec=1.0, spread_sec=0.1, midi=60, weight=0.9)]


class _Sure:
    """A scorer that says the same of every strong strike."""

    back_samples, ahead_samples = 0, 2000

    def reset(self) -> None:
        pass

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        return [Struck(60, 0.96, asked=True)] if strike.strength > 0.1 else []


def _plucks(last: float, before: int = 4) -> np.ndarray:
    """Some equal plucks, then one of that loudness."""
    notes = [(0.3 + 0.5 * k, 60, 0.2) for k in range(before)] + [(0.3 + 0.5 * before, 60, last)]
    sound = plucked(RATE, notes, duration_sec=1.2 + 0.5 * before)
    fade = np.ones(len(sound), np.float32)
    end = round((0.28 + 0.5 * before) * RATE)  # what rings on is stopped before the last one
    fade[end - 2000 : end] = np.linspace(1.0, 0.0, 2000)
    fade[end : end + 400] = 0.0
    quiet = plucked(RATE, notes[-1:], duration_sec=len(sound) / RATE)[: len(sound)]
    faded: np.ndarray = np.where(np.arange(len(sound)) < end, sound * fade, quiet).astype(np.float32)
    return faded


def _listened(sound: np.ndarray, *, informed: bool = True) -> tuple[list[NoteEvent], list[NoteEvent]]:
    """What stands, and what was withdrawn."""
    settings = EarSettings(scorer=lambda rate: _Sure(), informed=lambda rate, expected: [_Sure()])
    ear = Ear(RATE, settings=settings, expectations=EXPECTED if informed else ())
    return standing(ear.feed(sound) + ear.flush())


def _heard(last: float, *, informed: bool, before: int = 4) -> tuple[int, int]:
    """How many of the plucks stand and how many were withdrawn."""
    stand, gone = _listened(_plucks(last, before), informed=informed)
    return len(stand), len(gone)


def test_what_measures_far_under_the_notes_before_it_is_taken_back() -> None:
    assert _heard(0.2 * 10 ** (-40 / 20), informed=True) == (4, 1)


def test_a_soft_note_stands() -> None:
    assert _heard(0.2 * 10 ** (-20 / 20), informed=True) == (5, 0)


@pytest.mark.parametrize("last_db", [-20.0, -22.0])
def test_what_is_cut_short_is_not_held_against_a_note(last_db: float) -> None:
    sound = _plucks(0.2 * 10 ** (last_db / 20))
    (*_, last), gone = _listened(sound)
    assert last.onset_sec == pytest.approx(2.3, abs=0.01)
    (*_, cut), cut_gone = _listened(sound[: round(last.heard_sec * RATE)])
    assert (cut.onset_sec, gone, cut_gone) == (last.onset_sec, [], [])
    assert cut.level_db < last.level_db


def test_what_is_taken_back_tells_nothing_about_the_tuning(monkeypatch: pytest.MonkeyPatch) -> None:
    added: list[float] = []
    monkeypatch.setattr(TuningOffset, "add", lambda self, cents, sure: added.append(cents))
    assert _heard(0.2 * 10 ** (-40 / 20), informed=True) == (4, 1)
    assert len(added) == 4


def test_the_plain_ear_takes_nothing_back() -> None:
    assert _heard(0.2 * 10 ** (-40 / 20), informed=False) == (5, 0)


def test_of_three_notes_nothing_is_known_yet() -> None:
    assert _heard(0.2 * 10 ** (-40 / 20), informed=True, before=3) == (4, 0)


@pytest.mark.parametrize(("level_db", "faint"), [(-48.0, False), (-48.1, True), (-20.0, False)])
def test_far_is_measured_from_the_median(level_db: float, faint: bool) -> None:
    levels = Levels(28.0)
    for one in (-20.0, -5.0, -20.0, -20.0, -60.0):
        levels.add(one)
    assert levels.is_faint(level_db) is faint


def test_only_the_notes_of_late_count_and_a_reset_forgets_them() -> None:
    levels = Levels(28.0)
    for one in [-5.0] * 8 + [-30.0] * 8:
        levels.add(one)
    assert not levels.is_faint(-40.0)
    levels.reset()
    assert not levels.is_faint(-120.0)
