"""A take with bleed heard three ways, with none of it, untreated and cleaned, and told in a line an ear.

Conventions: a note is *at a stroke* of ours where nobody played it within 50 ms and it begins from 15 ms
before to 60 ms after the stroke. What is taken out counts from the first pass on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from listener.bleed import Bleed
from listener.expecting import Expectation
from tests.bench.bleed_takes import Output, Turn, cleaned_by
from tests.bench.hearers import hearing
from tests.bench.note_scores import TOLERANCE_SEC, Tally, matched
from tests.bench.renders import RATE
from tests.bench.two_ears import EARS

MOST_FALL = 0.01
"""So far F may fall without a mark."""

STATES = ("none", "untreated", "cleaned")

Scored = tuple[Tally, int]
"""The notes of one hearing, and how many were at our strokes."""

_STROKE_SEC = (-0.015, 0.060)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One take.

    Attributes
    ----------
    heard : sequence of sequence of Scored
        For each ear of `EARS`, in each of `STATES`.
    out_db : float
        How much of the bleed was taken out.
    told_db : float
        How loud the filter says that it comes back; NaN where it does not say.
    """

    heard: Sequence[Sequence[Scored]]
    out_db: float
    told_db: float


def heard_line(
    one: Turn, out: Output, bleed: np.ndarray, *, clean: Sequence[Scored] = (), filter_: Bleed | None = None
) -> Line:
    """Hear a turn with a bleed at the level that it has.

    Parameters
    ----------
    one : Turn
    out : Output
    bleed : ndarray, shape (n,)
        What comes back, as long as the turn.
    clean : sequence of Scored
        How each ear heard the turn with none; heard here if not given.
    filter_ : Bleed, optional
        That takes it out; by default a new one.
    """
    banjo, taker = one.take.sound, filter_ or Bleed(RATE)
    cleaned = cleaned_by(taker, banjo + bleed, out.sound)
    none = clean or both_scored(one, banjo, out)
    untreated, treated = (both_scored(one, sound, out) for sound in (banjo + bleed, cleaned))
    begin = round(one.plan.first_start_sec * RATE)
    came, left = (np.sum(sound[begin:].astype(np.float64) ** 2) for sound in (bleed, cleaned - banjo))
    told = taker.heard_db
    return Line(
        heard=tuple(zip(none, untreated, treated, strict=True)),
        out_db=10.0 * float(np.log10(max(came, 1e-20) / max(left, 1e-20))) if came else np.nan,
        told_db=np.nan if told is None else told,
    )


def both_scored(one: Turn, sound: np.ndarray, out: Output) -> list[Scored]:
    """How each ear of `EARS` hears a sound of this turn."""
    return [_scored(one, sound, out, asked) for asked in ((), one.asked)]


def _scored(one: Turn, sound: np.ndarray, out: Output, asked: Sequence[Expectation]) -> Scored:
    heard = hearing(replace(one.take, sound=sound.astype(np.float32)), asked)
    tally = Tally()
    tally.add(one.take.truth, heard.notes)
    pairs = matched(
        [(note.onset_sec, note.midi) for note in one.take.truth],
        [(note.onset_sec, note.midi) for note in heard.notes],
        TOLERANCE_SEC,
    )
    found = {index for _, index in pairs}
    low, high = _STROKE_SEC
    strays = [note.onset_sec - out.strokes_sec for k, note in enumerate(heard.notes) if k not in found]
    return tally, sum(bool(np.any((after >= low) & (after <= high))) for after in strays)


def told(lines: Sequence[Line], title: str) -> Iterator[str]:
    """Some takes together: a line for each ear."""
    out_db, told_db = (float(np.mean([getattr(x, name) for x in lines])) for name in ("out_db", "told_db"))
    for ear, name in enumerate(EARS):
        tallies = [Tally().merged(x.heard[ear][k][0] for x in lines) for k in range(len(STATES))]
        strays = [sum(x.heard[ear][k][1] for x in lines) for k in range(len(STATES))]
        none, _, cleaned = fs = [tally.f_measure() for tally in tallies]
        mark = "<" if cleaned < none - MOST_FALL else " "
        yield (
            f"  {'' if ear else title:32} {name:8} {tallies[0].played:4}  "
            f"F {'  '.join(f'{f:.4f}' for f in fs)} {mark}  "
            f"at strokes {' '.join(f'{n:3}' for n in strays)}  "
            f"onset {'  '.join(_errors(tally) for tally in tallies)}"
            + ("" if ear else f"  out {out_db:5.1f} dB, told {told_db:5.1f} dB")
        )


def _errors(tally: Tally) -> str:
    errors = np.array(tally.errors_ms or [np.nan])
    return f"{np.median(errors):+4.1f} {np.percentile(np.abs(errors), 95):4.1f}"
