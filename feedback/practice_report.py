"""What practising with the microphone tells: lines while it goes on, the report, the JSON.

Each line is true when it is said. The JSON has all passes of all turns; those of one turn are told by `turn`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from feedback.advice import sentence
from feedback.clicking import words as click_words
from feedback.marks import seven_marks
from feedback.practice_events import (
    CountIn,
    Event,
    Fell,
    Kept,
    NobodyPlays,
    Passed,
    PracticeRequest,
    SoundBack,
    SoundLost,
    TurnOver,
)
from feedback.report import heading, outcome_json, pass_text, to_json
from feedback.session import COUNT_IN_BARS, PassOver
from feedback.words import counted
from routines.tab_writer import write_systems

if TYPE_CHECKING:
    from listener.run import Condition

LOUDNESS = (
    "Mind your ears: begin softly, keep headphones below about 80 dBA for 40 hours a week; a banjo is loud "
    "by itself. Rest five minutes in thirty."
)

_BASIS = {
    "stamps": "by the system's time stamps",
    "measured": "as it was measured",
    "reported": "as the system says; not to be trusted",
}


def opening(request: PracticeRequest, condition: Condition) -> Iterator[str]:
    """What is said before the first count-in: the lick with its tab, the sound, the click, the caution."""
    yield heading(request.lick, request.tempo_half_bpm)
    yield f"\n{write_systems(request.lick)}"
    yield f"  {condition_line(condition)}"
    yield f"  {click_words(request.click, request.lick, request.tempo_half_bpm)}; Ctrl-C ends"
    yield f"  {LOUDNESS}"


def condition_line(condition: Condition) -> str:
    """The devices and the round trip, with how sure it is."""
    source, sink = condition.source, condition.sink
    names = source if source == sink else f"{source} and {sink}"
    trip, unsure = 1e3 * condition.round_trip_sec, 1e3 * condition.unsure_sec
    return (
        f"microphone and output: {names}, {condition.rate} Hz; round trip {trip:.0f} ms "
        f"(within {unsure:.0f} ms, {_BASIS[condition.basis]})"
    )


def losses_line(condition: Condition) -> str | None:
    """What was lost on the way, None if nothing was."""
    said = []
    lost = condition.overflows + condition.dropped
    if lost:
        times = counted(lost, "time", "times")
        said.append(f"sound of the microphone was lost {times}; the notes there are unclear, never wrong")
    if condition.underflows:
        said.append(counted(condition.underflows, "gap in the click", "gaps in the click"))
    drift = condition.drift_ppm
    if drift is not None and abs(drift) >= _DRIFT_PPM:
        said.append(
            f"the clocks of microphone and output run apart by {abs(drift):.0f} ppm, which is followed"
        )
    return f"Sound: {'. '.join(said)}." if said else None


_DRIFT_PPM = 20.0


def event_lines(request: PracticeRequest, event: Event) -> Iterator[str]:
    """What is said when something happens."""
    lick = request.lick
    match event:
        case CountIn(again=True, turn=turn, plan=plan):
            yield f"turn {turn} goes on, {counted(plan.passes, 'pass', 'passes')} left: count-in"
        case CountIn(turn=turn):
            yield f"turn {turn}: count-in of {counted(COUNT_IN_BARS, 'bar')}"
        case Fell(seven=seven):
            yield f"  pass {seven.number}: {seven_marks(lick, seven.outcome)}"
        case Passed(over=over):
            yield f"  pass {over.number}: {pass_mark(request, over)}"
        case TurnOver(passes=passes):
            yield turn_sentence(request, passes)
        case SoundLost(line=line):
            yield f"  sound lost: {line}"
        case SoundBack():
            yield "  the sound is back"
        case NobodyPlays():
            yield "Nothing was heard in two whole passes: done."


def pass_mark(request: PracticeRequest, over: PassOver) -> str:
    """A pass in a few words: its seven's mark, and what is to be known about it."""
    said = seven_marks(request.lick, over.judged.outcome) if over.heard else "nothing heard"
    return said + "".join(f" ({note})" for note in _notes(over))


def report_lines(request: PracticeRequest, turns: Sequence[Sequence[PassOver]]) -> Iterator[str]:
    """Everything in full, pass by pass, after the last turn."""
    lick, limits = request.lick, request.limits
    for turn, passes in enumerate(turns, start=1):
        for over in passes:
            if not over.heard:
                continue
            notes = "".join(f", {note}" for note in _notes(over))
            yield f"\nturn {turn}, pass {over.number}{notes}"
            yield pass_text(lick, over.judged.outcome, lean_unsure_ms=limits.lean_unsure_ms)


