"""The lick as a model: played exactly as it is written, to be heard and played after.

The problem: a lick is learnt by ear before it is learnt by tab, at a tempo that may be slow, and some of it
round and round. So the simulated player plays it with a hand that has no habits: every note on its place and
as loud as the others, slurs a little softer, so that no seven is swallowed; on an instrument that is in tune,
in a small room, without noise.

Conventions: seconds and samples count from the beginning of what is returned: the first bar of the count-in
if there is one, else the pickup, else the downbeat of bar 1. A note that is due at t begins on sample
round(t * rate). Rounds lie the lick's bars (and the rest bars) apart and are one performance: what rings at
the end of one rings on in the next until its string is struck again. The endless loop is one such round,
whose strings end where the next round strikes them; laid again and again its bars apart it has no seam.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedback.clicking import strokes
from feedback.performance import HandSettings, Performance, as_heard, perform
from feedback.played import rung
from feedback.player import render
from feedback.session import TurnPlan, after_count_in
from feedback.sound.banjo import Banjo
from feedback.sound.click import render as render_click
from feedback.sound.room import Room
from routines.errors import BadRoutine
from routines.lick import Lick, quarter_sec

LEVEL_DB = -24.0
"""Peak of the model where nothing else is asked for, in dB of full scale."""

CLICK_DB = -24.0
"""Peak of the click's accent where nothing else is asked for, in dB of full scale."""

EXACT_HAND = HandSettings(
    jitter_ms=0.0,
    dynamics_db=0.0,
    thumb_db=0.0,
    slur_db=-2.0,
    pinch_ms=0.0,
    slide_ms=(35.0, 35.0),
    choke_ms=(110.0, 110.0),
    lift_ms=(0.0, 0.0),
)
"""The hand of the model: no habits, no unevenness."""

_BANJO = Banjo(intonation_cents=0.0)
_ROOM = Room(noise_dbfs=float("-inf"))
_SEED = 7  # what is left open of the sound: phases, ripples, the room's reflections
_HAIR_SEC = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Looped:
    """One round of an endless loop.

    Attributes
    ----------
    sound : ndarray of float32, shape (n,)
        From the first sample of the pickup to the end of what rings on; longer than the round.
    last : ndarray of float32, shape (m,)
        The same for a round that no other follows: its strings ring out.
    apart_sec : float
        How long after it the next round is to be laid.
    """

    sound: np.ndarray
    last: np.ndarray
    apart_sec: float


def model(
    lick: Lick,
    *,
    tempo_half_bpm: float,
    rate: int,
    rounds: int = 1,
    rest_bars: int = 0,
    level_db: float = LEVEL_DB,
    click: str | None = None,
    click_db: float = CLICK_DB,
) -> np.ndarray:
    """The lick as a model.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
        More than 0.
    rate : int
        Samples a second, within `feedback.player.RATES`.
    rounds : int
        How often it is played, at least 1.
    rest_bars : int
        Between two rounds.
    level_db : float
        Peak of the banjo, in dB of full scale.
    click : str, optional
        A row of `feedback.clicking.CLICKS`, with its count-in; none by default.
    click_db : float
        Peak of its accent, in dB of full scale.

    Returns
    -------
    numpy.ndarray
        Shape (n,), float32; to `feedback.player.TAIL_SEC` beyond the last onset.

    Raises
    ------
    BadRoutine
        If tempo or rate is out of range.
    Usage
        If there is no such click, or its level is out of range.
    """
    plan = _plan(lick, tempo_half_bpm, rounds, rest_bars, counted_in=click is not None)
    sound = _levelled(_rendered(_played(plan), rate), level_db)
    if click is None:
        return sound
    return _added(sound, render_click(strokes(plan, click), rate=rate, level_db=click_db, quiet_sec=0.0))


def plan_model(
    plan: TurnPlan, *, rate: int, level_db: float = LEVEL_DB
) -> tuple[np.ndarray, tuple[tuple[float, int], ...]]:
    """The model in every pass of a turn.

    Parameters
    ----------
    plan : TurnPlan
    rate : int
        Samples a second.
    level_db : float
        Peak, in dB of full scale.

    Returns
    -------
    ndarray of float32, shape (n,)
        From 0 seconds of the plan.
    tuple of (float, int)
        What sounds, by time: seconds of the plan and pitch; of a choke or a picked slide both the pitch that
        is struck and the one that is reached.
    """
    played = _played(plan)
    found = set()
    for note in as_heard(played):
        reached = round(max((cents for _, cents in note.path), key=abs, default=0.0) / 100.0)
        found |= {(note.onset_sec, note.midi), (note.onset_sec, note.midi + reached)}
    return _levelled(_rendered(played, rate), level_db), tuple(sorted(found))


