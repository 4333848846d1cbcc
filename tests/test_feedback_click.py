"""The click: where its strokes lie in a turn, what each kind leaves out, and the samples it is made of."""

from __future__ import annotations

import subprocess
import sys
from itertools import pairwise
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.clicking import CLICKS, METERS, Sort, Stroke, click_kind, strokes, words
from feedback.errors import Usage
from feedback.session import TurnPlan, after_count_in
from feedback.sound.click import SOUNDS, render, sound
from feedback.sound.mixing import CEILING_DB, LOUDEST_DB, SOFTEST_DB
from routines.library import all_licks, load
from routines.lick import QUARTERS_A_BAR, Lick, quarter_sec
from routines.tempo import FASTEST_HALF_BPM, tempo_words
from tests.in_turn import in_turn
from tests.scores import lick

SIGNS = {"A": "accent", "b": "beat", "s": "soft", "c": "chop"}


def _lick(bars: int, meter: str = "2/2", pickup_eighths: int = 0) -> Lick:
    text = "3/0 " * pickup_eighths + "| 3/0"
    return lick(text, "G " * bars, meter=meter, pickup_eighths=pickup_eighths)


def _drawn(plan: TurnPlan, kind: str) -> str:
    """The strokes, one sign for each eighth from 0 on, bars parted by blanks, cut after the last stroke."""
    eighth = quarter_sec(plan.tempo_half_bpm) / 2
    signs = {sort: sign for sign, sort in SIGNS.items()}
    laid = {}
    for stroke in strokes(plan, kind):
        place = stroke.sec / eighth
        assert place == pytest.approx(round(place), abs=1e-6)
        assert round(place) not in laid
        laid[round(place)] = signs[stroke.sort]
    line = "".join(laid.get(place, ".") for place in range(max(laid) + 1))
    wide = int(2 * plan.lick.quarters_a_bar)
    return " ".join(line[at : at + wide] for at in range(0, len(line), wide)).rstrip(".")


C2, L2 = "A...b...", "A.s.b.s."
"""In 2/2 a bar of halves, and the last bar before a pass; in 3/4 the two below."""
C3, L3 = "A.b.b.", "Asbsbs"

TABLE = {
    # Two bars of 2/2, two passes, one rest bar: two bars of count-in, pass, rest, pass.
    ("2/2", "halves", 2, 0): f"{C2} {L2} {C2} {C2} {C2} {C2} A...b",
    ("2/2", "chop", 2, 0): f"{C2} {L2} ..c...c. ..c...c. ..c...c. ..c...c. ..c...c",
    ("2/2", "second", 2, 0): f"{C2} {L2} A....... A....... {L2} A....... A",
    ("2/2", "gaps", 2, 0): f"{C2} {L2} {C2} ........ {L2} A...b",
    ("2/2", "off", 2, 0): f"{C2} {L2} ........ ........ A.s.b.s",
    # Four bars: the gaps are two bars long; so they are in five.
    ("2/2", "gaps", 4, 0): f"{C2} {L2} {C2} {C2} ........ ........ {L2} {C2} A...b",
    (
        "2/2",
        "gaps",
        5,
        0,
    ): f"{C2} {L2} {C2} {C2} ........ ........ {C2} {L2} {C2} {C2} ........ ........ A...b",
    ("2/2", "gaps", 3, 0): f"{C2} {L2} {C2} ........ {C2} {L2} {C2} ........ A...b",
    ("2/2", "gaps", 1, 0): f"{C2} {L2} A....... {L2} A",
    # Pickups of one quarter, of three eighths, of two quarters, of seven eighths: soft strokes cease there.
    ("2/2", "halves", 2, 2): f"{C2} A.s.b... {C2} {C2} {C2} {C2} A...b",
    ("2/2", "off", 2, 3): f"{C2} A.s.b... ........ ........ A.s.b",
    ("2/2", "off", 2, 1): f"{C2} {L2} ........ ........ A.s.b.s",
    ("2/2", "second", 2, 4): f"{C2} A.s.b... A....... A....... A.s.b... A....... A",
    ("2/2", "halves", 2, 7): f"A...b.s. {C2} {C2} {C2} {C2} {C2} A...b",
    # The one rest bar has no room for it either, and the bar before belongs to the pass.
    ("2/2", "off", 2, 6): f"A...b.s. {C2} ........ ........ A...b",
    ("3/4", "halves", 2, 0): f"{C3} {L3} {C3} {C3} {C3} {C3} A.b.b",
    ("3/4", "chop", 2, 0): f"{C3} {L3} ..c.c. ..c.c. ..c.c. ..c.c. ..c.c",
    ("3/4", "second", 2, 0): f"{C3} {L3} A..... A..... {L3} A..... A",
    ("3/4", "gaps", 4, 0): f"{C3} {L3} {C3} {C3} ...... ...... {L3} {C3} A.b.b",
    ("3/4", "gaps", 2, 0): f"{C3} {L3} {C3} ...... {L3} A.b.b",
    ("3/4", "gaps", 1, 0): f"{C3} {L3} A.b... {L3} A.b",
    ("3/4", "off", 2, 0): f"{C3} {L3} ...... ...... Asbsbs",
    ("3/4", "chop", 2, 2): f"{C3} Asbsb. ..c.c. ..c.c. ..c.c. ..c.c. ..c.c",
    ("3/4", "off", 2, 5): f"A.b.bs {C3} ...... ...... A.b.b",
}


