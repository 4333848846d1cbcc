"""Every cost and limit of the hand model, by what a player would say: each alone makes something harder.

Each row plays a few notes twice, once with one constant changed. What the sentence says must then cost more
(a cost doubled), or become possible or impossible (a limit moved). A constant that no row explains fails.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from routines.hand import assigning, costs, grips, reach
from tests.hand_notes import left, played

LIMITS: dict[str, tuple[str, Any, str, dict[str, Any]]] = {
    "index and little finger reach from fret 1 to 5, not more": (
        "LIMIT_MM", dict.fromkeys(costs.LIMIT_MM, 160.0), "4/1+1/6", {}),
    "on a short scale fret 6 can be reached": ("SCALE_MM", 500.0, "4/1+1/6", {}),
    "the fourth string is not choked": ("CHOKE_STRINGS", (1, 2, 3, 4), "c4/5", {}),
    "nobody gets from fret 2 to fret 12 in an eighth at 120": (
        "SHIFT_LIMIT_MM_A_SEC", 9000.0, "1/2 1/12", {"tempo": 120}),
    "a hand that leaves its note at once has more time": ("RINGS", -20.0, "1/2 1/12", {"tempo": 120}),
    "sixteenths are not slurred at 150": ("SLUR_LEAST_SEC", 0.01, "1/3 p1/2", {"tempo": 150, "step": 0.25}),
    "nobody slides ten frets in a sixteenth at 120": (
        "SLIDE_LIMIT_MM_A_SEC", 9000.0, "1/2 s1/12", {"tempo": 120, "step": 0.25}),
    "a finger does not pick twice within a quarter at 100": (
        "PICKED_AGAIN_MOST_HALF_BPM", 200.0, "1/0:M 2/0:M", {}),
    "a finger is back after a quarter": ("FINGER_FREE_QUARTERS", 0.5, "1/0:M 2/0:M", {}),
}  # fmt: skip

EASES: dict[str, tuple[str, Any, str, dict[str, Any]]] = {
    "frets within a finger a fret are no stretch": (
        "COMFORT_MM", dict.fromkeys(costs.COMFORT_MM, 0.0), "4/1+2/2", {}),
    "a fret is leant to without moving the hand": ("LEAN_MM", 0.0, "4/1+3/2+1/4 . . . 4/2+2/1+1/2", {}),
    "an easy shift costs no more for its speed": ("SHIFT_EASY_MM_A_SEC", 0.0, "2/1 . . . 1/9", {}),
    "the thumb reaches round for the fifth string near its hand": (
        "THUMB_REACH_MM", 0.0, "4/5+3/6+2/7 . 5/6+1/8 . 4/5+3/6+2/7", {}),
    "one finger may lie over several strings": (
        "BARRE_MOST", dict.fromkeys(costs.BARRE_MOST, 1), "4/2+3/2+2/2 . 1/2", {}),
    "a hop wants time": ("HOP_LEAST_SEC", 1.0, "4/4+3/1 4/3+3/5+2/4", {"tempo": 60}),
    "after half a bar the hand is free to stand elsewhere": (
        "CROSSED_OVER_QUARTERS", 4.0, "3/6+2/7+1/8 . . . 3/3+2/4+1/5", {}),
    "the thumb is the heavy finger": ("THUMB_ON_ACCENT", 0.0, "5/0", {}),
}  # fmt: skip

ELSEWHERE = {
    "TROUBLE": "every limit here",
    "TWISTED": "tests/test_routines_hand_reach.py: alone a way is always found around it",
    "PICKED_AGAIN": "tests/test_routines_fingers.py: reading a tab knows no tempo",
}

CACHES = (
    reach.fits, reach.strain, reach._leaning, reach._leaning_together, reach.leaning_of_any,
    reach.least_shift_mm, reach.nut_to_fret_mm,
)  # fmt: skip

COSTS: dict[str, tuple[str, str, dict[str, Any]]] = {
    "a stretch to the fifth fret is felt": ("STRETCH", "4/1+1/5", {}),
    "three fingers on two frets crowd": ("CRAMPED", "4/2+2/1+1/2", {}),
    "three finger tips crowd behind one fret": ("SAME_FRET_CROWD", "4/2+2/2+1/2 . 3/0 . 4/2+2/2+1/2", {}),
    "the little finger is weak, and the thumb must reach round": ("WEAK", "4/4 3/2 2/3 1/4", {}),
    "a finger off its own fret costs": ("OFF_ITS_FRET", "4/2+2/1+1/2", {}),
    "high up is dearer than low down": ("HIGH_FRET", "1/12", {}),
    "setting a finger down costs": ("PLANT", "1/2", {}),
    "a finger that leaves the chord takes its note away": ("LIFT", "1/2 . . 2/3 . . 1/5 2/9", {}),
    "giving up a shape takes several notes away": ("LIFT_SHAPE", "4/2+2/1+1/2 . . 1/9", {}),
    "a barre is work": ("BARRE", "4/2+3/2+2/2 . 1/2", {}),
    "a barre over four strings is more work": ("BARRE_STRING", "4/2 3/2 2/2 1/2", {}),
    "moving the hand costs": ("SHIFT", "2/1 . . . 1/9", {}),
    "the farther the hand moves the more it costs": ("SHIFT_MM", "2/1 . . . 1/9", {}),
    "a sliding finger leads the hand, yet the hand moves": ("GUIDED", "3/2 . s3/7", {}),
    "a hurried shift costs": ("HURRY", "2/1 1/5+2/6", {}),
    "a new string and a shift in one eighth": ("NEW_STRING_AND_SHIFT", "2/1 1/8", {"tempo": 60}),
    "a string that sounded a quarter before does not lead there": (
        "NEW_STRING_AND_SHIFT", "1/2 2/1 1/8", {"tempo": 60}),
    "a hammer-on wants a quick finger": ("SLUR", "3/2 h3/3", {}),
    "a slide must stop where it should": ("SLIDE", "3/2 s3/4", {}),
    "a choke wants strength": ("CHOKE", "c2/10", {}),
    "a wide choke wants more of it": ("CHOKE_FRET", "c2/10", {}),
    "hammering wider than a whole step": ("SLUR_FAR", "3/2 h3/5", {}),
    "one finger from string to string on consecutive eighths": ("HOP", "4/4+3/1 4/3+3/5+2/4", {"tempo": 60}),
    "no finger is set down behind a lower one that was just used": (
        "CROSSED_OVER", "3/6+2/7+1/8 3/3+2/4+1/5", {"tempo": 60}),
    "one finger to the next fret smears": ("GLIDE", "3/3+1/2 4/4+2/2+1/1", {"tempo": 60}),
    "hammering with the little finger is weak": ("SLUR_LITTLE", "4/2+3/1+1/3 h1/4", {}),
    "a thumb far from its hand": ("THUMB_FAR", "5/20+2/1", {}),
    "one finger twice within a quarter breaks the roll": (
        "PICKED_AGAIN_SLOWLY", "1/0:M 1/0:M", {"tempo": 60}),
    "after a slur the finger has come back, in some haste": (
        "PICKED_AGAIN_AFTER_SLUR", "3/0:T h3/2 3/0:T", {"step": 0.25}),
    "the third string is a little out of the thumb's way": ("PICK", "3/0", {}),
}  # fmt: skip


def cost(text: str, how: Mapping[str, Any]) -> float:
    for function in CACHES:
        function.cache_clear()
    grips.forget_hands(0)
    return played(text, **how).cost


def changed(monkeypatch: pytest.MonkeyPatch, name: str, value: object) -> None:
    for module in (costs, reach, assigning):
        if hasattr(module, name):
            monkeypatch.setattr(module, name, value)


def doubled(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: doubled(one) for key, one in value.items()}
    return value * 2


@pytest.fixture(autouse=True)
def _as_before() -> Any:
    yield
    cost("1/2", {})
    for function in CACHES:
        function.cache_clear()
    grips.forget_hands(0)


@pytest.mark.parametrize("says", COSTS)
def test_a_player_says(says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    name, text, how = COSTS[says]
    before = cost(text, how)
    assert before < costs.TROUBLE
    changed(monkeypatch, name, doubled(getattr(costs, name)))
    assert before < cost(text, how) < costs.TROUBLE


@pytest.mark.parametrize("says", LIMITS)
def test_it_cannot_be_done_and_could_if_the_limit_were_another(
    says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    name, value, text, how = LIMITS[says]
    assert cost(text, how) > costs.TROUBLE / 2
    changed(monkeypatch, name, value)
    assert cost(text, how) < costs.TROUBLE / 2


@pytest.mark.parametrize("says", EASES)
def test_it_is_easy_and_would_be_dearer_without(says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    name, value, text, how = EASES[says]
    before = cost(text, how)
    changed(monkeypatch, name, value)
    assert before < costs.TROUBLE / 2
    assert before < cost(text, how)


def test_every_number_is_explained() -> None:
    explained = {row[0] for table in (COSTS, LIMITS, EASES) for row in table.values()} | set(ELSEWHERE)
    assert explained == {name for name in vars(costs) if name.isupper()}


def test_a_player_with_a_trouble_is_worse_off_than_any_without() -> None:
    assert sum(cost(text, how) for _, text, how in COSTS.values()) < costs.TROUBLE / 2


def test_a_stretch_out_of_a_shape_is_cheaper_than_giving_the_shape_up() -> None:
    assert costs.STRETCH + costs.WEAK[4] < 2 * costs.LIFT_SHAPE


@pytest.mark.parametrize(("name", "text"), [("HOP", "4/4+3/1 . 4/3+3/5+2/4"), ("GLIDE", "1/2 . 1/1 . 1/3")])
def test_a_quarter_later_a_finger_comes_from_nowhere(
    name: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = cost(text, {"tempo": 60})
    changed(monkeypatch, name, 0.0)
    assert cost(text, {"tempo": 60}) == before
    assert cost(text.replace(". ", ""), {"tempo": 60}) != before


@pytest.mark.parametrize(
    ("text", "how", "fingers"),
    [
        ("1/7 2/6", {"tempo": 116}, [2, 1]),
        ("2/12 3/11", {"tempo": 100}, [2, 1]),
        ("1/5 p1/3 1/2", {"tempo": 120}, [4, 2, 1]),
    ],
)
def test_fingers_lie_in_the_order_of_the_frets(text: str, how: dict[str, Any], fingers: list[int]) -> None:
    assert list(left(text, **how).values()) == fingers
