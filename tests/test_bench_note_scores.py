"""Pairing heard with played notes: by hand, and against a general assignment."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.notes import NoteEvent
from tests.bench.note_scores import Played, Spread, Tally, kind_of, matched


def _event(onset_sec: float, midi: int, heard_sec: float = 0.0) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=1.0,
        heard_sec=heard_sec,
        settled_sec=heard_sec,
    )


def test_as_many_pairs_as_possible_then_the_nearest() -> None:
    assert matched([(1.00, 60), (1.04, 60)], [(1.03, 60), (1.08, 60)], 0.05) == [(0, 0), (1, 1)]
    assert matched([(1.00, 60)], [(0.97, 60), (1.01, 60)], 0.05) == [(0, 1)]
    assert matched([(1.00, 60)], [(1.00, 61)], 0.05) == []


def test_the_tolerance_itself_still_counts() -> None:
    assert matched([(1.0, 60)], [(1.05, 60)], 0.05) == [(0, 0)]
    assert matched([(1.0, 60)], [(1.0502, 60)], 0.05) == []


_NOTES = st.lists(st.tuples(st.integers(0, 60).map(lambda at: at / 200.0), st.integers(60, 62)), max_size=9)


@settings(deadline=None)
@given(_NOTES, _NOTES)
def test_pairs_are_those_of_a_general_assignment(
    played: list[tuple[float, int]], heard: list[tuple[float, int]]
) -> None:
    from scipy.optimize import linear_sum_assignment  # slow to load, for nobody but this

    pairs = matched(played, heard, 0.05)
    assert len({i for i, _ in pairs}) == len({j for _, j in pairs}) == len(pairs)
    if not played or not heard:
        assert pairs == []
        return
    gaps = np.abs(np.array([[p[0] - h[0] for h in heard] for p in played]))
    same = np.array([[p[1] == h[1] for h in heard] for p in played])
    fits = same & (np.round(gaps, 4) <= 0.05)
    rows, columns = linear_sum_assignment(np.where(fits, gaps - 1e3, 0.0))
    general = [(i, j) for i, j in zip(rows, columns, strict=True) if fits[i, j]]
    assert len(pairs) == len(general)
    assert sum(gaps[i, j] for i, j in pairs) == pytest.approx(sum(gaps[i, j] for i, j in general), abs=1e-9)


def test_kinds_of_notes() -> None:
    notes = [
        Played(onset_sec=1.0, midi=60),
        Played(onset_sec=1.029, midi=64),
        Played(onset_sec=1.2, midi=62),
        Played(onset_sec=1.21, midi=63, how="hammer"),
        Played(onset_sec=1.24, midi=63),
    ]
    assert [kind_of(note, notes) for note in notes] == ["pinch", "pinch", "pinch", "slur", "single"]


def test_a_tally_counts_what_was_found_and_what_was_not() -> None:
    truth = [
        Played(onset_sec=1.0, midi=60),
        Played(onset_sec=2.0, midi=62, how="pull"),
        Played(onset_sec=3.0, midi=64),
    ]
    tally = Tally()
    tally.add(truth, [_event(1.03, 60, 1.08), _event(2.0, 62, 2.1), _event(5.0, 70, 5.1)])
    assert (tally.played, tally.heard, tally.hits, tally.near_hits) == (3, 3, 2, 1)
    assert tally.f_measure() == pytest.approx(2 / 3)
    assert tally.f_measure(narrow=True) == pytest.approx(1 / 3)
    assert tally.found == {"single": [True, False], "pinch": [], "slur": [True]}
    assert tally.errors_ms == pytest.approx([30.0])  # the slur is left out
    assert tally.delays_ms == pytest.approx([80.0])
    assert (tally.recall(), tally.precision()) == (pytest.approx(2 / 3), pytest.approx(2 / 3))
    both = tally.merged([tally])
    assert (both.played, both.hits, len(both.errors_ms)) == (6, 4, 2)
    assert (tally.played, len(tally.errors_ms)) == (3, 1)


def test_an_empty_tally_has_a_row() -> None:
    assert Tally().f_measure() == 0.0
    assert "F 0.0000" in Tally().row()


def test_the_curve_is_f_of_what_was_heard_so_soon_after_its_own_onset() -> None:
    truth = [Played(onset_sec=1.0, midi=60), Played(onset_sec=2.0, midi=62), Played(onset_sec=3.0, midi=64)]
    tally = Tally()
    tally.add(truth, [_event(1.01, 60, 1.03), _event(2.0, 62, 2.045), _event(4.0, 70, 4.01)])
    # at 20 ms exactly the first and the false one are in; the second is from 60 ms on
    assert tally.soon == {20: (1, 2), 30: (1, 2), 40: (1, 2), 60: (2, 3), 80: (2, 3)}
    assert "20 ms 0.4000" in tally.curve()
    assert "60 ms 0.6667" in tally.curve()
    assert tally.merged([tally]).soon[60] == (4, 6)
    assert Tally().soon[60] == (0, 0)


def test_a_spread_is_over_seeds() -> None:
    assert Spread.of([0.9]) == Spread(mean=0.9, deviation=0.0, least=0.9, most=0.9)
    spread = Spread.of([0.8, 1.0])
    assert (spread.mean, spread.least, spread.most) == (pytest.approx(0.9), 0.8, 1.0)
    assert spread.deviation == pytest.approx(0.1 * 2**0.5)
    assert str(spread) == "0.9000 ±0.1414 [0.800 1.000]"
