"""Play along: the lane while a turn runs, what is to be said after it, and what comes next.

The practice runs on its own thread (`feedback.backstage`) and goes on by itself; the screen looks at it once
a frame. Whoever moves the focus after a turn is waited for. While a turn runs, choosing anything ends it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from feedback.backstage import Backstage
from feedback.errors import one_line
from feedback.nexttempo import eased, pushed
from feedback.performing import Asked, performing
from feedback.playstate import PlayState
from feedback.printing import print_line
from feedback.screen.after.choices import tempo_next
from feedback.screen.after.picture import after_picture
from feedback.screen.furniture import MARGIN, choices, heading, hint, paragraph
from feedback.screen.lane.picture import lane_picture
from feedback.screen.marks import Picture, Sheet, Spot
from feedback.screen.staging import Go, House, Leave, Move, Quit
from feedback.screen.views.warm_up_between import GO_ON, warm_up_between
from feedback.wishes import BreakOff, End, Hold, Start, Tempo
from routines.warmups.table import warm_up

STOP = "stop here"

LATE_TAP_SEC = 0.7
"""So long after a count-in has begun, a second tap is still meant for what began it."""

_LEFT_SEC = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Playing:
    """A practice that was made already.

    Attributes
    ----------
    asked : Asked
    backstage : Backstage
        Not started yet.
    closes_sec : float or None
        So long after its end the window closes by itself; None where it does not.
    """

    asked: Asked
    backstage: Backstage
    closes_sec: float | None = None


def enter(house: House, what: Any) -> PlayAlong:
    """Open it with a `Playing`, or a dict: "lick" or "warm_up", and where wanted source, loop, way and
    tempo_half_bpm, without which the ladder leads.
    """
    if isinstance(what, Playing):
        house.asked = what.asked
        return PlayAlong(house, what.asked, what.backstage, what.closes_sec)
    warms = what.get("warm_up", "")
    whole = warm_up(warms).steps(0)[0].lick if warms else what["lick"]
    usual = house.asked or Asked(whole=whole, values=house.values, device=house.device)
    asked = replace(
        usual,
        whole=whole,
        warm_up=warms,
        values=house.values,
        source="sim" if what.get("source", house.values["source"]) == "sim" else "mic",
        loop=what.get("loop"),
        way=what.get("way", ""),
        tempo_half_bpm=what.get("tempo_half_bpm"),
        turns=None,
        mistakes=(),
        waits=True,
    )
    return PlayAlong(house, asked)


def play_picture(
    state: PlayState, part_sec: float | None, clock_sec: float, sheet: Sheet, focus: str, motion: str
) -> Picture:
    """What is to be seen of a practice: a lane, a turn that is over, or why it cannot go on.

    Parameters
    ----------
    state : PlayState
    part_sec : float or None
        Which second of the part sounds now.
    clock_sec : float
        Monotonic.
    sheet : Sheet
    focus, motion : str
    """
    if state.warm_up is not None and not state.trouble and (state.warm_up.remark or _between(state)):
        return warm_up_between(state.warm_up, sheet, focus, state.news or state.besides)
    if state.phase == "over" and (state.trouble or not state.done):
        return _over_picture(state, sheet, focus)
    if state.done and state.phase in ("resting", "hearing again", "over"):
        return after_picture(state, clock_sec, sheet, focus)
    if state.phase not in ("playing", "sound lost"):  # the last turn's lane is not to run on
        state = replace(state, plan=None)
    lane = lane_picture(state, -_LEFT_SEC if part_sec is None else part_sec, sheet, motion=motion)
    return replace(lane, spots=(Spot(x=0.0, y=0.0, wide=sheet.wide, high=sheet.high, does=STOP, says=STOP),))


def _between(state: PlayState) -> bool:
    """Whether a warm-up is between two of its turns."""
    return state.phase in ("opening", "resting", "beginning")


def _over_picture(state: PlayState, sheet: Sheet, focus: str) -> Picture:
    """A practice that ended before anything could be said of a turn, or by a fault."""
    marks = heading(sheet, state.request.lick.title, "play along")
    why = state.ended or "It ended before a pass was over."
    said, _ = paragraph(MARGIN, 190.0, sheet.wide - 2 * MARGIN, why, size=34.0, most=8)
    again = "try again" if state.trouble else "once more"
    rows = [(again, "once more"), ("watch it played", "watch"), ("back", "back")]
    drawn, spots = choices(sheet, sheet.high - 150.0, rows, focus)
    return Picture(
        sheet, (*marks, *said, *drawn, hint(sheet, "enter chooses, escape goes back")), tuple(spots)
    )


class PlayAlong:
    """Practising a lick.

    Parameters
    ----------
    house : House
    asked : Asked
    backstage : Backstage, optional
        A practice that was made already.
    closes_sec : float, optional
        As of `Playing`.
    make : callable, optional
        Makes a practice.
    """

    def __init__(
        self,
        house: House,
        asked: Asked,
        backstage: Backstage | None = None,
        closes_sec: float | None = None,
        make: Callable[[Asked], Backstage] | None = None,
    ) -> None:
        self._house, self._asked, self._closes_sec = house, asked, closes_sec
        self._make = make or (lambda asked: performing(asked, print_line))
        self._over_sec: float | None = None
        self._waiting = PlayState(request=asked.request)
        self._next = backstage
        self._backstage: Backstage | None = None
        self._wanted: Asked | None = None if backstage is not None else asked
        self._go_on()

    @property
    def _state(self) -> PlayState:
        return self._waiting if self._backstage is None else self._backstage.state

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        motion = str(self._house.values["motion"])
        part_sec = None if self._backstage is None else self._backstage.part_sec()
        return play_picture(self._state, part_sec, self._house.clock(), sheet, focus, motion)

    def act(self, does: str) -> Move:
        tempo = tempo_next(self._state)
        warms = self._state.warm_up
        if warms is not None and (warms.remark or _between(self._state)) and does != "back":
            return self._warm(does)
        if does == STOP:
            self._stop_here()
        elif does == "once more":
            self._again(tempo)
        elif does == "ease":
            self._again(eased(tempo))
        elif does == "push":
            self._again(pushed(tempo))
        elif does == "another":
            return Go("licks", self._asked.whole, instead=True)
        elif does == "the change alone" and self._state.offer is not None:
            offer = self._state.offer
            loop = f"change{offer.span.number or ''}"
            self._anew(replace(self._asked, loop=loop, tempo_half_bpm=offer.tempo_half_bpm, turns=None))
        elif does == "the whole lick":
            self._anew(replace(self._asked, loop=None, tempo_half_bpm=None))
        elif does == "watch":
            self._anew(replace(self._asked, source="sim", waits=True))
        elif does == "back":
            return Leave()
        return None

    def focused(self, does: str) -> None:
        """The player looks around after a turn: wait for them."""
        if self._backstage is not None and self._state.phase in ("resting", "hearing again"):
            self._backstage.wish(Hold())

    def press(self, key: str) -> Move | bool:
        return False

    def tick(self) -> Move:
        self._go_on()
        if self._closes_sec is None or self._backstage is None or not self._backstage.over:
            return None
        if self._over_sec is None:
            self._over_sec = self._house.clock()
        return Quit() if self._house.clock() - self._over_sec >= self._closes_sec else None

    def close(self) -> None:
        """End the practice; whoever closes the window waits until it has told all."""
        self._next = self._wanted = None
        if self._backstage is not None:
            self._backstage.end()

    def _warm(self, does: str) -> Move:
        """What is chosen between the turns of a warm-up, and after it."""
        if does == "another":
            return Go("warm-up", self._asked.warm_up, instead=True)
        if does == "once more":
            self._anew(replace(self._asked, tempo_half_bpm=None))
        elif self._backstage is not None:
            self._backstage.wish(Start() if does == GO_ON else End())
        return None

    def _stop_here(self) -> None:
        """End the turn that runs, or the rest; a tap that was meant for the choice before is none."""
        if self._backstage is None:
            return
        part_sec = self._backstage.part_sec()
        if self._state.phase == "playing":
            if part_sec is None or part_sec >= LATE_TAP_SEC:
                self._backstage.wish(BreakOff())
        elif self._state.phase != "beginning":
            self._backstage.wish(Start())

    def _again(self, tempo_half_bpm: float) -> None:
        if self._backstage is None or self._backstage.over:
            self._anew(replace(self._asked, tempo_half_bpm=tempo_half_bpm))
            return
        if tempo_half_bpm != self._state.request.tempo_half_bpm:
            self._backstage.wish(Tempo(tempo_half_bpm))
        self._backstage.wish(Start())

    def _anew(self, asked: Asked) -> None:
        """Practise something else as soon as what runs has ended: a microphone may not be open twice."""
        self.close()
        self._asked = self._wanted = asked
        self._over_sec = None
        self._backstage = None
        self._go_on()

    def _go_on(self) -> None:
        """Begin what is to come, once nothing runs any more."""
        if self._house.ending or (self._next is None and self._wanted is None):
            return
        try:
            if self._wanted is not None:
                self._waiting = PlayState(request=self._wanted.request)
                self._next = self._make(self._wanted)
        except (OSError, ValueError) as error:
            self._waiting = replace(self._waiting, phase="over", ended=one_line(error), trouble=True)
            self._next = None
        self._backstage, self._next, self._wanted = self._next, None, None
        if self._backstage is not None:
            self._house.begun.append(self._backstage)
            self._backstage.start()
