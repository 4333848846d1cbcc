"""The settings: changed by keys or the mouse, and stored at once."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from feedback.errors import Usage, one_line
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import House, Leave, Move
from feedback.screen.views.settings import (
    SettingsState,
    all_pages,
    label_of,
    name_in,
    settings_picture,
)
from feedback.setting_kinds import as_text
from feedback.setting_rows import SETTINGS
from feedback.settings import variable

_STEPS = {"left": -1, "right": 1}
_DIGITS = tuple("0123456789.-")
_LONGEST, _LONGEST_TEXT = 7, 24


def enter(house: House, what: Any = None) -> Settings:
    """The settings; `what` is nothing to them."""
    return Settings(house)


class Settings:
    """The settings.

    Parameters
    ----------
    house : House
        Its `values` are changed, its `store` stores them.
    environ : mapping, optional
        Stands for the environment.
    """

    def __init__(self, house: House, environ: Mapping[str, str] | None = None) -> None:
        environ = os.environ if environ is None else environ
        self._house = house
        self._focus = ""
        self._state = SettingsState(
            values=dict(house.values),
            overridden={name: variable(name) for name in SETTINGS if variable(name) in environ},
        )

    @property
    def learning(self) -> bool:
        """Whether the next key is to be learnt, also one of the pedal."""
        return bool(self._state.learning)

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """The page that is turned to."""
        if focus != self._focus:
            self._state = replace(self._state, typed="", learning="", news="")
        self._focus = focus
        return settings_picture(self._state, sheet, focus)

    def act(self, does: str) -> Move:
        """Change a value, learn a key, turn the page, or go back."""
        self._focus = does
        self._state = replace(self._state, typed="", learning="", news="")
        if does == "back":
            return Leave()
        if does in ("page before", "next page"):
            page = self._state.page + (1 if does == "next page" else -1)
            self._state = replace(self._state, page=page % len(all_pages()))
        elif name := name_in(does):
            self._chosen(name, -1 if does.startswith("less ") else 1)
        return None

    def press(self, key: str) -> Move | bool:
        """A key that is to be learnt; else, where a row has the focus, left and right, or a number."""
        if self._state.learning:
            self._learn(self._state.learning, key)
            return True
        name = name_in(self._focus)
        if not name or SETTINGS[name].learnt:
            return False
        if SETTINGS[name].free:
            return self._type(name, key, str.isprintable, _LONGEST_TEXT)
        if key in _STEPS:
            self._state = replace(self._state, typed="", news="")
            self._chosen(name, _STEPS[key])
            return True
        return SETTINGS[name].step is not None and self._type(name, key, _DIGITS.__contains__, _LONGEST)

    def tick(self) -> Move:
        """Nothing goes on here."""
        return None

    def close(self) -> None:
        """Nothing is to be ended."""

    def _chosen(self, name: str, by: int) -> None:
        if name in self._state.overridden:
            where = self._state.overridden[name]
            self._tell(f"{where} is set in the environment and goes before what is stored: unset it first.")
        elif SETTINGS[name].learnt:
            self._state = replace(self._state, learning=name)
        else:
            self._change(name, SETTINGS[name].next_to(self._house.values[name], by))

    def _type(self, name: str, key: str, taken: Callable[[str], bool], most: int) -> bool:
        """A number or a text that is typed to its end with enter."""
        typed, key = self._state.typed, " " if key == "space" else key
        types = len(key) == 1 and taken(key) and (typed or key != " ")
        if types and name in self._state.overridden:
            self._chosen(name, 1)  # which says why it cannot be changed
        elif types and len(typed) < most:
            self._state = replace(self._state, typed=typed + key, news="")
        elif not typed or key not in ("backspace", "escape", "enter"):
            return False
        else:
            self._state = replace(self._state, typed=typed[:-1] if key == "backspace" else "")
            if key == "enter":
                self._take(name, typed)
        return True

    def _take(self, name: str, text: str) -> None:
        try:
            value = SETTINGS[name].read(text)
        except ValueError:
            self._tell(f"{text} is not accepted for “{label_of(name)}”; accepted: {SETTINGS[name].accepts}.")
        else:
            self._change(name, value)

    def _learn(self, name: str, key: str) -> None:
        self._state = replace(self._state, learning="")
        if key == "escape":
            return
        for other, row in SETTINGS.items():
            if row.learnt and other != name and self._house.values[other] == key.lower():
                self._tell(f"{key} is the key of “{label_of(other)}” already.")
                return
        self._take(name, key)

    def _change(self, name: str, value: str | float) -> None:
        if value == self._house.values[name]:
            return
        self._house.values[name] = value
        self._state = replace(self._state, values=dict(self._house.values))
        try:
            self._house.store({name: as_text(value)})
        except (OSError, Usage) as error:
            self._tell(f"Not stored, it holds until the window closes: {one_line(error)}")

    def _tell(self, news: str) -> None:
        self._state = replace(self._state, news=news)
