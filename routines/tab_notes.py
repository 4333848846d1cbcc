"""The five tab lines of a lick text, read column by column into notes on a grid of eighths.

The problem: in a tab that players type, the column is the only clock. Here every fret must stand where an
eighth begins, or be the end of a slur inside one; whatever stands elsewhere is refused with its line and
column, for a guess would move a note. `routines.tab` says how the text is written.

Conventions: places are sixteenths from the downbeat of bar 1, a pickup is negative; eighths are even, the
end of a hammer-on or pull-off inside its eighth is odd. Columns are counted from 0 inside, from 1 in
errors.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from routines.errors import BadLickText, BadRoutine
from routines.fingers import FINGERS
from routines.lick import Technique
from routines.neck import Neck
from routines.tab_systems import Row, System

CHOKE_FRETS_MOST = 2
"""How far a string can be choked up: 200 cents."""

_TOKEN = re.compile(
    r"(?P<fret>[0-9]+)|(?P<choke>c[0-9]*)|(?P<slur>[hps])|(?P<rest>-)|(?P<other>.)", re.DOTALL
)
_SLURS: Mapping[str, Technique] = {"h": "hammer", "p": "pull", "s": "slide"}
_OTHER_SIGNS = {"/": "s", "\\": "s", "^": "c", "b": "c", " ": "-", "—": "-", "–": "-"} | {
    sign.upper(): sign for sign in "hpsc"
}
"""What players also type, and what it is here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedNote:
    """One note as typed.

    Attributes
    ----------
    place : int
        Sixteenths from the downbeat of bar 1.
    string, fret : int
        Of a slide the fret where it ends, of a choke the fret where it is stopped.
    technique : Technique
    picked : bool
        Whether the right hand starts it; a slide inside one eighth is picked, one to its own eighth is not.
    from_fret : int or None
        Where a slur begins.
    choked_frets : int
        By how many half steps a choke raises it.
    line, column : int
        Where its fret stands in the text, counted from 1.
    """

    place: int
    string: int
    fret: int
    technique: Technique = "pick"
    picked: bool = True
    from_fret: int | None = None
    choked_frets: int = 0
    line: int
    column: int


def quarters_of(place: int) -> float:
    """Turn a place in sixteenths into quarters, both from the downbeat of bar 1."""
    return place / 4


def read_notes(systems: Sequence[System], neck: Neck, file: str) -> tuple[TypedNote, ...]:
    """Read the notes of all systems.

    Returns
    -------
    tuple of TypedNote
        By place, then from the fifth string to the first.

    Raises
    ------
    BadLickText
    """
    notes: list[TypedNote] = []
    for string in range(1, 6):
        reader = _StringReader(string, neck, file)
        for system in systems:
            reader.read(system)
        notes += reader.finished()
    notes.sort(key=lambda note: (note.place, -note.string))
    _check_hand(notes, file)
    return tuple(notes)


def _check_hand(notes: Sequence[TypedNote], file: str) -> None:
    picked: dict[int, int] = {}
    for note in notes:
        picked[note.place] = picked.get(note.place, 0) + note.picked
        if picked[note.place] > len(FINGERS):
            why = f"more than {len(FINGERS)} strings picked at once: expected one for each finger at most"
            raise BadLickText(file, note.line, note.column, why)


