"""The window's library, loaded without what the window does not need, so that it is there soon.

By itself pygame looks for numpy and for setuptools' pkg_resources while it is loaded, and does without where
they are missing. Together they take half of the time until the first frame (measured: bench/screen), and
neither is used here. So they are hidden from it for that moment, unless somebody has loaded them before.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any

_UNUSED = ("numpy", "pkg_resources")


def _loaded() -> Any:
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    hidden = [name for name in _UNUSED if name not in sys.modules]
    for name in hidden:
        sys.modules[name] = None  # type: ignore[assignment]  # an import then fails
    try:
        import pygame
        import pygame.gfxdraw
    finally:
        for name in hidden:
            del sys.modules[name]
    return pygame


if TYPE_CHECKING:
    import pygame
    import pygame.gfxdraw
else:
    pygame = _loaded()

__all__ = ["pygame"]
