"""An X server without a screen (Xvfb), for tests and measures of the real window; hands for it (xdotool)."""

from __future__ import annotations

import os
import shutil
import struct
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STARTS_SEC = 20.0


def missing() -> str:
    """What would have to be installed; empty where nothing is missing."""
    lacking = [name for name in ("Xvfb", "xdotool") if shutil.which(name) is None]
    return f"needs {' and '.join(lacking)}: apt-get install xvfb xdotool" if lacking else ""


class Display:
    """A display that is there.

    Attributes
    ----------
    name : str
        As DISPLAY has it.
    """

    def __init__(self, name: str, server: subprocess.Popen[bytes], frame: Path) -> None:
        self.name, self._server, self._frame = name, server, frame

    @property
    def environ(self) -> dict[str, str]:
        """The environment of a program whose window is to open here."""
        kept = {k: v for k, v in os.environ.items() if k not in ("SDL_VIDEODRIVER", "WAYLAND_DISPLAY")}
        return {**kept, "DISPLAY": self.name}

    def disappear(self) -> None:
        """Let it go away under whoever draws on it."""
        self._server.kill()
        self._server.wait(10.0)

    def pixels(self) -> tuple[tuple[int, int], bytes]:
        """What it shows now: width and height, and red, green, blue of each pixel from the upper left corner.

        The server keeps its screen in a file of the XWD format (X11/XWDFile.h).
        """
        data = self._frame.read_bytes()
        head = struct.unpack(">25I", data[:100])
        begin, (width, height), line, colours = head[0], head[4:6], head[12], head[19]
        begin += 12 * colours
        whole = b"".join(data[begin + row * line : begin + row * line + 4 * width] for row in range(height))
        rgb = bytearray(3 * width * height)
        for channel in range(3):
            rgb[channel::3] = whole[2 - channel :: 4]
        return (width, height), bytes(rgb)

    def window(self, within_sec: float = 30.0) -> str:
        """The number of the program's window, once it is there and has the keyboard.

        Raises
        ------
        TimeoutError
            If it does not come.
        """
        until = time.monotonic() + within_sec
        while time.monotonic() < until:
            found = self._do("search", "--class", ".").split()
            if found:  # without a window manager nobody else gives it the keyboard
                self._do("windowfocus", found[0])
                if self._do("getwindowfocus") == found[0]:
                    return found[0]
            time.sleep(0.1)
        raise TimeoutError("no window came")

    def keys(self, *names: str) -> None:
        """Tap keys, one after the other, as xdotool names them."""
        for name in names:
            self._do("key", "--clearmodifiers", name)
            time.sleep(0.08)

    def click(self, x: int, y: int) -> None:
        """Press the mouse at a place of the screen."""
        self._do("mousemove", str(x), str(y), "click", "1")

    def _do(self, *words: str) -> str:
        done = subprocess.run(
            ["xdotool", *words], env=self.environ, capture_output=True, text=True, timeout=20, check=False
        )
        return done.stdout.strip()


@contextmanager
def display(size_px: tuple[int, int] = (1280, 720)) -> Iterator[Display]:
    """A display of its own, gone again afterwards.

    Raises
    ------
    TimeoutError
        If it does not start.
    """
    folder = tempfile.TemporaryDirectory(prefix="sevenfall-x-")
    reading, writing = os.pipe()
    words = ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{size_px[0]}x{size_px[1]}x24"]
    server = subprocess.Popen(
        [*words, "-nolisten", "tcp", "-fbdir", folder.name],
        pass_fds=(writing,),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    try:
        os.set_blocking(reading, False)
        number, until = b"", time.monotonic() + STARTS_SEC
        while not number.endswith(b"\n"):
            if time.monotonic() > until or server.poll() is not None:
                raise TimeoutError("Xvfb did not start")
            try:
                number += os.read(reading, 16)
            except BlockingIOError:
                time.sleep(0.02)
        yield Display(f":{number.decode().strip()}", server, Path(folder.name) / "Xvfb_screen0")
    finally:
        os.close(reading)
        server.kill()
        server.wait(10.0)
        folder.cleanup()
