"""What there is to say about the sevenths of a key: each that leads to one of its chords, and the chain home.

Under a capo the hand thinks in shapes: chords are named as they are shaped, and the key that sounds stands in
the first line. The JSON names what sounds.
"""

from __future__ import annotations

from itertools import pairwise

from feedback.chord_told import VERBS
from routines.chords import Chord, Tendency, seven_falls, third_moves
from routines.keys import Key, Lead, number_of
from routines.neck import Neck
from routines.pitch import usual_tone

CHAIN = 4
"""Sevenths of the chain that is told: from the fourth before home."""

_TOP_FRET = 12
_STEPS = {-2: " a whole step", -1: "", 1: ""}
_HEAD = ("number", "seventh", "leads to", "its flat seven", "its third", "the fall on the neck")


def key_as_json(key: Key) -> dict[str, object]:
    """Everything as it sounds."""
    return {
        "key": key.name,
        "sevenths": [
            {
                "number": lead.number,
                "symbol": lead.chord.symbol,
                "to": lead.target.symbol,
                "to_number": lead.target_number,
                "tendencies": [
                    {"from": str(m.from_tone), "to": str(m.to_tone), "semitones": m.half_steps}
                    for m in (lead.third, lead.seven)
                    if m is not None
                ],
            }
            for lead in key.leads
        ],
        "chain": [chord.symbol for chord in key.chain(CHAIN)],
    }


def key_as_text(key: Key, neck: Neck) -> list[str]:
    """The page: a row for each seventh that leads somewhere in the key, then the chain."""
    shape = Key(usual_tone(key.tonic.pitch_class - neck.capo), key.minor) if neck.capo else key
    capo = f". With capo {neck.capo} it is held as {shape.name}, named below" if neck.capo else ""
    rows = [_HEAD, *(_row(lead, neck) for lead in shape.leads)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEAD))]
    table = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in rows]
    first, *rest = table
    return [
        f"The sevenths of {key.name} (numbers count on the major scale of {key.tonic}){capo}:",
        "",
        f"  {first}",
        *(f"  {line}" for line in rest),
        "",
        *_chain(shape),
        *_in_flats(shape),
        "String/fret to fret 12; sevenfall chord D7 tells all places of one chord.",
    ]


def _row(lead: Lead, neck: Neck) -> tuple[str, ...]:
    return (
        lead.number,
        lead.chord.symbol,
        f"{lead.target_number} ({lead.target.symbol})",
        _goes(lead.seven),
        _goes(lead.third) if lead.third is not None else "",
        "  ".join(falls_on(neck, lead.seven)),
    )


def falls_on(neck: Neck, move: Tendency) -> list[str]:
    """Where on a neck a guide tone goes where it wants to, on the same string, as string/fret."""
    sounding = (move.from_tone.pitch_class + neck.capo) % 12
    pairs = neck.moves(sounding, move.half_steps, top_fret=_TOP_FRET)
    return [f"{here}-{there}" for here, there in pairs if here.string == there.string != 5]


def _goes(move: Tendency) -> str:
    return f"{move.from_tone} {VERBS[move.half_steps]}{_STEPS[move.half_steps]} to {move.to_tone}"


def _in_flats(key: Key) -> list[str]:
    """Where a key in sharps needs double ones: the same key in flats."""
    wide = any(
        abs(tone.alter) > 1 for chord in (*key.chain(CHAIN), *_sevenths(key)) for _, tone in chord.tones
    )
    if key.tonic.alter < 1 or not wide:
        return []
    flat = Key(key.tonic.up(1, 0), key.minor).name
    return [f"The same in flats: sevenfall chord --key {flat}."]


def _sevenths(key: Key) -> list[Chord]:
    return [lead.chord for lead in key.leads]


def _chain(key: Key) -> list[str]:
    chords = key.chain(CHAIN)
    numbers = " ".join(number_of(chord, key.tonic) for chord in chords)
    lines = [f"A chain of sevenths: {' '.join(chord.symbol for chord in chords)} ({numbers})"]
    return [*lines, *(f"  {_pair(here, there)}" for here, there in pairwise(chords)), ""]


def _pair(here: Chord, there: Chord) -> str:
    moves = [move for move in (seven_falls(here, there), third_moves(here, there)) if move is not None]
    return f"{here.symbol}-{there.symbol}: {', '.join(_goes(move) for move in moves)}"
