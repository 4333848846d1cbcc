"""A trial's count: the ear's own rule for a pitch again, what is neither hit nor fault, the best limit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from listener.ear import EarSettings
from listener.network import LOW_PITCH, PITCHES
from tests.bench.train.gather import Gathered, Part
from tests.bench.train.takes import TrueNote
from tests.bench.train.trial import LIMITS, Count, best_limit, counted, said

Heard = tuple[float, int, float]
"""Onset in seconds, half step, confidence."""


def _note(onset_sec: float, midi: int = 62, how: str = "pick", **more: object) -> TrueNote:
    rest: dict = {"arrive_sec": None, "to_midi": None, "level_db": 0.0, "counts": True} | more
    return TrueNote(onset_sec=onset_sec, midi=midi, how=how, **rest)


def _confidence(heard: Sequence[Heard]) -> tuple[np.ndarray, np.ndarray]:
    """Confidences, a row for each onset, and those onsets."""
    onset_sec = np.array(sorted({sec for sec, _, _ in heard}))
    confidence = np.zeros((len(onset_sec), PITCHES), np.float32)
    for sec, midi, sure in heard:
        confidence[np.searchsorted(onset_sec, sec), midi - LOW_PITCH] = sure
    return confidence, onset_sec


def _trial(*takes: tuple[str, Sequence[TrueNote], Sequence[Heard]]) -> tuple[np.ndarray, Gathered]:
    """Takes of a kind, what was played and what is heard, laid side by side."""
    parts: list[Part] = []
    rows: list[np.ndarray] = []
    for number, (kind, notes, heard) in enumerate(takes):
        confidence, onset_sec = _confidence(heard)
        begin = parts[-1].end if parts else 0
        parts.append(
            Part(
                seed=number,
                kind=kind,
                nps=8.0,
                begin=begin,
                end=begin + len(onset_sec),
                onset_sec=onset_sec,
                notes=tuple(notes),
            )
        )
        rows.append(confidence)
    empty = np.zeros((0,))
    return np.concatenate(rows), Gathered(views=empty, facts=empty, labels=empty, parts=tuple(parts))


def _count(notes: Sequence[TrueNote], heard: Sequence[Heard], least: float = 0.5) -> Count:
    (count,) = counted(*_trial(("banjo", notes, heard)), least).values()
    return count


def _sums(count: Count) -> tuple[int, int, int, int]:
    return count.played, count.heard, count.hits, count.near_hits


def _said(*heard: Heard, least: float = 0.5) -> list[tuple[float, int]]:
    return said(*_confidence(heard), least)


def test_what_is_sure_enough_is_said_in_order() -> None:
    told = _said((0.2, 67, 0.5), (0.1, 62, 0.9), (0.2, 50, 0.75), (0.3, 55, 0.49))
    assert told == [(0.1, 62), (0.2, 50), (0.2, 67)]  # the limit itself is enough


def test_the_same_pitch_too_soon_is_the_same_note() -> None:
    again = EarSettings().again_sec
    assert _said((1.0, 62, 0.9), (1.0 + again - 0.001, 62, 0.9)) == [(1.0, 62)]
    assert len(_said((1.0, 62, 0.9), (1.0 + again + 0.001, 62, 0.9))) == 2
    assert len(_said((1.0, 62, 0.9), (1.01, 63, 0.9))) == 2
    # counted from the last that was said: the third is a note again, the second was none
    assert _said(*((1.0 + step * 0.6 * again, 62, 0.9) for step in range(3))) == [
        (1.0, 62),
        (1.0 + 1.2 * again, 62),
    ]


def test_what_was_not_sure_enough_silences_nothing() -> None:
    assert _said((1.0, 62, 0.4), (1.03, 62, 0.9)) == [(1.03, 62)]
    assert _said((0.0, 62, 0.9)) == [(0.0, 62)]  # a take may begin with a note
    assert said(np.zeros((0, PITCHES), np.float32), np.zeros(0), 0.5) == []


def test_hits_near_hits_misses_and_faults() -> None:
    notes = [_note(1.0), _note(2.0, 64), _note(3.0, 65), _note(4.0, 67)]
    heard = [(1.02, 62, 0.9), (2.04, 64, 0.9), (3.06, 65, 0.9), (4.0, 66, 0.9)]
    count = _count(notes, heard)
    assert _sums(count) == (4, 4, 2, 1)
    assert count.f_measure() == pytest.approx(0.5)
    assert count.figures() == pytest.approx({"P": 0.5, "R": 0.5, "F": 0.5, "F25": 0.25, "single": 0.5})


def test_a_note_that_does_not_count_is_neither_hit_nor_fault() -> None:
    notes = [_note(1.0), _note(2.0, 64, counts=False)]
    assert _sums(_count(notes, [(1.0, 62, 0.9)])) == (1, 1, 1, 1)
    assert _sums(_count(notes, [(1.0, 62, 0.9), (2.03, 64, 0.9)])) == (1, 1, 1, 1)
    # once; and only its own pitch, near it
    assert _sums(_count(notes, [(1.0, 62, 0.9), (1.97, 64, 0.9), (2.03, 64, 0.9)])) == (1, 2, 1, 1)
    assert _sums(_count(notes, [(1.0, 62, 0.9), (2.0, 65, 0.9)])) == (1, 2, 1, 1)
    assert _sums(_count(notes, [(1.0, 62, 0.9), (2.06, 64, 0.9)])) == (1, 2, 1, 1)


def test_a_note_that_counts_is_found_before_one_that_does_not() -> None:
    notes = [_note(1.0), _note(1.01, counts=False)]
    assert _sums(_count(notes, [(1.01, 62, 0.9)])) == (1, 1, 1, 1)
    assert _sums(_count(notes, [])) == (1, 0, 0, 0)


def test_a_slide_out_of_a_sounding_note_is_heard_where_it_arrives() -> None:
    slide = _note(1.0, 64, "slide", arrive_sec=1.2)
    count = _count([slide], [(1.2, 64, 0.9)])
    assert _sums(count) == (1, 1, 1, 1)
    assert count.found == {"single": [], "pinch": [], "slur": [True]}
    assert _sums(_count([slide], [(1.0, 64, 0.9)])) == (1, 1, 0, 0)
    struck = _note(1.0, 62, "slide", arrive_sec=1.2, to_midi=64)
    assert _sums(_count([struck], [(1.0, 62, 0.9)])) == (1, 1, 1, 1)


def test_notes_are_found_by_kind() -> None:
    notes = [
        _note(1.0),
        _note(2.0, 55),
        _note(2.02, 67),
        _note(3.0, 64, "hammer"),
        _note(4.0, 60, "choke", arrive_sec=4.2, to_midi=62),
        _note(5.0, 70),
        _note(5.0, 71, counts=False),
    ]
    heard = [(1.0, 62, 0.9), (2.0, 55, 0.9), (4.0, 60, 0.9), (5.0, 70, 0.9)]
    assert _count(notes, heard).found == {
        "single": [True, True, True],  # a choke is struck; what does not count pinches nothing
        "pinch": [True, False],
        "slur": [False],
    }


def test_takes_are_summed_by_kind_of_instrument() -> None:
    trial = _trial(
        ("simulated", [_note(1.0)], [(1.0, 62, 0.9)]),
        ("modal", [_note(1.0), _note(2.0)], []),
        ("simulated", [_note(1.0)], [(1.5, 62, 0.9), (2.5, 62, 0.9)]),
    )
    counts = counted(*trial, 0.5)
    assert {kind: _sums(count) for kind, count in counts.items()} == {
        "simulated": (2, 3, 1, 1),
        "modal": (2, 0, 0, 0),
    }
    assert counts["simulated"].found["single"] == [True, False]
    total = Count()
    for count in counts.values():
        total.add(count)
    assert _sums(total) == (4, 3, 1, 1)
    row = "4 P 0.3333 R 0.2500 F 0.2857 F25 0.2857 single 0.2500"
    assert " ".join(total.row().split()) == row


def test_of_nothing_all_figures_are_nought() -> None:
    count = _count([], [])
    assert _sums(count) == (0, 0, 0, 0)
    assert count.figures() == {"P": 0.0, "R": 0.0, "F": 0.0, "F25": 0.0}


def _three() -> tuple[np.ndarray, Gathered]:
    """F is 4/5 with the stray note, 1 without it, 2/3 without the unsure one, too."""
    heard = [(1.0, 62, 0.95), (2.0, 64, 0.55), (3.0, 66, 0.35)]
    return _trial(("banjo", [_note(1.0), _note(2.0, 64)], heard))


@pytest.mark.parametrize(
    ("slack", "limit", "f_measure"),
    [(0.0, 0.4, 1.0), (0.19, 0.4, 1.0), (0.21, 0.2, 0.8), (1.0, 0.2, 0.8)],
)
def test_the_lowest_limit_within_the_slack_is_taken(slack: float, limit: float, f_measure: float) -> None:
    assert best_limit(*_three(), slack) == pytest.approx((limit, f_measure))


def test_the_best_limit_is_over_all_kinds_together() -> None:
    stray = [(sec, 66, 0.65) for sec in (1.0, 2.0, 3.0)]
    trial = _trial(
        ("one", [_note(1.0)], [(1.0, 62, 0.55)]), ("other", [_note(9.0)], [*stray, (9.0, 62, 0.95)])
    )
    assert best_limit(*trial) == pytest.approx((0.7, 2 / 3))
    assert best_limit(*trial, 0.1) == pytest.approx((0.2, 4 / 7))


def test_where_nothing_is_played_or_heard_the_lowest_is_taken() -> None:
    assert best_limit(*_trial(("banjo", [], []))) == (LIMITS[0], 0.0)
