"""The plucked strings: pitch, level, damping, slurs, glides; the head, the room, the player's whole sound."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.performance import Performance, PlayedNote, perform
from feedback.player import render
from feedback.sound.banjo import Banjo
from feedback.sound.partials import hz_of, pointers, read_at
from feedback.sound.room import Room, added, limited
from feedback.sound.strings import strings_sound, sympathetic_impulse
from feedback.sound.voice import LEVEL_SEC, REFERENCE_DBFS
from routines.errors import BadRoutine
from tests.scores import A

RATE = 44_100
IN_TUNE = Banjo(intonation_cents=0.0, sharp_cents=0.0)
DRY = Room(rt60_sec=0.0, noise_dbfs=-np.inf)
OPEN = {1: 62, 2: 59, 3: 55, 4: 50, 5: 67}


def sound(notes: list[PlayedNote], *, banjo: Banjo = IN_TUNE, sec: float = 1.5, seed: int = 0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return strings_sound(notes, rate=RATE, samples=round(sec * RATE), banjo=banjo, rng=rng)


def note(string: int, fret: int = 0, sec: float = 0.0, **more: object) -> PlayedNote:
    given: dict[str, object] = {"midi": OPEN[string] + fret, "duration_sec": 1.4, **more}
    return PlayedNote(onset_sec=sec, string=string, fret=fret, **given)  # type: ignore[arg-type]


def level_db(signal: np.ndarray, begin_sec: float, long_sec: float = LEVEL_SEC) -> float:
    begin = round(begin_sec * RATE)
    power = np.mean(signal[begin : begin + int(long_sec * RATE)].astype(float) ** 2)
    return float(10.0 * np.log10(power + 1e-20))


def band_db(signal: np.ndarray, low_hz: float, high_hz: float) -> float:
    """Power in a band against all power."""
    power = np.abs(np.fft.rfft(signal * np.hanning(len(signal)))) ** 2
    hz = np.fft.rfftfreq(len(signal), 1.0 / RATE)
    return float(10.0 * np.log10(power[(hz >= low_hz) & (hz < high_hz)].sum() / power.sum()))


def peak_hz(signal: np.ndarray, near_hz: float, within: float = 0.02) -> float:
    """Where the spectrum is highest, close to a frequency."""
    size = 1 << 19
    power = np.abs(np.fft.rfft(signal * np.hanning(len(signal)), size))
    hz = np.fft.rfftfreq(size, 1.0 / RATE)
    near = np.abs(hz / near_hz - 1.0) < within
    return float(hz[near][np.argmax(power[near])])


def cents(hz: float, midi: float) -> float:
    return 1200.0 * np.log2(hz / hz_of(midi, 0.0))


@pytest.mark.parametrize(("string", "fret"), [(1, 0), (2, 1), (3, 4), (4, 0), (5, 0), (1, 17)])
def test_each_place_sounds_its_pitch(string: int, fret: int) -> None:
    midi = OPEN[string] + fret
    signal = sound([note(string, fret)])[RATE // 10 :]
    assert abs(cents(peak_hz(signal, hz_of(midi, 0.0)), midi)) < 2.0


def test_partials_of_a_stiff_string_are_stretched() -> None:
    banjo = replace(IN_TUNE, tail_db=-80.0)
    eighth = peak_hz(sound([note(4)], banjo=banjo), 8 * hz_of(50, 0.0)) / hz_of(50, 0.0)
    stiff = banjo.stiffness[3] * 2.0 ** (0 / 6.0)
    assert eighth == pytest.approx(8.0 * np.sqrt((1 + 64 * stiff) / (1 + stiff)), rel=2e-4)
    assert eighth > 8.01


def test_the_tuning_of_the_instrument_moves_every_note() -> None:
    low = sound([note(1)], banjo=replace(IN_TUNE, tuning_cents=-30.0))
    assert cents(peak_hz(low[RATE // 10 :], hz_of(62, -30.0)), 62) == pytest.approx(-30.0, abs=2.0)


def test_a_stroke_begins_sharp_and_settles() -> None:
    signal = sound([note(1)], banjo=replace(IN_TUNE, sharp_cents=40.0, sharp_sec=0.06, tail_db=-80.0))
    begins = cents(peak_hz(signal[: int(0.06 * RATE)], hz_of(62, 0.0)), 62)
    settled = cents(peak_hz(signal[int(0.4 * RATE) :], hz_of(62, 0.0)), 62)
    assert begins > 10.0
    assert abs(settled) < 2.0


@settings(max_examples=25, deadline=None)
@given(st.sampled_from((1, 2, 3, 4)), st.integers(0, 19), st.floats(-20.0, 4.0), st.integers(0, 99))
def test_level_is_the_power_of_the_first_seventy_milliseconds(
    string: int, fret: int, level: float, seed: int
) -> None:
    signal = sound([note(string, fret, level_db=level)], sec=0.2, seed=seed)
    assert level_db(signal, 0.0) == pytest.approx(REFERENCE_DBFS + level, abs=0.05)


def test_a_slurred_note_has_its_level_too() -> None:
    notes = [note(1, duration_sec=0.4), note(1, 2, 0.4, how="hammer", picked=False, level_db=-5.0)]
    assert level_db(sound(notes), 0.4) == pytest.approx(REFERENCE_DBFS - 5.0, abs=0.5)


def test_sound_begins_with_the_note_and_not_before() -> None:
    signal = sound([note(2, sec=0.3)])
    begin = round(0.3 * RATE)
    assert not signal[:begin].any()
    assert np.abs(signal[begin : begin + RATE // 1000]).max() > 0.02


def test_the_early_decay_is_fast_and_the_tail_is_long() -> None:
    signal = sound([note(3)])
    levels = [level_db(signal, sec, 0.05) for sec in (0.0, 0.2, 1.0, 1.2)]
    assert levels[0] - levels[1] > 6.0
    assert 0.5 < levels[2] - levels[3] < 0.7 * (levels[0] - levels[1])


def test_most_power_of_low_strings_lies_above_their_fundamental() -> None:
    for string in (3, 4):
        signal = sound([note(string)])
        first_hz = hz_of(OPEN[string], 0.0)
        assert band_db(signal, 0.5 * first_hz, 1.5 * first_hz) < -6.0
    rolled = render(perform(A, tempo_half_bpm=120, seed=1))
    assert band_db(rolled, 400.0, 1800.0) > -1.5


def test_a_string_struck_again_no_longer_sounds_its_old_pitch() -> None:
    notes = [note(1, 4, duration_sec=0.5), note(1, 0, 0.5, level_db=-10.0)]
    again = sound(notes)[int(0.52 * RATE) :]
    alone = sound([note(1, 4)])[int(0.52 * RATE) :]
    old_hz = hz_of(66, 0.0)
    remains = band_db(again, 0.98 * old_hz, 1.02 * old_hz) + level_db(again, 0.0, 0.9)
    rings = band_db(alone, 0.98 * old_hz, 1.02 * old_hz) + level_db(alone, 0.0, 0.9)
    assert remains < rings - 20.0


def test_a_string_is_silenced_in_the_last_milliseconds_before_it_is_struck() -> None:
    signal = sound([note(1, duration_sec=0.5), note(1, 0, 0.5)])
    touch = round(0.5 * RATE)
    assert abs(signal[touch - 1]) < 1e-3
    assert level_db(signal, 0.490, 0.005) > level_db(sound([note(1)]), 0.490, 0.005) - 1.0


def test_other_strings_ring_on() -> None:
    both = sound([note(1), note(2, 0, 0.5)])
    second = sound([note(2, 0, 0.5)], seed=0)
    assert level_db(both, 0.3, 0.1) == pytest.approx(level_db(sound([note(1)]), 0.3, 0.1), abs=0.5)
    first_hz = hz_of(62, 0.0)
    later = slice(int(0.6 * RATE), None)
    assert band_db(both[later], 0.98 * first_hz, 1.02 * first_hz) > 10.0 + band_db(
        second[later], 0.98 * first_hz, 1.02 * first_hz
    )


def test_a_stopped_string_that_the_hand_leaves_is_soon_silent() -> None:
    signal = sound([note(1, 5, duration_sec=0.3)])
    assert level_db(signal, 0.28, 0.02) > -50.0
    assert level_db(signal, 0.34, 0.1) < -100.0


@pytest.mark.parametrize("how", ["hammer", "pull", "slide"])
def test_a_slur_has_no_stroke(how: str) -> None:
    begins, ends = (3, 1) if how == "pull" else (1, 3)
    moving = {"from_midi": OPEN[1] + begins, "arrive_sec": 0.43} if how == "slide" else {}
    notes = [
        note(1, begins, duration_sec=0.4),
        note(1, ends, 0.4, how=how, picked=False, level_db=-4.0, **moving),
    ]
    slurred, picked = sound(notes), sound([note(1, ends, 0.4, level_db=-4.0)])
    first = slice(round(0.400 * RATE), round(0.415 * RATE))
    assert band_db(slurred[first], 3000.0, 12_000.0) < band_db(picked[first], 3000.0, 12_000.0) - 4.0
    late = slurred[round(0.5 * RATE) :]
    assert abs(cents(peak_hz(late, hz_of(OPEN[1] + ends, 0.0)), OPEN[1] + ends)) < 3.0


def test_a_slide_keeps_what_the_string_does_and_a_hammer_on_adds_to_it() -> None:
    first = note(4, 2, duration_sec=0.9)
    falls_db = {}
    for how, more in (("slide", {"from_midi": 52, "arrive_sec": 0.93}), ("hammer", {})):
        slurred = note(4, 4, 0.9, how=how, picked=False, duration_sec=0.5, **more)
        signal = sound([first, slurred])
        falls_db[how] = level_db(signal, 0.95, 0.05) - level_db(signal, 1.15, 0.05)
    # After most of a second only the slow tail is left; the fast early part is what a slur adds.
    assert falls_db["slide"] < 0.7 * falls_db["hammer"]


def test_a_slur_out_of_a_string_that_has_ended_is_no_error() -> None:
    notes = [note(1, 1, duration_sec=0.1), note(1, 3, 0.6, how="hammer", picked=False)]
    assert level_db(sound(notes), 0.6) == pytest.approx(REFERENCE_DBFS, abs=0.5)


def test_a_choke_glides_up_holds_and_is_let_down() -> None:
    choke = note(
        1, 3, midi=67, how="choke", from_midi=65, arrive_sec=0.12, let_down_sec=0.7, duration_sec=1.4
    )
    signal = sound([choke])
    for begin, end, midi in ((0.0, 0.04, 65), (0.25, 0.65, 67), (0.9, 1.3, 65)):
        piece = signal[round(begin * RATE) : round(end * RATE)]
        reached = cents(peak_hz(piece, hz_of(midi, 0.0), within=0.05), midi)
        assert abs(reached) < (60.0 if begin == 0.0 else 3.0)


def test_a_slide_goes_fret_by_fret() -> None:
    slide = note(3, 4, how="slide", from_midi=57, arrive_sec=0.4, duration_sec=1.4)
    signal = sound([slide])
    for begin, end, midi in ((0.02, 0.18, 57), (0.22, 0.38, 58), (0.5, 1.0, 59)):
        piece = signal[round(begin * RATE) : round(end * RATE)]
        assert abs(cents(peak_hz(piece, 4 * hz_of(midi, 0.0)), midi) - 2400.0) < 12.0


def test_pointers_are_the_sum_of_damped_cosines() -> None:
    rng = np.random.default_rng(1)
    size, phase = rng.uniform(0.1, 1.0, 7), rng.uniform(-3.0, 3.0, 7)
    hz, nepers = rng.uniform(100.0, 9000.0, 7), rng.uniform(0.5, 30.0, 7)
    sec = np.arange(1000)[:, None] / RATE
    expected = (size * np.exp(-nepers * sec) * np.cos(2 * np.pi * hz * sec + phase)).sum(axis=1)
    assert np.allclose(pointers(size, phase, hz, nepers, 1000, RATE), expected, atol=1e-4)


def test_reading_between_samples_follows_the_curve() -> None:
    time = np.arange(2000) / RATE
    signal = np.sin(2 * np.pi * 1000.0 * time).astype(np.float32)
    at = np.linspace(5.0, 1900.0, 777)
    assert np.allclose(read_at(signal, at), np.sin(2 * np.pi * 1000.0 * at / RATE), atol=2e-4)


def test_open_strings_answer_their_own_pitch_and_no_other() -> None:
    impulse = sympathetic_impulse([62], RATE, Banjo())
    answer = np.abs(np.fft.rfft(impulse, 1 << 18))
    hz = np.fft.rfftfreq(1 << 18, 1.0 / RATE)
    at = lambda f: answer[np.argmin(np.abs(hz - f))]  # noqa: E731
    assert 20 * np.log10(at(hz_of(62, 0.0))) == pytest.approx(Banjo().sympathetic_db, abs=1.5)
    assert at(hz_of(64, 0.0)) < 0.1 * at(hz_of(62, 0.0))


def test_another_instrument_is_another_and_still_a_banjo() -> None:
    varied = [Banjo().varied(np.random.default_rng(seed)) for seed in range(30)]
    assert Banjo().varied(np.random.default_rng(3)) == varied[3]
    for option in fields(Banjo):
        assert len({getattr(banjo, option.name) for banjo in varied}) == 30, option.name
    for seed, banjo in enumerate(varied[::2]):
        signal = sound([note(4, 2), note(1, 0, 0.2), note(2, 1, 0.4)], banjo=banjo, seed=seed)
        assert np.isfinite(signal).all()
        assert band_db(signal, 200.0, 5000.0) > -1.0


def test_a_misspelt_option_fails() -> None:
    with pytest.raises(TypeError):
        Banjo(pick_milimetre=80.0)  # type: ignore[call-arg]


def test_a_room_dies_by_its_sixty_decibels() -> None:
    room = Room(rt60_sec=0.4, wet_db=-10.0, delay_sec=0.01)
    impulse = room.impulse(RATE, np.random.default_rng(0))
    assert not impulse[: int(0.01 * RATE)].any()
    assert 10 * np.log10(np.sum(impulse**2)) == pytest.approx(-10.0)
    early, late = (np.mean(impulse[int(a * RATE) : int((a + 0.05) * RATE)] ** 2) for a in (0.02, 0.22))
    assert 10 * np.log10(early / late) > 12.0


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 3000), st.integers(0, 500), st.integers(0, 99))
def test_added_is_a_convolution_cut_to_length(samples: int, taps: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    signal, impulse = rng.standard_normal(samples).astype(np.float32), rng.standard_normal(taps)
    expected = signal.astype(float)
    if samples and taps:
        expected = expected + np.convolve(signal, impulse)[:samples]
    assert np.allclose(added(signal, impulse), expected, atol=1e-3)


def test_added_in_blocks_equals_added_at_once() -> None:
    rng = np.random.default_rng(2)
    signal, impulse = rng.standard_normal(200_000).astype(np.float32), rng.standard_normal(300)
    expected = signal + np.convolve(signal, impulse)[:200_000]
    assert np.allclose(added(signal, impulse), expected, atol=1e-3)


def test_limited_bends_only_what_is_loud_and_never_clips() -> None:
    ramp = np.linspace(-3.0, 3.0, 6001).astype(np.float32)
    bent = limited(ramp)
    quiet = np.abs(ramp) <= 0.8
    assert np.allclose(bent[quiet], ramp[quiet], atol=1e-6)
    assert np.abs(bent).max() <= 1.0
    just_over = limited(np.array([0.9, 0.95, 1.0, 1.2], dtype=np.float32))
    assert (np.diff(just_over) > 0).all()


def test_render_is_float32_within_one_and_follows_the_seed() -> None:
    played = perform(A, tempo_half_bpm=120, seed=1)
    first, again, other = render(played), render(played, seed=1), render(played, seed=2)
    assert first.dtype == np.float32
    assert len(first) == round((played.notes[-1].onset_sec + 1.5) * RATE)
    assert np.abs(first).max() < 0.9
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_render_keeps_the_length_that_is_asked_for() -> None:
    played = perform(A, tempo_half_bpm=120, seed=1)
    for rate in (8_000, 48_000):
        assert len(render(played, rate=rate, duration_sec=1.0)) == rate


def test_render_puts_strokes_where_the_performance_has_them() -> None:
    played = perform(A, tempo_half_bpm=80, seed=1)
    signal = render(played, room=DRY, instrument=replace(Banjo(), sympathetic_db=-120.0))
    for one in played.notes[:4]:
        begin = round(one.onset_sec * RATE)
        before, after = (level_db(signal, (begin + k) / RATE, 0.004) for k in (-220, 0))
        assert after > before + 3.0


def test_a_performance_of_nothing_is_noise() -> None:
    nothing = Performance(
        notes=(), lick_id="", tempo_half_bpm=96.0, start_sec=0.5, mistakes=(), seed=0, open_midi=OPEN
    )
    signal = render(nothing, room=Room(noise_dbfs=-60.0))
    assert 10 * np.log10(np.mean(signal**2)) == pytest.approx(-60.0, abs=0.2)


@pytest.mark.parametrize("rate", [0, 7_999, 192_001])
def test_a_rate_out_of_range_is_refused(rate: int) -> None:
    with pytest.raises(BadRoutine, match="rate"):
        render(perform(A, tempo_half_bpm=120, seed=1), rate=rate)
