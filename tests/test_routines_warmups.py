"""Warm-ups: a module and a row each; licks that hands can play; two to four minutes, no longer."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

import routines.warmups
from routines.checker.lick import advice, faults
from routines.errors import BadRoutine
from routines.ladder.ladder import Ladder
from routines.ladder.levels import Levels
from routines.ladder.seen import PassSeen
from routines.ladder.standing import Standing
from routines.lick import Lick
from routines.tab import parse_lick, write_tab
from routines.warmups.parts import picks
from routines.warmups.steps import CAPO_SEC, FIRST_HALF_BPM, WARM, Step, WarmUp
from routines.warmups.table import WARM_UPS, warm_up

SLOWEST_HALF_BPM, QUICKEST_HALF_BPM = 45.0, 85.0
"""Three fifths of what slow and quick hands can do: where a warm-up may begin."""

LEAST_SEC, MOST_SEC = 120.0, 240.0


@lru_cache(maxsize=1)
def every_step() -> tuple[tuple[WarmUp, int, Step], ...]:
    return tuple(
        (found, number, step)
        for found in map(warm_up, WARM_UPS)
        for number in range(found.rounds)
        for step in found.steps(number)
    )


def licks() -> Iterator[Lick]:
    yield from {step.lick.id: step.lick for _, _, step in every_step()}.values()


class TestTable:
    def test_each_row_is_a_module_of_its_own_under_its_name(self) -> None:
        assert len(set(WARM_UPS.values())) == len(WARM_UPS) == 10
        for name, module in WARM_UPS.items():
            assert warm_up(name).name == name
            assert module == f"routines.warmups.{name.replace('-', '_')}"

    def test_each_module_with_a_warm_up_has_a_row(self) -> None:
        folder = Path(routines.warmups.__file__ or "").parent
        there = {file.stem for file in folder.glob("*.py") if "\nWARM_UP = " in file.read_text("utf-8")}
        assert there == {module.rpartition(".")[2] for module in WARM_UPS.values()}

    def test_an_unknown_name_is_answered_with_all(self) -> None:
        with pytest.raises(BadRoutine, match=f"no warm-up 'scales': accepted are {', '.join(WARM_UPS)}"):
            warm_up("scales")

    def test_only_what_is_asked_for_is_loaded_and_no_arrays(self) -> None:
        code = (
            "import sys; from routines.warmups.table import warm_up; warm_up('two-doors').steps(0)\n"
            "print('numpy' in sys.modules, 'routines.warmups.slurs' in sys.modules)"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.split() == ["False", "False"]


class TestTime:
    def test_two_to_four_minutes_from_where_hands_begin(self) -> None:
        for name in WARM_UPS:
            found = warm_up(name)
            for tempo in (found.first_half_bpm, SLOWEST_HALF_BPM, QUICKEST_HALF_BPM):
                assert LEAST_SEC <= found.lasts_sec(tempo) <= MOST_SEC, (name, tempo)
            risen = found.lasts_sec(found.first_half_bpm, found.rules.rise_share)
            assert LEAST_SEC <= risen < found.lasts_sec(found.first_half_bpm), name

    def test_a_step_is_its_rest_its_count_in_and_its_passes(self) -> None:
        step = warm_up("through-the-keys").steps(0)[1]
        assert (step.rest_sec, step.passes, step.rest_bars, step.lick.bars) == (12.0, 3, 1, 2)
        assert step.lasts_sec(60.0) == 12.0 + 2 * (2 + 3 * 2 + 2 * 1)

    def test_rises_make_it_shorter_by_what_each_round_is_faster(self) -> None:
        found = warm_up("two-doors")
        rest = sum(step.rest_sec for step in found.steps(0))
        bars = (found.lasts_sec(60.0) - 3 * rest) / 3
        assert found.lasts_sec(60.0, 0.5) == pytest.approx(3 * rest + bars * (1 + 1 / 1.5 + 1 / 2.25))

    def test_rests_are_short_but_for_the_capo(self) -> None:
        for _, _, step in every_step():
            assert step.rest_sec == (CAPO_SEC if "capo" in step.says and "no capo" not in step.says else 2.0)

    def test_what_goes_round_without_the_full_click_has_a_bar_in_which_it_comes_back(self) -> None:
        for _, _, step in every_step():
            assert step.click == "halves" or step.rest_bars == 1


class TestRules:
    """The ladder with the rules of a warm-up: an item of a round, and a pass of a round."""

    def test_it_begins_slow_and_a_clean_round_is_a_rise(self) -> None:
        ladder = Ladder.begin(nothing_known(), first_half_bpm=FIRST_HALF_BPM, can_shrink=False, rules=WARM)
        assert ladder.tempo_half_bpm == FIRST_HALF_BPM
        risen = after_round(ladder, clean=True)
        assert risen.tempo_half_bpm == pytest.approx(FIRST_HALF_BPM * (1 + WARM.rise_share), abs=0.6)
        assert after_round(ladder, clean=False).tempo_half_bpm == FIRST_HALF_BPM
        assert after_round(ladder, clean=None).tempo_half_bpm == FIRST_HALF_BPM

    def test_it_begins_at_three_fifths_of_the_edge_and_ends_at_home(self) -> None:
        known = Levels(
            home_half_bpm=90.0,
            edge_half_bpm=100.0,
            reach_half_bpm=104.0,
            low_half_bpm=95.0,
            high_half_bpm=105.0,
            passes=60,
        )
        standing = replace(nothing_known(), levels=known)
        ladder = Ladder.begin(standing, first_half_bpm=FIRST_HALF_BPM, can_shrink=False, rules=WARM)
        assert ladder.tempo_half_bpm == pytest.approx(60.0, abs=0.5)
        for _ in range(10):
            ladder = after_round(ladder, clean=True)
        assert ladder.tempo_half_bpm == pytest.approx(90.0, abs=0.5)


def nothing_known() -> Standing:
    return Standing(levels=None, tried=(), week_best_half_bpm=None, home_spread_ms=None)


def after_round(ladder: Ladder, *, clean: bool | None) -> Ladder:
    seen = PassSeen(
        tempo_half_bpm=ladder.tempo_half_bpm,
        clean=clean,
        spread_ms=10.0,
        unit="whole",
        sitting_sec=60.0,
        lasted_sec=50.0,
    )
    return ladder.after(seen).turn_over(60.0)


class TestLicks:
    def test_ids_are_the_journals_items(self) -> None:
        for found, _, step in every_step():
            assert step.lick.id == f"warm-up/{found.name}/{step.name}"
            assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", step.name)
            assert step.lick.kind in ("drill", "roll")
            assert step.lick.file == ""

    def test_one_id_is_one_lick(self) -> None:
        known: dict[str, Lick] = {}
        for _, _, step in every_step():
            assert known.setdefault(step.lick.id, step.lick) == step.lick

    def test_no_step_twice_in_a_round(self) -> None:
        for name in WARM_UPS:
            for number in range(warm_up(name).rounds):
                names = [step.name for step in warm_up(name).steps(number)]
                assert len(names) == len(set(names))

    def test_one_to_four_bars(self) -> None:
        assert all(1 <= lick.bars <= 4 for lick in licks())

    def test_no_fault_but_that_open_strings_hold_no_seven(self) -> None:
        """Hands that cannot play it would be one."""
        for lick in licks():
            found = {fault.check for fault in faults(lick)}
            assert found == ({"seven"} if "/open-strings/" in lick.id else set()), lick.id

    def test_the_one_advice_that_is_not_taken(self) -> None:
        """The drone as the seven of A7 cannot be stopped under F#: no finger is near it."""
        told = {(fault.check, lick.id) for lick in licks() for fault in advice(lick)}
        assert {check for check, _ in told} == {"rings on"}
        assert all("/held-sevens/a7-" in name for _, name in told)

    def test_each_is_a_lick_text_like_any_other(self) -> None:
        for lick in licks():
            read = parse_lick(write_tab(lick), "x.lick")
            assert replace(read, id=lick.id, file="") == lick, lick.id

    def test_what_is_said_before_a_step_can_be_read_in_two_seconds(self) -> None:
        for _, _, step in every_step():
            assert step.says
            assert len(step.says) <= 65

    def test_titles_of_a_warm_up_differ_and_none_is_missing(self) -> None:
        titles = [lick.title for lick in licks()]
        assert len(set(titles)) == len(titles)
        assert all(warm_up(name).title and warm_up(name).about.endswith(".") for name in WARM_UPS)


def test_fingers_that_are_left_open_are_those_that_a_tab_would_get() -> None:
    for step in (step for found, _, step in every_step() if found.name == "wandering-seven"):
        lines = write_tab(step.lick).split("\n")
        bare = "\n".join(line for line in lines if not line.strip() or line.strip(" TIM"))
        assert [n.finger for n in parse_lick(bare, "x").notes] == [n.finger for n in step.lick.notes]


def test_strokes_are_read_with_bar_lines_for_the_eye() -> None:
    first, second = picks("4/0T . | 2/10M", 3)
    assert (first.eighth, first.string, first.fret, first.finger) == (3, 4, 0, "T")
    assert (second.eighth, second.string, second.fret, second.finger) == (5, 2, 10, "M")
