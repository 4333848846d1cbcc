"""Finding where in a take a lick begins, and how fast, without a click.

Every heard note votes, for every target of its pitch, for the start that would put the one on the other. At
the right tempo the votes of a whole pass fall into one narrow place. The best places are then matched with
care, and the line through the matched notes (a median of slopes, which a few wrong notes do not tilt) gives
start and tempo. It is laid through the odd eighths where these are enough: the even ones may be bounced.

A lick is recognised where the notes heard and the notes asked for agree: another lick of the same key shares
many a pitch and place, but plays other notes between, too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedback.grid import EIGHTH_QUARTERS, Grid, Habits
from feedback.heard import Sound, sounds_of
from feedback.judges.limits import Limits
from feedback.matcher import match
from listener.notes import NoteEvent
from routines.lick import Lick, quarter_sec

SLOWEST_HALF_BPM, FASTEST_HALF_BPM = 36.0, 170.0
_STEP = 1.015
_AROUND_GIVEN = (0.95, 0.97, 0.985, 1.0, 1.015, 1.03, 1.05)
_NEAR_GIVEN = 0.06
_FEWEST = 5
_AGREES = 0.6
_AS_VOTED = 0.7
_AS_GOOD = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a pass begins.

    Attributes
    ----------
    start_sec : float
        Downbeat of bar 1.
    tempo_half_bpm : float
        As given, or as found.
    share : float
        Share of the targets that were answered in pitch and place; 0 to 1.
    agreement : float
        Twice these targets, over all targets and all notes heard there; 0 to 1.
    """

    start_sec: float
    tempo_half_bpm: float
    share: float
    agreement: float


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
        Of passes that follow one another the first; of places that overlap, the first that has about the most
        of the lick. None where fewer than five notes of it can be found, or what was heard agrees with it by
        less than three in five.
    """
    heard = [e for e in events if e.onset_sec >= not_before_sec and e.confidence >= limits.sure]
    sounds = sounds_of(heard, limits)
    tries = _unlike([place for tempo in _tempos(tempo_half_bpm) for place in _places(lick, heard, tempo)])
    found: list[Start] = []
    for rough in sorted(tries, key=lambda rough: rough.start_sec):
        if found and rough.start_sec > _over_sec(lick, found[0]):
            break
        start = _look_closely(lick, sounds, limits, rough, tempo_half_bpm)
        if start is not None:
            found.append(start)
    if not found:
        return None
    enough = _AS_GOOD * max(start.share for start in found)
    first = next(start for start in found if start.share >= enough)
    same = [s for s in found if abs(s.start_sec - first.start_sec) < quarter_sec(s.tempo_half_bpm)]
    return max(same, key=lambda start: (start.share, start.agreement))


def _over_sec(lick: Lick, start: Start) -> float:
    """When another pass may follow the one that begins there."""
    return start.start_sec + (lick.end_quarters - EIGHTH_QUARTERS) * quarter_sec(start.tempo_half_bpm)


def _tempos(given: float | None) -> list[float]:
    if given is not None:
        return [given * factor for factor in _AROUND_GIVEN]
    steps = int(np.log(FASTEST_HALF_BPM / SLOWEST_HALF_BPM) / np.log(_STEP))
    return [SLOWEST_HALF_BPM * _STEP**k for k in range(steps + 1)]


@dataclass(frozen=True, slots=True)
class _Rough:
    votes: int
    tempo_half_bpm: float
    start_sec: float


def _places(lick: Lick, heard: Sequence[NoteEvent], tempo: float) -> list[_Rough]:
    """The starts with most votes at one tempo, at least a quarter apart; a target votes once."""
    quarter = quarter_sec(tempo)
    votes = [
        (event.onset_sec - note.onset_quarters * quarter, index)
        for index, note in enumerate(lick.notes)
        for event in heard
        if event.midi == note.midi
    ]
    if not votes:
        return []
    votes.sort()
    starts = np.array([sec for sec, _ in votes])
    width = quarter / 4
    ends = np.searchsorted(starts, starts + width, side="right")
    counts = [len({index for _, index in votes[k:end]}) for k, end in enumerate(ends)]
    most = max(counts)
    best: list[_Rough] = []
    for k in sorted(range(len(votes)), key=lambda k: (-counts[k], k)):
        if counts[k] < max(_FEWEST, _AS_VOTED * most):
            break
        centre = float(np.median(starts[k : ends[k]]))
        if all(abs(centre - other.start_sec) > quarter for other in best):
            best.append(_Rough(counts[k], tempo, centre))
    return best


def _unlike(tries: Sequence[_Rough]) -> list[_Rough]:
    """The tries that have about the most votes, those with more first, without near doubles."""
    most = max((rough.votes for rough in tries), default=0)
    kept: list[_Rough] = []
    for rough in sorted(tries, key=lambda rough: -rough.votes):
        if rough.votes < _AS_VOTED * most:
            break
        near_sec = quarter_sec(rough.tempo_half_bpm) / 2
        if not any(
            abs(rough.start_sec - other.start_sec) <= near_sec
            and abs(rough.tempo_half_bpm / other.tempo_half_bpm - 1) <= _NEAR_GIVEN
            for other in kept
        ):
            kept.append(rough)
    return kept


def _look_closely(
    lick: Lick, sounds: Sequence[Sound], limits: Limits, rough: _Rough, given: float | None
) -> Start | None:
    """Match around a rough start, and fit the line through what matched."""
    tempo, sec = rough.tempo_half_bpm, rough.start_sec
    for _ in range(3):
        grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=sec, limits=limits)
        near = [
            s
            for s in sounds
            if abs(grid.quarters(s.onset_sec)) < lick.end_quarters + 4 + lick.pickup_quarters
        ]
        pairs = [p for p in match(grid, near, Habits()) if p.right]
        if len(pairs) < _FEWEST:
            return None
        quarters = np.array([lick.notes[p.target].onset_quarters for p in pairs])
        times = np.array([near[p.sound].onset_sec for p in pairs])
        odd = quarters % 1.0 == 0.0
        on = odd if odd.sum() >= _FEWEST else np.ones_like(odd)
        slope = _slope(quarters[on], times[on])
        if slope > 0:
            tempo = 30.0 / slope
        sec = float(np.median(times[on] - quarters[on] * quarter_sec(tempo)))
    if given is not None and abs(tempo / given - 1) > _NEAR_GIVEN:
        return None
    grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=sec, limits=limits)
    begin = grid.due_sec(lick.notes[0].onset_quarters) - grid.eighth_sec / 2
    end = grid.due_sec(lick.notes[-1].onset_quarters) + grid.eighth_sec / 2
    there = sum(begin <= s.onset_sec <= end and not s.moved for s in near)
    rests = times - sec - quarters * quarter_sec(tempo)
    hits = int(np.sum(np.abs(rests) <= 2 * grid.window_sec))
    agreement = 2 * hits / (len(lick.notes) + there)
    if hits < _FEWEST or agreement < _AGREES:
        return None
    return Start(
        start_sec=sec,
        tempo_half_bpm=given or tempo,
        share=hits / len(lick.notes),
        agreement=min(1.0, agreement),
    )


def _slope(quarters: np.ndarray, values: np.ndarray) -> float:
    """Median of the slopes between all notes at least a quarter apart."""
    apart = quarters[None, :] - quarters[:, None]
    rise = values[None, :] - values[:, None]
    far = apart >= 1.0
    return float(np.median(rise[far] / apart[far])) if far.any() else 0.0
