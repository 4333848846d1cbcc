"""Rows of the list of licks: title, change, key, hand and top tempo, each whole.

The problem: two metres away nothing may be set smaller, and a title that is cut off is no title. So the
columns of facts are as wide as the widest fact of any lick, and the titles have the rest.

Conventions: under a capo a row names the change as it sounds and in brackets as the hand shapes it, where the
sheet has room for both, else only as it is shaped; the heading says which. The key is that which sounds. Of
several changes the one that was looked for stands first, else that of the lick, and how many more there are.
"""

from __future__ import annotations

from collections.abc import Sequence
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
_BOTH = "change (shapes)"
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


def change_words(lick: Lick, wanted: str = "", *, both: bool = False) -> str:
    """The change as the hand shapes it: "D7-G", or "D7-G +1" where there is another.

    Parameters
    ----------
    lick : Lick
    wanted : str
        The change that was looked for, as it sounds or as it is shaped; it stands first.
    both : bool
        Whether it is also told under a capo how it sounds: "F#7-B (D7-G)".
    """
    changes = list(zip(shape_changes_of(lick), changes_of(lick), strict=True))
    if not changes:
        return ""
    shape, sounds = next((change for change in changes if wanted in change), changes[0])
    said = f"{sounds} ({shape})" if both and lick.neck.capo else shape
    return said + (f" +{len(changes) - 1}" if len(changes) > 1 else "")


def heading_of(name: str, sheet: Sheet, licks: Sequence[Lick]) -> str:
    """What stands over a column of facts where these licks are shown.

    Parameters
    ----------
    name : str
        One of `FACTS`.
    sheet : Sheet
    licks : sequence of Lick
    """
    if name != "change" or not any(lick.neck.capo for lick in licks):
        return name
    return _BOTH if _has_both(sheet) else "shapes"


def columns(sheet: Sheet) -> tuple[Column, ...]:
    """The columns of facts, each as wide as its widest fact; what is left of them is the titles'.

    Where that is less than the longest title needs, changes stand to the right: most are shorter than the
    longest one, and their titles have what that leaves.
    """
    both = _has_both(sheet)
    right, spare = sheet.wide - MARGIN - _INSET, _spare(sheet, both)
    needs = _widest(_size(sheet), both)
    apart = min(max(spare, _LEAST_APART), _MOST_APART)
    to_the_right = ("top",) if spare >= _LEAST_APART else ("top", "change")
    found = []
    for name in reversed(FACTS):
        left = right - needs[name]
        anchor: Anchor = "right" if name in to_the_right else "left"
        found.append(Column(name=name, left=left, wide=needs[name], anchor=anchor))
        right = left - apart - (_BESIDE if name == "key" and "change" in to_the_right else 0.0)
    return tuple(reversed(found))


def _has_both(sheet: Sheet) -> bool:
    """Whether there is room for changes as they sound and as they are shaped."""
    return _spare(sheet, both=True) >= _LEAST_APART


def _spare(sheet: Sheet, both: bool) -> float:
    """What is left between two columns where the longest title is whole."""
    room = sheet.wide - 2 * (MARGIN + _INSET) - sum(_widest(_size(sheet), both).values())
    return room / len(FACTS)


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
    facts = _facts(lick, wanted, _has_both(sheet))
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


def _facts(lick: Lick, wanted: str, both: bool) -> dict[str, str]:
    return {
        "change": change_words(lick, wanted, both=both),
        "key": key_words(lick),
        "hand": lick.hand,
        "top": f"{lick.top_tempo_half_bpm:g}",
    }


def _size(sheet: Sheet) -> float:
    """Of what stands in the rows: larger where there is room for it."""
    return READABLE if sheet.wide < _ROOMY else _LARGER


@lru_cache(maxsize=8)
def _widest(size: float, both: bool) -> dict[str, float]:
    """How wide titles and facts of all licks are at most, and the headings of the columns."""
    said = {name: {name} for name in FACTS}
    said["change"].add(_BOTH if both else "shapes")
    for lick in all_licks():
        for wanted in ("", *shape_changes_of(lick)):
            for name, fact in _facts(lick, wanted, both).items():
                said[name].add(signed(fact))
    found = {name: max(width(fact, size) for fact in of) for name, of in said.items()}
    return {**found, "title": max(width(lick.title, size) for lick in all_licks())}
