"""The window: one thread, the main one, for events and drawing.

It waits for nobody: what screens show is read from immutable states. Whatever else runs (the sound card's
thread, the analysis, a practice, a tuner) goes on whether the window draws or not. Only the display and the
fonts of the library are used, no mixer. A key that is held is pressed once.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass

from feedback.errors import CannotDo
from feedback.onethread import GAP, quick_turns
from feedback.screen import display_lost
from feedback.screen.files import save_beside
from feedback.screen.frame import Frame
from feedback.screen.keys import key_name
from feedback.screen.library import pygame
from feedback.screen.marks import Picture, Sheet
from feedback.screen.paint import Painter
from feedback.screen.staging import House

SIZE_PX = (1280, 720)
"""Size of the window on a screen of `USUAL_PX`, and larger on a larger one in proportion."""

USUAL_PX = (1920, 1080)

LEAST_PX = (480, 360)
"""What is shown is laid out for at least so much; of a smaller window the upper left part is seen."""

FRAMES_A_SEC = 60

MAKING_SEC = 0.003
"""So long of a frame words that were never seen are made; the rest of them come with the next frames."""

_UNSEEN = ("dummy", "offscreen")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A picture of the window to be taken, after which it closes.

    Attributes
    ----------
    path : str
        A PNG file.
    at_sec : float
        Since the window opened; where the last screen is left sooner, it shows what was to be seen last.
    """

    path: str
    at_sec: float


class Window:
    """The window of the program.

    Parameters
    ----------
    house : House
        Its settings say how the window looks.
    shot : Shot, optional
    size_px : (int, int), optional
        Where it does not fill the screen; by default as the screen has room.
    watched : callable, optional
        Given the seconds of work of each frame, and those since the frame before, for measuring.
    lost : callable, optional
        Called where the display disappears, before the program ends: it cannot go on from there.

    Raises
    ------
    CannotDo
        If no window can be opened.
    """

    def __init__(
        self,
        house: House,
        *,
        shot: Shot | None = None,
        size_px: tuple[int, int] | None = None,
        watched: Callable[[float, float], None] | None = None,
        lost: Callable[[], None] | None = None,
    ) -> None:
        self._house, self._shot, self._watched = house, shot, watched
        self._full = False
        self._last: Picture | None = None
        self._seen: Picture | None = None
        _sharp()
        try:
            pygame.display.init()
            pygame.font.init()
            self._size_px = size_px or _usual_size()
        except pygame.error as error:
            raise _no_window(error) from error
        self._open(house.values["full_screen"] == "on")
        pygame.display.set_caption("Sevenfall")
        pygame.key.set_repeat()
        self._look = ""
        self._painter = self._painter_now()
        if lost is not None:
            display_lost.guard(pygame.display.get_driver(), lost)

    def run(self, frame: Frame) -> None:
        """Show the screens until the last one is left, or the picture was taken.

        Raises
        ------
        OSError
            If the picture cannot be written.
        """
        quick_turns()
        self._frame = frame
        pace = pygame.time.Clock()
        opened = before = time.perf_counter()
        try:
            while not frame.done:
                begun = time.perf_counter()
                GAP.drawing = True
                self._events()
                frame.tick()
                if frame.done:
                    break
                self._draw()
                if self._shot is not None and begun - opened >= self._shot.at_sec:
                    break
                if self._watched is not None:
                    self._watched(time.perf_counter() - begun, begun - before)
                before = begun
                GAP.drawing = False
                pace.tick(FRAMES_A_SEC)
            if self._shot is not None:
                if self._seen is not None:
                    self._painter.paint(self._surface, self._seen)
                save_beside(self._surface, self._shot.path)
        finally:
            GAP.drawing = False
            self.close()  # what ends now may take a moment: nobody is to see a window that stands still
            frame.close()

    def close(self) -> None:
        """Close the window."""
        pygame.display.quit()

    @property
    def painter(self) -> Painter:
        """What paints."""
        return self._painter

    def _draw(self) -> None:
        self._painter = self._painter_now()
        picture = self._frame.picture(self._sheet())
        self._seen = picture
        if picture != self._last:
            whole = self._painter.paint(self._surface, picture, making_sec=MAKING_SEC)
            pygame.display.flip()
            self._last = picture if whole else None

    def _sheet(self) -> Sheet:
        wide, high = self._surface.get_size()
        return Sheet.of(max(wide, LEAST_PX[0]), max(high, LEAST_PX[1]))

    def _painter_now(self) -> Painter:
        """The painter of the look that is set."""
        look = str(self._house.values["look"])
        if look == self._look:
            return self._painter
        self._look, self._last = look, None
        return Painter(look)

    def _open(self, full: bool) -> None:
        size_px, flags = ((0, 0), pygame.FULLSCREEN) if full else (self._size_px, pygame.RESIZABLE)
        try:
            self._surface = pygame.display.set_mode(size_px, flags)
            if not full and self._surface.get_size() != size_px:
                # Coming from the full screen, a driver may keep its size until it is told again.
                self._surface = pygame.display.set_mode(size_px, flags)
        except pygame.error as error:
            raise _no_window(error) from error
        self._full, self._last = full, None

    def _events(self) -> None:
        for event in pygame.event.get():
            if event.type == pygame.QUIT:
                self._frame.close()
            elif event.type == pygame.KEYDOWN:
                self._key(event)
            elif event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
                sheet = self._sheet()
                self._frame.click(event.pos[0] / sheet.scale, event.pos[1] / sheet.scale)
            elif event.type in (pygame.VIDEORESIZE, pygame.VIDEOEXPOSE, pygame.WINDOWSIZECHANGED):
                self._surface = pygame.display.get_surface() or self._surface
                self._last = None
            if self._frame.done:
                return

    def _key(self, event: pygame.event.Event) -> None:
        name = key_name(pygame.key.name(event.key), event.unicode, event.mod)
        if name == "f11":
            self._turn_full()
        elif name:
            self._frame.press(name)

    def _turn_full(self) -> None:
        """Fill the screen, or no longer; where that fails the window stays, as a practice may be running."""
        if not self._full:
            self._size_px = self._surface.get_size()
        try:
            self._open(not self._full)
        except CannotDo:
            self._open(self._full)


def _no_window(error: pygame.error) -> CannotDo:
    return CannotDo(f"no window could be opened: {error}; --no-window stays in the terminal")


def _usual_size() -> tuple[int, int]:
    """How large the window is where nobody said: two thirds of a screen, so that it reads from afar."""
    if pygame.display.get_driver() in _UNSEEN:
        return SIZE_PX
    wide, high = pygame.display.get_desktop_sizes()[0]
    if wide < SIZE_PX[0] or high < SIZE_PX[1]:
        return wide * 9 // 10, high * 9 // 10
    larger = max(1.0, min(wide / USUAL_PX[0], high / USUAL_PX[1]))
    return round(SIZE_PX[0] * larger), round(SIZE_PX[1] * larger)


def _sharp() -> None:
    """Have as many pixels as the screen has, where the system would scale a window up instead.

    Windows does so for a program that does not say that it knows about dense screens; said to SDL (2.24 or
    later) before the display is opened, sizes are true pixels, and `_usual_size` makes the window as large as
    on other screens. On X11 sizes are true pixels anyway. On macOS pygame 2 has no window of more pixels than
    points (it never sets SDL_WINDOW_ALLOW_HIGHDPI, and no variable does): there a dense screen shows each
    pixel as a few, as large as meant but less sharp.
    """
    os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")
    os.environ.setdefault("SDL_VIDEO_X11_WMCLASS", "sevenfall")