class TestWhereTheStrokesLie:
    """Worked by hand: a turn of two passes, one sign an eighth, A accent, b beat, s soft, c chop."""

    @in_turn(("meter", "kind", "bars", "pickup"), TABLE)
    def test_the_table(self, meter: str, kind: str, bars: int, pickup: int) -> None:
        plan = after_count_in(_lick(bars, meter, pickup), 88.0, passes=2)
        assert _drawn(plan, kind) == TABLE[meter, kind, bars, pickup]

    def test_every_kind_and_meter_stands_in_the_table(self) -> None:
        assert {row[:2] for row in TABLE} == {(meter, kind) for meter in QUARTERS_A_BAR for kind in CLICKS}

    @pytest.mark.parametrize(
        ("rest_bars", "kind", "expected"),
        [
            (0, "halves", f"{C2} {L2} {C2} {C2} A...b"),
            (0, "off", f"{C2} A.s.b.s"),
            (2, "halves", f"{C2} {L2} {C2} {C2} {C2} {C2} {C2} {C2} A...b"),
            (2, "chop", f"{C2} {L2} " + "..c...c. " * 6 + "..c...c"),
            (2, "second", f"{C2} {L2} A....... {C2} {L2} A....... {C2} {L2} A"),
            (2, "off", f"{C2} {L2} ........ {C2} {L2} ........ {C2} A.s.b.s"),
        ],
    )
    def test_three_passes_of_one_bar_and_their_rests(self, rest_bars: int, kind: str, expected: str) -> None:
        plan = after_count_in(_lick(1), 88.0, passes=3, rest_bars=rest_bars)
        assert _drawn(plan, kind) == expected

    def test_a_long_pickup_has_its_soft_stroke_in_the_first_of_two_rest_bars(self) -> None:
        plan = after_count_in(_lick(1, pickup_eighths=6), 88.0, passes=2, rest_bars=2)
        assert _drawn(plan, "off") == f"A...b.s. {C2} ........ A...b.s. A...b"

    def test_after_the_last_pass_nothing(self) -> None:
        for kind in CLICKS:
            plan = after_count_in(_lick(2), 88.0, passes=1)
            assert max(s.sec for s in strokes(plan, kind)) < 4 * plan.bar_sec - 0.1

    def test_seconds_of_a_tempo(self) -> None:
        plan = after_count_in(_lick(1), 60.0, passes=1)
        found = [(s.sec, s.sort) for s in strokes(plan, "halves")]
        assert found == [
            *((0.0, "accent"), (1.0, "beat"), (2.0, "accent"), (2.5, "soft"), (3.0, "beat"), (3.5, "soft")),
            *((4.0, "accent"), (5.0, "beat")),
        ]

    @pytest.mark.parametrize("first_sec", [0.0, 0.75, 2.5, 5.5, 8.0])
    def test_a_count_in_may_begin_inside_a_bar(self, first_sec: float) -> None:
        plan = TurnPlan(lick=_lick(1), tempo_half_bpm=60.0, first_start_sec=first_sec, passes=1)
        found = [s for s in strokes(plan, "halves") if s.sec < first_sec]
        beats = [first_sec - k for k in range(int(first_sec), 0, -1)]
        softs = [first_sec - k for k in (1.5, 0.5) if k <= first_sec]
        assert [s.sec for s in found if s.sort != "soft"] == beats
        assert [s.sec for s in found if s.sort == "soft"] == softs
        assert all(
            s.sort == ("beat" if (first_sec - s.sec) % 2 else "accent") for s in found if s.sort != "soft"
        )

    @pytest.mark.parametrize("hair_sec", [-1e-9, 1e-9])
    def test_a_hair_more_or_less_costs_no_stroke_and_makes_none_negative(self, hair_sec: float) -> None:
        plan = TurnPlan(lick=_lick(1), tempo_half_bpm=60.0, first_start_sec=4.0 + hair_sec, passes=1)
        found = strokes(plan, "off")
        assert [s.sort for s in found] == ["accent", "beat", "accent", "soft", "beat", "soft"]
        assert 0.0 <= found[0].sec < 2e-9

    @given(
        st.sampled_from(list(CLICKS)),
        st.sampled_from([one.id for one in all_licks()]),
        st.floats(20.0, 240.0),
        st.integers(1, 6),
        st.integers(0, 3),
    )
    @settings(max_examples=30, deadline=None)
    def test_strokes_are_in_order_apart_and_never_negative(
        self, kind: str, name: str, tempo: float, passes: int, rest_bars: int
    ) -> None:
        plan = after_count_in(load(name), tempo, passes=passes, rest_bars=rest_bars)
        found = strokes(plan, kind)
        assert found[0] == Stroke(sec=0.0, sort="accent")
        eighth = quarter_sec(tempo) / 2
        assert all(b.sec - a.sec > 0.99 * eighth for a, b in pairwise(found))
        assert found[-1].sec < plan.starts_sec[-1] + plan.lick.bars * plan.bar_sec - 0.4 * eighth


