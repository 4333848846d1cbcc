"""What a take is made of: rolls with all that a hand does in them, and the passages that are hard to hear.

The problem: random rolls hold few of the notes that a listener loses: a half step under the note that still
rings, one pitch on two strings, the same string again, a soft note after a long silence. Each of these is a
figure here, a row of `FIGURES` with how often it comes.

Conventions: a figure is given the eighth on which it begins and returns how many it took.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from routines.lick import Technique
from routines.neck import Neck
from tests.bench.train.clock import Score
from tests.bench.train.hands import ALL_STRINGS, COUNTS_DB, STOP_DB, Hand, Playing
from tests.bench.train.rolling import SLIDE_SEC, Player

_START_SEC = (0.25, 0.9)
_SPAN_SEC = (4.8, 7.8)
_UNISONS = (((1, 0), (2, 3)), ((1, 5), (5, 0)), ((2, 0), (3, 4)), ((3, 0), (4, 5)), ((2, 8), (5, 0)))
_OCTAVES = (((3, 0), (5, 0)), ((4, 0), (1, 0)), ((4, 5), (5, 0)), ((3, 2), (1, 7)), ((4, 2), (1, 2)))


def drawn_playing(rng: np.random.Generator, seed: int, neck: Neck) -> Playing:
    """Draw a hand and let it play for some seconds.

    Parameters
    ----------
    rng : numpy.random.Generator
    seed : int
        Noted in the performance.
    neck : Neck

    Returns
    -------
    Playing
    """
    hand = Hand.drawn(rng)
    score = Score(rng, hand, neck, float(rng.uniform(*_START_SEC)))
    player = Player(score)
    eighths = float(rng.uniform(*_SPAN_SEC)) * hand.nps
    names = list(FIGURES)
    weights = np.array([FIGURES[name].weight for name in names])
    at = 0
    while at < eighths:
        at += FIGURES[str(rng.choice(names, p=weights / weights.sum()))].play(player, at)
        if rng.random() < hand.stop_share:
            score.touch(at, ALL_STRINGS, float(rng.uniform(*STOP_DB)), "stop")
            at += int(rng.integers(1, 3))
    return score.playing(seed)


def _run(player: Player, at: int) -> int:
    """Single notes up and down one string, some of them slurred."""
    rng, score = player.rng, player.score
    string, length = int(rng.integers(1, 5)), int(rng.integers(4, 9))
    top = min(int(player.hand.highest_fret), score.neck.last_fret)
    fret = int(rng.integers(0, max(1, top - 4)))
    score.lift(at)
    for eighth in range(length):
        slurred = eighth > 0 and rng.random() < 0.3
        how: Technique = ("slide" if fret and rng.random() < 0.3 else "hammer") if slurred else "pick"
        moving = float(min(rng.uniform(*SLIDE_SEC), 0.5 / player.hand.nps)) if how == "slide" else None
        score.note(at + eighth, string, fret, how, moving_sec=moving)
        if rng.random() < 0.3:
            score.note(at + eighth, 5, 0, level_db=score.level(at, -4.0))
        fret = int(np.clip(fret + rng.choice([-2, -1, 1, 2, 3, -3]), 0, top))
    return length


def _again(player: Player, at: int) -> int:
    """The same pitch struck again on its string, alone or with another string between."""
    rng, string, length = player.rng, int(player.rng.integers(1, 6)), int(player.rng.integers(3, 7))
    other = int(rng.choice([s for s in range(1, 6) if s != string]))
    alone = rng.random() < 0.6
    for eighth in range(length):
        now = string if alone or eighth % 2 == 0 else other
        player.score.note(at + eighth, now, player.shape[now])
    return length


def _pairs(player: Player, at: int, table: tuple[tuple[tuple[int, int], ...], ...], together: float) -> int:
    """Two places in turn, or now and then at once."""
    rng, first = player.rng, table[int(player.rng.integers(len(table)))]
    moved = int(rng.integers(0, 8)) if all(fret for _, fret in first) else 0
    places = [(string, fret + moved) for string, fret in first]
    if rng.random() < 0.5:
        places.reverse()
    length = int(rng.integers(2, 6))
    for eighth in range(length):
        both = rng.random() < together
        late = player.score.jitter()
        for string, fret in places if both else [places[eighth % 2]]:
            gap = 1e-3 * player.hand.pinch_spread_ms * float(rng.random())
            player.score.note(at + eighth, string, fret, late_sec=late + gap * both)
    return length


def _fall(player: Player, at: int) -> int:
    """A note that rings on, and the half step below it: on its string, or on another."""
    rng, score = player.rng, player.score
    string = int(rng.integers(1, 5))
    fret = int(rng.integers(1, 13))
    wait = int(rng.integers(1, 4))
    score.lift(at)
    if rng.random() < 0.3:
        score.note(at, string, fret - 1)
        score.note(at + 1, string, fret, "hammer")
    else:
        score.note(at + int(rng.random() < 0.3), string, fret)
    end = at + 1 + wait
    for eighth in range(at + 1, end):
        other = int(rng.integers(1, 6))
        if other != string and eighth > at + 1:
            score.note(eighth, other, 0)
    midi = score.neck.midi(string, fret) - 1
    elsewhere = [p for p in score.neck.places(midi) if p.string != string and score.has(p.string, p.fret)]
    how: Technique = "pick" if rng.random() < 0.6 else "pull"
    if elsewhere and rng.random() < 0.5:
        place = elsewhere[int(rng.integers(len(elsewhere)))]
        score.note(end, place.string, place.fret)
    else:
        score.note(end, string, fret - 1, how)
    return wait + 3


def _chord(player: Player, at: int) -> int:
    """Four or five strings struck together, and left to ring."""
    rng = player.rng
    player.new_shape()
    player.score.lift(at)
    strings = (4, 3, 2, 1) if rng.random() < 0.7 else (5, 4, 3, 2, 1)
    step = 1e-3 * float(rng.uniform(0.0, 9.0)) * (1 if rng.random() < 0.7 else -1)
    late, whole_db = player.score.jitter(), player.score.level(at)
    for number, string in enumerate(strings):
        level = max(COUNTS_DB, whole_db - float(rng.uniform(0.0, 0.6 * player.hand.pinch_uneven_db)))
        player.score.note(at, string, player.shape[string], late_sec=late + step * number, level_db=level)
    return int(rng.integers(2, 5))


def _sparse(player: Player, at: int) -> int:
    """A note or two that ring for long, then a soft one."""
    rng, score = player.rng, player.score
    player.new_shape()
    score.lift(at)
    for eighth in range(int(rng.integers(1, 3))):
        string = int(rng.integers(1, 6))
        score.note(at + eighth, string, player.shape[string])
    wait = 2 + round(float(rng.uniform(0.3, 1.3)) * player.hand.nps)
    string = int(rng.integers(1, 6))
    score.note(at + wait, string, player.shape[string], level_db=float(rng.uniform(COUNTS_DB, -5.0)))
    return wait + int(rng.integers(1, 4))


def _drone(player: Player, at: int) -> int:
    """The fifth string over and over, another string now and then."""
    rng, length = player.rng, int(player.rng.integers(4, 9))
    for eighth in range(length):
        string = 5 if eighth % 2 or rng.random() < 0.5 else int(rng.integers(1, 5))
        player.score.note(at + eighth, string, player.shape[string])
    return length


@dataclass(frozen=True, slots=True)
class Figure:
    """How often a figure comes, against the others, and how it is played."""

    weight: float
    play: Callable[[Player, int], int]


FIGURES: Mapping[str, Figure] = MappingProxyType(
    {
        "roll": Figure(8.0, Player.roll),
        "run": Figure(1.2, _run),
        "again": Figure(1.0, _again),
        "unison": Figure(1.0, lambda player, at: _pairs(player, at, _UNISONS, 0.0)),
        "octave": Figure(1.0, lambda player, at: _pairs(player, at, _OCTAVES, 0.5)),
        "fall": Figure(1.6, _fall),
        "chord": Figure(0.8, _chord),
        "sparse": Figure(0.7, _sparse),
        "drone": Figure(0.6, _drone),
    }
)
"""Name of a figure to how it is played."""
