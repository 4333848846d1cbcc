"""Checks of the hands: what no hand plays at the lick's top tempo, whatever the notes say.

The best way for both hands is found by `routines.hand`; the checks here look at what is written: the
strings that the tab gives to a finger, notes on one string at once, slurs that come too quick.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations

from routines.checker.places import EIGHTH_QUARTERS, bar_of, told, where
from routines.hand.playing import hands
from routines.hand.wanted import Played
from routines.lick import SLURS, Lick

QUICK_HALF_BPM = 120.0
"""Above this at most two slurs a bar, and no hammer-on or pull-off inside its eighth."""

SLIDES_HALF_BPM = 150.0
"""From here on no slide inside its eighth either."""

_SLURS_A_BAR = 2
_OUT_OF_REACH = {("M", 4), ("M", 5), ("I", 5), ("T", 1)}


@lru_cache(maxsize=1)
def played(lick: Lick) -> Played:
    """Return the best way for both hands, kept for the lick that was asked about last."""
    return hands(lick)


def playable(lick: Lick) -> Iterator[str]:
    """Both hands can play it at its top tempo."""
    for trouble in played(lick).troubles:
        yield f"{where(lick, trouble.onset_quarters)}: {trouble.words}"


def at_once(lick: Lick) -> Iterator[str]:
    """Notes of one onset lie on different strings."""
    for one, other in combinations(lick.notes, 2):
        if one.onset_quarters == other.onset_quarters and one.string == other.string:
            yield f"{told(lick, other)} is on the string of another note there: accepted is one a string"


def fingers(lick: Lick) -> Iterator[str]:
    """Each finger stays on the strings that it can reach without turning the hand."""
    for note in lick.notes:
        if (note.finger, note.string) in _OUT_OF_REACH:
            yield f"{told(lick, note)}: {note.finger} on string {note.string}: accepted is a nearer finger"


def slurs(lick: Lick) -> Iterator[str]:
    """At most two slurs a bar when it is quick."""
    if lick.top_tempo_half_bpm <= QUICK_HALF_BPM:
        return
    counted = Counter(bar_of(lick, note.onset_quarters) for note in lick.notes if note.technique in SLURS)
    for bar, number in sorted(counted.items()):
        if number > _SLURS_A_BAR:
            yield (
                f"bar {bar} has {number} slurs at {lick.top_tempo_half_bpm:g}: accepted are {_SLURS_A_BAR} a "
                f"bar above {QUICK_HALF_BPM:g}"
            )


def slurs_inside(lick: Lick) -> Iterator[str]:
    """No slur inside its eighth when it is quick; a slide may be a little quicker."""
    top = lick.top_tempo_half_bpm
    for note in lick.notes:
        inside = note.onset_quarters % EIGHTH_QUARTERS != 0.0
        if inside and top > QUICK_HALF_BPM:
            yield (
                f"{told(lick, note)}: a slur inside its eighth at {top:g}: accepted is up to "
                f"{QUICK_HALF_BPM:g}"
            )
        if note.technique == "slide" and note.picked and top >= SLIDES_HALF_BPM:
            yield (
                f"{told(lick, note)}: a slide inside its eighth at {top:g}: accepted is below "
                f"{SLIDES_HALF_BPM:g}"
            )
