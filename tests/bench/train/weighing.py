"""What the weighers learn from: takes as the blind looks see them, and expectations drawn around them.

The problem: how far to trust an expectation can only be learnt from looks that were not learnt by heart, so
the takes are others than the networks saw. Every take is asked for in several ways: see
`tests.bench.train.asked`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from listener.adapting import EITHER, YES
from listener.ear import Ear, EarSettings
from listener.expecting import Expectation, Expected
from listener.framing import Past
from listener.informed import UNHEARD
from listener.network import LOW_PITCH, PITCHES, Network, shipped
from listener.offset import TuningOffset
from listener.scorer import LookingScorer, Struck
from listener.strikes import Strike
from listener.views import FACTS, LOOKS
from listener.weigher import RECENT_SEC, inputs, width
from tests.bench.train.asked import drawn_asks, expectations_of
from tests.bench.train.features import labelled
from tests.bench.train.takes import TrueTake, drawn

WEIGHTS = {"early": "strike-early.npz", "middle": "strike-middle.npz", "full": "strike.npz"}
"""Name of a look to the file of its network."""

_TUNING_SD_CENTS = 4.0
_LEAST_ODDS, _LEAST_EXPECTED = -6.0, 0.02  # what is less than both teaches nothing
_SLOWEST_NPS = 2.0
_LOWEST_DRONE, _USUAL_DRONE = 62, 67
_ANYTHING = Expectation(onset_sec=0.0, spread_sec=1.0, midi=LOW_PITCH, weight=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """What one weigher sees of pitches (`listener.weigher.inputs`), and whether each was begun."""

    seen: np.ndarray
    begun: np.ndarray


class _Writer(LookingScorer):
    """A scorer that writes down the blind odds of a look, and finds no pitch."""

    def __init__(self, rate: int, look: str, tuning_cents: float) -> None:
        super().__init__(rate, LOOKS[look])
        self._network = Network(shipped(WEIGHTS[look]))
        self._tuning_cents = tuning_cents
        self.seen: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        look = self._looker.look(past, strike, following, self._tuning_cents)
        if look is not None:
            self.seen[strike.sample] = self._network.log_odds(look), look.facts
        return []


def gathered(seeds: Sequence[int], *, notes_folder: Path | None, ways: int, workers: int) -> dict[str, Rows]:
    """Draw takes, and what they were asked to be, and write down what the weighers see.

    Parameters
    ----------
    seeds : sequence of int
    notes_folder : Path or None
        As `tests.bench.train.gather.gathered`.
    ways : int
        In how many ways each take is asked for.
    workers : int
        Processes.

    Returns
    -------
    dict of str to Rows
        For each look.
    """
    jobs = [(seed, notes_folder, ways) for seed in seeds]
    if workers < 2:
        found = list(map(_one, jobs))
    else:
        with get_context("spawn").Pool(workers) as pool:
            found = list(pool.imap(_one, jobs, chunksize=4))
    return {
        look: Rows(
            seen=np.concatenate([one[look].seen for one in found]),
            begun=np.concatenate([one[look].begun for one in found]),
        )
        for look in LOOKS
    }


def _one(job: tuple[int, Path | None, int]) -> dict[str, Rows]:
    seed, folder, ways = job
    return rows(drawn(seed, aside=False, notes_folder=folder), ways)


def rows(take: TrueTake, ways: int) -> dict[str, Rows]:
    """What the weighers see of one take, asked for in several ways."""
    rng = np.random.default_rng([take.seed, 78])
    tuning_cents = take.tuning_cents + float(rng.normal(0.0, _TUNING_SD_CENTS))
    writers = {look: _Writer(take.rate, look, tuning_cents) for look in LOOKS}
    settings = replace(EarSettings(), informed=lambda rate, expected: list(writers.values()))
    Ear(take.rate, settings=settings, expectations=[_ANYTHING]).feed(take.sound)
    samples = sorted(set.intersection(*(set(writer.seen) for writer in writers.values())))
    labels = labelled(np.array(samples, float) / take.rate, take.notes)
    eighth_sec = 1.0 / max(take.nps, _SLOWEST_NPS)
    asked = [
        Expected(expectations_of(drawn_asks(take.notes, eighth_sec, rng), eighth_sec, _drone(take)))
        for _ in range(ways)
    ]
    found = {look: _Column() for look in LOOKS}
    for number, sample in enumerate(samples):
        told = [expected.at(sample / take.rate) for expected in asked]
        before = [s for s in samples[:number] if sample - s <= RECENT_SEC * take.rate]
        odds: list[np.ndarray] = []
        for look, writer in writers.items():
            now, facts = writer.seen[sample]
            odds.append(now)
            recent = np.max([writer.seen[s][0] for s in before], axis=0, initial=UNHEARD)
            for expected in told:
                worth = (now > _LEAST_ODDS) | (expected > _LEAST_EXPECTED)
                kept = worth & (labels[number] != EITHER)
                found[look].seen.append(inputs(odds, facts, expected, np.broadcast_to(recent, PITCHES))[kept])
                found[look].begun.append(labels[number][kept] == YES)
    return {look: column.rows(look) for look, column in found.items()}


@dataclass(slots=True)
class _Column:
    seen: list[np.ndarray] = field(default_factory=list)
    begun: list[np.ndarray] = field(default_factory=list)

    def rows(self, look: str) -> Rows:
        wide = width(list(LOOKS).index(look), FACTS)
        none = np.zeros((0, wide), np.float32), np.zeros(0, bool)
        return Rows(seen=np.concatenate([none[0], *self.seen]), begun=np.concatenate([none[1], *self.begun]))


def _drone(take: TrueTake) -> int:
    """The pitch that is struck most, of those that a fifth string may have: slips go there."""
    high = [note.midi for note in take.notes if note.midi >= _LOWEST_DRONE]
    return max(set(high), key=high.count) if high else _USUAL_DRONE
