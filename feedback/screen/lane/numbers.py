"""The five-line tab: lines, bars, slurs, and the numbers with what was heard of each.

Where it was heard, a note has a nick of ink under its number, at its true place: its rest, which leaves out
what the player does to every note alike. A landed note has an upright nick and an inked number; an early or
late one a nick with a flag to the side that it is off, tied to where it was due. Another note in its place
strikes the number through and is named by its nick, where there is room. One that was not heard stands in a
broken frame and has no nick; one that the listener could not tell goes faint, with a question mark.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from feedback.screen.lane.page import Page
from feedback.screen.lane.room import NUMBER, choke_words, number_wide, numbers
from feedback.screen.lane.shifting import Laid, arc, dashed_box, laid, reach
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Box, Line, Mark, Shape, Text
from feedback.words import tone_name
from routines.lick import TargetNote
from routines.outcome import Extra, NoteVerdict

NICK_TOP, NICK_END = 20.0, 39.0
"""A nick reaches from so far under its line to so far."""

_SIGNS = {"hammer": ("h", 26.0), "pull": ("p", 31.0), "slide": ("s", 26.0)}
_UNDER = 37.5  # from a line to the baseline of what is written under its number
_BASE = 0.365  # of a number: from its middle to its baseline, in ems


@lru_cache(maxsize=32)
def slurs(page: Page) -> tuple[tuple[Laid, ...], ...]:
    """Arcs with their letters over the numbers, and the curves of chokes."""
    drawn = (_slur(page, index, note) for index, note in enumerate(page.lick.notes))
    return tuple(marks for marks in map(laid, drawn) if marks)


def _slur(page: Page, index: int, note: TargetNote) -> Iterator[Mark]:
    x, y = page.x_of(index), page.room.string_y(note.string)
    if note.technique == "choke":
        yield from _choke(note, x, y)
    elif note.technique in _SIGNS:
        end = x + numbers(note)[-1][0]
        begin = x if end > x else _before(page, index)
        letter, up = _SIGNS[note.technique]
        middle, wide = (begin + end) / 2, width(letter, READABLE) + 4.0
        yield Box(x=middle - wide / 2, y=y - 50.0, wide=wide, high=32.0)
        yield arc(begin + 6.0, end - 6.0, y - 17.0, 7.0, 3.5, "ink")
        yield Text(x=middle, y=y - up, text=letter, size=READABLE, anchor="center")


def _before(page: Page, index: int) -> float:
    """Where the number stands out of which a slur comes."""
    string = page.lick.notes[index].string
    sooner = [k for k, note in enumerate(page.lick.notes[:index]) if note.string == string]
    if not sooner:
        return page.x_of(index) - page.room.eighth
    return page.x_of(sooner[-1]) + numbers(page.lick.notes[sooner[-1]])[-1][0]


def _choke(note: TargetNote, x: float, y: float) -> Iterator[Mark]:
    begin = x + number_wide(str(note.fret)) / 2 + 2.0
    points = tuple((begin + 20.0 * k / 4, y + 4.0 - 26.0 * (k / 4) ** 2) for k in range(5))
    back = tuple((px + 3.0, py + 2.0) for px, py in reversed(points))
    yield Shape(points=(*points, *back), fill="ink")
    said = choke_words(note)
    yield Box(x=begin + 23.0, y=y - 15.0, wide=width(said, READABLE) + 4.0, high=30.0)
    yield Text(x=begin + 25.0, y=y + 9.0, text=said, size=READABLE)


@lru_cache(maxsize=32)
def bars(page: Page) -> tuple[Laid, ...]:
    """Bar lines, each before its downbeat; the chord's changes thick, and where the lick begins and ends.

    Where passes follow one another without rest, the beginning is that of a repeat.
    """
    lick, room = page.lick, page.room
    top, bottom = room.string_y(1), room.string_y(5)
    changes = {span.start_quarters for span in lick.chords[1:]}
    begins, ends = page.x(-lick.pickup_quarters) - 36.0, page.x(lick.end_quarters) - 22.0
    marks: list[Mark] = []
    for bar in range(lick.bars):
        at = bar * lick.quarters_a_bar
        if at > -lick.pickup_quarters:
            x = page.x(at) - 36.0
            marks.append(Line(points=((x, top), (x, bottom)), thick=5.0 if at in changes else 2.5))
    marks.append(Line(points=((begins, top), (begins, bottom)), thick=7.0))
    marks.append(Line(points=((begins + 9.0, top), (begins + 9.0, bottom)), thick=2.5))
    if page.rounds:
        for between in (1.5, 2.5):
            y = room.string_1 + between * room.row
            marks.append(Box(x=begins + 14.0, y=y - 4.0, wide=8.0, high=8.0, fill="ink", round=4.0))
    else:
        marks.append(Line(points=((ends - 9.0, top), (ends - 9.0, bottom)), thick=2.5))
        marks.append(Line(points=((ends, top), (ends, bottom)), thick=7.0))
    return laid(marks)


@lru_cache(maxsize=4096)
def number_marks(page: Page, index: int, verdict: NoteVerdict | None) -> tuple[Laid, ...]:
    """A target's number, and what was heard of it; None where nothing is known yet."""
    return laid(_number(page, index, verdict))


