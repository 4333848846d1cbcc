"""What the painter makes once and keeps: words and small shapes, drawn large and scaled down.

So their edges are smooth, and words are as wide as `feedback.screen.lettering` says at every size of the
window (the font's own fitting to whole pixels makes lines up to 3 % wider at 28 pixels). What is kept is
packed in runs (RLE): a word is laid down in a third of the time.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache
from importlib import resources
from io import BytesIO

from feedback.screen.inks import Rgb
from feedback.screen.library import pygame
from feedback.screen.marks import Point

FINE = 4
"""So many times its size something is drawn before it is scaled down."""

_SHARP_PX = 96  # letters of this size are fitted to whole pixels by less than half a percent
_LONGEST = 400
_FONTS = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}


Made = tuple[pygame.Surface, int]
"""A surface, and how many pixels what it stands on lies below its top."""


class Kept:
    """Surfaces that were made; what was not used for longest goes first.

    Parameters
    ----------
    most : int
        So many surfaces are kept at most.
    most_px : int
        So many pixels they have together at most; the newest one is kept whatever it has.
    """

    def __init__(self, most: int, most_px: int) -> None:
        self._most, self._most_px = most, most_px
        self._px = 0
        self._held: OrderedDict[Hashable, Made] = OrderedDict()

    def get(self, key: Hashable) -> Made | None:
        """What is kept under a key."""
        found = self._held.get(key)
        if found is not None:
            self._held.move_to_end(key)
        return found

    def keep(self, key: Hashable, surface: pygame.Surface, below: int = 0) -> Made:
        """Keep a surface under a key that is free."""
        made = self._held[key] = (surface, below)
        self._px += _area(surface)
        while len(self._held) > self._most or (self._px > self._most_px and len(self._held) > 1):
            self._px -= _area(self._held.popitem(last=False)[1][0])
        return made

    def clear(self) -> None:
        """Keep nothing of it."""
        self._held.clear()
        self._px = 0

    def __len__(self) -> int:
        return len(self._held)


def _area(surface: pygame.Surface) -> int:
    return surface.get_width() * surface.get_height()


class Letters:
    """Fonts at the sizes that are in use.

    Parameters
    ----------
    most : int
        So many sizes are kept open.
    """

    def __init__(self, most: int = 40) -> None:
        self._most = most
        self._open: OrderedDict[tuple[int, bool], pygame.font.Font] = OrderedDict()

    def written(self, text: str, size_px: float, bold: bool, ink: Rgb) -> Made:
        """A line of text, and how many pixels its baseline lies below the top.

        Parameters
        ----------
        text : str
        size_px : float
            Height of the em.
        bold : bool
        ink : tuple of int
        """
        fine = 1 if len(text) > _LONGEST else min(FINE, math.ceil(_SHARP_PX / max(1.0, size_px)))
        font = self._font(max(1, round(size_px * fine)), bold)
        large = _rendered(font, text, ink)
        ascent = font.get_ascent()
        if fine == 1:
            return packed(large), ascent
        above = -ascent % fine  # so that the baseline lies between two pixels
        wide = math.ceil(large.get_width() / fine)
        high = math.ceil((above + large.get_height()) / fine)
        room = pygame.Surface((fine * wide, fine * high), pygame.SRCALPHA)
        room.fill((*ink, 0))
        room.blit(large, (0, above), special_flags=pygame.BLEND_RGBA_MAX)
        return packed(pygame.transform.smoothscale(room, (wide, high))), (above + ascent) // fine

    def _font(self, size: int, bold: bool) -> pygame.font.Font:
        font = self._open.get((size, bold))
        if font is None:
            font = self._open[size, bold] = pygame.font.Font(BytesIO(_font_file(bold)), size)
            if len(self._open) > self._most:
                self._open.popitem(last=False)
        else:
            self._open.move_to_end((size, bold))
        return font


@lru_cache(maxsize=2)
def _font_file(bold: bool) -> bytes:
    return (resources.files("feedback.screen") / "fonts" / _FONTS[bold]).read_bytes()


def _rendered(font: pygame.font.Font, text: str, ink: Rgb) -> pygame.Surface:
    """What a font makes of a text; what no font can write (the name of a file may hold it) is a "?"."""
    whole = text.replace("\0", "?").encode("utf-8", "replace").decode("utf-8")
    try:
        return font.render(whole, True, ink)
    except pygame.error:  # a text without any width, or wider than a surface can be
        return pygame.Surface((1, font.get_height()), pygame.SRCALPHA)


def packed(made: pygame.Surface) -> pygame.Surface:
    """As the display has its pixels, where there is a display, and in runs."""
    done = made.convert_alpha() if pygame.display.get_surface() is not None else made
    done.set_alpha(255, pygame.RLEACCEL)
    return done


def stamp(wide: int, high: int, behind: Rgb, draw: Callable[[pygame.Surface], None]) -> pygame.Surface:
    """What is drawn at `FINE` times its size, scaled down.

    Parameters
    ----------
    wide, high : int
        In pixels.
    behind : tuple of int
        What the outermost pixels mix with: the colour of the outline, or of the inside where there is none.
    draw : callable
        Draws on the surface that it is given.
    """
    large = pygame.Surface((FINE * wide, FINE * high), pygame.SRCALPHA)
    large.fill((*behind, 0))
    draw(large)
    return packed(pygame.transform.smoothscale(large, (wide, high)))


def stamp_polygon(
    points: Sequence[Point], fill: Rgb | None, edge: Rgb | None, thick: float, large: pygame.Surface
) -> None:
    """Draw a closed shape for a stamp; points and `thick` are in pixels of the stamp."""
    grown = [(FINE * x, FINE * y) for x, y in points]
    if fill is not None:
        pygame.draw.polygon(large, fill, grown)
    if edge is not None:
        outline(large, grown, edge, FINE * thick)


def stamp_ring(
    half: float, radius: float, thick: float, fill: Rgb | None, edge: Rgb | None, large: pygame.Surface
) -> None:
    """Draw a circle for a stamp, its middle `half` pixels from the corner."""
    middle = (FINE * half, FINE * half)
    draw_ring(large, middle, FINE * radius, FINE * thick, fill, edge)


def draw_ring(
    surface: pygame.Surface, middle: Point, radius: float, thick: float, fill: Rgb | None, edge: Rgb | None
) -> None:
    """Draw a circle; its edge lies on the radius, half within and half without."""
    if fill is not None:
        pygame.draw.circle(surface, fill, middle, radius)
    if edge is not None:
        pygame.draw.circle(surface, edge, middle, radius + thick / 2, max(1, round(thick)))


def outline(surface: pygame.Surface, points: Sequence[Point], ink: Rgb, thick: float) -> None:
    """Draw the outline of a closed shape, with round corners."""
    for (x1, y1), (x2, y2) in zip(points, (*points[1:], points[0]), strict=True):
        if (x1, y1) != (x2, y2):
            pygame.draw.polygon(surface, ink, beam(x1, y1, x2, y2, thick))
            pygame.draw.circle(surface, ink, (x1, y1), thick / 2)


def beam(x1: float, y1: float, x2: float, y2: float, thick: float) -> tuple[Point, Point, Point, Point]:
    """The corners of a straight line that is `thick`."""
    far = math.hypot(x2 - x1, y2 - y1)
    dx, dy = (y1 - y2) / far * thick / 2, (x2 - x1) / far * thick / 2
    return (x1 + dx, y1 + dy), (x2 + dx, y2 + dy), (x2 - dx, y2 - dy), (x1 - dx, y1 - dy)
