"""The bare neck: where its strings and frets lie on a sheet, and the neck without any chord on it.

The frets are spaced as on a banjo, each a twelfth root of two closer. String 1 is on top, as in tab. The
fifth string begins at its own nut at fret 5, and until there the neck is narrower. Rings under the neck stand
where its inlays are, numbers are those of the tab; under a capo the two differ.
"""

from __future__ import annotations

from dataclasses import dataclass

from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Box, Line, Mark, Ring, Shape, Text
from feedback.screen.neck.state import NeckState, tones
from routines.neck import FIFTH_NUT, Place
from routines.pitch import usual_tone

INLAYS = (3, 5, 7, 10, 12, 15, 17, 19, 22)
"""Real frets with an inlay."""

NUMBERS_HIGH = 58.0
"""What rings and numbers under the neck take."""

_OPEN_WIDE = 96.0
_BEYOND = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Where a neck lies.

    Attributes
    ----------
    state : NeckState
    left, right : float
        Where it may begin and ends; the open strings' places lie within.
    top : float
        Height of string 1.
    row : float
        From string to string.
    """

    state: NeckState
    left: float
    right: float
    top: float
    row: float

    @property
    def rim(self) -> float:
        """From an outer string to the edge of the neck."""
        return 0.5 * self.row

    @property
    def lowest(self) -> int:
        """The wire at which the neck begins: 0 is the nut or the capo."""
        return max(self.state.first_fret, 1) - 1

    @property
    def nut(self) -> float:
        """Where the frets begin."""
        return self.left + (_OPEN_WIDE if self.state.first_fret == 0 else 0.52 * _OPEN_WIDE)

    def wire(self, fret: int) -> float:
        """Where a fret's wire lies."""
        capo = self.state.capo
        begin, here, end = (
            float(2.0 ** (-(n + capo) / 12.0)) for n in (self.lowest, fret, self.state.last_fret)
        )
        return self.nut + (begin - here) / (begin - end) * (self.right - _BEYOND - self.nut)

    def string(self, string: int) -> float:
        """Height of a string."""
        return self.top + (string - 1) * self.row

    def at(self, place: Place) -> tuple[float, float]:
        """Where a tone at a place is drawn: between two wires, or before the nut where the string is open."""
        fret = self.column(place)
        x = self.nut - 0.55 * _OPEN_WIDE if fret < 1 else (self.wire(fret - 1) + self.wire(fret)) / 2
        return x, self.string(place.string)

    def column(self, place: Place) -> int:
        """The fret that a place is drawn at: the open fifth string stands before its own nut."""
        return max(self.state.fifth_nut, 0) if place.string == 5 and place.fret == 0 else place.fret

    @property
    def narrowest(self) -> float:
        """From wire to wire where they are closest."""
        last = self.state.last_fret
        return self.wire(last) - self.wire(last - 1)


def bare(board: Board) -> list[Mark]:
    """The neck with its frets, strings, nut or capo, fifth nut, inlays and numbers."""
    return [
        _wood(board),
        *_wires(board),
        *_strings(board),
        *_nut(board),
        *_fifth_nut(board),
        *_letters(board),
        *_numbers(board),
    ]


def _step(board: Board) -> int:
    """The wire behind which the neck has its full width; `lowest` where all of it has."""
    return max(FIFTH_NUT - 1 - board.state.capo, board.lowest)


def _wood(board: Board) -> Shape:
    upper, lower = board.string(1) - board.rim, board.string(5) + board.rim
    step, begin, end = _step(board), board.wire(board.lowest), board.right
    if step == board.lowest:
        return Shape(
            points=((begin, upper), (end, upper), (end, lower), (begin, lower)), fill="band", edge="rule"
        )
    if step >= board.state.last_fret:
        lower -= board.row
        return Shape(
            points=((begin, upper), (end, upper), (end, lower), (begin, lower)), fill="band", edge="rule"
        )
    turn = board.wire(step)
    widened = turn + 0.16 * (board.wire(step + 1) - turn)
    return Shape(
        points=(
            (begin, upper), (end, upper), (end, lower), (widened, lower),
            (turn, lower - board.row), (begin, lower - board.row),
        ),
        fill="band",
        edge="rule",
    )  # fmt: skip


