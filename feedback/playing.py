"""A turn from its source to its report: what `play` and `demo` do without a window.

Lines come as they become true: after each pass the seven's mark, after the turn the passes in full, the
roll print and the one sentence. The JSON holds the same facts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from os import PathLike
from typing import TYPE_CHECKING, Any

from feedback.advice import sentence
from feedback.expect import expectations
from feedback.following import follow_turn
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from feedback.marks import seven_marks
from feedback.practice_report import NONE_PLAYED
from feedback.report import heading, outcome_json, pass_text, to_json
from feedback.rollprint import roll_print, roll_print_lines
from feedback.session import PASSES_A_TURN, REST_BARS, Listened, PassOver, TurnPlan, after_count_in
from feedback.sources import SIMULATED_RATE, listened, simulated_turn
from listener.expecting import Expectation
from routines.lick import Lick

if TYPE_CHECKING:
    from listener.ear import EarSettings

_BLOCK_FRAMES = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnRequest:
    """What is to be played and judged.

    Attributes
    ----------
    lick : Lick
    tempo_half_bpm : float
    mistakes : sequence of sequences of str
        For each pass, what the simulated player does wrong; its length is the number of passes.
    seed : int
    limits : Limits
    rest_bars : int
        Between two passes; 0 where a loop goes round and round.
    """

    lick: Lick
    tempo_half_bpm: float
    mistakes: Sequence[Sequence[str]] = ((),) * PASSES_A_TURN
    seed: int = 0
    limits: Limits = field(default_factory=Limits)
    rest_bars: int = REST_BARS

    @property
    def plan(self) -> TurnPlan:
        """Where its passes lie: a count-in, then the passes with rest bars between."""
        return after_count_in(
            self.lick, self.tempo_half_bpm, passes=len(self.mistakes), rest_bars=self.rest_bars
        )


def play_simulated(request: TurnRequest) -> Iterator[PassOver]:
    """Let the simulated player play the turn, and follow it by ear.

    Parameters
    ----------
    request : TurnRequest

    Returns
    -------
    iterator of PassOver
        The playing is done before it is returned; the listening goes on with every step.

    Raises
    ------
    routines.errors.BadRoutine
        If a mistake is unknown, or the lick has no place for it.
    """
    from feedback.player import render

    plan = request.plan
    played = simulated_turn(plan, mistakes=request.mistakes, seed=request.seed)
    sound = render(played, rate=SIMULATED_RATE, seed=request.seed)
    asked = _asked(plan, request.limits)
    heard = listened(sound, SIMULATED_RATE, until_sec=plan.end_sec, expectations=asked)
    return follow_turn(plan, heard, request.limits)


def play_file(
    path: str | PathLike[str], plan: TurnPlan, limits: Limits, *, settings: EarSettings | None = None
) -> Iterator[PassOver]:
    """Follow a turn in a recording whose place on the clock is known.

    Parameters
    ----------
    path : path
    plan : TurnPlan
    limits : Limits
    settings : EarSettings, optional
        How the ear is built: one that knows the instrument, say.

    Returns
    -------
    iterator of PassOver
        Of the passes that the recording reaches.

    Raises
    ------
    OSError, listener.errors.BadSound
        As `listener.files.SoundFile`, before anything is returned.
    """
    from listener.ear import Ear
    from listener.files import SoundFile, heard_in

    sound = SoundFile(path)
    ear = partial(Ear, settings=settings, expectations=_asked(plan, limits))

    def heard() -> Iterator[Listened]:
        with sound:
            for sec, reports, _ in heard_in(sound, ear=ear, block_frames=_BLOCK_FRAMES):
                yield Listened(now_sec=sec, reports=reports)

    return follow_turn(plan, heard(), limits)


def _asked(plan: TurnPlan, limits: Limits) -> list[Expectation]:
    """What all passes of a turn let expect."""
    return [one for grid in plan.grids(limits) for one in expectations(grid)]


def turn_lines(request: TurnRequest, passes: Iterable[PassOver]) -> Iterator[str]:
    """The turn in words, each line as soon as it is true."""
    lick, limits = request.lick, request.limits
    yield heading(lick, request.tempo_half_bpm)
    done: list[PassOver] = []
    for over in passes:
        done.append(over)
        yield f"  pass {over.number}: {seven_marks(lick, over.judged.outcome)}"
    for over in done:
        yield f"\npass {over.number}"
        yield pass_text(lick, over.judged.outcome, lean_unsure_ms=limits.lean_unsure_ms)
    piled = roll_print(lick, done, limits)
    if piled is not None:
        yield "\n".join(["", *roll_print_lines(piled)])
    yield f"\n{turn_sentence(request, done)}"


def turn_json(request: TurnRequest, passes: Sequence[PassOver]) -> str:
    """The turn as one JSON object: the passes as `judge` prints them, and the sentence of the turn."""
    found: dict[str, Any] = {
        "lick": request.lick.id,
        "title": request.lick.title,
        "key": request.lick.key,
        "tempo_half_bpm": request.tempo_half_bpm,
        "passes": [
            outcome_json(over.judged.outcome, sentence(request.lick, [over.judged], request.limits))
            for over in passes
        ],
        "sentence": turn_sentence(request, passes),
    }
    return to_json(found)


def turn_sentence(request: TurnRequest, passes: Sequence[PassOver]) -> str:
    """The one sentence after the turn."""
    if not passes:
        return NONE_PLAYED
    judged: list[Judged] = [over.judged for over in passes]
    return sentence(request.lick, judged, request.limits)
