"""One pass inside a longer take: what was played right before and after it is not its own."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile

from feedback.errors import Usage
from feedback.expect import expectations
from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.performance import perform
from feedback.player import render
from feedback.session import PassOver
from feedback.takes import hear_take, judge_events, judge_take, judge_turn
from listener.ear import Ear
from listener.expecting import Expectation
from listener.files import Hearing, hear_file
from listener.notes import NoteEvent
from routines.lick import Lick
from tests.in_turn import in_turn
from tests.scores import START_SEC, TEMPO, A, B, grid_of, judged, lick, play, target_at

FULL = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "D7 G")
PICKUP = lick(
    "4/0 4/2 4/4 | 3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 . . .", "D7 G", pickup_eighths=3
)
WALTZ = lick("3/2 2/1 1/0 5/0 1/4 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0", "D7 G", meter="3/4")


def _looped(of: Lick, *slips: str, first_sec: float = 2.0, rest_bars: int = 0) -> list[NoteEvent]:
    """Passes one after another without a break, one for each of the slips."""
    apart = (of.bars + rest_bars) * of.quarters_a_bar * 30.0 / TEMPO
    events = [e for k, slip in enumerate(slips) for e in play(of, slip, start_sec=first_sec + k * apart)]
    return sorted(events, key=lambda event: event.onset_sec)


@in_turn("of", [A, B, FULL, PICKUP, WALTZ], ids=["A", "B", "full", "pickup", "waltz"])
@in_turn("lean", ["", "all +15ms", "all -15ms"])
def test_a_pass_between_two_others_is_judged_as_if_alone(of: Lick, lean: str) -> None:
    events = _looped(of, lean, lean, lean)
    start_sec = 2.0 + of.bars * of.quarters_a_bar * 30.0 / TEMPO
    among = judge_pass(grid_of(of, start_sec=start_sec), events)
    alone = judged(of, lean, start_sec=start_sec)
    assert among.outcome == alone.outcome
    assert among.outcome.clean
    assert among.outcome.extras == ()


def test_mistakes_of_the_neighbours_stay_with_them() -> None:
    bad = "b1e1 =61; b1e8 out; b2e1 =1/0; b2e7 =61; b2e8 =61; add 2/0 b2e6.5"
    events = _looped(FULL, bad, "", bad)
    found = judge_events(events, FULL, Limits(), tempo_half_bpm=TEMPO, start_sec=3.6).outcome
    assert found.clean
    assert found.extras == ()
    first = judge_events(events, FULL, Limits(), tempo_half_bpm=TEMPO, start_sec=2.0).outcome
    assert [s.resolution for s in first.sevenths][-1] == "none"
    assert not first.clean


def test_a_mistake_of_this_pass_stays_with_it() -> None:
    events = _looped(FULL, "", "b2e1 =1/0; add 61 b1e7.5", "")
    found = judge_pass(grid_of(FULL, start_sec=3.6), events).outcome
    assert found.sevenths[-1].resolution == "hanging"
    assert [(e.midi, e.foreign) for e in found.extras] == [(61, True)]


@pytest.mark.parametrize("kept", [15, 11, 9])
def test_where_a_start_is_given_the_tempo_is_that_of_the_pass_there(kept: int) -> None:
    broken_off = play(A, tempo_half_bpm=80.0, start_sec=2.0)[:kept]
    whole = play(A, tempo_half_bpm=110.0, start_sec=8.0)
    found = judge_events([*broken_off, *whole], A, Limits(), start_sec=2.0).outcome
    assert found.tempo_half_bpm == pytest.approx(80.0, rel=0.01)
    assert [note.verdict for note in found.notes[:kept]] == ["landed"] * kept
    later = judge_events([*broken_off, *whole], A, Limits(), start_sec=8.0).outcome
    assert later.tempo_half_bpm == pytest.approx(110.0, rel=0.01)


def test_where_nothing_is_found_at_a_start_another_pass_tells_the_tempo() -> None:
    found = judge_events(play(A, tempo_half_bpm=110.0, start_sec=8.0), A, Limits(), start_sec=2.0).outcome
    assert found.tempo_half_bpm == pytest.approx(110.0, rel=0.01)
    assert judge_events([], A, Limits(), start_sec=2.0).outcome.tempo_half_bpm == A.top_tempo_half_bpm


def test_an_added_note_belongs_to_the_downbeat_that_it_is_nearer_to() -> None:
    before, after = play(FULL, "add 61 b1e1 -60ms"), play(FULL, "add 61 b1e1 -40ms")
    assert judge_pass(grid_of(FULL), before).outcome.extras == ()
    assert [e.midi for e in judge_pass(grid_of(FULL), after).outcome.extras] == [61]
    end_before, end_after = play(FULL, "add 61 b2e8.4"), play(FULL, "add 61 b2e8.6")
    assert [e.midi for e in judge_pass(grid_of(FULL), end_before).outcome.extras] == [61]
    assert judge_pass(grid_of(FULL), end_after).outcome.extras == ()


def test_a_fall_that_comes_after_the_lick_is_over_is_none() -> None:
    events = _looped(FULL, "b2e1 =1/0")
    late = play(FULL, "b1e1 =2/0", start_sec=3.6)[:1]
    found = judge_pass(grid_of(FULL, start_sec=2.0), [*events, *late]).outcome
    assert found.sevenths[-1].resolution == "hanging"


def test_the_first_pass_of_a_loop_is_found_and_judged() -> None:
    events = _looped(A, "b2e1 =1/0", "", "", rest_bars=1)
    found = judge_events(events, A, Limits()).outcome
    assert found.start_sec == pytest.approx(2.0, abs=0.01)
    assert found.sevenths[-1].resolution == "hanging"


def _heard(events: list[NoteEvent]) -> Hearing:
    return Hearing(
        sample_rate=44100, duration_sec=math.inf, tuning_cents=0.0, notes=tuple(events), withdrawn=()
    )


class TestTurn:
    """Pass after pass of a recording."""

    def _judge(
        self, monkeypatch: pytest.MonkeyPatch, of: Lick, events: list[NoteEvent], **more: float
    ) -> list[PassOver]:
        monkeypatch.setattr("feedback.takes._hearing", lambda path, expected=(), ear=None: _heard(events))
        return judge_turn("any.flac", of, Limits(), **{"passes": 4, **more})  # type: ignore[arg-type]

    @pytest.mark.parametrize("rest_bars", [0, 1])
    @pytest.mark.parametrize("of", [FULL, PICKUP], ids=["full", "pickup"])
    def test_each_pass_is_found_and_judged(
        self, monkeypatch: pytest.MonkeyPatch, of: Lick, rest_bars: int
    ) -> None:
        slips = ["b2e1 =1/0", "", "b1e8 out", ""]
        found = self._judge(monkeypatch, of, _looped(of, *slips, rest_bars=rest_bars))
        assert [over.number for over in found] == [1, 2, 3, 4]
        assert [over.judged.outcome.clean for over in found] == [False, True, False, True]
        assert [over.judged.outcome.sevenths[-1].resolution for over in found] == [
            "hanging",
            "resolved",
            "none",
            "resolved",
        ]

    def test_looped_bars_that_are_alike(self, monkeypatch: pytest.MonkeyPatch) -> None:
        roll = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | " * 2, "G .")
        found = self._judge(monkeypatch, roll, _looped(roll, "", "b1e4 out", "b2e2 out"))
        starts = [over.judged.outcome.start_sec for over in found]
        assert starts == [pytest.approx(2.0 + 1.6 * k, abs=0.01) for k in range(3)]

    def test_no_more_than_asked_for_and_no_more_than_there_are(self, monkeypatch: pytest.MonkeyPatch) -> None:
        events = _looped(A, "", "", "")
        assert len(self._judge(monkeypatch, A, events, passes=2)) == 2
        assert len(self._judge(monkeypatch, A, events, passes=9)) == 3

    def test_bounce_is_pooled_from_the_passes_before(self, monkeypatch: pytest.MonkeyPatch) -> None:
        roll = lick("3/0 2/0 1/0 5/0 2/0 3/0 5/0 1/0", "G")
        found = self._judge(monkeypatch, roll, _looped(roll, "even +18ms", "even +18ms", rest_bars=1))
        bounces = [over.judged.outcome.timing.bounce for over in found]
        assert bounces == [None, pytest.approx(0.59, abs=0.01)]

    def test_silence_is_one_pass_of_which_nothing_was_heard(self, monkeypatch: pytest.MonkeyPatch) -> None:
        (only,) = self._judge(monkeypatch, A, [])
        assert only.judged.outcome.start_sec is None


class _Listening:
    """Stands for listening to a file: counts, and hears one thing blind and another informed."""

    def __init__(self, blind: Hearing, informed: Hearing) -> None:
        self._heard = blind, informed
        self.told: list[tuple[Expectation, ...]] = []

    def hear_file(self, path: Path, *, ear: partial[Ear]) -> Hearing:
        assert ear.func is Ear
        self.told.append(tuple(ear.keywords["expectations"]))
        return self._heard[bool(self.told[-1])]


class TestListening:
    """How often a recording is listened to, with what in mind, and whose word counts."""

    @pytest.fixture
    def silent(self, tmp_path: Path) -> Path:
        soundfile.write(tmp_path / "take.wav", np.zeros(round(3.2 * 8000), np.float32), 8000)
        return tmp_path / "take.wav"

    @pytest.fixture
    def listening(self, monkeypatch: pytest.MonkeyPatch) -> _Listening:
        """Blind, one note more is missed than there are, and all of them a hair late."""
        blind, informed = play(A, "b1e5 out; b2e3 out; all +4ms"), play(A, "b1e5 out")
        thin = tuple(event for event in play(A) if event not in informed)
        made = _Listening(_heard(blind), replace(_heard(informed), doubtful=thin))
        monkeypatch.setattr("listener.files.hear_file", made.hear_file)
        return made

    def _told(self, start_sec: float = START_SEC, tempo_half_bpm: float = TEMPO) -> tuple[Expectation, ...]:
        return expectations(grid_of(A, start_sec=start_sec, tempo_half_bpm=tempo_half_bpm))

    def test_where_start_and_tempo_are_given_it_is_listened_to_once(
        self, silent: Path, listening: _Listening
    ) -> None:
        found = judge_take(silent, A, Limits(), tempo_half_bpm=TEMPO, start_sec=START_SEC).outcome
        assert listening.told == [self._told()]
        verdicts = {note.index: note.verdict for note in found.notes if note.verdict != "landed"}
        assert verdicts == {target_at(A, "b1e5"): "unclear"}
        assert found.timing.lean_ms == pytest.approx(0.0)

    def test_where_only_the_start_is_given_the_tempo_is_found_blind(
        self, silent: Path, listening: _Listening
    ) -> None:
        found = judge_take(silent, A, Limits(), start_sec=START_SEC).outcome
        assert found.tempo_half_bpm == pytest.approx(TEMPO, rel=0.01)
        assert listening.told == [(), self._told(tempo_half_bpm=found.tempo_half_bpm)]

    def test_a_start_that_is_found_is_found_blind_and_judged_informed(
        self, silent: Path, listening: _Listening
    ) -> None:
        found = judge_take(silent, A, Limits(), tempo_half_bpm=TEMPO).outcome
        assert found.start_sec == pytest.approx(START_SEC + 0.004, abs=0.003)
        blind, told = listening.told
        assert blind == ()
        for one, other in zip(told, self._told(), strict=True):
            assert (one.midi, one.weight) == (other.midi, other.weight)
            assert one.onset_sec == pytest.approx(other.onset_sec + 0.004, abs=0.004)
        assert [note.verdict for note in found.notes].count("landed") == len(A.notes) - 1

    def test_where_no_start_is_found_it_is_not_listened_to_again(
        self, silent: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        listening = _Listening(_heard(play(A)[:3]), _heard(play(A)))
        monkeypatch.setattr("listener.files.hear_file", listening.hear_file)
        judged = judge_take(silent, A, Limits())
        assert (judged.outcome.start_sec, judged.heard_notes) == (None, 3)
        assert hear_take(silent, A, Limits()) == (_heard(play(A)[:3]), None)
        assert listening.told == [(), ()]

    def test_hearing_with_a_lick_in_mind_is_hearing_what_judging_hears(
        self, silent: Path, listening: _Listening
    ) -> None:
        given, grid = hear_take(silent, A, Limits(), tempo_half_bpm=TEMPO, start_sec=START_SEC)
        assert grid == grid_of(A)
        assert listening.told == [self._told()]
        assert len(given.notes) == len(A.notes) - 1
        assert [note.midi for note in given.doubtful] == [A.notes[target_at(A, "b1e5")].midi]
        assert hear_take(silent, A, Limits())[0] == given
        judge_take(silent, A, Limits())
        assert listening.told[1] == listening.told[3] == ()
        assert listening.told[2] == listening.told[4] != ()

    def test_a_turn_is_listened_to_twice_with_all_passes_in_mind(
        self, silent: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        events = _looped(A, "", "", first_sec=START_SEC, rest_bars=1)
        informed = _looped(A, "", "b1e5 out", first_sec=START_SEC, rest_bars=1)
        thin = tuple(event for event in events if event not in informed)
        listening = _Listening(_heard(events), replace(_heard(informed), doubtful=thin))
        monkeypatch.setattr("listener.files.hear_file", listening.hear_file)
        found = judge_turn(silent, A, Limits(), passes=4)
        assert [over.judged.outcome.clean for over in found] == [True, True]
        assert found[1].judged.outcome.notes[target_at(A, "b1e5")].verdict == "unclear"
        blind, told = listening.told
        assert blind == ()
        assert [one.midi for one in told] == 2 * [one.midi for one in self._told()]

    def test_a_start_beyond_the_end_is_told_before_anything_is_heard(
        self, silent: Path, listening: _Listening
    ) -> None:
        with pytest.raises(Usage, match=r"start 4 s: .*take.wav is 3.20 s long"):
            judge_take(silent, A, Limits(), tempo_half_bpm=TEMPO, start_sec=4.0)
        assert listening.told == []


def test_a_rendered_pass_is_found_at_the_same_place_whether_informed_or_blind(tmp_path: Path) -> None:
    played = perform(A, tempo_half_bpm=TEMPO, mistakes=("seven-missing",), seed=3, start_sec=0.35)
    soundfile.write(tmp_path / "take.wav", render(played, rate=44100, duration_sec=2.2), 44100)
    informed = judge_take(tmp_path / "take.wav", A, Limits()).outcome
    hearing = hear_file(tmp_path / "take.wav")
    blind = judge_events(hearing.notes, A, Limits(), duration_sec=hearing.duration_sec).outcome
    assert (informed.start_sec, informed.tempo_half_bpm) == (blind.start_sec, blind.tempo_half_bpm)
    assert informed.start_sec == pytest.approx(0.35, abs=0.01)
    assert [note.verdict for note in informed.notes] == [note.verdict for note in blind.notes]
    assert {note.verdict for note in informed.notes} == {"landed", "missed"}
