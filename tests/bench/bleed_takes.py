"""Takes with bleed: what the program plays, through a small loudspeaker and a room, beside a banjo.

The problem: bleed is no noise. It begins with the player's own notes, since they are played to it, and it
comes back coloured by the smallest loudspeakers and by the room, a little before or after its time. So a
turn is laid on its plan, count-in and all; the simulated player plays it in time; and everything between
loudspeaker and microphone is drawn by the seed.

Conventions: a bleed lies so many decibels *under the banjo*: mean power over its sounding frames against that
of the banjo's. Frames have `FRAME_SEC`; those sound whose power is within `SOUNDING_DB` of the greatest. A
click is over within a frame, so its peak lies some 10 dB higher than a banjo's of the same power. The
response is 0.3 s long, of a room that dies by 60 dB in that time; its tail has -6 to +3 dB of the direct
sound's energy, which is a loudspeaker a metre or two away.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from feedback.backing import backing, render_backing
from feedback.clicking import strokes
from feedback.expect import expectations
from feedback.judges.limits import Limits
from feedback.session import TurnPlan, after_count_in
from feedback.sound.click import render as render_click
from feedback.sound.room import Room, added
from feedback.sources import simulated_turn
from listener.bleed import Bleed
from listener.expecting import Expectation
from routines.library import load
from tests.bench.passages import truth_of
from tests.bench.renders import RATE, SIMULATED, Renders
from tests.bench.takes import Take

LICKS = (
    "first-log-up", "off-the-green-chain", "slab-wood-supper", "trimmers-choice", "forward-roll",
    "log-deck-waltz",
)  # fmt: skip
"""Take turns, by seed."""

PASSES = 3
TEMPO_SHARE = 0.9
"""Of a lick's top tempo."""

LEVEL_DB = -12.0
"""Of what is played, as the program's levels are."""

FRAME_SEC = 0.05
SOUNDING_DB = 20.0
LATE_SEC = (-0.010, 0.020)
"""Between these a response begins, against its time."""

ROOM_SEC = 0.3

_FIRST_SEED = 8000
_MODEL_SEED = 9000
_WET_DB = (-6.0, 3.0)
_CEPSTRUM = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A turn that is played with nothing beside it.

    Attributes
    ----------
    take : Take
    plan : TurnPlan
    asked : sequence of Expectation
        What an ear is told that knows the lick.
    """

    take: Take
    plan: TurnPlan
    asked: Sequence[Expectation]

    @property
    def samples(self) -> int:
        """Length of its sound."""
        return len(self.take.sound)


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """What the program plays meanwhile: its sound, as long as the turn's, and when its strokes begin."""

    sound: np.ndarray
    strokes_sec: np.ndarray


def turn(sound: str, number: int, renders: Renders) -> Turn:
    """The turn of a seed, counted from 0, on an instrument that `Renders` takes."""
    lick = load(LICKS[number % len(LICKS)])
    plan = after_count_in(lick, round(TEMPO_SHARE * lick.top_tempo_half_bpm), passes=PASSES)
    seed = _FIRST_SEED + 10 * number
    made, played, _ = renders.sounded(simulated_turn(plan, mistakes=((),) * PASSES, seed=seed), sound)
    length = max(len(made), round(plan.end_sec * RATE))
    noise = np.random.default_rng(seed).standard_normal(length - len(made)) * 1e-3
    return Turn(
        take=Take(
            nps=plan.tempo_half_bpm / 15.0,
            truth=truth_of(played),
            sound=np.concatenate([made, noise.astype(np.float32)]),
            rate=RATE,
        ),
        plan=plan,
        asked=tuple(one for grid in plan.grids(Limits()) for one in expectations(grid)),
    )


def _clicked(kind: str, plan: TurnPlan) -> Output:
    laid = strokes(plan, kind)
    made = render_click(laid, rate=RATE, level_db=LEVEL_DB, quiet_sec=plan.first_start_sec)
    return Output(sound=made, strokes_sec=np.array([stroke.sec for stroke in laid]))


def _backed(plan: TurnPlan) -> Output:
    secs = np.array(sorted({one.sec for one in backing(plan)}))
    return Output(sound=render_backing(plan, rate=RATE, level_db=LEVEL_DB), strokes_sec=secs)


def _both(plan: TurnPlan) -> Output:
    click, band = _clicked("halves", plan), _backed(plan)
    length = max(len(click.sound), len(band.sound))
    return Output(
        sound=_long(click.sound, length) + _long(band.sound, length),
        strokes_sec=np.union1d(click.strokes_sec, band.strokes_sec),
    )


