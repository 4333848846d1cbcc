"""What of the lane is there whatever is played: ground, now-line, names of the strings, the count."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from feedback.grid import EIGHTH_QUARTERS
from feedback.screen.lane.moments import counts
from feedback.screen.lane.page import Page
from feedback.screen.lane.room import GUTTER, Room
from feedback.screen.lane.shifting import Laid, laid
from feedback.screen.lettering import signed, width
from feedback.screen.marks import Box, Line, Mark, Text
from routines.tab_systems import string_labels

COUNTED = 84.0
"""Em of what is counted in the lane."""

_APART, _THICK = 5.0, 3.5
_NAMED = 32.0
_HAIR = 1e-6


def scrolled(room: Room, at_quarters: float, begin_quarters: float) -> tuple[float, float]:
    """Where the now-line stands, and where the downbeat of the first pass lies.

    Parameters
    ----------
    room : Room
    at_quarters : float
        What sounds now, from the downbeat of the first pass.
    begin_quarters : float
        Where the part begins: from there the pages are counted that stand still.
    """
    if not room.page_quarters:
        return room.now_x, room.now_x - room.sheet.snapped(at_quarters * room.quarter)
    pages = max(0.0, (at_quarters - begin_quarters + _HAIR) // room.page_quarters)
    page = begin_quarters + pages * room.page_quarters
    eighth = page + (at_quarters - page + _HAIR) // EIGHTH_QUARTERS * EIGHTH_QUARTERS
    by = room.now_x - room.sheet.snapped(page * room.quarter)
    return by + eighth * room.quarter, by


@lru_cache(maxsize=32)
def ground(page: Page) -> tuple[Mark, ...]:
    """The band of the fall picture and the lines of the strings."""
    room = page.room
    wide = room.sheet.wide
    marks: list[Mark] = [Box(x=0.0, y=room.header, wide=wide, high=room.band_end - room.header, fill="band")]
    for string in range(1, 6):
        y = room.string_y(string)
        marks.append(Line(points=((GUTTER - 14.0, y), (wide, y)), ink="rule", thick=2.5))
    return tuple(marks)


def now_line(room: Room, x: float) -> Iterator[Mark]:
    """It is doubled; numbers and pegs lie over it, each on its own ground."""
    for side in (-_APART, _APART):
        yield Line(points=((x + side, room.header), (x + side, room.tab_end)), thick=_THICK)


@lru_cache(maxsize=32)
def gutter(page: Page) -> tuple[Mark, ...]:
    """The names of the strings as the hand has them, over whatever goes out of sight there."""
    room = page.room
    top = room.band_end
    marks: list[Mark] = [Box(x=0.0, y=top, wide=GUTTER - 14.0, high=room.tab_end + 6.0 - top)]
    for string in range(1, 6):
        name = signed(string_labels(page.lick.neck, string)[0])
        y = room.string_y(string) + 0.36 * _NAMED
        marks.append(Text(x=24.0, y=y, text=name, size=_NAMED, ink="faint", bold=True))
    return tuple(marks)


@lru_cache(maxsize=32)
def counted(page: Page, bars: int) -> tuple[Laid, ...]:
    """The numbers counted in the bars before a pass, each at its place, as far as the pickup leaves them."""
    room = page.room
    y = room.ledge_top + room.ledge_range / 2 + 0.36 * COUNTED
    marks: list[Mark] = []
    for at, number in counts(page.lick, bars):
        if at >= -page.lick.pickup_quarters - _HAIR:
            continue
        x, text, wide = page.x(at), str(number), width(str(number), COUNTED, True) + 16.0
        marks += (  # each on its own ground, so that the now-line does not cross it
            Box(x=x - wide / 2, y=y - 0.8 * COUNTED, wide=wide, high=0.88 * COUNTED, fill="band"),
            Text(x=x, y=y, text=text, size=COUNTED, ink="faint", on="band", bold=True, anchor="center"),
        )
    return laid(marks)
