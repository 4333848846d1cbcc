"""How the open fifth string is brought to a pitch: by its peg, by a spike, or not at all.

The problem: the fifth string does not follow a capo. A peg raises it, and its stopped frets with it, but
breaks it where it goes too far; a spike holds it down and leaves its stopped frets where they are, but sits
at a few frets only.

Conventions: half steps are counted from where the tuning has the string.
"""

from __future__ import annotations

from routines.moving.names import string_name
from routines.neck import FIFTH_NUT, OPEN_TUNINGS, FifthString, Neck

PEG_MOST = 2
"""Half steps that a peg raises the fifth string by at most: from g to a."""

SPIKES = range(7, 11)
"""Real frets at which a banjo has spikes for the fifth string: from a to c."""


def raised(neck: Neck) -> int:
    """Return by how many half steps the open fifth string lies above its tuning; negative below."""
    return neck.fifth_string.open_midi - OPEN_TUNINGS[neck.tuning][0]


def spiked_at(half_steps: int) -> int | None:
    """Return the real fret of the spike that raises the fifth string so far; None where there is none."""
    fret = FIFTH_NUT + half_steps
    return fret if fret in SPIKES else None


def usual_neck(tuning: str, capo: int) -> Neck:
    """Return a neck whose fifth string goes along with the capo; where nothing does that, as it is tuned.

    Raises
    ------
    BadRoutine
        If there is no such tuning or capo.
    """
    neck = Neck(tuning=tuning, capo=capo)
    if not capo or spiked_at(capo) is not None:
        return neck
    tuned = OPEN_TUNINGS[tuning][0]
    there = FifthString(tuned + capo, "peg") if capo <= PEG_MOST else FifthString(tuned, "plain")
    return Neck(tuning=tuning, capo=capo, fifth=there)


def fifth_words(neck: Neck, *, stopped: bool = False) -> str:
    """Say what the open fifth string is and how it comes there.

    Parameters
    ----------
    neck : Neck
    stopped : bool
        Whether the lick stops it, so that peg and spike are not the same.
    """
    fifth, up = neck.fifth_string, raised(neck)
    name = string_name(fifth.open_midi)
    if not up:
        return f"fifth string at {name}, as it is tuned"
    if up < 0:
        return f"fifth string down to {name}, by its peg"
    fret = spiked_at(up)
    spike = f"a spike at fret {fret}"
    if fret is None or (stopped and fifth.how == "peg"):
        how = "its peg"
    elif stopped:
        how = f"{spike}, so that its stopped frets stay"
    elif up > PEG_MOST:
        how = spike
    else:
        how = f"its peg or {spike}" if fifth.how == "peg" else f"{spike} or its peg"
    return f"fifth string up to {name}, by {how}"