@pytest.mark.parametrize("kind", CLICKS)
class TestEveryRow:
    """What each kind of `CLICKS` keeps, in every lick that comes with the program."""

    def test_a_thinned_kind_leaves_beats_out_of_every_pass_and_a_full_one_none(self, kind: str) -> None:
        for one in (*all_licks(), _lick(1), _lick(1, "3/4"), _lick(3), _lick(5, "3/4")):
            bars = [CLICKS[kind].in_bar(one, bar) for bar in range(one.bars)]
            if CLICKS[kind].thinned:
                assert sum(map(len, bars)) < len(METERS[one.meter].beats) * one.bars
            else:
                assert sum(map(len, bars)) >= 2 * one.bars
                assert len(set(bars)) == 1
            for places in bars:
                assert [q for q, _ in places] == sorted({q for q, _ in places})
                assert all(0.0 <= q < one.quarters_a_bar and sort in SOUNDS for q, sort in places)

    def test_every_pass_of_a_turn_sounds_the_same(self, kind: str) -> None:
        plan = after_count_in(load("guide-tone-pinches"), 97.3, passes=3)
        lasts = plan.lick.bars * plan.bar_sec
        heard = [
            [
                (round(s.sec - start, 6), s.sort)
                for s in strokes(plan, kind)
                if -1e-6 < s.sec - start < lasts - 1e-3
            ]
            for start in plan.starts_sec
        ]
        assert heard[0] == heard[1] == heard[2]

    def test_it_is_counted_in_like_any_other(self, kind: str) -> None:
        for name in ("first-log-up", "log-deck-waltz"):
            plan = after_count_in(load(name), 71.0)
            first = plan.first_start_sec - 1e-6
            counted = [s for s in strokes(plan, kind) if s.sec < first]
            assert counted == [s for s in strokes(plan, "halves") if s.sec < first]
            halves = [
                [s.sort for s in counted if (s.sec > plan.bar_sec - 1e-6) is late] for late in (False, True)
            ]
            assert halves[0] != halves[1]
            assert {s.sort for s in counted} == {"accent", "beat", "soft"}

    def test_its_words(self, kind: str) -> None:
        assert CLICKS[kind].words
        assert set(CLICKS[kind].line) == set(QUARTERS_A_BAR)
        for one in (*all_licks(), _lick(1)):
            said = words(kind, one, 88.25)
            assert tempo_words(88.25).partition(" ")[0] in said
            assert "half notes" in said or "halves" in said
            assert ("quarters" in said) is (one.meter == "3/4")
            assert "{" not in said
            assert "\n" not in said


