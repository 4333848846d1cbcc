"""Texts on a screen: how wide they are, where they break, and real ♭ ♯ ♮ in note names.

Widths come from a table that was read out of the bundled fonts, so that a view needs no font to be laid out.
"""

from __future__ import annotations

import json
import re
from functools import lru_cache
from importlib import resources

_NAME = re.compile(
    r"(?<![A-Za-z0-9])(?:([A-Ga-g])(#{1,2})|([A-G]|[a-g](?!bb))(b{1,2})(?=$|[^a-z]|m\b|m7|maj|min|dim|aug|sus|s\b))"
)


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[str, float]:
    text = (resources.files("feedback.screen") / "fonts" / "advances.json").read_text(encoding="utf-8")
    table = json.loads(text)
    em = table["units_per_em"]
    return {char: units / em for char, units in table["bold" if bold else "plain"].items()}


@lru_cache(maxsize=4096)
def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is, in the units of its size; kerning, which makes it narrower by a hair, is left out.

    Parameters
    ----------
    text : str
    size : float
        Height of the em.
    bold : bool
    """
    table = _advances(bold)
    usual = table["0"]
    return size * sum(table.get(char, usual) for char in text)


def wrapped(text: str, size: float, wide: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines that are no wider than `wide`; a single word that is wider stays whole."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold) <= wide:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def fitted(text: str, size: float, wide: float, *, bold: bool = False) -> str:
    """A text cut to a width, with an ellipsis where something was cut off."""
    if width(text, size, bold) <= wide:
        return text
    while text and width(text + "…", size, bold) > wide:
        text = text[:-1]
    return text.rstrip() + "…"


def signed(text: str) -> str:
    """The text with the accidentals of its note and chord names as real signs: "Bb7" as "B♭7".

    Words are left alone: only a letter A to G that stands by itself, followed by # or b, is a name, and what
    follows a b must not go on as a word does. Small letters (strings, as in "bb") have no double flats, so
    that an "ebb" stays one.
    """
    return _NAME.sub(_with_signs, text)


def _with_signs(found: re.Match[str]) -> str:
    name = found[0]
    return name[0] + name[1:].replace("#", "♯").replace("b", "♭")
