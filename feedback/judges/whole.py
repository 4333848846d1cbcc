"""The judges in their order: match, measure the habits, judge notes, guide tones, timing, and the pass.

Which notes are matched depends on the player's lean, and the lean on which notes are matched: the two are
found in turns until neither moves, starting from no lean at all. What lies in a deaf stretch is matched and
judged by the habits that the other notes show, and tells of none itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from feedback.candidates import Pair
from feedback.grid import Grid, Habits
from feedback.heard import Sound, sounds_of
from feedback.judges.clean import clean_pass
from feedback.judges.deafness import Deaf, inside, touches
from feedback.judges.extras import extras
from feedback.judges.falls import PassHeard
from feedback.judges.notes import Answer, answers, note_verdicts
from feedback.judges.ownsound import Own, at_once
from feedback.judges.sevenths import guide_verdicts
from feedback.judges.tempo import tempo_course
from feedback.judges.timing import (
    FEWEST_FOR_DRIFT,
    Deviation,
    bounce_sec,
    deviations,
    habits_of,
    hurry_at_change,
    spread_sec,
    steadied,
)
from feedback.matcher import match
from listener.notes import NoteEvent
from routines.outcome import NoteVerdict, PassOutcome, Timing

_TURNS_AT_MOST = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What is known about a pass besides its notes.

    Attributes
    ----------
    start_found : bool
        The start was found from the take: there is no lean, and drift is taken off.
    click_off : bool
        No click held the tempo (off, or thinned): drift is shown and taken off.
    deaf : Deaf
        Stretches that could not be listened to: when a note came there tells nothing of the player's time.
    own : Own
        Notes of our own that the microphone hears: what coincides with one is unclear.
    beside : Own
        Others of our own that it hears: what coincides with one is not called added, nor takes a target's
        place.
    doubtful : sequence of NoteEvent
        What was expected and may have come, too thinly to be called heard: silence there is unclear.
    earlier : sequence of Deviation
        What `Judged.played` holds of passes before this one at the same tempo; they help to find the bounce.
    habits : Habits
        How the player's time is known to go before anything is matched: matching begins from there.
    """

    start_found: bool = False
    click_off: bool = False
    deaf: Deaf = ()
    own: Own = ()
    beside: Own = ()
    doubtful: Sequence[NoteEvent] = ()
    earlier: Sequence[Deviation] = field(default=())
    habits: Habits = field(default=Habits())

    @property
    def free(self) -> bool:
        """Whether the player set the tempo."""
        return self.start_found or self.click_off


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A pass judged, with what later passes need of it.

    Attributes
    ----------
    outcome : PassOutcome
    played : tuple of Deviation
        Of the notes that timing is measured on, lean and drift taken off; none of a deaf stretch.
    habits : Habits
    hurried : bool
        Whether the change was hurried while the rest of the pass was steady.
    heard_notes : int
        How many notes were heard at all, in this pass or around it.
    levels : tuple of (int, float)
        Of each target that was heard at its pitch, by place: how loud, in dB against full scale.
    """

    outcome: PassOutcome
    played: tuple[Deviation, ...]
    habits: Habits
    hurried: bool
    heard_notes: int
    levels: tuple[tuple[int, float], ...] = ()


def judge_pass(grid: Grid, events: Sequence[NoteEvent], circumstances: Circumstances | None = None) -> Judged:
    """Judge one pass.

    Parameters
    ----------
    grid : Grid
    events : sequence of NoteEvent
        What was heard; the round trip is taken off already. Those of other passes do no harm.
    circumstances : Circumstances, optional

    Returns
    -------
    Judged
    """
    about = circumstances or Circumstances()
    sounds = [s for s in sounds_of(events, grid.limits) if _within(grid, s) and not _beside(grid, s, about)]
    pairs, answered, habits, played = _settle(grid, sounds, about)
    verdicts = note_verdicts(grid, sounds, pairs, answered, habits, about.deaf, about.doubtful, about.own)
    ours = about.own, about.beside
    added = [extra for _, extra in extras(grid, sounds, answered, habits, about.deaf, ours)]
    heard = PassHeard(
        grid=grid, sounds=sounds, answered=answered, verdicts=verdicts, habits=habits, deaf=about.deaf
    )
    sevenths = guide_verdicts(heard, grid.lick.sevenths)
    thirds = guide_verdicts(heard, grid.lick.thirds)
    right = {pair.target for pair in _told(grid, pairs, answered, about) if pair.right and pair.sure}
    rests = {v.index: v.rest_ms / 1e3 for v in verdicts if v.index in right and v.rest_ms is not None}
    picked = [rest for index, rest in rests.items() if grid.lick.notes[index].picked]
    spread = spread_sec(picked)
    hurry = hurry_at_change(grid, rests)
    level = steadied(played, habits)
    late_even = bounce_sec([*about.earlier, *level])
    drift = about.free and len(played) >= FEWEST_FOR_DRIFT
    outcome = PassOutcome(
        lick=grid.lick.id,
        key=grid.lick.key,
        tempo_half_bpm=grid.tempo_half_bpm,
        start_sec=grid.start_sec,
        start_found=about.start_found,
        clean=clean_pass(grid, verdicts, added, sevenths, thirds, _ms(spread)),
        notes=tuple(verdicts),
        extras=tuple(added),
        sevenths=tuple(sevenths),
        thirds=tuple(thirds),
        timing=Timing(
            lean_ms=None if about.start_found or not played else _ms(habits.lean_sec),
            bounce=None if late_even is None else 0.5 + late_even / (2 * grid.eighth_sec),
            spread_ms=_ms(spread),
            drift_percent=100.0 * (1.0 / (1.0 + habits.slope) - 1.0) if drift else None,
            hurry_at_change_ms=None if hurry is None else _ms(hurry.mean_sec),
            tempo_course=tempo_course(grid, played, habits, free=drift),
        ),
    )
    hurried = hurry is not None and hurry.holds(grid.window_sec)
    return Judged(
        outcome=outcome,
        played=tuple(level),
        habits=habits,
        hurried=hurried,
        heard_notes=len(events),
        levels=_levels(verdicts, sounds, answered),
    )


def _levels(
    verdicts: Sequence[NoteVerdict], sounds: Sequence[Sound], answered: dict[int, Answer]
) -> tuple[tuple[int, float], ...]:
    heard = [v.index for v in verdicts if v.verdict in ("landed", "early", "late")]
    return tuple((index, sounds[answered[index].sound].level_db) for index in heard)


def _settle(
    grid: Grid, sounds: Sequence[Sound], about: Circumstances
) -> tuple[list[Pair], dict[int, Answer], Habits, list[Deviation]]:
    """Match and measure in turns until the assignment stands still."""
    habits = about.habits
    pairs = match(grid, sounds, habits)
    for _ in range(_TURNS_AT_MOST):
        answered, played = _timed(grid, sounds, pairs, about)
        habits = habits_of(played, about.earlier, with_drift=about.free and len(played) >= FEWEST_FOR_DRIFT)
        again = match(grid, sounds, habits)
        same = [(p.target, p.sound) for p in again] == [(p.target, p.sound) for p in pairs]
        pairs = again
        if same:
            break
    answered, played = _timed(grid, sounds, pairs, about)
    return pairs, answered, habits, played


def _timed(
    grid: Grid, sounds: Sequence[Sound], pairs: Sequence[Pair], about: Circumstances
) -> tuple[dict[int, Answer], list[Deviation]]:
    answered = answers(grid, sounds, pairs)
    told = _told(grid, pairs, answered, about)
    return answered, deviations(grid, told, [answered[pair.target].struck_sec for pair in told])


def _told(grid: Grid, pairs: Sequence[Pair], answered: dict[int, Answer], about: Circumstances) -> list[Pair]:
    """Those that tell of the player's time: nothing was lost where they were due, or were struck.

    Nor was it one of our own notes that was heard.
    """
    lost = inside(about.deaf)
    found = []
    for pair in pairs:
        due = grid.due_sec(grid.lick.notes[pair.target].onset_quarters)
        struck = answered[pair.target].struck_sec
        if at_once(about.own, grid.lick.notes[pair.target].midi, struck):
            continue
        if not (touches(lost, due, due) or touches(lost, struck, struck)):
            found.append(pair)
    return found


def _within(grid: Grid, sound: Sound) -> bool:
    """Whether a sound can concern this pass: within two eighths of it."""
    begin = grid.due_sec(-grid.lick.pickup_quarters) - 2 * grid.eighth_sec
    end = grid.due_sec(grid.lick.end_quarters) + 2 * grid.eighth_sec
    return begin <= sound.onset_sec < end


def _beside(grid: Grid, sound: Sound, about: Circumstances) -> bool:
    """Whether a sound is what is left of our backing: it coincides with it, and answers no target there."""
    if not at_once(about.beside, sound.midi, sound.onset_sec):
        return False
    return not any(
        sound.midi in (target.midi, target.from_midi)
        and abs(grid.due_sec(target.onset_quarters) - sound.onset_sec) < grid.eighth_sec
        for target in grid.lick.notes
    )


def _ms(sec: float | None) -> float | None:
    return None if sec is None else 1e3 * sec
