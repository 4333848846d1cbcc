"""The roll print drawn: a column for each eighth, its notes piled up one over the other.

A note lies as far from the middle of its column as it came from its place; between the two rules it has
landed, which for a slurred note reaches farther. It is a nick of ink, a hollow one where it was slurred, a
wedge that points to its side where it came early or late. The first pass lies at the bottom. The wedge under
a pile stands at its median, below it the letter of the finger; a finger that leans has an arrow to its side.
"""

from __future__ import annotations

from feedback.rollprint import FINGER_WORDS, Column, FingerTime, Nick, RollPrint
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Line, Mark, Shape, Text

TITLE_HIGH = 40.0
LETTERS_HIGH = 46.0

_LETTER = 32.0
_TALLEST = 20.0
_REACH = 1.4  # of the window, to the edge of a column
_NICK = 0.16  # of a column
_BETWEEN = 8.0


SIDES = "early ← → late"
"""Which side of a column is which."""


def print_title(found: RollPrint, wide: float) -> str:
    """What the roll print shows, in words that fit; empty where none do."""
    leaning = found.leaning
    said = [found.text]
    if leaning is not None and leaning.apart_ms is not None:
        way = f"{abs(leaning.apart_ms):.0f} ms {'ahead' if leaning.apart_ms < 0 else 'behind'}"
        word = FINGER_WORDS[leaning.finger]
        said += [f"{word} leans {way}", f"{word} {way}", f"{leaning.finger} {way}"]
    else:
        said += ["too few notes to tell", "too few to tell"]
    return next((one for one in said if width(one, READABLE, True) <= wide), "")


def print_marks(found: RollPrint, x: float, y: float, wide: float, high: float) -> list[Mark]:
    """Draw a roll print.

    Parameters
    ----------
    found : RollPrint
    x, y, wide, high : float
        The room.
    """
    marks: list[Mark] = []
    leaning = found.leaning
    title = print_title(found, wide)
    marks.append(Text(x=x, y=y + 28.0, text=title, bold=leaning is not None))
    if width(title, READABLE, True) + width(SIDES, READABLE) + 24.0 <= wide:
        marks.append(Text(x=x + wide, y=y + 28.0, text=SIDES, ink="faint", anchor="right"))
    top, bottom = y + TITLE_HIGH, y + high - LETTERS_HIGH
    step = wide / len(found.columns)
    each = min(_TALLEST, (bottom - top - 4.0) / max(len(column.nicks) for column in found.columns))
    for number, column in enumerate(found.columns):
        middle = x + (number + 0.5) * step
        marks += _ground(middle, top, bottom, step)
        marks += _pile(column, found, middle, bottom, step, each)
        marks += _below(column, found, middle, bottom, step, leaning)
    return marks


def _off(ms: float, found: RollPrint, step: float) -> float:
    """How far from the middle of its column something is drawn; what is farther off stays at the edge."""
    half = (step - _BETWEEN) / 2
    share = ms / (_REACH * found.window_ms)
    return half * max(-1.0, min(1.0, share))


def _ground(middle: float, top: float, bottom: float, step: float) -> list[Mark]:
    half = (step - _BETWEEN) / 2 / _REACH
    return [
        Box(x=middle - half, y=top, wide=2 * half, high=bottom - top, fill="band"),
        *(Line(points=((middle + side, top), (middle + side, bottom)), ink="rule") for side in (-half, half)),
        Line(points=((middle, top), (middle, bottom)), ink="rule", thick=1.0),
        Line(points=((middle - step / 2 + 2, bottom), (middle + step / 2 - 2, bottom)), thick=3.0),
    ]


def _pile(
    column: Column, found: RollPrint, middle: float, bottom: float, step: float, each: float
) -> list[Mark]:
    wide, tall = _NICK * step, max(2.0, min(each - 1.0, 0.8 * each))
    return [
        _nick(nick, middle + _off(nick.rest_ms, found, step), bottom - 3.0 - (level + 1) * each, wide, tall)
        for level, nick in enumerate(column.nicks)
    ]


def _nick(nick: Nick, x: float, y: float, wide: float, tall: float) -> Mark:
    if nick.verdict == "landed":
        if nick.finger:
            return Box(x=x - wide / 2, y=y, wide=wide, high=tall, fill="landed")
        return Box(x=x - wide / 2, y=y, wide=wide, high=tall, fill="", edge="landed", thick=2.0)
    side = -1 if nick.verdict == "early" else 1
    points = (
        (x + side * 0.6 * wide, y + tall / 2),
        (x - side * 0.6 * wide, y),
        (x - side * 0.6 * wide, y + tall),
    )
    return Shape(points=points, fill="astray" if nick.finger else "", edge="astray", thick=2.0)


def _below(
    column: Column,
    found: RollPrint,
    middle: float,
    bottom: float,
    step: float,
    leaning: FingerTime | None,
) -> list[Mark]:
    marks: list[Mark] = []
    y = bottom + LETTERS_HIGH - 6.0
    leans = leaning is not None and leaning.finger == column.finger
    if column.median_ms is not None:
        at = middle + _off(column.median_ms, found, step)
        wedge = ((at, bottom + 2), (at - 7, bottom + 13), (at + 7, bottom + 13))
        marks.append(Shape(points=wedge, fill="astray" if leans else "ink"))
    if column.finger:
        ink = "astray" if leans else "ink"
        marks.append(
            Text(x=middle, y=y, text=column.finger, size=_LETTER, ink=ink, bold=leans, anchor="center")
        )
    elif column.slurred:
        points = tuple((middle + 10 * k / 3, y - 4 - 8 * (1 - (k / 3) ** 2)) for k in range(-3, 4))
        marks.append(Line(points=points, thick=2.5))
    if leans and leaning is not None and leaning.apart_ms is not None:
        side = -1 if leaning.apart_ms < 0 else 1
        tip, base = middle + side * (step / 2 - 3), middle + side * (step / 2 - 11)
        marks.append(Shape(points=((tip, y - 11), (base, y - 19), (base, y - 3)), fill="astray"))
    return marks
