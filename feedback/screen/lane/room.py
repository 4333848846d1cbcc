"""Where things lie in the lane: heights, the now-line, and how wide an eighth is.

The problem: numbers must never touch, what comes must be in sight in time, and a slow tempo needs no long
preview. So an eighth is as wide as a dozen of them fit ahead of the now-line, wider at slow tempos and
narrower at very fast ones, but never so narrow that two numbers of a string touch.

Conventions: in a page that stands still (`stepped`) the now-line moves, and the page begins anew every
`page_quarters`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import cast

from feedback.grid import EIGHTH_QUARTERS
from feedback.screen.lane.shifting import Same
from feedback.screen.lettering import width
from feedback.screen.marks import HIGH, NARROWEST, READABLE, Sheet
from routines.lick import Lick, TargetNote, quarter_sec

NUMBER = 44.0
"""Em of the numbers of the tab."""

CLEAR = 8.0
"""Least distance between two numbers of a string."""

EIGHTH = 60.0
"""An eighth is at least so wide, unless the tempo is so fast that `SIGHT_SEC` needs it narrower."""

WIDEST = 120.0
"""An eighth is at most so wide."""

SIGHT_SEC = 1.2
"""So much of what comes is always in sight."""

LEDGE_RANGE = 128.0
"""On the lowest sheet, from the upper edge of the highest ledge to that of the lowest one."""

MARGIN = 40.0
GUTTER = 84.0
"""Left of it stand the names of the strings."""

_NOW_SHARE = (0.3, 0.35)  # on the narrowest sheet, and from 16:9 on, where more of what has passed has room
_AHEAD_EIGHTHS = 12.0
_SLOW_HALF_BPM = 80.0
_USUAL_WIDEST = 88.0
_TURN_SHARE = 0.7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """Geometry of a lane.

    Attributes
    ----------
    sheet : Sheet
    header : float
        Where the heading ends and the band of the fall picture begins.
    names_y : float
        Baseline of the chord names over the band.
    ledge_top, ledge_range : float
        Upper edge of the highest ledge there may be, and how far below it the lowest one's may lie.
    band_end : float
        Where the band ends.
    string_1, row : float
        y of the first string, and from one to the next.
    words_y : float
        Baseline of the fixed place for words.
    now_x : float
        Of the now-line where it stands still; where a page begins, if the page stands still.
    eighth : float
        Width of an eighth.
    page_quarters : float
        0 where the page moves.
    """

    sheet: Sheet
    header: float
    names_y: float
    ledge_top: float
    ledge_range: float
    band_end: float
    string_1: float
    row: float
    words_y: float
    now_x: float
    eighth: float
    page_quarters: float = 0.0

    @property
    def quarter(self) -> float:
        """Width of a quarter."""
        return self.eighth / EIGHTH_QUARTERS

    def string_y(self, string: int) -> float:
        """y of a string's line."""
        return self.string_1 + (string - 1) * self.row

    @property
    def tab_end(self) -> float:
        """Where the tab ends, with what is marked under its last line."""
        return self.string_y(5) + 40.0


def room_of(sheet: Sheet, lick: Lick, tempo_half_bpm: float, motion: str) -> Room:
    """The geometry for a lick at a tempo on a sheet; `motion` is "flowing" or "stepped"."""
    return _room_of(sheet, Same(lick), tempo_half_bpm, motion == "stepped")


@lru_cache(maxsize=32)
def _room_of(sheet: Sheet, same: Same, tempo_half_bpm: float, stepped: bool) -> Room:
    lick = cast("Lick", same.it)
    more = min(sheet.high - HIGH, 360.0)
    header = 112.0 + 0.05 * more
    ledge_top = header + 72.0
    ledge_range = LEDGE_RANGE + 0.3 * more
    band_end = ledge_top + ledge_range + 50.0
    string_1 = band_end + 42.0 + 0.08 * more
    row = 54.0 + 0.1 * more
    wider = min(1.0, (sheet.wide - NARROWEST) / (HIGH * 16 / 9 - NARROWEST))
    share = _NOW_SHARE[0] + wider * (_NOW_SHARE[1] - _NOW_SHARE[0])
    eighth, page = _stepped(sheet, lick, tempo_half_bpm) if stepped else (
        _eighth(lick, tempo_half_bpm, (1.0 - share) * sheet.wide), 0.0)  # fmt: skip
    now_x = GUTTER + max(EIGHTH, eighth) if stepped else share * sheet.wide
    return Room(
        sheet=sheet,
        header=header,
        names_y=header + 30.0,
        ledge_top=ledge_top,
        ledge_range=ledge_range,
        band_end=band_end,
        string_1=string_1,
        row=row,
        words_y=sheet.high - 20.0 - 0.05 * more,
        now_x=sheet.snapped(now_x),
        eighth=sheet.snapped(eighth),
        page_quarters=page,
    )


