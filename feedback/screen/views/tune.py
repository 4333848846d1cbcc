"""Tuning up as ink on tab: five string lines, a pitch as a nick beside the place where it should be.

The problem: whoever winds a peg looks up from two metres away and wants to know which string that is, which
way to wind, and when to stop. So it is drawn as the lane is: the lines are the strings, string 1 on top; the
number on each is the fret that is to be played, open or twelfth; the doubled now-line goes through all of
them, and here it means "in tune": its two lines stand as far apart as a string may be off. What was heard is
a nick of ink below its line, left where it is flat, right where it is sharp, with a line to where it has to
go. Near the now-line the scale is true to the cent, farther out it is pressed together.

Conventions: as everywhere under a capo the strings have the names of the shape; what sounds stands beside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from feedback.screen.furniture import MARGIN, heading, hint
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Shape, Sheet, Spot, Text
from feedback.screen.views.tune_words import CHOICES_HIGH, WORDS_HIGH, choice_row, words
from routines.pitch import note_name

if TYPE_CHECKING:
    from feedback.tuning import StringState
    from feedback.tuning_thread import TuneState
    from feedback.twelfth import TwelfthFound

IN_TUNE_CENTS = 2.0
"""The now-line's two lines stand so far left and right of true; a check of the twelfth fret takes 3."""

MOST_CENTS = 60.0
"""What is farther off stands at the end of its line, with a wedge that points beyond."""

_TRUE_CENTS = 3.0
_NEAR_CENTS, _NEAR_SHARE, _FAR_SHARE, _END_SHARE = 25.0, 0.62, 0.9, 0.95
_NAMES_WIDE = 222.0
_TOP = 158.0
_FEET = 34.0  # below the lowest line there is room for its nick


@dataclass(frozen=True, slots=True)
class Ruled:
    """Where the strings lie on a sheet.

    Attributes
    ----------
    left, right : float
        Ends of the lines.
    top, apart : float
        The first string's line, and from one to the next.
    bottom : float
        Where the strings end and the words begin.
    """

    left: float
    right: float
    top: float
    apart: float
    bottom: float

    @classmethod
    def of(cls, sheet: Sheet) -> Ruled:
        """The strings of a sheet."""
        bottom = sheet.high - CHOICES_HIGH - WORDS_HIGH
        return cls(
            MARGIN + _NAMES_WIDE, sheet.wide - MARGIN, _TOP, (bottom - _FEET - _TOP) / 4.0 - 2.0, bottom
        )

    @property
    def centre(self) -> float:
        """Where the now-line stands."""
        return (self.left + self.right) / 2.0

    def y(self, string: int) -> float:
        """Of a string's line."""
        return self.top + (string - 1) * self.apart

    def x(self, cents: float) -> float:
        """Where a pitch so many cents off stands: true to the cent up to 25, pressed together beyond."""
        off = abs(cents)
        if off <= _NEAR_CENTS:
            share = _NEAR_SHARE * off / _NEAR_CENTS
        elif off <= MOST_CENTS:
            far = (off - _NEAR_CENTS) / (MOST_CENTS - _NEAR_CENTS)
            share = _NEAR_SHARE + (_FAR_SHARE - _NEAR_SHARE) * far
        else:
            share = _END_SHARE
        return self.centre + (share if cents > 0.0 else -share) * (self.right - self.left) / 2.0


def tune_picture(state: TuneState, sheet: Sheet, focus: str) -> Picture:
    """Tuning up at a moment.

    Parameters
    ----------
    state : TuneState
    sheet : Sheet
    focus : str
        What has it.

    Returns
    -------
    Picture
        With spots "again", "tuning", "capo", "twelfth" and "back".
    """
    ruled = Ruled.of(sheet)
    marks = heading(sheet, "Tune", _about(state))
    marks += _scale(ruled, _TRUE_CENTS if state.twelfth else IN_TUNE_CENTS)
    for string in state.strings:
        marks += _string(state, string, ruled)
    marks += words(state, sheet, ruled.bottom)
    drawn, spots = choice_row(state, sheet, focus)
    marks += drawn
    marks.append(hint(sheet, "t  tuning     + and -  capo     f  twelfth fret     a  again     esc  back"))
    return Picture(sheet, tuple(marks), tuple[Spot, ...](spots))


def _about(state: TuneState) -> str:
    """What is tuned to."""
    capo = f"capo {state.neck.capo}" if state.neck.capo else "no capo"
    return f"{state.neck.tuning} · {capo}" + (" · twelfth fret" if state.twelfth else "")


def _scale(ruled: Ruled, true_cents: float) -> list[Mark]:
    """The now-line through all strings, and ruled lines to read how far off a nick is."""
    top, bottom = ruled.top - 44.0, ruled.bottom - 6.0
    marks: list[Mark] = []
    for cents in (10.0, 25.0):
        for way in (-1.0, 1.0):
            x = ruled.x(way * cents)
            marks.append(Line(points=((x, top), (x, bottom)), thick=1.5, ink="rule", dashed=True))
            marks.append(Text(x=x, y=top - 8.0, text=f"{cents:g}", ink="faint", anchor="center"))
    for way in (-1.0, 1.0):
        x = ruled.x(way * true_cents)
        marks.append(Line(points=((x, top), (x, bottom)), thick=4.0))
    y = top - 8.0
    marks.append(Text(x=ruled.centre, y=y, text="in tune" if true_cents < 3.0 else "true", anchor="center"))
    marks.append(Text(x=ruled.left, y=y, text="flat", ink="faint"))
    marks.append(Text(x=ruled.right, y=y, text="sharp", ink="faint", anchor="right"))
    return marks


