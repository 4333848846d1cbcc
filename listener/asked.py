"""Which strikes of a take are the notes that a player was asked for, in order.

The problem: a player who is asked for a list of notes leaves one out, strikes another twice, or takes a
wrong fret, and the ear mishears a few on a strange instrument. The order still tells: each asked note is
given at most one strike, strikes rise with the list, and what is gained is how sure the network is of the
asked pitch there, up to a limit, so that the number of notes counts before their sureness. So a note that is
too unsure to be said by itself is still found between its neighbours, and a strike at which another pitch is
clearly surer is never taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from listener.network import LOW_PITCH, PITCHES

APART_SEC = 0.25
"""Asked notes are at least so far apart."""

_LEAST_ODDS, _MOST_ODDS = -4.0, 6.0  # log odds from which a strike may be an asked note; beyond is as good
_BEHIND = 1.5  # log odds that another pitch may be surer by
_EACH = 1.0  # what a note counts for by itself


@dataclass(frozen=True, slots=True)
class Asked:
    """A note that a player is asked for.

    Attributes
    ----------
    midi : int
        Half step on the instrument's own tuning.
    string : int
        Which of the instrument's strings sounds it: one note at a time.
    """

    midi: int
    string: int


@dataclass(frozen=True, slots=True)
class Answer:
    """An asked note and the strike that answers it, both by their places in their lists."""

    asked: int
    strike: int


def answered(asked: Sequence[Asked], onset_sec: np.ndarray, log_odds: np.ndarray) -> list[Answer]:
    """Find the asked notes among the strikes.

    Parameters
    ----------
    asked : sequence of Asked
        In the order asked for.
    onset_sec : ndarray, shape (n,)
        When the strikes came, rising.
    log_odds : ndarray, shape (n, PITCHES)
        How sure the network is of each pitch at each strike.

    Returns
    -------
    list of Answer
        Rising in both; the greatest sum of what they are worth; of equals the one that comes first.
    """
    strikes = len(onset_sec)
    if not asked or not strikes:
        return []
    worth = _worth(asked, log_odds)
    after = np.searchsorted(onset_sec, onset_sec + APART_SEC)
    best = np.zeros((len(asked) + 1, strikes + 1))
    for note in range(len(asked) - 1, -1, -1):
        taken = np.where(worth[note] > 0.0, worth[note] + best[note + 1, after], 0.0)
        here = np.maximum(best[note + 1, :strikes], taken)
        best[note, :strikes] = np.maximum.accumulate(here[::-1])[::-1]
    found = []
    note = strike = 0
    while note < len(asked) and strike < strikes:
        later = int(after[strike])
        if worth[note, strike] and worth[note, strike] + best[note + 1, later] == best[note, strike]:
            found.append(Answer(note, strike))
            note, strike = note + 1, later
        elif best[note, strike] == best[note, strike + 1]:
            strike += 1
        else:
            note += 1
    return found


def _worth(asked: Sequence[Asked], log_odds: np.ndarray) -> np.ndarray:
    """What each strike is worth as each asked note; shape (len(asked), n), 0 for what it cannot be."""
    rows = np.array([note.midi - LOW_PITCH for note in asked])
    known = (rows >= 0) & (rows < PITCHES)
    own = log_odds[:, np.clip(rows, 0, PITCHES - 1)].T
    can_be = known[:, None] & (own >= np.maximum(_LEAST_ODDS, log_odds.max(axis=1) - _BEHIND))
    worth: np.ndarray = np.where(can_be, np.minimum(own, _MOST_ODDS) - _LEAST_ODDS + _EACH, 0.0)
    return worth
