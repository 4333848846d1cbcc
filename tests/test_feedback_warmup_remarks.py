"""The one remark at the end of a warm-up: from what was measured, and nothing where that is too little."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from feedback.clicking import CLICKS
from feedback.session import COUNT_IN_BARS
from feedback.warmup_remarks import REMARKS, remark
from routines.warmups import steps as counted_in
from routines.warmups.steps import Step, Watched
from routines.warmups.table import WARM_UPS, warm_up
from tests.warmups_played import over, said


class TestTables:
    def test_whatever_a_warm_up_watches_is_told(self) -> None:
        assert set(REMARKS) == set(get_args(Watched))
        assert {warm_up(name).watches for name in WARM_UPS} == set(REMARKS)

    def test_every_click_is_one_that_there_is(self) -> None:
        used = {
            step.click
            for name in WARM_UPS
            for n in range(warm_up(name).rounds)
            for step in warm_up(name).steps(n)
        }
        assert used == set(CLICKS) - {"chop"}

    def test_a_step_counts_in_as_a_session_does(self) -> None:
        assert counted_in.COUNT_IN_BARS == COUNT_IN_BARS


class TestNothingToTell:
    def test_nobody_played(self) -> None:
        found = warm_up("two-doors")
        step = found.steps(0)[0]
        silent = replace(over(step, "all out"), heard=False)
        assert remark(found, [(step, [silent])]) == (
            "I did not hear the banjo in this warm-up: check that it reaches the microphone."
        )
        assert "did not hear" in remark(found, [])

    def test_too_few_passes_say_how_few(self) -> None:
        found = warm_up("two-doors")
        step = found.steps(0)[0]
        good, cut = over(step, ""), replace(over(step, ""), complete=False)
        unclear = over(step, "all sure 0.1")
        assert unclear.judged.outcome.clean is None
        assert remark(found, [(step, [good, good, cut, unclear])]) == (
            "2 passes of 4 could be heard clearly: too few to tell anything."
        )
        assert remark(found, [(step, [good, good, good, cut])]).startswith("All 6 sevens")

    def test_flawless_is_counted_and_not_praised(self) -> None:
        assert said("two-doors") == (
            "All 60 sevens were heard in time, and all 30 that were to fall fell in their place."
        )

    def test_one_slip_is_no_habit(self) -> None:
        slips = iter(["b1e7 -12dB"])
        assert said("two-doors", lambda number, step: next(slips, "")) == (
            "59 of 60 sevens were heard in time, and all 30 that were to fall fell in their place: one slip, "
            "no habit."
        )

    def test_two_slips_of_thirty_are_none_either(self) -> None:
        slips = iter(["b1e7 -12dB", "b1e7 -12dB"])
        assert said("two-doors", lambda number, step: next(slips, "")).startswith("58 of 60 sevens")

    def test_a_pass_that_is_too_unclear_blames_nobody(self) -> None:
        def soft_and_faint(number: int, step: Step) -> str:
            return "b1e1 sure 0.1; b1e3-b1e5 sure 0.1; b1e7 -12dB" if step.name == "g" else ""

        assert said("two-doors", soft_and_faint) == (
            "Before G C could not be told from the rest in 18 of 30, elsewhere 30 of 30 were clear: strike "
            "string 2 at fret 1 harder, or come closer."
        )


class TestSevens:
    def test_the_thumbs_seven_that_is_swallowed(self) -> None:
        def soft(number: int, step: Step) -> str:
            return "b1e7 -12dB" if step.name.startswith("g7") else ""

        assert said("held-sevens", soft) == (
            "Over G7 F was swallowed in 6 of 8, elsewhere 24 of 24 were there: strike string 4 at fret 3 "
            "harder than the notes around it."
        )

    def test_the_third_that_does_not_rise_at_home(self) -> None:
        def down(number: int, step: Step) -> str:
            due = step.lick.thirds[-1].due_note or 0
            return f"b4e1@{step.lick.notes[due].string} =3/1" if number == 0 else ""

        assert said("pinches", down) == (
            "At the plain chord the third did not rise in its place in 4 of 12, elsewhere 60 of 60 went "
            "where they should: play one such change alone, four times."
        )

    def test_a_choke_that_does_not_come_up(self) -> None:
        def flat(number: int, step: Step) -> str:
            return "b1e7 peaks 40" if step.name == "choke" else ""

        assert said("slurs", flat) == (
            "The choked C was another note in 6 of 6, elsewhere 18 of 18 were there: push until the ear "
            "says C, no less and no farther."
        )

    def test_a_slur_that_is_too_soft_has_its_own_remedy(self) -> None:
        def soft(number: int, step: Step) -> str:
            return "b1e6 -15dB" if step.name == "pull" else ""

        assert said("slurs", soft).endswith(": pluck the string aside as the finger leaves it.")

    def test_the_eighth_on_which_the_seven_comes_early(self) -> None:
        def early(number: int, step: Step) -> str:
            return "b1e8 -25ms" if step.name.endswith("8") else ""

        assert said("wandering-seven", early) == (
            "All 24 sevens were heard in time, and all 24 that were to fall fell in their place; on eighth 8 "
            "it came 25 ms early, the median of 6."
        )

    def test_the_door_that_does_not_open(self) -> None:
        """C falls to the B of eighth 6: late to the ear, and the fall itself was left out."""

        def hanging(number: int, step: Step) -> str:
            return {"em": "b2e2 out", "both": "b4e2 out"}.get(step.name, "")

        assert said("two-doors", hanging) == (
            "Before Em C did not fall to B in its place in 15 of 15, elsewhere 15 of 15 went where they "
            "should: play C and B alone, four times."
        )

    def test_a_fall_that_comes_late(self) -> None:
        def late(number: int, step: Step) -> str:
            return "b2e1 +0.6e" if step.name == "slide" else ""

        assert said("slurs", late) == (
            "The slid Bb fell to A late in 6 of 6, elsewhere 18 of 18 went where they should: be there with "
            "the new chord."
        )

    def test_the_seven_that_was_not_found(self) -> None:
        def lost(number: int, step: Step) -> str:
            return "b3e3-b3e7 =2/7" if step.name == "d7-g7-string-2" else ""

        assert said("seven-finder", lost) == (
            "On string 2 F of G7 was another note in 3 of 3, elsewhere 69 of 69 were there: look for string "
            "2 at fret 6 before you play it."
        )

    def test_a_chop_in_which_the_seven_cannot_be_told(self) -> None:
        """The unheard voice of a pinch is unclear, and so blames nobody."""

        def muted(number: int, step: Step) -> str:
            return "b1e3@3 out; b1e7@3 out" if step.name == "c7-fret-3" else ""

        assert said("chop-sevenths", muted) == (
            "In C7, string 3, Bb could not be told from the rest in 6 of 10, elsewhere 50 of 50 were clear: "
            "strike string 3 at fret 3 harder, or come closer."
        )

    def test_what_failed_comes_before_what_was_unclear(self) -> None:
        def both(number: int, step: Step) -> str:
            slips = {"c7-fret-3": "b1e3@3 out; b1e7@3 out", "d7-fret-5": "b1e3@3 -12dB; b1e7@3 -12dB"}
            return slips.get(step.name, "")

        assert said("chop-sevenths", both).startswith("In D7, string 3, C was swallowed in 6 of 10")

    def test_most_was_unclear(self) -> None:
        def faint(number: int, step: Step) -> str:
            return "" if step.name.startswith("eb7") else "all sure 0.1"

        assert said("pinches", faint) == (
            "The guide tone could not be told from the rest in 162 of 216, of all four kinds: strike it "
            "harder, or come closer."
        )


@pytest.mark.parametrize("name", WARM_UPS)
def test_every_lick_played_as_written_is_clean(name: str) -> None:
    found = warm_up(name)
    for number in range(found.rounds):
        for step in found.steps(number):
            outcome = over(step, "").judged.outcome
            assert outcome.clean is True, step.name
            assert all(seven.as_asked is not False for seven in outcome.sevenths)
