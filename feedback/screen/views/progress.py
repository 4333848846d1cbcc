"""Progress: the one sentence of the week, and under it one thing at a time.

The problem: nobody reads a table of fifty licks from two metres. So the sentence is the largest thing, and
below it stands one lick, or the few keys, or the few chords that have room; keys, pedal or mouse turn to the
next one.

Conventions: `at` counts what is turned through from 0, in a ring: licks one by one, keys and chords a page at
a time. An empty journal says so, and how to begin; a journal that cannot be read says why.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from feedback.screen.furniture import MARGIN, choices, heading, paragraph
from feedback.screen.lettering import signed, width, wrapped
from feedback.screen.marks import READABLE, Box, Mark, Picture, Sheet, Spot, Text
from feedback.screen.views.progress_lick import lick_marks
from feedback.screen.views.progress_rows import chord_marks, key_marks, rows_on
from feedback.screen.views.progress_words import breakable, minutes_text, since_text
from feedback.words import counted

if TYPE_CHECKING:
    from routines.progress.types import Progress

Kind = Literal["licks", "keys", "chords"]
KINDS: tuple[Kind, ...] = ("licks", "keys", "chords")
"""What can be looked at; each does "show KIND"."""

NEXT, BEFORE, BACK, AGAIN, BEGIN = "next", "before", "back", "again", "begin"
"""What else can be chosen: to turn, to leave, to go on after a trouble, and to choose a first lick."""

SHOW = "show "
"""What the choice of a kind begins with."""

_TOP = 16.0
_SENTENCES = (44.0, 40.0, 36.0, 32.0, READABLE)
_SENTENCE_SHARE = 0.21
_LEAD = 1.25
_GAP = 14.0
_BUTTON_HIGH, _FOOT = 60.0, 18.0
_LARGE, _TROUBLE = 44.0, 32.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgressState:
    """What the screen shows.

    Attributes
    ----------
    progress : Progress or None
        None where it could not be read.
    kind : Kind
    at : int
        Which one of that kind, or which page of them; beyond the last it begins anew.
    trouble : str
        Why it could not be read, in a line; or that the journal was mended, which is to be seen first.
    """

    progress: Progress | None
    kind: Kind = "licks"
    at: int = 0
    trouble: str = ""


def progress_picture(state: ProgressState, sheet: Sheet, focus: str) -> Picture:
    """The screen.

    Parameters
    ----------
    state : ProgressState
    sheet : Sheet
    focus : str
        What has the focus: `NEXT`, `BEFORE`, "show" with one of `KINDS`, `BACK`; `AGAIN` or `BEGIN` where
        there is nothing to show.
    """
    if state.progress is None or state.trouble:
        way_on = "try again" if state.progress is None else "go on"
        return _said(sheet, state.trouble, "", [(way_on, AGAIN), ("back", BACK)], focus, ink="astray")
    if not state.progress.passes_all:
        return _said(sheet, NOTHING_YET[0], NOTHING_YET[1], [("choose a lick", BEGIN), ("back", BACK)], focus)
    marks, top = _week(state.progress, sheet)
    bottom = sheet.high - _FOOT - _BUTTON_HIGH - _GAP
    things = _things(state.progress, state.kind, top, bottom)
    body = _body(state.progress, state.kind, (state.at % things if things else 0, things), sheet, top, bottom)
    drawn, spots = _buttons(state.kind, things > 1, sheet, focus)
    return Picture(sheet, (*marks, *body, *drawn), tuple(spots))


NOTHING_YET = (
    "Nothing has been played yet.",
    "Every pass that is played to its end is remembered. Choose a lick and play along: after a turn of four "
    "passes there is something to see here.",
)
"""What an empty journal says, and how to begin."""


def things_of(state: ProgressState, sheet: Sheet) -> int:
    """How many things, or pages of them, there are to turn through."""
    if state.progress is None or state.trouble or not state.progress.passes_all:
        return 0
    _, top = _week(state.progress, sheet)
    return _things(state.progress, state.kind, top, sheet.high - _FOOT - _BUTTON_HIGH - _GAP)


def _things(progress: Progress, kind: Kind, top: float, bottom: float) -> int:
    if kind == "licks":
        return len(progress.items)
    rows = progress.keys if kind == "keys" else progress.chords
    return -(-len(rows) // _rows(kind, top, bottom))


def _rows(kind: Kind, top: float, bottom: float) -> int:
    """How many rows a page has; a chord's two guide tones stay together."""
    rows = rows_on(top, bottom)
    return rows - rows % 2 if kind == "chords" and rows > 1 else rows