def _eighths_sec(tempo_half_bpm: float) -> float:
    return EIGHTH_QUARTERS * quarter_sec(tempo_half_bpm)


def _eighth(lick: Lick, tempo_half_bpm: float, ahead: float) -> float:
    """Width of an eighth where so much lies ahead of the now-line."""
    in_sight = SIGHT_SEC / _eighths_sec(tempo_half_bpm) + 1.0
    slow = max(0.0, 1.0 - tempo_half_bpm / _SLOW_HALF_BPM)
    wide = min(ahead / _AHEAD_EIGHTHS, _USUAL_WIDEST) * (1.0 + slow)
    wide = min(max(wide, EIGHTH), ahead / in_sight, WIDEST)
    return max(wide, least_eighth(lick))


def _stepped(sheet: Sheet, lick: Lick, tempo_half_bpm: float) -> tuple[float, float]:
    """Width of an eighth on a page that stands still, and after how many quarters it is turned.

    Of whole bars, and then halves and quarters of one, the most with which the rest of the page shows what
    comes in time.
    """
    in_sight = SIGHT_SEC / _eighths_sec(tempo_half_bpm) + 2.0
    bar = lick.quarters_a_bar
    pages = [n * bar for n in (4, 3, 2, 1)] + ([2.0, 1.0] if bar == 4.0 else [1.0])
    least = max(EIGHTH, least_eighth(lick))
    room = sheet.wide - GUTTER - least
    for page in pages:
        eighths = page / EIGHTH_QUARTERS
        wide = min(room / (eighths + in_sight), _USUAL_WIDEST)
        if wide >= least and GUTTER + wide * (eighths + 1.0) <= _TURN_SHARE * sheet.wide + wide:
            return wide, page
    return max(min(least, room / (2.0 + in_sight)), least_eighth(lick)), pages[-1]


def numbers(note: TargetNote) -> Sequence[tuple[float, str]]:
    """What stands on the line for a note, each with how many units to the right of its place.

    A slide that is picked inside its own eighth shows where it begins, too.
    """
    if note.technique == "slide" and note.finger and note.from_midi is not None:
        begins = str(note.fret - (note.midi - note.from_midi))
        apart = (number_wide(begins) + number_wide(str(note.fret))) / 2 + CLEAR
        return (0.0, begins), (apart, str(note.fret))
    return ((0.0, str(note.fret)),)


def number_wide(text: str) -> float:
    """How wide a number of the tab is."""
    return width(text, NUMBER, True)


def choke_wide(note: TargetNote) -> float:
    """How far what is written beside a choke reaches to the right of its number."""
    return 26.0 + width(choke_words(note), READABLE) if note.technique == "choke" else 0.0


def choke_words(note: TargetNote) -> str:
    """What is written beside a choke: its sign, and the fret whose pitch it reaches unless it is the next."""
    frets = note.midi - (note.midi if note.from_midi is None else note.from_midi)
    return "c" if frets == 1 else f"c{note.fret + frets}"


def least_eighth(lick: Lick) -> float:
    """The narrowest eighth in which no two numbers of a string touch."""
    least = 34.0
    for string in range(1, 6):
        row = [note for note in lick.notes if note.string == string]
        again = [(row[-1], row[0], lick.end_quarters)] if row else []
        for one, two, later in [*((a, b, 0.0) for a, b in pairwise(row)), *again]:
            at, text = numbers(one)[-1]
            needed = (
                at + number_wide(text) / 2 + choke_wide(one) + number_wide(numbers(two)[0][1]) / 2 + CLEAR
            )
            between = (two.onset_quarters + later - one.onset_quarters) / EIGHTH_QUARTERS
            if between > 0:  # a pickup may begin where the last note of the round before stands
                least = max(least, needed / between)
    return least
