"""Where the tempo ladder stands after a turn: its line under the sentence, and its drawing where it has room.

The problem: the sentence comes first, and what it rings in the tab must not go for a drawing. So on a wide
sheet the ladder leans in the corner beside the sentence; on a narrow one it lies under the sentence where
sentence, tab and the rest leave room for it, and elsewhere its line stands alone.
"""

from __future__ import annotations

from feedback.ladder_seen import LadderSeen
from feedback.screen.furniture import MARGIN, paragraph
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Mark, Sheet
from feedback.screen.views.ladder import LEAST_HIGH, LEAST_WIDE, ladder_marks
from feedback.screen.views.ladder_words import ladder_line, ladder_step

_ASIDE_FROM = 1200.0
_BETWEEN = 30.0
_HIGHEST = 180.0
_STRIP_HIGH = 140.0
_STRIP_SIZE = 32.0
_TOP = 16.0
_GAP = 14.0


def aside_wide(sheet: Sheet) -> float:
    """How much of the sheet's width the drawing takes from the sentence; 0 on a narrow sheet."""
    return LEAST_WIDE + _BETWEEN if sheet.wide >= _ASIDE_FROM else 0.0


def climb_marks(seen: LadderSeen, sheet: Sheet, top: float, spare: float) -> tuple[list[Mark], float]:
    """Draw line and ladder under a sentence.

    Parameters
    ----------
    seen : LadderSeen
    sheet : Sheet
    top : float
        Where the sentence ends.
    spare : float
        Height that is free from there on a narrow sheet, when all else has what it needs.

    Returns
    -------
    marks : list of Mark
    below : float
        Where what comes next may begin.
    """
    taken = aside_wide(sheet)
    if not taken and spare >= _STRIP_HIGH + _GAP:
        return _strip(seen, sheet, top)
    marks, below = _line(seen, top, sheet.wide - 2 * MARGIN - taken)
    if taken:
        high = min(_HIGHEST, max(LEAST_HIGH, below - _GAP - _TOP))
        marks += ladder_marks(seen, sheet.wide - MARGIN - LEAST_WIDE, _TOP, LEAST_WIDE, high)
        below = max(below, _TOP + high + _GAP)
    return marks, below


def _line(seen: LadderSeen, top: float, wide: float) -> tuple[list[Mark], float]:
    """All of it where it fits in one line; else what comes of it, which the drawing does not say."""
    whole, step = signed(ladder_line(seen)), signed(ladder_step(seen))
    said = whole if width(whole, READABLE) <= wide else step
    marks, base = paragraph(MARGIN, top + READABLE, wide, said, most=2)
    return marks, base - READABLE + _GAP


def _strip(seen: LadderSeen, sheet: Sheet, top: float) -> tuple[list[Mark], float]:
    """The ladder on the left, its line beside it."""
    left = MARGIN + LEAST_WIDE + _BETWEEN
    marks = ladder_marks(seen, MARGIN, top, LEAST_WIDE, _STRIP_HIGH)
    said, _ = paragraph(
        left,
        top + 44.0,
        sheet.wide - MARGIN - left,
        ladder_line(seen),
        size=_STRIP_SIZE,
        most=3,
    )
    return [*marks, *said], top + _STRIP_HIGH + _GAP
