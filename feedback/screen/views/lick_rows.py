"""Rows of the list of licks: title, change, key, hand and top tempo, each whole.

The problem: two metres away nothing may be set smaller, and a title that is cut off is no title. So the
columns of facts are as wide as the widest fact of any lick, and the titles have the rest.

Conventions: a row names the change as the hand shapes it under the lick's capo, and the key that sounds. Of
several changes the one that was looked for stands first, else that of the lick, and how many more there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from feedback.screen.furniture import MARGIN
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import READABLE, Anchor, Box, Line, Mark, Sheet, Spot, Text
from routines.library import all_licks, changes_of, shape_changes_of
from routines.lick import Lick

FACTS = ("change", "key", "hand", "top")
"""What stands beside the title, in order; the top tempo is in half notes a minute."""

GAP = 8.0
"""Between two rows, in units."""

_INSET = 16.0
_LEAST_APART, _MOST_APART = 18.0, 90.0
_BESIDE = 8.0  # more, between what stands to the right and what stands to the left
_ROOMY, _LARGER = 1200.0, 32.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of facts.

    Attributes
    ----------
    name : str
        One of `FACTS`.
    left, wide : float
        Its room, in units.
    anchor : Anchor
        At which side of it the facts stand.
    """

    name: str
    left: float
    wide: float
    anchor: Anchor

    @property
    def x(self) -> float:
        """Where the facts are anchored."""
        return self.left + self.wide if self.anchor == "right" else self.left


def key_words(lick: Lick) -> str:
    """The key that sounds, with its capo: "B, capo 4"."""
    return f"{lick.key}, capo {lick.neck.capo}" if lick.neck.capo else lick.key


def change_words(lick: Lick, wanted: str = "") -> str:
    """The change as the hand shapes it: "D7-G", or "D7-G +1" where there is another.

    Parameters
    ----------
    lick : Lick
    wanted : str
        The change that was looked for, as it sounds or as it is shaped; it stands first.
    """
    shapes = shape_changes_of(lick)
    if not shapes:
        return ""
    named = [
        shape for shape, sounds in zip(shapes, changes_of(lick), strict=True) if wanted in (shape, sounds)
    ]
    more = len(shapes) - 1
    return (named or shapes)[0] + (f" +{more}" if more else "")


def columns(sheet: Sheet) -> tuple[Column, ...]:
    """The columns of facts, each as wide as its widest fact; what is left of them is the titles'.

    Where that is less than the longest title needs, changes stand to the right: most are shorter than the
    longest one, and their titles have what that leaves.
    """
    needs = _widest(_size(sheet))
    right = sheet.wide - MARGIN - _INSET
    spare = (right - MARGIN - _INSET - sum(needs.values())) / len(FACTS)
    apart = min(max(spare, _LEAST_APART), _MOST_APART)
    to_the_right = ("top",) if spare >= _LEAST_APART else ("top", "change")
    found = []
    for name in reversed(FACTS):
        left = right - needs[name]
        anchor: Anchor = "right" if name in to_the_right else "left"
        found.append(Column(name=name, left=left, wide=needs[name], anchor=anchor))
        right = left - apart - (_BESIDE if name == "key" and "change" in to_the_right else 0.0)
    return tuple(reversed(found))


def titles_end(sheet: Sheet) -> float:
    """The x where the room ends that titles have in every row."""
    return columns(sheet)[0].left - _LEAST_APART


def rows(
    sheet: Sheet, licks: tuple[Lick, ...], y: float, pitch: float, wanted: str, focus: str
) -> tuple[list[Mark], list[Spot]]:
    """Draw licks as rows over the whole width.

    Parameters
    ----------
    sheet : Sheet
    licks : tuple of Lick
    y : float
        Upper edge of the first row, in units.
    pitch : float
        From one row to the next; `GAP` of it is between them.
    wanted : str
        The change that was looked for; empty for any.
    focus : str
    """
    marks: list[Mark] = []
    spots = []
    for number, lick in enumerate(licks):
        spot = Spot(
            x=MARGIN,
            y=y + number * pitch,
            wide=sheet.wide - 2 * MARGIN,
            high=pitch - GAP,
            does=f"open {lick.id}",
            says=lick.title,
        )
        marks += _row(spot, lick, sheet, wanted, spot.does == focus)
        spots.append(spot)
    return marks, spots


def _row(spot: Spot, lick: Lick, sheet: Sheet, wanted: str, on: bool) -> list[Mark]:
    size = _size(sheet)
    ink, under = ("paper", "chosen") if on else ("ink", "paper")
    foot = spot.y + spot.high + GAP / 2
    marks: list[Mark] = [Line(points=((spot.x, foot), (spot.x + spot.wide, foot)), ink="rule")]
    if on:
        marks += _inked(spot)
    y = spot.y + spot.high / 2 + 0.36 * size
    x, ends = spot.x + _INSET, titles_end(sheet)
    facts = _facts(lick, wanted)
    for column in columns(sheet):
        said = signed(facts[column.name])
        marks.append(Text(x=column.x, y=y, text=said, size=size, ink=ink, on=under, anchor=column.anchor))
        if column.name == "change" and column.anchor == "right":
            ends += column.wide - width(said, size)
    title = fitted(lick.title, size, ends - x)
    return [*marks, Text(x=x, y=y, text=title, size=size, ink=ink, on=under)]


def _inked(spot: Spot) -> list[Mark]:
    """What has the focus is inked over and has a doubled edge."""
    place = {"x": spot.x + 4, "y": spot.y + 4, "wide": spot.wide - 8, "high": spot.high - 8}
    return [
        Box(x=spot.x, y=spot.y, wide=spot.wide, high=spot.high, fill="chosen", round=6.0),
        Box(**place, fill="", edge="paper", round=4.0),
    ]


def _facts(lick: Lick, wanted: str) -> dict[str, str]:
    return {
        "change": change_words(lick, wanted),
        "key": key_words(lick),
        "hand": lick.hand,
        "top": f"{lick.top_tempo_half_bpm:g}",
    }


def _size(sheet: Sheet) -> float:
    """Of what stands in the rows: larger where there is room for it."""
    return READABLE if sheet.wide < _ROOMY else _LARGER


@lru_cache(maxsize=4)
def _widest(size: float) -> dict[str, float]:
    """How wide titles and facts of all licks are at most, and the names of the columns."""
    said = {name: {name} for name in FACTS}
    for lick in all_licks():
        for wanted in ("", *shape_changes_of(lick)):
            for name, fact in _facts(lick, wanted).items():
                said[name].add(signed(fact))
    found = {name: max(width(fact, size) for fact in of) for name, of in said.items()}
    return {**found, "title": max(width(lick.title, size) for lick in all_licks())}
