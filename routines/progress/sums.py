"""Sums of what the journal tells day by day: guide tones, minutes, means."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import fields
from statistics import median

from routines.journal.records import GuideDay, Voice
from routines.progress.names import goes_to, guide_tone
from routines.progress.types import ChordProgress, GuideCounts, ItemProgress, KeyProgress

_COUNTED = tuple(field.name for field in fields(GuideCounts))
_VOICES: tuple[Voice, ...] = ("seven", "third")


def counts_of(rows: Iterable[GuideDay], voice: Voice | None = None) -> GuideCounts:
    """Add up what became of guide tones.

    Parameters
    ----------
    rows : iterable of GuideDay
    voice : Voice, optional
        Only this one.
    """
    sums = dict.fromkeys(_COUNTED, 0)
    for row in rows:
        if voice is None or row.voice == voice:
            for name in _COUNTED:
                sums[name] += getattr(row, name)
    return GuideCounts(**sums)


def chords_of(rows: Iterable[GuideDay]) -> tuple[ChordProgress, ...]:
    """Tell each chord by voice: the chords most often asked for first, a chord's seven before its third."""
    by_chord: dict[str, list[GuideDay]] = defaultdict(list)
    for row in rows:
        by_chord[row.chord].append(row)
    order = sorted(by_chord, key=lambda chord: (-sum(row.asked for row in by_chord[chord]), chord))
    told = [
        (chord, voice, [row for row in by_chord[chord] if row.voice == voice])
        for chord in order
        for voice in _VOICES
    ]
    return tuple(_chord(chord, voice, rows) for chord, voice, rows in told if rows)


def _chord(chord: str, voice: Voice, rows: list[GuideDay]) -> ChordProgress:
    due: Counter[str] = Counter()
    for row in rows:
        tone = goes_to(chord, row.next_chord, voice) if row.due else ""
        if tone:
            due[f"{row.next_chord}: {tone}"] += row.due
    return ChordProgress(
        chord=chord,
        voice=voice,
        tone=guide_tone(chord, voice),
        falls_to=tuple(name for name, _ in sorted(due.items(), key=lambda one: (-one[1], one[0]))),
        guides=counts_of(rows),
    )


def key_of(key: str, licks: Sequence[ItemProgress]) -> KeyProgress:
    """Tell one key.

    Parameters
    ----------
    key : str
    licks : sequence of ItemProgress
        Licks of this key and parts of them; the steps of warm-ups, which are no licks, stand elsewhere.
    """
    wholes = [one for one in licks if not one.item.unit]
    shares = [
        one.home_half_bpm / one.top_half_bpm
        for one in wholes
        if one.home_half_bpm is not None and one.top_half_bpm is not None
    ]
    return KeyProgress(
        key=key,
        licks=len({one.item.lick for one in licks}),
        jam_ready=sum(one.how_far == "jam-ready" for one in wholes),
        passes=sum(one.passes for one in licks),
        clean=sum(one.clean for one in licks),
        unclean=sum(one.unclean for one in licks),
        minutes=sum(one.minutes for one in licks),
        guides=added(one.guides for one in licks),
        home_share=median(shares) if shares else None,
    )


def added(counts: Iterable[GuideCounts]) -> GuideCounts:
    """Add up counts."""
    rows = list(counts)
    return GuideCounts(**{name: sum(getattr(row, name) for row in rows) for name in _COUNTED})
