"""What is blamed after a warm-up: a place where it stands out, all where none does, and with what remedy."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import replace
from itertools import cycle

import pytest

from feedback.judges.timing import Deviation
from feedback.warmup_faults import KINDS
from feedback.warmup_remarks import remark
from feedback.warmup_remedies import remedy
from feedback.warmup_told import Falling, Sounding, guides, told
from routines.warmups.steps import Step
from routines.warmups.table import WARM_UPS, warm_up
from tests.scores import Circumstances, grid_of, judge_pass, play
from tests.warmups_played import TEMPO, PassOver, falls, over, said, sevens

Slip = Callable[[Step], str]


def where(begins: str, slip: Slip) -> Callable[[int, Step], str]:
    return lambda number, step: slip(step) if step.name.startswith(begins) else ""


class TestNoPlaceStandsOut:
    def test_each_fall_left_out_is_told_of_all(self) -> None:
        """A chord of the seven finder falls once a warm-up, and by itself tells of no habit."""
        assert said("seven-finder", lambda number, step: falls(step, "out")) == (
            "The seven did not fall in its place in 24 of 24, in all 24 places: play one such change alone, "
            "four times."
        )

    def test_falls_left_out_on_one_string_are_told_of_that_string(self) -> None:
        def out(number: int, step: Step) -> str:
            return falls(step, "out") if step.name.endswith("string-1") else ""

        assert said("seven-finder", out) == (
            "On string 1 the seven did not fall in its place in 8 of 8, elsewhere 16 of 16 went where they "
            "should: play one such change alone, four times."
        )

    def test_a_string_on_which_all_is_wrong_is_not_told_as_one_chord(self) -> None:
        def wrong(number: int, step: Step) -> str:
            return sevens(step, "=76") if step.name.endswith("string-2") else ""

        assert said("seven-finder", wrong).startswith(
            "On string 2 the seven was another note in 24 of 24, elsewhere 48 of 48 were there"
        )

    def test_falls_are_compared_with_falls(self) -> None:
        def out(number: int, step: Step) -> str:
            return falls(step, "out")

        assert said("held-sevens", out) == (
            "The seven did not fall in its place in 24 of 24, in all four chords: play one such change "
            "alone, four times."
        )
        assert said("held-sevens", where("d7", lambda step: falls(step, "out"))).startswith(
            "Over D7 C did not fall to B in its place in 6 of 6, elsewhere 18 of 18 went where they should"
        )

    def test_three_of_four_chords_are_three(self) -> None:
        def out(number: int, step: Step) -> str:
            return "" if step.name.startswith("a7") else sevens(step, "out")

        assert ", over D7, over G7 and over C7: let it" in said("held-sevens", out)

    def test_what_could_not_be_told_before_both_doors_is_not_laid_to_one(self) -> None:
        """Half of it unclear is somewhat more before one door than before the other."""
        now = cycle(["all sure 0.1", ""])
        assert ", before both chords: " in said("two-doors", lambda number, step: next(now))

    def test_a_place_that_is_worse_than_the_others_is_not_told_to_be_the_only_one(self) -> None:
        slips = {"d7-eighth-8": "out", "d7-eighth-7": "out"}

        def out(number: int, step: Step) -> str:
            return sevens(step, slips[step.name]) if number == 0 and step.name in slips else ""

        of = replace(warm_up("wandering-seven"), rounds=1)
        assert ", on eighth 7 and on eighth 8: " in said("", out, of=of)

    def test_many_places_are_counted_and_not_named(self) -> None:
        def out(number: int, step: Step) -> str:
            return sevens(step, "out") if number or step.name < "c" else ""

        assert ", in 16 of 24 places: " in said("seven-finder", out)

    def test_the_same_note_before_both_doors_is_named(self) -> None:
        assert said("two-doors", lambda number, step: sevens(step, "out")) == (
            "C was not heard in 60 of 60, before both chords: let string 2 at fret 1 speak before you go on."
        )

    def test_one_round_alone_says_of_one_place_that_it_is_one(self) -> None:
        """Two passes of a place tell no habit of it; six of all do."""
        whole = warm_up("wandering-seven")
        some = replace(whole, rounds=1)
        assert said("", lambda number, step: sevens(step, "out"), of=some) == (
            "C was not heard in 8 of 8, on all four eighths: let string 2 at fret 1 speak before you go on."
        )
        assert said("", where("d7-eighth-8", lambda step: sevens(step, "out")), of=some) == (
            "C was not heard in 2 of 8, on eighth 8 alone: let string 2 at fret 1 speak before you go on."
        )

    @pytest.mark.parametrize("name", [name for name in WARM_UPS if warm_up(name).watches in "sevens slurs"])
    def test_nothing_is_said_to_have_gone_right_where_all_falls_failed(self, name: str) -> None:
        assert "in their place" not in said(name, lambda number, step: falls(step, "out"))


class TestRemedies:
    def test_an_open_string_waits_for_the_thumb(self) -> None:
        assert said("held-sevens", where("a7", lambda step: sevens(step, "+60ms"))) == (
            "Over A7 G came late in 12 of 12, elsewhere 20 of 20 came in time: the thumb goes to it sooner."
        )

    @pytest.mark.parametrize(
        ("name", "slip", "helps"),
        [
            ("hammer", "+95ms", "drop the finger on the eighth, not after it"),
            ("hammer", "-95ms", "let the note before it have its whole length"),
            ("hammer", "=76", "look for the fret, string 2 at fret 1"),
            ("pull", "+95ms", "let the finger leave on the eighth, not after it"),
            ("pull", "-95ms", "keep the upper finger down for its whole eighth"),
            ("pull", "=76", "look for the fret of the lower finger, string 1 at fret 3"),
            ("slide", "+95ms", "set out sooner, so that you arrive on the eighth"),
            ("slide", "-95ms", "stay where the slide begins for the whole eighth"),
            ("slide", "=76", "look for the fret, string 3 at fret 3"),
            ("choke", "+95ms", "pick on the eighth, and push at once"),
            ("choke", "-95ms", "let the note before it have its whole length"),
            ("choke", "=76", "push until the ear says C, no less and no farther"),
        ],
    )
    def test_each_slur_has_its_own(self, name: str, slip: str, helps: str) -> None:
        assert said("slurs", where(name, lambda step: sevens(step, slip))).endswith(f": {helps}.")

    def test_an_open_string_is_not_fretted(self) -> None:
        assert said("held-sevens", where("a7", lambda step: sevens(step, "=76"))).endswith(
            ": look which string the thumb goes to, the open string 5."
        )
        step = warm_up("held-sevens").steps(0)[3]
        open_fifth = next(guides(told([(step, [over(step, "")])])))
        assert remedy("late", [open_fifth]) == "the {finger} goes to it sooner"

    def test_each_way_of_failing_has_a_remedy_for_each_way_of_playing(self) -> None:
        ways = {way for kind in KINDS.values() for way in (*kind.failed, kind.mixed)} | {"fell uneven"}
        everything = [
            (step, [over(step, "")])
            for name in WARM_UPS
            for number in range(warm_up(name).rounds)
            for step in warm_up(name).steps(number)
        ]
        for guide in guides(told(everything), thirds=True):
            assert all(remedy(way, [guide]) for way in ways)


class TestNowSoNowSo:
    def test_who_is_uneven_everywhere_is_not_told_of_one_place(self) -> None:
        random.seed(5)

        def uneven(number: int, step: Step) -> str:
            return "each " + " ".join(f"{random.gauss(0, 40):.0f}" for _ in step.lick.notes)

        for name in ("wandering-seven", "two-doors", "held-sevens"):
            assert re.fullmatch(
                r"The spread was \d+ ms: take it slower until it is even.", said(name, uneven)
            )

    def test_a_seven_that_is_now_early_and_now_late_is_uneven(self) -> None:
        by = iter([60, -60] * 99)

        def uneven(number: int, step: Step) -> str:
            return sevens(step, f"{next(by):+d}ms")

        assert said("wandering-seven", uneven) == (
            "The seven came now early, now late in 24 of 24, on all four eighths: count the eighths of that "
            "bar aloud."
        )


class TestBounce:
    """Of one pass of a step too few even eighths are heard to find a bounce; of a warm-up enough are."""

    @pytest.mark.parametrize("ms", [10, 20, 30, 50, 70])
    def test_it_is_never_blamed(self, ms: int) -> None:
        assert bounced(ms).startswith("All 24 sevens were heard in time")
        assert "came" not in bounced(ms)

    def test_nor_is_it_called_a_spread(self) -> None:
        """Of a step that is played once the bounce is never known."""
        whole = warm_up("wandering-seven")
        once = tuple(replace(step, passes=1) for step in whole.steps(0))
        of = replace(whole, rounds=1, steps=lambda number: once)
        assert "spread" not in said("", lambda number, step: "even +70ms; b1e1 +70ms; b1e3 +70ms", of=of)

    def test_what_is_late_beside_it_is(self) -> None:
        late = bounced(50, lambda step: "b1e6 +110ms" if step.name.endswith("6") else "")
        assert late.startswith("On eighth 6 the seven came late in 6 of 6, elsewhere 18 of 18 came in time")

    def test_under_the_window_no_remedy(self) -> None:
        off = bounced(30, lambda step: "b1e7 +25ms" if step.name.endswith("7") else "")
        assert off.endswith("; on eighth 7 it came 25 ms late, the median of 6.")

    def test_under_half_the_window_nothing_is_said_of_it(self) -> None:
        off = bounced(30, lambda step: "b1e7 +15ms" if step.name.endswith("7") else "")
        assert off.endswith("fell in their place.")

    def test_a_pass_of_another_lick_is_not_counted(self) -> None:
        first, second, *_ = warm_up("wandering-seven").steps(0)
        assert told([(first, [over(second, ""), over(first, "")])])[0].outcome.lick == first.lick.id

    def test_too_few_notes_to_know_it_tell_no_place(self) -> None:
        whole = warm_up("wandering-seven")
        step = whole.steps(0)[1]
        one = told([(step, [over(step, "")])])
        assert one[0].bounce_sec is None
        assert [guide.rest_ms for guide in guides(one)] == [None]


def bounced(ms: int, slip: Slip = lambda step: "") -> str:
    """As a session plays it: passes of one step know of each other, and of no other step."""
    found, played = warm_up("wandering-seven"), []
    for number in range(found.rounds):
        for step in found.steps(number):
            earlier: tuple[Deviation, ...] = ()
            overs = []
            for k in range(step.passes):
                events = play(step.lick, f"even +{ms}ms; {slip(step)}", tempo_half_bpm=TEMPO)
                about = Circumstances(earlier=earlier)
                judged = judge_pass(grid_of(step.lick, tempo_half_bpm=TEMPO), events, about)
                earlier = (*earlier, *judged.played)
                overs.append(PassOver(number=k + 1, judged=judged))
            played.append((step, overs))
    return remark(found, played)


def test_how_it_sounded_and_how_it_fell_are_told_apart() -> None:
    step = warm_up("held-sevens").steps(0)[0]

    def fates(slips: str) -> tuple[Sounding, Falling | None]:
        *_, last = guides(told([(step, [over(step, slips)])]))
        return last.sounding, last.falling

    assert fates("") == ("right", "right")
    assert fates("b1e7 +60ms; b2e1 out; b2e5 out") == ("late", "hanging")
    assert fates("b1e7 out")[0] == "silent"
    assert fates("all sure 0.1") == ("unclear", None)