class TestWords:
    @in_turn(
        ("kind", "bars", "meter", "said"),
        [
            ("halves", 2, "2/2", "click on half notes, 88 a minute"),
            ("halves", 4, "3/4", "click on quarters, 176 a minute (88 half notes)"),
            ("chop", 2, "2/2", "chop between the half notes, 88 half notes a minute"),
            ("chop", 2, "3/4", "chop on two and three, 176 quarters a minute (88 half notes)"),
            ("second", 2, "2/2", "click on every second half note, the downbeat, 88 half notes a minute"),
            ("second", 2, "3/4", "click on the downbeat alone, 176 quarters a minute (88 half notes)"),
            ("gaps", 4, "2/2", "click on half notes, two bars on and two silent, 88 a minute"),
            ("gaps", 2, "3/4", "click on quarters, one bar on and one silent, 176 a minute (88 half notes)"),
            ("gaps", 1, "2/2", "click on half notes, half a bar on and half a bar silent, 88 a minute"),
            ("off", 2, "2/2", "no click while a pass runs, 88 half notes a minute"),
        ],
    )
    def test_worked(self, kind: str, bars: int, meter: str, said: str) -> None:
        assert words(kind, _lick(bars, meter), 88.0) == said

    def test_tempos_are_rounded_as_elsewhere(self) -> None:
        assert words("halves", _lick(2), 90.26) == "click on half notes, 90.3 a minute"
        assert (
            words("halves", _lick(2, "3/4"), 90.26) == "click on quarters, 180.5 a minute (90.3 half notes)"
        )


def _played(
    laid: list[Stroke], rate: int = 44100, level_db: float = -12.0, quiet_sec: float = 0.0
) -> np.ndarray:
    return render(laid, rate=rate, level_db=level_db, quiet_sec=quiet_sec)


def _db(value: float) -> float:
    return float(20.0 * np.log10(value))


def _at(sec: float, sort: Sort) -> Stroke:
    return Stroke(sec=sec, sort=sort)


class TestSamples:
    """What `render` makes of strokes."""

    @in_turn("rate", [44100, 48000])
    @in_turn("tempo", [61.7, 87.3, 113.9, FASTEST_HALF_BPM])
    @in_turn("name", ["first-log-up", "log-deck-waltz"])
    def test_each_stroke_begins_on_its_sample_and_is_alone(self, rate: int, tempo: float, name: str) -> None:
        plan = after_count_in(load(name), tempo, passes=2)
        for kind in CLICKS:
            laid = strokes(plan, kind)
            signal = _played(list(laid), rate, SOFTEST_DB, plan.first_start_sec)
            assert signal.dtype == np.float32
            assert signal.ndim == 1
            begins = [round(s.sec * rate) for s in laid]
            silent = np.ones(len(signal), dtype=bool)
            for at, stroke in zip(begins, laid, strict=True):
                silent[at : at + len(sound(stroke.sort, rate))] = False
                assert signal[at] != 0.0
                assert at == 0 or signal[at - 1] == 0.0
            assert not signal[silent].any()
            assert len(signal) == begins[-1] + len(sound(laid[-1].sort, rate))

    @pytest.mark.parametrize("sort", SOUNDS)
    def test_a_sort_sounds_the_same_wherever_it_lies(self, sort: Sort) -> None:
        secs = (0.0, 0.123456, 1 / 3, 0.9999999)
        signal = _played([_at(sec, sort) for sec in secs])
        alone = _played([_at(0.0, sort)])
        for sec in secs:
            begin = round(sec * 44100)
            assert np.array_equal(signal[begin : begin + len(alone)], alone)

    def test_the_same_strokes_give_the_same_samples_in_any_order(self) -> None:
        laid = list(strokes(after_count_in(load("log-deck-waltz"), 87.3), "halves"))
        first = _played(laid, quiet_sec=1.0)
        sound.cache_clear()
        assert np.array_equal(first, _played(laid[::-1], quiet_sec=1.0))

    @in_turn("rate", [8000, 44100, 48000, 96000])
    @in_turn("level_db", [SOFTEST_DB, -23.5, LOUDEST_DB])
    def test_the_level_is_the_accents_peak(self, rate: int, level_db: float) -> None:
        peaks = {sort: _db(np.max(np.abs(_played([_at(0.1, sort)], rate, level_db)))) for sort in SOUNDS}
        assert peaks["accent"] == pytest.approx(level_db, abs=1e-4)
        for sort, row in SOUNDS.items():
            assert peaks[sort] == pytest.approx(level_db + row.peak_db, abs=1e-4)

    def test_strokes_that_overlap_add(self) -> None:
        one, other = _at(0.5, "beat"), _at(0.507, "chop")
        together, sums = _played([one, other]), np.zeros(len(_played([one, other])))
        for alone in (_played([one]), _played([other])):
            sums[: len(alone)] += alone
        assert np.allclose(together, sums, atol=1e-7)
        assert not np.array_equal(together[: len(_played([one]))], _played([one]))

    def test_no_strokes_no_samples(self) -> None:
        silence = _played([])
        assert silence.shape == (0,)
        assert silence.dtype == np.float32


