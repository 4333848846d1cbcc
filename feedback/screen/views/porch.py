"""The porch: the name, who plays, what can be done, and the usual caution.

The name stands on the picture that the program is about: a ledge that slopes down a half step, its first
syllables on the upper level, the last on the lower one, and under it the third's ledge that rises. The tones
on the ledges are those of the lick that is offered, as the hand shapes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedback.screen.furniture import MARGIN, choice, paragraph
from feedback.screen.lettering import fitted, signed, width, wrapped
from feedback.screen.marks import READABLE, Mark, Picture, Shape, Sheet, Spot, Text
from feedback.words import tone_name
from routines.chords import Chord
from routines.lick import Ask, Lick
from routines.tempo import tempo_words

CAUTION = (
    "Rest five minutes in thirty. Never play through pain: see a clinician. "
    "Keep headphones below about 80 dBA for 40 hours a week."
)
"""What stands on the porch."""

CHOICES = ("licks", "warm-up", "tune", "sound check", "progress", "neck and chord", "settings")
"""What can be opened beside playing along; each does "open NAME"."""

LEAVE = "leave"
"""The last of the choices: it closes the window."""

_NAME = ("Seven", "fall")
_NAME_SIZE = 120.0
_BASE = 118.0  # of the name's upper part
_STEP = 40.0
_RISE = 20.0
_THICK = 38.0
_BETWEEN = 68.0  # from the seven's ledge down to the third's, before the change
_SLOPE = 34.0
_ONE_ROW = 1700.0
_FIRST_ROW = 4  # of the choices, where they stand in two
_WORD, _PAD = 32.0, 34.0  # the size of a choice, and what it needs beside its words
_PLAYS = {"mic": "You play, at the microphone.", "sim": "The simulated player plays."}
_FUNCTIONS = {"root": "root", "third": "3rd", "fifth": "5th", "seven": "♭7"}
_PLAY_HIGH, _HIGH, _GAP = 96.0, 64.0, 14.0
_FOOT = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PorchState:
    """What the porch shows.

    Attributes
    ----------
    lick : Lick
        The one that is offered.
    tempo_half_bpm : float
    source : str
        Who plays: "mic" or "sim".
    """

    lick: Lick
    tempo_half_bpm: float
    source: str = "mic"


def porch_picture(state: PorchState, sheet: Sheet, focus: str) -> Picture:
    """The porch.

    Parameters
    ----------
    state : PorchState
    sheet : Sheet
    focus : str
        What has the focus: "open play along", "open" with one of `CHOICES`, or `LEAVE`.
    """
    marks = _name(state.lick, sheet)
    drawn, spots = _choices(state, sheet, focus)
    caution, _ = paragraph(
        MARGIN, _caution_y(sheet), sheet.wide - 2 * MARGIN, CAUTION, size=READABLE, ink="faint"
    )
    marks += [*drawn, *caution]
    return Picture(sheet, tuple(marks), tuple(spots))


def _name(lick: Lick, sheet: Sheet) -> list[Mark]:
    """The name on its two ledges, and what they are."""
    ends = MARGIN + width(_NAME[0], _NAME_SIZE, True) + 18.0
    begins = ends - _SLOPE
    top = _BASE + 10.0
    third = top + _THICK + _BETWEEN
    marks: list[Mark] = [
        _ledge("seven", sheet.wide, (begins, ends), top, _STEP),
        _ledge("third", sheet.wide, (begins, ends), third, -_RISE),
        Text(x=MARGIN, y=_BASE, text=_NAME[0], size=_NAME_SIZE, bold=True),
        Text(x=ends, y=_BASE + _STEP, text=_NAME[1], size=_NAME_SIZE, bold=True),
    ]
    half, middle = 15.0, top + _THICK / 2
    seven, landing = begins - 2.2 * half, ends + 2.2 * half
    marks += [
        _triangle(seven, middle, half, down=True),
        _triangle(landing, middle + _STEP, half, down=False),
    ]
    for names, y, step, ink in (
        (_names(lick, lick.sevenths), top, _STEP, "seven"),
        (_names(lick, lick.thirds), third, -_RISE, "third"),
    ):
        if names is not None:
            base = y + _THICK / 2 + 0.36 * READABLE
            marks += [
                Text(x=MARGIN, y=base, text=names[0], on=ink, bold=True),
                Text(x=sheet.wide - MARGIN, y=base + step, text=names[1], on=ink, bold=True, anchor="right"),
            ]
    return marks


def _ledge(ink: str, wide: float, change: tuple[float, float], top: float, step: float) -> Shape:
    begins, ends = change
    upper = [(0.0, top), (begins, top), (ends, top + step), (wide, top + step)]
    return Shape(points=(*upper, *((x, y + _THICK) for x, y in reversed(upper))), fill=ink)


def _triangle(x: float, y: float, half: float, *, down: bool) -> Shape:
    """The flat seven's shape, or the third's."""
    tip = half if down else -half
    return Shape(
        points=((x - half, y - 0.8 * tip), (x + half, y - 0.8 * tip), (x, y + 0.9 * tip)), fill="ink"
    )


def _names(lick: Lick, asks: Sequence[Ask]) -> tuple[str, str] | None:
    """Where a guide tone leaves from and goes to, with what they are in their chords: "C  ♭7", "B  3rd"."""
    for ask in asks:
        if ask.due_midi is not None and ask.next_chord:
            one, other = Chord.parse(ask.chord), Chord.parse(ask.next_chord)
            return _named(lick, lick.notes[ask.note].midi, one), _named(lick, ask.due_midi, other)
    return None


def _named(lick: Lick, midi: int, chord: Chord) -> str:
    function = _FUNCTIONS.get(chord.function_of(midi) or "", "")
    return f"{signed(tone_name(lick, midi, chord))}  {function}".rstrip()


def _choices(state: PorchState, sheet: Sheet, focus: str) -> tuple[list[Mark], list[Spot]]:
    wide = sheet.wide - 2 * MARGIN
    y = _choices_y(sheet)
    who = Text(x=MARGIN, y=y - 20.0, text=_PLAYS.get(state.source, ""))
    marks, spot = _play_along(state, y, wide, focus)
    spots = [spot]
    y += _PLAY_HIGH + _GAP
    choices = (*CHOICES, LEAVE)
    rows = (choices,) if wide >= _ONE_ROW else (choices[:_FIRST_ROW], choices[_FIRST_ROW:])
    for row in rows:
        needs = [width(name, _WORD, True) + _PAD for name in row]
        spare = (wide - _GAP * (len(row) - 1) - sum(needs)) / len(row)
        x = MARGIN
        for name, need in zip(row, needs, strict=True):
            does = name if name == LEAVE else f"open {name}"
            drawn, spot = choice(x, y, need + spare, name, does, focus, high=_HIGH, size=_WORD)
            marks += drawn
            spots.append(spot)
            x += need + spare + _GAP
        y += _HIGH + _GAP
    return [who, *marks], spots


def _play_along(state: PorchState, y: float, wide: float, focus: str) -> tuple[list[Mark], Spot]:
    """The largest choice: what it is, and under it with which lick."""
    does = "open play along"
    marks, spot = choice(MARGIN, y, wide, "", does, focus, high=_PLAY_HIGH)
    ink, on = ("paper", "chosen") if focus == does else ("ink", "band")
    what = f"{state.lick.title}, {tempo_words(state.tempo_half_bpm)}"
    middle = MARGIN + wide / 2
    marks += [
        Text(x=middle, y=y + 44.0, text="play along", size=38.0, bold=True, ink=ink, on=on, anchor="center"),
        Text(x=middle, y=y + 80.0, text=fitted(what, READABLE, wide - 40.0), ink=ink, on=on, anchor="center"),
    ]
    return marks, replace(spot, says=f"play along: {what}")


def _lines(sheet: Sheet) -> int:
    return len(wrapped(CAUTION, READABLE, sheet.wide - 2 * MARGIN))


def _caution_y(sheet: Sheet) -> float:
    """Baseline of the caution's first line: its last one stands at the foot."""
    return sheet.high - _FOOT + 10.0 - 1.3 * READABLE * (_lines(sheet) - 1)


def _choices_y(sheet: Sheet) -> float:
    """The choices stand in the middle of the room between the name and the caution."""
    rows = 1 if sheet.wide - 2 * MARGIN >= _ONE_ROW else 2
    high = _PLAY_HIGH + rows * (_HIGH + _GAP)
    top = _BASE + 2 * _THICK + _BETWEEN + 64.0
    room = _caution_y(sheet) - READABLE - top - high
    return top + max(0.0, 0.45 * room)
