"""The screens, a row each: name to the module in this folder that has `enter(house, what)`.

What a screen is, and what it may ask for, see `feedback.screen.staging`.
"""

from __future__ import annotations

import importlib
from typing import Any

from feedback.screen.staging import House, Screen

SCREENS = {
    "porch": "porch",
    "licks": "licks",
    "play along": "play_along",
    "warm-up": "warm_up",
    "tune": "tune",
    "sound check": "sound_check",
    "progress": "progress",
    "neck and chord": "neck_and_chord",
    "settings": "settings",
}
"""In the order in which the porch names them; after a turn, play along shows what stands in
`feedback.screen.after.picture`."""


def entered(name: str, house: House, what: Any = None) -> Screen:
    """Open a screen.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    module = importlib.import_module(f"feedback.screen.screens.{SCREENS[name]}")
    screen: Screen = module.enter(house, what)
    return screen
