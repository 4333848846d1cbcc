"""From a picture to pixels: the one painter, for the window and for files.

Words and shapes up to `STAMP_PX` are made once and kept (`feedback.screen.stamps`); both stores are bounded.
What is larger (a ledge) is drawn straight. Everything lies on whole pixels in the same way, so that what
moves together by a length that `Sheet.snapped` gave keeps its distances to the pixel.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from feedback.screen.inks import LOOKS, Rgb
from feedback.screen.library import pygame
from feedback.screen.marks import Box, Line, Picture, Point, Ring, Shape, Text
from feedback.screen.stamps import Kept, Letters, beam, draw_ring, outline, stamp, stamp_polygon, stamp_ring

STAMP_PX = 512
"""Shapes up to this width and height are kept."""

TEXTS, STAMPS = 600, 400
"""So many texts and shapes are kept at most."""

MOST_PX = 6_000_000
"""So many pixels each store has at most (24 MB)."""

_DASH, _GAP = 9.0, 7.0
_ANCHORS = {"left": 0.0, "center": 0.5, "right": 1.0}
_HAIR = 1e-6  # what is meant to lie on a pixel may come a rounding error short of it
_STREAM_PX = 500  # the library fills wide boxes quicker, its drawing functions narrow ones


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
        self._texts, self._stamps = Kept(TEXTS, MOST_PX), Kept(STAMPS, MOST_PX)
        self._letters = Letters()
        self._scale = 1.0
        self._until, self._made_one, self._left_out = math.inf, False, False
        self._by_kind: dict[type, Callable[[Any], None]] = {
            Text: self._text,
            Line: self._line,
            Box: self._box,
            Shape: self._shape,
            Ring: self._ring,
        }

    @property
    def kept(self) -> tuple[int, int]:
        """How many texts and shapes are kept now."""
        return len(self._texts), len(self._stamps)

    def paint(self, surface: pygame.Surface, picture: Picture, *, making_sec: float = math.inf) -> bool:
        """Paint a picture over a whole surface.

        Parameters
        ----------
        surface : pygame.Surface
        picture : Picture
            Its sheet's `scale` says how many pixels a unit has.
        making_sec : float
            So long words that were not written yet are made; those left over are left out.

        Returns
        -------
        bool
            Whether nothing was left out. Painted again and again, all of it is there in the end.
        """
        self._until, self._made_one, self._left_out = time.perf_counter() + making_sec, False, False
        if picture.sheet.scale != self._scale:
            self._scale = picture.sheet.scale
            self._texts.clear()
            self._stamps.clear()
        self._surface, self._room = surface, surface.get_rect()
        surface.fill(self._inks[picture.paper])
        by_kind = self._by_kind
        for mark in picture.marks:
            by_kind[type(mark)](mark)
        return not self._left_out

    def _text(self, mark: Text) -> None:
        if not mark.text:
            return
        key = (mark.text, mark.size, mark.bold, mark.ink)
        made = self._texts.get(key)
        if made is None and self._made_one and time.perf_counter() >= self._until:
            self._left_out = True
            return
        if made is None:
            self._made_one = True
            size_px = mark.size * self._scale
            made = self._texts.keep(
                key, *self._letters.written(mark.text, size_px, mark.bold, self._inks[mark.ink])
            )
        surface, below = made
        left = mark.x * self._scale - _ANCHORS[mark.anchor] * surface.get_width()
        self._surface.blit(surface, (_px(left), _px(mark.y * self._scale) - below))

    def _line(self, mark: Line) -> None:
        s = self._scale
        thick = max(1.0, mark.thick * s)
        points = [(x * s, y * s) for x, y in mark.points]
        pieces = _dashes(points, s) if mark.dashed else itertools.pairwise(points)
        ink, broad, half = self._inks[mark.ink], max(1, _px(thick)), thick / 2
        for (x1, y1), (x2, y2) in pieces:
            if y1 == y2:
                left = _px(min(x1, x2))
                self._fill(ink, left, _px(y1 - half), _px(max(x1, x2)) - left, broad)
            elif x1 == x2:
                top = _px(min(y1, y2))
                self._fill(ink, _px(x1 - half), top, broad, _px(max(y1, y2)) - top)
            else:
                self._polygon(beam(x1, y1, x2, y2, thick), ink, None, 0.0)

    def _box(self, mark: Box) -> None:
        s = self._scale
        left, top = _px(mark.x * s), _px(mark.y * s)
        wide, high = _px((mark.x + mark.wide) * s) - left, _px((mark.y + mark.high) * s) - top
        fill = self._inks[mark.fill] if mark.fill else None
        edge = self._inks[mark.edge] if mark.edge else None
        thick = max(1, _px(mark.thick * s))
        corner = min(_px(mark.round * s), wide // 2, high // 2, STAMP_PX // 2)
        if fill is not None:
            self._fill(fill, left, top + corner, wide, high - 2 * corner)
            if corner > 0:
                self._fill(fill, left + corner, top, wide - 2 * corner, corner)
                self._fill(fill, left + corner, top + high - corner, wide - 2 * corner, corner)
        if edge is not None:
            for y in (top, top + high - thick):
                self._fill(edge, left + corner, y, wide - 2 * corner, thick)
            for x in (left, left + wide - thick):
                self._fill(edge, x, top + corner, thick, high - 2 * corner)
        if corner > 0:
            self._corners(pygame.Rect(left, top, wide, high), corner, fill, edge, thick)

    def _corners(self, box: pygame.Rect, corner: int, fill: Rgb | None, edge: Rgb | None, thick: int) -> None:
        """The four quarters of a circle at the corners of a box, its edge inside."""
        key = (corner, fill, edge, thick)
        made = self._stamps.get(key)
        if made is None:
            behind = edge or fill or (0, 0, 0)
            inside = corner - thick / 2 if edge is not None else corner
            draw = partial(stamp_ring, corner, inside, thick, fill, edge)
            made = self._stamps.keep(key, stamp(2 * corner, 2 * corner, behind, draw))
        for x, from_x in ((box.left, 0), (box.right - corner, corner)):
            for y, from_y in ((box.top, 0), (box.bottom - corner, corner)):
                self._surface.blit(made[0], (x, y), (from_x, from_y, corner, corner))

    def _shape(self, mark: Shape) -> None:
        s = self._scale
        fill = self._inks[mark.fill] if mark.fill else None
        edge = self._inks[mark.edge] if mark.edge else None
        self._polygon([(x * s, y * s) for x, y in mark.points], fill, edge, mark.thick * s)

    def _polygon(self, points: Sequence[Point], fill: Rgb | None, edge: Rgb | None, thick: float) -> None:
        if len(points) < 3:
            return
        across, down = [x for x, _ in points], [y for _, y in points]
        margin = math.ceil(thick) + 1
        left, top = math.floor(min(across) + _HAIR) - margin, math.floor(min(down) + _HAIR) - margin
        wide, high = math.ceil(max(across)) + margin - left, math.ceil(max(down)) + margin - top
        if wide > STAMP_PX or high > STAMP_PX:
            _straight(self._surface, points, fill, edge, thick)
            return
        # Quarters of a pixel: as fine as a stamp is drawn.
        places = tuple([(_px(4 * (x - left)), _px(4 * (y - top))) for x, y in points])
        key = (places, fill, edge, _px(4 * thick))
        made = self._stamps.get(key)
        if made is None:
            quarters = [(x / 4, y / 4) for x, y in places]
            draw = partial(stamp_polygon, quarters, fill, edge, thick)
            made = self._stamps.keep(key, stamp(wide, high, edge or fill or (0, 0, 0), draw))
        self._surface.blit(made[0], (left, top))

    def _ring(self, mark: Ring) -> None:
        s = self._scale
        radius, thick = mark.radius * s, mark.thick * s
        half = math.ceil(radius + thick) + 1
        fill = self._inks[mark.fill] if mark.fill else None
        edge = self._inks[mark.edge] if mark.edge else None
        if 2 * half > STAMP_PX:
            draw_ring(self._surface, (mark.x * s, mark.y * s), radius, thick, fill, edge)
            return
        key = ("ring", _px(4 * radius), _px(4 * thick), fill, edge)
        made = self._stamps.get(key)
        if made is None:
            draw = partial(stamp_ring, half, radius, thick, fill, edge)
            made = self._stamps.keep(key, stamp(2 * half, 2 * half, edge or fill or (0, 0, 0), draw))
        self._surface.blit(made[0], (_px(mark.x * s) - half, _px(mark.y * s) - half))

    def _fill(self, ink: Rgb, left: int, top: int, wide: int, high: int) -> None:
        """Fill a rectangle, as far as it lies on the surface."""
        if wide <= 0 or high <= 0:
            return
        rect = pygame.Rect(left, top, wide, high).clip(self._room)
        if rect.width > _STREAM_PX:
            self._surface.fill(ink, rect)
        elif rect.width:
            pygame.gfxdraw.box(self._surface, rect, ink)


def _px(value: float) -> int:
    """The pixel that a place lies on; halves go up, at any place, so that distances stay."""
    return math.floor(value + 0.5 + _HAIR)


def _straight(
    surface: pygame.Surface, points: Sequence[Point], fill: Rgb | None, edge: Rgb | None, thick: float
) -> None:
    whole = [(_px(x), _px(y)) for x, y in points]
    if fill is not None:
        pygame.gfxdraw.aapolygon(surface, whole, fill)
        pygame.draw.polygon(surface, fill, whole)
    if edge is not None:
        outline(surface, points, edge, thick)


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
