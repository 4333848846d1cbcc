"""Ears that tell more than notes: how sure every pitch was at every strike, what was seen, how well it went.

The border of the listener stays what it is; these are for getting to know an instrument, and are built on it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from listener.composing import Roll
from listener.ear import Ear, EarSettings
from listener.framing import Past
from listener.network import PITCHES, Network
from listener.notes import NoteEvent, standing
from listener.offset import TuningOffset
from listener.scorer import LookingScorer, NetworkScorer, Scorer, Seen, Struck
from listener.strikes import Strike

NEAR_SEC = 0.050
"""A note is heard where the ear has its pitch so near to its onset."""


@dataclass(frozen=True, slots=True)
class Listened:
    """What an ear made of a take.

    Attributes
    ----------
    onset_sec : ndarray, shape (n,)
        Of the strikes.
    log_odds : ndarray, shape (n, PITCHES)
    notes : tuple of NoteEvent
        What it said.
    tuning_cents : float
        By the end.
    """

    onset_sec: np.ndarray
    log_odds: np.ndarray
    notes: tuple[NoteEvent, ...]
    tuning_cents: float


def listened(sound: np.ndarray, rate: int, start_cents: float = 0.0) -> Listened:
    """Listen to a take.

    Parameters
    ----------
    sound : ndarray of float32, shape (n,)
    rate : int
        One of the ear's.
    start_cents : float
        Where the tuning starts, as in `listener.offset.TuningOffset.start`; 0 for not known.

    Returns
    -------
    Listened
    """
    listening = _Listening(rate, start_cents)
    ear = Ear(rate, settings=EarSettings(scorer=lambda _: listening))
    notes, _ = standing(ear.feed(sound) + ear.flush())
    odds = np.stack(listening.odds) if listening.odds else np.zeros((0, PITCHES))
    return Listened(np.array(listening.samples, float) / rate, odds, tuple(notes), ear.tuning_cents)


def looked_at(
    sound: np.ndarray, rate: int, network: Network, tuning_cents: float
) -> tuple[np.ndarray, np.ndarray]:
    """What the network's last layers see of a take, its tuning known.

    Parameters
    ----------
    sound : ndarray of float32, shape (n,)
    rate : int
    network : Network
    tuning_cents : float

    Returns
    -------
    onset_sec : ndarray, shape (n,)
        Of the strikes.
    joined : ndarray of float32, shape (n, PITCHES, h)
        As `Network.joined`.
    """
    looking = _Looking(rate, network, tuning_cents)
    Ear(rate, settings=EarSettings(scorer=lambda _: looking)).feed(sound)
    width = network.joined_width
    joined = np.stack(looking.joined) if looking.joined else np.zeros((0, PITCHES, width), np.float32)
    return np.array(looking.samples, float) / rate, joined


def f_measure(rolls: Sequence[Roll], rate: int, scorer: Callable[[int], Scorer]) -> tuple[int, float]:
    """How well an ear hears composed rolls.

    Parameters
    ----------
    rolls : sequence of Roll
    rate : int
    scorer : callable
        Of the ear, as in `listener.ear.EarSettings`.

    Returns
    -------
    notes : int
        How many are asked for.
    f : float
        F of notes within `NEAR_SEC`; what may be heard or not counts neither way.
    """
    notes = hits = heard = 0
    for roll in rolls:
        ear = Ear(rate, settings=EarSettings(scorer=scorer))
        said, _ = standing(ear.feed(roll.sound) + ear.flush())
        wanted = [(note.onset_sec, note.midi) for note in roll.notes if note.counts]
        free = [(note.onset_sec, note.midi) for note in roll.notes if not note.counts]
        left = _left(wanted, [(event.onset_sec, event.midi) for event in said])
        notes += len(wanted)
        hits += len(said) - len(left)
        heard += len(said) - len(left) + len(_left(free, left))
    return notes, 2.0 * hits / max(1, notes + heard)


def _left(wanted: Sequence[tuple[float, int]], heard: list[tuple[float, int]]) -> list[tuple[float, int]]:
    """What was heard and answers nothing wanted: each wanted note takes the first that is near enough."""
    left = list(heard)
    for onset_sec, midi in wanted:
        near = [one for one in left if one[1] == midi and abs(one[0] - onset_sec) <= NEAR_SEC]
        if near:
            left.remove(near[0])
    return left


class _Listening(NetworkScorer):
    """The plain scorer, which remembers what it saw."""

    def __init__(self, rate: int, start_cents: float) -> None:
        super().__init__(rate)
        self._start_cents = start_cents
        self.samples: list[int] = []
        self.odds: list[np.ndarray] = []

    def seen(self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset) -> Seen | None:
        if self._start_cents:
            tuning.start(self._start_cents)
        found = super().seen(past, strike, following, tuning)
        if found is not None:
            self.samples.append(strike.sample)
            self.odds.append(found.log_odds)
        return found


class _Looking(LookingScorer):
    """Remembers what the network's last layers would see, and finds no pitch."""

    def __init__(self, rate: int, network: Network, tuning_cents: float) -> None:
        super().__init__(rate)
        self._network, self._tuning_cents = network, tuning_cents
        self.samples: list[int] = []
        self.joined: list[np.ndarray] = []

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        look = self._looker.look(past, strike, following, self._tuning_cents)
        if look is not None:
            self.samples.append(strike.sample)
            self.joined.append(self._network.joined(look))
        return []
