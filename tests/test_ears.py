"""An ear that remembers says what an ear says, whatever it remembers."""

from __future__ import annotations

import numpy as np
import pytest

from listener import ear as ears
from listener.ear import Ear, EarSettings
from listener.expecting import Expectation
from listener.notes import Report
from tests.ears import Remembering, remember
from tests.plucks import ROLL, plucked

RATE, BLOCK = 44_100, 4410
SOUND = plucked(RATE, ROLL[:4], duration_sec=0.8)
ASKED = [Expectation(onset_sec=ROLL[0][0], spread_sec=0.02, midi=round(ROLL[0][1]), weight=0.9)]


def _heard(ear: Ear | Remembering, sound: np.ndarray) -> list[tuple[list[Report], float]]:
    said = []
    for begin in range(0, len(sound), BLOCK):
        said.append((ear.feed(sound[begin : begin + BLOCK]), ear.tuning_cents))
    said.append((ear.flush(), ear.tuning_cents))
    return said


class Counting(Ear):
    """Counts the blocks that it is really fed."""

    blocks = 0

    def feed(self, samples: np.ndarray) -> list[Report]:
        Counting.blocks += 1
        return super().feed(samples)


def test_it_says_the_same_of_the_same_of_another_end_and_of_another_ear(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tests.ears.Ear", Counting)
    monkeypatch.setattr("tests.ears._SAID", {})
    other = SOUND.copy()
    other[len(other) // 2 :] *= -0.5
    blocks = -(-len(SOUND) // BLOCK)
    for sound, how, fed in (
        (SOUND, {}, blocks),
        (SOUND, {}, 0),
        (other, {}, blocks),
        (SOUND, {"expectations": ASKED}, blocks),
        (SOUND, {"settings": EarSettings()}, blocks),
        (SOUND, {"settings": EarSettings()}, blocks),
        (SOUND[: len(SOUND) // 2], {}, blocks // 2),
    ):
        Counting.blocks = 0
        assert _heard(Remembering(RATE, **how), sound) == _heard(Ear(RATE, **how), sound)
        assert Counting.blocks == fed


def test_it_is_given_to_whoever_asks_and_only_so_long() -> None:
    with pytest.MonkeyPatch.context() as monkeypatch:
        remember(monkeypatch)
        assert ears.Ear is Remembering
    assert ears.Ear is Ear
