"""Progress by key and by chord: a few rows at a time, each with its counts.

Conventions: keys and chords are named as they sound. In front of a chord's guide tone stands its shape: the
flat seven's triangle stands on its head, the third's on its foot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from feedback.screen.furniture import MARGIN
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Anchor, Line, Mark, Shape, Sheet, Text
from feedback.screen.views.progress_words import often

if TYPE_CHECKING:
    from routines.progress.types import ChordProgress, KeyProgress

_PITCH = 54.0
_HEAD = 44.0
_NAME = 34.0
_BASE = 38.0  # of a row's words, from its upper edge
_TRIANGLE = 24.0
_GAP = 16.0
_KEYS = ("key", "minutes", "passes", "clean", "resolved", "home")
_CHORDS = ("", "to", "sounded", "landed", "resolved")
_MANY = (1000, 100, 0)
_LEFT: Anchor = "left"
_RIGHT: Anchor = "right"
_VOICES = {"seven": "♭7", "third": "3rd"}


def rows_on(top: float, bottom: float) -> int:
    """How many rows stand in a room."""
    return max(1, int((bottom - top - _HEAD) // _PITCH))


def key_marks(keys: Sequence[KeyProgress], sheet: Sheet, top: float) -> list[Mark]:
    """Draw a row for each key."""

    def cells(many: int) -> list[list[str]]:
        return [
            [
                signed(one.key),
                f"{one.minutes:.0f}",
                str(one.passes),
                often(one.clean, one.clean + one.unclean, many),
                often(one.guides.resolved, one.guides.falls_told, many),
                "–" if one.home_share is None else f"{100 * one.home_share:.0f} % of top",
            ]
            for one in keys
        ]

    return list(_table(_KEYS, cells, top, MARGIN, sheet.wide - 2 * MARGIN))


def chord_marks(chords: Sequence[ChordProgress], sheet: Sheet, top: float) -> list[Mark]:
    """Draw a row for each guide tone of each chord; a chord is named where its first row stands."""
    left = MARGIN + max((width(signed(one.chord), _NAME, True) for one in chords), default=0.0) + _GAP
    right, words = sheet.wide - MARGIN, left + _TRIANGLE + 10.0
    marks: list[Mark] = []
    for number, one in enumerate(chords):
        y = top + _HEAD + number * _PITCH
        base = y + _BASE
        if not number or one.chord != chords[number - 1].chord:
            marks.append(Text(x=MARGIN, y=base, text=signed(one.chord), size=_NAME, bold=True))
            if number:
                marks.append(Line(points=((MARGIN, y), (right, y)), thick=1.5, ink="rule"))
        marks.append(_triangle(left, base - 0.36 * READABLE, down=one.voice == "seven"))
        marks.append(Text(x=words, y=base, text=_tone(one)))

    def cells(many: int) -> list[list[str]]:
        return [["", _into(one), *(often(*counts, many) for counts in _counts(one))] for one in chords]

    begin = words + max((width(_tone(one), READABLE) for one in chords), default=0.0)
    return [*marks, *_table(_CHORDS, cells, top, begin, right - begin)]


def _counts(one: ChordProgress) -> Iterator[tuple[int, int]]:
    guides = one.guides
    yield guides.sounded, guides.told
    yield guides.landed, guides.told
    yield guides.resolved, guides.falls_told


def _tone(one: ChordProgress) -> str:
    return f"{signed(one.tone)}  {_VOICES[one.voice]}"


def _into(one: ChordProgress) -> str:
    """Where it goes most often, and that there are others."""
    if not one.falls_to:
        return "–"
    chord, _, tone = one.falls_to[0].partition(": ")
    said = f"{tone} over {chord}" if tone else chord
    return signed(f"{said} …" if len(one.falls_to) > 1 else said)


def _table(
    names: Sequence[str], cells: Callable[[int], list[list[str]]], top: float, x: float, wide: float
) -> Iterator[Mark]:
    """Columns that share the room by what they need; the first one is the largest, and stands left.

    What is counted of so many is told as a share: of `_MANY`, or of fewer where there is no room.
    """
    for many in _MANY:
        rows = cells(many)
        needs = [
            max([width(name, READABLE), *(width(row[k], _size(k), k == 0) for row in rows)])
            for k, name in enumerate(names)
        ]
        spare = (wide - sum(needs)) / (len(names) - 1)
        if spare >= _GAP:
            break
    right = x - spare
    for k, need in enumerate(needs):
        right += need + spare
        at, anchor = (right, _RIGHT) if k else (x, _LEFT)
        if names[k]:
            yield Text(x=at, y=top + READABLE, text=names[k], ink="faint", anchor=anchor)
        for number, row in enumerate(rows):
            base = top + _HEAD + number * _PITCH + _BASE
            if row[k]:
                yield Text(x=at, y=base, text=row[k], size=_size(k), bold=k == 0, anchor=anchor)


def _size(column: int) -> float:
    return READABLE if column else _NAME


def _triangle(x: float, y: float, *, down: bool) -> Mark:
    half, tip = _TRIANGLE / 2, (_TRIANGLE / 2 if down else -_TRIANGLE / 2)
    return Shape(
        points=((x, y - 0.8 * tip), (x + 2 * half, y - 0.8 * tip), (x + half, y + 0.9 * tip)), fill="ink"
    )