class _StringReader:
    """Reads one string through all systems: a slur may cross a bar line or the end of a system."""

    def __init__(self, string: int, neck: Neck, file: str) -> None:
        self._string, self._neck, self._file = string, neck, file
        self._notes: list[TypedNote] = []
        self._slur: tuple[str, int, int] | None = None

    def read(self, system: System) -> None:
        """Read the string's line of one system."""
        row = system.strings[self._string - 1]
        for bar in system.bars:
            fret_ends = -1
            for token in _TOKEN.finditer(row.text, bar.start, bar.end):
                cell, offset = divmod(token.start() - bar.start, system.columns)
                place = bar.place + 2 * cell
                if token["fret"]:
                    if (token.end() - 1 - bar.start) // system.columns != cell:
                        why = f"{token['fret']} runs on into the next eighth: expected a wider grid or a dash"
                        raise self._refusal(row, token.start(), why)
                    self._fret(token["fret"], place, offset, row, token.start())
                    fret_ends = token.end()
                elif token["choke"]:
                    self._choke(token["choke"], token.start() == fret_ends, row, token.start())
                elif token["slur"]:
                    self._begin_slur(token["slur"], row, token.start())
                elif token["other"]:
                    meant = _OTHER_SIGNS.get(token["other"])
                    hint = f"write {meant}; " if meant else ""
                    why = f"{token['other']!r} in a tab line: {hint}accepted are frets - h p s c |"
                    raise self._refusal(row, token.start(), why)

    def finished(self) -> list[TypedNote]:
        """Return the notes, once every system is read."""
        if self._slur is not None:
            sign, line, column = self._slur
            why = f"{sign!r} leads to no fret: expected one after it, on the same string"
            raise BadLickText(self._file, line, column, why)
        return self._notes

    def _fret(self, typed: str, place: int, offset: int, row: Row, column: int) -> None:
        if len(typed) > 2 or (len(typed) == 2 and typed[0] == "0"):
            raise self._refusal(row, column, f"no fret {typed}: accepted are 0 to {self._neck.last_fret}")
        fret = int(typed)
        try:
            self._neck.midi(self._string, fret)
        except BadRoutine as error:
            raise self._refusal(row, column, str(error)) from error
        note = TypedNote(place=place, string=self._string, fret=fret, line=row.line, column=column + 1)
        if self._slur is not None:
            self._end_slur(note, offset, row, column)
        elif offset:
            why = f"fret {fret} on no grid column: expected where an eighth begins, or after h, p or s"
            raise self._refusal(row, column, why)
        else:
            self._notes.append(note)

    def _begin_slur(self, sign: str, row: Row, column: int) -> None:
        if self._slur is not None:
            why = f"{sign!r} after {self._slur[0]!r}: expected a fret between them"
            raise self._refusal(row, column, why)
        if not self._notes:
            why = f"{sign!r} with no note before it: expected a fret first, on the same string"
            raise self._refusal(row, column, why)
        self._slur = sign, row.line, column + 1

    def _end_slur(self, note: TypedNote, offset: int, row: Row, column: int) -> None:
        if self._slur is None:
            return
        sign, begins = self._slur[0], self._notes[-1]
        self._slur = None
        fits, rule = {
            "h": (note.fret > begins.fret, "a hammer-on goes up"),
            "p": (note.fret < begins.fret, "a pull-off goes down"),
            "s": (0 < begins.fret != note.fret > 0, "a slide goes from one stopped fret to another"),
        }[sign]
        if not fits:
            why = f"{_SLURS[sign]} from fret {begins.fret} to fret {note.fret}: {rule}"
            raise self._refusal(row, column, why)
        note = replace(note, technique=_SLURS[sign], picked=False, from_fret=begins.fret)
        if not offset:
            self._notes.append(note)
        elif begins.place != note.place:
            why = (
                f"fret {note.fret} on no grid column: expected one slur an eighth, begun at its first column"
            )
            raise self._refusal(row, column, why)
        elif sign != "s":
            self._notes.append(replace(note, place=note.place + 1))
        elif begins.technique != "pick":
            why = "a slide inside an eighth begins with a pick: expected no slur or choke before it"
            raise self._refusal(row, column, why)
        else:
            self._notes[-1] = replace(note, picked=True, line=begins.line, column=begins.column)

    def _choke(self, typed: str, joined: bool, row: Row, column: int) -> None:
        if not joined or self._notes[-1].technique != "pick":
            why = "a choke with no picked fret before it: expected such as 10c or 10c11"
            raise self._refusal(row, column, why)
        note = self._notes[-1]
        frets = 1 if typed == "c" else int(typed[1:]) - note.fret if len(typed) <= 3 else 0
        if not note.fret or not 1 <= frets <= CHOKE_FRETS_MOST:
            why = (
                f"{note.fret}{typed} is no choke: expected a stopped fret, then the pitch of one of the next "
                f"{CHOKE_FRETS_MOST}, such as 10c11"
            )
            raise self._refusal(row, column, why)
        self._notes[-1] = replace(note, technique="choke", choked_frets=frets)

    def _refusal(self, row: Row, column: int, why: str) -> BadLickText:
        return BadLickText(self._file, row.line, column + 1, why)
