"""What practising with the microphone tells: lines while it goes on, and the report.

Each line is true when it is said. For programs see `feedback.practice_json`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from feedback.advice import sentence
from feedback.clicking import words as click_words
from feedback.judges.ownsound import HEARD_DB
from feedback.marks import seven_marks
from feedback.offers import Offer, offer
from feedback.practice_events import (
    CountIn,
    Event,
    Fell,
    HeardAgain,
    LadderTold,
    NobodyPlays,
    Passed,
    PieceSet,
    Remarked,
    SoundBack,
    SoundLost,
    StringOff,
    TurnOver,
)
from feedback.practice_request import PracticeRequest
from feedback.report import heading, pass_text
from feedback.rollprint import roll_print, roll_print_lines
from feedback.session import COUNT_IN_BARS, PassOver
from feedback.tab_told import left_of_part, tab_told
from feedback.words import counted
from routines.tempo import tempo_words

if TYPE_CHECKING:
    from listener.run import Condition

LOUDNESS = (
    "Mind your ears: begin softly, keep headphones below about 80 dBA for 40 hours a week; a banjo is loud "
    "by itself. Rest five minutes in thirty."
)

REST = "Rest five minutes in thirty, and never play through pain: see a clinician."

_BASIS = {
    "stamps": "by the system's time stamps",
    "checked": "by the sound check and the system's time stamps",
    "measured": "as it was measured",
    "reported": "as the system says; not to be trusted",
}


NONE_PLAYED = "No pass was played to its end: nothing can be told yet."


def opening(request: PracticeRequest, condition: Condition) -> Iterator[str]:
    """What is said before the first count-in: the lick with its tab, the sound, the click, the caution."""
    yield from piece_lines(request)
    yield f"  {condition_line(condition)}"
    along = [
        click_words(request.click, request.lick, request.tempo_half_bpm),
        *(["bass and chop play along"] if request.backing else []),
        *(["the lick itself sounds along"] if request.model else []),
        *(["round and round"] if request.span else []),
    ]
    yield f"  {', '.join(along)}; Ctrl-C ends"
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


def bleed_line(request: PracticeRequest, condition: Condition) -> str | None:
    """What is to be known of what came back from a loudspeaker, None where next to nothing did."""
    back_db = condition.bleed_db
    if back_db is None or back_db < HEARD_DB:
        return None
    said = f"The loudspeaker was heard ({back_db:+.0f} dB against what was played)"
    if request.model:
        return (
            f"{said}: notes that coincide with the lick from it are unclear; headphones let them be judged."
        )
    return f"{said}; what was played was taken out of the microphone."


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
        case TurnOver(passes=passes) if not request.routine:  # of a warm-up one thing is said, at its end
            yield turn_sentence(request, passes)
            offered = turn_offer(request, passes)
            if offered is not None:
                yield offered.text
        case LadderTold(seen=seen) if seen.said:
            yield f"  {seen.said}"
        case PieceSet(request=next_one):
            yield ""
            yield from piece_lines(next_one)
        case Remarked(line=line):
            yield line
            yield REST
        case HeardAgain(speed=speed):
            how = "" if speed == 1.0 else " at half speed"
            yield f"  your last pass{how}, then the lick as it is written: listen"
        case StringOff(drifted=drifted):
            yield f"  {drifted.text}"
        case SoundLost(line=line):
            yield f"  sound lost: {line}"
        case SoundBack():
            yield "  the sound is back"
        case NobodyPlays():
            yield "Nothing was heard in two whole passes: done."


def piece_lines(request: PracticeRequest) -> Iterator[str]:
    """What is said of what is to be practised next: its words or its title, its tempo, its tab."""
    said = f"{request.says} | {tempo_words(request.tempo_half_bpm)}" if request.says else None
    yield said or heading(request.lick, request.tempo_half_bpm)
    left = left_of_part(request.lick, request.whole or request.lick)
    yield "\n".join(["", *tab_told(request.lick, left), ""])


def turn_offer(request: PracticeRequest, passes: Sequence[PassOver]) -> Offer | None:
    """What is offered after a turn, None where nothing is."""
    return offer(request.whole or request.lick, passes, span=request.span, typed=request.typed)


def pass_mark(request: PracticeRequest, over: PassOver) -> str:
    """A pass in a few words: its seven's mark, and what is to be known about it."""
    said = seven_marks(request.lick, over.judged.outcome) if over.heard else "nothing heard"
    return said + "".join(f" ({note})" for note in _notes(over))


def report_lines(
    request: PracticeRequest,
    turns: Sequence[Sequence[PassOver]],
    asked: Sequence[PracticeRequest] = (),
) -> Iterator[str]:
    """Everything in full after the last turn: pass by pass, and each turn's roll print.

    Parameters
    ----------
    request : PracticeRequest
        Its limits hold for all turns.
    turns : sequence of sequence of PassOver
    asked : sequence of PracticeRequest
        What was practised in each turn; where there is none, `request`.
    """
    limits = request.limits
    for turn, passes in enumerate(turns, start=1):
        lick = asked[turn - 1].lick if asked else request.lick
        for over in passes:
            if not over.heard:
                continue
            notes = "".join(f", {note}" for note in _notes(over))
            yield f"\nturn {turn}, pass {over.number}{notes}"
            yield pass_text(lick, over.judged.outcome, lean_unsure_ms=limits.lean_unsure_ms)
        piled = roll_print(lick, passes, limits)
        if piled is not None:
            yield "\n".join(["", f"turn {turn}", *roll_print_lines(piled)])


def turn_sentence(request: PracticeRequest, passes: Sequence[PassOver]) -> str:
    """The one sentence after a turn, of the passes that were played to their end."""
    told = [over.judged for over in passes if over.complete and over.heard]
    if not passes or (not told and any(over.heard for over in passes)):
        return NONE_PLAYED
    notes = [note for judged in told for note in judged.outcome.notes if note.verdict != "unclear"]
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


def _notes(over: PassOver) -> list[str]:
    """What is to be known about a pass besides its verdicts."""
    found = []
    if not over.complete:
        found.append("not complete")
    if over.shaken:
        found.append(f"the round trip moved by some {over.moved_ms:.0f} ms: take its timing with care")
    return found
