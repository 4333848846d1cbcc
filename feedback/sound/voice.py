"""One note of one string: what the stroke gives to its partials, and how its pitch and level go.

The problem: a slurred note is no stroke. It keeps the string's motion at the new length and adds little: a
hammered fret a dull blow, a pull-off a dull pluck at the fret that was left, a slide next to nothing.

Conventions: `level_db` sets a note's power over its first 70 ms, whatever string or fret, so that the truth
about levels is the truth of the sound. Pitch that moves (a stroke begins a little sharp, chokes glide, slides
go fret by fret) is one change of the time axis, the same for all partials. Departs from a real string in that
partials do not exchange energy.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from feedback.played import PlayedNote
from feedback.sound.banjo import NUT_MIDI, SCALE_MM, Banjo, Manner
from feedback.sound.partials import NEPERS_PER_DB, hz_of, mean_power, pointers, read_at

REFERENCE_DBFS = -24.0
"""Power of a note at level 0 over `LEVEL_SEC`, in decibels of full scale."""

LEVEL_SEC = 0.070
"""Over which a level is meant, as in `listener.notes`."""

AFTER_SEC = 0.030
"""How much longer than its duration a note is made, for what ends it."""

_HIGHEST_HZ = 11_000.0
_PARTIALS_MOST = 60
_KNOCKS = 16
_FRET_STEP_SEC = 0.006


@dataclass(frozen=True, slots=True, kw_only=True)
class _Excitation:
    """What starts a note: how bright, how suddenly, how much of a knock and of the string's last motion."""

    bright: float
    attack_sec: float
    knock_db: float
    kept_db: float
    sharp: float


