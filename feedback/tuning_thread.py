"""Tuning up while a window looks on: what there is to see, as one immutable state, and its work.

Threads: as in `feedback.offstage`. What is asked, the neck and which of the two checks, crosses from the
window to the work as one immutable object, stored by the window before it asks for the work to begin anew;
the work stores the one that it has taken up, so that the window sees whether it came too late.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from feedback.offstage import Anew, Attended, Microphone, Offstage, Staged
from feedback.tuning import StringState, Tuning, beforehand
from feedback.tuning_live import Ended, LiveTune
from feedback.tuning_report import PLUCK, heading
from feedback.twelfth import TwelfthCheck, TwelfthFound
from routines.neck import Neck

SOUNDS_SEC = 0.5
"""A string that was read so lately still sounds."""

Phase = Literal["opening", "listening", "over", "failed"]


@dataclass(frozen=True, slots=True)
class TuneAsked:
    """What is to be tuned.

    Attributes
    ----------
    neck : Neck
    twelfth : bool
        Whether the twelfth fret is checked instead.
    """

    neck: Neck
    twelfth: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneState:
    """Tuning up at a moment.

    Attributes
    ----------
    neck : Neck
    strings : tuple of StringState
        By their last steady reading, string 5 first.
    twelfth : bool
        Whether the twelfth fret is checked.
    phase : {"opening", "listening", "over", "failed"}
    now : StringState or None
        The string that was heard last, by its last reading, steady or not; None before any.
    sounds : bool
        Whether it is heard still.
    asked : tuple of int and str, or None
        In a check of the twelfth fret the string that is asked for, and "open" or "twelfth".
    prompt : str
        The same in words.
    stopped : tuple of TwelfthFound
        What that check has found, in the order played.
    warnings : tuple of str
        What is to be said before anybody winds.
    ended : Ended or ""
        Why it is over.
    news : str
        Why no sound comes, or what was wrong; empty where all is well.
    """

    neck: Neck
    strings: tuple[StringState, ...]
    twelfth: bool = False
    phase: Phase = "opening"
    now: StringState | None = None
    sounds: bool = False
    asked: tuple[int, str] | None = None
    prompt: str = ""
    stopped: tuple[TwelfthFound, ...] = ()
    warnings: tuple[str, ...] = ()
    ended: Ended | Literal[""] = ""
    news: str = ""

    @property
    def done(self) -> bool:
        """Whether all five are in tune."""
        return all(state.word == "in tune" for state in self.strings)


def before(asked: TuneAsked) -> TuneState:
    """What there is to see before anything was heard."""
    check = TwelfthCheck(asked.neck) if asked.twelfth else None
    return TuneState(
        neck=asked.neck,
        strings=Tuning(asked.neck).strings,
        twelfth=asked.twelfth,
        asked=check.asked if check is not None else None,
        prompt=check.prompt if check is not None else "",
        warnings=tuple(beforehand(asked.neck)),
    )


def seen(live: LiveTune) -> TuneState:
    """What there is to see of a tuning that goes on, or has ended."""
    tuning, check = live.found.tuning, live.found.twelfth
    over = live.ended != "interrupted"
    return TuneState(
        neck=tuning.neck,
        strings=tuning.strings,
        twelfth=check is not None,
        phase="over" if over else "listening",
        now=tuning.now,
        sounds=tuning.now is not None and live.quiet_sec < SOUNDS_SEC and not over,
        asked=check.asked if check is not None else None,
        prompt=check.prompt if check is not None else "",
        stopped=tuple(check.found) if check is not None else (),
        warnings=tuple(beforehand(tuning.neck)),
        ended=live.ended if over else "",
        news=live.away,
    )


class TuningThread(Staged[TuneState]):
    """Tunes on its own thread; `state` is what there is to see.

    Parameters
    ----------
    asked : TuneAsked
    make : callable
        Makes the microphone, not started yet.
    say : callable, optional
        Is given, on the work's thread, the lines that a terminal has.
    """

    def __init__(
        self,
        asked: TuneAsked,
        make: Callable[[], Microphone],
        *,
        say: Callable[[str], None] = lambda line: None,
    ) -> None:
        self._asked, self._make, self._say = asked, make, say
        self._taken: TuneAsked | None = None
        self._begun_with = asked
        super().__init__()

    def ask(self, asked: TuneAsked) -> None:
        """Begin anew with something else, or with the same once more."""
        self._asked = replace(asked)  # another object, so that it is seen whether it was taken up
        self._stage.anew()
        self.tick()

    def tick(self) -> None:
        """To be called now and then: what was asked just as the work ended is begun."""
        if not self._stage.busy and self._asked is not self._taken and self._asked is not self._begun_with:
            self._renew()

    def _begun(self) -> Offstage[TuneState]:
        self._begun_with = self._asked
        return Offstage(before(self._asked), make=self._make, work=self._tune, failed=_failed)

    def _tune(self, blocks: Attended, show: Callable[[TuneState], None]) -> None:
        while True:
            asked = self._taken = self._asked
            show(before(asked))
            pluck = [] if asked.twelfth else [f"{PLUCK}."]
            for line in (heading(asked.neck), *beforehand(asked.neck), *pluck):
                self._say(line)
            live = LiveTune(
                blocks,
                asked.neck,
                twelfth=asked.twelfth,
                say=self._say,
                watch=lambda live: show(seen(live)),
            )
            try:
                live.run()
            except Anew:
                continue
            return


def _failed(state: TuneState, line: str) -> TuneState:
    return replace(state, phase="failed", sounds=False, news=line)
