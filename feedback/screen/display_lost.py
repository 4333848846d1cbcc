"""A display that disappears: the X server has gone, and its library is about to end the program.

The problem: Xlib ends a program whose server has gone, at once and from within, with a line of its own and
whatever was practised untold. It offers a handler that is called first, from which there is no return. The
handler that is set here lets the practice end and report, then leaves.

It runs on the window's thread, inside of a call into the window library. Other systems tell of a closed
window by an event, and need none of this.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable

from feedback.errors import leave_at_once, tell

LINE = "the display has gone"

_held: list[object] = []  # what C calls must not be collected


def guard(driver: str, lost: Callable[[], None]) -> bool:
    """Have `lost` called when the X server goes away, and the program left with 1 after it.

    Parameters
    ----------
    driver : str
        As the window library names it; nothing is done for others than "x11".
    lost : callable
        Ends and reports what runs; what it raises is dropped, as nobody is left to be told.

    Returns
    -------
    bool
        Whether the guard is set.
    """
    if driver != "x11":
        return False
    try:
        library = ctypes.CDLL("libX11.so.6")
    except OSError:
        return False

    def gone(_: int | None) -> int:
        try:
            lost()
            tell(LINE)
        finally:
            leave_at_once(1)

    handler = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p)(gone)
    _held.append(handler)
    library.XSetIOErrorHandler(handler)
    return True
