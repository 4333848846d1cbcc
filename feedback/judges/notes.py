"""What became of each target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedback.candidates import Pair, bends, in_time, late_limits_sec, rest_sec, together
from feedback.grid import EIGHTH_QUARTERS, HAIR_SEC, Grid, Habits
from feedback.heard import Sound
from feedback.judges.deafness import Deaf, touches
from feedback.judges.ownsound import Own, at_once
from listener.notes import NoteEvent
from routines.outcome import NoteVerdict, Verdict

_SAME_STROKE_SEC = 0.045  # a listener says no pitch twice within this


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """How one target was answered.

    Attributes
    ----------
    sound : int
        Index of the sound that has its pitch (of a choke or slide: where it arrived).
    struck_sec : float
        When it is timed: the pick of a choke or slide, the first voice of a pinch.
    arrived_late : bool
        Whether a choke or slide took more than half an eighth to arrive.
    start : int or None
        Index of the sound in which a choke or slide began, where that is another one.
    """

    sound: int
    struck_sec: float
    arrived_late: bool = False
    start: int | None = None


def answers(grid: Grid, sounds: Sequence[Sound], pairs: Sequence[Pair]) -> dict[int, Answer]:
    """When and by what each target was answered.

    Parameters
    ----------
    grid : Grid
    sounds : sequence of Sound
    pairs : sequence of Pair

    Returns
    -------
    dict of int to Answer
        By target, for those that were given a sound.
    """
    taken = {pair.sound for pair in pairs}
    found: dict[int, Answer] = {}
    for pair in pairs:
        answer = Answer(sound=pair.sound, struck_sec=sounds[pair.sound].onset_sec)
        if pair.right and bends(grid.lick.notes, pair.target):
            answer = _from_its_pick(grid, sounds, taken, pair, answer)
        found[pair.target] = answer
    pinch_sec = grid.limits.pinch_ms / 1e3 + HAIR_SEC
    for voices in together(grid.lick.notes):
        first = min((found[index].struck_sec for index in voices if index in found), default=0.0)
        for index in voices:
            if index in found and found[index].struck_sec - first <= pinch_sec:
                found[index] = replace(found[index], struck_sec=first)
    return found


def note_verdicts(
    grid: Grid,
    sounds: Sequence[Sound],
    pairs: Sequence[Pair],
    answered: dict[int, Answer],
    habits: Habits,
    deaf: Deaf = (),
    doubtful: Sequence[NoteEvent] = (),
    own: Own = (),
) -> list[NoteVerdict]:
    """Judge every target.

    Parameters
    ----------
    grid : Grid
    sounds : sequence of Sound
    pairs : sequence of Pair
    answered : dict of int to Answer
        From `answers`.
    habits : Habits
    deaf : Deaf
        Where the listener could not listen: a target there, or one that may have come there, landed or is
        unclear.
    doubtful : sequence of NoteEvent
        What may have come, too thinly to be called heard.
    own : Own
        Notes of our own that the microphone hears: a target that coincides with one is unclear.

    Returns
    -------
    list of NoteVerdict
        One for each target, in order.
    """
    by_target = {pair.target: pair for pair in pairs}
    limits = late_limits_sec(grid)
    thin = _thin(grid, sounds, answered, habits, doubtful)
    verdicts = []
    for index, target in enumerate(grid.lick.notes):
        due = grid.due_sec(target.onset_quarters)
        pair = by_target.get(index)
        word: Verdict
        heard_midi = deviation = rest = None
        if pair is None:
            lost = _may_be_lost(grid, habits, index, limits.get(index), deaf)
            word = "unclear" if lost or index in thin or _hidden(grid, index, by_target) else "missed"
        else:
            heard_midi = sounds[answered[index].sound].midi
            deviation = answered[index].struck_sec - due
            rest = rest_sec(grid, habits, target, answered[index].struck_sec)
            word = _word(grid, index, pair, sounds[pair.sound], answered[index], rest)
            if word != "landed" and _in_deaf(grid, index, answered[index].struck_sec, deaf):
                word = "unclear"
        if _is_ours(grid, index, None if pair is None else answered[index].struck_sec, own):
            word = "unclear"
        verdicts.append(
            NoteVerdict(
                index=index,
                onset_sec=due,
                midi=target.midi,
                string=target.string,
                fret=target.fret,
                role=target.role,
                core=target.core,
                verdict=word,
                heard_midi=heard_midi,
                deviation_ms=None if deviation is None else 1e3 * deviation,
                rest_ms=None if rest is None else 1e3 * rest,
            )
        )
    return verdicts


def _from_its_pick(
    grid: Grid, sounds: Sequence[Sound], taken: set[int], pair: Pair, answer: Answer
) -> Answer:
    """Time a choke or an in-eighth slide from its pick, and find where it arrived."""
    target = grid.lick.notes[pair.target]
    first = sounds[pair.sound]
    if first.midi != target.midi:
        arrived = next(k for k, s in enumerate(sounds) if s.moved and s.event == first.event)
        late = sounds[arrived].onset_sec - first.onset_sec > grid.eighth_sec / 2 + HAIR_SEC
        return Answer(sound=arrived, struck_sec=first.onset_sec, arrived_late=late, start=pair.sound)
    arrival = first.onset_sec
    starts = [
        k
        for k, sound in enumerate(sounds)
        if sound.midi == target.from_midi
        and k not in taken
        and not sound.moved
        and 0 < arrival - sound.onset_sec < grid.eighth_sec
    ]
    if not starts:
        return answer
    start = starts[-1]
    struck = sounds[start].onset_sec
    late = arrival - struck > grid.eighth_sec / 2 + HAIR_SEC
    return Answer(sound=pair.sound, struck_sec=struck, arrived_late=late, start=start)


def _word(grid: Grid, index: int, pair: Pair, sound: Sound, answer: Answer, rest: float) -> Verdict:
    if not pair.sure:
        return "unclear"
    if not pair.right:
        target = grid.lick.notes[index]
        began_right = sound.midi == target.from_midi and bends(grid.lick.notes, index)
        # The ear gives a path where it saw the pitch move. It misses about one choke in twenty in a roll and
        # one in three in a pinch (bench paths): no path does not say that the string was not pushed.
        return "unclear" if (began_right and not sound.has_path) or not sound.blamed else "wrong"
    if abs(rest) <= grid.window_of(grid.lick.notes[index]) + HAIR_SEC:
        return "late" if answer.arrived_late else "landed"
    return "early" if rest < 0 else "late"


def _thin(
    grid: Grid,
    sounds: Sequence[Sound],
    answered: dict[int, Answer],
    habits: Habits,
    doubtful: Sequence[NoteEvent],
) -> set[int]:
    """Silent targets that may have come: each doubtful note may be one, the nearest that it can be.

    Of a choke, or a slide of one stroke, the pitch where it begins is heard. What is doubtful in a stroke in
    which that very pitch was heard and answers a target is that note once more.
    """
    limits = late_limits_sec(grid)
    claimed = [sounds[answer.sound] for answer in answered.values()]
    found: set[int] = set()
    for event in doubtful:
        same = [sound.onset_sec for sound in claimed if sound.midi == event.midi]
        if any(abs(sec - event.onset_sec) < _SAME_STROKE_SEC for sec in same):
            continue
        may_be: list[tuple[float, int]] = []
        for index, target in enumerate(grid.lick.notes):
            pitches = {target.midi, target.from_midi} if bends(grid.lick.notes, index) else {target.midi}
            if index in answered or event.midi not in pitches:
                continue
            rest = rest_sec(grid, habits, target, event.onset_sec)
            if in_time(grid, index, rest, limits):
                may_be.append((abs(rest), index))
        if may_be:
            found.add(min(may_be)[1])
    return found


def _in_deaf(grid: Grid, index: int, struck_sec: float, deaf: Deaf) -> bool:
    """Whether a target's place, half an eighth around it, or its answer lies where nothing was heard."""
    due = grid.due_sec(grid.lick.notes[index].onset_quarters)
    reach = grid.eighth_sec / 2
    return touches(deaf, due - reach, due + reach) or touches(deaf, struck_sec, struck_sec)


