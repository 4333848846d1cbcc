"""The bench of instruments to get to know: what is played, and what its table says."""

from __future__ import annotations

import numpy as np
import pytest

from feedback.soundcheck import asked_places
from routines.neck import Neck
from tests.bench import banjo_takes
from tests.bench.banjo_takes import KINDS, asked_performance
from tests.bench.banjos import HEARD, KNOWN, PLAIN, TUNED, Result, difference, table
from tests.bench.note_scores import Tally


def _tally(hits: int) -> Tally:
    tally = Tally(played=100, heard=100, hits=hits)
    tally.found["pinch"] += [True, False]
    return tally


def _result(kind: str, *hits: int, kept: bool = True) -> Result:
    tallies = tuple(_tally(number) for number in hits)
    return Result(kind=kind, found=34, asked=35, kept=kept, tallies=tallies)


def test_a_player_follows_the_list_in_order_and_slips_now_and_then() -> None:
    neck = Neck()
    asked = [neck.midi(place.string, place.fret) for place in asked_places(neck)]
    slips = 0
    for seed in range(12):
        played = asked_performance(np.random.default_rng(seed), neck)
        midi = [note.midi for note in played.notes]
        gaps = np.diff([note.onset_sec for note in played.notes])
        assert gaps.min() > 0.3
        assert abs(len(midi) - len(asked)) <= 6
        assert sum(one in asked for one in midi) >= 0.85 * len(midi)
        slips += midi != asked
    assert 0 < slips < 12


def test_a_string_that_is_left_is_stopped_and_an_open_one_rings() -> None:
    played = asked_performance(np.random.default_rng(1), Neck())
    at = next(number for number, note in enumerate(played.notes) if note.string == 3)
    last, after = played.notes[at - 1], played.notes[at]
    assert (last.string, last.fret) == (4, 7)
    assert last.onset_sec + last.duration_sec < after.onset_sec


def test_differences_are_of_each_instrument_and_nothing_gained_is_nought() -> None:
    results = [_result("a", 90, 90, 95), _result("a", 80, 80, 90)]
    assert difference(results, TUNED) == (0.0, 0.0, 0.0, 0.0, 0.0)
    mean, low, high, least, most = difference(results, KNOWN)
    assert mean == pytest.approx(0.075)
    assert low == pytest.approx(0.05)
    assert high == pytest.approx(0.10)
    assert (least, most) == (pytest.approx(0.05), pytest.approx(0.10))


def test_the_table_has_a_block_for_each_kind_and_one_for_all() -> None:
    lines = list(table([_result("b", 90, 90, 95), _result("a", 80, 81, 90, kept=False)]))
    heads = [line for line in lines if not line.startswith(" ")]
    assert [head.split(":")[0] for head in heads] == ["a", "b", "all"]
    assert "learnt and kept on 1" in heads[-1]
    assert "0.971 of the list found" in heads[-1]
    rows = [line.strip() for line in lines if line.startswith(" ")]
    assert [sum(row.startswith(name) for row in rows) for name in HEARD] == [3, 3, 3]
    assert "F 0.9250" in rows[-1]
    assert "+0.0750 [" in rows[-1]
    assert PLAIN in rows[0]
    assert "[" not in rows[0]


def test_one_kind_alone_is_one_block() -> None:
    assert sum(not line.startswith(" ") for line in table([_result("a", 90, 90, 95)])) == 1


def test_every_kind_says_what_it_is_in_a_line() -> None:
    for name, kind in KINDS.items():
        assert kind.meaning, name
        assert "\n" not in kind.meaning


def test_an_outing_follows_from_its_seed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(banjo_takes, "ROLL_NPS", (9.0, 10.0))
    monkeypatch.setattr(banjo_takes, "_GAP_SEC", (0.3, 0.4))
    monkeypatch.setattr(banjo_takes, "_CHANGE_SEC", (0.0, 0.1))
    one, again = (KINDS["strings-off"].draw(3, None) for _ in range(2))
    assert np.array_equal(one.asked, again.asked)
    assert [take.truth for take in one.takes] == [take.truth for take in again.takes]
    assert np.array_equal(one.takes[-1].sound, again.takes[-1].sound)
    assert len({take.rate for take in one.takes}) == 1