_NUMBER_INKS = {"landed": "landed", "early": "astray", "late": "astray", "wrong": "astray",
                "missed": "astray", "unclear": "faint"}  # fmt: skip


def _number(page: Page, index: int, verdict: NoteVerdict | None) -> Iterator[Mark]:
    note = page.lick.notes[index]
    x, y = page.x_of(index), page.room.string_y(note.string)
    said = verdict.verdict if verdict else ""
    ink = _NUMBER_INKS.get(said, "ink")
    for at, text in numbers(note):
        wide = number_wide(text)
        yield Box(x=x + at - wide / 2 - 4.0, y=y - 18.0, wide=wide + 8.0, high=36.0)
        yield Text(
            x=x + at, y=y + _BASE * NUMBER, text=text, size=NUMBER, ink=ink, bold=True, anchor="center"
        )
    if verdict is None:
        return
    wide = number_wide(numbers(note)[0][1])
    if said == "missed":
        yield dashed_box(x, y, wide + 12.0, 42.0, "astray", 3.5)
    elif said == "unclear":
        yield Text(x=x, y=y + _UNDER, text="?", size=READABLE, ink="faint", bold=True, anchor="center")
    elif said == "wrong":
        yield Line(
            points=((x - wide / 2 - 7.0, y + 13.0), (x + wide / 2 + 7.0, y - 13.0)), thick=6.0, ink="astray"
        )
        yield from _stranger(page, index, verdict)
    else:
        yield from _nick(x, x + page.x_of_ms(verdict.rest_ms or 0.0), y, said)


def _nick(due: float, at: float, y: float, said: str) -> Iterator[Mark]:
    ink = "landed" if said == "landed" else "astray"
    yield Line(points=((at, y + NICK_TOP), (at, y + NICK_END)), thick=6.0, ink=ink)
    if said == "landed":
        return
    way, top = (-1.0 if said == "early" else 1.0), y + NICK_TOP
    if abs(at - due) > 3.0:
        level = y + NICK_END - 4.0
        yield Line(points=((min(due, at), level), (max(due, at), level)), thick=2.5, ink=ink)
        yield Line(points=((due, level - 5.0), (due, level + 4.0)), thick=2.5, ink=ink)
    yield Shape(points=((at, top), (at + 15.0 * way, top + 6.0), (at, top + 12.0)), fill=ink)


def _stranger(page: Page, index: int, verdict: NoteVerdict) -> Iterator[Mark]:
    """The nick of another note that came instead, and its name where there is room."""
    note = page.lick.notes[index]
    x = page.x_of(index) + page.x_of_ms(verdict.rest_ms or 0.0)
    y = page.room.string_y(note.string)
    yield Line(points=((x, y + NICK_TOP), (x, y + NICK_END)), thick=6.0, ink="astray")
    if verdict.heard_midi is None:
        return
    name = signed(tone_name(page.lick, verdict.heard_midi))
    text = Text(x=x + 8.0, y=y + _UNDER, text=name, size=READABLE, ink="astray", bold=True)
    if _free(page, note, text):
        yield text


def _free(page: Page, note: TargetNote, text: Text) -> bool:
    """Whether a text under a number meets no letter of a slur, nor what stands under the next number."""
    left, right = reach(text)
    below = page.room.string_y(note.string + 1) if note.string < 5 else -1.0
    letters = [
        (begin, end)
        for slur in slurs(page)
        for begin, end, mark in slur
        if isinstance(mark, Text) and 0 < below - mark.y < 40.0
    ]
    again = page.lick.end_quarters if page.rounds else 2 * page.lick.end_quarters
    same = [
        page.x(other.onset_quarters + later) - number_wide(numbers(other)[0][1]) / 2
        for other in page.lick.notes
        for later in (0.0, again)
        if other.string == note.string and other.onset_quarters + later > note.onset_quarters
    ]
    return right < min(same, default=right + 1.0) and all(b < left or right < a for a, b in letters)


@lru_cache(maxsize=256)
def added_marks(page: Page, extra: Extra, quarters: float) -> tuple[Laid, ...]:
    """A note that no target claims: a plus over the line where it lies nearest, struck through if foreign."""
    x, y = page.x(quarters), page.room.string_y(_nearest(page, extra.midi, quarters)) - page.room.row / 2
    if y < page.room.string_1 - page.room.row / 2 + 1.0:
        y += 4.0
    arm = 11.0
    marks: list[Mark] = [
        Line(points=((x - arm, y), (x + arm, y)), thick=6.0, ink="astray"),
        Line(points=((x, y - arm), (x, y + arm)), thick=6.0, ink="astray"),
    ]
    if extra.foreign:
        marks.append(
            Line(points=((x - arm - 3, y + arm + 3), (x + arm + 3, y - arm - 3)), thick=4.0, ink="astray")
        )
    return laid(marks)


def _nearest(page: Page, midi: int, quarters: float) -> int:
    """The string on which a pitch lies nearest to where the hand is."""
    lick = page.lick
    hand = min(lick.notes, key=lambda n: (abs(n.onset_quarters - quarters), n.string == 5)).fret
    places = lick.neck.places(midi)
    if not places:
        return 1 if midi > lick.neck.open_midi(1) else 4
    return min(places, key=lambda place: (min(abs(place.fret - hand), place.fret + 2), place.string)).string