def _is_ours(grid: Grid, index: int, struck_sec: float | None, own: Own) -> bool:
    """Whether a note of our own has a target's pitch at its place, or where it was heard."""
    target = grid.lick.notes[index]
    due = grid.due_sec(target.onset_quarters)
    return at_once(own, target.midi, due) or (
        struck_sec is not None and at_once(own, target.midi, struck_sec)
    )


def _may_be_lost(grid: Grid, habits: Habits, index: int, latest_sec: float | None, deaf: Deaf) -> bool:
    """Whether a silent target may have come where nothing was heard.

    It is looked for from half an eighth before its place, or before where the habits bring it, to the latest
    that it may be (`latest_sec` after that for a seven, else less than an eighth).
    """
    target = grid.lick.notes[index]
    due = grid.due_sec(target.onset_quarters)
    usual = due + habits.expected_sec(target.onset_quarters, due)
    begin = min(due, usual) - grid.eighth_sec / 2
    end = usual + (grid.eighth_sec - HAIR_SEC if latest_sec is None else latest_sec + HAIR_SEC)
    return touches(deaf, begin, end)


def _hidden(grid: Grid, index: int, by_target: dict[int, Pair]) -> bool:
    """Whether silence at a target says nothing: a fresh unison, or the other voice of a pinch."""
    notes = grid.lick.notes
    target = notes[index]
    for pair in by_target.values():
        before = target.onset_quarters - notes[pair.target].onset_quarters
        unison = pair.right and notes[pair.target].midi == target.midi
        if before == 0 or (unison and 0 < before < EIGHTH_QUARTERS / 2):
            return True
    return False
