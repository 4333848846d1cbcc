"""Words for progress that its text and its pages share: counts, days, minutes, habits of timing.

Every rate stands as the counts that it was made of, "46 of 50"; a dash where there is too little to tell.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from datetime import date

from feedback.setting_rows import SETTINGS
from feedback.words import counted
from routines.progress.names import item_name
from routines.progress.timing_looks import bounce_words
from routines.progress.types import FEWEST_TO_RATE, ChordProgress, GuideCounts, ItemProgress, Progress

WIDE = 80
"""Columns."""
OFTEN_ASKED = 20
"""A guide tone that was asked for less often is one that a warm-up touched, or a lick looked at once."""
NOTHING = "–"
"""Where there is too little to tell."""


def practice_words(progress: Progress) -> str:
    """How much was practised: this week, in the span, in all; the same is not said twice."""
    counts = [
        (progress.minutes_week, progress.passes_week, "in the last seven days"),
        (progress.minutes_span, progress.passes_span, "in these weeks"),
        (progress.minutes_all, progress.passes_all, "in all"),
    ]
    if progress.passes_all:
        counts = [one for one in counts[:2] if one[1] != progress.passes_all] + counts[2:]
    said = [
        f"{minutes_words(minutes)}{'' if at else ' played'} and {counted(passes, 'pass', 'passes')} {when}"
        for at, (minutes, passes, when) in enumerate(counts)
    ]
    since = f" since {day_words(progress.began)}" if progress.began else ""
    return f"{'; '.join(said)}{since}"


def chords_told(progress: Progress) -> Sequence[ChordProgress]:
    """Chords by voice that were asked for often enough to stand in a table; of few, and of one chord, all."""
    if progress.asked_for:
        return progress.chords
    often = [one for one in progress.chords if one.guides.asked >= OFTEN_ASKED]
    return often or progress.chords


def day_words(day: date | str, *, with_year: bool = True) -> str:
    """A day in plain words: "29 Nov 2026"."""
    day = date.fromisoformat(day) if isinstance(day, str) else day
    plain = f"{day.day} {_MONTHS[day.month - 1]}"
    return f"{plain} {day.year}" if with_year else plain


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def as_of_words(item: ItemProgress) -> str:
    """Of which day home and edge are, where it was practised on later days that told nothing of them."""
    day = item.levels_as_of
    return f"as of {day_words(day, with_year=day[:4] != item.last_day[:4])}" if day else ""


def title_words(progress: Progress) -> str:
    """What it is the progress of: "Progress in G", "Progress over D7"; a lick by its name."""
    kind, what = progress.asked_kind, progress.asked_for
    if kind == "lick":
        return item_name(progress.items[0].item, progress.items[0].title) if progress.items else what
    return {"key": f"Progress in {what}", "chord": f"Progress over {what}"}.get(kind, "Progress")


def player_words(progress: Progress) -> str:
    """Whose it is; nothing where nobody was ever named."""
    return "" if progress.player == SETTINGS["player"].default else progress.player


def minutes_words(minutes: float) -> str:
    """A time practised: "52 minutes", from ten hours on in hours."""
    if minutes >= 600.0:
        return f"{minutes / 60.0:.0f} hours"
    if 0.0 < minutes < 1.0:
        return "less than a minute"
    return counted(round(minutes), "minute")


def share(hits: int, of: int) -> str:
    """So many of so many, a dash where they are too few: "46 of 50"."""
    return f"{hits} of {of}" if of >= FEWEST_TO_RATE else NOTHING


def lean_words(lean_ms: float | None) -> str:
    """A lean with its side: "12 ms ahead of the click"."""
    if lean_ms is None:
        return NOTHING
    if round(lean_ms) == 0:
        return "on the click"
    return f"{abs(lean_ms):.0f} ms {'ahead of' if lean_ms < 0 else 'behind'} the click"


def timing_words(item: ItemProgress) -> str:
    """Lean, bounce and spread of a lick."""
    bounce = NOTHING if item.bounce is None else bounce_words(item.bounce)
    spread = NOTHING if item.spread_ms is None else f"{item.spread_ms:.0f} ms"
    return f"lean {lean_words(item.lean_ms)}, bounce {bounce}, spread {spread}"


def guide_words(guides: GuideCounts) -> str:
    """Sounded, landed, swallowed and resolved, each with its counts."""
    of = guides.told
    return (
        f"sounded {share(guides.sounded, of)}, landed {share(guides.landed, of)}, swallowed "
        f"{share(guides.swallowed, of)}, resolved {share(guides.resolved, guides.falls_told)}"
    )


def falls_words(guides: GuideCounts) -> str:
    """Where those went that did not resolve in their place; what never happened is left out."""
    named = (
        ("ahead", guides.ahead),
        ("late", guides.late),
        ("in another octave", guides.octave),
        ("left hanging", guides.hanging),
        ("unclear", guides.unclear_falls),
    )
    return ", ".join(f"{name} {number}" for name, number in named if number)


def wrapped(text: str, wide: int = WIDE, first: str = "", others: str = "") -> list[str]:
    """A text in lines, its counts never torn apart, each line begun as told."""
    whole = re.sub(r"(?<=\d) of (?=\d)", "\xa0of\xa0", text)
    lines = textwrap.wrap(whole, wide, initial_indent=first, subsequent_indent=others)
    return [line.replace("\xa0", " ") for line in lines]


def half_bpm(tempo_half_bpm: float | None) -> str:
    """A tempo without its unit, a dash where it is not known."""
    return NOTHING if tempo_half_bpm is None else f"{tempo_half_bpm:.0f}"