_EXCITATIONS: Mapping[str, _Excitation] = MappingProxyType(
    {
        "pick": _Excitation(bright=1.0, attack_sec=0.0007, knock_db=0.0, kept_db=-np.inf, sharp=1.0),
        "choke": _Excitation(bright=1.0, attack_sec=0.0007, knock_db=0.0, kept_db=-np.inf, sharp=1.0),
        "hammer": _Excitation(bright=0.28, attack_sec=0.0020, knock_db=-9.0, kept_db=-4.0, sharp=0.3),
        "pull": _Excitation(bright=0.30, attack_sec=0.0015, knock_db=-15.0, kept_db=-5.0, sharp=0.3),
        "slide": _Excitation(bright=0.35, attack_sec=0.0050, knock_db=-24.0, kept_db=12.0, sharp=0.0),
    }
)
"""`knock_db` is against the pick's; `kept_db` is what rings on, against what is added."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """The motion of one string: two damped pointers a partial; arrays of shape (2, partials)."""

    amplitude: np.ndarray
    nepers_per_sec: np.ndarray

    def after(self, sec: float) -> np.ndarray:
        """Amplitudes that much later."""
        now: np.ndarray = self.amplitude * np.exp(-self.nepers_per_sec * sec)
        return now


class Voice:
    """Makes single notes of one instrument.

    Parameters
    ----------
    rate : int
        Samples a second.
    banjo : Banjo
    rng : numpy.random.Generator
        Drawn from for each note in turn.
    manner : Manner
    """

    def __init__(self, rate: int, banjo: Banjo, rng: np.random.Generator, manner: Manner) -> None:
        self._rate, self._banjo, self._rng, self._manner = rate, banjo, rng, manner
        self._knocks = [head_knock(rate, banjo, rng, manner) for _ in range(_KNOCKS)]

    def note(
        self, note: PlayedNote, before: PlayedNote | None, kept: np.ndarray | None
    ) -> tuple[np.ndarray, Motion]:
        """Make one note, its level set, not yet ended.

        Parameters
        ----------
        note : PlayedNote
        before : PlayedNote or None
            The note before it on its string.
        kept : numpy.ndarray or None
            What the string still has of that note, as from `Motion.after`; None where it was ended.

        Returns
        -------
        signal : numpy.ndarray
            Shape (n,), float32, `AFTER_SEC` longer than the note's duration.
        motion : Motion
            What the string does from the onset on.
        """
        rate, rng = self._rate, self._rng
        how = _EXCITATIONS["pick"] if note.picked else self._slurred(note)
        cents = self._banjo.tuning_cents + rng.normal(0.0, self._banjo.intonation_cents)
        cents += self._manner.string_cents[note.string - 1]
        numbers, hz = self._partials(note, cents)
        motion = self._plucked(note, before, numbers, hz, how)
        phase = rng.uniform(-1.0, 1.0, (2, len(hz)))
        if kept is not None:
            motion = _carried_on(motion, kept, how)
        lasts_sec = note.duration_sec + max(AFTER_SEC, self._manner.touch_left_sec)
        count = int(max(lasts_sec, 1.2 * LEVEL_SEC) * rate)
        time = self._time_axis(note, how, count)
        detune = 2.0 ** (self._banjo.tail_detune_cents / 1200.0)
        straight = pointers(
            motion.amplitude.ravel(),
            phase.ravel(),
            np.concatenate([hz, hz * detune]),
            motion.nepers_per_sec.ravel(),
            int(time[-1]) + 4,
            rate,
        )
        signal = read_at(straight, time)
        attack = max(2, round(how.attack_sec * rate))
        signal[:attack] *= np.sin(np.linspace(0.0, np.pi / 2, attack, dtype=np.float32)) ** 2
        first = slice(0, int(LEVEL_SEC * rate))
        knock = self._knocks[int(rng.integers(_KNOCKS))]
        heard = min(len(knock), len(signal))
        size = mean_power(signal[first]) ** 0.5 * 10.0 ** ((self._banjo.knock_db + how.knock_db) / 20.0)
        signal[:heard] += (size * knock[:heard]).astype(np.float32)
        size = max(1e-12, mean_power(signal[first]) ** 0.5)
        gain = 10.0 ** ((REFERENCE_DBFS + note.level_db) / 20.0) / size
        signal *= np.float32(gain)
        return signal, Motion(amplitude=motion.amplitude * gain, nepers_per_sec=motion.nepers_per_sec)

    def _slurred(self, note: PlayedNote) -> _Excitation:
        """What this instrument and hand make of a slur."""
        manner, usual = self._manner, _EXCITATIONS[note.how]
        knock_db = usual.knock_db + manner.slur_knock_db
        if manner.slur_knock_spread_db:
            knock_db += self._rng.normal(0.0, manner.slur_knock_spread_db)
        return replace(
            usual,
            bright=usual.bright * manner.slur_bright,
            attack_sec=usual.attack_sec * manner.slur_attack,
            knock_db=knock_db,
        )

    def _partials(self, note: PlayedNote, cents: float) -> tuple[np.ndarray, np.ndarray]:
        first_hz = hz_of(note.midi, cents)
        frets = note.midi - NUT_MIDI[note.string - 1]
        stiffness = self._banjo.stiffness[note.string - 1] * 2.0 ** (max(0, frets) / 6.0)
        numbers = np.arange(1, _PARTIALS_MOST + 1)
        hz = first_hz * numbers * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))
        keep = hz < min(_HIGHEST_HZ, 0.45 * self._rate)
        return numbers[keep], hz[keep]

    def _plucked(
        self,
        note: PlayedNote,
        before: PlayedNote | None,
        numbers: np.ndarray,
        hz: np.ndarray,
        how: _Excitation,
    ) -> Motion:
        """What the stroke (or the blow, or the pull) gives to each partial, as the head radiates it."""
        banjo = self._banjo
        length_mm = SCALE_MM * 2.0 ** (-(note.midi - NUT_MIDI[note.string - 1]) / 12.0)
        place = banjo.pick_mm / length_mm
        if not note.picked and note.how == "pull" and before is not None:
            # The finger plucks at the fret that it leaves: near the far end of what now sounds.
            place = 1.0 - 2.0 ** (-abs(before.midi - note.midi) / 12.0)
        comb = np.abs(np.sin(np.pi * numbers * place))
        bright_hz = banjo.pick_bright_hz * how.bright * 2.0 ** (note.level_db / 24.0)
        tilt_db = banjo.string_bright_db[note.string - 1] * np.log2(hz / 1000.0)
        stroke = (0.05 + comb) / numbers / (1.0 + (hz / bright_hz) ** 2) * 10.0 ** (tilt_db / 20.0)
        ripple_db = self._rng.normal(0.0, self._manner.ripple_db, len(hz))
        early = stroke * banjo.head_gain(hz) * 10.0 ** (ripple_db / 20.0)
        late = early * 10.0 ** (banjo.tail_db / 20.0)
        stopped = (SCALE_MM / length_mm) ** banjo.decay_stopped if note.fret else 1.0
        return Motion(
            amplitude=np.stack([early, late]),
            nepers_per_sec=np.stack(banjo.decays(hz)) * NEPERS_PER_DB * stopped,
        )

    def _time_axis(self, note: PlayedNote, how: _Excitation, count: int) -> np.ndarray:
        """Where on the straight signal each of `count` samples is read, in samples."""
        sec = np.arange(count) / self._rate
        sharp = self._banjo.sharp_cents * how.sharp * 10.0 ** (note.level_db / 20.0)
        cents = sharp * np.exp(-sec / self._banjo.sharp_sec)
        if note.from_midi is not None and note.arrive_sec is not None:
            reach = self._manner.choke_reach if note.how == "choke" else 1.0
            cents += 100.0 * (note.from_midi - note.midi) * (1.0 - reach * arrived(note, sec))
        steps = 2.0 ** (cents / 1200.0)
        return np.concatenate([[0.0], np.cumsum(steps[:-1])])


def arrived(note: PlayedNote, sec: np.ndarray) -> np.ndarray:
    """How far a moving note has come, 0 to 1, at seconds after its onset (same shape)."""
    if note.from_midi is None or note.arrive_sec is None or note.from_midi == note.midi:
        return np.ones_like(sec)
    takes = note.arrive_sec - note.onset_sec
    if note.how != "slide":
        share = _eased(sec / takes)
        if note.let_down_sec is not None:
            share = share - _eased((sec - (note.let_down_sec - note.onset_sec)) / takes)
        return share
    frets = abs(note.midi - note.from_midi)
    reached_sec = takes * np.arange(1, frets + 1) / frets
    steps = _eased((sec[:, None] - reached_sec) / _FRET_STEP_SEC + 1.0)
    share_of_frets: np.ndarray = steps.mean(axis=1)
    return share_of_frets


def _eased(share: np.ndarray) -> np.ndarray:
    """From 0 to 1 without a corner."""
    eased: np.ndarray = 0.5 - 0.5 * np.cos(np.pi * np.clip(share, 0.0, 1.0))
    return eased


def _carried_on(added: Motion, kept: np.ndarray, how: _Excitation) -> Motion:
    """The motion of a slurred string: what it did before, at its new length, and what the slur adds."""
    both = min(kept.shape[1], added.amplitude.shape[1])
    kept_size, added_size = np.sqrt(np.sum(kept**2)), np.sqrt(np.sum(added.amplitude**2))
    if kept_size <= 0.0:
        return added
    amplitude = added.amplitude * (kept_size / added_size) * 10.0 ** (-how.kept_db / 20.0)
    amplitude[:, :both] = np.hypot(amplitude[:, :both], kept[:, :both])
    return Motion(amplitude=amplitude, nepers_per_sec=added.nepers_per_sec)


def head_knock(rate: int, banjo: Banjo, rng: np.random.Generator, manner: Manner) -> np.ndarray:
    """The head's answer to a pick: its resonances, and a dry tick; 60 ms, power 1 over `LEVEL_SEC`."""
    hz = np.array([*banjo.head_hz, 4200.0, 5600.0])
    q = np.array([*banjo.head_q, 4.0, 4.0])
    size = banjo.head_gain(hz) * 10.0 ** (rng.normal(0.0, 2.5, len(hz)) / 20.0)
    phase = rng.uniform(-np.pi, np.pi, len(hz))
    decay = np.pi * hz / q / manner.knock_length
    knock = pointers(size, phase, hz, decay, int(0.060 * rate), rate).astype(np.float64)
    tick = np.diff(rng.standard_normal(int(0.004 * rate)) * np.hanning(int(0.004 * rate)))
    knock[: len(tick)] += manner.knock_tick * tick
    knock[:8] *= np.linspace(0.0, 1.0, 8)
    knock /= np.sqrt(np.sum(knock**2) / (LEVEL_SEC * rate))
    return knock
