"""Progress as pages: a picture, or a document with a page for everything and one for each lick.

Of one lick that is asked for, its own page alone. The pages can be read without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from feedback.progress_ink import drawing, ink
from feedback.progress_lick_page import lick_page
from feedback.progress_page import whole_page
from feedback.progress_words import player_words, title_words
from feedback.writing import beside
from routines.progress.types import Progress

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LICK_PAGES = 12
"""In a document of everything at most."""
DOTS_AN_INCH = 130
"""Of a picture: 1520 dots wide."""

_WHITE = "#ffffff"


def write_charts(progress: Progress, path: Path, *, of_lick: bool = False) -> int:
    """Draw progress and write it, whole or not at all.

    Parameters
    ----------
    progress : Progress
        For pages of licks with their points.
    path : pathlib.Path
        Ends in .png (one page) or .pdf (all of them).
    of_lick : bool
        Whether one lick was asked for.

    Returns
    -------
    int
        How many pages.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    made = BytesIO()
    with drawing():
        if path.suffix.lower() == ".pdf":
            number = _document(pages_of(progress, _WHITE, of_lick=of_lick), progress, made)
        else:
            number = 1
            page = pages_of(progress, ink("paper"), of_lick=of_lick, most=1)[0]
            page.savefig(made, format="png", dpi=DOTS_AN_INCH)
    beside(path, lambda part: part.write_bytes(made.getvalue()))
    return number


def pages_of(
    progress: Progress, background: str, *, of_lick: bool = False, most: int = LICK_PAGES + 1
) -> list[Figure]:
    """Draw the pages, where `drawing` is; of one lick that was asked for those of its parts, too.

    Parameters
    ----------
    progress : Progress
    background : str
        Colour of the paper.
    of_lick : bool
    most : int
        So many pages, 1 or more.
    """
    if of_lick and progress.items:
        return [lick_page(progress, item, background) for item in progress.items[:most]]
    licks = [item for item in progress.items if item.points and not item.item.unit]
    pages = [whole_page(progress, background)]
    return pages + [lick_page(progress, item, background) for item in licks[: most - 1]]


def _document(pages: Sequence[Figure], progress: Progress, made: BytesIO) -> int:
    from matplotlib.backends.backend_pdf import PdfPages

    title = ", ".join(filter(None, (title_words(progress), player_words(progress))))
    about = {"Title": title, "Creator": "Sevenfall", "Producer": "Sevenfall"}
    with PdfPages(made, metadata=about) as document:
        for page in pages:
            document.savefig(page)
    return len(pages)
