"""String drift between passes: what is said, when, and what is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.drifting import DRIFTED_CENTS, Drifted, StringDrift
from listener.notes import NoteEvent, Report
from routines.library import load
from routines.outcome import NoteVerdict, PassOutcome, Timing

LICK = load("alternating-thumb-roll")
PASS_SEC = 5.0
NOTHING = Timing(lean_ms=None, bounce=None, spread_ms=None, drift_percent=None, hurry_at_change_ms=None)
OPEN = {string: [n for n in LICK.notes if n.fret == 0 and n.string == string] for string in range(1, 6)}


def one_pass(
    number: int,
    off: dict[int, float],
    *,
    noise: float = 0.0,
    rng: np.random.Generator | None = None,
    late_ms: float = 4.0,
    verdict: str = "landed",
) -> tuple[list[Report], PassOutcome]:
    """A pass whose notes are off by their string's cents, as the ear and the judges would tell it."""
    rng = rng or np.random.default_rng(number)
    reports, verdicts = [], []
    for index, note in enumerate(LICK.notes):
        due_sec = PASS_SEC * number + 0.2 * index
        cents = off.get(note.string, 0.0) + float(rng.normal(0.0, noise)) + (index % 3)
        heard = NoteEvent(
            onset_sec=due_sec + late_ms / 1e3,
            midi=note.midi,
            cents=cents,
            level_db=-30.0,
            confidence=1.0,
            heard_sec=due_sec + 0.1,
            settled_sec=due_sec + 0.2,
        )
        reports += [Report("heard", index, heard), Report("settled", index, heard)]
        verdicts.append(
            NoteVerdict(
                index=index, onset_sec=due_sec, midi=note.midi, string=note.string, fret=note.fret,
                role=note.role, core=note.core, verdict=verdict, heard_midi=note.midi,  # type: ignore[arg-type]
                deviation_ms=late_ms, rest_ms=0.0,
            )
        )  # fmt: skip
    outcome = PassOutcome(
        lick=LICK.id, key=LICK.key, tempo_half_bpm=80.0, start_sec=PASS_SEC * number, start_found=False,
        clean=True, notes=tuple(verdicts), extras=(), sevenths=(), thirds=(), timing=NOTHING,
    )  # fmt: skip
    return reports, outcome


def sat(passes: list[dict[int, float]], **how) -> list[tuple[int, Drifted]]:
    watch, said = StringDrift(LICK), []
    for number, off in enumerate(passes):
        reports, outcome = one_pass(number, off, **how)
        watch.feed(reports)
        said += [(number, one) for one in watch.over(outcome)]
    return said


def test_every_string_of_the_lick_is_played_open() -> None:
    assert all(OPEN.values())


def test_strings_that_stay_are_never_named() -> None:
    assert sat([{1: 12.0, 4: -9.0}] * 30) == []
    assert sat([{}] * 30, noise=3.0) == []


def test_a_string_that_slips_is_named_once() -> None:
    said = sat([{}] * 8 + [{3: -12.0}] * 25)
    ((number, drifted),) = said
    assert 8 <= number < 20
    assert (drifted.string, drifted.note) == (3, "G3")
    assert drifted.cents == pytest.approx(-12.0, abs=3.0)
    assert drifted.text.startswith("string 3 (G3) has gone about ")
    assert drifted.text.endswith("cents flat")


def test_a_string_played_often_is_named_within_a_few_passes() -> None:
    ((number, drifted),) = sat([{}] * 8 + [{5: 12.0}] * 10)
    assert number <= 9
    assert (drifted.string, drifted.text.split()[-1]) == (5, "sharp")


def test_it_is_said_again_only_after_a_further_step() -> None:
    said = sat([{}] * 8 + [{5: 12.0}] * 12 + [{5: 15.0}] * 12 + [{5: 24.0}] * 12)
    assert [drifted.string for _, drifted in said] == [5, 5]
    assert said[1][0] >= 32
    assert said[1][1].cents - said[0][1].cents >= DRIFTED_CENTS


def test_under_the_limit_nothing_is_said() -> None:
    assert sat([{}] * 8 + [{2: DRIFTED_CENTS - 1.0}] * 40) == []


def test_what_all_strings_do_alike_is_no_drift() -> None:
    assert sat([{}] * 8 + [dict.fromkeys(range(1, 6), -15.0)] * 20) == []


def test_a_string_is_named_although_the_whole_seems_to_follow_it() -> None:
    others = dict.fromkeys((2, 3, 4, 1), -4.0)
    said = sat([{}] * 12 + [{**others, 5: 8.0}] * 30)
    assert {drifted.string for _, drifted in said} == {5}
    assert said[0][1].cents == pytest.approx(12.0, abs=3.0)


def test_notes_that_did_not_land_or_lie_elsewhere_in_time_say_nothing() -> None:
    passes = [{}] * 8 + [{5: 20.0}] * 12
    assert sat(passes, verdict="wrong") == []
    watch = StringDrift(LICK)
    for number, off in enumerate(passes):
        reports, _ = one_pass(number, off, late_ms=40.0)
        _, outcome = one_pass(number, off, late_ms=4.0)
        watch.feed(reports)
        assert watch.over(outcome) == ()


def test_stopped_notes_say_nothing() -> None:
    watch = StringDrift(LICK)
    bent_string = max(OPEN, key=lambda string: sum(n.fret > 0 and n.string == string for n in LICK.notes))
    stopped = {k for k, note in enumerate(LICK.notes) if note.fret and note.string == bent_string}
    assert stopped
    for number in range(30):
        reports, outcome = one_pass(number, {})
        bent = 30.0 if number >= 8 else 0.0
        watch.feed(
            [
                Report(said.kind, said.number, replace(said.note, cents=said.note.cents + bent))
                if said.number in stopped
                else said
                for said in reports
            ]
        )
        assert watch.over(outcome) == ()


def test_a_pass_whose_start_was_not_found_is_passed_over() -> None:
    watch = StringDrift(LICK)
    reports, outcome = one_pass(0, {})
    watch.feed(reports)
    lost = tuple(
        NoteVerdict(
            **{**{name: getattr(v, name) for name in v.__slots__}, "onset_sec": None, "deviation_ms": None}
        )
        for v in outcome.notes
    )
    assert watch.over(replace(outcome, notes=lost)) == ()


def test_notes_of_the_next_pass_may_come_before_a_pass_is_over() -> None:
    watch, said = StringDrift(LICK), []
    passes = [one_pass(number, {5: 12.0} if number >= 8 else {}) for number in range(16)]
    watch.feed(passes[0][0])
    for (_, outcome), (ahead, _) in zip(passes, [*passes[1:], ([], None)], strict=True):
        watch.feed(ahead)
        said += watch.over(outcome)
    assert [one.string for one in said] == [5]


def test_memory_does_not_grow() -> None:
    watch = StringDrift(LICK)
    sizes = []
    for number in range(60):
        reports, outcome = one_pass(number, {}, noise=2.0)
        watch.feed(reports)
        watch.over(outcome)
        sizes.append(len(watch._waiting) + sum(len(s._late) + len(s._first) for s in watch._strings.values()))
    assert max(sizes[30:]) == sizes[30]


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([1, 2, 3, 4, 5]), st.sampled_from([-1, 1]))
def test_fifteen_cents_are_found_on_the_right_string(seed: int, string: int, way: int) -> None:
    rng = np.random.default_rng(seed)
    said = sat([{}] * 8 + [{string: way * 15.0}] * 20, noise=2.5, rng=rng)
    assert {one.string for _, one in said} == {string}
    assert said[0][1].cents * way > 0.0
