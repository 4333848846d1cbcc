"""One lick by itself: what it trains, its tab, the tempo, and what can be done with it.

Conventions: names are those of the shape under the lick's capo; the key that sounds stands in the heading.
Where not all bars fit, as many as do are shown, and the next ones can be turned to. The left hand's fingers
stand below the tab wherever they cost no bar. In another key the page
is that of the lick as it is played there, under the title that it is known by.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import product

from feedback.another_key import InKey, in_key
from feedback.hearing_out import ENDING, OVER, SOUNDING, STARTING
from feedback.screen.furniture import MARGIN, choice, hint, paragraph
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Mark, Picture, Sheet, Spot, Text
from feedback.screen.still.tab import still_tab
from feedback.screen.views.lick_rows import key_words
from routines.excerpt import falls
from routines.hand.playing import hands
from routines.library import shape_changes_of
from routines.lick import Lick
from routines.pitch import usual_tone
from routines.tempo import tempo_words
from routines.traffic_forms import BARS, stands

BACK = "back to the licks"
"""What leaves the page; not "back", so that the focus does not stay on it in the list."""

KEY = "key"
"""What goes round the keys."""

_TEXT_Y = 118.0
_ROW_HIGH, _ROW_GAP = 60.0, 10.0
_FOOT = 40.0
_TEMPO_SIZE = 32.0
_KEY_HIGH, _KEY_WIDE, _KEY_GAP = 46.0, 220.0, 6.0
_TITLE_SIZES = (46.0, 40.0, 36.0)
_SIZES = (40.0, 36.0, 32.0, READABLE)
_SAID, _INSIDE, _BESIDE = READABLE, 16.0, 6.0
_LINE_GAP = 34.0 / 28.0
_MOST_LINES = 4
_MOST_CHANGES = 2
_LEFT_FREE = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LickState:
    """What the page of a lick shows.

    Attributes
    ----------
    lick : Lick
        As it is written.
    tempo_half_bpm : float
    key : str
        The key that it is wanted in; empty for its own.
    climbs : bool
        Whether the tempo is where the tempo ladder begins; else the player chose it.
    first_bar : int
        The first one of the tab that is seen, from 1.
    hearing : str
        What `feedback.hearing_out.HearingOut.state` says; empty where nothing was asked to sound.
    """

    lick: Lick
    tempo_half_bpm: float
    key: str = ""
    climbs: bool = False
    first_bar: int = 1
    hearing: str = ""

    @property
    def here(self) -> InKey:
        """The lick in the key that it is wanted in."""
        return in_key(self.lick, self.key or self.lick.key)

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
        What has the focus: "play along", "in traffic", "in a form of 8" or of 16 (where it has a place in
        one), "the change alone", "watch it played", "hear it", "slower", "faster", "bars N" (turns to bar
        N), `BACK` or `KEY`.
    """
    here, wide = state.here, sheet.wide - 2 * MARGIN
    marks = _heading(sheet, state.lick.title, f"key of {key_words(here.lick)}")
    if state.trouble:
        text, y = paragraph(MARGIN, _TEXT_Y, wide, state.trouble, ink="astray", most=_MOST_LINES)
    else:
        ink = "ink" if here.words else "faint"
        text, y = paragraph(MARGIN, _TEXT_Y, wide, _facts(here), ink=ink, most=_MOST_LINES)
        more, y = paragraph(MARGIN, y, wide, here.trains, most=_MOST_LINES)
        text += more
    rows_y = sheet.high - _FOOT - 2 * _ROW_HIGH - _ROW_GAP
    key_y = rows_y - _KEY_GAP - _KEY_HIGH
    tab, turn_to, has_left = _tab(state, y - 26.0, wide, key_y - 2.0)
    drawn, spots = _choices(state, sheet, rows_y, turn_to, focus)
    key, key_spot = _key(here.lick, sheet, key_y, focus)
    marks += [*text, *tab, _tempo(state, sheet, key_y + _KEY_HIGH / 2 + 0.36 * _TEMPO_SIZE), *drawn, *key]
    return Picture(sheet, (*marks, hint(sheet, _hint(state, focus, has_left))), (*spots, key_spot))


def _heading(sheet: Sheet, title: str, beside: str) -> list[Mark]:
    """As other screens have it; a long title gives way until the key is whole."""
    room = sheet.wide - 3 * MARGIN - width(signed(beside), READABLE)
    size = next((size for size in _TITLE_SIZES if width(title, size, True) <= room), _TITLE_SIZES[-1])
    return [
        Text(x=MARGIN, y=64.0, text=title, size=size, bold=True),
        Text(x=sheet.wide - MARGIN, y=62.0, text=signed(beside), ink="faint", anchor="right"),
    ]


