"""Home and edge over time as lines: full with squares, broken with triangles, the band between tinted."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from feedback.progress_ink import PAGE_INCHES, PLAIN, SMALL, ink
from routines.journal.records import LevelsDay
from routines.progress.types import ItemProgress, TempoPoint

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARKS_MOST = 30
"""With more days than that, lines alone."""
_HEADROOM = 0.08


def draw_levels(axes: Axes, item: ItemProgress, *, size: float = SMALL) -> None:
    """Draw home and edge of an item, each named at its end."""
    known = [day for day in item.levels if day.home_half_bpm is not None and day.edge_half_bpm is not None]
    if not known:
        return
    days = [date.fromisoformat(day.day).toordinal() for day in known]
    home, edge = _values(known)
    axes.fill_between(days, home, edge, color=ink("third"), alpha=0.45, linewidth=0)
    marked = len(known) <= _MARKS_MOST
    for values, style, mark, width in ((edge, (0, (4, 2)), "^", 1.4), (home, "-", "s", 1.8)):
        axes.plot(
            days,
            values,
            linestyle=style,
            marker=mark if marked or len(known) == 1 else "",
            markersize=3.2,
            linewidth=width,
            color=ink("ink"),
        )
    apart = 0.5 * (edge[-1] - home[-1])
    for name, value, side in (("edge", edge[-1], 1.0), ("home", home[-1], -1.0)):
        axes.annotate(
            f"{name} {value:.0f}",
            (days[-1], value),
            xytext=(6, 5 * side if apart < _near(axes) else 0),
            textcoords="offset points",
            fontsize=size,
            color=ink("ink"),
            va="center",
            annotation_clip=False,
        )


def draw_points(axes: Axes, points: Sequence[TempoPoint]) -> None:
    """Draw what was played: a filled dot where every pass was clean, a cross where none was, else a ring."""
    kinds = (
        ("every pass clean", "o", ink("landed"), ink("landed"), lambda p: p.clean and not p.unclean),
        ("some clean", "o", "none", ink("landed"), lambda p: p.clean and p.unclean),
        ("none clean", "x", ink("astray"), ink("astray"), lambda p: p.unclean and not p.clean),
    )
    for name, mark, fill, line, holds in kinds:
        chosen = [point for point in points if holds(point)]
        axes.plot(
            [date.fromisoformat(point.day).toordinal() for point in chosen],
            [point.tempo_half_bpm for point in chosen],
            linestyle="none",
            marker=mark,
            markersize=4.2,
            markeredgewidth=0.9,
            markerfacecolor=fill,
            markeredgecolor=line,
            label=name,
            zorder=1.5,
        )


def draw_top(axes: Axes, item: ItemProgress, last: date) -> None:
    """Draw the lick's top tempo, as a dotted line with its name."""
    if item.top_half_bpm is None:
        return
    ends = [axes.get_xlim()[0], last.toordinal()]
    axes.plot(ends, [item.top_half_bpm] * 2, color=ink("faint"), linewidth=1.0, linestyle=(0, (1, 2)))
    axes.annotate(
        f"top {item.top_half_bpm:.0f}",
        (last.toordinal(), item.top_half_bpm),
        xytext=(6, 0),
        textcoords="offset points",
        fontsize=PLAIN,
        color=ink("faint"),
        va="center",
        annotation_clip=False,
    )


def tempo_range(item: ItemProgress, *, with_top: bool) -> tuple[float, float]:
    """The tempos that axes are to hold, with room above and below."""
    home, edge = _values([day for day in item.levels if day.edge_half_bpm is not None])
    tempos = [*home, *edge, *(point.tempo_half_bpm for point in item.points)]
    if with_top and item.top_half_bpm is not None:
        tempos.append(item.top_half_bpm)
    low, high = (min(tempos), max(tempos)) if tempos else (60.0, 100.0)
    room = max(_HEADROOM * (high - low), 3.0)
    return low - room, high + room


def _values(days: Sequence[LevelsDay]) -> tuple[list[float], list[float]]:
    return [day.home_half_bpm or 0.0 for day in days], [day.edge_half_bpm or 0.0 for day in days]


def _near(axes: Axes) -> float:
    """Half the distance, in tempo, within which two names would run into one another."""
    low, high = axes.get_ylim()
    inches = float(axes.get_position().height) * PAGE_INCHES[1]
    return 0.1 * float(high - low) / inches
