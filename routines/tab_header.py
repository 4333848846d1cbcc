"""The header of a lick text: one `name: value` a line, read into values and written back.

Errors name the line and the column of the value; a name that is unknown is answered with the nearest known
one. `routines.tab_fields` holds the names and what they accept.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from routines.errors import BadLickText, BadRoutine
from routines.lick import Hand, Kind, Lick, Use
from routines.neck import FIFTH_NUT, OPEN_TUNINGS, FifthString, Neck
from routines.pitch import Tone, usual_tone
from routines.tab_fields import FIELDS, eighths_a_bar

_FIFTH_DOWN_MOST = 5
"""A peg lowers the fifth string by so many half steps at most; with that, a name has one octave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What stands above the tab.

    Attributes
    ----------
    columns : int
        Columns of text that an eighth takes.
    pickup_eighths : int
        Eighths before bar 1; fewer than a bar has.
    title, key, kind, use, meter, neck, hand, top_tempo_half_bpm, trains
        As in `routines.lick.Lick`.
    """

    title: str
    key: str
    kind: Kind
    use: Use
    meter: str
    columns: int
    pickup_eighths: int
    neck: Neck
    hand: Hand
    top_tempo_half_bpm: float
    trains: str

    @property
    def eighths_a_bar(self) -> int:
        """Eighths in a full bar."""
        return eighths_a_bar(self.meter)


@dataclass(frozen=True, slots=True)
class _Typed:
    """Header lines as typed, to be read and refused at their place."""

    file: str
    end_line: int
    lines: Mapping[str, tuple[str, int, int]]

    def refusal(self, name: str, why: str = "") -> BadLickText:
        text, line, column = self.lines.get(name, ("", self.end_line, 1))
        accepted = f"{name} {text!r}: accepted is {FIELDS[name].accepted}"
        return BadLickText(self.file, line, column, why or accepted)

    def read(self, name: str) -> Any:
        field = FIELDS[name]
        if name not in self.lines and field.default is None:
            why = f"the header has no {name!r} line; accepted is {field.accepted}"
            raise BadLickText(self.file, self.end_line, 1, why)
        try:
            return field.read(self.lines[name][0] if name in self.lines else field.default or "")
        except ValueError as error:
            raise self.refusal(name) from error


def read_header(lines: Sequence[str], first_line: int, file: str) -> Header:
    """Read the lines above the first blank line.

    Parameters
    ----------
    lines : sequence of str
    first_line : int
        Number of the first of them in the file, counted from 1.
    file : str
        For the errors.

    Raises
    ------
    BadLickText
        At the line and column of what cannot be read; for a line that is missing, at the line after the
        header.
    """
    typed = _typed(lines, first_line, file)
    values = {name: typed.read(name) for name in FIELDS}
    if values["pickup"] >= eighths_a_bar(values["meter"]):
        raise typed.refusal("pickup")
    try:
        fifth = _fifth_string(values["fifth"], values["tuning"])
        neck = Neck(tuning=values["tuning"], capo=values["capo"], fifth=fifth)
    except BadRoutine as error:
        raise typed.refusal("fifth", str(error)) from error
    return Header(
        title=values["title"],
        key=values["key"],
        kind=values["kind"],
        use=values["use"],
        meter=values["meter"],
        columns=values["grid"],
        pickup_eighths=values["pickup"],
        neck=neck,
        hand=values["hand"],
        top_tempo_half_bpm=values["top"],
        trains=values["trains"],
    )


def header_lines(lick: Lick, columns: int) -> list[str]:
    """Write the header of a lick whose tab takes `columns` columns an eighth; what is usual is left out."""
    pickup_eighths = round(2 * lick.pickup_quarters)
    values = {
        "title": lick.title,
        "key": lick.key,
        "kind": lick.kind,
        "use": lick.use,
        "meter": lick.meter,
        "grid": f"{columns} columns an eighth",
        "pickup": f"{pickup_eighths} eighth{'' if pickup_eighths == 1 else 's'}",
        "tuning": lick.neck.tuning,
        "capo": str(lick.neck.capo),
        "fifth": _fifth_text(lick.neck),
        "hand": lick.hand,
        "top": repr(lick.top_tempo_half_bpm).removesuffix(".0"),
        "trains": lick.trains,
    }
    usual = {name: field.default or "" for name, field in FIELDS.items()}
    return [f"{name}: {value}" for name, value in values.items() if value != usual[name]]


def _typed(lines: Sequence[str], first_line: int, file: str) -> _Typed:
    found: dict[str, tuple[str, int, int]] = {}
    for number, line in enumerate(lines, first_line):
        name, colon, value = line.partition(":")
        start = len(line) - len(line.lstrip()) + 1
        name = name.strip()
        if not colon:
            why = "expected 'name: value' here, or a blank line between the header and the tab"
            raise BadLickText(file, number, start, why)
        if name not in FIELDS:
            near = difflib.get_close_matches(name.lower(), FIELDS, n=1, cutoff=0.5)
            hint = f"nearest is {near[0]!r}; " if near else ""
            why = f"no header name {name!r}: {hint}accepted are {' '.join(FIELDS)}"
            raise BadLickText(file, number, start, why)
        if name in found:
            why = f"a second {name!r} line: the first is line {found[name][1]}"
            raise BadLickText(file, number, start, why)
        column = len(line) - len(value.lstrip()) + 1
        found[name] = value.strip(), number, column
    return _Typed(file, first_line + len(lines), found)


def _fifth_string(text: str, tuning: str) -> FifthString | None:
    if not text:
        return None
    tuned = OPEN_TUNINGS[tuning][0]
    how, _, value = text.partition(" ")
    if how == "peg":
        tone = Tone.parse(value[0].upper() + value[1:])
        up = (tone.pitch_class - tuned + _FIFTH_DOWN_MOST) % 12 - _FIFTH_DOWN_MOST
        return FifthString(tuned + up, "peg")
    if how == "spike":
        return FifthString(tuned + int(value) - FIFTH_NUT, "spike")
    return FifthString(tuned, "plain")


def _fifth_text(neck: Neck) -> str:
    if neck.fifth is None:
        return ""
    if neck.fifth.how == "peg":
        name = str(usual_tone(neck.fifth.open_midi))
        return f"peg {name[0].lower()}{name[1:]}"
    if neck.fifth.how == "spike":
        return f"spike {neck.fifth.open_midi - OPEN_TUNINGS[neck.tuning][0] + FIFTH_NUT}"
    return "plain"
