"""Play along: the lane while a turn runs, what is to be said after it, and what comes next.

The practice runs on its own thread (`feedback.backstage`) and goes on by itself; the screen looks at it once
a frame. Whoever moves the focus after a turn is waited for. While a turn runs, choosing anything ends it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from feedback.backstage import Backstage
from feedback.nexttempo import eased, pushed
from feedback.performing import Asked, performing
from feedback.playstate import PlayState
from feedback.screen.after.picture import after_picture
from feedback.screen.furniture import MARGIN, choices, heading, hint, paragraph
from feedback.screen.lane.picture import lane_picture
from feedback.screen.marks import Picture, Sheet, Spot
from feedback.screen.staging import Go, House, Leave, Move, Quit
from feedback.wishes import BreakOff, Start, Tempo

STOP = "stop here"
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
    """Open it with a `Playing`, or a dict: "lick", and where wanted "tempo_half_bpm", "source", "loop"."""
    if isinstance(what, Playing):
        return PlayAlong(house, what.asked, what.backstage, what.closes_sec)
    asked = Asked(
        whole=what["lick"],
        values=house.values,
        source="sim" if what.get("source", house.values["source"]) == "sim" else "mic",
        loop=what.get("loop"),
        tempo_half_bpm=what.get("tempo_half_bpm"),
        device=house.device,
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
    if state.phase == "over" and not state.done:
        return _fault_picture(state, sheet, focus)
    if state.done and state.phase in ("resting", "hearing again", "over"):
        return after_picture(state, clock_sec, sheet, focus)
    lane = lane_picture(state, -_LEFT_SEC if part_sec is None else part_sec, sheet, motion=motion)
    return replace(lane, spots=(Spot(x=0.0, y=0.0, wide=sheet.wide, high=sheet.high, does=STOP, says=STOP),))


def _fault_picture(state: PlayState, sheet: Sheet, focus: str) -> Picture:
    marks = heading(sheet, state.request.lick.title, "play along")
    said, _ = paragraph(MARGIN, 190.0, sheet.wide - 2 * MARGIN, state.ended, size=34.0, most=8)
    rows = [("try again", "once more"), ("watch it played", "watch"), ("back", "back")]
    drawn, spots = choices(sheet, sheet.high - 150.0, rows, focus)
    return Picture(
        sheet, (*marks, *said, *drawn, hint(sheet, "enter chooses, escape goes back")), tuple(spots)
    )


class PlayAlong:
    """Practising a lick."""

    def __init__(
        self,
        house: House,
        asked: Asked,
        backstage: Backstage | None = None,
        closes_sec: float | None = None,
        make: Callable[[Asked], Backstage] | None = None,
    ) -> None:
        self._house, self._asked, self._closes_sec = house, asked, closes_sec
        self._make = make or (lambda asked: performing(asked, _print))
        self._over_sec: float | None = None
        self._backstage = backstage or self._make(asked)
        self._backstage.start()

    @property
    def _state(self) -> PlayState:
        return self._backstage.state

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        motion = str(self._house.values["motion"])
        part_sec, clock_sec = self._backstage.part_sec(), self._house.clock()
        return play_picture(self._state, part_sec, clock_sec, sheet, focus, motion)

    def act(self, does: str) -> Move:
        tempo = self._state.request.tempo_half_bpm
        if does == STOP:
            if self._state.phase == "resting":
                self._backstage.wish(Start())
            else:
                self._backstage.wish(BreakOff())
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
            number = offer.span.number
            self._anew(
                replace(
                    self._asked, loop=f"change{number or ''}", tempo_half_bpm=offer.tempo_half_bpm, turns=None
                )
            )
        elif does == "watch":
            self._anew(replace(self._asked, source="sim", waits=True))
        elif does == "back":
            return Leave()
        return None

    def focused(self, does: str) -> None:
        """The player looks around after a turn: wait for them."""
        if self._state.phase == "resting":
            self._backstage.wish(BreakOff())

    def press(self, key: str) -> Move | bool:
        return False

    def tick(self) -> Move:
        if self._closes_sec is None or not self._backstage.over:
            return None
        if self._over_sec is None:
            self._over_sec = self._house.clock()
        return Quit() if self._house.clock() - self._over_sec >= self._closes_sec else None

    def close(self) -> None:
        self._house.hung |= not self._backstage.stop()

    def _again(self, tempo_half_bpm: float) -> None:
        if self._backstage.over:
            self._anew(replace(self._asked, tempo_half_bpm=tempo_half_bpm))
            return
        if tempo_half_bpm != self._state.request.tempo_half_bpm:
            self._backstage.wish(Tempo(tempo_half_bpm))
        self._backstage.wish(Start())

    def _anew(self, asked: Asked) -> None:
        self.close()
        self._asked, self._over_sec = asked, None
        self._backstage = self._make(asked)
        self._backstage.start()


def _print(line: str) -> None:
    print(line, flush=True)
