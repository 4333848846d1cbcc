"""What one pass adds to the totals of its day.

The problem: a rate over ten years must not be counted from two hundred thousand passes. So each pass is
counted once, when it is stored, by these functions alone; totals are sums of what they give, and can be
counted anew from the passes at any time.

Conventions: only passes in which something was heard are counted. A pass that is neither clean nor unclean is
unclear. A number that is none (not a number, endless) is one that could not be told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from routines.journal.records import GuideDay, PassRecord, TempoDay, Voice
from routines.outcome import SeventhVerdict

_SANE = 1e9
"""Nothing that is measured in a pass is greater."""


def tempo_day_of(record: PassRecord) -> TempoDay:
    """A pass as a day's total of its item at its tempo.

    Parameters
    ----------
    record : PassRecord
        In which something was heard.

    Returns
    -------
    TempoDay
    """
    outcome, timing = record.outcome, record.outcome.timing
    told = [note.verdict for note in outcome.notes if note.verdict != "unclear"]
    lean_ms, bounce, spread_ms = _told(timing.lean_ms), _told(timing.bounce), _told(timing.spread_ms)
    return TempoDay(
        day=record.day,
        item=record.item,
        tempo_half_bpm=outcome.tempo_half_bpm,
        passes=1,
        clean=int(outcome.clean is True),
        unclean=int(outcome.clean is False),
        unclear=int(outcome.clean is None),
        seconds=_told(record.lasted_sec) or 0.0,
        notes=len(told),
        landed=told.count("landed"),
        lean_ms=lean_ms,
        lean_passes=int(lean_ms is not None),
        bounce=bounce,
        bounce_passes=int(bounce is not None),
        spread_ms=spread_ms,
        spread_passes=int(spread_ms is not None),
    )


def guide_days_of(record: PassRecord) -> list[GuideDay]:
    """A pass as a day's totals of its guide tones.

    Parameters
    ----------
    record : PassRecord
        In which something was heard.

    Returns
    -------
    list of GuideDay
        One of each chord, next chord and voice, in the order in which they first come.
    """
    counts: dict[tuple[str, str, Voice], Counter[str]] = {}
    for voice, verdict in _guides(record):
        key = (verdict.chord, verdict.next_chord, voice)
        counts.setdefault(key, Counter()).update(_words(verdict))
    return [
        GuideDay(
            day=record.day,
            item=record.item,
            chord=chord,
            next_chord=next_chord,
            voice=voice,
            asked=count["asked"],
            unclear=count["sounded unclear"],
            sounded=count["sounded"],
            landed=count["landed"],
            swallowed=count["swallowed"],
            due=count["due"],
            resolved=count["resolved"],
            ahead=count["ahead"],
            late=count["late"],
            octave=count["octave"],
            hanging=count["hanging"],
            unclear_falls=count["unclear"],
            as_asked=count["as asked"],
        )
        for (chord, next_chord, voice), count in counts.items()
    ]


def _guides(record: PassRecord) -> Iterator[tuple[Voice, SeventhVerdict]]:
    for verdict in record.outcome.sevenths:
        yield "seven", verdict
    for verdict in record.outcome.thirds:
        yield "third", verdict


def _words(verdict: SeventhVerdict) -> Iterator[str]:
    yield "asked"
    if verdict.sounded is None:
        yield "sounded unclear"
    for word in ("sounded", "landed", "swallowed", "due"):
        if getattr(verdict, word):
            yield word
    if verdict.due and verdict.resolution != "none":  # where an unclear one went counts neither way
        yield verdict.resolution
    if verdict.as_asked:
        yield "as asked"


def _told(value: float | None) -> float | None:
    """None for what is no number, or endless, too."""
    return value if value is not None and abs(value) < _SANE else None