def _string(state: TuneState, string: StringState, ruled: Ruled) -> list[Mark]:
    """One string: its name, its line, the fret to be played, what was heard of it."""
    large = string.string == _large(state)
    found = next((one for one in state.stopped if one.string == string.string), None)
    done = found is not None and found.true if state.twelfth else string.word == "in tune"
    y = ruled.y(string.string)
    ink = "landed" if done else "ink"
    marks = _name(state, string, y, ink, large=large)
    marks.append(
        Line(
            points=((ruled.left, y), (ruled.right, y)),
            thick=5.0 if done or found is not None else 2.0,
            ink="rule" if not done and found is None else ink,
        )
    )
    marks += _target(state, string, ruled, done=done, large=large)
    if state.twelfth:
        if found is not None:
            marks += _nick(found.cents, ruled, y, large=False, still=True, there=found.true)
            marks += _row_word(_twelfth_word(found), ruled, y, done=found.true)
        return marks
    sounds = large and state.now is not None
    heard = state.now if sounds and state.now is not None else string
    if heard.cents is not None:
        still = heard.steady if sounds else True
        there = string.word == "in tune" and (not sounds or abs(heard.cents) <= IN_TUNE_CENTS + 1.0)
        marks += _nick(heard.cents, ruled, y, large=large and state.sounds, still=still, there=there)
    if string.word != "not heard" and not large:
        marks += _row_word(string.word, ruled, y, done=done)
    return marks


def _large(state: TuneState) -> int:
    """The string that is set large: the one that sounds, or is asked for; 0 for none."""
    if state.phase not in ("listening", "over") or (state.done and not state.twelfth):
        return 0
    if state.twelfth:
        return state.asked[0] if state.asked is not None else 0
    return state.now.string if state.now is not None else 0


def _name(state: TuneState, string: StringState, y: float, ink: str, *, large: bool) -> list[Mark]:
    """Number and note of a string; under a capo the shape's, and beside it what sounds."""
    size = 50.0 if large else 34.0
    capo = state.neck.capo
    note = signed(note_name(string.midi - capo))
    text = f"{string.string}  {note.rstrip('0123456789') if capo else note}"
    at = y + 0.36 * size
    marks: list[Mark] = [Text(x=MARGIN, y=at, text=text, size=size, ink=ink, bold=True)]
    if capo:
        sounding = Text(
            x=MARGIN + _NAMES_WIDE - 16.0,
            y=y + 0.36 * READABLE,
            text=signed(string.note),
            ink="faint",
            anchor="right",
        )
        marks.append(sounding)
    return marks


def _target(state: TuneState, string: StringState, ruled: Ruled, *, done: bool, large: bool) -> list[Mark]:
    """The fret to be played, on the line and between the now-line's two, as in tab."""
    number = "0"
    if state.twelfth and state.asked != (string.string, "open"):
        number = "17" if string.string == 5 else "12"
    size = 38.0 if (large or done) and number == "0" else 32.0
    y = ruled.y(string.string)
    wide = width(number, size, True) + 6.0
    return [
        Box(x=ruled.centre - wide / 2.0, y=y - 0.4 * size, wide=wide, high=0.8 * size),
        Text(
            x=ruled.centre,
            y=y + 0.36 * size,
            text=number,
            size=size,
            ink="landed" if done else "ink" if large or state.twelfth else "faint",
            bold=done or large,
            anchor="center",
        ),
    ]


def _nick(cents: float, ruled: Ruled, y: float, *, large: bool, still: bool, there: bool) -> list[Mark]:
    """What was heard, below its line: solid where its pitch is still, open while it is not."""
    x = ruled.x(cents)
    wide, high = (12.0, 26.0) if large else (7.0, 18.0)
    top = y + 17.0
    marks: list[Mark] = []
    if not there:
        way = 1.0 if cents > 0.0 else -1.0
        edge = ruled.x(way * IN_TUNE_CENTS) + way * 4.0
        middle = top + high / 2.0
        marks.append(Line(points=((x, middle), (edge, middle)), thick=5.0 if large else 3.0, ink="astray"))
        if abs(cents) > MOST_CENTS:
            tip = x + way * 20.0
            wedge = ((x + way * 8.0, top), (tip, middle), (x + way * 8.0, top + high))
            marks.append(Shape(points=wedge, fill="astray"))
    ink = "landed" if there else "ink"
    box = Box(
        x=x - wide / 2.0,
        y=top,
        wide=wide,
        high=high,
        fill=ink if still else "paper",
        edge=ink,
        thick=3.0,
    )
    return [*marks, box]


def _row_word(text: str, ruled: Ruled, y: float, *, done: bool) -> list[Mark]:
    """How a string stands that does not sound now, at the end of its line."""
    wide = width(text, READABLE, done) + 8.0
    ink = "landed" if done else "ink"
    return [
        Box(x=ruled.right - wide, y=y - 34.0, wide=wide, high=28.0),
        Text(x=ruled.right, y=y - 9.0, text=text, ink=ink, bold=done, anchor="right"),
    ]


def _twelfth_word(found: TwelfthFound) -> str:
    if found.true:
        return "true"
    return f"{abs(found.cents):.0f} cents {'sharp' if found.cents > 0.0 else 'flat'}"
