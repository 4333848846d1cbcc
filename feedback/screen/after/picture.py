"""What is seen after a turn of passes: one sentence, the roll print, where the sevens went, what to do next.

The problem: there are four seconds, read from two metres, before the next count-in. So the sentence is the
largest thing; below it the roll print and the sevens stand side by side, and what the sentence is about is
ringed in the tab. Where not all has room the tab goes first. Where a tempo ladder is climbed, how it stands
is told under the sentence.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from feedback.advice import advised
from feedback.playstate import PlayState
from feedback.report import heading
from feedback.rollprint import RollPrint, roll_print
from feedback.screen.after.choices import CHOICES_HIGH, choice_row
from feedback.screen.after.climb import aside_wide, climb_marks
from feedback.screen.after.print import print_marks
from feedback.screen.after.sevens import ROW_HIGH, STACKED_HIGH, sevens_marks, sevens_wide
from feedback.screen.after.tab import tab_cut
from feedback.screen.furniture import MARGIN
from feedback.screen.lettering import fitted, signed, width, wrapped
from feedback.screen.marks import READABLE, Mark, Picture, Sheet, Text
from feedback.whereabouts import SevenRow, whereabouts

REST_EVERY_TURNS = 6
"""After so many turns a rest is spoken of."""

REST_WORDS = "rest five minutes in thirty"

_TOP = 16.0
_SENTENCE_SIZES = (44.0, 40.0, 36.0, 32.0, READABLE)
_SENTENCE_SHARE, _ALONE_SHARE = 0.19, 0.33
_CLIMBING_SHARE = 0.16  # the ladder's line stands under it
_LEAD = 1.25
_GAP = 14.0
_BETWEEN = 30.0
_FOOT = 50.0
_COUNT = 32.0
_PRINT_LEAST, _PRINT_HIGHEST = 150.0, 400.0
_ROWS_FIRST = 4  # so many sevens have their rows before the tab has its room
_ASIDE_FROM, _TAB_ASIDE = 1540.0, 830.0
_SEVENS_SHARE = 0.42
_TAB_NEEDS = 250.0
_QUIET = 22.0


@dataclass(frozen=True, slots=True)
class _Told:
    """What the passes of the turn tell."""

    piled: RollPrint | None
    rows: tuple[SevenRow, ...]
    look_at: tuple[int, ...]

    @property
    def worth_rows(self) -> int:
        """How many sevens are worth a row: the last of each chord, and those that went wrong."""
        return max(1, sum(row.last or row.faults > 0 for row in self.rows))

    @property
    def least(self) -> float:
        """The height that roll print and sevens need before the tab is given any."""
        sevens = ROW_HIGH * min(_ROWS_FIRST, self.worth_rows) if self.rows else 0.0
        return max(_PRINT_LEAST if self.piled else 0.0, sevens)


def after_picture(state: PlayState, clock_sec: float, sheet: Sheet, focus: str) -> Picture:
    """What is seen after a turn.

    Parameters
    ----------
    state : PlayState
        Its turn is over.
    clock_sec : float
        Now, by the clock that `state.goes_on_sec` uses.
    sheet : Sheet
    focus : str
        What has the focus: "once more", "ease", "push", "another", or "the change alone".

    Returns
    -------
    Picture
    """
    row_y = sheet.high - _FOOT - _GAP / 2 - CHOICES_HIGH
    drawn, spots = choice_row(sheet, row_y, state, focus)
    marks = [*_standing(_Of(state), sheet, row_y - _GAP), *drawn, *_foot(state, clock_sec, sheet)]
    return Picture(sheet, tuple(marks), tuple(spots))


class _Of:
    """A state, as far as what stays depends on it.

    Equal for the very same passes and request: they are not compared one by one, as a frame has no time for
    that.
    """

    __slots__ = ("_key", "state")

    def __init__(self, state: PlayState) -> None:
        self.state = state
        # The ids are of what this holds, so none is reused.
        self._key = id(state.done), id(state.told_of), state.sentence, state.ladder

    def __hash__(self) -> int:
        return hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Of) and self._key == other._key


@lru_cache(maxsize=1)
def _standing(of: _Of, sheet: Sheet, bottom: float) -> tuple[Mark, ...]:
    """What stays while the seconds are counted down: the sentence, and what lies under it."""
    told, ladder = _told(of.state), of.state.ladder
    share = _SENTENCE_SHARE if told.rows or told.piled else _ALONE_SHARE
    if ladder is None:
        marks, y = _sentence(of.state.sentence, sheet, share)
        return (*marks, *_between(of.state, told, sheet, y, bottom))
    share, room = min(share, _CLIMBING_SHARE), sheet.wide - 2 * MARGIN
    marks, y = _sentence(of.state.sentence, sheet, share, room - aside_wide(sheet))
    tab = _TAB_NEEDS if told.look_at or not told.least else 0.0
    climb, y = climb_marks(ladder, sheet, y, bottom - y - told.least - tab)
    return (*marks, *climb, *_between(of.state, told, sheet, y, bottom))


def _told(state: PlayState) -> _Told:
    lick, limits = state.told_of.lick, state.told_of.limits
    told = [over for over in state.done if over.complete and over.heard]
    piled = roll_print(lick, told, limits)
    if piled is None:
        return _Told(None, (), ())
    advice = advised(lick, [over.judged for over in told], limits)
    return _Told(
        piled=piled,
        rows=whereabouts(lick, told),
        look_at=advice.look_at if advice.sentence == state.sentence else (),
    )


def _sentence(text: str, sheet: Sheet, share: float, wide: float | None = None) -> tuple[list[Mark], float]:
    """The sentence, as large as its share of the height lets it be, and where it ends."""
    said, wide = signed(text), sheet.wide - 2 * MARGIN if wide is None else wide
    for size in _SENTENCE_SIZES:
        lines = wrapped(said, size, wide)
        if len(lines) * _LEAD * size <= share * sheet.high:
            break
    marks: list[Mark] = [
        Text(x=MARGIN, y=_TOP + size + number * _LEAD * size, text=line, size=size)
        for number, line in enumerate(lines)
    ]
    return marks, _TOP + len(lines) * _LEAD * size + _GAP


def _between(state: PlayState, told: _Told, sheet: Sheet, top: float, bottom: float) -> list[Mark]:
    """Roll print and sevens side by side; the tab beside them on a wide sheet, else below, if it has room."""
    room, right = sheet.wide - 2 * MARGIN, sheet.wide - MARGIN
    shown = told.piled is not None or bool(told.rows)
    marks: list[Mark] = []
    if told.look_at or not shown:
        aside = shown and room >= _ASIDE_FROM
        wide = _TAB_ASIDE if aside else room
        spare = bottom - top - (told.least + _GAP if shown and not aside else 0.0)
        cut = tab_cut(state.told_of.lick, told.look_at, wide, spare)
        if cut is not None:
            y = top if aside else bottom - cut[1]
            marks += cut[0].marks(right - wide, y, wide)[0]
            if aside:
                right -= wide + _BETWEEN
            else:
                bottom = y - _GAP
    return [*marks, *_beside(told, top, bottom, right)]


def _beside(told: _Told, top: float, bottom: float, right: float) -> list[Mark]:
    """The roll print, and right of it the sevens."""
    marks: list[Mark] = []
    wide, high = right - MARGIN, bottom - top
    if told.rows:
        under = high >= STACKED_HIGH * min(_ROWS_FIRST, told.worth_rows)
        sevens = min(wide, max(sevens_wide(told.rows, beside=not under), _SEVENS_SHARE * wide))
        marks += sevens_marks(told.rows, right - sevens, top, sevens, high, told.worth_rows)
        wide -= sevens + _BETWEEN
    if told.piled is not None:
        marks += print_marks(told.piled, MARGIN, top, wide, min(high, _PRINT_HIGHEST))
    return marks


def _foot(state: PlayState, clock_sec: float, sheet: Sheet) -> list[Mark]:
    """When it goes on; beside it news, after some turns that a rest is due, else quietly what is played."""
    y = sheet.high - 16.0
    said = _goes_on(state, clock_sec)
    marks: list[Mark] = [Text(x=MARGIN, y=y, text=said, size=_COUNT, bold=True)]
    # Room for the longest count, so that what stands beside it does not move.
    left = MARGIN + max(width(said, _COUNT, True), width("goes on in 00", _COUNT, True)) + _BETWEEN
    if state.news:
        news = fitted(signed(state.news), READABLE, sheet.wide - MARGIN - left)
        return [*marks, Text(x=sheet.wide - MARGIN, y=y, text=news, ink="astray", anchor="right")]
    if state.turn and state.turn % REST_EVERY_TURNS == 0:
        return [*marks, Text(x=sheet.wide - MARGIN, y=y, text=REST_WORDS, anchor="right")]
    if state.request.cue and width(CUE_WORDS, READABLE) <= sheet.wide - MARGIN - left:
        return [*marks, Text(x=sheet.wide - MARGIN, y=y, text=CUE_WORDS, ink="faint", anchor="right")]
    quiet = _quiet(state, sheet.wide - MARGIN - left)
    quietly = Text(
        x=sheet.wide - MARGIN, y=y, text=quiet, size=_QUIET, ink="faint", anchor="right", minor=True
    )
    return [*marks, quietly]


CUE_WORDS = "three lone open fifth strings begin it"
"""How a turn is begun with hands on the banjo, where the cue is listened for."""


def _quiet(state: PlayState, room: float) -> str:
    """What was played, the title only where it has room."""
    title, *rest = heading(state.told_of.lick, state.told_of.tempo_half_bpm).split(" | ")
    without = signed(", ".join(rest))
    whole = f"{title}, {without}"
    return whole if width(whole, _QUIET) <= room else fitted(without, _QUIET, room)


def _goes_on(state: PlayState, clock_sec: float) -> str:
    if state.phase == "over":
        return state.ended or "over"
    if state.phase == "hearing again":
        return "your last pass: listen"
    if state.goes_on_sec is None:
        return "waits for you"
    left = math.ceil(state.goes_on_sec - clock_sec)
    return f"goes on in {left}" if left > 0 else "goes on"
