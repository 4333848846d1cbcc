"""From a command to the window: whether there is one, what it is opened with, how it ends.

Nothing of the window is loaded before it is wanted. Without a display every command works in text;
`--no-window` and `--json` ask for that where there is one. A picture can be taken without a display, too.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from typing import TYPE_CHECKING, Any

from feedback.errors import (
    INTERRUPTED,
    Usage,
    exit_code,
    leave_at_once,
    one_line,
    own_standard_error,
    tell,
)
from feedback.onethread import one_thread

if TYPE_CHECKING:
    from feedback.performing import Asked
    from feedback.screen.staging import House

SHOT_SEC = 6.0
"""When a picture is taken where nothing else is said."""

LONGEST_SEC = 600.0

_SHOW_NOTHING = ("dummy", "offscreen", "evdev")


def add_window(parser: argparse.ArgumentParser) -> None:
    """`--no-window`, `--screenshot FILE` and `--at SEC`."""
    from feedback.commands.options import add_no_window, seconds

    add_no_window(parser)
    parser.add_argument(
        "--screenshot",
        metavar="FILE",
        help="write a picture of the window to a .png file, and end; needs no display",
    )
    parser.add_argument(
        "--at", type=seconds, metavar="SEC", help=f"when the picture is taken (default {SHOT_SEC:g} s)"
    )


def has_display() -> bool:
    """Whether a window can be seen, as far as the environment tells; a driver that shows nothing is none."""
    driver = os.environ.get("SDL_VIDEODRIVER", "")
    if driver or sys.platform in ("win32", "darwin"):
        return driver not in _SHOW_NOTHING
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def opens() -> bool:
    """Whether the display that the environment names can be reached; one line says so where it cannot."""
    own_standard_error()  # the display's libraries have lines of their own
    from feedback.screen.library import pygame

    try:
        pygame.display.init()
        driver = pygame.display.get_driver()
    except pygame.error:
        driver = _SHOW_NOTHING[0]
    if driver not in _SHOW_NOTHING:
        return True
    pygame.display.quit()
    tell("no window: the display cannot be reached; it goes on in the terminal")
    return False


def wanted(args: argparse.Namespace) -> bool:
    """Whether a command is to open its window.

    Raises
    ------
    Usage
        If a picture is asked for in a way that cannot be.
    """
    if args.screenshot is None:
        if args.at is not None:
            raise Usage("--at is for --screenshot FILE")
        return not (args.no_window or args.json) and has_display() and opens()
    if args.no_window or args.json:
        raise Usage("--screenshot needs the window: leave out --no-window and --json")
    if not args.screenshot.lower().endswith(".png"):
        raise Usage(f"--screenshot {args.screenshot}: accepted: a name that ends in .png")
    if args.at is not None and args.at > LONGEST_SEC:
        raise Usage(f"--at {args.at:g}: give 0 to {LONGEST_SEC:g} seconds")
    return True


def house_of(values: dict[str, str | float], device: str | None = None) -> House:
    """What the screens of a window share."""
    from feedback.screen.staging import House
    from feedback.settings import store

    return House(values=values, clock=time.monotonic, device=device, store=store)


def show(house: House, first: str, what: Any = None, args: argparse.Namespace | None = None) -> None:
    """Open the window on a screen, until it is closed or its picture is taken.

    Parameters
    ----------
    house : House
    first : str
        A row of `feedback.screen.screens.SCREENS`.
    what : object
        What that screen is given.
    args : argparse.Namespace, optional
        With `screenshot` and `at`, where a picture may be asked for.

    Raises
    ------
    OSError
        If no window can be opened, or the picture cannot be written.
    """
    shot_file = None if args is None else args.screenshot
    if shot_file is not None and not has_display():
        os.environ["SDL_VIDEODRIVER"] = "dummy"
    from feedback.screen.frame import Frame
    from feedback.screen.window import Shot, Window

    shot = None
    if args is not None and shot_file is not None:
        shot = Shot(path=shot_file, at_sec=_shot_sec(args))
    frames: list[Frame] = []

    def leave_all() -> None:
        for frame in frames:
            frame.close()
        settle(house)

    window = Window(house, shot=shot, lost=leave_all)
    try:
        frames.append(Frame(house, first, what))
        window.run(frames[0])
    except BaseException as error:
        window.close()
        leave_all()
        if house.hung:  # the usual ways out would hang, too
            code = exit_code(error) or 1
            tell("interrupted" if code == INTERRUPTED else one_line(error))
            leave_at_once(code)
        raise
    leave_all()
    if shot is not None:
        print(f"Written: {shot.path}")


def settle(house: House) -> None:
    """Wait until every practice of a window has ended and told all; what hangs is noted."""
    for one in house.begun:
        house.hung |= not one.stop()


def prepared() -> None:
    """Before anything heavy is loaded: one thread of algebra, standard error for our own lines."""
    one_thread()
    own_standard_error()


def practised(house: House, args: argparse.Namespace) -> int:
    """The exit code of what was practised last in a window.

    A fault is told, but not where a picture was asked for: that was written all the same.
    """
    fault = house.begun[-1].fault if house.begun and args.screenshot is None else None
    if fault is None:
        return 0
    tell(one_line(fault))
    return exit_code(fault) or 1


def leave(house: House, code: int) -> int:
    """The exit code; where a stream hangs in the sound library the program is left at once."""
    if house.hung:
        leave_at_once(code)
    return code


def _shot_sec(args: argparse.Namespace) -> float:
    """When the picture is taken that is asked for."""
    return SHOT_SEC if args.at is None else float(args.at)


def write_simulated(asked: Asked, house: House, args: argparse.Namespace) -> None:
    """Write a picture of the simulated player's turn at a moment, in no more time than it takes to compute.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    from feedback.screen.files import write_png
    from feedback.screen.stills import simulated_picture

    picture = simulated_picture(asked, _shot_sec(args), house.values)
    write_png(picture, args.screenshot, look=str(house.values["look"]))
    print(f"Written: {args.screenshot}")
