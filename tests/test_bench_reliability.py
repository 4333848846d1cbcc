"""Reliability: which events are right, how they are binned, and how far confidence is from what came true."""

from __future__ import annotations

import pytest

from listener.files import Hearing
from listener.notes import NoteEvent
from tests.bench.reliability import EDGES, Sure, binned, calibration_error, diagram, sures


def event(onset_sec: float, midi: int, confidence: float) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=confidence,
        heard_sec=onset_sec + 0.03,
        settled_sec=onset_sec + 0.1,
    )


def hearing(notes: list[NoteEvent], doubtful: list[NoteEvent]) -> Hearing:
    return Hearing(
        sample_rate=44100,
        duration_sec=5.0,
        tuning_cents=0.0,
        notes=tuple(notes),
        withdrawn=(),
        doubtful=tuple(doubtful),
    )


def some(many: int, right: int, confidence: float) -> list[Sure]:
    return [Sure(confidence=confidence, right=place < right, doubtful=False) for place in range(many)]


def test_an_event_is_right_within_fifty_milliseconds_of_its_pitch() -> None:
    played = [(1.0, 60), (2.0, 62)]
    heard = hearing([event(1.05, 60, 0.9), event(2.051, 62, 0.8), event(2.0, 63, 0.7)], [])
    assert [one.right for one in sures(played, heard)] == [True, False, False]


def test_a_doubtful_event_is_right_only_where_no_standing_one_took_its_note() -> None:
    played = [(1.0, 60), (2.0, 62)]
    heard = hearing([event(1.0, 60, 0.9)], [event(1.01, 60, 0.3), event(2.0, 62, 0.4)])
    assert sures(played, heard) == [
        Sure(confidence=0.9, right=True, doubtful=False),
        Sure(confidence=0.3, right=False, doubtful=True),
        Sure(confidence=0.4, right=True, doubtful=True),
    ]


def test_what_may_be_heard_besides_is_left_out_unless_it_is_a_note() -> None:
    played, reached = [(1.0, 60), (3.0, 62)], [(1.04, 62), (3.0, 62)]
    heard = hearing([event(1.0, 60, 0.9), event(1.04, 62, 0.8), event(3.0, 62, 0.7)], [])
    assert [one.confidence for one in sures(played, heard, besides=reached)] == [0.9, 0.7]
    assert [one.right for one in sures(played, heard)] == [True, False, True]


def test_bins_hold_their_lower_limit_and_the_last_one_certainty() -> None:
    bins = binned([some(1, 1, 0.5) + some(2, 2, 1.0), some(3, 0, 0.499)])
    assert [(one.low, one.many) for one in bins] == [(0.4, 3), (0.5, 1), (0.99, 2)]
    for edge in EDGES:
        assert sum(one.many for one in binned([some(1, 1, edge)])) == 1


def test_calibration_error_weighs_each_bin_by_its_events() -> None:
    bins = binned([some(10, 9, 0.98), some(30, 15, 0.75)])
    assert calibration_error(bins) == pytest.approx((10 * 0.08 + 30 * 0.25) / 40)
    honest = binned([some(4, 3, 0.75)])
    assert calibration_error(honest) == pytest.approx(0.0)


def test_the_diagram_shows_the_share_right_and_the_mean_confidence() -> None:
    lines = list(diagram("an ear", [some(20, 10, 0.75), some(5, 5, 1.0)]))
    assert lines[0] == f"an ear: 25 events, expected calibration error {20 * 0.25 / 25:.4f}"
    assert lines[1].split()[:5] == ["0.70-0.80", "20", "mean", "0.750", "right"]
    assert lines[1].split()[5] == "0.5000"
    assert lines[1].endswith("#" * 20 + "." * 10 + "|" + "." * 9)
    assert lines[2].endswith("#" * 39 + "|")
    assert len(lines) == 3


def test_doubtful_events_are_told_apart() -> None:
    unsure = [Sure(confidence=0.3, right=right, doubtful=True) for right in (True, False, False, False)]
    line = list(diagram("an ear", [unsure]))[-1]
    assert line.split()[:6] == ["doubtful", "4", "mean", "0.300", "came", "0.2500"]


def test_nothing_heard_is_a_heading_alone() -> None:
    assert list(diagram("deaf", [[]])) == ["deaf: 0 events, expected calibration error nan"]
