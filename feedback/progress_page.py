"""The page of everything: the sentence, home and edge of what was practised most, minutes, and chords."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from feedback.progress_ink import (
    LARGE,
    PLAIN,
    SMALL,
    axes_on,
    ink,
    new_page,
    over_days,
    short,
    write,
)
from feedback.progress_lines import draw_levels, tempo_range
from feedback.progress_words import (
    NOTHING,
    as_of_words,
    chords_told,
    day_words,
    player_words,
    practice_words,
    share,
    title_words,
    wrapped,
)
from routines.progress.names import item_name
from routines.progress.types import ChordProgress, ItemProgress, Progress

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LICKS_SHOWN = 6
CHORDS_SHOWN = 10
"""Rows: a chord's seven and its third are two."""

_LEFT, _RIGHT = 0.055, 0.965
_COLUMNS = (("sounded", 0.235), ("landed", 0.43), ("swallowed", 0.625), ("resolved,\nwent on", 0.82))
_BAR = 0.16
"""Length of a whole share in the table of chords."""
_SECOND = 0.592
"""Where the right half begins."""


def whole_page(progress: Progress, background: str) -> Figure:
    """Draw the page.

    Parameters
    ----------
    progress : Progress
    background : str
        Colour of the paper.
    """
    page = new_page(background)
    head(page, progress, title_words(progress))
    _licks(page, progress)
    _minutes(page, progress)
    _chords(page, progress)
    return page


def head(page: Figure, progress: Progress, title: str) -> None:
    """Write what stands above both kinds of pages: whose it is, of when, the sentence, the minutes."""
    first, last = date.fromisoformat(progress.first_day), date.fromisoformat(progress.today)
    who = short(player_words(progress), _NAME_LETTERS)
    when = f"{day_words(first)} to {day_words(last)}"
    room = _TITLE_LETTERS - (round(PLAIN / LARGE * len(who)) + 1 if who else 0)
    write(page, _LEFT, 0.965, short(title, room), LARGE, weight="bold")
    write(page, _RIGHT, 0.955, ", ".join(filter(None, (who, when))), PLAIN, ha="right")
    write(page, _LEFT, 0.915, "\n".join(wrapped(progress.sentence, 112)), 12.0, linespacing=1.3)
    write(page, _LEFT, 0.035, f"{practice_words(progress)}.", SMALL, color=ink("faint"))


_TITLE_LETTERS, _NAME_LETTERS = 62, 24


def _licks(page: Figure, progress: Progress) -> None:
    """Small axes, one for each lick, all with the same days."""
    first, last = date.fromisoformat(progress.first_day), date.fromisoformat(progress.today)
    shown = [item for item in progress.items if not item.item.unit][:LICKS_SHOWN]
    write(page, _LEFT, 0.825, "Home and edge, half notes a minute", PLAIN, weight="bold")
    if not shown:
        write(page, _LEFT, 0.79, "No lick was practised in these weeks.", PLAIN)
    pitch = min(_ROOM / max(math.ceil(len(shown) / 2), 1), _ROOM / 2)
    for number, item in enumerate(shown):
        row, column = divmod(number, 2)
        left, above = _LEFT + column * 0.262, 0.785 - row * pitch
        write(page, left, above, short(item_name(item.item, item.title), 32), SMALL + 0.5)
        write(page, left, above - 0.022, _come(item), SMALL, color=ink("faint"))
        if item.edge_half_bpm is None:
            continue
        axes = axes_on(page, (left + 0.02, above - pitch + 0.055, 0.182, pitch - 0.11))
        axes.set_ylim(*tempo_range(item, with_top=False))
        axes.locator_params(axis="y", nbins=3)
        over_days(axes, first, last, 3)
        draw_levels(axes, item)


_ROOM = 0.705
"""Height that all the small axes have together."""


