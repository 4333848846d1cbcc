"""Changes as players type them, turned into chord spans: ``G . (C D7) G``.

Conventions: one token a bar. ``.`` lets the chord go on; a bracket splits its bar into equal parts that begin
on beats (two or four in 2/2, three in 3/4); ``N.C.`` is a bar without a chord. With a key, a chord may be a
number, counted on the major scale: ``1 4 57 1`` in G is G C D7 G, ``17`` is one-seven (G7), ``6m`` is Em and
``b7`` is F. Letters and numbers may be mixed. Neighbours with the same chord make one span, so that the end
of a span is a change.
"""

from __future__ import annotations

import re

from routines.chords import Chord, ChordSpan
from routines.errors import BadRoutine
from routines.keys import Key, is_number, numbered
from routines.lick import QUARTERS_A_BAR
from routines.pitch import Tone

_TOKEN = re.compile(r"\([^()]*\)|[^\s()]+|[()]")
_NO_CHORD = frozenset({"N.C.", "NC"})
_GOES_ON = "."
_PARTS = {"2/2": (2, 4), "3/4": (3,)}
"""Into how many equal parts a bar may be split, so that each begins on a beat."""


def parse_changes(text: str, *, key: str | None = None, meter: str = "2/2") -> tuple[ChordSpan, ...]:
    """Read changes.

    Parameters
    ----------
    text : str
        One token a bar, parted by blanks.
    key : str or None
        The key that numbers are counted in, such as ``G``, ``Bb`` or ``Em``: in minor, too, on the major
        scale of its tonic, so that Em is ``1m``.
    meter : str
        A key of `routines.lick.QUARTERS_A_BAR`.

    Returns
    -------
    tuple of ChordSpan
        In order and without gaps from the downbeat of bar 1 to the end of the last bar.

    Raises
    ------
    BadRoutine
        If the text is empty or a token cannot be read: the message names the bar, counted from 1, and what is
        accepted. Also for an unknown key or meter.
    """
    if meter not in QUARTERS_A_BAR:
        raise BadRoutine(f"no meter {meter!r}: accepted are {' '.join(QUARTERS_A_BAR)}")
    tonic = None if key is None else Key.parse(key).tonic
    bars = _TOKEN.findall(text)
    if not bars:
        raise BadRoutine("no changes: accepted is one chord a bar, such as 'G . (C D7) G'")
    spans: list[ChordSpan] = []
    for number, bar in enumerate(bars, start=1):
        parts = _parts(bar, number, meter)
        part_quarters = QUARTERS_A_BAR[meter] / len(parts)
        for i, token in enumerate(parts):
            start_quarters = (number - 1) * QUARTERS_A_BAR[meter] + i * part_quarters
            chord = _chord(token, number, tonic, spans)
            if spans and spans[-1].chord == chord:
                start_quarters = spans.pop().start_quarters
            end_quarters = (number - 1) * QUARTERS_A_BAR[meter] + (i + 1) * part_quarters
            spans.append(ChordSpan(start_quarters, end_quarters, chord))
    return tuple(spans)


def _parts(bar: str, number: int, meter: str) -> list[str]:
    """The tokens within one bar."""
    if bar in ("(", ")"):
        raise BadRoutine(
            f"bar {number}: a lone {bar!r}: accepted is a bracket around one bar, such as (C D7)"
        )
    if not bar.startswith("("):
        return [bar]
    parts = bar[1:-1].split()
    if len(parts) not in _PARTS[meter]:
        accepted = " or ".join(str(n) for n in _PARTS[meter])
        raise BadRoutine(
            f"bar {number}: {bar} has {len(parts)} parts: accepted are {accepted} in {meter}, "
            "where '.' lets a chord go on"
        )
    return parts


def _chord(token: str, number: int, tonic: Tone | None, before: list[ChordSpan]) -> Chord | None:
    if token == _GOES_ON:
        if not before:
            raise BadRoutine(f"bar {number}: '.' has no chord before it: accepted first is a chord or N.C.")
        return before[-1].chord
    if token in _NO_CHORD:
        return None
    number_typed = is_number(token)
    if number_typed and tonic is None:
        raise BadRoutine(
            f"bar {number}: {token!r} is a number, and numbers need a key: accepted without one are letters"
        )
    try:
        return numbered(token, tonic) if number_typed and tonic is not None else Chord.parse(token)
    except BadRoutine as error:
        also = "" if tonic is None or number_typed else "; or a number 1 to 7 in the place of the letter"
        raise BadRoutine(f"bar {number}: {error}{also}") from error
