"""What several screens have in common: a heading, choices, a row that can be set, a line of hints.

Each function returns marks, and where something can be chosen its spot beside them. A choice that has the
focus is inked over and has a doubled edge, so that it is seen without colour.
"""

from __future__ import annotations

from feedback.screen.lettering import fitted, signed, width, wrapped
from feedback.screen.marks import READABLE, Box, Mark, Sheet, Spot, Text

MARGIN = 40.0
"""Of a sheet, left and right."""

HEADING = 88.0
"""Where a heading ends and what is below it may begin."""

CHOICE_HIGH = 64.0
"""Height of a choice with one line."""


def heading(sheet: Sheet, title: str, beside: str = "") -> list[Mark]:
    """The name of a screen at its top, and on the right what it is about."""
    marks: list[Mark] = [Text(x=MARGIN, y=64.0, text=signed(title), size=46.0, bold=True)]
    room = sheet.wide - 3 * MARGIN - width(title, 46.0, True)
    if beside:
        said = fitted(signed(beside), READABLE, room)
        marks.append(Text(x=sheet.wide - MARGIN, y=62.0, text=said, ink="faint", anchor="right"))
    return marks


def choice(
    x: float,
    y: float,
    wide: float,
    text: str,
    does: str,
    focus: str,
    *,
    high: float = CHOICE_HIGH,
    size: float = 32.0,
) -> tuple[list[Mark], Spot]:
    """Something to choose: a box with a word or a few.

    Parameters
    ----------
    x, y, wide, high : float
    text : str
        One line; it is cut where it is too wide.
    does : str
        What choosing it asks for.
    focus : str
        What has the focus.
    size : float
    """
    on = does == focus
    said = fitted(signed(text), size, wide - 32.0, bold=on)
    marks: list[Mark] = [
        Box(x=x, y=y, wide=wide, high=high, fill="chosen" if on else "band", edge="rule", round=6.0)
    ]
    if on:
        marks.append(Box(x=x + 5, y=y + 5, wide=wide - 10, high=high - 10, fill="", edge="paper", round=4.0))
    marks.append(
        Text(
            x=x + wide / 2,
            y=y + high / 2 + 0.36 * size,
            text=said,
            size=size,
            ink="paper" if on else "ink",
            on="chosen" if on else "band",
            bold=on,
            anchor="center",
        )
    )
    return marks, Spot(x=x, y=y, wide=wide, high=high, does=does, says=text)


def choices(
    sheet: Sheet, y: float, rows: list[tuple[str, str]], focus: str, *, gap: float = 20.0
) -> tuple[list[Mark], list[Spot]]:
    """Choices side by side over the whole width; rows are (text, does)."""
    wide = (sheet.wide - 2 * MARGIN - gap * (len(rows) - 1)) / len(rows)
    marks: list[Mark] = []
    spots: list[Spot] = []
    for number, (text, does) in enumerate(rows):
        drawn, spot = choice(MARGIN + number * (wide + gap), y, wide, text, does, focus)
        marks += drawn
        spots.append(spot)
    return marks, spots


def paragraph(
    x: float,
    y: float,
    wide: float,
    text: str,
    *,
    size: float = READABLE,
    ink: str = "ink",
    on: str = "paper",
    bold: bool = False,
    most: int = 20,
    minor: bool = False,
) -> tuple[list[Mark], float]:
    """Text over several lines, and the baseline of the line that would come next.

    Parameters
    ----------
    x, y : float
        Of the first line's baseline.
    wide : float
    text : str
    most : int
        So many lines at most; the last one ends with an ellipsis where more would come.
    """  # fmt: skip
    lines = wrapped(signed(text), size, wide, bold=bold)
    if len(lines) > most:
        lines = [*lines[: most - 1], fitted(" ".join(lines[most - 1 :]), size, wide, bold=bold)]
    marks: list[Mark] = [
        Text(x=x, y=y + number * 1.3 * size, text=line, size=size, ink=ink, on=on, bold=bold, minor=minor)
        for number, line in enumerate(lines)
    ]
    return marks, y + len(lines) * 1.3 * size


def hint(sheet: Sheet, text: str) -> Text:
    """What keys do, at the foot: for whoever sits at the keyboard, so it may be small."""
    said = fitted(signed(text), 22.0, sheet.wide - 2 * MARGIN)
    return Text(x=MARGIN, y=sheet.high - 18.0, text=said, size=22.0, ink="faint", minor=True)