def _come(item: ItemProgress) -> str:
    top = "" if item.top_half_bpm is None else f"top {item.top_half_bpm:.0f}"
    known = "" if item.edge_half_bpm is not None else "home and edge not known yet"
    return ", ".join(filter(None, (item.how_far, top, known, as_of_words(item))))


def _minutes(page: Figure, progress: Progress) -> None:
    """Bars, with their minutes above them."""
    write(page, _SECOND, 0.825, "Minutes played a week, from the day named", PLAIN, weight="bold")
    axes = axes_on(page, (_SECOND, 0.635, _RIGHT - _SECOND, 0.145))
    axes.grid(visible=False)
    axes.set_yticks([])
    minutes = [week.minutes for week in progress.weeks]
    axes.bar(range(len(minutes)), minutes, width=0.66, color=ink("landed"))
    axes.set_ylim(0.0, 1.18 * max([*minutes, 1.0]))
    axes.set_xlim(-0.6, max(len(minutes), _FEW_WEEKS) - 0.4)
    for at, value in enumerate(minutes):
        if len(minutes) <= _MANY_WEEKS or at == len(minutes) - 1:
            axes.text(at, value, f"{value:.0f}", ha="center", va="bottom", fontsize=SMALL, color=ink("ink"))
    named = range(len(minutes) - 1, -1, -max(1, math.ceil(len(minutes) / _WEEKS_NAMED)))
    first_days = [date.fromisoformat(progress.weeks[at].first_day) for at in named]
    axes.set_xticks(list(named), [day_words(day, with_year=False) for day in first_days])


_FEW_WEEKS, _MANY_WEEKS, _WEEKS_NAMED = 4, 16, 6


def _chords(page: Figure, progress: Progress) -> None:
    """Chords by voice as a table, under each share a bar as long as the share."""
    write(page, _SECOND, 0.575, "Chords as they sound, by voice", PLAIN, weight="bold")
    axes = page.add_axes((_SECOND, 0.085, _RIGHT - _SECOND, 0.465))
    axes.set_axis_off()
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(CHORDS_SHOWN + 0.2, -0.9)
    for name, x in _COLUMNS:
        _in_table(axes, x, -0.4, name, color=ink("faint"), va="bottom", linespacing=1.05)
    shown = chords_told(progress)[:CHORDS_SHOWN]
    longest = max([len(share(*counts)) for chord in shown for counts in _counted(chord)] + [_ROOM_FOR])
    for row, chord in enumerate(shown):
        _in_table(axes, 0.0, row, chord.chord, weight="bold")
        _in_table(axes, 0.085, row, f"{chord.voice} {chord.tone}")
        for (_, x), (hits, of) in zip(_COLUMNS, _counted(chord), strict=True):
            text = share(hits, of)
            _in_table(axes, x, row, text, fontsize=_TABLE_SIZE * _ROOM_FOR / longest)
            if text != NOTHING:
                _bar(axes, x, row, hits / of)
    left = len(progress.chords) - len(shown)
    if left > 0:
        _in_table(axes, 0.0, len(shown) - 0.1, f"and {left} more", color=ink("faint"))


def _in_table(axes: Axes, x: float, row: float, text: str, **how: Any) -> None:
    axes.text(x, row + 0.25, text, **{"fontsize": _TABLE_SIZE, "color": ink("ink"), "va": "center", **how})


_TABLE_SIZE = 8.0
_ROOM_FOR = 12
"""So many letters have room in a column."""


def _bar(axes: Axes, x: float, row: float, part: float) -> None:
    for length, colour, width in ((1.0, "rule", 0.8), (part, "landed", 3.2)):
        ends = [x, x + _BAR * length]
        axes.plot(ends, [row + 0.6] * 2, color=ink(colour), linewidth=width, solid_capstyle="butt")


def _counted(chord: ChordProgress) -> Sequence[tuple[int, int]]:
    guides = chord.guides
    return (
        (guides.sounded, guides.told),
        (guides.landed, guides.told),
        (guides.swallowed, guides.told),
        (guides.resolved, guides.falls_told),
    )
