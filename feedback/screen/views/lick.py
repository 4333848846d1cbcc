"""One lick by itself: what it trains, its tab, the tempo, and what can be done with it.

Conventions: names are those of the shape under the lick's capo; the key that sounds stands in the heading.
Where not all bars fit, as many as do are shown, and the next ones can be turned to.
"""

from __future__ import annotations

from dataclasses import dataclass

from feedback.hearing_out import ENDING, OVER, SOUNDING, STARTING
from feedback.screen.furniture import MARGIN, choice, heading, hint, paragraph
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Mark, Picture, Sheet, Spot, Text
from feedback.screen.still.tab import still_tab
from feedback.screen.views.licks import key_words
from routines.excerpt import falls
from routines.library import shape_changes_of
from routines.lick import Lick
from routines.pitch import usual_tone
from routines.tempo import tempo_words

BACK = "back to the licks"
"""What leaves the page; not "back", so that the focus does not stay on it in the list."""

_TEXT_Y = 118.0
_ROW_HIGH, _ROW_GAP = 60.0, 10.0
_FOOT = 40.0
_TEMPO_SIZE = 32.0
_SIZES = (40.0, 36.0, 32.0, READABLE)
_SAID, _INSIDE = 30.0, 17.0
_LINE_GAP = 34.0 / 28.0
_MOST_LINES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class LickState:
    """What the page of a lick shows.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    first_bar : int
        The first one of the tab that is seen, from 1.
    hearing : str
        What `feedback.hearing_out.HearingOut.state` says; empty where nothing was asked to sound.
    """

    lick: Lick
    tempo_half_bpm: float
    first_bar: int = 1
    hearing: str = ""

    @property
    def trouble(self) -> str:
        """Why it cannot be heard; empty where nothing is wrong."""
        return "" if self.hearing in ("", STARTING, SOUNDING, ENDING, OVER) else self.hearing

    @property
    def sounds(self) -> bool:
        """Whether it is heard, or about to be."""
        return self.hearing in (STARTING, SOUNDING)


def lick_picture(state: LickState, sheet: Sheet, focus: str) -> Picture:
    """The page of a lick.

    Parameters
    ----------
    state : LickState
    sheet : Sheet
    focus : str
        What has the focus: "play along", "the change alone", "watch it played", "hear it", "slower",
        "faster", "bars N" (turns to bar N), or `BACK`.
    """
    lick, wide = state.lick, sheet.wide - 2 * MARGIN
    marks = heading(sheet, lick.title, f"key of {key_words(lick)}")
    if state.trouble:
        text, y = paragraph(MARGIN, _TEXT_Y, wide, state.trouble, ink="astray", most=_MOST_LINES)
    else:
        text, y = paragraph(MARGIN, _TEXT_Y, wide, _facts(lick), ink="faint", most=_MOST_LINES)
        more, y = paragraph(MARGIN, y, wide, lick.trains, most=_MOST_LINES)
        text += more
    rows_y = sheet.high - _FOOT - 2 * _ROW_HIGH - _ROW_GAP
    tempo_y = rows_y - 18.0
    tab, turn_to = _tab(state, y - 26.0, wide, tempo_y - 0.8 * _TEMPO_SIZE - 8.0)
    drawn, spots = _choices(state, sheet, rows_y, turn_to, focus)
    marks += [*text, *tab, _tempo(state, tempo_y), *drawn, hint(sheet, _hint(state))]
    return Picture(sheet, tuple(marks), tuple(spots))


def _facts(lick: Lick) -> str:
    changes = ", ".join(shape_changes_of(lick))
    fifth = lick.neck.fifth_string
    tuned = "" if fifth.how == "plain" else f", fifth string at {str(usual_tone(fifth.open_midi)).lower()}"
    return f"{changes}{': ' if changes else ''}{lick.hand} hand{tuned}"


def _tempo(state: LickState, y: float) -> Mark:
    words = f"{tempo_words(state.tempo_half_bpm)}, top {state.lick.top_tempo_half_bpm:g}"
    return Text(x=MARGIN, y=y, text=words, size=_TEMPO_SIZE, bold=True)


def _tab(state: LickState, y: float, wide: float, lowest: float) -> tuple[list[Mark], int | None]:
    """The tab, and the bar that can be turned to where not all are seen."""
    lick = state.lick
    for size in _SIZES:
        marks, lower = still_tab(lick, x=MARGIN, y=y, wide=wide, line_gap=_LINE_GAP * size, size=size)
        if lower <= lowest:
            return marks, None
    first = min(state.first_bar, lick.bars)
    for count in range(lick.bars - first + 1, 0, -1):
        marks, lower = still_tab(lick, x=MARGIN, y=y, wide=wide, first_bar=first, bars=count)
        if lower <= lowest:
            break
    after = first + count
    return marks, after if after <= lick.bars else 1


def _choices(
    state: LickState, sheet: Sheet, y: float, turn_to: int | None, focus: str
) -> tuple[list[Mark], list[Spot]]:
    upper = [("play along", "play along"), ("watch it played", "watch it played")]
    if falls(state.lick):
        upper.insert(1, ("the change alone", "the change alone"))
    lower = [
        ("stop" if state.sounds else "hear it", "hear it"),
        ("slower", "slower"),
        ("faster", "faster"),
        *([] if turn_to is None else [(f"bar {turn_to} on", f"bars {turn_to}")]),
        ("back", BACK),
    ]
    marks, spots = _side_by_side(sheet, y, upper, focus)
    more, others = _side_by_side(sheet, y + _ROW_HIGH + _ROW_GAP, lower, focus)
    return [*marks, *more], [*spots, *others]


def _side_by_side(
    sheet: Sheet, y: float, rows: list[tuple[str, str]], focus: str
) -> tuple[list[Mark], list[Spot]]:
    """Choices over the whole width, each as wide as its words need and a share of what is left."""
    needs = [width(text, _SAID, True) + 2 * _INSIDE for text, _ in rows]
    left = sheet.wide - 2 * MARGIN - _ROW_GAP * (len(rows) - 1) - sum(needs)
    marks: list[Mark] = []
    spots, x = [], MARGIN
    for (text, does), need in zip(rows, needs, strict=True):
        wide = need + left / len(rows)
        drawn, spot = choice(x, y, wide, text, does, focus, high=_ROW_HIGH, size=_SAID)
        marks += drawn
        spots.append(spot)
        x += wide + _ROW_GAP
    return marks, spots


def _hint(state: LickState) -> str:
    if state.hearing == STARTING:
        return "opening the sound"
    if state.hearing == SOUNDING:
        return "sounding; hear it once more to stop"
    return "arrows and enter choose, escape goes back"
