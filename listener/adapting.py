"""Learning a little more: the network's last two layers, from rolls whose notes are known.

The problem: a few hundred notes of one instrument must make the network better there and nowhere worse. So
only the layers that weigh a pitch against its kin are moved, by a short descent from what is shipped, and of
the way that they went only a share is kept: weights half way between two that are good are as good as either,
and stray less.

Measured (bench: banjos): on instruments that the network never learnt from, moving all layers, the first
alone or these two gains about the same; moving the very last one alone gains a third of it; a colour curve
over the views, or the log odds' scale and limit, nothing.

Conventions: labels as in training: the strike nearest to an onset is its own, those just beside it and those
so soon after it that the ear takes them for the same note are neither right nor wrong. Pitches that the
shipped network all but rules out at a strike are left out: they teach nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from listener.composing import Begun
from listener.network import LOW_PITCH, PITCHES
from listener.scorer import probability

MOVED = ("weigh", "weigh_bias", "say", "say_bias")
"""Arrays of the network that are moved."""

BESIDE_SEC = 0.008
"""A strike so near to an onset is neither right nor wrong, if another is nearer."""

NO, YES, EITHER = 0, 1, 2
"""What a pitch is at a strike: not begun, begun, or one that is not asked for."""

_OWN_SEC = {False: 0.015, True: 0.032}  # by whether it is slurred
_SAME_SEC = 0.045
_FAINT_SEC = (-0.020, 0.060)
_RULED_OUT = -9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Descent:
    """How the layers are moved.

    Attributes
    ----------
    steps, rows : int
        Steps, and rows (a pitch at a strike) that each looks at.
    pace : float
        Size of the first step of each weight (Adam); it falls to a tenth by the last.
    hold : float
        What half the squared way from the shipped weights costs, against the mean loss of a row.
    keep : float
        Share of the way that is kept, 0 to 1.
    """

    steps: int = 250
    rows: int = 512
    pace: float = 5e-4
    hold: float = 1e-3
    keep: float = 0.5


@dataclass(frozen=True, slots=True)
class Rows:
    """What is learnt from: a row for each pitch at each strike that is worth it.

    Attributes
    ----------
    seen : ndarray of float32, shape (n, h)
        As `listener.network.Network.joined` gives it.
    begun : ndarray of float32, shape (n,)
        1 where the pitch was begun.
    """

    seen: np.ndarray
    begun: np.ndarray

    @classmethod
    def of(cls, seen: np.ndarray, log_odds: np.ndarray, labels: np.ndarray) -> Rows:
        """The rows of strikes; shapes (n, PITCHES, h), (n, PITCHES), (n, PITCHES)."""
        kept = (labels != EITHER) & ((log_odds > _RULED_OUT) | (labels == YES))
        return cls(seen[kept], (labels[kept] == YES).astype(np.float32))

    @classmethod
    def joined(cls, parts: Sequence[Rows]) -> Rows:
        """Several as one."""
        return cls(np.concatenate([p.seen for p in parts]), np.concatenate([p.begun for p in parts]))


def labelled(onset_sec: np.ndarray, notes: Sequence[Begun]) -> np.ndarray:
    """Say which pitches were begun at which strikes.

    Parameters
    ----------
    onset_sec : ndarray, shape (n,)
        Of the strikes, rising.
    notes : sequence of Begun

    Returns
    -------
    ndarray of uint8, shape (n, PITCHES)
        `NO`, `YES` or `EITHER`.
    """
    labels = np.full((len(onset_sec), PITCHES), NO, np.uint8)
    own: list[tuple[int, int]] = []
    for note in notes:
        pitch, away = note.midi - LOW_PITCH, onset_sec - note.onset_sec
        if not 0 <= pitch < PITCHES or not len(onset_sec):
            continue
        if not note.counts:
            labels[(away >= _FAINT_SEC[0]) & (away <= _FAINT_SEC[1]), pitch] = EITHER
            continue
        labels[np.abs(away) <= BESIDE_SEC, pitch] = EITHER
        best = own_strike(labels, onset_sec, pitch, note.onset_sec, _OWN_SEC[note.slurred])
        if best is not None:
            own.append((best, pitch))
    for best, pitch in own:
        labels[best, pitch] = YES
    return labels


def own_strike(
    labels: np.ndarray, onset_sec: np.ndarray, pitch: int, begins_sec: float, within_sec: float
) -> int | None:
    """The strike nearest to where a pitch begins; those so soon after it that they are one are `EITHER`.

    Parameters
    ----------
    labels : ndarray of uint8, shape (n, PITCHES)
        Written to.
    onset_sec : ndarray, shape (n,)
        Of the strikes, rising; at least one.
    pitch : int
        Its column.
    begins_sec : float
    within_sec : float
        One that is farther away is not its own.

    Returns
    -------
    int or None
        Which strike; None where none is near enough.
    """
    away = np.abs(onset_sec - begins_sec)
    best = int(away.argmin())
    if away[best] > within_sec:
        return None
    after = onset_sec - onset_sec[best]
    labels[(after > 0.0) & (after <= _SAME_SEC), pitch] = EITHER
    return best


def moved(
    shipped: Mapping[str, np.ndarray], rows: Rows, descent: Descent, rng: np.random.Generator
) -> dict[str, np.ndarray]:
    """Move the last two layers toward what the rows say.

    Parameters
    ----------
    shipped : mapping of str to ndarray
        At least the arrays `MOVED`; where the way begins.
    rows : Rows
        At least one.
    descent : Descent
    rng : numpy.random.Generator
        Says in which order the rows are looked at.

    Returns
    -------
    dict of str to ndarray of float32
        The arrays `MOVED`.
    """
    begin = {name: np.asarray(shipped[name], np.float32) for name in MOVED}
    now = {name: array.copy() for name, array in begin.items()}
    mean = {name: np.zeros_like(array) for name, array in begin.items()}
    square = {name: np.zeros_like(array) for name, array in begin.items()}
    order = _order(len(rows.begun), descent.steps * descent.rows, rng)
    for step in range(descent.steps):
        chosen = order[step * descent.rows : (step + 1) * descent.rows]
        slopes = slope(now, rows.seen[chosen], rows.begun[chosen])
        pace = descent.pace * (1.0 - 0.9 * step / max(1, descent.steps - 1))
        for name in MOVED:
            tilt = slopes[name] + descent.hold * (now[name] - begin[name])
            mean[name] += 0.1 * (tilt - mean[name])
            square[name] += 0.001 * (tilt * tilt - square[name])
            even = np.sqrt(square[name] / (1.0 - 0.999 ** (step + 1))) + 1e-8
            now[name] -= np.float32(pace / (1.0 - 0.9 ** (step + 1))) * mean[name] / even
    return {name: begin[name] + np.float32(descent.keep) * (now[name] - begin[name]) for name in MOVED}


def slope(weights: Mapping[str, np.ndarray], seen: np.ndarray, begun: np.ndarray) -> dict[str, np.ndarray]:
    """How the mean loss of some rows changes with each weight.

    Parameters
    ----------
    weights : mapping of str to ndarray
        The arrays `MOVED`.
    seen : ndarray, shape (n, h)
    begun : ndarray, shape (n,)

    Returns
    -------
    dict of str to ndarray
        Shapes as in `weights`. The loss is the logarithm of the probability of what happened, negative.
    """
    weighed = np.maximum(seen @ weights["weigh"] + weights["weigh_bias"], 0.0)
    odds = weighed @ weights["say"] + weights["say_bias"]
    wrong = (probability(odds) - begun) / len(begun)
    back = np.outer(wrong, weights["say"]) * (weighed > 0.0)
    return {
        "weigh": seen.T @ back,
        "weigh_bias": back.sum(axis=0),
        "say": weighed.T @ wrong,
        "say_bias": wrong.sum(keepdims=True),
    }


def _order(count: int, needed: int, rng: np.random.Generator) -> np.ndarray:
    """Places of rows, each as often as any other, give or take one."""
    rounds = max(1, -(-needed // count))
    return np.concatenate([rng.permutation(count) for _ in range(rounds)])[:needed]
