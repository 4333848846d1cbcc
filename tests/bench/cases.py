"""The passages of the rows: each takes a seed and lets one hard case come in every bar.

Places are string and fret in open G. A seven that still rings is on another string than the note that it
falls to; a hammer goes up to the seven of the chord in its comment.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from routines.neck import Neck
from tests.bench.passages import Fretted, Hand, Passage, bars, half_bars
from tests.bench.rolls import CLOSED_SHAPES, random_rolls

FALLS: Mapping[str, tuple[tuple[Fretted, Fretted], ...]] = MappingProxyType(
    {
        "C-B": (((3, 5), (2, 0)), ((2, 1), (3, 4)), ((4, 10), (2, 0)), ((1, 10), (2, 12)), ((2, 13), (1, 9))),
        "F-E": (((1, 3), (2, 5)), ((2, 6), (1, 2)), ((3, 10), (1, 2)), ((1, 15), (2, 17))),
        "G-F#": (((5, 0), (1, 4)), ((1, 5), (2, 7)), ((2, 8), (1, 4)), ((3, 0), (4, 4))),
        "Bb-A": (((3, 3), (4, 7)), ((4, 8), (3, 2)), ((2, 11), (1, 7)), ((1, 8), (2, 10))),
    }
)
"""Seven and third: where the seven rings, and where the half step below it is struck."""

HAMMERED: tuple[tuple[Fretted, Fretted], ...] = (
    ((2, 0), (2, 1)),  # D7
    ((3, 3), (3, 5)),  # D7
    ((1, 2), (1, 3)),  # G7
    ((4, 2), (4, 3)),  # G7
    ((3, 2), (3, 3)),  # C7
    ((1, 6), (1, 8)),  # C7
    ((1, 4), (1, 5)),  # A7
    ((2, 1), (2, 3)),  # E7
)
"""Where a hammer to the seven begins and ends."""

UNISONS: Mapping[str, tuple[Fretted, Fretted]] = MappingProxyType(
    {"1/0-2/3": ((1, 0), (2, 3)), "1/5-5/0": ((1, 5), (5, 0))}
)
"""Two places of one pitch."""

OCTAVES: tuple[tuple[Fretted, Fretted], ...] = (
    ((3, 0), (5, 0)),
    ((3, 0), (5, 0)),
    ((4, 5), (5, 0)),
    ((4, 0), (1, 0)),
    ((3, 2), (1, 7)),
    ((2, 1), (1, 10)),
)
"""A note and its octave; G under the fifth string most of all."""

GENERAL_NPS = (4.0, 6.0, 8.0, 10.0, 11.0)
"""Eighths a second of the rolls that stand for all playing."""

_FIRST_GENERAL_SEED = 4000
_ALL = (1, 2, 3, 4, 5)
_LOWEST_UP_THE_NECK = 12


def general_seed(number: int, nps: float) -> int:
    """The seed of the rolls that stand for all playing: which of them, from 0, at one of `GENERAL_NPS`."""
    return _FIRST_GENERAL_SEED + len(GENERAL_NPS) * number + GENERAL_NPS.index(nps)


def roll(seed: int, *, nps: float | None = None, capo: int = 0) -> Passage:
    """Random rolls, by default at 5 to 10 eighths a second, of everything that rolls hold."""
    drawn = float(np.random.default_rng(seed).uniform(5.0, 10.0)) if nps is None else nps
    performance = random_rolls(seed, drawn, neck=Neck(capo=capo) if capo else None)
    return Passage(performance=performance, watched={})


def detuned(seed: int, *, cents: float) -> Passage:
    """Rolls on an instrument that is off as a whole."""
    return replace(roll(seed), tuning_cents=cents)


def one_string_off(seed: int, *, cents: float) -> Passage:
    """Rolls, one string off, sharp or flat."""
    rng = np.random.default_rng(seed)
    off = [0.0] * 5
    off[int(rng.integers(5))] = float(rng.choice([-cents, cents]))
    return replace(roll(seed), tuning_cents=0.0, string_cents=tuple(off))


def fall(seed: int, *, name: str) -> Passage:
    """A seven, and while it rings the half step below it on another string, one to three eighths later."""
    hand = Hand(seed, 5.0, 10.0)
    for half in half_bars():
        seven, due = hand.one_of(FALLS[name])
        at, then = (half + int(eighth) for eighth in sorted(hand.rng.choice(4, 2, replace=False)))
        hand.play(at, seven)
        hand.play(then, due, watched=True, unwanted_midi=hand.midi(seven))
        hand.around(
            [e for e in range(half, half + 4) if e not in (at, then)],
            strings=[s for s in _ALL if s not in (seven[0], due[0])],
            near_fret=seven[1],
            never=(hand.midi(seven), hand.midi(due)),
        )
    return hand.passage()


def hammered_seven(seed: int) -> Passage:
    """A hammer up to the seven, half an eighth or an eighth after its stroke, the roll going on around it."""
    hand = Hand(seed, 4.5, 8.0)
    for half in half_bars():
        begins, seven = hand.one_of(HAMMERED)
        at = half + int(hand.rng.integers(0, 2))
        later = float(hand.rng.choice([0.5, 1.0]))
        hand.play(at, begins)
        hand.play(at + later, seven, "hammer", watched=True)
        hand.around(
            [e for e in range(half, half + 4) if e not in (at, at + later)],
            strings=[s for s in _ALL if s != seven[0]],
            near_fret=begins[1],
            never=(hand.midi(seven),),
        )
    return hand.passage()


def drone(seed: int) -> Passage:
    """The open fifth string on every second eighth, the others between."""
    hand = Hand(seed, 5.0, 10.0)
    for bar in bars():
        for eighth in range(bar + 1, bar + 8, 2):
            hand.play(eighth, (5, 0), watched=True)
        near = int(hand.rng.integers(1, 10))
        hand.around(range(bar, bar + 8, 2), strings=(1, 2, 3, 4), near_fret=near, never=(67,))
    return hand.passage()


def picked_again(seed: int) -> Passage:
    """Each note two to four times running on one string; all but the first stroke are watched."""
    hand = Hand(seed, 4.0, 8.0)
    eighth, last = 0, 0
    while eighth < bars().stop:
        string = int(hand.rng.choice([s for s in _ALL if s != last]))
        place = (string, 0 if string == 5 else int(hand.rng.integers(0, 8)))
        for stroke in range(int(hand.rng.integers(2, 5))):
            hand.play(eighth, place, watched=stroke > 0)
            eighth += 1
        last = string
    return hand.passage()


def unison(seed: int, *, name: str) -> Passage:
    """One pitch on two strings, an eighth apart, twice a bar; the second of the two is watched."""
    hand = Hand(seed, 5.0, 9.0)
    pair = UNISONS[name]
    for bar in bars():
        at = bar + int(hand.rng.integers(0, 3))
        again = at + int(hand.rng.integers(3, 5))
        for first in (at, again):
            one, other = pair if hand.rng.random() < 0.5 else pair[::-1]
            hand.play(first, one)
            hand.play(first + 1, other, watched=True)
        hand.around(
            [e for e in range(bar, bar + 8) if e not in (at, at + 1, again, again + 1)],
            strings=[s for s in _ALL if s not in (pair[0][0], pair[1][0])],
            near_fret=2,
            never=(hand.midi(pair[0]),),
        )
    return hand.passage()


def octave_roll(seed: int) -> Passage:
    """A note and its octave in turn; the octave is watched."""
    hand = Hand(seed, 5.0, 10.0)
    for bar in bars():
        low, high = hand.one_of(OCTAVES)
        for eighth in range(bar, bar + 6, 2):
            hand.play(eighth, low)
            hand.play(eighth + 1, high, watched=True)
        hand.around(
            (bar + 6, bar + 7),
            strings=[s for s in _ALL if s not in (low[0], high[0])],
            near_fret=2,
            never=(hand.midi(high),),
        )
    return hand.passage()


def octave_pinch(seed: int) -> Passage:
    """A note and its octave pinched on every fourth eighth of a roll; the octave is watched."""
    hand = Hand(seed, 5.0, 10.0)
    for at in half_bars():
        low, high = hand.one_of(OCTAVES)
        hand.pinch(at, low, high, watched=high)
        hand.around(
            range(at + 1, at + 4),
            strings=[s for s in _ALL if s not in (low[0], high[0])],
            near_fret=2,
            never=(hand.midi(high),),
        )
    return hand.passage()


def choked(seed: int, *, cents: float) -> Passage:
    """A choke in every half bar, held until its string is struck again, the roll going on around it."""
    hand = Hand(seed, 4.0, 6.5)
    half_steps = int(np.ceil(cents / 100.0))
    last = 0
    for half in half_bars():
        string = int(hand.rng.choice([s for s in (1, 2, 3) if s != last]))
        last = string
        place = (string, int(hand.rng.integers(5, 13)))
        struck = hand.midi(place)
        takes_sec = float(hand.rng.uniform(0.080, 0.160))
        hand.play(half, place, "choke", watched=True, choked=half_steps, choke_sec=takes_sec)
        hand.around(
            range(half + 1, half + 4),
            strings=[s for s in _ALL if s != place[0]],
            near_fret=place[1],
            never=range(struck - 1, struck + half_steps + 2),
        )
    return hand.passage(choke_reach=cents / (100.0 * half_steps))


def neck_top(seed: int) -> Passage:
    """Closed shapes from the twelfth fret up to C6, over the drone; all but the drone are watched."""
    hand = Hand(seed, 4.0, 9.0)
    for bar in bars():
        shape = hand.one_of(CLOSED_SHAPES)
        highest = 22 - max(shape)
        lowest = highest if bar == 0 else int(hand.rng.integers(_LOWEST_UP_THE_NECK, highest + 1))
        frets = dict(zip((4, 3, 2, 1), (lowest + fret for fret in shape), strict=True))
        if bar == 0:
            frets[1] = 22
        last = 0
        for eighth in range(bar, bar + 8):
            string = 1 if eighth == 0 else int(hand.rng.choice([s for s in _ALL if s != last]))
            hand.play(eighth, (string, frets.get(string, 0)), watched=string != 5)
            last = string
    return hand.passage()
