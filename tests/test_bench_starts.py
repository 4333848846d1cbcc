"""The starts bench: takes that are what they claim to be, and a flawless ear that finds the lick in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from feedback.errors import CannotDo
from feedback.judges.limits import Limits
from feedback.played import Performance, as_heard
from feedback.takes import judge_events
from listener.notes import NoteEvent
from routines.library import load
from routines.lick import quarter_sec
from routines.outcome import PassOutcome
from tests.bench import __main__ as bench
from tests.bench import start_sounds, starts
from tests.bench.start_kinds import KINDS, NOTHING, RISE, SAID
from tests.bench.start_takes import Draw, Take, Warp
from tests.bench.starts import Score, drawn, line, scored
from tests.in_turn import in_turn

SPOKEN = {"talk-before", "talk", *SAID}


def _heard(take: Take) -> list[NoteEvent]:
    return as_heard(
        Performance(
            notes=take.notes, lick_id="", tempo_half_bpm=1.0, start_sec=0.0, mistakes=(), seed=0, open_midi={}
        )
    )


def _judged(take: Take, events: Sequence[NoteEvent]) -> PassOutcome:
    return judge_events(events, take.lick, Limits(), duration_sec=1e3).outcome


def _draw(lick: str, *, tempo: float = 80.0, mistakes: bool = False, seed: int = 5) -> Draw:
    rng = np.random.default_rng(seed)
    return Draw(lick=load(lick), tempo_half_bpm=tempo, mistakes=mistakes, seed=seed, rng=rng)


class TestTakes:
    """What is drawn."""

    def test_a_warp_keeps_both_ends_and_reaches_the_tempo(self) -> None:
        warp = Warp(begin_sec=1.0, end_sec=5.0, rise=0.15)
        assert [warp.at(1.0), warp.at(5.0)] == pytest.approx([1.0, 5.0])
        speeds = [1e-4 / (warp.at(sec + 1e-4) - warp.at(sec)) for sec in (1.0, 2.0, 3.0, 4.0, 5.0)]
        assert speeds[-1] / speeds[0] == pytest.approx(1.15, rel=1e-3)
        assert speeds[2] - speeds[1] == pytest.approx(speeds[3] - speeds[2], rel=1e-3)

    def test_beyond_its_ends_a_warp_goes_on_at_the_tempo_reached(self) -> None:
        warp = Warp(begin_sec=1.0, end_sec=5.0, rise=-0.15)
        for edge, outside in ((1.0, 0.2), (5.0, 6.0)):
            inside = 1.001 if edge == 1.0 else 4.999
            speed = (warp.at(inside) - edge) / (inside - edge)
            assert (warp.at(outside) - edge) / (outside - edge) == pytest.approx(speed, rel=1e-3)

    @in_turn("kind", [*KINDS, *NOTHING])
    def test_a_take_follows_from_its_number_and_seed(self, kind: str) -> None:
        assert drawn(kind, 3, 7).notes == drawn(kind, 3, 7).notes
        one, other = drawn(kind, 3, 7), drawn(kind, 3, 8)
        assert (one.notes, one.talk_sec) != (other.notes, other.talk_sec) or kind == "silence"
        assert one.kind == kind
        assert (one.steady is None) is (kind in NOTHING)
        assert bool(one.talk_sec) is (kind in SPOKEN)

    @pytest.mark.parametrize(("kind", "rise"), [("steady", 0.0), ("faster", RISE), ("slower", -RISE)])
    def test_tempo_goes_as_the_kind_says(self, kind: str, rise: float) -> None:
        take = KINDS[kind](_draw("slab-wood-supper"))
        first, last = (take.lick.notes[k].onset_quarters for k in (0, -1))
        assert take.tempo_between(first, last) == pytest.approx(80.0)
        ends = [take.tempo_between(q, q + 1e-3) for q in (first, last - 1e-3)]
        assert ends[1] / ends[0] == pytest.approx(1.0 + rise, rel=1e-3)
        assert len(take.notes) == len(take.lick.notes)

    def test_broken_off_and_whole_again(self) -> None:
        for kind in ("false-start", "retry"):
            take = KINDS[kind](_draw("slab-wood-supper"))
            bar = 4.0 * quarter_sec(80.0)
            before = [note for note in take.notes if note.onset_sec < take.played_sec(-0.25)]
            assert 2 <= len(before) <= 6
            assert len(take.notes) == len(before) + len(take.lick.notes)
            assert before[-1].onset_sec - before[0].onset_sec < 1.1 * bar
            pause = take.played_sec(0.0) - before[-1].onset_sec
            assert 0.95 < pause < 3.05 if kind == "false-start" else 0.35 < pause < 1.0

    def test_two_passes_follow_one_another(self) -> None:
        take = KINDS["two-passes"](_draw("slab-wood-supper"))
        assert len(take.notes) == 2 * len(take.lick.notes)
        second = take.notes[len(take.lick.notes)].onset_sec
        assert second == pytest.approx(take.played_sec(take.lick.end_quarters), abs=0.03)

    def test_every_string_is_stopped_where_it_is_struck_again(self) -> None:
        take = drawn("noodling", 1, 2)
        for number, note in enumerate(take.notes):
            after = [n.onset_sec for n in take.notes[number + 1 :] if n.string == note.string]
            assert not after or note.onset_sec + note.duration_sec <= after[0] + 1e-9

    def test_small_mistakes_are_two(self) -> None:
        take = KINDS["steady"](_draw("slab-wood-supper", mistakes=True))
        assert take.steady is not None
        assert len(take.steady.mistakes) == 2


@in_turn("kind", [k for k in KINDS if k not in SPOKEN])
@in_turn("number", [0, 7, 13])
def test_a_flawless_ear_finds_the_meant_pass(kind: str, number: int) -> None:
    take = drawn(kind, number, 4)
    score = scored(take, _judged(take, _heard(take)))
    assert (score.found, score.meant) == (1, 1)
    assert score.notes_same == score.notes
    assert score.sevens_same == score.sevens


@in_turn("kind", [k for k in NOTHING if k not in SPOKEN])
@in_turn("number", range(3))
def test_a_flawless_ear_finds_nothing_where_nothing_is(kind: str, number: int) -> None:
    take = drawn(kind, number, 4)
    assert scored(take, _judged(take, _heard(take))) == Score()


def test_a_pass_found_elsewhere_is_not_the_meant_one() -> None:
    take = drawn("steady", 0, 4)
    late = [replace(event, onset_sec=event.onset_sec + 0.06) for event in _heard(take)]
    score = scored(take, _judged(take, late))
    assert (score.found, score.meant, score.off_sec, score.tempo, score.bars) == (1, 0, None, 0, 0)
    assert scored(take, _judged(take, [])).found == 0


def test_a_wrong_tempo_is_counted_as_wrong() -> None:
    take = drawn("steady", 0, 4)
    begin = take.played_sec(0.0)
    faster = [replace(e, onset_sec=begin + (e.onset_sec - begin) / 1.03) for e in _heard(take)]
    score = scored(take, _judged(take, faster))
    assert (score.meant, score.tempo) == (1, 0)
    assert score.bars > score.bars_right == 0


@pytest.mark.parametrize("font", ["sim", "fluid"])
def test_start_and_course_are_found_in_the_sound(font: str) -> None:
    if font != "sim":
        try:
            start_sounds.font_path(font)
        except CannotDo as error:
            pytest.skip(str(error))
    take = KINDS["faster"](_draw("slab-wood-supper", tempo=70.0))
    outcome = start_sounds.judged(take, font)
    assert outcome.start_sec == pytest.approx(take.played_sec(0.0), abs=0.02)
    assert {note.verdict for note in outcome.notes} == {"landed"}
    tempos = [tempo for _, tempo in outcome.timing.tempo_course]
    assert tempos[0] < 68.5
    assert tempos[-1] > 71.5


def test_talk_is_heard_before_the_lick_and_not_as_the_lick() -> None:
    take = replace(KINDS["talk-before"](_draw("slab-wood-supper")), notes=(), steady=None)
    sound = start_sounds.sounded(take, "sim")
    spoken = slice(0, round(take.talk_sec * start_sounds.RATE))
    assert np.abs(sound[spoken]).max() > 10 * np.abs(sound[spoken.stop :]).max()
    assert scored(take, start_sounds.judged(take, "sim")).found == 0


def test_a_missing_synthesiser_is_said_and_skipped(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start_sounds, "SYNTHESISER", "no-such-program")
    monkeypatch.setattr(starts, "SYNTHESISER", "no-such-program")
    take = replace(drawn("talk", 0), said=True)
    with pytest.raises(CannotDo, match="no-such-program is not installed"):
        start_sounds.sounded(take, "sim")
    assert bench.main(["starts", "--kinds", "said", "--takes", "1", "--processes", "1"]) == 0
    assert "said: skipped, no-such-program is not installed" in capsys.readouterr().out


def test_a_row_tells_what_was_counted() -> None:
    found = Score(
        found=1, meant=1, off_sec=0.004, tempo=1, bars=2, bars_right=1, notes=10, notes_same=9,
        sevens=2, sevens_same=2, clean_same=1,
    )  # fmt: skip
    row = " ".join(line("steady", [found, Score(notes=10, sevens=2)]).split())
    assert row == (
        "steady found 1 of 2 4.0 ms tempo 0.500 course 0.500 (2 bars) notes 0.450 sevens 0.500 clean 0.500"
    )
    assert " ".join(line("roll", [Score(found=1), Score()]).split()) == "roll found 1 of 2"


@pytest.mark.parametrize("more", [["--takes", "0"], ["--processes", "0"], ["--seed", "-1"]])
def test_numbers_out_of_range_are_refused(more: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert bench.main(["starts", *more]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
