"""What the charts of progress are drawn with: the library, the inks, the axes, and dates in plain words.

Conventions: a place on a page is a share of its width and height, from below on the left; days on an axis are
ordinals. Nothing is told by colour alone: home is a full line with squares, the edge a broken one with
triangles, and both are named where they end. The library is loaded when the first chart is drawn, no sooner.
"""

from __future__ import annotations

import atexit
import logging
import os
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from feedback.progress_words import day_words
from feedback.screen.inks import LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PAGE_INCHES = (11.69, 8.27)
"""A4, lying."""
SMALL, PLAIN, LARGE = 8.5, 10.0, 17.0
"""Sizes of letters, in points."""

_FOLDER = "MPLCONFIGDIR"
_STYLE: dict[str, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "text.parse_math": False,
    "pdf.fonttype": 3,
    "hatch.linewidth": 0.6,
}


def ink(name: str) -> str:
    """One of the inks on paper, as the library takes it."""
    return "#{:02x}{:02x}{:02x}".format(*LOOKS["paper"][name])


@contextmanager
def drawing() -> Iterator[None]:
    """Draw in here: quietly, in our letters, and with caches nowhere but where they belong."""
    if _FOLDER not in os.environ and not _can_keep():
        folder = tempfile.mkdtemp(prefix="sevenfall-")
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        os.environ[_FOLDER] = folder
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import matplotlib

        style: Any = dict(matplotlib.rcParamsDefault) | _STYLE
        with matplotlib.rc_context(style):
            yield


def new_page(background: str) -> Figure:
    """An empty page."""
    from matplotlib.figure import Figure

    return Figure(figsize=PAGE_INCHES, facecolor=background)


def write(page: Figure, x: float, y: float, text: str, size: float = PLAIN, **how: Any) -> None:
    """Write on a page."""
    page.text(x, y, text, **{"fontsize": size, "color": ink("ink"), "va": "top", **how})


def axes_on(page: Figure, place: tuple[float, float, float, float]) -> Axes:
    """Axes with a line below and nothing else around them."""
    axes = page.add_axes(place)
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(ink("rule"))
    axes.tick_params(length=0, labelsize=SMALL, labelcolor=ink("faint"), pad=3)
    axes.tick_params(axis="x", length=3, color=ink("rule"))
    axes.grid(axis="y", color=ink("rule"), alpha=0.35, linewidth=0.6)
    axes.set_axisbelow(True)
    return axes


def over_days(axes: Axes, first: date, last: date, most: int) -> None:
    """Let an axis go from day to day, with at most so many of them named."""
    room = max((last - first).days, 1) * 0.02
    axes.set_xlim(first.toordinal() - room, last.toordinal() + room)
    named = day_ticks(first, last, most)
    years = first.year != last.year
    words = [day_words(day, with_year=False) + (f"\n{day.year}" if years else "") for day in named]
    axes.set_xticks([day.toordinal() for day in named], words)


def day_ticks(first: date, last: date, most: int) -> list[date]:
    """Days worth naming on an axis: so many weeks, months or years apart, counted back from the last.

    Parameters
    ----------
    first, last : datetime.date
    most : int
        At least 2.
    """
    days = (last - first).days
    step = next((step for step in _DAY_STEPS if days // step < most), days)
    found = [date.fromordinal(last.toordinal() - step * back) for back in range(days // step + 1)]
    return found[::-1]


_DAY_STEPS = (1, 2, 3, 4, 7, 14, 21, 28, 42, 91, 182, 364, 728, 1092, 1820, 3640)


def short(text: str, most: int) -> str:
    """A text of so many letters at most."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip(' ,')}…"


def _can_keep() -> bool:
    """Whether the library's usual folders can be written."""
    try:
        at_home = Path.home()
    except RuntimeError:
        return False
    usual = (
        Path(os.environ.get("XDG_CACHE_HOME") or at_home / ".cache"),
        Path(os.environ.get("XDG_CONFIG_HOME") or at_home / ".config"),
    )
    return all(_writable(folder) for folder in usual)


def _writable(folder: Path) -> bool:
    there = next((one for one in (folder, *folder.parents) if one.exists()), None)
    return there is not None and there.is_dir() and os.access(there, os.W_OK | os.X_OK)