class TestLimit:
    """Strokes that fall together stay under the ceiling; all else is left as it is."""

    def test_three_accents_at_once_are_turned_down_to_the_ceiling_and_keep_their_shape(self) -> None:
        crowd = [_at(0.2, "accent")] * 3
        signal = _played([*crowd, _at(0.6, "accent")], level_db=LOUDEST_DB)
        alone = _played([_at(0.0, "accent")], level_db=LOUDEST_DB)
        assert np.max(np.abs(signal)) <= 10 ** (CEILING_DB / 20) * (1 + 1e-6)
        at, later = round(0.2 * 44100), round(0.6 * 44100)
        assert np.allclose(signal[at : at + len(alone)], alone, atol=1e-6)
        assert np.array_equal(signal[later:], alone)

    @given(st.lists(st.tuples(st.floats(0.0, 0.2), st.sampled_from(list(SOUNDS))), min_size=1, max_size=12))
    @settings(max_examples=25, deadline=None)
    def test_whatever_falls_together(self, laid: list[tuple[float, Sort]]) -> None:
        signal = _played([_at(*one) for one in laid], level_db=LOUDEST_DB)
        assert np.max(np.abs(signal)) <= 10 ** (CEILING_DB / 20) * (1 + 1e-6)

    def test_overlaps_under_the_ceiling_are_left_alone(self) -> None:
        crowd = [_at(0.0, "accent")] * 3
        assert _db(np.max(np.abs(_played(crowd, level_db=-20.0)))) == pytest.approx(
            -20.0 + _db(3.0), abs=1e-4
        )

    def test_a_stroke_in_the_tail_of_a_crowd_is_turned_down_with_it(self) -> None:
        crowd = [*[_at(0.0, "accent")] * 2, _at(0.001, "soft"), _at(0.04, "soft"), _at(0.058, "soft")]
        loud, half = _played(crowd, level_db=LOUDEST_DB), _played(crowd, level_db=LOUDEST_DB - _db(2.0))
        assert np.allclose(loud, half, atol=1e-6)


class TestQuietAtFirst:
    def test_gain_comes_up_evenly_until_the_count_in_is_over(self) -> None:
        secs = (0.0, 1.0, 2.0, 3.0, 4.0, 7.0)
        signal = _played([_at(sec, "accent") for sec in secs], level_db=-20.0, quiet_sec=4.0)
        peaks = [_db(np.max(np.abs(signal[round(sec * 44100) :][:4000]))) for sec in secs]
        assert peaks == pytest.approx([-32.0, -29.0, -26.0, -23.0, -20.0, -20.0], abs=1e-3)

    def test_a_turn_begins_12_db_under_its_passes(self) -> None:
        plan = after_count_in(load("slab-wood-supper"), 88.0)
        signal = _played(list(strokes(plan, "halves")), 48000, -18.0, plan.first_start_sec)
        first, passes = signal[:4800], signal[round(plan.first_start_sec * 48000) :]
        assert _db(np.max(np.abs(first))) == pytest.approx(-30.0, abs=1e-3)
        assert _db(np.max(np.abs(passes))) == pytest.approx(-18.0, abs=1e-3)


def _centroid_hz(sort: Sort, rate: int) -> float:
    return _brightness_hz(sound(sort, rate), rate)


