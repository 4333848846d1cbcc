"""Which performances the verdicts bench judges: licks, tempos, mistakes and seeds, drawn evenly.

The problem: a figure over performances says something only if no lick, tempo or mistake was played more often
than another by chance. So each is dealt out: every mistake has the same number of performances on each
sound (to one), its tempos lie in equal steps from `TEMPO_SHARES[0]` to `TEMPO_SHARES[1]` of a lick's top
tempo, a tempo drawn within each step, and its licks take turns. A mistake that a lick has no place for goes
to the lick whose turn is next. Faithful passes are a share of their own, so that how often they are blamed is
well known.

Conventions: a plan follows from its arguments alone. A sound's performances do not depend on which other
sounds are asked for. Every lick has one key; all licks are all keys.
"""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from feedback.errors import Usage
from feedback.mistakes import MISTAKES
from feedback.performance import perform
from feedback.played import Performance
from routines.errors import BadRoutine
from routines.library import all_licks, load
from routines.lick import Lick, quarter_sec

FAITHFUL = "faithful"
MUTATIONS = (
    FAITHFUL, "seven-missing", "all-sevens-missing", "seven-root", "seven-sixth", "seven-natural",
    "seven-early", "seven-late", "seven-late-far", "seven-late-full", "seven-swallowed", "left-hanging",
    "resolution-up", "resolution-octave", "resolution-ahead", "resolution-late", "filler-wrong",
    "filler-added", "filler-missing", "chord-tone-added", "core-wrong", "core-added", "core-missing",
    "two-swapped", "hurry-at-change", "bounced", "leaning-ahead", "leaning-behind", "rising-tempo", "uneven",
)  # fmt: skip
"""What is done to a lick: nothing, or one row of `feedback.mistakes.MISTAKES`."""

FAITHFUL_SHARE = 1 / 6
TEMPO_SHARES = (0.55, 1.0)
LEAD_SEC = 1.0
"""How long a take lasts before the lick begins."""

