"""Takes in which a lick is to be found: what comes before it, how its tempo goes, and takes that hold none.

The problem: whoever records a pass at home talks, tunes, begins and breaks off, speeds up. Each kind of take
is a function that lays down what is played, and says which pass is meant and how its tempo goes.

Conventions: seconds of the take. The meant pass is kept twice: as it was played, and as it would have been at
a steady tempo. What the judges say of the latter is the truth: a tempo that changes smoothly is no fault of
any one note. All follows from the seed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedback.performance import perform
from feedback.played import Performance, PlayedNote
from routines.errors import BadRoutine
from routines.lick import Lick, quarter_sec

TEMPO_SHARES = (0.5, 1.05)
"""Least and greatest tempo, as shares of a lick's top tempo."""

SMALL = (
    "filler-wrong", "filler-missing", "chord-tone-added", "seven-late", "seven-missing", "left-hanging",
    "hurry-at-change", "core-wrong",
)  # fmt: skip
"""Mistakes of which a pass with small mistakes has two, where the lick has a place for them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Warp:
    """A tempo that changes evenly in musical time, between two moments of a steady performance.

    Attributes
    ----------
    begin_sec, end_sec : float
        They stay where they are; what lies before or after goes on at the tempo reached there.
    rise : float
        The tempo at the end over that at the beginning, less 1; above -1.
    """

    begin_sec: float
    end_sec: float
    rise: float

    def at(self, sec: float) -> float:
        """When something of the steady performance happens."""
        length = self.end_sec - self.begin_sec
        if abs(self.rise) < 1e-9 or length <= 0.0:
            return sec
        share = (sec - self.begin_sec) / length
        within = min(max(share, 0.0), 1.0)
        grown = np.log1p(self.rise)
        outside = (share - within) * self.rise / grown / (1.0 if share < 0.0 else 1.0 + self.rise)
        return float(self.begin_sec + length * (np.log1p(self.rise * within) / grown + outside))

    def note(self, note: PlayedNote) -> PlayedNote:
        """A note of the steady performance as it is played."""
        arrive, let_down = (None if s is None else self.at(s) for s in (note.arrive_sec, note.let_down_sec))
        onset = self.at(note.onset_sec)
        rings = self.at(note.onset_sec + note.duration_sec) - onset
        return replace(note, onset_sec=onset, duration_sec=rings, arrive_sec=arrive, let_down_sec=let_down)


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """What is played, and what is to be found in it.

    Attributes
    ----------
    kind : str
        A name in `tests.bench.start_kinds`.
    lick : Lick
        The one that is looked for.
    notes : tuple of PlayedNote
    steady : Performance or None
        The meant pass, at a steady tempo; None where there is none.
    warp : Warp or None
        How its tempo goes.
    talk_sec : float
        So long somebody talks, from the beginning on.
    said : bool
        Whether a speech synthesiser talks, and not a made-up voice.
    seed : int
    """

    kind: str
    lick: Lick
    notes: tuple[PlayedNote, ...] = ()
    steady: Performance | None = None
    warp: Warp | None = None
    talk_sec: float = 0.0
    said: bool = False
    seed: int = 0

    def played_sec(self, quarters: float) -> float:
        """When a place of the meant pass was due, its tempo being what it was."""
        assert self.steady is not None
        assert self.warp is not None
        return self.warp.at(self.steady.start_sec + quarters * quarter_sec(self.steady.tempo_half_bpm))

    def tempo_between(self, begin_quarters: float, end_quarters: float) -> float:
        """The mean tempo between two places of the meant pass, in half notes a minute."""
        length = self.played_sec(end_quarters) - self.played_sec(begin_quarters)
        return quarter_sec(1.0) * (end_quarters - begin_quarters) / length


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """What a kind of take is made from."""

    lick: Lick
    tempo_half_bpm: float
    mistakes: bool
    seed: int
    rng: np.random.Generator

    def a_pass(self, from_sec: float, *, share: float = 1.0, number: int = 0) -> Performance:
        """One pass whose first note is due then, at a share of the tempo."""
        tempo = share * self.tempo_half_bpm
        start = from_sec - self.lick.notes[0].onset_quarters * quarter_sec(tempo)
        names: tuple[str, ...] = ()
        wanted = 2 if self.mistakes else 0
        for name in map(str, np.random.default_rng([self.seed, number]).permutation(SMALL)):
            if len(names) == wanted:
                break
            try:
                perform(self.lick, tempo_half_bpm=tempo, mistakes=(*names, name), seed=self.seed + number)
            except BadRoutine:
                continue
            names = (*names, name)
        return perform(
            self.lick, tempo_half_bpm=tempo, mistakes=names, seed=self.seed + number, start_sec=start
        )

    def meant(self, kind: str, steady: Performance, *, rise: float = 0.0) -> Take:
        """The take that holds this pass and nothing else."""
        first, last = (self._due_sec(steady, k) for k in (0, -1))
        warp = Warp(begin_sec=first, end_sec=last, rise=rise)
        notes = tuple(map(warp.note, steady.notes))
        return Take(kind=kind, lick=self.lick, notes=notes, steady=steady, warp=warp, seed=self.seed)

    def _due_sec(self, steady: Performance, index: int) -> float:
        quarters = self.lick.notes[index].onset_quarters
        return steady.start_sec + quarters * quarter_sec(steady.tempo_half_bpm)
