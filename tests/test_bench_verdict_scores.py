"""Counting words by hand-made outcomes, and the intervals of what was counted."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from routines.outcome import Extra
from tests.bench.performances import FAITHFUL, Planned
from tests.bench.shares import share
from tests.bench.verdict_errors import confused, errors
from tests.bench.verdict_scores import (
    NUDGE_MS,
    UNCLEAR,
    WORDS,
    Compared,
    items_of,
    nudged,
    word_score,
    words_of,
)
from tests.bench.verdict_tables import mistake_line, tables, word_line
from tests.scores import A, grid_of, judged, play, target_at

SEVEN, DUE = target_at(A, "b1e8"), target_at(A, "b2e1")


def one(truth: Judged, said: Judged, *nearly: Judged, mutation: str = FAITHFUL) -> Compared:
    planned = Planned(lick="a", tempo_half_bpm=150.0, mutation=mutation, sound="sim", seed=7)
    return Compared(
        planned=planned,
        grid=grid_of(A),
        truth=truth,
        said=said,
        played=tuple(play(A)),
        heard=(),
        doubtful=(),
        items=items_of(truth, said, nearly),
        render_sec=0.2,
        listen_sec=0.3,
        kept=False,
    )


def differing(truth: Judged, said: Judged) -> dict[tuple[str, int], tuple[str, str]]:
    found = (item for item in items_of(truth, said) if item.played != item.said)
    return {(item.kind, item.index): (item.played, item.said) for item in found}


def with_extras(base: Judged, *extras: tuple[float, int, bool]) -> Judged:
    made = tuple(Extra(onset_sec=sec, midi=midi, foreign=foreign) for sec, midi, foreign in extras)
    return replace(base, outcome=replace(base.outcome, extras=made))


def with_note(base: Judged, index: int, verdict: str) -> Judged:
    notes = list(base.outcome.notes)
    notes[index] = replace(notes[index], verdict=verdict)  # type: ignore[arg-type]
    return replace(base, outcome=replace(base.outcome, notes=tuple(notes)))


def test_a_pass_beside_itself_agrees_in_every_word() -> None:
    for text in ("", "b1e8 out", "b2e1 out", "b1e8 -12dB", "add 1/0 b1e7.5"):
        assert differing(judged(A, text), judged(A, text)) == {}


def test_a_resolution_that_was_not_heard_differs_in_its_note_its_word_and_the_pass() -> None:
    assert differing(judged(A, ""), judged(A, "b2e1 out")) == {
        ("note", DUE): ("landed", "missed"),
        ("resolution", SEVEN): ("resolved", "hanging"),
        ("as asked", SEVEN): ("yes", "no"),
        ("clean", -1): ("yes", "no"),
    }


def test_a_seven_that_was_not_heard_asks_nothing_of_its_resolution() -> None:
    found = differing(judged(A, "b1e5 out"), judged(A, "b1e5 out; b1e8 out"))
    assert found["sounded", SEVEN] == ("yes", "no")
    assert found["resolution", SEVEN] == ("resolved", "none")
    assert found["as asked", SEVEN] == ("yes", "nothing")


def test_a_seven_that_the_ear_was_unsure_of_is_unclear_in_all_its_words() -> None:
    said = words_of(judged(A, "b1e8 sure 0.1"))
    for kind in ("sounded", "seven landed", "swallowed", "resolution", "as asked"):
        assert said[kind, SEVEN] == UNCLEAR


def test_added_notes_are_the_same_within_fifty_milliseconds_at_the_same_half_step() -> None:
    base = judged(A, "")
    truth = with_extras(base, (1.00, 61, True), (2.00, 62, False))
    said = with_extras(base, (1.05, 61, True), (2.06, 62, False), (2.00, 63, True))
    found = [
        (item.kind, item.index, item.played, item.said)
        for item in items_of(truth, said)
        if item.kind in ("added", "foreign")
    ]
    assert found == [
        ("added", 61, "added", "added"),
        ("added", 62, "added", "nothing"),
        ("added", 62, "nothing", "added"),
        ("added", 63, "nothing", "added"),
        ("foreign", 61, "foreign", "foreign"),
        ("foreign", 63, "nothing", "foreign"),
    ]


def test_precision_recall_and_unclear_by_hand() -> None:
    base = judged(A, "")
    truth = with_note(with_note(base, 1, "late"), 2, "late")
    said = with_note(with_note(base, 2, "late"), 3, "late")
    many = len(A.notes)
    passes = [
        one(truth, said),
        one(truth, with_note(truth, 1, UNCLEAR)),
        one(with_note(base, 0, UNCLEAR), base),
    ]
    late = word_score(passes, "note", "late")
    assert (late.true, late.said, late.errors) == (3, 3, 2)
    assert late.precision.value == pytest.approx(2 / 3)
    assert late.recall.value == pytest.approx(2 / 3)
    assert late.unclear.value == pytest.approx(1 / 4)
    assert late.recall_of_all.value == pytest.approx(2 / 4)
    landed = word_score(passes, "note", "landed")
    # what is unclear in truth is left out
    assert (landed.true, landed.said, landed.errors) == (3 * many - 5, 3 * many - 5, 2)


def test_a_word_that_was_neither_true_nor_said_has_no_figures() -> None:
    none = word_score([one(judged(A, ""), judged(A, ""))], "resolution", "octave")
    assert (none.true, none.said, none.errors) == (0, 0, 0)
    assert math.isnan(none.precision.value)
    assert word_line(none).count("-") >= 4
    assert "under" not in word_line(none)


def test_errors_of_a_truth_at_a_limit_are_counted_apart() -> None:
    clear, edge = "b1e6 +30ms", "b1e6 +23ms"  # W is 22 ms
    hairs = nudged(Limits(), 22.0)
    scores = []
    for slip in (clear, edge):
        played = judged(A, slip)
        nearly = [judged(A, slip, limits=hair) for hair in hairs]
        found = one(played, judged(A, ""), *nearly)
        scores.append(word_score([found], "note", "late"))
    assert [(score.errors, score.at_limit) for score in scores] == [(1, 0), (1, 1)]


def test_an_added_note_that_a_hair_makes_or_unmakes_lies_at_a_limit() -> None:
    base = judged(A, "")
    truth, said = with_extras(base, (1.0, 61, True)), with_extras(base, (2.0, 62, False))
    hairs = (truth, base, with_extras(base, (1.0, 61, True), (2.0, 62, False)))

    def at_limit(*nearly: Judged) -> list[bool]:
        return [item.at_limit for item in items_of(truth, said, nearly) if item.kind == "added"]

    assert at_limit(hairs[0]) == [False, False]
    assert at_limit(*hairs[:2]) == [True, False]
    assert at_limit(*hairs) == [True, True]


def test_limits_are_nudged_to_either_side_one_at_a_time() -> None:
    limits, eighth = Limits(), 0.1
    hairs = nudged(limits, 1e3 * limits.window_sec(eighth))
    windows = [round(1e3 * hair.window_sec(eighth), 6) for hair in hairs]
    assert windows == [22.0 - NUDGE_MS, 22.0 + NUDGE_MS, 22.0, 22.0]
    assert [hair.swallowed_db for hair in hairs] == [8.0, 8.0, 7.0, 9.0]
    assert [hair.swallowed_slurred_db for hair in hairs] == [12.0, 12.0, 11.0, 13.0]


def test_wilsons_interval_by_hand() -> None:
    # Wilson 1927 of 90 %: z = 1.64485
    some = share([1] * 9 + [0], [1] * 10)
    assert some.value == pytest.approx(0.9)
    assert (some.low, some.high) == pytest.approx((0.6523, 0.9774), abs=2e-4)
    every = share([1] * 10, [1] * 10)
    assert (every.low, every.high) == pytest.approx((0.7871, 1.0), abs=2e-4)


def test_items_that_fail_together_are_worth_fewer() -> None:
    apart = share([9] * 100, [10] * 100)
    together = share([0] * 10 + [10] * 90, [10] * 100)
    assert apart.value == together.value == pytest.approx(0.9)
    assert together.high - together.low > 2.5 * (apart.high - apart.low)


def test_the_interval_agrees_with_a_bootstrap_over_performances() -> None:
    rng = np.random.default_rng(1)
    of = rng.integers(5, 30, 400)
    good = rng.beta(18.0, 2.0, 400)
    hits = rng.binomial(of, good)
    drawn = rng.integers(0, 400, (2000, 400))
    means = hits[drawn].sum(axis=1) / of[drawn].sum(axis=1)
    found = share(hits.tolist(), of.tolist())
    assert (found.low, found.high) == pytest.approx(np.percentile(means, [5, 95]), abs=0.002)


def test_nothing_of_nothing_is_no_share() -> None:
    none = share([0, 0], [0, 0])
    assert math.isnan(none.value)
    assert (none.low, none.high) == (0.0, 1.0)
    assert str(none).strip() == "-"


def test_the_tables_mark_what_falls_short() -> None:
    good, blamed = judged(A, ""), judged(A, "b2e1 out")
    passes = [one(good, good) for _ in range(9)] + [one(good, blamed)]
    lines = list(tables("sim", passes, 12.0))
    assert any("resolution resolved" in line and "< under" in line for line in lines)
    assert not any("note landed" in line and "under" in line for line in lines)
    assert any("called not clean 1 of 10" in line and "> over" in line for line in lines)
    for kind, words in WORDS.items():
        for word in words:
            assert (
                sum(line.startswith(f"  {word if word == kind else f'{kind} {word}'} ") for line in lines)
                == 1
            )
    assert "landed as missed 1" in "\n".join(lines)


def test_the_row_of_a_mistake_counts_sevens_clean_passes_and_notes() -> None:
    hanging = judged(A, "b2e1 out")
    line = mistake_line("left-hanging", [one(hanging, judged(A, "")), one(hanging, hanging)])
    assert line.split()[:4] == ["left-hanging", "2", "sevens", "6"]
    assert "sounded 1.000" in line
    assert "where 0.833" in line
    assert "clean   0/0     1/2" in line
    assert f"notes {1 - 1 / (2 * len(A.notes)):.4f}" in line


def test_the_list_of_errors_says_how_to_play_it_again_and_what_was_there() -> None:
    good, blamed = judged(A, ""), judged(A, "b2e1 out")
    lines = list(errors([one(good, good), one(good, blamed)]))
    assert lines[0].startswith("sim a 150 faithful 7 ")
    assert sum(line.startswith("sim") for line in lines) == 1
    assert f"  note {DUE} (core 59): landed +0.0 ms, said missed" in lines
    assert f"  resolution of {SEVEN}: played resolved, said hanging" in lines
    assert any(line.strip().startswith("played: ") and "59 " in line for line in lines)
    assert "      heard: nothing" in lines
    assert confused([one(good, blamed)], "note") == "landed as missed 1"
    assert confused([one(good, good)], "note") == "none"