def _brightness_hz(signal: np.ndarray, rate: int) -> float:
    power = np.abs(np.fft.rfft(signal, 16384)) ** 2
    return float(np.sum(np.fft.rfftfreq(16384, 1 / rate) * power) / np.sum(power))


def _lasts_sec(sort: Sort, rate: int) -> float:
    size = np.abs(sound(sort, rate))
    return float(np.nonzero(size > np.max(size) / 100)[0][-1] / rate)


@pytest.mark.parametrize("rate", [44100, 48000])
class TestHowItSounds:
    def test_every_sort_is_short_and_ends_in_silence(self, rate: int) -> None:
        assert set(SOUNDS) == set(get_args(Sort)) == set(SIGNS.values())
        for sort in SOUNDS:
            made = sound(sort, rate)
            assert len(made) / rate < 15.0 / FASTEST_HALF_BPM
            assert len(made) / rate < 0.060
            assert abs(made[-1]) < 1e-4 * np.max(np.abs(made))
            assert not made.flags.writeable

    def test_the_accent_is_higher_and_longer_than_the_beat(self, rate: int) -> None:
        assert _centroid_hz("accent", rate) > 1.25 * _centroid_hz("beat", rate)
        assert _lasts_sec("accent", rate) > 1.35 * _lasts_sec("beat", rate)

    def test_the_chop_is_drier_and_brighter_than_either(self, rate: int) -> None:
        assert _centroid_hz("chop", rate) > 1.25 * _centroid_hz("accent", rate)
        assert _lasts_sec("chop", rate) < 0.75 * _lasts_sec("beat", rate)

    def test_what_is_high_in_the_chop_dies_first(self, rate: int) -> None:
        made = sound("chop", rate)
        quarter = len(made) // 4
        assert _brightness_hz(made[quarter:], rate) < 0.95 * _brightness_hz(made[:quarter], rate)

    def test_next_to_nothing_lies_where_a_banjo_has_its_power(self, rate: int) -> None:
        for sort in SOUNDS:
            power = np.abs(np.fft.rfft(sound(sort, rate), 16384)) ** 2
            hz = np.fft.rfftfreq(16384, 1 / rate)
            assert np.sum(power[hz < 1800.0]) < 0.06 * np.sum(power)


def test_at_a_low_rate_partials_that_would_fold_down_are_left_out() -> None:
    power = np.abs(np.fft.rfft(sound("accent", 8000), 8192)) ** 2
    hz = np.fft.rfftfreq(8192, 1 / 8000)
    assert np.sum(power[(hz > 600.0) & (hz < 800.0)]) < 1e-3 * np.sum(power)


class TestErrors:
    def test_an_unknown_kind(self) -> None:
        expected = "click 'cowbell': accepted: halves, chop, second, gaps, off"
        plan = after_count_in(_lick(1), 88.0)
        for call in (
            lambda: click_kind("cowbell"),
            lambda: strokes(plan, "cowbell"),
            lambda: words("cowbell", _lick(1), 88.0),
        ):
            with pytest.raises(Usage) as caught:
                call()
            assert str(caught.value) == expected

    @pytest.mark.parametrize("level_db", [-5.99, -60.01, 0.0, float("nan"), float("inf"), float("-inf")])
    def test_a_level_out_of_range(self, level_db: float) -> None:
        with pytest.raises(Usage, match=r"^click level \S+ dB: accepted: -60 to -6 dB of full scale$"):
            _played([_at(0.0, "beat")], level_db=level_db)

    @pytest.mark.parametrize("quiet_sec", [-0.1, float("nan"), float("inf")])
    def test_a_quiet_time_out_of_range(self, quiet_sec: float) -> None:
        with pytest.raises(Usage, match=r"^click quiet for \S+ s: accepted: 0 or more$"):
            _played([_at(0.0, "beat")], quiet_sec=quiet_sec)

    @pytest.mark.parametrize("sec", [-0.001, float("nan"), float("inf")])
    def test_a_stroke_that_lies_nowhere(self, sec: float) -> None:
        with pytest.raises(Usage, match="accepted: strokes at 0 s or later"):
            _played([_at(sec, "beat")])

    def test_too_few_samples_a_second(self) -> None:
        with pytest.raises(Usage, match="accepted: 8000 or more"):
            _played([_at(0.0, "beat")], rate=7999)


def test_naming_the_kinds_loads_no_arrays() -> None:
    code = "import sys, feedback.clicking; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
