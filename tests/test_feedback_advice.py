"""The one sentence after a turn: its order, its shares, and what it names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from feedback.advice import advised, sentence
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances
from feedback.takes import judge_events
from routines.lick import Lick
from tests.in_turn import in_turn
from tests.scores import A, judged, lick

AGAIN = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 2/0 3/0 1/0 5/0 3/0", "D7 G")
FULL = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "D7 G")
NONE_BELOW = lick("4/2 3/1 2/0 4/2 3/1 2/0 4/2 4/0 | 2/2 3/2 1/2 2/2 3/2 1/2 3/2", "E7 A")
UNEVEN = "each" + " 20 20 -20 -20" * 4
HURRIED = "b1e7-b2e1 -15ms"


def _said(of: Lick, passes: Sequence[str], about: Circumstances | None = None) -> str:
    said = sentence(of, [judged(of, slips, about=about) for slips in passes], Limits())
    assert said.endswith(".")
    assert "\n" not in said
    assert said[0].isupper() or said[0].isdigit()
    return said


FAULTS = {
    "not sounded": ("b1e8 out", "C over D7 (the last eighth of bar 1) was not heard"),
    "swallowed": ("b1e8 -9dB", "C on the last eighth of bar 1 is there but soft, swallowed by the roll"),
    "hanging": ("b2e1 =1/0", "C over D7 was left hanging"),
    "octave": ("b2e1 =71", "C over D7 went to B in another octave"),
    "hurried": (HURRIED, "You hurry at the change, 15 ms ahead"),
    "uneven": (UNEVEN, "Uneven: the notes lie 30 ms about their places"),
    "late fall": ("b2e1 +30ms", "C fell to B late by 30 ms"),
    "late note": ("b2e5 +30ms", "D on eighth 5 of bar 2 was late"),
    "other note": ("b1e3 out; b2e4 =3/2", "D on eighth 3 of bar 1 was not heard"),
    "lean": ("all -22ms", "All landed: 22 ms ahead of the click"),
}
ORDER = list(FAULTS)


@in_turn("fault", ORDER)
def test_each_fault_has_its_words(fault: str) -> None:
    slips, words = FAULTS[fault]
    assert _said(FULL, [slips] * 4).startswith(words)


@in_turn(("first", "second"), [(f, s) for k, f in enumerate(ORDER) for s in ORDER[k + 1 :]])
def test_the_order_is_kept(first: str, second: str) -> None:
    # Half of the passes show the one, all of them the other: the earlier in the order is said.
    one, other = FAULTS[first][0], FAULTS[second][0]
    half = [one, one, one, other] if first == "hurried" else [one, one, other, other]
    if first in ("uneven", "lean"):  # these look at the median over all passes
        half = [one, one, one, other]
    assert _said(FULL, half).startswith(FAULTS[first][1])


def test_one_place_and_one_thing_to_do() -> None:
    assert _said(A, ["b1e8 -9dB"]).endswith("swallowed by the roll: thumb it.")
    assert _said(A, ["b1e8 out"]).endswith("let string 2, fret 1 speak before you go on.")
    hanging = _said(A, ["b2e1 =1/0"])
    assert hanging.endswith("play only the change, C to B (string 2, open) on the downbeat of bar 2.")
    assert _said(A, ["b2e1 +30ms"]).endswith("have B ready (string 2, open) on the downbeat of bar 2.")
    assert _said(A, ["b2e1 =71"]).endswith(
        "take the B right below it (string 2, open) on the downbeat of bar 2."
    )


def test_a_thumbed_seven_cannot_be_told_to_thumb_it() -> None:
    thumbed = replace(A, notes=tuple(replace(note, finger="T") for note in A.notes))
    assert _said(thumbed, ["b1e8 -9dB"]).endswith(": lean on it.")
    hammered = lick("3/2 1/0 5/0 3/2 1/0 1/4 2/0 h2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
    assert _said(hammered, ["b1e8 -13dB"]).endswith(": lean on it.")


@pytest.mark.parametrize(
    ("passes", "words"),
    [
        (["b1e8 out", "", "", ""], "11 of 12 sevens landed"),
        (["b1e8 out", "b1e8 out", "", ""], "was not heard in 2 of 4 passes"),
        (["b1e8 out", "b1e5 out", "b1e5 out", ""], "C over D7 (eighth 5 of bar 1) was not heard in 2 of 4"),
    ],
)
def test_a_fault_is_named_from_half_of_the_passes_on(passes: list[str], words: str) -> None:
    assert words in _said(A, passes)


@pytest.mark.parametrize(
    ("hurried", "named"), [([1, 1, 1, 1], True), ([1, 1, 1, 0], True), ([1, 1, 0, 0], False)]
)
def test_hurry_is_named_at_three_of_four(hurried: list[int], named: bool) -> None:
    said = _said(A, [HURRIED if h else "" for h in hurried])
    assert said.startswith("You hurry at the change") is named


def test_half_of_six_passes_is_not_three_of_four() -> None:
    assert not _said(A, [HURRIED] * 3 + [""] * 3).startswith("You hurry")
    assert _said(A, [HURRIED] * 5 + [""]).startswith("You hurry")


def test_hurry_is_said_before_unevenness() -> None:
    both = "each 0 0 35 35 -35 -35 -15 -15 -15 35 35 -35 0 0 0 35"
    found = judged(FULL, both)
    assert found.hurried
    assert found.outcome.timing.spread_ms == pytest.approx(37)
    assert _said(FULL, [both] * 4).startswith("You hurry at the change")
    assert _said(FULL, [both] * 2).startswith("Uneven")


@pytest.mark.parametrize(("count", "named"), [(1, False), (2, False), (3, True)])
def test_hurry_cannot_be_told_from_fewer_than_three_passes(count: int, named: bool) -> None:
    assert _said(A, [HURRIED] * count).startswith("You hurry at the change") is named


class TestLateFalls:
    """Late, and whether it was the fall that came late."""

    def test_two_eighths_late(self) -> None:
        assert _said(A, ["b2e1 out; b2e3 =2/0"] * 2).startswith(
            "C fell to B two eighths late in 2 of 2 passes"
        )

    def test_another_target_s_note_is_not_the_fall(self) -> None:
        said = _said(AGAIN, ["b2e1 out"])
        assert said.startswith("C came home to B two eighths late; the fall itself was left out")
        assert said.endswith("play C to B (string 2, open) on the downbeat of bar 2.")

    def test_so_it_is_where_another_note_took_the_downbeat(self) -> None:
        assert "the fall itself was left out" in _said(AGAIN, ["b2e1 =1/0"])

    def test_the_fall_itself_may_be_late(self) -> None:
        assert "left out" not in _said(AGAIN, ["b2e1 +30ms"])
        assert "left out" not in _said(A, ["b2e1 out; add 2/0 b2e2.5"])

    def test_late_where_the_lick_asks_for_it_is_no_fault(self) -> None:
        late = lick("3/0 2/0 1/3 5/0 2/0 1/3 5/0 1/3 | 3/0 1/2:r 5/0 2/1", "G7 C")
        assert _said(late, [""] * 4).startswith("Clean: 12 of 12 sevens landed, 4 of 4 fell as the lick asks")

    def test_a_fall_that_comes_once_more_later_is_no_fault(self) -> None:
        # Asked for in another octave and played there; the tone's own octave comes later, unasked.
        high = lick("3/2 1/10 1/0 5/0 3/2 1/0 1/4 1/10 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
        assert _said(high, ["add 1/9 b2e3.5"] * 4).startswith("Clean:")

    def test_another_octave_where_the_lick_asks_for_it_is_no_fault(self) -> None:
        assert _said(NONE_BELOW, [""] * 4).startswith("Clean:")


class TestLean:
    """A lean is a style, and the last thing to be named."""

    @pytest.mark.parametrize(("ms", "side"), [(-22, "ahead of"), (14, "behind")])
    def test_it_is_named_with_its_side(self, ms: int, side: str) -> None:
        assert f"{abs(ms)} ms {side} the click" in _said(A, [f"all {ms:+d}ms"] * 4)

    def test_only_beyond_what_the_sound_check_knows(self) -> None:
        assert _said(A, ["all +10ms"] * 4).startswith("Clean:")
        assert "11 ms behind" in _said(A, ["all +11ms"] * 4)
        passes = [judged(A, "all +11ms")] * 4
        assert sentence(A, passes, Limits(lean_unsure_ms=20)).startswith("Clean:")

    def test_not_where_it_cannot_be_known(self) -> None:
        assert "click" not in _said(A, ["all +30ms"] * 4, Circumstances(start_found=True))

    def test_all_landed_is_said_only_where_all_landed(self) -> None:
        assert _said(A, ["all -22ms"] * 4).startswith("All landed: 22 ms ahead of the click")
        assert _said(A, ["all -22ms; b1e3 out"] * 4).startswith("22 ms ahead of the click")


def test_a_lean_beyond_half_an_eighth_is_a_wrong_start() -> None:
    said = _said(FULL, ["all +60ms"] * 4)
    assert said.startswith("Everything lies 60 ms behind the click, more than any lean")


def test_a_tempo_that_runs_away_is_no_steady_lean() -> None:
    late = " ".join(str(-10 - 2 * k) for k in range(16))
    said = _said(FULL, [f"each {late}"] * 4)
    assert said.startswith("The second half of the lick gains on the click by 16 ms")


class TestPraise:
    """Only what was measured."""

    def test_clean(self) -> None:
        said = _said(A, [""] * 4)
        assert said == "Clean: 12 of 12 sevens landed, 4 of 4 fell as the lick asks, spread 0 ms."

    def test_too_few_passes_cannot_tell_yet(self) -> None:
        assert _said(A, [""]).endswith("; one pass cannot tell yet whether it stays so.")
        assert _said(A, [""] * 2).endswith("; 2 passes cannot tell yet whether it stays so.")
        assert "yet" not in _said(A, [""] * 3)

    def test_not_all_clean(self) -> None:
        assert _said(A, ["b2e1 =1/0", "", "", ""]) == (
            "12 of 12 sevens landed, 3 of 4 fell as the lick asks, spread 0 ms; clean in 3 of 4: once more."
        )

    def test_what_was_unclear_is_not_counted(self) -> None:
        assert _said(A, ["b1e8 sure 0.1", "", "", ""]).startswith(
            "Clean: 11 of 11 sevens landed, 4 of 4 fell"
        )
        assert "3 of 3 fell" in _said(A, ["b2e1 sure 0.1", "", "", ""])

    def test_a_roll_has_no_sevens_to_praise(self) -> None:
        roll = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0", "G")
        assert _said(roll, [""] * 4) == "Clean: spread 0 ms."


class TestCannotTell:
    """Silence, another lick, and too much that was unclear."""

    def test_silence(self) -> None:
        assert _said(A, ["all out"]).startswith("I did not hear this lick")
        assert sentence(A, [], Limits()).startswith("I did not hear this lick")
        assert sentence(A, [judge_events([], A, Limits())], Limits()).startswith("I did not hear this lick")

    def test_too_much_unclear(self) -> None:
        assert _said(A, ["b1e3 sure 0.1; b1e4 sure 0.1"]).startswith("Too much was unclear to tell")

    def test_unclear_passes_count_neither_way(self) -> None:
        blurred = "b1e3 sure 0.1; b1e4 sure 0.1; b1e8 out"
        assert _said(A, [blurred, blurred, "", ""]).startswith("Clean: 6 of 6 sevens landed")
        assert "in 1 of 2 passes" in _said(A, [blurred, blurred, "b1e8 out", ""])


def test_a_late_note_outside_the_core_is_not_named() -> None:
    assert _said(FULL, ["b1e3 +60ms"] * 4).startswith("Clean:")


def test_added_notes() -> None:
    assert _said(A, ["add 2/0 b1e7.5"] * 4).startswith("B was added, a note outside the chord")
    assert _said(A, ["add 2/0 b1e7.5; add 61 b1e6.5", "", "", ""]).startswith("12 of 12 sevens landed")
    assert _said(A, ["add 1/0 b1e7.5"] * 4).startswith("Clean:")


def test_a_wrong_note_is_named_by_what_it_was() -> None:
    said = _said(FULL, ["b1e3 =2/0; b2e4 out"] * 2)
    assert said.startswith("D on eighth 3 of bar 1 came out as B in 2 of 2 passes: look at string 1, fret 0")


def test_a_pickup_is_called_so() -> None:
    of = lick(
        "4/0 4/2:* 4/4 | 3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0", "D7 G", pickup_eighths=3
    )
    assert _said(of, ["b0e7 +40ms"]).startswith("E in the pickup was late")


LOOKED_AT = {
    "not sounded": ("b1e8 out", (7,)),
    "swallowed": ("b1e8 -9dB", (7,)),
    "hanging": ("b2e1 =1/0", (7, 8)),
    "octave": ("b2e1 =71", (7, 8)),
    "hurried": (HURRIED, (6, 7, 8)),
    "uneven": (UNEVEN, ()),
    "late fall": ("b2e1 +30ms", (7, 8)),
    "late note": ("b2e5 +30ms", (12,)),
    "other note": ("b1e3 out; b2e4 =3/2", (2,)),
    "lean": ("all -22ms", ()),
    "praise": ("", ()),
    "added": ("add 68 b1e3.5", (2, 3)),
    "nothing heard": ("all out", ()),
    "nothing told": ("all sure 0.1", ()),
}


@in_turn("fault", list(LOOKED_AT))
def test_what_to_look_at_in_the_tab(fault: str) -> None:
    slips, look_at = LOOKED_AT[fault]
    passes = [judged(FULL, slips)] * 4
    advice = advised(FULL, passes, Limits())
    assert advice.look_at == look_at
    assert advice.sentence == sentence(FULL, passes, Limits())


def test_of_two_changes_the_one_that_was_hurried_is_looked_at() -> None:
    twice = lick(
        "3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0 "
        "| 3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0",
        "D7 G D7 G",
    )
    advice = advised(twice, [judged(twice, "b3e7-b4e1 -15ms")] * 4, Limits())
    assert advice.sentence.startswith("You hurry")
    assert advice.look_at == (22, 23, 24)
