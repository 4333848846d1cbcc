"""What the tuner says in its fixed place below the strings, and what can be chosen there.

One thing is said at a time, the most urgent first: what was wrong, that a string would break, that all is in
tune, what is asked for, and only then up or down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from feedback.screen.furniture import MARGIN, choice, paragraph
from feedback.screen.lettering import signed, width
from feedback.screen.marks import Box, Mark, Sheet, Spot, Text
from feedback.words import counted
from routines.pitch import note_name

if TYPE_CHECKING:
    from feedback.tuning import StringState
    from feedback.tuning_thread import TuneState
    from feedback.twelfth import TwelfthFound

CHOICES_HIGH = 116.0
"""Room for the choices and the hint at the foot of a sheet."""

WORDS_HIGH = 176.0
"""Room for the words above the choices."""

INVITES = "pluck one string at a time, and let it ring"
"""Said before anything was heard."""

_LEAST_CENTS = 0.5
_HUGE, _BIG, _PLAIN = 84.0, 44.0, 32.0
_SMALLER = (44.0, 38.0, 34.0)
_BREAKS = "strings break: "
_GAP, _PAD = 14.0, 34.0


def words(state: TuneState, sheet: Sheet, top: float) -> list[Mark]:
    """What is said now.

    Parameters
    ----------
    state : TuneState
    sheet : Sheet
    top : float
        Where its place begins; it is `WORDS_HIGH` high.
    """
    warning = _warning(state)
    if state.news:
        marks = _said(sheet, top, _news_title(state), state.news, ink="astray", size=_SMALLER[-1])
    elif warning:
        marks = _warned(sheet, top, warning)
    elif state.phase == "opening":
        marks = _said(sheet, top, "one moment", "the microphone is opened")
    elif state.twelfth:
        marks = _twelfth(state, sheet, top)
    elif state.done:
        marks = _said(sheet, top, "all five are in tune", "", ink="landed", size=_HUGE * 0.85)
    elif state.ended == "nobody plays":
        marks = _said(sheet, top, "no string was heard for a minute", "once more, when you are ready")
    elif state.now is None:
        marks = _said(sheet, top, INVITES, "")
    else:
        marks = _which_way(state, state.now, sheet, top)
    return marks


def choice_row(state: TuneState, sheet: Sheet, focus: str) -> tuple[list[Mark], list[Spot]]:
    """What can be chosen, side by side, each as wide as its words need."""
    capo = f"capo {state.neck.capo}" if state.neck.capo else "no capo"
    rows = [
        ("try again" if state.phase == "failed" else "once more", "again"),
        (state.neck.tuning, "tuning"),
        (capo, "capo"),
        ("tune up" if state.twelfth else "fret 12", "twelfth"),
        ("back", "back"),
    ]
    size = READ
    needs = [width(text, size, True) + _PAD for text, _ in rows]
    spare = (sheet.wide - 2 * MARGIN - sum(needs) - _GAP * (len(rows) - 1)) / len(rows)
    marks: list[Mark] = []
    spots: list[Spot] = []
    x, y = MARGIN, sheet.high - CHOICES_HIGH
    for (text, does), need in zip(rows, needs, strict=True):
        drawn, spot = choice(x, y, need + spare, text, does, focus, size=size)
        marks += drawn
        spots.append(spot)
        x += need + spare + _GAP
    return marks, spots


READ = 28.0
"""Size of what can be chosen: five have to stand side by side on the narrowest sheet."""


def _warning(state: TuneState) -> str:
    """What is to be said before a string is wound; empty where none would break."""
    if state.phase == "over" or state.twelfth:
        return ""
    if state.now is not None:
        return state.now.warning
    return state.warnings[0] if state.warnings else ""


def _warned(sheet: Sheet, top: float, warning: str) -> list[Mark]:
    """A warning, in a doubled frame that nothing else here has."""
    doubt, breaks, rest = warning.partition(_BREAKS)
    which = doubt.removeprefix("or ").removesuffix(" then ")
    title = breaks + which if which else breaks.removesuffix(": ")
    wide = sheet.wide - 2 * MARGIN
    x, high = MARGIN + 28.0, WORDS_HIGH - 6.0
    marks: list[Mark] = [
        Box(x=MARGIN, y=top + 2.0, wide=wide, high=high, fill="band", edge="astray", thick=6.0),
        Box(
            x=MARGIN + 9.0,
            y=top + 11.0,
            wide=wide - 18.0,
            high=high - 18.0,
            fill="",
            edge="astray",
        ),
        Text(x=x, y=top + 48.0, text=title, size=_SMALLER[1], ink="astray", on="band", bold=True),
    ]
    lines, _ = paragraph(x, top + 84.0, wide - 56.0, rest, size=READ, on="band", most=3)
    return marks + lines


def _news_title(state: TuneState) -> str:
    return "no sound" if state.phase != "failed" else "it cannot go on"


def _said(
    sheet: Sheet, top: float, title: str, rest: str, *, ink: str = "ink", size: float = _BIG
) -> list[Mark]:
    """A line, smaller or broken in two where it is long, and below it what there is to add."""
    wide = sheet.wide - 2 * MARGIN
    size = next((one for one in (size, *_SMALLER) if width(title, one, True) <= wide), _SMALLER[-1])
    baseline = top + (10.0 if rest else 30.0) + 0.75 * size
    marks, below = paragraph(MARGIN, baseline, wide, title, size=size, ink=ink, bold=True, most=2)
    if rest:
        lines, _ = paragraph(MARGIN, below, wide, rest, size=READ, most=4 - len(marks))
        marks += lines
    return marks


def _which_way(state: TuneState, now: StringState, sheet: Sheet, top: float) -> list[Mark]:
    """The string that sounds, and which way it has to go."""
    note = now.note if not state.neck.capo else note_name(now.midi - state.neck.capo).rstrip("0123456789")
    baseline = top + 96.0
    name = signed(f"{now.string}  {note}")
    ink = "landed" if now.word == "in tune" else "ink"
    marks: list[Mark] = [Text(x=MARGIN, y=baseline, text=name, size=_HUGE * 0.75, ink=ink, bold=True)]
    x = MARGIN + max(222.0, width(name, _HUGE * 0.75, True) + 30.0)
    if now.word == "not heard":
        return [*marks, Text(x=x, y=baseline, text="let it ring", size=_BIG)]
    marks.append(Text(x=x, y=baseline, text=now.word, size=_HUGE, ink=ink, bold=True))
    marks.append(
        Text(
            x=x + width(now.word, _HUGE, True) + 36.0,
            y=baseline,
            text=off_words(now.cents or 0.0),
            size=_PLAIN + 4.0,
        )
    )
    return marks


def off_words(cents: float) -> str:
    """How far off, in words: "14 cents flat"."""
    if abs(cents) < _LEAST_CENTS:
        return "true"
    return f"{counted(round(abs(cents)), 'cent')} {'sharp' if cents > 0.0 else 'flat'}"


def _twelfth(state: TuneState, sheet: Sheet, top: float) -> list[Mark]:
    """What the check of the twelfth fret asks for; at its end, where the bridge has to go."""
    if state.asked is None:
        return _said(sheet, top, *bridge_words(state.stopped))
    last = "each string open, then at the twelfth fret: an octave?"
    if state.stopped:
        one = state.stopped[-1]
        last = f"string {one.string}: " + ("true" if one.true else f"bridge {_moved(one)}")
    return _said(sheet, top, f"play {state.prompt}", last)


def _moved(one: TwelfthFound) -> str:
    """How far the bridge would go, and which way."""
    return f"{abs(one.bridge_mm):.1f} mm toward the {'tailpiece' if one.bridge_mm > 0.0 else 'neck'}"


def bridge_words(found: tuple[TwelfthFound, ...]) -> tuple[str, str]:
    """What the check of the twelfth fret came to, and what there is to add."""
    ways: dict[str, list[TwelfthFound]] = {"tailpiece": [], "neck": []}
    for one in found:
        if not one.true:
            ways["tailpiece" if one.bridge_mm > 0.0 else "neck"].append(one)
    said = [
        f"toward the {way}: " + ", ".join(f"string {one.string} {abs(one.bridge_mm):.1f} mm" for one in ones)
        for way, ones in ways.items()
        if ones
    ]
    if not said:
        return "true at the twelfth fret: the bridge stands right", ""
    if len(said) == 2:
        return "the bridge would have to go both ways", "; ".join(said)
    return f"the bridge has to go {said[0].partition(':')[0]}", said[0].partition(": ")[2]
