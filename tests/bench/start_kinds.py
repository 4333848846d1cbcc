"""Kinds of takes in which a lick is to be found, a row each: what comes before it, and how its tempo goes.

Conventions: a kind is a function from a draw to a take; the meant pass is the first whole one. A newcomer
adds a function, and a row in `KINDS` (a pass is to be found) or in `NOTHING` (none is).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from feedback.played import Performance, PlayedNote
from routines.library import all_licks
from routines.lick import quarter_sec
from tests.bench.start_takes import Draw, Take

RISE = 0.15
"""How much faster, or slower, a pass ends than it begins."""

_LEAD_SEC = 0.6


def _steady(draw: Draw) -> Take:
    return draw.meant("steady", draw.a_pass(_LEAD_SEC))


def _faster(draw: Draw) -> Take:
    return draw.meant("faster", draw.a_pass(_LEAD_SEC), rise=RISE)


def _slower(draw: Draw) -> Take:
    return draw.meant("slower", draw.a_pass(_LEAD_SEC), rise=-RISE)


def _false_start(draw: Draw) -> Take:
    begun = draw.a_pass(_LEAD_SEC, share=draw.rng.uniform(0.96, 1.04), number=1)
    broken = _broken_off(begun, draw.rng.uniform(0.5, 1.0) * draw.lick.quarters_a_bar)
    again = broken[-1].onset_sec + draw.rng.uniform(1.0, 3.0)
    take = draw.meant("false-start", draw.a_pass(again))
    return replace(take, notes=_together(broken, take.notes))


def _retry(draw: Draw) -> Take:
    begun = draw.a_pass(_LEAD_SEC, share=draw.rng.uniform(0.97, 1.03), number=1)
    broken = _broken_off(begun, draw.lick.quarters_a_bar)
    bar_over = begun.start_sec + draw.lick.quarters_a_bar * quarter_sec(begun.tempo_half_bpm)
    take = draw.meant("retry", draw.a_pass(bar_over + draw.rng.uniform(0.4, 0.6)))
    return replace(take, notes=_together(broken, take.notes))


def _talk_before(draw: Draw) -> Take:
    talk_sec = draw.rng.uniform(2.0, 5.0)
    take = draw.meant("talk-before", draw.a_pass(talk_sec + draw.rng.uniform(0.1, 0.8)))
    return replace(take, talk_sec=talk_sec)


def _said_before(draw: Draw) -> Take:
    return replace(_talk_before(draw), kind="said-before", said=True)


def _noodling(draw: Draw) -> Take:
    before = _noodled(draw, _LEAD_SEC)
    take = draw.meant("noodling", draw.a_pass(before[-1].onset_sec + draw.rng.uniform(0.3, 1.2)))
    return replace(take, notes=_together(before, take.notes))


def _two_passes(draw: Draw) -> Take:
    first = draw.a_pass(_LEAD_SEC)
    take = draw.meant("two-passes", first)
    turn_sec = draw.lick.end_quarters * quarter_sec(first.tempo_half_bpm)
    return replace(take, notes=_together(take.notes, draw.a_pass(_LEAD_SEC + turn_sec, number=1).notes))


def _silence(draw: Draw) -> Take:
    return Take(kind="silence", lick=draw.lick, seed=draw.seed)


def _talk(draw: Draw) -> Take:
    return Take(kind="talk", lick=draw.lick, talk_sec=draw.rng.uniform(6.0, 10.0), seed=draw.seed)


def _said(draw: Draw) -> Take:
    return replace(_talk(draw), kind="said", said=True)


def _other_lick(draw: Draw) -> Take:
    others = [lick for lick in all_licks() if lick.id != draw.lick.id]
    alike = [lick for lick in others if lick.key == draw.lick.key] or others
    other = replace(draw, lick=alike[int(draw.rng.integers(len(alike)))])
    return Take(kind="other-lick", lick=draw.lick, notes=other.a_pass(_LEAD_SEC).notes, seed=draw.seed)


def _roll(draw: Draw) -> Take:
    """Eighths on one string after another, at frets where the lick stops it, or open."""
    eighth = quarter_sec(draw.tempo_half_bpm) / 2
    notes: list[PlayedNote] = []
    for number in range(32):
        strings = [s for s in range(1, 6) if not notes or s != notes[-1].string]
        string = int(draw.rng.choice(strings))
        frets = [0, *(note.fret for note in draw.lick.notes if note.string == string)]
        sec = _LEAD_SEC + eighth * number + draw.rng.normal(0.0, 0.006)
        notes.append(_note(draw, sec, string, int(draw.rng.choice(frets))))
    return Take(kind="roll", lick=draw.lick, notes=_together(notes), seed=draw.seed)


def _only_noodling(draw: Draw) -> Take:
    notes = [*_noodled(draw, _LEAD_SEC)]
    notes += _noodled(draw, notes[-1].onset_sec + 1.0)
    return Take(kind="noodling-only", lick=draw.lick, notes=_together(notes), seed=draw.seed)


def _broken_off(begun: Performance, quarters: float) -> list[PlayedNote]:
    """What was played of a pass up to a place."""
    end = begun.start_sec + (quarters - 0.25) * quarter_sec(begun.tempo_half_bpm)
    return [note for note in begun.notes if note.onset_sec < end]


def _noodled(draw: Draw, from_sec: float) -> list[PlayedNote]:
    """Open strings plucked as in tuning, then notes here and there in no time."""
    sec, notes = from_sec, []
    for string in draw.rng.permutation([1, 2, 3, 4, 5])[: int(draw.rng.integers(1, 4))]:
        for _ in range(int(draw.rng.integers(1, 4))):
            notes.append(_note(draw, sec, int(string), 0))
            sec += draw.rng.uniform(0.25, 0.8)
    sec += draw.rng.uniform(0.0, 0.5)
    for _ in range(int(draw.rng.integers(6, 16))):
        string = int(draw.rng.integers(1, 6))
        frets = [0, 0, *(note.fret for note in draw.lick.notes if note.string == string)]
        frets += [] if string == 5 else [1, 2, 3, 4]
        notes.append(_note(draw, sec, string, int(draw.rng.choice(frets))))
        sec += draw.rng.choice([0.08, 0.12, 0.16, 0.25, 0.4]) * draw.rng.uniform(0.85, 1.2)
    return notes


def _note(draw: Draw, sec: float, string: int, fret: int) -> PlayedNote:
    level = draw.rng.normal(0.0, 2.0)
    midi = draw.lick.neck.midi(string, fret)
    return PlayedNote(onset_sec=sec, midi=midi, string=string, fret=fret, level_db=level)


def _together(*parts: Sequence[PlayedNote]) -> tuple[PlayedNote, ...]:
    """Parts as one, every string stopped where it is struck again."""
    notes = sorted((note for part in parts for note in part), key=lambda note: (note.onset_sec, note.midi))
    ended = []
    for number, note in enumerate(notes):
        after = next((n.onset_sec for n in notes[number + 1 :] if n.string == note.string), np.inf)
        ended.append(replace(note, duration_sec=min(note.duration_sec, after - note.onset_sec)))
    return tuple(ended)


KINDS: Mapping[str, Callable[[Draw], Take]] = MappingProxyType(
    {
        "steady": _steady,
        "faster": _faster,
        "slower": _slower,
        "false-start": _false_start,
        "talk-before": _talk_before,
        "said-before": _said_before,
        "retry": _retry,
        "noodling": _noodling,
        "two-passes": _two_passes,
    }
)
"""Kinds of takes that hold a pass."""

NOTHING: Mapping[str, Callable[[Draw], Take]] = MappingProxyType(
    {
        "silence": _silence,
        "talk": _talk,
        "said": _said,
        "other-lick": _other_lick,
        "roll": _roll,
        "noodling-only": _only_noodling,
    }
)
"""Kinds of takes that hold none."""

SAID = frozenset({"said-before", "said"})
"""Kinds that need a speech synthesiser."""
