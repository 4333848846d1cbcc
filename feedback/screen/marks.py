"""What a screen is made of: texts, lines and shapes with their places, as plain data.

The problem: what is drawn must be testable without a window, must be written as a picture or as SVG, and must
look alike at every size. So a view is a function of a state that returns a `Picture`, and only a painter
knows pixels.

Conventions: a `Sheet` is `high` units high (720) and as wide as the window is in proportion; never narrower
than 4:3: a taller window makes a higher sheet instead. x grows to the right, y down, both in units. Of a text
y is its baseline and `size` the height of its em. Colours are *inks*, named by what they are for (see
`feedback.screen.inks`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

HIGH = 720.0
"""Units from top to bottom of a sheet that is at least 4:3."""

NARROWEST = 960.0
"""Units from left to right of the narrowest sheet."""

READABLE = 28.0
"""Nothing that matters is set smaller: it must be read from two metres."""

Anchor = Literal["left", "center", "right"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is drawn on: its size in units.

    Attributes
    ----------
    wide, high : float
        At least `NARROWEST` and `HIGH`.
    scale : float
        Pixels that a unit has.
    """

    wide: float = 1280.0
    high: float = HIGH
    scale: float = 1.0

    @classmethod
    def of(cls, width_px: int, height_px: int) -> Sheet:
        """The sheet of a window."""
        scale = min(width_px / NARROWEST, height_px / HIGH)
        return cls(width_px / scale, height_px / scale, scale)

    def snapped(self, units: float) -> float:
        """A length that is a whole number of pixels: what moves together by it keeps its distances."""
        return round(units * self.scale) / self.scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of text.

    Attributes
    ----------
    x, y : float
        Of its anchor, on its baseline.
    text : str
    size : float
        Height of its em in units.
    ink, on : str
        Its colour, and what it lies on.
    bold : bool
    anchor : {"left", "center", "right"}
    minor : bool
        Whether the job can be done without reading it.
    """

    x: float
    y: float
    text: str
    size: float = READABLE
    ink: str = "ink"
    on: str = "paper"
    bold: bool = False
    anchor: Anchor = "left"
    minor: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight or broken line through points; `dashed` for what has not come about."""

    points: tuple[Point, ...]
    thick: float = 2.0
    ink: str = "ink"
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A closed shape; `fill` and `edge` are inks, each empty for none."""

    points: tuple[Point, ...]
    fill: str = "ink"
    edge: str = ""
    thick: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A circle, filled or not."""

    x: float
    y: float
    radius: float
    fill: str = ""
    edge: str = "ink"
    thick: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle; (x, y) is its upper left corner, `round` the radius of its corners."""

    x: float
    y: float
    wide: float
    high: float
    fill: str = "paper"
    edge: str = ""
    thick: float = 2.0
    round: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place that can be chosen, by keys or with the mouse.

    Attributes
    ----------
    x, y, wide, high : float
    does : str
        What choosing it asks of its screen, such as "open licks".
    says : str
        What it is, in words.
    """

    x: float
    y: float
    wide: float
    high: float
    does: str
    says: str = ""


Mark = Text | Line | Shape | Ring | Box


@dataclass(frozen=True, slots=True)
class Picture:
    """All that is drawn, in order, and what can be chosen in it.

    Attributes
    ----------
    sheet : Sheet
    marks : tuple of Mark
        Later ones lie over sooner ones.
    spots : tuple of Spot
        In the order in which the focus goes through them.
    paper : str
        Ink of the background.
    """

    sheet: Sheet
    marks: tuple[Mark, ...]
    spots: tuple[Spot, ...] = ()
    paper: str = "paper"

    def with_marks(self, *more: Mark) -> Picture:
        """The same with more marks over it."""
        return replace(self, marks=(*self.marks, *more))

    @property
    def texts(self) -> tuple[str, ...]:
        """What can be read in it, in the order in which it is drawn."""
        return tuple(mark.text for mark in self.marks if isinstance(mark, Text))
