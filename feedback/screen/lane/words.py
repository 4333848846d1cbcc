"""The fixed place for words: left what became of the last flat seven, right what comes.

Nothing is ever said at the note itself. News goes before everything else. The sign before the words is the
seven's own shape: inked in where it landed and went where the lick asks, to its half where it was swallowed,
open otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from feedback.marks import seven_marks
from feedback.screen.lane.heard import HeardPass
from feedback.screen.lane.moments import Moment
from feedback.screen.lane.page import Page
from feedback.screen.lane.room import MARGIN
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import Mark, Shape, Text
from feedback.screen.neck.shapes import Size, outline
from feedback.words import at_words, target_name, tone_name
from routines.chords import Chord
from routines.lick import Ask, Lick
from routines.outcome import SeventhVerdict

_SIGN = Size(wide=34.0, high=30.0)
_GAP = 28.0


@dataclass(frozen=True, slots=True)
class Said:
    """Words on the left.

    Attributes
    ----------
    text : str
    ink : str
    sign : {"", "filled", "half", "open"}
        How the seven's shape before them is drawn; empty for none.
    """

    text: str
    ink: str = "ink"
    sign: str = ""


def last_seven(passes: Sequence[HeardPass], runs: int, first_number: int, what: str) -> Said:
    """What became of the last seven, or of the pass that is over.

    A chord's sevens are spoken of once all of them are known, so that what became of the one before can be
    read until then; in the first of all, as soon as anything is. What is said of another pass than the one
    that runs says so.

    Parameters
    ----------
    passes : sequence of HeardPass
    runs : int
        The pass of the moment, from 0 within the plan.
    first_number : int
        Number of the plan's first pass.
    what : {"pass", "round"}
    """
    for whole in (True, False):
        for heard in reversed(passes):
            said = _of_pass(heard, whole=whole)
            if said is not None and heard.number != runs:
                return replace(said, text=f"{what} {heard.number + first_number}: {said.text}")
            if said is not None:
                return said
    return Said("")


def _of_pass(heard: HeardPass, *, whole: bool) -> Said | None:
    """The words on the last change of a pass of which all (or anything) is known."""
    if heard.over and heard.outcome.clean:
        return Said("clean pass", "landed", "filled")
    by_change: dict[float | None, list[tuple[Ask, SeventhVerdict]]] = {}
    for ask, verdict in zip(heard.lick.sevenths, heard.outcome.sevenths, strict=True):
        by_change.setdefault(ask.change_quarters, []).append((ask, verdict))
    for sevens in reversed(by_change.values()):
        known = [(ask, verdict) for ask, verdict in sevens if heard.verdict(ask.note) is not None]
        if known and (len(known) == len(sevens) or not whole):
            settled = all(heard.settled(ask, verdict) for ask, verdict in known if verdict.due)
            return _mark(heard, known, settled)
    if heard.over and not by_change:
        return Said(signed(seven_marks(heard.lick, heard.outcome)))
    return None


def _mark(heard: HeardPass, here: Sequence[tuple[Ask, SeventhVerdict]], settled: bool) -> Said:
    """The words on the sevens of one change; where they went is left out until it is settled."""
    asks = tuple(ask for ask, _ in here)
    verdicts = tuple(verdict if settled else replace(verdict, due=False) for _, verdict in here)
    said = seven_marks(replace(heard.lick, sevenths=asks), replace(heard.outcome, sevenths=verdicts))
    spoken = next((verdict for _, verdict in here if verdict.due), here[-1][1])
    ink, sign = _shown(spoken, settled)
    return Said(f"♭7 {signed(said)}", ink, sign)


def _shown(seven: SeventhVerdict, settled: bool) -> tuple[str, str]:
    """Ink and sign of a seven."""
    if seven.sounded is None:
        return "faint", "open"
    if seven.swallowed:
        return "astray", "half"
    fell = not settled or not seven.due or seven.as_asked is not False
    return ("landed", "filled") if seven.landed and fell else ("astray", "open")


def coming(
    lick: Lick, moment: Moment, rest_bars: int, passes: tuple[int, int], what: str = ""
) -> tuple[str, ...]:
    """What comes, the longest way to say it first.

    Parameters
    ----------
    lick : Lick
    moment : Moment
    rest_bars : int
    passes : (int, int)
        Number of the pass that runs or comes next, and of how many.
    what : str
        What a pass is called; empty for "pass", and "round" where there is no rest.
    """
    what = what or ("pass" if rest_bars else "round")
    if moment.where == "rest":
        return (f"{what} {passes[0]} of {passes[1]} next", "rest")
    if moment.where == "over":
        return ()
    falling = [
        a for a in lick.sevenths if a.change_quarters is not None and a.change_quarters > moment.quarters
    ]
    if falling:
        change = falling[0].change_quarters
        return _fall(lick, [a for a in falling if a.change_quarters == change][-1])
    if passes[0] == passes[1]:
        return (f"last {what}",)
    return (f"{what} {passes[0] + 1} of {passes[1]} next",) if not rest_bars else ("then rest",)


def _fall(lick: Lick, ask: Ask) -> tuple[str, ...]:
    seven = target_name(lick, ask.note)
    if ask.due_midi is None or ask.place_quarters is None:
        return signed(f"{seven} is colour: it need not fall"), signed(f"{seven} is colour")
    due = tone_name(lick, ask.due_midi, Chord.parse(ask.next_chord))
    if ask.place_quarters != ask.change_quarters:
        where = at_words(lick, ask.place_quarters)
    else:
        where = "at the bar" if ask.place_quarters % lick.quarters_a_bar == 0 else "at the change"
    octave = " in another octave" if ask.how == "octave" else ""
    return tuple(signed(f"{seven} falls to {due}{more}") for more in (f"{octave} {where}", octave, ""))


def word_marks(page: Page, left: Said, right: Sequence[str]) -> Iterator[Mark]:
    """The line of words: the left always, of the right the longest way that there is room for."""
    sheet, y = page.room.sheet, page.room.words_y
    size = 36.0 if sheet.wide >= 1200.0 else 30.0
    room = sheet.wide - 2 * MARGIN
    x = MARGIN
    if left.sign:
        yield from _sign(left, x, y - 0.36 * size)
        x += _SIGN.wide + 14.0
    said = fitted(left.text, size, sheet.wide - MARGIN - x, bold=True)
    if said:
        yield Text(x=x, y=y, text=said, size=size, ink=left.ink, bold=True)
    taken = x - MARGIN + width(said, size, True) + (_GAP if said else 0.0)
    for way in right:
        if taken + width(way, size) <= room:
            yield Text(x=sheet.wide - MARGIN, y=y, text=way, size=size, anchor="right")
            return


def _sign(said: Said, x: float, y: float) -> Iterator[Mark]:
    points = outline("seven", x + _SIGN.wide / 2, y, _SIGN)
    filled = said.ink if said.sign == "filled" else "paper"
    yield Shape(points=points, fill=filled, edge=said.ink, thick=4.0)
    if said.sign == "half":
        (left, _), (right, _), (tip, low) = points
        half = (right - left) / 4
        yield Shape(points=((tip - half, y), (tip + half, y), (tip, low)), fill=said.ink, edge=said.ink)
