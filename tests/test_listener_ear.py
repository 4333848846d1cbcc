"""The ear on small plucked takes: what it hears, when it says so, and that blocks do not matter."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.ear import RATES, Ear, EarSettings
from listener.framing import Past
from listener.gliding import GlideSettings
from listener.notes import NoteEvent, Report, standing
from listener.offset import STROKE_CENTS, TuningOffset
from listener.scorer import Struck
from listener.strikes import Strike
from tests.in_turn import in_turn
from tests.plucks import ROLL, plucked
from tests.test_listener_gliding import MIDI, ONSET_SEC, around, bent, choke

PITCHES = [round(pitch) for _, pitch, _ in ROLL]
ONSETS = [onset_sec for onset_sec, _, _ in ROLL]


@cache
def _roll(rate: int = 44100) -> np.ndarray:
    sound = plucked(rate, ROLL, duration_sec=1.6)
    sound.flags.writeable = False
    return sound


@cache
def _reports(rate: int = 44100) -> tuple[Report, ...]:
    return tuple(_all(Ear(rate), _roll(rate)))


def _all(ear: Ear, sound: np.ndarray) -> list[Report]:
    return ear.feed(sound) + ear.flush()


@cache
def _half() -> list[Report]:
    """Of half the roll, in one block."""
    return _all(Ear(44100), _roll()[: round(0.8 * 44100)])


def _notes(sound: np.ndarray, rate: int = 44100) -> list[NoteEvent]:
    return standing(_all(Ear(rate), sound))[0]


@pytest.mark.parametrize("rate", RATES)
def test_a_roll_is_heard_note_by_note(rate: int) -> None:
    notes, withdrawn = standing(_reports(rate))
    assert [note.midi for note in notes] == PITCHES
    assert [note.onset_sec for note in notes] == pytest.approx(ONSETS, abs=0.003)
    assert all(abs(note.cents) < 5.0 for note in notes)
    assert all(note.confidence > 0.8 for note in notes)
    assert withdrawn == []


def test_noise_that_a_take_begins_with_is_no_note_and_a_note_there_is() -> None:
    noise = 1e-3 * np.random.default_rng(1).standard_normal(22050).astype(np.float32)
    eager = EarSettings(scorer=lambda rate: _Always())
    assert [r.note.midi for r in _all(Ear(44100, settings=eager), noise)] == []
    loud = _all(Ear(44100, settings=eager), 100 * noise)
    assert [r.note.midi for r in loud if r.kind == "heard"][:1] == [60]


class _Always:
    """A scorer that takes every strike for middle C."""

    back_samples, ahead_samples = 512, 1024

    def reset(self) -> None:
        """Nothing to forget."""

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        return [Struck(60, 1.0)] if strike.sample < 2205 else []


@in_turn("midi", [48, 50, 55, 62, 67, 72, 79, 84])
def test_the_whole_range_is_heard(midi: int) -> None:
    notes = _notes(plucked(44100, [(0.4, midi, 0.2)], duration_sec=0.9))
    assert [note.midi for note in notes] == [midi]


@pytest.mark.parametrize(
    "pinch",
    [
        (50, 62),
        (55, 67),
        (59, 67),
        (62, 65),
        (50, 59, 62),
        (55, 62, 67),
        pytest.param(
            (50, 59, 67),
            marks=pytest.mark.xfail(strict=True, reason="D4, the octave of D3, is heard beside these three"),
        ),
    ],
)
def test_the_notes_of_a_pinch_are_heard_together(pinch: tuple[int, ...]) -> None:
    notes = _notes(plucked(44100, [(0.4, midi, 0.2) for midi in pinch], duration_sec=0.9))
    assert [note.midi for note in notes] == list(pinch)
    assert len({note.onset_sec for note in notes}) == 1


def test_the_same_pitch_struck_again_is_another_note() -> None:
    notes = _notes(plucked(44100, [(0.3, 62, 0.2), (0.55, 62, 0.2), (0.8, 62, 0.2)], duration_sec=1.2))
    assert [note.midi for note in notes] == [62, 62, 62]


def test_each_note_is_heard_once_and_settled_once_in_order() -> None:
    reports = _reports()
    for number in range(len(ROLL)):
        assert [report.kind for report in reports if report.number == number] == ["heard", "settled"]
    heard = [report.number for report in reports if report.kind == "heard"]
    assert heard == sorted(heard)


def test_what_is_said_at_hearing_stays_but_for_what_takes_longer_to_know() -> None:
    said = {report.number: report.note for report in _reports() if report.kind == "heard"}
    for report in _reports():
        if report.kind == "settled":
            first, last = said[report.number], report.note
            for name in ("onset_sec", "midi", "confidence", "heard_sec"):
                assert getattr(first, name) == getattr(last, name), name
            assert first.settled_sec <= last.settled_sec
            assert first.path == ()


def test_hearing_takes_no_longer_than_promised() -> None:
    for note in standing(_reports())[0]:
        assert 0.0519 < note.heard_sec - note.onset_sec < 0.058
        # A plain note is settled as soon as it is clear that its pitch does not move.
        assert note.heard_sec < note.settled_sec < note.onset_sec + 0.250
        assert note.path == ()


@in_turn("rate", RATES)
@in_turn("among", [False, True])
@in_turn("by", [100.0, 200.0])
def test_a_choke_is_one_note_with_its_way(rate: int, among: bool, by: float) -> None:
    notes = _notes(bent(rate, choke(by, 0.12)) + (around(rate) if among else 0.0), rate)
    (choked,) = [note for note in notes if abs(note.onset_sec - ONSET_SEC) < 0.005]
    assert choked.midi == MIDI
    assert choked.path[-1][1] == pytest.approx(by, abs=20.0)
    assert choked.settled_sec >= choked.path[-1][0]
    assert [note.midi for note in notes if note.path] == [MIDI]
    # Where another string is struck just as it arrives, it may be heard again there.
    again = [note.onset_sec for note in notes if note.midi == MIDI + by / 100.0]
    assert all(among and abs(onset_sec - 0.800) < 0.01 for onset_sec in again)


class _Cut:
    """An ear that is given the roll only so far, and further each time."""

    def __init__(self, rate: int) -> None:
        self._ear, self._roll, self._at = Ear(rate), _roll(rate), 0
        self._said: list[Report] = []

    def until(self, end: int) -> list[Report]:
        """All that it has said when the roll was cut there; no earlier than the last cut."""
        assert end >= self._at
        self._said += self._ear.feed(self._roll[self._at : end])
        self._at = end
        return self._said


@pytest.mark.parametrize("rate", RATES)
def test_cut_just_after_hearing_the_note_is_there_and_a_sample_before_it_is_not(rate: int) -> None:
    cut = _Cut(rate)
    for note in standing(_reports(rate))[0]:
        at = round(note.heard_sec * rate)
        before = [report.note for report in cut.until(at - 1)]
        assert not any(n.midi == note.midi and n.onset_sec == note.onset_sec for n in before)
        there = [report.note for report in cut.until(at)]
        assert any(n.midi == note.midi and n.onset_sec == note.onset_sec for n in there)


@pytest.mark.parametrize("rate", RATES)
def test_cut_just_after_settling_the_note_is_equal_in_every_field(rate: int) -> None:
    cut = _Cut(rate)
    for note in sorted(standing(_reports(rate))[0], key=lambda note: note.settled_sec):
        at = round(note.settled_sec * rate)
        assert note not in [r.note for r in cut.until(at - 1) if r.kind == "settled"]
        assert note in [r.note for r in cut.until(at) if r.kind == "settled"]


@settings(max_examples=12, deadline=None)
@given(st.lists(st.integers(0, 9000), max_size=30))
def test_blocks_do_not_matter(sizes: list[int]) -> None:
    ear, sound, reports, at = Ear(44100), _roll()[: round(0.8 * 44100)], [], 0
    for size in [*sizes, len(sound)]:
        reports += ear.feed(sound[at : at + size])
        at += size
    assert reports + ear.flush() == _half()


@in_turn("rate", RATES)
@in_turn("size", [1, 127, 128, 441])
def test_hop_by_hop_and_after_a_reset_the_reports_are_the_same(rate: int, size: int) -> None:
    ear, sound, expected = Ear(rate), _roll(rate), list(_reports(rate))
    if size == 1:
        sound = sound[: round(0.5 * rate)]
        expected = _all(Ear(rate), sound)
    _all(ear, plucked(rate, [(0.29, 55, 0.3)], duration_sec=0.5, seed=5))
    ear.reset()
    reports = [report for at in range(0, len(sound), size) for report in ear.feed(sound[at : at + size])]
    assert reports + ear.flush() == expected
    assert expected


def test_flush_settles_what_was_heard_and_adds_nothing() -> None:
    first = standing(_reports())[0][0]
    ear = Ear(44100)
    end = round(first.heard_sec * 44100) + 50
    fed = ear.feed(_roll()[:end])
    flushed = ear.flush()
    assert [report.kind for report in fed] == ["heard"]
    assert [(report.kind, report.number) for report in flushed] == [("settled", 0)]
    assert flushed[0].note.settled_sec == pytest.approx(end / 44100)
    assert flushed[0].note.heard_sec == first.heard_sec
    assert Ear(44100).feed(_roll()[: round(first.heard_sec * 44100) - 1]) == []


@pytest.mark.parametrize("cut_sec", [0.06, 0.09, 0.12, 0.16, 0.22])
def test_flush_follows_no_pitch_beyond_the_end(cut_sec: float) -> None:
    end_sec = ONSET_SEC + cut_sec
    sound = bent(44100, choke(200.0, 0.12))[: round(end_sec * 44100)]
    (choked,) = _notes(sound)
    assert choked.settled_sec <= end_sec + 1e-9
    assert all(sec + GlideSettings().window_sec / 2 <= end_sec + 1e-3 for sec, _ in choked.path)


def test_flush_guesses_no_note_from_what_came_before() -> None:
    first = standing(_reports())[0][0]
    ear = Ear(44100)
    ear.feed(_roll()[: round((first.onset_sec + 0.03) * 44100)])
    assert ear.flush() == []


def test_flush_does_not_hear_the_next_note_while_it_settles_the_last() -> None:
    close = plucked(44100, [(0.30, 55, 0.2), (0.329, 64, 0.2)], duration_sec=0.6)
    assert [note.midi for note in _notes(close)] == [55, 64]
    ear = Ear(44100)
    fed = ear.feed(close[: round(0.366 * 44100)])
    assert [(report.kind, report.note.midi) for report in fed] == [("heard", 55)]
    assert [(report.kind, report.note.midi) for report in ear.flush()] == [("settled", 55)]


@pytest.mark.parametrize("offset_cents", [-40.0, -25.0, 25.0, 40.0])
def test_an_instrument_out_of_tune_is_right_from_the_first_note(offset_cents: float) -> None:
    ear = Ear(44100)
    off = [(onset, pitch + offset_cents / 100.0, amplitude) for onset, pitch, amplitude in ROLL]
    notes, _ = standing(_all(ear, plucked(44100, off, duration_sec=1.6)))
    for onset_sec, pitch in zip(ONSETS, PITCHES, strict=True):
        there = [note for note in notes if abs(note.onset_sec - onset_sec) < 0.005]
        assert any(note.midi == pitch and abs(note.cents) < 10.0 for note in there)
        assert all(note.midi % 12 == pitch % 12 for note in there)  # at worst its octave beside it
    # these plucks are not sharper at the stroke than they ring on, as strings are
    assert ear.tuning_cents == pytest.approx(offset_cents - STROKE_CENTS, abs=3.0)


def test_one_sharp_string_shows_in_its_own_cents() -> None:
    sharp = [(onset, pitch + 0.2 * (pitch == 67), amplitude) for onset, pitch, amplitude in ROLL]
    notes = _notes(plucked(44100, sharp, duration_sec=1.6))
    for note in notes:
        assert note.cents == pytest.approx(20.0 if note.midi == 67 else 0.0, abs=5.0)


def test_the_level_of_a_note_out_of_silence_is_its_mean_power() -> None:
    sound = plucked(44100, [(0.4, 60, 0.2)], duration_sec=0.9, knock=0.0)
    (note,) = _notes(sound)
    power = float(np.mean(sound[17640 : 17640 + 3087].astype(float) ** 2))
    assert note.level_db == pytest.approx(10.0 * np.log10(power), abs=1.0)


def test_a_soft_note_among_ringing_ones_has_its_own_level() -> None:
    notes = _notes(
        plucked(44100, [(0.3, 55, 0.3), (0.5, 67, 0.3), (0.7, 62, 0.3), (0.9, 59, 0.06)], duration_sec=1.3)
    )
    assert [note.midi for note in notes] == [55, 67, 62, 59]
    others = float(np.mean([note.level_db for note in notes[:3]]))
    assert notes[3].level_db - others == pytest.approx(-14.0, abs=3.0)


def test_a_louder_take_is_the_same_take() -> None:
    soft, loud = standing(_reports())[0], _notes(2.0 * _roll())
    assert [(n.midi, n.onset_sec) for n in soft] == [(n.midi, n.onset_sec) for n in loud]
    for one, other in zip(soft, loud, strict=True):
        assert other.level_db - one.level_db == pytest.approx(6.02, abs=0.05)


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda sound: sound + 0.1,
        lambda sound: np.clip(sound, -0.15, 0.15),
        lambda sound: np.where(np.arange(len(sound)) == 7000, np.nan, sound),
        lambda sound: -sound,
        lambda sound: np.round(sound * 2048) / 2048,
    ],
    ids=["offset", "clipped", "no number", "upside down", "twelve bits"],
)
def test_spoilt_sound_is_heard_all_the_same(spoilt) -> None:  # type: ignore[no-untyped-def]
    notes = _notes(spoilt(_roll()).astype(np.float32))
    assert [note.midi for note in notes if note.onset_sec > 0.2] == PITCHES


@pytest.mark.parametrize("sound", [np.zeros(0), np.zeros(1), np.zeros(60000), np.full(60000, 0.2)])
def test_nothing_is_heard_where_nothing_is_played(sound: np.ndarray) -> None:
    assert _all(Ear(44100), sound.astype(np.float32)) == []


@pytest.mark.parametrize("samples", [1, 16, 44])
@pytest.mark.parametrize("at", [0, 20000])
def test_a_click_in_digital_silence_is_no_note_and_no_fault(at: int, samples: int) -> None:
    sound = plucked(44100, [(0.9, 62, 0.2)], duration_sec=1.3, hiss=0.0)
    sound[at : at + samples] += 0.5
    assert [note.midi for note in _notes(sound)] == [62]


def test_hiss_is_no_note() -> None:
    hiss = 0.02 * np.random.default_rng(1).standard_normal(4 * 44100)
    assert [note for note in _notes(hiss.astype(np.float32)) if note.onset_sec > 0.1] == []


def test_other_rates_and_more_channels_are_refused() -> None:
    with pytest.raises(ValueError, match="sample rate 22050; an ear hears at 44100 or 48000 Hz"):
        Ear(22050)
    with pytest.raises(ValueError, match=r"shape \(10, 2\); one channel"):
        Ear(44100).feed(np.zeros((10, 2), np.float32))


class _AlwaysA:
    """A scorer that knows one pitch: what an ear needs of a scorer, and no more."""

    back_samples = 0
    ahead_samples = 2000

    def __init__(self, rate: int) -> None:
        self.resets = 0

    def reset(self) -> None:
        self.resets += 1

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        assert past.end >= strike.sample + self.ahead_samples
        return [Struck(69, strike.strength)] if strike.strength > 0.5 else []


def test_another_scorer_can_take_the_heart_s_place() -> None:
    ear = Ear(44100, settings=EarSettings(scorer=_AlwaysA))
    notes = [note for note in standing(_all(ear, _roll()))[0] if note.onset_sec > 0.2]
    assert [note.midi for note in notes] == [69] * len(ROLL)
    assert all(0 <= note.heard_sec - note.onset_sec - 2000 / 44100 < 0.003 for note in notes)


class _Doubtful:
    """A scorer that hears A at every strike, surely only at the third of those that are strong."""

    back_samples, ahead_samples = 0, 2000

    def __init__(self, rate: int) -> None:
        self.reset()

    def reset(self) -> None:
        self._strong = 0

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        self._strong += strike.strength > 0.5
        return [Struck(69, 0.97 if self._strong == 3 else 0.6)] if strike.strength > 0.5 else []


@pytest.mark.parametrize(("company_sec", "said"), [(1.5, 5), (0.2, 2)])
def test_a_doubtful_note_is_said_only_in_the_company_of_a_sure_one(company_sec: float, said: int) -> None:
    ticks = plucked(44100, [(0.3 + 0.15 * k, 60, 0.2) for k in range(6)], duration_sec=1.4)
    ear = Ear(44100, settings=EarSettings(scorer=_Doubtful, company_sec=company_sec))
    notes, _ = standing(_all(ear, ticks))
    assert notes[0].confidence == 0.97
    assert notes[0].onset_sec == pytest.approx(0.45, abs=0.005)  # the hiss begins with a strike, too
    assert len(notes) == said
    ear.reset()
    assert len(standing(_all(ear, ticks))[0]) == said


def test_the_same_pitch_within_the_limit_is_one_note() -> None:
    quick = plucked(44100, [(0.3, 62, 0.2), (0.33, 70, 0.2), (0.4, 62, 0.2)], duration_sec=0.7)
    for again_sec, count in ((0.045, 2), (0.020, 3)):
        ear = Ear(44100, settings=EarSettings(scorer=_AlwaysA, again_sec=again_sec))
        notes = [note for note in standing(_all(ear, quick))[0] if note.onset_sec > 0.2]
        assert len(notes) == count
