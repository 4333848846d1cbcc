"""How notes and places of a lick are named to a player: spelled by their chord, counted in eighths.

Under a capo the names are those of the shape, as the hand and the tab have them; the key that sounds stands
in the heading.
"""

from __future__ import annotations

from feedback.grid import EIGHTH_QUARTERS
from routines.chords import Chord
from routines.lick import Lick, quarter_sec
from routines.pitch import note_name
from routines.shapes import shaped

VERDICT_WORDS = {
    "landed": "landed",
    "early": "early",
    "late": "late",
    "wrong": "wrong note",
    "missed": "not heard",
    "unclear": "unclear",
}
"""What screens and reports call a note's verdict."""

RESOLUTION_WORDS = {
    "resolved": "resolved",
    "ahead": "ahead",
    "late": "late",
    "octave": "in another octave",
    "hanging": "left hanging",
    "unclear": "unclear",
    "none": "",
}
"""What they call a resolution."""

_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight")


def chord_at(lick: Lick, quarters: float) -> Chord | None:
    """The chord of the moment; None outside the lick or where no chord is written."""
    for span in lick.chords:
        if span.start_quarters <= quarters < span.end_quarters:
            return span.chord
    return None


def chord_name(lick: Lick, symbol: str) -> str:
    """A sounding chord as the hand shapes it under the lick's capo."""
    return shaped(Chord.parse(symbol), lick.neck.capo).symbol


def pitch_name(lick: Lick, midi: int, chord: Chord | None = None) -> str:
    """A pitch as the hand shapes it, spelled by a chord that holds it, else as is usual on the banjo.

    Parameters
    ----------
    lick : Lick
        Its capo is taken off.
    midi : int
        Sounding pitch.
    chord : Chord, optional
        As it sounds.

    Returns
    -------
    str
        Such as "F#4".
    """
    function = chord.function_of(midi) if chord is not None else None
    shape = midi - lick.neck.capo
    if chord is None or function is None:
        return note_name(shape)
    return note_name(shape, shaped(chord, lick.neck.capo).tone(function))


def tone_name(lick: Lick, midi: int, chord: Chord | None = None) -> str:
    """The same without its octave: "F#"."""
    return pitch_name(lick, midi, chord).rstrip("-0123456789")


def target_name(lick: Lick, index: int) -> str:
    """A target's tone, spelled by its chord."""
    note = lick.notes[index]
    return tone_name(lick, note.midi, chord_at(lick, note.onset_quarters))


def place_words(lick: Lick, quarters: float) -> str:
    """A place of the lick in words: "eighth 3 of bar 1", "the downbeat of bar 2", "the pickup"."""
    if quarters < 0:
        return "the pickup"
    bar, within = divmod(quarters, lick.quarters_a_bar)
    eighth, half = divmod(within / EIGHTH_QUARTERS, 1.0)
    if within == 0:
        return f"the downbeat of bar {int(bar) + 1}"
    number = (
        "the last eighth" if within + EIGHTH_QUARTERS >= lick.quarters_a_bar else f"eighth {int(eighth) + 1}"
    )
    return f"{'the second half of ' if half else ''}{number} of bar {int(bar) + 1}"


def at_words(lick: Lick, quarters: float) -> str:
    """The same with its preposition: "on the downbeat of bar 2", "in the pickup"."""
    return f"{'in' if quarters < 0 else 'on'} {place_words(lick, quarters)}"


def late_words(late_ms: float, tempo_half_bpm: float) -> str:
    """How late a note came: "two eighths late"; "late by 23 ms" where that is less than half an eighth."""
    eighth_ms = 500.0 * quarter_sec(tempo_half_bpm)
    eighths = round(late_ms / eighth_ms)
    if eighths < 1:
        return f"late by {late_ms:.0f} ms"
    number = _NUMBERS[eighths - 1] if eighths <= len(_NUMBERS) else str(eighths)
    return f"{number} {'eighth' if eighths == 1 else 'eighths'} late"


def counted(number: int, singular: str, plural: str | None = None) -> str:
    """A number with its noun: "1 seven", "3 sevens"."""
    return f"{number} {singular if number == 1 else plural or singular + 's'}"