KINDS: Mapping[str, Callable[[TurnPlan], Output]] = MappingProxyType(
    {
        "halves": lambda plan: _clicked("halves", plan),
        "chop": lambda plan: _clicked("chop", plan),
        "backing": _backed,
        "both": _both,
    }
)
"""What is played: a click on half notes; one that chops; bass and chop, no click; the first and the third."""


def output(kind: str, one: Turn) -> Output:
    """What the program plays in a turn: one of `KINDS`."""
    made = KINDS[kind](one.plan)
    return Output(sound=_long(made.sound, one.samples), strokes_sec=made.strokes_sec)


def model(one: Turn, renders: Renders) -> Output:
    """The turn's own lick as another player plays it at the same time."""
    played = simulated_turn(one.plan, mistakes=((),) * one.plan.passes, seed=_MODEL_SEED)
    made, came_true, _ = renders.sounded(played, SIMULATED)
    return Output(
        sound=_long(made, one.samples), strokes_sec=np.array([note.sounds_sec for note in came_true.notes])
    )


def come_back(sound: np.ndarray, seed: int) -> np.ndarray:
    """Sound as a microphone takes it in, from a loudspeaker and through a room of this seed; shape kept."""
    rng = np.random.default_rng([seed, 77])
    tail = Room(rt60_sec=ROOM_SEC, wet_db=float(rng.uniform(*_WET_DB))).impulse(RATE, rng)
    tail[0] = 1.0
    response = np.convolve(_loudspeaker(rng), tail)[: round(ROOM_SEC * RATE)]
    return delayed(added(sound, response), float(rng.uniform(*LATE_SEC)))


def delayed(sound: np.ndarray, sec: float) -> np.ndarray:
    """Sound later by any fraction of a sample, or earlier; same shape."""
    whole = np.zeros(len(sound) + 2 * RATE)
    whole[RATE:-RATE] = sound
    turned = np.exp(-2j * np.pi * np.fft.rfftfreq(len(whole)) * sec * RATE)
    moved: np.ndarray = np.fft.irfft(np.fft.rfft(whole) * turned, len(whole))[RATE:-RATE].astype(np.float32)
    return moved


def under(bleed: np.ndarray, banjo: np.ndarray, by_db: float) -> np.ndarray:
    """Bleed brought to so many decibels under the banjo."""
    scale = np.sqrt(sounding_power(banjo) / sounding_power(bleed)) * 10.0 ** (-by_db / 20.0)
    return bleed * np.float32(scale)


def sounding_power(sound: np.ndarray) -> float:
    """Mean power of a sound over its sounding frames."""
    frame = round(FRAME_SEC * RATE)
    frames = sound[: len(sound) // frame * frame].astype(np.float64).reshape(-1, frame)
    powers = np.mean(frames**2, axis=1)
    return float(np.mean(powers[powers >= powers.max() * 10.0 ** (-SOUNDING_DB / 10.0)]))


def cleaned_by(bleed: Bleed, taken: np.ndarray, played: np.ndarray) -> np.ndarray:
    """A whole take through the filter, what is played handed over ahead as it asks for."""
    ahead = bleed.ahead_samples
    silence = np.zeros(ahead, np.float32)
    bleed.feed(silence, played[:ahead])
    return bleed.feed(taken, np.concatenate([played[ahead:], silence]))


def _loudspeaker(rng: np.random.Generator) -> np.ndarray:
    """A small one: hardly anything far below 150 Hz, uneven above, of least delay (by its cepstrum)."""
    hz = np.maximum(np.fft.rfftfreq(_CEPSTRUM, 1.0 / RATE), 20.0)
    low, high = rng.uniform(110.0, 190.0), rng.uniform(11e3, 18e3)
    db = -10.0 * np.log10((1.0 + (low / hz) ** 4) * (1.0 + (hz / high) ** 6))
    knots = np.linspace(np.log(80.0), np.log(20e3), 14)
    db += np.interp(np.log(hz), knots, rng.normal(0.0, 2.5, len(knots)))
    cepstrum = np.fft.irfft(np.maximum(db, -70.0) * np.log(10.0) / 20.0)
    cepstrum[1 : _CEPSTRUM // 2] *= 2.0
    cepstrum[_CEPSTRUM // 2 + 1 :] = 0.0
    least: np.ndarray = np.fft.irfft(np.exp(np.fft.rfft(cepstrum)))[: _CEPSTRUM // 3]
    return least


def _long(sound: np.ndarray, length: int) -> np.ndarray:
    return np.pad(sound[:length], (0, max(0, length - len(sound))))
