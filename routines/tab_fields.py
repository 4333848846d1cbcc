"""The rows of a lick text's header: what each name accepts, and what is read where it is left out.

A new line of the header is a row of `FIELDS`, a field of `tab_header.Header`, and a value in
`tab_header.header_lines`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, get_args

from routines.chords import Chord
from routines.lick import QUARTERS_A_BAR, Hand, Kind, Use
from routines.neck import OPEN_TUNINGS
from routines.tempo import parse_tempo

COLUMNS_LEAST, COLUMNS_MOST = 2, 12
"""How many columns of text an eighth may take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One row of the header.

    Attributes
    ----------
    accepted : str
        What may be typed, for the error.
    read : callable
        From the typed text to the value; a ValueError where it cannot.
    default : str or None
        What is read where the line is left out; None where it may not be.
    """

    accepted: str
    read: Callable[[str], Any]
    default: str | None = None


def eighths_a_bar(meter: str) -> int:
    """Return how many eighths a bar of a meter (a key of `QUARTERS_A_BAR`) has."""
    return round(2 * QUARTERS_A_BAR[meter])


def _one_of(words: Sequence[str]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(text)
        return text

    return read


def _matched(pattern: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        found = re.fullmatch(pattern, text)
        if found is None:
            raise ValueError(text)
        return found[1]

    return read


def _number(pattern: str, least: int, most: int) -> Callable[[str], int]:
    match = _matched(pattern)

    def read(text: str) -> int:
        number = int(match(text))
        if not least <= number <= most:
            raise ValueError(text)
        return number

    return read


def _key(text: str) -> str:
    chord = Chord.parse(text)
    if chord.kind not in ("", "m"):
        raise ValueError(text)
    return chord.symbol


_KINDS, _METERS, _TUNINGS, _HANDS = get_args(Kind), tuple(QUARTERS_A_BAR), tuple(OPEN_TUNINGS), get_args(Hand)
_USES = get_args(Use)

FIELDS: Mapping[str, Field] = MappingProxyType(
    {
        "title": Field(accepted="the title of the lick", read=_matched(r"(.+)")),
        "key": Field(accepted="the key that sounds, such as G, Bb or Em", read=_key),
        "kind": Field(accepted=" or ".join(_KINDS), read=_one_of(_KINDS), default="lick"),
        "use": Field(accepted=" or ".join(_USES[1:]), read=_one_of(_USES), default=""),
        "meter": Field(accepted=" or ".join(_METERS), read=_one_of(_METERS), default="2/2"),
        "grid": Field(
            accepted=f"{COLUMNS_LEAST} to {COLUMNS_MOST}, such as: 3 columns an eighth",
            read=_number(r"([0-9]{1,2}) columns an eighth", COLUMNS_LEAST, COLUMNS_MOST),
        ),
        "pickup": Field(
            accepted="eighths, fewer than a bar has, such as: 3 eighths",
            read=_number(r"([0-9]{1,2}) eighths?", 0, eighths_a_bar("2/2") - 1),
            default="0 eighths",
        ),
        "tuning": Field(accepted=" or ".join(_TUNINGS), read=_one_of(_TUNINGS), default="gDGBD"),
        "capo": Field(
            accepted="the fret of the capo, 0 to 12", read=_number(r"([0-9]{1,2})", 0, 12), default="0"
        ),
        "fifth": Field(
            accepted="how the fifth string is set, such as: peg a, or spike 7 (a fret), or plain (as tuned)",
            read=_matched(r"(peg [a-g][#b♯♭]?|spike [0-9]{1,2}|plain|)"),
            default="",
        ),
        "hand": Field(accepted=" or ".join(_HANDS), read=_one_of(_HANDS)),
        "top": Field(accepted="the tempo to grow to, in half notes a minute, such as: 110", read=parse_tempo),
        "trains": Field(accepted="one sentence: what the lick is good for", read=_matched(r"(.+)")),
    }
)
"""Header name to what it accepts, in the order in which they are written."""