def model_notes(
    lick: Lick, *, tempo_half_bpm: float, rounds: int = 1, rest_bars: int = 0, counted_in: bool = False
) -> tuple[tuple[float, int], ...]:
    """What sounds in `model`, as a flawless listener would say it: seconds and pitch, by time.

    Parameters
    ----------
    lick, tempo_half_bpm, rounds, rest_bars
        As in `model`.
    counted_in : bool
        Whether a count-in comes before it, as where a click is asked for.

    Returns
    -------
    tuple of (float, int)
        Of a choke or a picked slide the pitch that is struck, of a slide in a slur the one that is reached.
    """
    plan = _plan(lick, tempo_half_bpm, rounds, rest_bars, counted_in=counted_in)
    return tuple((note.onset_sec, note.midi) for note in as_heard(_played(plan)))


def looped(
    lick: Lick,
    *,
    tempo_half_bpm: float,
    rate: int,
    level_db: float = LEVEL_DB,
    click: str | None = None,
    click_db: float = CLICK_DB,
) -> Looped:
    """One round of the lick played round and round, without rest.

    Parameters
    ----------
    lick, tempo_half_bpm, rate, level_db, click, click_db
        As in `model`; the click has no count-in. The level is that of the rounds laid together.

    Returns
    -------
    Looped

    Raises
    ------
    BadRoutine, Usage
        As `model`.
    """
    plan = _plan(lick, tempo_half_bpm, 2, 0, counted_in=False)
    alone, both = replace(plan, passes=1), _played(plan)
    once = replace(both, notes=both.notes[: len(both.notes) // 2])
    ends_sec = max(note.onset_sec + note.duration_sec for note in once.notes)
    apart_sec = plan.starts_sec[1] - plan.starts_sec[0]
    sound = _rendered(once, rate, duration_sec=ends_sec + _ROOM.rt60_sec + _ROOM.delay_sec)
    gain = np.float32(_gain(_laid_together(sound, round(apart_sec * rate)), level_db))
    sound, last = gain * sound, gain * _rendered(_played(alone), rate)
    if click is not None:
        within = [s for s in strokes(alone, click) if s.sec >= alone.first_start_sec - _HAIR_SEC]
        clicks = render_click(within, rate=rate, level_db=click_db, quiet_sec=0.0)
        sound, last = _added(sound, clicks), _added(last, clicks)
    return Looped(sound=sound, last=last, apart_sec=apart_sec)


def _plan(lick: Lick, tempo_half_bpm: float, rounds: int, rest_bars: int, *, counted_in: bool) -> TurnPlan:
    if not 0.0 < tempo_half_bpm < np.inf:
        raise BadRoutine(f"tempo {tempo_half_bpm:g}: give half notes a minute, more than 0")
    plan = after_count_in(lick, tempo_half_bpm, passes=rounds, rest_bars=rest_bars)
    if counted_in:
        return plan
    return replace(plan, first_start_sec=lick.pickup_quarters * quarter_sec(tempo_half_bpm))


def _played(plan: TurnPlan) -> Performance:
    """All rounds as one performance: the hand leaves a shape where the chord changes, also between rounds."""
    lick, quarter = plan.lick, quarter_sec(plan.tempo_half_bpm)
    rounds = [
        perform(lick, tempo_half_bpm=plan.tempo_half_bpm, seed=_SEED, start_sec=start, hand=EXACT_HAND)
        for start in plan.starts_sec
    ]
    before = (lick.chords[-1], *lick.chords[:-1])
    changes = [s for s, b in zip(lick.chords, before, strict=True) if s.chord != b.chord]
    lifts = [start + span.start_quarters * quarter for start in plan.starts_sec for span in changes]
    notes = [replace(note, let_down_sec=None) for one in rounds for note in one.notes]
    return replace(rounds[0], notes=rung(notes, lifts))


def _rendered(performance: Performance, rate: int, duration_sec: float | None = None) -> np.ndarray:
    return render(
        performance, rate=rate, seed=_SEED, instrument=_BANJO, room=_ROOM, duration_sec=duration_sec
    )


def _levelled(sound: np.ndarray, level_db: float) -> np.ndarray:
    made: np.ndarray = sound * np.float32(_gain(sound, level_db))
    return made


def _gain(sound: np.ndarray, level_db: float) -> float:
    peak = float(np.max(np.abs(sound), initial=0.0))
    return 10.0 ** (level_db / 20.0) / peak if peak > 0.0 else 1.0


def _laid_together(sound: np.ndarray, apart: int) -> np.ndarray:
    """A round with all that rings into it from the rounds before."""
    padded = np.concatenate([sound, np.zeros(-len(sound) % apart, sound.dtype)])
    together: np.ndarray = padded.reshape(-1, apart).sum(axis=0)
    return together


def _added(sound: np.ndarray, other: np.ndarray) -> np.ndarray:
    whole = np.zeros(max(len(sound), len(other)), np.float32)
    whole[: len(sound)] = sound
    whole[: len(other)] += other
    return whole
