"""Between the turns of a warm-up: what comes next, large, with its tab; at the end the one remark.

The problem: the hands do not leave the banjo and the eyes come up for two seconds. So a few words are the
largest thing, the tab below is as large as has room, and it goes on by itself; what can be chosen stands
small at the foot.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product

from feedback.screen.furniture import MARGIN, choice, choices, paragraph
from feedback.screen.lettering import fitted, signed, width, wrapped
from feedback.screen.marks import READABLE, Mark, Picture, Sheet, Spot, Text
from feedback.screen.still.tab import still_tab
from feedback.warm_up_seen import WarmUpSeen
from feedback.words import chord_name
from routines.lick import Lick
from routines.tempo import tempo_words

GO_ON, STOP = "go on", "end here"
"""What can be chosen between two turns: the next count-in at once, and the end.

Neither is called as what is chosen while a turn runs, so that the focus falls on the first of them.
"""

AFTER = ("once more", "another", "back")
"""What can be chosen once it is over."""

REST_WORDS = "Rest five minutes in thirty; never play through pain: see a clinician."
"""What stands under the remark."""

_HEAD = 54.0
_SAYS = (88.0, 76.0, 66.0, 58.0, 48.0, 40.0, 34.0)
_REMARKS = (52.0, 46.0, 40.0, 36.0, 32.0, READABLE)
_LARGE_SAYS = 4  # of these sizes are large enough for a single line to be better than two of a larger one
_LEAD = 1.2
_TEMPO = 34.0
_BUTTON_HIGH, _FOOT, _GAP = 54.0, 18.0, 14.0
_TABS = (44.0, 40.0, 36.0, 32.0, READABLE)
_LINE_GAP = 1.22


def warm_up_between(state: WarmUpSeen, sheet: Sheet, focus: str, news: str = "") -> Picture:
    """What is seen before a turn of a warm-up, or after its last one.

    Parameters
    ----------
    state : WarmUpSeen
    sheet : Sheet
    focus : str
        What has the focus: `GO_ON` or `STOP`; once there is a remark, one of `AFTER`.
    news : str
        What is to be read besides: a string that has drifted, passes that are not stored.
    """
    if state.remark:
        return _over(state, sheet, focus, news)
    marks, top = _head(state, sheet)
    drawn, spots = _foot(sheet, focus, news)
    tab = _tab(state.lick, sheet, top, spots[0].y - _GAP)
    return Picture(sheet, (*marks, *tab, *drawn), tuple(spots))


def _head(state: WarmUpSeen, sheet: Sheet) -> tuple[list[Mark], float]:
    """Title, round and step; what comes next; its tempo and, under a capo, where that is."""
    room = sheet.wide - 2 * MARGIN
    stands = f"round {state.round} of {state.rounds}, step {state.step} of {state.steps}"
    left = room - width(stands, READABLE) - 2 * _GAP
    marks: list[Mark] = [
        Text(x=MARGIN, y=_HEAD, text=fitted(signed(state.title), READABLE, left), ink="faint"),
        Text(x=sheet.wide - MARGIN, y=_HEAD, text=stands, anchor="right"),
    ]
    said = signed(state.says or state.lick.title)
    size, lines = _large(said, room)
    y = _HEAD + 24.0
    for line in lines:
        y += _LEAD * size
        marks.append(Text(x=MARGIN, y=y, text=line, size=size, bold=True))
    y += 22.0 + _TEMPO
    tempo = tempo_words(state.tempo_half_bpm)
    marks.append(Text(x=MARGIN, y=y, text=tempo, size=_TEMPO))
    capo = _capo(state.lick)
    if capo and width(tempo, _TEMPO) + width(capo, READABLE) + 2 * _GAP <= room:
        marks.append(Text(x=sheet.wide - MARGIN, y=y, text=capo, anchor="right"))
    return marks, y + 2 * _GAP


def _large(said: str, room: float) -> tuple[float, list[str]]:
    """As large as lets it stand in one line, or else in two, each whole."""
    for most, sizes in ((1, _SAYS[:_LARGE_SAYS]), (2, _SAYS)):
        for size in sizes:
            lines = wrapped(said, size, room, bold=True)
            if len(lines) <= most and all(width(line, size, True) <= room for line in lines):
                return size, lines
    size = _SAYS[-1]
    lines = wrapped(said, size, room, bold=True)
    return size, [lines[0], fitted(" ".join(lines[1:]), size, room, bold=True)]


def _capo(lick: Lick) -> str:
    if not lick.neck.capo:
        return ""
    return f"capo {lick.neck.capo}, {signed(chord_name(lick, lick.key))} shape, key of {signed(lick.key)}"


@lru_cache(maxsize=4)
def _tab(lick: Lick, sheet: Sheet, top: float, bottom: float) -> tuple[Mark, ...]:
    """All of the lick with its fingers, as large as has room; else without, else as many bars as have."""
    wide = sheet.wide - 2 * MARGIN
    for bars, fingers, size in product(range(lick.bars, 0, -1), (True, False), _TABS):
        marks, lower = still_tab(
            lick,
            x=MARGIN,
            y=top,
            wide=wide,
            bars=bars,
            size=size,
            line_gap=_LINE_GAP * size,
            fingers=fingers,
        )
        if lower <= bottom:
            return tuple(marks)
    return ()


def _foot(sheet: Sheet, focus: str, news: str) -> tuple[list[Mark], list[Spot]]:
    y = sheet.high - _FOOT - _BUTTON_HIGH
    base = y + _BUTTON_HIGH / 2 + 0.36 * READABLE
    spots = []
    wide = 190.0
    room = sheet.wide - 2 * MARGIN - 2 * (wide + _GAP)
    said = fitted(signed(news), READABLE, room) if news else "it goes on by itself"
    marks: list[Mark] = [Text(x=MARGIN, y=base, text=said, ink="astray" if news else "faint")]
    for number, does in enumerate((GO_ON, STOP)):
        x = sheet.wide - MARGIN - (2 - number) * wide - (1 - number) * _GAP
        drawn, spot = choice(x, y, wide, does, does, focus, high=_BUTTON_HIGH, size=READABLE)
        marks += drawn
        spots.append(spot)
    return marks, spots


def _over(state: WarmUpSeen, sheet: Sheet, focus: str, news: str) -> Picture:
    """The one remark, and what to do next."""
    room = sheet.wide - 2 * MARGIN
    drawn, spots = choices(sheet, sheet.high - 2 * MARGIN - 24.0, [(name, name) for name in AFTER], focus)
    foot = spots[0].y - 2 * _GAP - 1.3 * READABLE * (len(wrapped(REST_WORDS, READABLE, room)) - 1)
    rest, _ = paragraph(MARGIN, foot, room, REST_WORDS, ink="faint")
    if news:
        rest.append(
            Text(x=MARGIN, y=2 * _HEAD - 8.0, text=fitted(signed(news), READABLE, room), ink="astray")
        )
    said, high = signed(state.remark), foot - READABLE - 2 * _HEAD - _GAP
    size = next((one for one in _REMARKS if len(wrapped(said, one, room)) * 1.3 * one <= high), _REMARKS[-1])
    most = max(1, int(high / (1.3 * size)))
    remark, _ = paragraph(MARGIN, 2 * _HEAD + size, room, said, size=size, most=most)
    title = Text(x=MARGIN, y=_HEAD, text=fitted(signed(state.title), READABLE, room), ink="faint")
    return Picture(sheet, (title, *remark, *rest, *drawn), tuple(spots))
