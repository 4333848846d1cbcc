"""Where ledges lie and where they slope to: the fall picture of a lick, computed.

The problem: over a seventh chord two tones lead somewhere, the flat seven and the third. Each has a ledge. At
the change the ledge slopes into the tone that it wants, as `routines.chords` computes it: down for the seven,
up or down for the third. A tone that the next chord holds goes on level, one that has nowhere to go ends.

Conventions: a chain of sevenths would sink out of sight: after each change in it both ledges break off,
between two pegs, and go on at their own level, in their new jobs. A slope into a seventh chord's
other tones ends in a stub, and that chord's ledges begin anew behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median

from feedback.screen.lane.ledges import FallPicture, Ledge, Peg, Slope
from routines.chords import Chord, ChordSpan, seven_falls, third_moves
from routines.lick import Ask, Lick
from routines.shapes import shaped

STUB_QUARTERS = 1.0
"""How long a tone is kept that the next seventh chord has no ledge for."""

_MOVES = {"seven": seven_falls, "third": third_moves}


@dataclass(frozen=True, slots=True)
class _Tone:
    function: str
    tone: str
    pitch_class: int
    step: int
    ink: str

    def over_its_chord(self) -> _Tone:
        """The same in the ink of what it is over a seventh chord."""
        return replace(self, ink=self.function)

    def at_its_level(self) -> _Tone:
        """The same where a ledge begins anew."""
        return replace(self, step=0)


def fall_picture(lick: Lick, spans: Sequence[ChordSpan]) -> FallPicture:
    """Compute the ledges of a lick, and what stands on them.

    Parameters
    ----------
    lick : Lick
    spans : sequence of ChordSpan
        Its chords as they sound; where rounds follow one another, up to the next one's pickup.
    """
    found = _Found(lick, spans)
    for number in range(len(spans)):
        found.chord(number)
    picture = FallPicture(ledges=tuple(found.ledges), slopes=tuple(found.slopes), pegs=())
    return FallPicture(ledges=picture.ledges, slopes=picture.slopes, pegs=tuple(_pegs(lick, picture)))


class _Found:
    """Ledges and slopes, chord by chord."""

    def __init__(self, lick: Lick, spans: Sequence[ChordSpan]) -> None:
        self._lick, self._spans = lick, spans
        self._chords = [shaped(s.chord, lick.neck.capo) if s.chord else None for s in spans]
        self._arriving: dict[bool, _Tone] = {}
        self._sloped: list[bool] = []
        self.ledges: list[Ledge] = []
        self.slopes: list[Slope] = []

    def chord(self, number: int) -> None:
        """Lay the ledges of a chord, and lead them into the next one."""
        span, chord = self._spans[number], self._chords[number]
        following = self._chords[number + 1] if number + 1 < len(self._chords) else None
        begin, end = span.start_quarters, span.end_quarters
        if chord is None or chord.tone("seven") is None:
            self.ledges += [_ledge(side, begin, end, tone) for side, tone in self._arriving.items()]
            self._lead(chord, following, self._arriving, end)
            return
        reached = {side: tone.over_its_chord() for side, tone in self._arriving.items()}
        here = {side: tone for side, tone in reached.items() if tone.function in _MOVES}
        stubs = {side: self._arriving[side] for side in self._sloped if side not in here}
        self.ledges += [_ledge(side, begin, min(end, begin + STUB_QUARTERS), t) for side, t in stubs.items()]
        anew = _new_guides(self._lick, chord, here)
        starts = begin + (1.25 * STUB_QUARTERS if stubs else 0.0)
        self.ledges += [_ledge(side, starts, end, tone) for side, tone in anew.items()]
        breaks = _break(self._lick, begin, end)
        for side, tone in here.items():
            self.ledges += _level(side, begin, end, tone, breaks)
        self._lead(chord, following, {s: t.at_its_level() for s, t in {**here, **anew}.items()}, end)

    def _lead(
        self, chord: Chord | None, following: Chord | None, tones: dict[bool, _Tone], at: float
    ) -> None:
        self._arriving, self._sloped = {}, []
        for side, tone in tones.items():
            reached, slope = _led(chord, following, tone, side, at)
            if reached is not None and reached.function not in {t.function for t in self._arriving.values()}:
                self._arriving[side] = reached
                if slope is not None:
                    self._sloped.append(side)
                    self.slopes.append(slope)


def _ledge(side: bool, begin: float, end: float, tone: _Tone, *, broken: bool = False) -> Ledge:
    return Ledge(
        upper=side,
        begin_quarters=begin,
        end_quarters=end,
        step=0 if broken else tone.step,
        tone=tone.tone,
        function=tone.function,
        ink=tone.ink,
        broken=broken,
    )


def _level(side: bool, begin: float, end: float, tone: _Tone, breaks: float) -> list[Ledge]:
    """A tone that was reached: where it is not at its own level, it breaks off and goes on there."""
    if tone.step == 0:
        return [_ledge(side, begin, end, tone)]
    return [_ledge(side, begin, breaks, tone), _ledge(side, breaks, end, tone, broken=True)]


def _new_guides(lick: Lick, chord: Chord, reached: dict[bool, _Tone]) -> dict[bool, _Tone]:
    """The seven and the third of a chord, each on its side, where they were not reached already."""
    found: dict[bool, _Tone] = {}
    for function in _MOVES:
        tone = chord.tone(function)
        if tone is None or function in {t.function for t in reached.values()}:
            continue
        side = not next(iter(reached)) if reached else (function == "seven") == _seven_above(lick)
        found[side] = _Tone(function, str(tone), tone.pitch_class, 0, function)
    return found


def _seven_above(lick: Lick) -> bool:
    """Whether the first sevens of a lick lie above its first thirds."""
    sevens, thirds = (
        [lick.notes[a.note].midi for a in asks if a.chord == asks[0].chord]
        for asks in (lick.sevenths, lick.thirds)
    )
    return not sevens or not thirds or median(sevens) >= median(thirds)


def _led(
    chord: Chord | None, following: Chord | None, tone: _Tone, side: bool, at: float
) -> tuple[_Tone | None, Slope | None]:
    """The tone of the next chord that a tone leads to, and the slope there; none where it is held."""
    if chord is None or following is None:
        return None, None
    move = _MOVES[tone.function](chord, following) if tone.function in _MOVES else None
    if move is not None:
        step = tone.step + move.half_steps
        reached = _Tone(move.to_function, str(move.to_tone), move.to_tone.pitch_class, step, tone.ink)
        slope = Slope(
            upper=side,
            at_quarters=at,
            from_step=tone.step,
            to_step=step,
            function=tone.function,
            ink=tone.ink,
        )
        return reached, slope
    function = following.function_of(tone.pitch_class)
    held = following.tone(function) if function is not None else None
    if function is None or held is None:
        return None, None
    return _Tone(function, str(held), tone.pitch_class, tone.step, tone.ink), None


def _break(lick: Lick, begin: float, end: float) -> float:
    """A place within a chord that is as far as can be from any peg."""
    asks = (*lick.sevenths, *lick.thirds)
    pegs = [begin, end, *(lick.notes[i].onset_quarters for ask in asks for i in _notes_of(ask))]
    count = max(1, round(2 * (end - begin)) - 1)
    places = [begin + 0.5 * k for k in range(1, count + 1)]
    return max(places, key=lambda place: (min(abs(place - peg) for peg in pegs), -place))


def _notes_of(ask: Ask) -> tuple[int, ...]:
    return (ask.note,) if ask.due_note is None else (ask.note, ask.due_note)


def _pegs(lick: Lick, picture: FallPicture) -> Iterator[Peg]:
    """Sevens and thirds on their ledges, then what they are due to fall or rise to."""
    standing: set[int] = set()
    for function, asks in (("seven", lick.sevenths), ("third", lick.thirds)):
        for ask in asks:
            at = lick.notes[ask.note].onset_quarters
            for ledge in _over(picture, at):
                if ledge.function == function and ask.note not in standing:
                    standing.add(ask.note)
                    yield Peg(note=ask.note, upper=ledge.upper, step=ledge.step, function=function)
    for function, asks in (("seven", lick.sevenths), ("third", lick.thirds)):
        for ask in asks:
            slope = picture.slope_of(function, ask.change_quarters or 0.0)
            if ask.due_note is None or slope is None or ask.due_note in standing:
                continue
            standing.add(ask.due_note)
            note = lick.notes[ask.due_note]
            under = picture.ledge_at(slope.upper, note.onset_quarters)
            ahead = note.onset_quarters < slope.at_quarters or under is None
            # Before the change it stands where it will be, as what it will be there.
            reached = picture.ledge_at(slope.upper, slope.at_quarters)
            yield Peg(
                note=ask.due_note,
                upper=slope.upper,
                step=slope.to_step if ahead or under is None else under.step,
                function=note.role if reached is None else reached.function,
            )


def _over(picture: FallPicture, quarters: float) -> Sequence[Ledge]:
    found = (picture.ledge_at(side, quarters) for side in (True, False))
    return [ledge for ledge in found if ledge is not None]