def practice_json(
    request: PracticeRequest,
    turns: Sequence[Sequence[PassOver]],
    condition: Condition | None,
    *,
    ended: str,
    takes: Sequence[str] = (),
    faults: Sequence[str] = (),
) -> str:
    """All turns as one JSON object.

    Parameters
    ----------
    request : PracticeRequest
    turns : sequence of sequences of PassOver
    condition : Condition or None
        How the sound was at the end.
    ended : str
        Why: "turns played", "nobody plays", "interrupted", "sound lost".
    takes : sequence of str
        Files that were kept.
    faults : sequence of str
        Lines about the sound, as they were told.
    """
    found: dict[str, Any] = {
        "lick": request.lick.id,
        "key": request.lick.key,
        "tempo_half_bpm": request.tempo_half_bpm,
        "click": request.click,
        "passes": [
            {"turn": turn, **_pass_json(request, over)}
            for turn, passes in enumerate(turns, start=1)
            for over in passes
        ],
        "turns": [
            {"turn": turn, "sentence": turn_sentence(request, passes)}
            for turn, passes in enumerate(turns, start=1)
            if passes
        ],
        "sentence": turn_sentence(request, next((passes for passes in reversed(turns) if passes), ())),
        "ended": ended,
        "sound": None if condition is None else _condition_json(condition),
        "faults": list(faults),
        "takes": list(takes),
    }
    return to_json(found)


def take_json(request: PracticeRequest, kept: Kept, file: str) -> str:
    """What stands beside a kept take."""
    return to_json(
        {
            "file": file,
            "sample_rate": kept.rate,
            "duration_sec": len(kept.sound) / kept.rate,
            "lick": request.lick.id,
            "key": request.lick.key,
            "tempo_half_bpm": request.tempo_half_bpm,
            "click": request.click,
            "turn": kept.turn,
            "part": kept.part,
            "passes": [_pass_json(request, over) for over in kept.passes],
            "sentence": turn_sentence(request, kept.passes),
        }
    )


def turn_sentence(request: PracticeRequest, passes: Sequence[PassOver]) -> str:
    """The one sentence after a turn, of the passes that were played to their end."""
    told = [over.judged for over in passes if over.complete and over.heard]
    if not told and any(over.heard for over in passes):
        return "No pass was played to its end: nothing can be told yet."
    notes = [note for judged in told for note in judged.outcome.notes]
    landed = sum(note.verdict == "landed" for note in notes)
    heard = sum(judged.heard_notes for judged in told)
    if notes and landed < _ASTRAY * len(notes) and heard > 2 * _ASTRAY * len(notes):
        return (
            "I hear you, but hardly any note lies where the click asks for it: wireless headphones are later "
            "than the system says, so use a wire; if you do, check the lick and its tempo."
        )
    return sentence(request.lick, told, request.limits)


_ASTRAY = 0.25
"""With fewer notes of the lick in their places than that, it is not the player who is late."""


def _pass_json(request: PracticeRequest, over: PassOver) -> dict[str, Any]:
    said = sentence(request.lick, [over.judged], request.limits)
    return {
        "pass": over.number,
        "part": over.part,
        "complete": over.complete,
        "heard": over.heard,
        "moved_ms": over.moved_ms,
        **outcome_json(over.judged.outcome, said),
    }


def _condition_json(condition: Condition) -> dict[str, Any]:
    return {
        "microphone": condition.source,
        "output": condition.sink,
        "sample_rate": condition.rate,
        "block": condition.block,
        "round_trip_ms": 1e3 * condition.round_trip_sec,
        "unsure_ms": 1e3 * condition.unsure_sec,
        "basis": condition.basis,
        "drift_ppm": condition.drift_ppm,
        "overflows": condition.overflows,
        "underflows": condition.underflows,
        "dropped": condition.dropped,
    }


def _notes(over: PassOver) -> list[str]:
    """What is to be known about a pass besides its verdicts."""
    found = []
    if not over.complete:
        found.append("not complete")
    if over.shaken:
        found.append(f"the round trip moved by some {over.moved_ms:.0f} ms: take its timing with care")
    return found
