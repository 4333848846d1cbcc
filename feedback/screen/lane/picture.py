"""The lane: what is to be played now, what comes, what was heard, and where each flat seven went.

Ink on paper. Time runs toward the now-line, which is doubled and stands still (or, in reduced motion, the
page stands still and the now-line goes over it by eighths). Over it the chord of the moment; then the fall
picture; the five-line tab, whose numbers are the targets; and the fixed place for words.

Conventions: everything that moves is laid out once for a pass and moved by one snapped length, so that its
distances never change.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from feedback.playstate import PlayState
from feedback.screen.lane.fall import NAME, kept, labels, names, ribbons, taken
from feedback.screen.lane.frame import counted, ground, gutter, now_line, scrolled
from feedback.screen.lane.head import head_marks
from feedback.screen.lane.heard import HeardPass, heard_passes
from feedback.screen.lane.moments import apart_quarters, count_in_bars, moment_of
from feedback.screen.lane.numbers import added_marks, bars, number_marks, slurs
from feedback.screen.lane.page import page_of
from feedback.screen.lane.pegs import peg_marks
from feedback.screen.lane.room import GUTTER, MARGIN
from feedback.screen.lane.shifting import Laid, shown, whole
from feedback.screen.lane.words import Said, coming, last_seven, word_marks
from feedback.screen.lettering import signed
from feedback.screen.marks import Mark, Picture, Sheet, Text
from feedback.session import TurnPlan, after_count_in
from routines.lick import quarter_sec

_EDGE = 24.0
_STANDS_QUARTERS = 0.75
_NAMES_APART = 20.0


def lane_picture(state: PlayState, now_sec: float, sheet: Sheet, *, motion: str = "flowing") -> Picture:
    """Draw the lane at a moment.

    Parameters
    ----------
    state : PlayState
    now_sec : float
        Which second of the part that runs sounds now; its count-in begins at 0.
    sheet : Sheet
    motion : {"flowing", "stepped"}
        "stepped" for who is better off without moving pictures: the page stands still, the now-line moves.

    Returns
    -------
    Picture
        Without a plan: the lick's first bars, standing still.
    """
    plan = state.plan
    if plan is not None:
        return Picture(sheet, tuple(_Lane(state, plan, now_sec, sheet, motion).marks()))
    asked = state.request
    plan = after_count_in(asked.lick, asked.tempo_half_bpm, passes=asked.passes, rest_bars=asked.rest_bars)
    before = (asked.lick.pickup_quarters + _STANDS_QUARTERS) * quarter_sec(asked.tempo_half_bpm)
    lane = _Lane(state, plan, plan.first_start_sec - before, sheet, "flowing", ready=True)
    return Picture(sheet, tuple(lane.marks()))


class _Lane:
    """One moment of it."""

    def __init__(
        self,
        state: PlayState,
        plan: TurnPlan,
        now_sec: float,
        sheet: Sheet,
        motion: str,
        *,
        ready: bool = False,
    ) -> None:
        self._state, self._plan, self._ready = state, plan, ready
        self._page = page_of(plan, sheet, motion)
        self._room = self._page.room
        quarter = quarter_sec(plan.tempo_half_bpm)
        now_sec = min(now_sec, plan.end_sec)
        self._moment = moment_of(plan, now_sec)
        begin, at = ((sec - plan.first_start_sec) / quarter for sec in (0.0, now_sec))
        bar = plan.lick.quarters_a_bar
        if self._room.page_quarters % bar == 0.0:
            begin -= bar / 2  # what stands still is turned in the middle of a bar: chords change at its line
        self._now_x, self._by = scrolled(self._room, at, begin)
        self._apart = self._page.x(apart_quarters(plan))
        self._heard = {heard.number: heard for heard in heard_passes(state)}
        self._in_sight = tuple(self._passes_in_sight())

    def marks(self) -> Iterator[Mark]:
        """Later ones lie over sooner ones."""
        yield from ground(self._page)
        for number, by in self._in_sight:
            yield from self._under(number, by)
        yield from now_line(self._room, self._now_x)
        for number, by in self._in_sight:
            yield from self._over(number, by)
        yield from gutter(self._page)
        number = self._moment.number
        last = number == self._plan.passes - 1
        bars_before = self._bars_before(number)
        yield from head_marks(self._page, self._moment, bars_before, self._standing(), last=last)
        left = self._left()
        yield from word_marks(self._page, left, self._right())
        if not left.text and self._moment.where == "count-in":
            y = self._room.words_y
            yield Text(x=MARGIN, y=y, text="enter stops, escape leaves", size=22.0, ink="faint", minor=True)

    def _passes_in_sight(self) -> Iterator[tuple[int, float]]:
        """Each pass of which something may be seen, with where its downbeat lies."""
        lick, wide = self._plan.lick, self._room.sheet.wide
        before = self._page.x(max(lick.pickup_quarters, self._bars_before(0) * lick.quarters_a_bar))
        after = self._page.x(lick.end_quarters + lick.quarters_a_bar)
        for number in range(self._plan.passes):
            by = self._by + number * self._apart
            if by - before < wide and by + after > 0.0:
                yield number, by

    def _bars_before(self, number: int) -> int:
        if self._ready:
            return 0
        return self._plan.rest_bars if number else count_in_bars(self._plan)

    def _under(self, number: int, by: float) -> Iterator[Mark]:
        """What the now-line goes over: ledges and falls, bar lines."""
        page, wide = self._page, self._room.sheet.wide
        yield from shown(ribbons(page), by, 0.0, wide)
        heard = self._heard.get(number)
        for fall in self._taken(heard) if heard else ():
            yield from shown(fall, by, 0.0, wide)
        yield from shown(bars(page), by, GUTTER - 20.0, wide)

    def _taken(self, heard: HeardPass) -> Iterator[Sequence[Laid]]:
        lick, outcome = heard.lick, heard.outcome
        for seven, asks, verdicts in (
            (False, lick.thirds, outcome.thirds),
            (True, lick.sevenths, outcome.sevenths),
        ):
            for ask, verdict in zip(asks, verdicts, strict=True):
                if heard.falls(ask, verdict):
                    yield taken(self._page, ask, verdict, seven)

    def _over(self, number: int, by: float) -> Iterator[Mark]:
        """What lies over the now-line: numbers, pegs, names."""
        page, right = self._page, self._room.sheet.wide - 6.0
        heard = self._heard.get(number)
        for slur in slurs(page):
            yield from whole(slur, by, GUTTER, right)
        for index in self._notes_in_sight(by):
            verdict = heard.verdict(index) if heard else None
            yield from whole(number_marks(page, index, verdict), by, GUTTER, right)
        yield from self._pegs(heard, by)
        for extra in heard.outcome.extras if heard else ():
            at = (extra.onset_sec - self._plan.starts_sec[number]) / quarter_sec(self._plan.tempo_half_bpm)
            yield from shown(added_marks(page, extra, at), by, GUTTER, right)
        yield from shown(counted(page, self._bars_before(number)), by, _EDGE, right)
        yield from kept([*self._rest(number), *names(page)], by, _EDGE, right, _NAMES_APART)
        yield from kept(labels(page), by, _EDGE, right, 6.0)

    def _notes_in_sight(self, by: float) -> Iterator[int]:
        left, right = GUTTER - 120.0 - by, self._room.sheet.wide + 60.0 - by
        for index in range(len(self._plan.lick.notes)):
            if left < self._page.x_of(index) < right:
                yield index

    def _pegs(self, heard: HeardPass | None, by: float) -> Iterator[Mark]:
        page, wide = self._page, self._room.sheet.wide
        swallowed = {v.index for v in heard.outcome.sevenths if v.swallowed} if heard else set()
        for peg in page.picture.pegs:
            if -400.0 < page.x_of(peg.note) + by < wide + 60.0:
                verdict = heard.verdict(peg.note) if heard else None
                hidden = verdict is not None and peg.note in swallowed
                yield from shown(peg_marks(page, peg, verdict, hidden), by, 0.0, wide)

    def _rest(self, number: int) -> list[tuple[float, float, Text]]:
        """What the bars before a pass are called, where the names of chords stand."""
        lick = self._plan.lick
        begin = -self._bars_before(number) * lick.quarters_a_bar
        end = -lick.pickup_quarters
        if begin >= end:
            return []
        said = "rest" if number else "count-in"
        text = Text(x=0.0, y=self._room.names_y, text=said, size=NAME, ink="faint", on="band", bold=True)
        return [(self._page.x(begin) - 12.0, self._page.x(end) - 24.0, text)]

    def _numbered(self) -> tuple[int, int]:
        before = self._state.first_number - 1 if self._state.plan else 0
        return before + self._moment.number + 1, before + self._plan.passes

    def _standing(self) -> str:
        number, of = self._numbered()
        return f"{self._what} {number} of {of}"

    @property
    def _what(self) -> str:
        # A round of a warm-up is all of its steps.
        return "pass" if self._plan.rest_bars or self._state.warm_up is not None else "round"

    def _left(self) -> Said:
        if self._state.news:
            return Said(signed(self._state.news))
        if self._ready:
            return Said("get ready")
        first = self._numbered()[0] - self._moment.number
        return last_seven(tuple(self._heard.values()), self._moment.number, first, self._what)

    def _right(self) -> Sequence[str]:
        if self._ready:
            return ()
        return coming(self._plan.lick, self._moment, self._plan.rest_bars, self._numbered(), self._what)
