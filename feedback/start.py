"""Finding where in a take a lick begins, and how its tempo goes, without a click.

Rough places (`feedback.places`) are looked at closely (`feedback.tracing`). A lick is recognised where the
notes heard and the notes asked for agree, more than they would by chance somewhere in such a take: another
lick of the same key shares many a pitch and place, but plays other notes between, too; and in five minutes of
noodling nearly everything turns up somewhere.

Who begins and breaks off, or goes back to the top, leaves a stretch of the lick unplayed: the first whole
pass is the one that is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from feedback.grid import EIGHTH_QUARTERS, Grid, Habits
from feedback.heard import sounds_of
from feedback.judges.limits import Limits
from feedback.places import FEWEST, Rough, Votes, places, votes_of
from feedback.tracing import Trace, nearest, traced
from listener.notes import NoteEvent
from routines.lick import Lick, quarter_sec

SLOWEST_HALF_BPM, FASTEST_HALF_BPM = 36.0, 170.0
_STEP_QUARTERS = 0.24
_STEP_MOST = 0.03
_NEAR_GIVEN = 0.06
_AGREES = 0.6
_CHANCE = 0.03
_MORE_THAN_VOTES = 1.25
_AS_GOOD = 0.9
_THIRD = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a pass begins.

    Attributes
    ----------
    start_sec : float
        Downbeat of bar 1.
    tempo_half_bpm : float
        As given, or as found over the pass.
    share : float
        Share of the targets that were answered in pitch and place; 0 to 1.
    agreement : float
        Twice these targets, over all targets and all notes heard there; 0 to 1.
    off_sec : float
        How far these lie from the course of the pass, in the mean.
    habits : Habits
        How the player's time goes against a steady grid at this start and tempo.
    whole : bool
        Whether it goes to the end of the lick: at least half of its last third of notes was played.
    """

    start_sec: float
    tempo_half_bpm: float
    share: float
    agreement: float
    off_sec: float
    habits: Habits
    whole: bool


def find_start(
    lick: Lick,
    events: Sequence[NoteEvent],
    limits: Limits,
    *,
    tempo_half_bpm: float | None = None,
    not_before_sec: float = 0.0,
) -> Start | None:
    """Find the first good pass through a lick.

    Parameters
    ----------
    lick : Lick
    events : sequence of NoteEvent
    limits : Limits
    tempo_half_bpm : float, optional
        Where given, the take may be up to some 5 % faster or slower, and the tempo found is the given one;
        where not, any tempo between `SLOWEST_HALF_BPM` and `FASTEST_HALF_BPM` is tried.
    not_before_sec : float
        Earlier notes are left out.

    Returns
    -------
    Start or None
        Of whole passes that follow one another the first; of places that overlap, the first that has about
        the most of the lick; where no pass is whole, the one that has most. None where fewer than five notes
        of the lick can be found, what was heard agrees with it by less than three in five, or as much of it
        could come together by chance.
    """
    heard = [e for e in events if e.onset_sec >= not_before_sec and e.confidence >= limits.sure]
    votes = votes_of(lick, sounds_of(heard, limits))
    found: list[Start] = []
    over_sec = np.inf
    for rough in places(lick, votes, _tempos(lick, tempo_half_bpm)):
        if rough.start_sec > over_sec:
            break
        start = _look_closely(lick, votes, limits, rough, tempo_half_bpm)
        if start is not None:
            found.append(start)
            if start.whole:
                over_sec = min(over_sec, _over_sec(lick, start))
    return _meant(lick, found)


def tempo_from(lick: Lick, events: Sequence[NoteEvent], limits: Limits, start_sec: float) -> float | None:
    """The tempo of the pass that begins at a known time.

    Parameters
    ----------
    lick : Lick
    events : sequence of NoteEvent
    limits : Limits
    start_sec : float
        Downbeat of its bar 1.

    Returns
    -------
    float or None
        In half notes a minute. A pass that is found later in the take is looked past; where none is found
        at that start, its tempo is the next best guess. None where nothing can be found.
    """
    from_sec = start_sec - lick.pickup_quarters * quarter_sec(SLOWEST_HALF_BPM)
    elsewhere: float | None = None
    while True:
        found = find_start(lick, events, limits, not_before_sec=from_sec)
        if found is None:
            return elsewhere
        quarter = quarter_sec(found.tempo_half_bpm)
        if abs(found.start_sec - start_sec) <= quarter:
            return found.tempo_half_bpm
        elsewhere = elsewhere or found.tempo_half_bpm
        begins_sec = found.start_sec - lick.pickup_quarters * quarter - EIGHTH_QUARTERS * quarter / 2
        sooner = [event for event in events if event.onset_sec < begins_sec]
        if len(sooner) == len(events):
            return elsewhere
        events = sooner


def _meant(lick: Lick, found: list[Start]) -> Start | None:
    """The first whole pass; of those that overlap, the first that has about the most of the lick."""
    if not found:
        return None
    whole = sorted((start for start in found if start.whole), key=lambda start: start.start_sec)
    if not whole:
        return max(found, key=_how_good)
    rivals = [start for start in whole if start.start_sec <= _over_sec(lick, whole[0])]
    enough = _AS_GOOD * max(start.share for start in rivals)
    first = next(start for start in rivals if start.share >= enough)
    near_sec = quarter_sec(first.tempo_half_bpm)
    same = [start for start in rivals if abs(start.start_sec - first.start_sec) < near_sec]
    return max(same, key=_how_good)


