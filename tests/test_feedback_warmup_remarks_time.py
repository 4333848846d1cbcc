"""What is said after warm-ups that are about touch, time or keys."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import cycle

from feedback.warmup_remarks import remark
from routines.warmups.steps import Step
from routines.warmups.table import warm_up
from tests.scores import judged
from tests.warmups_played import TEMPO, falls, over, said, sevens


class TestLevels:
    def test_every_note_that_was_heard_has_its_level(self) -> None:
        lick = warm_up("open-strings").steps(0)[0].lick
        levels = dict(judged(lick, "b1e2 -7dB; b1e3 out; b1e4 =3/2", tempo_half_bpm=TEMPO).levels)
        assert levels == {index: -20.0 for index in range(15) if index not in (1, 2, 3)} | {1: -27.0}

    def test_a_loud_thumb_is_told_from_its_string(self) -> None:
        def loud(number: int, step: Step) -> str:
            # The fifth string rings loud by itself in every roll, and says nothing of the thumb.
            places = [1, 3, 5, 7] if step.name == "even" else []
            fifth = [n.onset_quarters * 2 + 1 for n in step.lick.notes if n.string == 5]
            own = [f"b1e{e:g} +9dB" for e in fifth if e < 9]
            return "; ".join([*(f"b1e{e} +5dB" for e in places), *own])

        assert said("open-strings", loud) == (
            "The thumb is 5 dB louder than the index on the same string: let it fall, do not push."
        )

    def test_a_soft_middle_finger_is_a_loud_index(self) -> None:
        def soft(number: int, step: Step) -> str:
            return "; ".join(f"b2e{e} -4dB" for e in (1, 3, 5, 7)) if step.name == "even" else ""

        assert said("open-strings", soft) == (
            "The index is 4 dB louder than the middle finger on the same string: let it brush the string, do "
            "not pluck."
        )

    def test_even_fingers_are_called_even_and_how_even(self) -> None:
        assert said("open-strings") == (
            "On one string thumb and index within 1 dB and index and middle finger within 1 dB of each "
            "other: that is even, go on so."
        )

    def test_a_finger_that_is_louder_in_half_of_the_passes_is_not_called_loud(self) -> None:
        """The median says 4.5 dB, and every second pass says the other finger."""
        db = cycle((12, -3))

        def now_and_then(number: int, step: Step) -> str:
            if step.name != "even":
                return ""
            by = next(db)
            return "; ".join(f"b1e{e} {by:+d}dB" for e in (1, 3, 5, 7))

        assert said("open-strings", now_and_then) == (
            "On one string now the thumb is the louder, now the index: softer, until both sound alike."
        )

    def test_no_step_with_two_fingers_on_a_string(self) -> None:
        whole = warm_up("open-strings")
        rolls = replace(whole, steps=lambda number: whole.steps(number)[1:])
        assert said("", of=rolls) == (
            "Too few passes had two fingers clearly on one string to tell how alike they are."
        )


class TestTime:
    def test_a_tempo_that_runs_away_when_the_click_is_gone(self) -> None:
        assert said("thinning-click", tempos={"off": 61.0}) == (
            "With the click gone you rushed by 1.7 %, and your spread stayed at 0 ms: let the last eighth of "
            "each bar have its length."
        )
        assert said("thinning-click", tempos={"off": 59.0}).startswith(
            "With the click gone you dragged by 1.7 %"
        )

    def test_a_spread_that_grows(self) -> None:
        def uneven(number: int, step: Step) -> str:
            return "each" + " 14 -14 -14 14" * 7 if step.click == "off" else ""

        assert said("thinning-click", uneven) == (
            "With the click gone you kept the tempo within 0.5 %, and your spread went from 0 to 21 ms: "
            "count the half notes aloud where the click is silent."
        )

    def test_the_thinnest_click_that_was_heard_is_told(self) -> None:
        whole = warm_up("thinning-click")
        three = replace(whole, rounds=3)
        assert said("", of=three).startswith("In the gaps of the click you kept the tempo within 0.5 %")
        one = replace(whole, rounds=1)
        assert said("", of=one) == (
            "The click had every half note all the time: how the tempo goes without it cannot be told yet."
        )

    def test_a_pass_in_which_the_round_trip_moved_tells_no_time(self) -> None:
        found = warm_up("thinning-click")
        step = found.steps(3)[0]
        shaken = [replace(over(step, ""), moved_ms=9.0) for _ in range(4)]
        assert remark(found, [(step, shaken)]).startswith("Too few passes without the full click")


class TestKeys:
    def test_the_key_in_which_it_fails(self) -> None:
        def lost(number: int, step: Step) -> str:
            return "b1e5 out" if step.lick.key == "Bb" else ""

        assert said("through-the-keys", lost) == (
            "In Bb 0 of 3 passes were clean, in the other keys 12 of 12: take Bb once more before the next "
            "capo."
        )

    def test_the_key_in_which_it_is_uneven(self) -> None:
        def uneven(number: int, step: Step) -> str:
            return "each 10 -10 -10 10 10 -10 -10 10 10 -10" if step.lick.key == "B" else ""

        assert said("through-the-keys", uneven) == (
            "15 of 15 passes were clean in 5 keys, but the spread in B was 15 ms against 0 at best: take B "
            "slower first."
        )

    def test_no_key_stands_out(self) -> None:
        assert said("through-the-keys") == "15 of 15 passes were clean in 5 keys, and no key stands out."

    def test_one_key_is_compared_with_nothing(self) -> None:
        whole = warm_up("through-the-keys")
        home = replace(whole, rounds=1, steps=lambda number: whole.steps(number)[:1])
        assert said("", of=home) == (
            "Too few passes in more than one key were clear enough to compare the keys."
        )


class TestWhatFailedInTheKeys:
    def test_what_failed_in_every_key_is_said_and_no_key_blamed(self) -> None:
        assert said("through-the-keys", lambda number, step: sevens(step, "out")) == (
            "0 of 15 passes were clean in 5 keys; C was not heard in 15 of 15, in all five keys: let string "
            "2 at fret 1 speak before you go on."
        )

    def test_another_note_is_named_and_where_to_begin(self) -> None:
        assert said("through-the-keys", lambda number, step: "b1e1 out") == (
            "0 of 15 passes were clean in 5 keys; F# on the downbeat of bar 1: not heard in 15 of 15; learn "
            "it in G first."
        )

    def test_uneven_in_every_key(self) -> None:
        random.seed(3)

        def uneven(number: int, step: Step) -> str:
            return "each " + " ".join(f"{random.gauss(0, 40):.0f}" for _ in step.lick.notes)

        assert said("through-the-keys", uneven).endswith("ms: take it slower until it is even.")

    def test_one_unclean_pass_is_no_key(self) -> None:
        slips = iter(["", "", "", "b1e5 out"])
        assert said("through-the-keys", lambda number, step: next(slips, "")) == (
            "14 of 15 passes were clean in 5 keys, and no key stands out."
        )

    def test_one_key_that_failed(self) -> None:
        whole = warm_up("through-the-keys")
        home = replace(whole, rounds=1, steps=lambda number: whole.steps(number)[:1])
        assert said("", lambda number, step: falls(step, "out"), of=home).startswith(
            "0 of 3 passes were clean in G; in G C did not fall to B in its place in 3 of 3: "
        )
