"""The delay curve: what counts as said, by when, and what is taken back later."""

from __future__ import annotations

import pytest

from listener.files import Hearing
from listener.notes import NoteEvent
from tests.bench.delays import WITHIN_MS, Soon, delay_lines
from tests.bench.note_scores import Played, Tally
from tests.bench.rows import Score
from tests.bench.two_ears import TwoEars


def event(onset_sec: float, midi: int, after_ms: float) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=0.9,
        heard_sec=onset_sec + after_ms / 1e3,
        settled_sec=onset_sec + 0.1,
    )


def hearing(notes: list[NoteEvent], withdrawn: list[NoteEvent] | None = None) -> Hearing:
    return Hearing(
        sample_rate=44100,
        duration_sec=5.0,
        tuning_cents=0.0,
        notes=tuple(notes),
        withdrawn=tuple(withdrawn or []),
        doubtful=(),
    )


TRUTH = (
    Played(onset_sec=1.0, midi=60),
    Played(onset_sec=2.0, midi=62),
    Played(onset_sec=3.0, midi=64, how="hammer"),
    Played(onset_sec=4.0, midi=65),
)


def soon(heard: Hearing) -> Soon:
    found = Soon()
    found.add(TRUTH, heard)
    return found


def test_a_delay_counts_from_the_true_onset_and_a_limit_met_exactly_is_kept() -> None:
    late_by_ten = event(1.010, 60, 20.0)
    found = soon(hearing([late_by_ten]))
    assert found.picked_ms == pytest.approx([30.0])
    assert found.share(29.9) == 0.0
    assert found.share(30) == pytest.approx(1 / 3)


def test_slurs_are_in_f_alone() -> None:
    found = soon(hearing([event(3.0, 64, 25.0)]))
    assert found.picked == 3
    assert found.share(60) == 0.0
    assert found.f_measure(25) == pytest.approx(2 * 1 / (4 + 1))


def test_f_counts_what_is_false_and_what_is_taken_back_once_it_was_said() -> None:
    heard = hearing([event(1.0, 60, 25.0), event(1.5, 70, 45.0)], [event(2.0, 62, 35.0)])
    found = soon(heard)
    assert found.f_measure(30) == pytest.approx(2 * 1 / (4 + 1))
    assert found.f_measure(40) == pytest.approx(2 * 1 / (4 + 2))
    assert found.f_measure(45) == pytest.approx(2 * 1 / (4 + 3))
    assert found.share(60) == pytest.approx(1 / 3)


def test_nothing_played_and_nothing_heard_is_nothing() -> None:
    assert (Soon().share(60), Soon().f_measure(60)) == (0.0, 0.0)


def test_a_line_for_each_ear_and_each_measure() -> None:
    both = (hearing([event(1.0, 60, 54.0)]), hearing([event(1.0, 60, 28.0), event(2.0, 62, 32.0)]))
    take = TwoEars(
        nps=8.0,
        truth=TRUTH,
        hearings=both,
        scores=tuple(_score(one) for one in both),
        took_sec=1.0,
    )
    head, blind, _, informed, f_informed = delay_lines([take, take])
    assert head.split()[2:] == [str(within) for within in WITHIN_MS]
    assert "6 picked, median 54.0 95% 54.0" in blind
    assert "6 picked, median 30.0 95% 32.0" in informed
    shares = dict(zip(WITHIN_MS, map(float, informed.split()[2:10]), strict=True))
    assert (shares[25], shares[30], shares[35]) == (0.0, 0.333, 0.667)
    assert float(f_informed.split()[1 + WITHIN_MS.index(35)]) == pytest.approx(2 * 4 / (8 + 4), abs=5e-4)


def _score(heard: Hearing) -> Score:
    tally = Tally()
    tally.add(TRUTH, heard.notes)
    return Score(tally=tally)
