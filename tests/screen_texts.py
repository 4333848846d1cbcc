"""What is written in a picture, the windows that a view is looked at in, and waiting for a thread."""

from __future__ import annotations

import threading
from collections.abc import Callable

from feedback.screen.marks import Picture, Sheet, Text

SHEETS = (Sheet(), Sheet(960, 720), Sheet(1680, 720), Sheet(960, 900))
"""Wide, 4:3, very wide, upright."""

SOON_SEC = 30.0
"""What does not come within that time does not come."""


def texts(picture: Picture) -> list[Text]:
    """All that is written."""
    return [mark for mark in picture.marks if isinstance(mark, Text)]


def written(picture: Picture, text: str, *, least: float = 0.0) -> Text:
    """The first text that says just that, and is at least so large."""
    return next(mark for mark in texts(picture) if mark.text == text and mark.size >= least)


def until(true: Callable[[], bool]) -> bool:
    """Wait until something holds; whether it came to that."""
    for _ in range(round(SOON_SEC / 0.005)):
        if true():
            return True
        threading.Event().wait(0.005)
    return False
