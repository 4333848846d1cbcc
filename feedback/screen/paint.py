"""From a picture to pixels: the one painter, for the window and for files.

What is written or shaped is made once and kept: texts, and shapes up to `STAMP_PX`, drawn at four times
their size and scaled down so that their edges are smooth. Both stores are bounded; what was not used
for longest goes first. What is larger than a stamp (a ledge) is drawn straight.
"""

from __future__ import annotations

import itertools
import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from functools import partial
from importlib import resources

import pygame
import pygame.gfxdraw

from feedback.screen.inks import LOOKS, Rgb
from feedback.screen.marks import Box, Line, Mark, Picture, Point, Ring, Shape, Text

STAMP_PX = 512
"""Shapes up to this width and height are kept."""

TEXTS, STAMPS = 600, 400
"""So many texts and shapes are kept at most."""

_FINE = 4
_DASH, _GAP = 9.0, 7.0
_FONTS = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
_ANCHORS = {"left": 0.0, "center": 0.5, "right": 1.0}


class _Kept:
    """Surfaces that were made, at most so many of them."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: OrderedDict[object, pygame.Surface] = OrderedDict()

    def get(self, key: object, make: Callable[[], pygame.Surface]) -> pygame.Surface:
        found = self._held.get(key)
        if found is None:
            found = self._held[key] = make()
            if len(self._held) > self._most:
                self._held.popitem(last=False)
        else:
            self._held.move_to_end(key)
        return found

    def __len__(self) -> int:
        return len(self._held)


class Painter:
    """Paints pictures.

    Parameters
    ----------
    look : str
        A row of `feedback.screen.inks.LOOKS`.

    Raises
    ------
    KeyError
        If there is no such look.
    """

    def __init__(self, look: str = "paper") -> None:
        pygame.font.init()
        self._inks = LOOKS[look]
        self._texts, self._stamps = _Kept(TEXTS), _Kept(STAMPS)
        self._fonts: OrderedDict[tuple[int, bool], pygame.font.Font] = OrderedDict()
        self._scale = 1.0

    @property
    def kept(self) -> tuple[int, int]:
        """How many texts and shapes are kept now."""
        return len(self._texts), len(self._stamps)

    def paint(self, surface: pygame.Surface, picture: Picture) -> None:
        """Paint a picture over a whole surface.

        Parameters
        ----------
        surface : pygame.Surface
        picture : Picture
            Its sheet's `scale` says how many pixels a unit has.
        """
        self._scale = picture.sheet.scale
        surface.fill(self._inks[picture.paper])
        for mark in picture.marks:
            self._mark(surface, mark)

    def _mark(self, surface: pygame.Surface, mark: Mark) -> None:
        match mark:
            case Text():
                self._text(surface, mark)
            case Line():
                self._line(surface, mark)
            case Box():
                self._box(surface, mark)
            case Shape():
                self._shape(surface, mark.points, mark.fill, mark.edge, mark.thick)
            case Ring():
                self._ring(surface, mark)

    def _text(self, surface: pygame.Surface, mark: Text) -> None:
        if not mark.text:
            return
        size = max(1, round(mark.size * self._scale))
        font = self._font(size, mark.bold)
        key = (mark.text, size, mark.bold, mark.ink)
        ink = self._inks[mark.ink]
        made = self._texts.get(key, lambda: _converted(font.render(mark.text, True, ink)))
        x = mark.x * self._scale - _ANCHORS[mark.anchor] * made.get_width()
        surface.blit(made, (round(x), round(mark.y * self._scale) - font.get_ascent()))

    def _font(self, size: int, bold: bool) -> pygame.font.Font:
        font = self._fonts.get((size, bold))
        if font is None:
            file = resources.files("feedback.screen") / "fonts" / _FONTS[bold]
            with resources.as_file(file) as path:
                font = self._fonts[size, bold] = pygame.font.Font(str(path), size)
            if len(self._fonts) > _MOST_FONTS:
                self._fonts.popitem(last=False)
        return font

    def _line(self, surface: pygame.Surface, mark: Line) -> None:
        thick = max(1.0, mark.thick * self._scale)
        points = [(x * self._scale, y * self._scale) for x, y in mark.points]
        pieces = _dashes(points, self._scale) if mark.dashed else list(itertools.pairwise(points))
        ink = self._inks[mark.ink]
        for (x1, y1), (x2, y2) in pieces:
            if x1 == x2 or y1 == y2:
                across = (thick, abs(y2 - y1)) if x1 == x2 else (abs(x2 - x1), thick)
                left = min(x1, x2) - (thick / 2 if x1 == x2 else 0.0)
                top = min(y1, y2) - (thick / 2 if y1 == y2 else 0.0)
                surface.fill(ink, (round(left), round(top), round(across[0]), max(1, round(across[1]))))
                continue
            far = math.hypot(x2 - x1, y2 - y1)
            dx, dy = (y1 - y2) / far * thick / 2, (x2 - x1) / far * thick / 2
            corners = ((x1 + dx, y1 + dy), (x2 + dx, y2 + dy), (x2 - dx, y2 - dy), (x1 - dx, y1 - dy))
            self._polygon(surface, corners, ink, None, 0.0)

    def _box(self, surface: pygame.Surface, mark: Box) -> None:
        s = self._scale
        left, top = round(mark.x * s), round(mark.y * s)
        rect = pygame.Rect(
            left, top, round((mark.x + mark.wide) * s) - left, round((mark.y + mark.high) * s) - top
        )
        thick, radius = max(1, round(mark.thick * s)), round(mark.round * s)
        if mark.fill:
            pygame.draw.rect(surface, self._inks[mark.fill], rect, border_radius=radius)
        if mark.edge:
            pygame.draw.rect(surface, self._inks[mark.edge], rect, thick, border_radius=radius)

    def _shape(
        self, surface: pygame.Surface, points: Sequence[Point], fill: str, edge: str, thick: float
    ) -> None:
        scaled = [(x * self._scale, y * self._scale) for x, y in points]
        inner = self._inks[fill] if fill else None
        self._polygon(surface, scaled, inner, self._inks[edge] if edge else None, thick * self._scale)

    def _polygon(
        self,
        surface: pygame.Surface,
        points: Sequence[Point],
        fill: Rgb | None,
        edge: Rgb | None,
        thick: float,
    ) -> None:
        margin = math.ceil(thick) + 1
        left, top = (math.floor(min(p[axis] for p in points)) - margin for axis in (0, 1))
        wide, high = (
            math.ceil(max(p[axis] for p in points)) + margin - low for axis, low in ((0, left), (1, top))
        )
        if max(wide, high) > STAMP_PX:
            _straight(surface, points, fill, edge, thick)
            return
        relative = tuple((round((x - left) * 4) / 4, round((y - top) * 4) / 4) for x, y in points)
        key = (relative, fill, edge, round(thick * 4))
        draw = partial(_draw_polygon, relative, fill, edge, thick)
        made = self._stamps.get(key, lambda: _stamp(wide, high, draw))
        surface.blit(made, (left, top))

    def _ring(self, surface: pygame.Surface, mark: Ring) -> None:
        s = self._scale
        radius, thick = mark.radius * s, mark.thick * s
        half = math.ceil(radius + thick) + 1
        fill = self._inks[mark.fill] if mark.fill else None
        edge = self._inks[mark.edge] if mark.edge else None
        key = (round(radius * 4), round(thick * 4), fill, edge)
        draw = partial(_draw_ring, half, radius, thick, fill, edge)
        made = self._stamps.get(key, lambda: _stamp(2 * half, 2 * half, draw))
        surface.blit(made, (round(mark.x * s) - half, round(mark.y * s) - half))


_MOST_FONTS = 40


def _converted(made: pygame.Surface) -> pygame.Surface:
    """As the display has its pixels, where there is a display."""
    return made.convert_alpha() if pygame.display.get_surface() is not None else made


def _stamp(wide: int, high: int, draw: Callable[[pygame.Surface], None]) -> pygame.Surface:
    """What is drawn at four times its size, scaled down."""
    fine = pygame.Surface((_FINE * wide, _FINE * high), pygame.SRCALPHA)
    draw(fine)
    return _converted(pygame.transform.smoothscale(fine, (wide, high)))


def _draw_polygon(
    points: Sequence[Point], fill: Rgb | None, edge: Rgb | None, thick: float, fine: pygame.Surface
) -> None:
    large = [(_FINE * x, _FINE * y) for x, y in points]
    inside = edge if fill is None else fill
    if inside is not None:
        fine.fill((*inside, 0))  # what is scaled down mixes with its own colour
    if fill is not None:
        pygame.draw.polygon(fine, fill, large)
    if edge is not None:
        _outline(fine, large, edge, _FINE * thick)


def _outline(surface: pygame.Surface, points: Sequence[Point], ink: Rgb, thick: float) -> None:
    for (x1, y1), (x2, y2) in zip(points, (*points[1:], points[0]), strict=True):
        far = math.hypot(x2 - x1, y2 - y1)
        if far == 0.0:
            continue
        dx, dy = (y1 - y2) / far * thick / 2, (x2 - x1) / far * thick / 2
        pygame.draw.polygon(
            surface, ink, ((x1 + dx, y1 + dy), (x2 + dx, y2 + dy), (x2 - dx, y2 - dy), (x1 - dx, y1 - dy))
        )
        pygame.draw.circle(surface, ink, (x1, y1), thick / 2)


def _draw_ring(
    half: int, radius: float, thick: float, fill: Rgb | None, edge: Rgb | None, fine: pygame.Surface
) -> None:
    centre = (_FINE * half, _FINE * half)
    fine.fill((*(fill if fill is not None else edge or (0, 0, 0)), 0))
    if fill is not None:
        pygame.draw.circle(fine, fill, centre, _FINE * radius)
    if edge is not None:
        outer = _FINE * (radius + thick / 2)
        pygame.draw.circle(fine, edge, centre, outer, max(1, round(_FINE * thick)))


def _straight(
    surface: pygame.Surface, points: Sequence[Point], fill: Rgb | None, edge: Rgb | None, thick: float
) -> None:
    whole = [(round(x), round(y)) for x, y in points]
    if fill is not None:
        pygame.gfxdraw.aapolygon(surface, whole, fill)
        pygame.draw.polygon(surface, fill, whole)
    if edge is not None:
        _outline(surface, points, edge, thick)


def _dashes(points: Sequence[Point], scale: float) -> list[tuple[Point, Point]]:
    """The pieces of a broken line."""
    found = []
    for (x1, y1), (x2, y2) in itertools.pairwise(points):
        far = math.hypot(x2 - x1, y2 - y1)
        step = (_DASH + _GAP) * scale
        for number in range(math.ceil(far / step) if far else 0):
            begin, end = number * step / far, min(1.0, (number * step + _DASH * scale) / far)
            found.append(
                (
                    (x1 + begin * (x2 - x1), y1 + begin * (y2 - y1)),
                    (x1 + end * (x2 - x1), y1 + end * (y2 - y1)),
                )
            )
    return found