def _facts(here: InKey) -> str:
    lick, changes = here.lick, shape_changes_of(here.lick)
    hand = f"{lick.hand} hand"
    facts = f"{', '.join(changes)}: {hand}" if changes else hand
    if here.words:  # beside it there is no room for many changes
        return f"{facts if len(changes) <= _MOST_CHANGES else hand.capitalize()}. {here.words}"
    fifth = lick.neck.fifth_string
    tuned = f", fifth string at {str(usual_tone(fifth.open_midi)).lower()}"
    return f"{facts}{'' if fifth.how == 'plain' else tuned}"


def _tempo(state: LickState, sheet: Sheet, y: float) -> Mark:
    top = f", top {state.here.lick.top_tempo_half_bpm:g}"
    words = f"{tempo_words(state.tempo_half_bpm)}{top}"
    if state.climbs:
        room = sheet.wide - 2 * MARGIN - _KEY_WIDE - _INSIDE
        short = f"ladder from {state.tempo_half_bpm:g} half notes{top}"
        words = f"the ladder begins at {words}"
        words = words if width(words, _TEMPO_SIZE, True) <= room else short
    return Text(x=MARGIN, y=y, text=words, size=_TEMPO_SIZE, bold=True)


def _key(lick: Lick, sheet: Sheet, y: float, focus: str) -> tuple[list[Mark], Spot]:
    x = sheet.wide - MARGIN - _KEY_WIDE
    return choice(x, y, _KEY_WIDE, f"key of {lick.key}", KEY, focus, high=_KEY_HIGH, size=_SAID)


def _tab(state: LickState, y: float, wide: float, lowest: float) -> tuple[list[Mark], int | None, bool]:
    """The tab, the bar that can be turned to where not all are seen, and whether it has the left hand.

    That gives way before a bar does, and not before the size of the numbers.
    """
    lick = state.here.lick
    draw = partial(still_tab, lick, x=MARGIN, y=y, wide=wide)
    hands_seen = (fingers_of(lick), ())
    for left, size in product(hands_seen, _SIZES):
        marks, lower = draw(line_gap=_LINE_GAP * size, size=size, left=left)
        # The larger it is and the more stands below it, the further from the tempo.
        if lower <= lowest - 0.25 * (size - READABLE) - (_LEFT_FREE if left else 0.0):
            return marks, None, bool(left)
    first = min(state.first_bar, lick.bars)
    for count, left in product(range(lick.bars - first + 1, 0, -1), hands_seen):
        marks, lower = draw(first_bar=first, bars=count, left=left)
        if lower <= lowest - (_LEFT_FREE if left else 0.0):
            break
    after = first + count
    return marks, after if after <= lick.bars else 1, bool(left)


@lru_cache(maxsize=64)
def fingers_of(lick: Lick) -> tuple[int, ...]:
    """The left hand's fingers of the tab as it is written."""
    return hands(lick).left


def _choices(
    state: LickState, sheet: Sheet, y: float, turn_to: int | None, focus: str
) -> tuple[list[Mark], list[Spot]]:
    upper = [("play along", "play along"), ("in traffic", "in traffic")]
    lick = state.here.lick
    upper += [(f"{bars} bars", f"in a form of {bars}") for bars in BARS if stands(lick, bars)]
    if falls(lick):
        upper.append(("the change", "the change alone"))
    lower = [
        ("watch it", "watch it played"),
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
    left = sheet.wide - 2 * MARGIN - _BESIDE * (len(rows) - 1) - sum(needs)
    marks: list[Mark] = []
    spots, x = [], MARGIN
    for (text, does), need in zip(rows, needs, strict=True):
        wide = need + left / len(rows)
        drawn, spot = choice(x, y, wide, text, does, focus, high=_ROW_HIGH, size=_SAID)
        marks += drawn
        spots.append(spot)
        x += wide + _BESIDE
    return marks, spots


def _hint(state: LickState, focus: str, has_left: bool) -> str:
    if state.hearing == STARTING:
        return "opening the sound"
    if state.hearing == SOUNDING:
        return "sounding; hear it once more to stop"
    way = "left and right go round the keys" if focus == KEY else "arrows and enter choose"
    return f"{way}, escape goes back{'; circled: the left hand' if has_left else ''}"
