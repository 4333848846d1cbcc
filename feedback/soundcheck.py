"""The sound check: which notes a player is asked for, and what was found of them.

Conventions: frets are typed as in tab, as if there were no capo; the fifth string's from the main nut.
"""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike, fspath

import numpy as np

from feedback.errors import Usage
from listener.acquaint import Acquaintance, acquaint
from listener.asked import Asked
from listener.conditions import Conditions, conditions
from listener.files import SoundFile
from listener.rates import Resampler
from routines.neck import Neck, Place
from routines.pitch import note_name

STRINGS = (4, 3, 2, 1, 5)
"""In the order asked for."""

FRETS = (0, 0, 0, 2, 4, 5, 7)
"""Asked for on each string; the fifth one's are five higher, where it is stopped."""

LONGEST_SEC = 300.0
"""Of a recording."""

_FIFTH_MORE = 5
_CAPO_MOST = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A sound check.

    Attributes
    ----------
    file : str
    rate : int
        Of the file, in Hz.
    duration_sec : float
    places : tuple of Place
        What was asked for, in order.
    midi : tuple of int
        The pitch of each.
    conditions : Conditions
    acquaintance : Acquaintance
    """

    file: str
    rate: int
    duration_sec: float
    places: tuple[Place, ...]
    midi: tuple[int, ...]
    conditions: Conditions
    acquaintance: Acquaintance

    @property
    def level_db(self) -> float | None:
        """Level of the usual note, in dB of full scale; None where none was found."""
        levels = [one.level_db for one in self.acquaintance.found if one is not None]
        return float(np.median(levels)) if levels else None


def asked_places(neck: Neck) -> tuple[Place, ...]:
    """The notes that a player is asked for, in order.

    Parameters
    ----------
    neck : Neck

    Raises
    ------
    Usage
        If its capo is too high for the list.
    """
    if neck.capo > _CAPO_MOST:
        raise Usage(f"--capo {neck.capo}: the sound check wants fret 0 (none) to {_CAPO_MOST}")
    return tuple(
        Place(string, fret + (_FIFTH_MORE if string == 5 and fret else 0))
        for string in STRINGS
        for fret in FRETS
    )


def asked_notes(neck: Neck) -> list[Asked]:
    """The same as the listener takes them: pitches, and the string of each."""
    return [Asked(neck.midi(place.string, place.fret), place.string) for place in asked_places(neck)]


def check(path: str | PathLike[str], neck: Neck) -> Checked:
    """Listen to a recording of the asked notes.

    Parameters
    ----------
    path : path
    neck : Neck

    Returns
    -------
    Checked

    Raises
    ------
    OSError, listener.errors.BadSound
        As `listener.files.SoundFile`.
    Usage
        If the recording is longer than `LONGEST_SEC`.
    """
    asked_places(neck)  # a capo too high is told before the file is read
    with SoundFile(path) as file:
        duration_sec = file.frames / file.sample_rate
        if duration_sec > LONGEST_SEC:
            raise Usage(f"{fspath(path)}: {duration_sec:.0f} s long; up to {LONGEST_SEC:.0f} s is accepted")
        raw = np.concatenate([block.copy() for block in file.blocks()])
        rate = file.sample_rate
    return check_sound(raw, rate, neck, file=fspath(path))


def check_sound(raw: np.ndarray, rate: int, neck: Neck, *, file: str) -> Checked:
    """Listen to the asked notes.

    Parameters
    ----------
    raw : ndarray of float32, shape (n,)
        Mono.
    rate : int
        Samples a second.
    neck : Neck
    file : str
        Where it comes from.

    Returns
    -------
    Checked
    """
    places, asked = asked_places(neck), asked_notes(neck)
    resampler = Resampler(rate)
    sound = np.concatenate([*(given for _, given in resampler.feed(raw)), resampler.finish()])
    return Checked(
        file=file,
        rate=rate,
        duration_sec=len(raw) / rate,
        places=places,
        midi=tuple(note.midi for note in asked),
        conditions=conditions(raw, rate),
        acquaintance=acquaint(sound, resampler.rate_out, asked),
    )


def to_play(neck: Neck) -> list[str]:
    """The list that a player follows, as lines."""
    lines = ["Play these, about one a second, and let each ring until the next:"]
    for string in STRINGS:
        frets = [place.fret for place in asked_places(neck) if place.string == string]
        times = frets.count(0)
        stopped = ", ".join(str(fret) for fret in frets if fret)
        name = note_name(neck.open_midi(string))
        lines.append(f"  string {string} ({name}): open {times} times, then frets {stopped}")
    lines.append("Keep still for a second before the first. A note that goes wrong does no harm: go on.")
    lines.append("Then: sevenfall soundcheck --instrument NAME; or record it: --from FILE --instrument NAME")
    return lines


def asked_json(neck: Neck) -> list[dict[str, int]]:
    """The same list for programs: string, fret, and pitch of each note in its order."""
    return [
        {"string": place.string, "fret": place.fret, "midi": note.midi}
        for place, note in zip(asked_places(neck), asked_notes(neck), strict=True)
    ]