def _wires(board: Board) -> list[Mark]:
    step = _step(board)
    marks: list[Mark] = []
    for fret in range(board.lowest, board.state.last_fret + 1):
        full = fret > step or step == board.lowest
        foot = board.string(5 if full else 4) + board.rim
        x = board.wire(fret)
        marks.append(Line(points=((x, board.string(1) - board.rim), (x, foot)), ink="rule"))
    return marks


def _strings(board: Board) -> list[Mark]:
    """The strings, and where each is open its letter: what a chord puts there lies over it."""
    nut, last = board.state.fifth_nut, board.state.last_fret
    marks: list[Mark] = []
    for string in (1, 2, 3, 4, 5):
        begin, y = board.nut - 24, board.string(string)
        if string == 5 and nut > board.lowest:
            if nut > last:
                break
            begin = board.wire(nut - 1) + 0.22 * (board.wire(nut) - board.wire(nut - 1))
            spiked_from = max(FIFTH_NUT - board.state.capo, board.lowest)
            if spiked_from < nut - 1:
                marks.append(Line(points=((board.wire(spiked_from), y), (begin, y)), ink="rule", dashed=True))
        marks.append(Line(points=((begin, y), (board.right, y)), ink="rule", thick=2.5))
    return marks


def _letters(board: Board) -> list[Mark]:
    """The open strings by the letters of the shape, those left out on which the chord has a tone."""
    state = board.state
    taken = {placed.place for placed in tones(state)}
    marks: list[Mark] = []
    for string in (1, 2, 3, 4, 5) if state.first_fret == 0 else (5,):
        place = Place(string, 0)
        own_nut = string == 5 and state.fifth_nut > board.lowest
        if place in taken or not state.shows(place):
            continue
        name = str(usual_tone(state.neck.open_midi(string) - state.capo))
        if string == 5:
            name = name.lower()
        x = board.at(place)[0]
        on = "band" if own_nut else "paper"
        wide = width(signed(name), READABLE) + 10
        y = board.string(string)
        marks.append(Box(x=x - wide / 2, y=y - 14, wide=wide, high=28, fill=on))
        marks.append(Text(x=x, y=y + 10, text=signed(name), ink="faint", on=on, anchor="center"))
    return marks


def _nut(board: Board) -> list[Mark]:
    if board.state.first_fret > 0:
        return []
    upper = board.string(1) - board.rim
    nut = board.state.fifth_nut
    lower = board.string(4 if board.state.capo or nut > 0 else 5) + board.rim
    if not board.state.capo:
        return [Line(points=((board.nut, upper), (board.nut, lower)), thick=9.0)]
    return [
        Box(x=board.nut - 14, y=upper - 6, wide=20, high=lower - upper + 8, fill="ink", round=8.0),
        Text(
            x=board.nut + 16,
            y=board.string(5) + board.rim + 48,
            text=f"capo {board.state.capo}",
            bold=True,
            anchor="right",
        ),
    ]


def _fifth_nut(board: Board) -> list[Mark]:
    nut = board.state.fifth_nut
    if not board.lowest < nut <= board.state.last_fret:
        return []
    x, y = board.wire(nut), board.string(5)
    return [Line(points=((x, y - 0.42 * board.row), (x, y + 0.42 * board.row)), thick=9.0)]


def _numbers(board: Board) -> list[Mark]:
    marks: list[Mark] = []
    edge = board.string(5) + board.rim
    for fret in range(board.lowest + 1, board.state.last_fret + 1):
        x = (board.wire(fret - 1) + board.wire(fret)) / 2
        if fret + board.state.capo in INLAYS:
            marks.append(Ring(x=x, y=edge + 14, radius=6.0, edge="faint", thick=3.0))
        marks.append(Text(x=x, y=edge + 48, text=str(fret), size=READABLE, ink="faint", anchor="center"))
    return marks
