"""The lick that is offered first: the one that was played last, at a tempo to begin with."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress

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


def climbed_from(house: House, lick: Lick) -> float | None:
    """The tempo at which the ladder begins with a lick, in half notes a minute.

    Parameters
    ----------
    house : House
        Who plays, and how the command line asked to practise.
    lick : Lick

    Returns
    -------
    float or None
        None where no ladder is climbed: it is turned off, or the simulated player plays.
    """
    if house.values["ladder"] == "off" or house.values["source"] == "sim":
        return None
    from feedback.begun import NOTHING_KNOWN, begun_of, ladder_of
    from feedback.remembered import remembered_of
    from routines.journal.records import Item

    about = remembered_of(house.values, "mic", None if house.asked is None else house.asked.player)
    begun = NOTHING_KNOWN
    with suppress(OSError):
        begun = begun_of(Item(lick.id, lick.key), about)
    return ladder_of(begun, lick).tempo_half_bpm


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