def _week(progress: Progress, sheet: Sheet) -> tuple[list[Mark], float]:
    """The sentence, as large as its share of the height lets it be, and the week's minutes under it."""
    wide = sheet.wide - 2 * MARGIN
    said = signed(progress.sentence)
    size = next(
        (
            one
            for one in _SENTENCES
            if len(wrapped(said, one, wide)) * _LEAD * one <= _SENTENCE_SHARE * sheet.high
        ),
        _SENTENCES[-1],
    )
    y = _TOP + size
    marks: list[Mark] = []
    for line in wrapped(said, size, wide):
        marks.append(Text(x=MARGIN, y=y, text=line, size=size))
        y += _LEAD * size
    y += READABLE - size + _GAP
    week = f"This week: {minutes_text(progress.minutes_week)} played"
    if progress.passes_week:
        week += f", {counted(progress.passes_week, 'pass', 'passes')}"
    marks.append(Text(x=MARGIN, y=y, text=week, ink="faint"))
    return marks, y + 2 * _GAP


def _body(
    progress: Progress, kind: Kind, stands: tuple[int, int], sheet: Sheet, top: float, bottom: float
) -> list[Mark]:
    """What is turned to: which one, counted from 0, of how many."""
    at, things = stands
    if not things:
        return _nothing(progress, kind, sheet, top)
    if kind == "licks":
        return lick_marks(progress.items[at], f"{at + 1} of {things}", progress.today, sheet, top, bottom)
    rows = _rows(kind, top, bottom)
    if kind == "keys":
        return key_marks(progress.keys[at * rows :][:rows], sheet, top)
    return chord_marks(progress.chords[at * rows :][:rows], sheet, top)


def _nothing(progress: Progress, kind: Kind, sheet: Sheet, top: float) -> list[Mark]:
    since = since_text(progress.first_day, progress.today)
    said = f"No {kind} since {since}; {minutes_text(progress.minutes_all)} before."
    return paragraph(MARGIN, top + 40.0, sheet.wide - 2 * MARGIN, said, size=34.0)[0]


def _said(
    sheet: Sheet, large: str, small: str, rows: list[tuple[str, str]], focus: str, *, ink: str = "ink"
) -> Picture:
    """Words in the place of progress."""
    wide = sheet.wide - 2 * MARGIN
    size = _LARGE if len(wrapped(breakable(large, _LARGE, wide), _LARGE, wide)) <= 2 else _TROUBLE
    large = breakable(large, size, wide)
    marks, y = paragraph(MARGIN, 190.0, wide, large, size=size, ink=ink, most=5)
    more, _ = paragraph(MARGIN, y + _GAP, wide, small, size=34.0, most=5)
    drawn, spots = choices(sheet, sheet.high - 130.0, rows, focus)
    return Picture(sheet, (*heading(sheet, "progress"), *marks, *more, *drawn), tuple(spots))


def _buttons(kind: Kind, turns: bool, sheet: Sheet, focus: str) -> tuple[list[Mark], list[Spot]]:
    """What can be chosen, each as wide as its words ask; the kind that is shown is underlined."""
    rows = [(NEXT, NEXT), (BEFORE, BEFORE)] if turns else []
    rows += [(name, SHOW + name) for name in KINDS]
    rows.append((BACK, BACK))
    needs = [width(said, READABLE, True) for said, _ in rows]
    pad = (sheet.wide - 2 * MARGIN - _GAP * (len(rows) - 1) - sum(needs)) / len(rows)
    x, y = MARGIN, sheet.high - _FOOT - _BUTTON_HIGH
    marks: list[Mark] = []
    spots: list[Spot] = []
    for (said, does), need in zip(rows, needs, strict=True):
        spot = Spot(x=x, y=y, wide=need + pad, high=_BUTTON_HIGH, does=does, says=said)
        marks += _button(spot, does == focus, does == SHOW + kind)
        spots.append(spot)
        x += need + pad + _GAP
    return marks, spots


def _button(spot: Spot, on: bool, holds: bool) -> list[Mark]:
    ink, ground = ("paper", "chosen") if on else ("ink", "band")
    middle = spot.x + spot.wide / 2
    marks: list[Mark] = [
        Box(x=spot.x, y=spot.y, wide=spot.wide, high=spot.high, fill=ground, edge="rule", round=6.0)
    ]
    if on:
        inner = (spot.wide - 10.0, spot.high - 10.0)
        marks.append(
            Box(x=spot.x + 5, y=spot.y + 5, wide=inner[0], high=inner[1], fill="", edge="paper", round=4.0)
        )
    base = spot.y + spot.high / 2 + 0.36 * READABLE
    marks.append(
        Text(x=middle, y=base, text=spot.says, ink=ink, on=ground, bold=on or holds, anchor="center")
    )
    if holds:
        words = width(spot.says, READABLE, True)
        marks.append(Box(x=middle - words / 2, y=base + 7.0, wide=words, high=4.0, fill=ink))
    return marks