_SEEDS = 2**31


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One performance to be judged.

    Attributes
    ----------
    lick : str
        What `routines.library.load` takes.
    tempo_half_bpm : float
    mutation : str
        `FAITHFUL`, or a name of `feedback.mistakes.MISTAKES`.
    sound : str
        What `tests.bench.renders` takes.
    seed : int
    """

    lick: str
    tempo_half_bpm: float
    mutation: str
    sound: str
    seed: int

    def __str__(self) -> str:
        return f"{self.sound} {self.lick} {self.tempo_half_bpm:g} {self.mutation} {self.seed}"

    @classmethod
    def of(cls, words: Sequence[str]) -> Planned:
        """The performance that is told as `str` tells it: sound, lick, tempo, mutation, seed.

        Parameters
        ----------
        words : sequence of str
            Five of them.

        Raises
        ------
        Usage
            If the tempo or the seed is no number that is accepted.
        BadRoutine
            If there is no such mutation.
        """
        sound, lick, tempo, mutation, seed = words
        _known([mutation])
        try:
            tempo_half_bpm, number = float(tempo), int(seed)
        except ValueError as error:
            raise Usage(
                f"tempo {tempo!r}, seed {seed!r}: give half notes a minute and a whole number"
            ) from error
        if not (0.0 < tempo_half_bpm < math.inf and number >= 0):
            raise Usage(f"tempo {tempo}, seed {seed}: more than 0, and 0 and more, are accepted")
        return cls(lick=lick, tempo_half_bpm=tempo_half_bpm, mutation=mutation, sound=sound, seed=number)


def plan(
    count: int,
    seed: int,
    *,
    sounds: Sequence[str],
    licks: Sequence[str] | None = None,
    mutations: Sequence[str] = MUTATIONS,
) -> tuple[Planned, ...]:
    """Deal out performances.

    Parameters
    ----------
    count : int
        Of all sounds together, which share it evenly.
    seed : int
        0 or more.
    sounds : sequence of str
    licks : sequence of str, optional
        By default the library's.
    mutations : sequence of str
        If `FAITHFUL` is among others it takes `FAITHFUL_SHARE`; the others share evenly.

    Returns
    -------
    tuple of Planned
        Sound by sound, mutation by mutation. Fewer than `count` only where a mutation has a place in none of
        the licks.

    Raises
    ------
    Usage
        If a number is out of range.
    BadRoutine
        If there is no such lick or mutation.
    """
    if count < 1 or seed < 0:
        raise Usage(f"{count} performances, seed {seed}: 1 and more, and 0 and more, are accepted")
    _known(mutations)
    names = [lick.id for lick in all_licks()] if licks is None else list(dict.fromkeys(licks))
    found: list[Planned] = []
    for place, sound in enumerate(sounds):
        rng = np.random.default_rng([seed, zlib.crc32(sound.encode())])
        every, left = divmod(count, len(sounds))
        turns: Counter[str] = Counter()
        for mutation, many in _shared(every + (place < left), list(dict.fromkeys(mutations)), rng):
            found += _dealt(mutation, many, sound, names, turns, rng)
    return tuple(found)


def performed(planned: Planned) -> Performance:
    """Play one performance.

    Parameters
    ----------
    planned : Planned

    Returns
    -------
    Performance
        The lick begins `LEAD_SEC` after the beginning of the take.

    Raises
    ------
    BadRoutine
        If the lick has no place for the mutation.
    """
    lick = lick_of(planned)
    return perform(
        lick,
        tempo_half_bpm=planned.tempo_half_bpm,
        mistakes=() if planned.mutation == FAITHFUL else (planned.mutation,),
        seed=planned.seed,
        start_sec=LEAD_SEC + lick.pickup_quarters * quarter_sec(planned.tempo_half_bpm),
    )


def lick_of(planned: Planned) -> Lick:
    """The lick that is played."""
    return _lick(planned.lick)


def _known(mutations: Sequence[str]) -> None:
    unknown = next((name for name in mutations if name != FAITHFUL and name not in MISTAKES), None)
    if unknown is not None:
        raise BadRoutine(f"no mistake {unknown!r}: accepted are {', '.join((FAITHFUL, *MISTAKES))}")


@lru_cache(maxsize=256)
def _lick(name: str) -> Lick:
    return load(name)


def _shared(count: int, mutations: Sequence[str], rng: np.random.Generator) -> Iterator[tuple[str, int]]:
    """How many performances each mutation has."""
    others = [name for name in mutations if name != FAITHFUL]
    faithful = 0
    if FAITHFUL in mutations:
        faithful = round(FAITHFUL_SHARE * count) if others else count
    every, left = divmod(count - faithful, max(1, len(others)))
    more = set(rng.permutation(len(others))[:left].tolist())
    for name in mutations:
        yield name, faithful if name == FAITHFUL else every + (others.index(name) in more)


def _dealt(
    mutation: str,
    many: int,
    sound: str,
    names: Sequence[str],
    turns: Counter[str],
    rng: np.random.Generator,
) -> Iterator[Planned]:
    """One mutation's performances; `turns` counts those of each lick, of all mutations."""
    low, high = TEMPO_SHARES
    shares = low + (high - low) * (rng.permutation(many) + rng.random(many)) / max(1, many)
    had: Counter[str] = Counter()
    for share in shares.tolist():
        draws = dict(zip(names, rng.random(len(names)).tolist(), strict=True))
        order = sorted(names, key=lambda name: (had[name], turns[name], draws[name]))
        for name in order:
            had[name] += 1  # a lick that has no place for it has had its turn, too
            planned = Planned(
                lick=name,
                tempo_half_bpm=round(share * _lick(name).top_tempo_half_bpm, 1),
                mutation=mutation,
                sound=sound,
                seed=int(rng.integers(_SEEDS)),
            )
            if _has_a_place(planned):
                turns[name] += 1
                yield planned
                break


def _has_a_place(planned: Planned) -> bool:
    try:
        performed(planned)
    except BadRoutine:
        return False
    return True
