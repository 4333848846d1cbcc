"""One lick's progress: how far it has come, home and edge over time, and what became of its sevens.

Conventions: all counts are of the span that progress was asked of. Where not all has room, what is said last
goes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from feedback.screen.furniture import MARGIN, paragraph
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import READABLE, Mark, Sheet, Text
from feedback.screen.views.progress_time import time_marks
from feedback.screen.views.progress_words import (
    ago_text,
    bounce_text,
    lean_text,
    minutes_text,
    often,
    since_text,
)
from routines.progress.names import unit_words

if TYPE_CHECKING:
    from routines.progress.types import ItemProgress

Fact = tuple[str, str, bool]
"""What it is, how it is, and whether it is what all this is about."""

_TITLE, _FAR = 36.0, 32.0
_HEAD = 88.0  # of title and what stands under it
_PITCH, _LEAST_PITCH = 42.0, 34.5
_BETWEEN = 40.0
_GAP = 18.0
_FACTS_SHARE, _FACTS_MOST = 0.44, 500.0


def lick_marks(
    item: ItemProgress, stands: str, today: str, sheet: Sheet, top: float, bottom: float
) -> list[Mark]:
    """Draw the progress of a lick, or of a part of one.

    Parameters
    ----------
    item : ItemProgress
    stands : str
        Which of them it is: "3 of 12".
    today : str
    sheet : Sheet
    top, bottom : float
        The room.
    """
    room, right = sheet.wide - 2 * MARGIN, sheet.wide - MARGIN
    marks = [*_head(item, stands, today, sheet, top)]
    top += _HEAD + _GAP
    facts = list(_facts(item))
    left = right - min(_FACTS_MOST, _FACTS_SHARE * room)
    marks += _table(facts, left, top, right - left, bottom - top)
    as_of = f"as of {since_text(item.levels_as_of, today)}" if item.levels_as_of else ""
    room_left = left - _BETWEEN - MARGIN
    drawn = time_marks(item.levels, today, MARGIN, top, room_left, bottom - top, as_of=as_of)
    if not drawn:
        drawn, _ = paragraph(
            MARGIN,
            top + READABLE,
            left - _BETWEEN - MARGIN,
            "Home and edge cannot be told yet: it takes more passes, at more than one tempo.",
        )
    return [*marks, *drawn]


def _head(item: ItemProgress, stands: str, today: str, sheet: Sheet, top: float) -> Iterator[Mark]:
    """Title and how far it has come; under them its key, its part, when it was played last."""
    right, room = sheet.wide - MARGIN, sheet.wide - 2 * MARGIN
    far = width(item.how_far, _FAR, True)
    size, wide = _TITLE, room - far - _BETWEEN
    title = signed(item.title)
    size = max(READABLE, min(size, size * wide / width(title, size, True)))
    yield Text(x=MARGIN, y=top + _TITLE, text=fitted(title, size, wide, bold=True), size=size, bold=True)
    if item.how_far:
        yield Text(x=right, y=top + _TITLE, text=item.how_far, size=_FAR, bold=True, anchor="right")
    said = [f"key of {item.item.key}", unit_words(item.item.unit), minutes_text(item.minutes)]
    said = [*filter(None, said), f"last played {ago_text(item.last_day, today)}"]
    wide = room - width(stands, READABLE) - _BETWEEN
    while len(said) > 1 and width(signed(", ".join(said)), READABLE) > wide:
        said.pop()
    base = top + _HEAD - 6.0
    yield Text(x=MARGIN, y=base, text=fitted(signed(", ".join(said)), READABLE, wide), ink="faint")
    yield Text(x=right, y=base, text=stands, ink="faint", anchor="right")


def _facts(item: ItemProgress) -> Iterator[Fact]:
    """All there is to say, what matters most first."""
    sevens = item.guides
    if sevens.told:
        yield "♭7 sounded", often(sevens.sounded, sevens.told), True
        yield "♭7 landed", often(sevens.landed, sevens.told), True
        if sevens.falls_told:
            yield "♭7 resolved", often(sevens.resolved, sevens.falls_told), True
        if sevens.swallowed:
            yield "♭7 swallowed", often(sevens.swallowed, sevens.told), False
    yield "clean", often(item.clean, item.clean + item.unclean), False
    if item.lean_ms is not None:
        yield *lean_text(item.lean_ms), False
    if item.spread_ms is not None:
        yield "spread", f"{item.spread_ms:.0f} ms", False
    if item.bounce is not None:
        yield "bounce", bounce_text(item.bounce), False


def _table(facts: list[Fact], x: float, y: float, wide: float, high: float) -> Iterator[Mark]:
    """As many facts as have room, one under the other."""
    shown = facts[: max(1, int(high / _LEAST_PITCH))]
    pitch = min(_PITCH, high / len(shown))
    at = x + max(width(what, READABLE) for what, _, _ in facts) + 0.8 * READABLE
    for number, (what, how, matters) in enumerate(shown):
        base = y + number * pitch + READABLE
        said = fitted(how, READABLE, x + wide - at, bold=matters)
        yield Text(x=x, y=base, text=what, ink="faint")
        yield Text(x=at, y=base, text=said, bold=matters)
