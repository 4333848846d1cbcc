"""The page of one lick: home, edge and the band between them over time, and what was played how fast."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from feedback.progress_ink import PLAIN, axes_on, ink, new_page, over_days, write
from feedback.progress_lines import draw_levels, draw_points, draw_top, tempo_range
from feedback.progress_page import head
from feedback.progress_words import (
    as_of_words,
    day_words,
    falls_words,
    guide_words,
    minutes_words,
    share,
    timing_words,
)
from routines.progress.names import item_name
from routines.progress.types import ItemProgress, Progress

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_PLACE = (0.075, 0.275, 0.82, 0.5)


def lick_page(progress: Progress, item: ItemProgress, background: str) -> Figure:
    """Draw the page.

    Parameters
    ----------
    progress : Progress
    item : ItemProgress
        One of its items.
    background : str
        Colour of the paper.
    """
    first, last = date.fromisoformat(progress.first_day), date.fromisoformat(progress.today)
    page = new_page(background)
    head(page, progress, item_name(item.item, item.title))
    write(page, 0.055, 0.825, "Half notes a minute", PLAIN, weight="bold")
    axes = axes_on(page, _PLACE)
    axes.set_ylim(*tempo_range(item, with_top=True))
    over_days(axes, first, last, 9)
    draw_points(axes, item.points)
    draw_levels(axes, item, size=PLAIN)
    draw_top(axes, item, last)
    if item.points:
        axes.legend(
            loc="lower left",
            bbox_to_anchor=(0.28, 1.015),
            ncols=3,
            frameon=False,
            fontsize=PLAIN,
            labelcolor=ink("ink"),
            handletextpad=0.2,
        )
    for number, line in enumerate(_facts(item)):
        write(page, 0.055, 0.205 - 0.035 * number, line, PLAIN)
    return page


def _facts(item: ItemProgress) -> list[str]:
    clean = f"clean {share(item.clean, item.clean + item.unclean)} passes"
    went = falls_words(item.guides)
    practised = f"{minutes_words(item.minutes)}, last on {day_words(item.last_day)}"
    unknown = "" if item.edge_half_bpm is not None else "home and edge not known yet"
    unknown = f"home and edge {as_of_words(item)}" if item.levels_as_of else unknown
    return [
        ", ".join(filter(None, (item.how_far, unknown, clean, practised))),
        f"sevens {guide_words(item.guides)}{f' ({went})' if went else ''}",
        timing_words(item),
    ]
