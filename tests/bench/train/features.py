"""From a take to what the network learns from: looks at strikes, and which pitches were begun there.

The problem: a note has one onset, a listener has candidates near it. The nearest candidate is the note's own;
those just beside it, and those so soon after it that the ear would take them for the same note, are neither
right nor wrong; everything else is wrong. A slur begins less sharply than a stroke, so its own candidate may
be farther away.

The looks come from the ear itself, by a scorer that writes down instead of scoring; so training sees exactly
what listening sees.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from listener.adapting import BESIDE_SEC, EITHER, NO, YES, own_strike
from listener.ear import Ear, EarSettings
from listener.expecting import Expectation
from listener.framing import Past
from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES
from listener.offset import TuningOffset
from listener.scorer import LookingScorer, Struck
from listener.strikes import Strike
from listener.views import BANDS, FACTS, LOOKS, VIEWS, Look, Span
from tests.bench.train.takes import TrueNote, TrueTake

_TUNING_SD_CENTS = 4.0  # how well an ear knows the tuning
_OWN_SEC = {"pick": 0.015, "choke": 0.015}
_SLURRED_OWN_SEC = 0.032
_UNASKED_SEC = (-0.020, 0.060)
_ANYTHING = Expectation(onset_sec=0.0, spread_sec=1.0, midi=LOW_PITCH, weight=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Examples:
    """What one take, or many, gives to learn from.

    Attributes
    ----------
    views : ndarray of uint8, shape (n, VIEWS, BANDS)
        `Look.views` times 255.
    facts : ndarray of float32, shape (n, FACTS)
    labels : ndarray of uint8, shape (n, PITCHES)
        `NO`, `YES` or `EITHER`.
    onset_sec : ndarray, shape (n,)
        Times of the strikes.
    """

    views: np.ndarray
    facts: np.ndarray
    labels: np.ndarray
    onset_sec: np.ndarray


class _Writer(LookingScorer):
    """A scorer that writes down how strikes look, and finds no pitch."""

    def __init__(self, rate: int, spans: Sequence[Span], tuning_cents: float) -> None:
        super().__init__(rate, spans)
        self._tuning_cents = tuning_cents
        self.looks: list[Look] = []
        self.samples: list[int] = []

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        look = self._looker.look(past, strike, following, self._tuning_cents)
        if look is not None:
            self.looks.append(look)
            self.samples.append(strike.sample)
        return []


def examples(
    take: TrueTake, settings: EarSettings | None = None, looks: Sequence[str] = ("full",)
) -> list[Examples]:
    """Look at all strikes of a take.

    Parameters
    ----------
    take : TrueTake
    settings : EarSettings, optional
        Of the ear that finds the strikes; its scorers are replaced.
    looks : sequence of str
        Names in `listener.views.LOOKS`, the soonest first.

    Returns
    -------
    list of Examples
        For each look, all of the same strikes.
    """
    rng = np.random.default_rng([take.seed, 77])
    tuning_cents = take.tuning_cents + float(rng.normal(0.0, _TUNING_SD_CENTS))
    writers = [_Writer(take.rate, LOOKS[look], tuning_cents) for look in looks]
    settings = replace(settings or EarSettings(), informed=lambda rate, expected: writers)
    ear = Ear(take.rate, settings=settings, expectations=[_ANYTHING])
    ear.feed(take.sound)
    seen = set.intersection(*(set(writer.samples) for writer in writers))
    return [_written(writer, seen, take) for writer in writers]


def _written(writer: _Writer, seen: Collection[int], take: TrueTake) -> Examples:
    kept = [k for k, sample in enumerate(writer.samples) if sample in seen]
    onset_sec = np.array([writer.samples[k] for k in kept], float) / take.rate
    views = np.zeros((len(kept), VIEWS, BANDS), np.uint8)
    facts = np.zeros((len(kept), FACTS), np.float32)
    for row, k in enumerate(kept):
        views[row] = np.round(writer.looks[k].views * 255.0)
        facts[row] = writer.looks[k].facts
    return Examples(views=views, facts=facts, labels=labelled(onset_sec, take.notes), onset_sec=onset_sec)


def labelled(onset_sec: np.ndarray, notes: Sequence[TrueNote]) -> np.ndarray:
    """Say which pitches were begun at which candidates.

    Parameters
    ----------
    onset_sec : ndarray, shape (n,)
        Times of the candidates, rising.
    notes : sequence of TrueNote

    Returns
    -------
    ndarray of uint8, shape (n, PITCHES)
    """
    labels = np.full((len(onset_sec), PITCHES), NO, np.uint8)
    if not len(onset_sec):
        return labels
    own: list[tuple[int, int]] = []
    for note in notes:
        if not LOW_PITCH <= note.midi <= HIGH_PITCH:
            continue
        pitch, away = note.midi - LOW_PITCH, onset_sec - note.onset_sec
        if not note.counts:
            labels[(away >= _UNASKED_SEC[0]) & (away <= _UNASKED_SEC[1]), pitch] = EITHER
            continue
        labels[np.abs(away) <= BESIDE_SEC, pitch] = EITHER
        if note.how == "slide" and note.to_midi is not None and note.arrive_sec is not None:
            # A stroke that slides at once: whether its end is heard as a note of its own is not asked for.
            there = (away >= 0.0) & (onset_sec <= note.arrive_sec + _UNASKED_SEC[1])
            if LOW_PITCH <= note.to_midi <= HIGH_PITCH:
                labels[there, note.to_midi - LOW_PITCH] = EITHER
        within = _OWN_SEC.get(note.how, _SLURRED_OWN_SEC)
        on_the_way = (away >= 0.0) & (onset_sec <= begins_sec(note))
        labels[on_the_way, pitch] = EITHER
        best = own_strike(labels, onset_sec, pitch, begins_sec(note), within)
        if best is not None:
            own.append((best, pitch))
    for best, pitch in own:
        labels[best, pitch] = YES
    return labels


def begins_sec(note: TrueNote) -> float:
    """When a note's pitch is there: at its onset, or, of a slide, where it arrives."""
    slid = note.how == "slide" and note.arrive_sec is not None and note.to_midi is None
    return note.arrive_sec if slid and note.arrive_sec is not None else note.onset_sec
