"""What a setting is, and the kinds of them: how a text is read, its default, how it is stepped.

A setting with `choices` goes round in them, one with a `step` goes up and down within its range; one that has
both begins with its choices, and its numbers follow. What is `learnt` is the name of a key, and is best given
by pressing that key.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One row.

    Attributes
    ----------
    about, accepts : str
        What it is, and which texts are taken.
    read : callable
        Makes the value of a text; raises ValueError where it is not taken.
    default : str or float
    choices : tuple of str
        Texts to choose from, in order; empty where there are none.
    step, least, most : float or None
        Of a number: how far one step goes, and the ends of its range.
    learnt : bool
        Whether it is the name of a key.
    free : bool
        Whether any text may be typed.
    holds_from : str
        From when on a change holds, in words; empty for at once.
    """

    about: str
    accepts: str
    read: Callable[[str], str | float]
    default: str | float
    choices: tuple[str, ...] = ()
    step: float | None = None
    least: float | None = None
    most: float | None = None
    learnt: bool = False
    free: bool = False
    holds_from: str = ""

    def next_to(self, value: str | float, by: int) -> str | float:
        """The value beside another one.

        Parameters
        ----------
        value : str or float
            One that `read` yields.
        by : int
            1 for the next one, -1 for the one before.

        Returns
        -------
        str or float
            The same value at the end of a range, and where there is nothing to step.
        """
        text = as_text(value)
        if self.step is not None:
            return self._stepped(value, self.step, by)
        if not self.choices:
            return value
        at = self.choices.index(text) + by if text in self.choices else 0
        return self.read(self.choices[at % len(self.choices)])

    def _stepped(self, value: str | float, step: float, by: int) -> str | float:
        least, most = self.least or 0.0, self.most or 0.0
        if isinstance(value, str):
            return self.read(as_text(least)) if by > 0 else value
        if by < 0 and value <= least and self.choices:
            return self.choices[-1]
        return self.read(as_text(min(max(value + by * step, least), most)))


def as_text(value: str | float) -> str:
    """A value as the text that is read to it."""
    return value if isinstance(value, str) else f"{value:.9g}"


def number(least: float, most: float) -> Callable[[str], float]:
    """Reads a number of a range."""

    def read(text: str) -> float:
        value = float(text)
        if not (math.isfinite(value) and least <= value <= most):
            raise ValueError(text)
        return value

    return read


def one_of(*names: str) -> Callable[[str], str]:
    """Reads one of some words."""

    def read(text: str) -> str:
        if text not in names:
            raise ValueError(text)
        return text

    return read


def in_range(about: str, least: float, most: float, default: float, step: float) -> Setting:
    """A row of a number that is stepped."""
    return Setting(
        about=about,
        accepts=f"{least:g} to {most:g}",
        read=number(least, most),
        default=default,
        step=step,
        least=least,
        most=most,
    )


def choice(about: str, names: tuple[str, ...], default: str, holds_from: str = "") -> Setting:
    """A row of some words."""
    return Setting(
        about=about,
        accepts=", ".join(names),
        read=one_of(*names),
        default=default,
        choices=names,
        holds_from=holds_from,
    )


def key(about: str, default: str) -> Setting:
    """A row of the name of a key."""
    return Setting(
        about=about,
        accepts="page up, page down, home, end, insert, f1 to f12 but f11, or another key that types nothing "
        "and has no use of its own here",
        read=_key_name,
        default=default,
        learnt=True,
    )


def whole(least: int, most: int) -> Callable[[str], float]:
    """Reads a whole number of a range."""

    def read(text: str) -> float:
        value = int(text)
        if not least <= value <= most:
            raise ValueError(text)
        return value

    return read


def known_or(least: float, most: float) -> Callable[[str], str | float]:
    """Reads a number of a range, or "unknown"."""
    return lambda text: text if text == "unknown" else number(least, most)(text)


def _key_name(text: str) -> str:
    name = " ".join(text.lower().split())
    if len(name) < 2 or name in _USED_KEYS or not name.isprintable() or len(name) > _LONGEST_KEY:
        raise ValueError(text)
    return name


def words(text: str) -> str:
    """Text that can be printed, and is not empty."""
    if not text.strip() or not text.isprintable():
        raise ValueError(text)
    return text


_LONGEST_KEY = 24
_MOVING_KEYS = {"up", "down", "left", "right", "tab", "shift tab"}
_USED_KEYS = _MOVING_KEYS | {
    "enter",
    "return",
    "space",
    "escape",
    "backspace",
    "f11",
}  # by window and screens


def player(text: str) -> str:
    """Reads the name of a player."""
    from routines.journal.players import player_name

    return player_name(text)
