"""Keys by the names that screens know, see `feedback.screen.staging`."""

from __future__ import annotations

from feedback.screen.library import pygame

_KEYS = {"return": "enter", "keypad enter": "enter", "[enter]": "enter"}
_HELD = frozenset(
    [f"{side} {key}" for side in ("left", "right") for key in ("shift", "ctrl", "alt", "meta")]
    + ["alt gr", "caps lock", "numlock"]
)
_PAD = {
    "[8]": "up",
    "[2]": "down",
    "[4]": "left",
    "[6]": "right",
    "[9]": "page up",
    "[3]": "page down",
    "[7]": "home",
    "[1]": "end",
}


def key_name(name: str, typed: str, mod: int) -> str:
    """A key as screens know it: the character that it types, else its name.

    Parameters
    ----------
    name : str
        As pygame has it.
    typed : str
        What it types, if anything.
    mod : int
        Which modifiers are held.

    Returns
    -------
    str
        Empty for what is no key to a screen: a modifier, or what is pressed with ctrl, alt or meta.
    """
    if name in _HELD:
        return ""
    types = len(typed) == 1 and typed.isprintable() and typed != " "
    if mod & pygame.KMOD_META:
        return ""
    if mod & (pygame.KMOD_CTRL | pygame.KMOD_ALT):
        # Many keyboards have their # behind the right alt key, which some systems report as ctrl with alt.
        return typed if types and mod & pygame.KMOD_ALT and typed.lower() != name else ""
    if name == "tab":
        return "shift tab" if mod & pygame.KMOD_SHIFT else "tab"
    if types:
        return typed
    return _KEYS.get(name) or _PAD.get(name, name)
