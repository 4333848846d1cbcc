"""What helps against what befell a guide tone, by how it is played.

The problem: one failure has as many remedies as there are ways to play the note. A late open string waits
for the picking finger, a late fretted one for the other hand; a slur that comes late is not to be set down
sooner, which would make it early. So there is a row for each way; where those that failed differ in their
way, only what holds for all of them is said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from feedback.warmup_told import Guide

FINGERS: Mapping[str, str] = MappingProxyType({"T": "thumb", "I": "index", "M": "middle finger"})

_PICKED = MappingProxyType(
    {
        "silent": "let {place} speak before you go on",
        "wrong": "look for {place} before you play it",
        "swallowed": "strike {place} harder than the notes around it",
        "amiss": "play it alone, slowly, then in its bar",
        "early": "wait for it",
        "late": "have the finger down before the pick comes",
        "uneven": "count the eighths of that bar aloud",
        "hanging": "play {change} alone, four times",
        "fell late": "be there with the new chord",
        "fell early": "let it have its length",
        "fell uneven": "count the eighths of that change aloud",
        "unclear": "strike {place} harder, or come closer",
    }
)
"""How a guide tone failed to what helps, whatever the way of it."""

_OPEN = MappingProxyType(
    {"late": "the {finger} goes to it sooner", "wrong": "look which string the {finger} goes to, {place}"}
)
_SLURRED = MappingProxyType(
    {
        "silent": "let the left hand bring it as loud as a pick",
        "swallowed": "let the left hand bring it as loud as a pick",
        "wrong": "look for the fret",
        "early": "let the note before it have its whole length",
        "late": "let the left hand move on the eighth, not after it",
    }
)
_SLURS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "hammer": MappingProxyType(
            {
                "silent": "drop the finger from higher, close behind the fret",
                "swallowed": "drop the finger from higher, close behind the fret",
                "wrong": "look for the fret, {place}",
                "late": "drop the finger on the eighth, not after it",
            }
        ),
        "pull": MappingProxyType(
            {
                "silent": "pluck the string aside as the finger leaves it",
                "swallowed": "pluck the string aside as the finger leaves it",
                "wrong": "look for the fret of the lower finger, {place}",
                "early": "keep the upper finger down for its whole eighth",
                "late": "let the finger leave on the eighth, not after it",
            }
        ),
        "slide": MappingProxyType(
            {
                "silent": "press all the way to the fret",
                "swallowed": "press all the way to the fret",
                "wrong": "look for the fret, {place}",
                "early": "stay where the slide begins for the whole eighth",
                "late": "set out sooner, so that you arrive on the eighth",
            }
        ),
        "choke": MappingProxyType(
            {
                "silent": "keep the string down while you push",
                "swallowed": "strike {place} harder, then push",
                "wrong": "push until the ear says {name}, no less and no farther",
                "late": "pick on the eighth, and push at once",
            }
        ),
    }
)


def remedy(way: str, guides: Sequence[Guide]) -> str:
    """What helps those that failed in one way, with braces for names.

    Parameters
    ----------
    way : str
        How they failed.
    guides : sequence of Guide
        One at least.
    """
    techniques = {guide.note.technique for guide in guides}
    rows: list[Mapping[str, str]] = [_PICKED]
    if techniques <= set(_SLURS):
        rows = [_SLURRED, _PICKED]
        if len(techniques) == 1:
            rows = [_SLURS[guides[0].note.technique], *rows]
    elif techniques == {"pick"} and len({guide.note.finger for guide in guides}) == 1:
        is_open = all(guide.note.fret == 0 for guide in guides)
        rows = [_OPEN, _PICKED] if is_open else rows
    return next(row[way] for row in rows if way in row)
