"""How the backing sounds: exact samples, levels, what it leaves to a banjo, and what an ear makes of it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.backing import BASS_LOWEST, BassNote, Chop, backing, render_backing
from feedback.errors import Usage
from feedback.session import TurnPlan, after_count_in
from feedback.sound import backing as made
from feedback.sound.backing import CHOP_DB, CHOP_SEC, DAMP_SEC, bass, chop, render
from feedback.sound.click import LEAST_RATE
from feedback.sound.mixing import CEILING_DB, LOUDEST_DB, SOFTEST_DB
from feedback.voicing import voiced
from listener.ear import Ear
from listener.notes import standing
from routines.chords import KINDS, Chord
from routines.library import load
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import lick

RATE = 44100
CHORD = (61, 64, 67, 69)
"""A7 as it is chopped."""

CHORDS = (CHORD, (62, 66, 69), (60, 64, 67), (59, 62, 65, 67))
BASSES = range(BASS_LOWEST, BASS_LOWEST + 12)


def _bass(sec: float, midi: int = 33, duration_sec: float = 0.6) -> BassNote:
    return BassNote(sec=sec, duration_sec=duration_sec, midi=midi)


def _chop(sec: float, midis: tuple[int, ...] = CHORD, rings_sec: float = 0.0) -> Chop:
    return Chop(sec=sec, midis=midis, rings_sec=rings_sec)


def _played(
    *laid: BassNote | Chop, rate: int = RATE, level_db: float = -12.0, quiet_sec: float = 0.0
) -> np.ndarray:
    return render(laid, rate=rate, level_db=level_db, quiet_sec=quiet_sec)


def _db(value: float) -> float:
    return 20.0 * math.log10(value)


def _peak_db(signal: np.ndarray) -> float:
    return _db(float(np.max(np.abs(signal))))


def _share_db(signal: np.ndarray, low_hz: float, high_hz: float) -> float:
    """Power between two frequencies against all of it."""
    power = np.abs(np.fft.rfft(signal, 1 << 17)) ** 2
    hz = np.fft.rfftfreq(1 << 17, 1 / RATE)
    return 10.0 * math.log10(float(np.sum(power[(hz >= low_hz) & (hz < high_hz)]) / np.sum(power)))


def _loudness_db(signal: np.ndarray, above_hz: float = 0.0) -> float:
    """A-weighted level of the loudest eighth of a second (IEC 61672) of what is above a frequency."""
    padded = np.concatenate([signal, np.zeros(RATE // 2)])
    hz = np.fft.rfftfreq(len(padded), 1 / RATE)
    square = np.maximum(hz, 1e-3) ** 2
    curve = 12194.0**2 * square**2 * 10.0**0.1
    curve /= (square + 20.6**2) * np.sqrt((square + 107.7**2) * (square + 737.9**2)) * (square + 12194.0**2)
    heard = np.fft.irfft(np.fft.rfft(padded) * curve * (hz >= above_hz), len(padded))
    long = RATE // 8
    energy = np.cumsum(np.concatenate([[0.0], heard**2]))
    return 10.0 * math.log10(float(np.max(energy[long:] - energy[:-long])) / long)


class TestSamples:
    @in_turn("rate", [LEAST_RATE, 44100, 48000, 96000])
    @in_turn("sec", [0.0, 0.1234567, 1 / 3, 2.9999899])
    def test_a_lone_note_begins_on_its_sample(self, rate: int, sec: float) -> None:
        for one in (
            _bass(sec),
            _bass(sec, 28),
            _bass(sec, 39),
            _chop(sec),
            _chop(sec, ()),
            _chop(sec, CHORD, 0.5),
        ):
            signal = _played(one, rate=rate, level_db=SOFTEST_DB)
            assert signal.dtype == np.float32
            assert signal.ndim == 1
            assert np.flatnonzero(signal)[0] == round(sec * rate)
            assert np.flatnonzero(np.abs(signal) > 1e-9 * np.max(np.abs(signal)))[0] == round(sec * rate)

    def test_it_is_heard_at_once(self) -> None:
        for one in (_bass(0.0), _chop(0.0), _chop(0.0, ())):
            signal = np.abs(_played(one))
            assert np.flatnonzero(signal > np.max(signal) / 10.0)[0] < 0.006 * RATE

    @pytest.mark.parametrize("name", ["pond-mans-lean", "log-deck-waltz", "first-log-up"])
    def test_a_turn_is_its_notes_laid_on_their_samples(self, name: str) -> None:
        plan = after_count_in(load(name), 87.3, passes=2)
        whole = render_backing(plan, rate=48000, level_db=-20.0)
        sums = np.zeros(len(whole))
        for one in backing(plan):
            alone = _played(one, rate=48000, level_db=-20.0)
            assert not alone[: round(one.sec * 48000)].any()
            sums[: len(alone)] += alone
        assert np.allclose(whole, sums, atol=1e-6)
        assert not whole[: round(plan.first_start_sec * 48000)].any()
        assert abs(len(whole) - plan.end_sec * 48000) <= 1.0

    def test_one_note_of_the_bass_sounds_at_a_time(self) -> None:
        plan = after_count_in(load("guide-tone-pinches"), 101.7, passes=2)
        notes = [one for one in backing(plan) if isinstance(one, BassNote)]
        for one, after in pairwise(notes):
            assert len(_played(one)) <= round(after.sec * RATE) + 1

    def test_no_two_renders_differ(self) -> None:
        plan = after_count_in(load("slab-wood-supper"), 88.0)
        first = render_backing(plan, rate=RATE, level_db=-12.0)
        made._string.cache_clear()
        chop.cache_clear()
        again = render(backing(plan)[::-1], rate=RATE, level_db=-12.0)
        assert np.array_equal(first, render_backing(plan, rate=RATE, level_db=-12.0))
        assert np.allclose(first, again, atol=1e-7)

    def test_no_notes_no_samples(self) -> None:
        assert _played().shape == (0,)
        assert _played().dtype == np.float32

    @in_turn("midi", BASSES)
    def test_a_note_of_the_bass_is_damped_without_a_click(self, midi: int) -> None:
        count = round(0.5 * RATE)
        free, damped = bass(midi, 2 * count, RATE)[:count], bass(midi, count, RATE)
        touched = count - round(DAMP_SEC * RATE)
        assert DAMP_SEC <= 0.030
        assert np.array_equal(free[:touched], damped[:touched])
        assert np.max(np.abs(free[-200:])) > 0.02
        assert np.max(np.abs(damped[-5:])) < 1e-4
        # A string that is cut off there has a click; of it, only a ten-thousandth of the power may be left.
        come = np.sin(np.linspace(0.0, np.pi / 2, count // 2)) ** 2
        cut_power, power = (
            np.sum(np.abs(np.fft.rfft(one[count // 2 :] * come, 1 << 16)[3000:]) ** 2)
            for one in (free, damped)
        )
        assert power < 1e-4 * cut_power

    def test_a_long_note_dies_by_itself(self) -> None:
        note = bass(28, 10 * RATE, RATE)
        assert len(note) < 3 * RATE
        assert np.max(np.abs(note[-5:])) < 1e-4

    def test_notes_are_not_written_to(self) -> None:
        one, other = bass(33, 9000, RATE), bass(33, 20000, RATE)
        assert np.array_equal(one[:7000], other[:7000])
        assert not chop(CHORD, 0, RATE).flags.writeable


class TestLevels:
    @in_turn("level_db", [SOFTEST_DB, -23.5, LOUDEST_DB])
    @in_turn("rate", [LEAST_RATE, 44100, 48000])
    def test_the_level_is_the_peak_of_every_note_of_the_bass(self, level_db: float, rate: int) -> None:
        for midi in BASSES:
            assert _peak_db(_played(_bass(0.2, midi), rate=rate, level_db=level_db)) == pytest.approx(
                level_db, abs=1e-3
            )
        for midis in (*CHORDS, ()):
            signal = _played(_chop(0.2, midis), rate=rate, level_db=level_db)
            assert _peak_db(signal) == pytest.approx(level_db + CHOP_DB, abs=1e-3)

    @in_turn("of", few_licks(), ids=lambda one: one.id)
    def test_every_lick_at_its_loudest(self, of: object) -> None:
        plan = after_count_in(of, 96.0, passes=2)  # type: ignore[arg-type]
        loud = render_backing(plan, rate=RATE, level_db=LOUDEST_DB)
        assert np.all(np.isfinite(loud))
        assert np.max(np.abs(loud)) <= 10 ** (CEILING_DB / 20) * (1 + 1e-6)
        assert abs(np.mean(loud)) < 0.002 * np.max(np.abs(loud))
        # Up to the ending nothing is turned down.
        before = round((plan.end_sec - 0.5) * RATE) - 10
        soft = render_backing(plan, rate=RATE, level_db=LOUDEST_DB - 20.0)
        assert np.allclose(loud[:before], 10.0 * soft[:before], atol=1e-5)
        assert _peak_db(soft) < LOUDEST_DB - 20.0 + 2.5

    @in_turn("kind", KINDS)
    def test_every_kind_of_chord(self, kind: str) -> None:
        for root in ("C", "F#", "Bb"):
            plan = after_count_in(lick("3/0", f"{root}{kind} ."), 110.0, passes=1)
            signal = render_backing(plan, rate=RATE, level_db=-12.0)
            assert np.all(np.isfinite(signal))
            assert -12.1 < _peak_db(signal) < -9.5

    @given(
        st.lists(
            st.tuples(st.floats(0.0, 0.4), st.sampled_from([28, 33, 39]), st.sampled_from([*CHORDS, ()])),
            min_size=1,
            max_size=8,
        )
    )
    @settings(max_examples=20, deadline=None)
    def test_whatever_falls_together_stays_under_the_ceiling(
        self, laid: list[tuple[float, int, tuple[int, ...]]]
    ) -> None:
        notes = [note for sec, midi, midis in laid for note in (_bass(sec, midi), _chop(sec, midis))]
        signal = _played(*notes, level_db=LOUDEST_DB)
        assert np.max(np.abs(signal)) <= 10 ** (CEILING_DB / 20) * (1 + 1e-6)

    def test_what_is_turned_down_keeps_its_shape_and_the_rest_its_level(self) -> None:
        crowd = [_chop(0.0), _chop(0.0), _chop(0.0), _bass(0.03), _chop(0.2), _bass(0.8)]
        loud, soft = _played(*crowd, level_db=LOUDEST_DB), _played(*crowd, level_db=LOUDEST_DB - 20.0)
        ratio = loud[np.abs(soft) > 1e-4] / soft[np.abs(soft) > 1e-4]
        at = np.flatnonzero(np.abs(soft) > 1e-4)
        assert np.ptp(ratio[at < 0.6 * RATE]) < 1e-2
        assert ratio[0] < 8.0
        assert np.allclose(ratio[at > 0.8 * RATE], 10.0, rtol=1e-3)

    def test_it_comes_up_evenly_where_it_is_to_begin_quietly(self) -> None:
        secs = (0.0, 1.0, 2.0, 3.0, 5.0)
        signal = _played(*(_bass(sec) for sec in secs), level_db=-20.0, quiet_sec=3.0)
        peaks = [_peak_db(signal[round(sec * RATE) :][:20000]) for sec in secs]
        assert peaks == pytest.approx([-32.0, -28.0, -24.0, -20.0, -20.0], abs=1e-3)


class TestHowItSounds:
    @in_turn("midi", BASSES)
    def test_the_bass_leaves_the_banjo_its_band_and_is_heard_on_a_small_speaker(self, midi: int) -> None:
        note = bass(midi, round(0.6 * RATE), RATE)
        assert _share_db(note, 400.0, 800.0) < -13.0
        assert _share_db(note, 800.0, 1800.0) < -30.0
        assert _share_db(note, 1800.0, 22050.0) < -55.0
        assert _share_db(note, 150.0, 400.0) > -9.0
        assert _loudness_db(note, 150.0) > _loudness_db(note) - 1.5

    def test_the_bass_is_about_as_loud_on_every_note(self) -> None:
        levels = [_loudness_db(bass(midi, round(0.6 * RATE), RATE)) for midi in BASSES]
        assert np.ptp(levels) < 4.0

    @pytest.mark.parametrize("midis", CHORDS)
    def test_the_chop_is_softer_than_the_bass(self, midis: tuple[int, ...]) -> None:
        bass_db = np.mean([_loudness_db(bass(midi, round(0.6 * RATE), RATE)) for midi in BASSES])
        assert 4.0 < bass_db - _loudness_db(chop(midis, 0, RATE)) - CHOP_DB < 8.0

    @pytest.mark.parametrize("midis", [*CHORDS, ()])
    def test_the_chop_is_short_and_dull_and_ends_in_silence(self, midis: tuple[int, ...]) -> None:
        signal = chop(midis, 0, RATE)
        assert 0.060 <= CHOP_SEC <= 0.090
        assert len(signal) == round(CHOP_SEC * RATE)
        assert abs(signal[-1]) < 1e-4
        assert abs(np.mean(signal)) < 0.005
        assert _share_db(signal, 1800.0, 22050.0) < -30.0
        assert _share_db(signal, 0.0, 150.0) < -15.0

    def test_a_chord_has_its_pitches_and_a_dead_chop_none_of_them(self) -> None:
        rung = chop((62, 66, 69), RATE, RATE)[2000:]
        power = np.abs(np.fft.rfft(rung * np.hanning(len(rung)), 1 << 17)) ** 2
        hz = np.fft.rfftfreq(1 << 17, 1 / RATE)
        for midi in range(60, 72):
            near = np.abs(hz - 440.0 * 2.0 ** ((midi - 69) / 12.0)) < 4.0
            strong = np.max(power[near]) > 0.05 * np.max(power)
            assert strong == (midi in (62, 66, 69))
        assert np.max(np.abs(chop((), 0, RATE)[round(0.055 * RATE) :])) < 1e-6

    def test_the_last_chord_rings(self) -> None:
        damped, rung = chop(CHORD, 0, RATE), chop(CHORD, round(0.5 * RATE), RATE)
        assert len(rung) == round(0.5 * RATE)
        assert np.max(np.abs(rung[round(0.2 * RATE) : round(0.25 * RATE)])) > 0.1
        assert len(damped) < round(0.1 * RATE)
        assert abs(rung[-1]) < 1e-4


def test_an_ear_takes_the_backing_for_no_banjo() -> None:
    plan = after_count_in(load("pond-mans-lean"), 88.0, passes=2)
    ear = Ear(RATE)
    heard, _ = standing(ear.feed(render_backing(plan, rate=RATE, level_db=-24.0)) + ear.flush())
    # A chop of eight partials that are damped within 90 ms is heard as some sixty notes here.
    assert len(heard) <= 1


class TestErrors:
    @pytest.mark.parametrize("level_db", [-5.99, -60.01, 0.0, math.nan, math.inf, -math.inf])
    def test_a_level_out_of_range(self, level_db: float) -> None:
        with pytest.raises(Usage, match=r"^backing level \S+ dB: accepted: -60 to -6 dB of full scale$"):
            _played(_bass(0.0), level_db=level_db)

    @pytest.mark.parametrize("quiet_sec", [-0.1, math.nan, math.inf])
    def test_a_quiet_time_out_of_range(self, quiet_sec: float) -> None:
        with pytest.raises(Usage, match=r"^backing quiet for \S+ s: accepted: 0 or more$"):
            _played(_bass(0.0), quiet_sec=quiet_sec)

    @pytest.mark.parametrize("sec", [-0.001, math.nan, math.inf])
    def test_a_note_that_lies_nowhere(self, sec: float) -> None:
        with pytest.raises(Usage, match="accepted: notes at 0 s or later"):
            _played(_chop(sec))

    def test_too_few_samples_a_second(self) -> None:
        with pytest.raises(Usage, match="accepted: 8000 or more"):
            _played(_bass(0.0), rate=LEAST_RATE - 1)


def test_a_plan_that_begins_at_once() -> None:
    plan = TurnPlan(lick=load("pond-mans-lean"), tempo_half_bpm=240.0, first_start_sec=0.0, rest_bars=0)
    signal = render_backing(plan, rate=RATE, level_db=-12.0)
    assert signal[0] != 0.0
    assert voiced(Chord.parse("A7")) == CHORD