def _how_good(start: Start) -> tuple[float, float, float]:
    return start.share, start.agreement, -start.off_sec


def _over_sec(lick: Lick, start: Start) -> float:
    """When another pass may follow the one that begins there."""
    return start.start_sec + (lick.end_quarters - EIGHTH_QUARTERS) * quarter_sec(start.tempo_half_bpm)


def _tempos(lick: Lick, given: float | None) -> list[float]:
    """Tempos so dense that the ends of the lick are out by little more than a sixteenth of a quarter."""
    span = lick.notes[-1].onset_quarters - lick.notes[0].onset_quarters if lick.notes else 0.0
    step = min(_STEP_QUARTERS / max(span, 1.0), _STEP_MOST)
    slowest, fastest = SLOWEST_HALF_BPM, FASTEST_HALF_BPM
    if given is not None:
        slowest, fastest = given * (1.0 - _NEAR_GIVEN), given * (1.0 + _NEAR_GIVEN)
    steps = ceil(np.log(fastest / slowest) / step)
    return [float(tempo) for tempo in np.geomspace(slowest, fastest, steps + 1)]


def _look_closely(
    lick: Lick, votes: Votes, limits: Limits, rough: Rough, given: float | None
) -> Start | None:
    """Follow the lick from a rough start, if what votes for it is more than chance."""
    window_sec = limits.window_sec(EIGHTH_QUARTERS * quarter_sec(rough.tempo_half_bpm))
    hoped = min(len(lick.notes), ceil(_MORE_THAN_VOTES * rough.votes))
    if _by_chance(lick, votes, hoped, 4 * window_sec) > _CHANCE:
        return None
    trace = traced(lick, votes, rough)
    return None if trace is None else _start(lick, votes, limits, trace, given)


def _start(lick: Lick, votes: Votes, limits: Limits, trace: Trace, given: float | None) -> Start | None:
    """What lies along a trace, if that is enough of the lick and little else."""
    if given is not None and abs(quarter_sec(given) / trace.quarter_sec - 1.0) > _NEAR_GIVEN:
        return None
    grid = Grid(
        lick=lick,
        tempo_half_bpm=given or quarter_sec(1.0) / trace.quarter_sec,
        start_sec=float(trace.sec(np.zeros(1))[0]),
        limits=limits,
    )
    begin, end = trace.sec(np.array([lick.notes[0].onset_quarters, lick.notes[-1].onset_quarters]))
    half, many = grid.eighth_sec / 2, len(lick.notes)
    near = nearest(votes, trace, 2 * grid.window_sec)
    there = int(np.diff(np.searchsorted(votes.struck_sec, (begin - half, end + half)))[0])
    hits = len(near)
    if hits < FEWEST or 2 * hits < _AGREES * (many + there):
        return None
    if _by_chance(lick, votes, hits, 4 * grid.window_sec) > _CHANCE:
        return None
    gained = trace.quarter_sec - grid.quarter_sec
    return Start(
        start_sec=grid.start_sec,
        tempo_half_bpm=grid.tempo_half_bpm,
        share=hits / many,
        agreement=min(1.0, 2 * hits / (many + there)),
        off_sec=float(np.mean(np.abs(votes.sec[near] - trace.sec(votes.quarters[near])))),
        habits=Habits(
            lean_sec=trace.middle * gained - trace.middle**2 * trace.bend,
            bounce_sec=trace.even_late_sec,
            slope=gained / grid.quarter_sec,
            bend=trace.bend / grid.quarter_sec**2,
            about_sec=grid.due_sec(trace.middle),
        ),
        whole=_whole(many, votes.target[near]),
    )


def _by_chance(lick: Lick, votes: Votes, hits: int, window_sec: float) -> float:
    """In how many places of such a take so much of the lick would come together by chance.

    As if each note of the take were a place to begin, and the notes of each pitch were strewn over it evenly:
    a bound on the tail of a binomial (Hoeffding 1963). The voices of a pinch count as one.
    """
    onsets = {note.onset_quarters for note in lick.notes}
    length = max(float(np.ptp(votes.struck_sec)), window_sec)
    often = np.bincount(votes.target, minlength=len(lick.notes)) / length
    share = hits / len(lick.notes)
    usual = float(np.mean(1.0 - np.exp(-often * window_sec)))
    if share <= usual:
        return np.inf
    apart = share * np.log(share / usual)
    if share < 1.0:
        apart += (1.0 - share) * np.log((1.0 - share) / (1.0 - usual))
    return float(len(votes.struck_sec) * np.exp(-len(onsets) * apart))


def _whole(many: int, answered: np.ndarray) -> bool:
    """Whether at least half of the last third of the targets was answered."""
    third = ceil(many / _THIRD)
    return bool((answered >= many - third).sum() >= third / 2)
