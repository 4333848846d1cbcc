"""The lick that is offered first: the one that was played last, at a tempo to begin with."""

from __future__ import annotations

from collections.abc import Mapping

from feedback.errors import Usage
from feedback.nexttempo import EASED
from feedback.screen.staging import House
from feedback.setting_rows import SETTINGS
from routines.errors import BadRoutine
from routines.library import all_licks, load
from routines.lick import Lick

SETTING = "last_lick"


def first_tempo(lick: Lick) -> float:
    """The tempo to begin with, in whole half notes a minute: as the commands have it."""
    return float(round(EASED * lick.top_tempo_half_bpm))


def last_lick(values: Mapping[str, str | float]) -> Lick:
    """The lick that was played last; a good first one where that cannot be read any more."""
    default = str(SETTINGS[SETTING].default)
    try:
        return load(str(values.get(SETTING, default)))
    except (BadRoutine, OSError):
        return load(default)


def remember(house: House, lick: Lick) -> None:
    """Keep a lick as the one that was played last; for this window only where it cannot be stored."""
    name = lick.id if any(one == lick for one in all_licks()) else lick.file
    if house.values.get(SETTING) == name:
        return
    house.values[SETTING] = name
    try:
        house.store({SETTING: name})
    except (OSError, Usage):  # not worth a word: nothing but the porch's offer depends on it
        return
