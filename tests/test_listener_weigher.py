"""What the weighers see of each pitch, column by column, what they sum, and the weights that are shipped."""

from __future__ import annotations

import json
import math
from importlib import resources

import numpy as np
import pytest

from listener.informed import WEIGHER
from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES, shipped
from listener.network import KIN as NETWORK_KIN
from listener.views import FACTS, LOOKS
from listener.weigher import ASKED_KIN, KIN, Weigher, inputs, width
from tests.test_listener_network import SHAPES

FOLDER = resources.files("listener").joinpath("weights")

LOUD = 62 - LOW_PITCH


def _flat(value: float = 0.0, **pitches: float) -> np.ndarray:
    """One value for every pitch, but for some: `m62=3.0`."""
    found = np.full(PITCHES, value)
    for name, other in pitches.items():
        found[int(name[1:]) - LOW_PITCH] = other
    return found


def _seen(
    *odds: np.ndarray,
    facts: np.ndarray | None = None,
    expected: np.ndarray | None = None,
    recent: np.ndarray | None = None,
) -> np.ndarray:
    return inputs(
        odds or (_flat(),),
        np.zeros(FACTS) if facts is None else facts,
        _flat() if expected is None else expected,
        _flat() if recent is None else recent,
    )


def _columns(sooner: int) -> dict[str, int]:
    """Where each column stands."""
    names = ["now", *(f"sooner {k}" for k in range(sooner)), "other now"]
    names += ["asked", "other asked", "other met", "recent"]
    names += [f"kin {step}" for step in KIN] + [f"asked kin {step}" for step in ASKED_KIN]
    names += [f"fact {k}" for k in range(FACTS)] + ["octaves", "octaves squared"]
    return {name: place for place, name in enumerate(names)}


def _at(seen: np.ndarray, name: str, midi: int, sooner: int = 0) -> float:
    return float(seen[midi - LOW_PITCH, _columns(sooner)[name]])


def _asked(expected: float) -> float:
    """An expectation as it is seen: 0 where there is none, one more for ten times as much."""
    return math.log10((expected + 0.003) / 0.003)


@pytest.mark.parametrize("sooner", [0, 1, 2])
def test_one_row_for_each_pitch_and_one_column_for_each_thing(sooner: int) -> None:
    seen = _seen(*[_flat()] * (sooner + 1))
    assert seen.shape == (PITCHES, width(sooner, FACTS)) == (PITCHES, len(_columns(sooner)))
    assert seen.dtype == np.float32
    assert width(sooner, FACTS + 1) == width(sooner, FACTS) + 1


def test_odds_of_this_look_come_first_then_those_of_the_sooner_ones_in_order() -> None:
    seen = _seen(_flat(1.0), _flat(2.0), _flat(3.0, m62=-4.0))
    names = ("now", "sooner 0", "sooner 1")
    assert [_at(seen, name, 70, 2) for name in names] == pytest.approx([0.6, 0.2, 0.4])
    assert _at(seen, "now", 62, 2) == pytest.approx(-0.8)


def test_odds_beyond_ten_are_as_good_as_ten() -> None:
    seen = _seen(_flat(-50.0, m60=50.0), _flat(-50.0, m61=50.0), recent=_flat(-50.0, m62=50.0))
    for name, midi in (("sooner 0", 60), ("now", 61), ("recent", 62)):
        assert _at(seen, name, midi, 1) == 2.0
        assert _at(seen, name, 80, 1) == -2.0


@pytest.mark.parametrize("best", [LOW_PITCH, 62, HIGH_PITCH])
def test_the_best_of_the_others_is_never_the_pitch_itself(best: int) -> None:
    odds = _flat(-5.0, **{f"m{best}": 5.0, "m70": 2.5})
    expected = _flat(0.0, **{f"m{best}": 0.9, "m70": 0.1})
    seen = _seen(odds, expected=expected)
    for midi in (best, 70, 55):
        own = midi == best
        assert _at(seen, "other now", midi) == pytest.approx(0.5 if own else 1.0)
        assert _at(seen, "other asked", midi) == pytest.approx(_asked(0.1 if own else 0.9), abs=1e-5)


def test_of_two_that_are_as_good_each_is_the_other_s_best() -> None:
    seen = _seen(_flat(-5.0, m60=3.0, m67=3.0))
    assert [_at(seen, "other now", midi) for midi in (60, 67, 62)] == pytest.approx([0.6] * 3)


def test_an_expectation_is_seen_by_its_order_of_magnitude() -> None:
    seen = _seen(expected=_flat(0.0, m60=0.9, m62=0.1, m64=0.03, m66=1.0))
    found = [_at(seen, "asked", midi) for midi in (60, 62, 64, 66, 68)]
    assert found == pytest.approx([2.4786, 1.5357, 1.0414, 2.5242, 0.0], abs=1e-3)
    assert found[:4] == pytest.approx([_asked(e) for e in (0.9, 0.1, 0.03, 1.0)], abs=1e-5)


def test_another_pitch_is_met_where_it_is_both_expected_and_heard() -> None:
    expected = _flat(0.0, m62=0.9)
    heard, unheard = (_seen(odds, expected=expected) for odds in (_flat(-10.0, m62=10.0), _flat(-10.0)))
    assert _at(heard, "other met", 67) == pytest.approx(0.9)
    assert _at(heard, "other met", 62) == pytest.approx(0.0)
    assert _at(unheard, "other met", 67) == pytest.approx(1.0 / (1.0 + math.exp(10.0)), abs=1e-6)
    unasked = _seen(_flat(-10.0, m62=10.0), expected=_flat(0.0, m67=0.9))
    assert _at(unasked, "other met", 70) == pytest.approx(0.0, abs=1e-4)
    even = _seen(_flat(-10.0, m62=0.0), expected=expected)
    assert _at(even, "other met", 67) == pytest.approx(0.5)  # the lesser of the two


def test_what_was_heard_right_before_is_seen_at_its_own_pitch() -> None:
    seen = _seen(recent=_flat(-10.0, m62=4.0))
    assert [_at(seen, "recent", midi) for midi in (62, 63)] == pytest.approx([0.8, -2.0])


def test_kin_are_so_many_half_steps_above_and_beyond_the_scale_there_is_nothing() -> None:
    odds = np.linspace(-9.0, 9.0, PITCHES)
    expected = np.linspace(0.0, 1.0, PITCHES)
    seen = _seen(odds, expected=expected)
    for midi in (LOW_PITCH, 55, 65, HIGH_PITCH):
        for step in KIN:
            there = LOW_PITCH <= midi + step <= HIGH_PITCH
            wanted = odds[midi + step - LOW_PITCH] / 5.0 if there else -2.0
            assert _at(seen, f"kin {step}", midi) == pytest.approx(wanted, abs=1e-6), (midi, step)
        for step in ASKED_KIN:
            there = LOW_PITCH <= midi + step <= HIGH_PITCH
            wanted = _asked(expected[midi + step - LOW_PITCH]) if there else 0.0
            assert _at(seen, f"asked kin {step}", midi) == pytest.approx(wanted, abs=1e-5), (midi, step)


def test_kin_are_neighbours_octaves_fifths_and_fourths_both_ways() -> None:
    for steps in (KIN, ASKED_KIN):
        assert len(set(steps)) == len(steps)
        assert {-step for step in steps} == set(steps)
        assert {1, 2, 12} <= set(steps)
    assert set(KIN) <= set(NETWORK_KIN)


def test_facts_are_the_same_for_all_pitches_and_heights_are_octaves_from_the_middle() -> None:
    facts = np.arange(1.0, FACTS + 1)
    seen = _seen(facts=facts)
    for k, fact in enumerate(facts):
        assert set(seen[:, _columns(0)[f"fact {k}"]].tolist()) == {fact}
    assert [_at(seen, "octaves", midi) for midi in (53, 65, 77)] == [-1.0, 0.0, 1.0]
    assert [_at(seen, "octaves squared", midi) for midi in (53, 65, 77)] == [1.0, 0.0, 1.0]


def test_what_is_given_stays_as_it_was() -> None:
    given = [_flat(20.0), np.ones(FACTS), _flat(0.5), _flat(-20.0)]
    kept = [array.copy() for array in given]
    inputs([given[0]], *given[1:])
    assert all(np.array_equal(one, other) for one, other in zip(given, kept, strict=True))


def test_log_odds_are_the_sums_written_out() -> None:
    rng = np.random.default_rng(0)
    sizes = {
        "see": (4, 3),
        "see_bias": (3,),
        "weigh": (3, 2),
        "weigh_bias": (2,),
        "say": (2,),
        "say_bias": (1,),
    }
    arrays = {name: rng.standard_normal(size).astype(np.float32) for name, size in sizes.items()}
    seen = rng.standard_normal((5, 4)).astype(np.float32)
    found = Weigher(arrays).log_odds(seen)
    assert found.shape == (5,)
    for row, odds in zip(seen, found, strict=True):
        features = [
            max(float(row @ arrays["see"][:, k]) + float(arrays["see_bias"][k]), 0.0) for k in range(3)
        ]
        weighed = [
            max(
                sum(f * float(arrays["weigh"][j, k]) for j, f in enumerate(features))
                + float(arrays["weigh_bias"][k]),
                0.0,
            )
            for k in range(2)
        ]
        total = sum(w * float(s) for w, s in zip(weighed, arrays["say"], strict=True))
        assert odds == pytest.approx(total + float(arrays["say_bias"][0]), abs=1e-5)
    assert found.std() > 0.1


def _own(look: str) -> dict[str, np.ndarray]:
    return {k.removeprefix(f"{look}_"): a for k, a in shipped(WEIGHER).items() if k.startswith(f"{look}_")}


def test_the_shipped_weighers_are_small_whole_and_as_wide_as_what_they_see() -> None:
    assert len(FOLDER.joinpath(WEIGHER).read_bytes()) < 100_000
    for sooner, look in enumerate(LOOKS):
        own = _own(look)
        features, weighed = own["see"].shape[1], own["weigh"].shape[1]
        assert {name: array.shape for name, array in own.items()} == {
            "see": (width(sooner, FACTS), features),
            "see_bias": (features,),
            "weigh": (features, weighed),
            "weigh_bias": (weighed,),
            "say": (weighed,),
            "say_bias": (1,),
        }
        for array in own.values():
            assert array.dtype == np.float32
            assert np.isfinite(array).all()
    assert len(shipped(WEIGHER)) == 6 * len(LOOKS)
    told = json.loads(FOLDER.joinpath(WEIGHER.replace(".npz", ".json")).read_text(encoding="utf-8"))
    assert told["made_by"].startswith("python -m tests.bench weigh ")
    assert told["commit"]
    assert list(told["figures"]) == list(LOOKS)


@pytest.mark.parametrize("look", ["early", "middle"])
def test_the_networks_of_the_sooner_looks_are_small_and_whole_and_say_what_made_them(look: str) -> None:
    held = FOLDER.joinpath(f"strike-{look}.npz")
    assert len(held.read_bytes()) < 1_000_000
    with held.open("rb") as file:
        arrays = dict(np.load(file, allow_pickle=False))
    widths = {"h": arrays["read_bias"].size, "c": arrays["share_bias"].size, "g": arrays["weigh_bias"].size}
    widths["hc"] = widths["h"] + len(NETWORK_KIN) * widths["c"]
    assert set(arrays) == {*SHAPES, "least_confidence"}
    for name, shape in SHAPES.items():
        assert arrays[name].shape == tuple(widths[n] if isinstance(n, str) else n for n in shape), name
        assert arrays[name].dtype == np.float32, name
        assert np.isfinite(arrays[name]).all(), name
    told = json.loads(FOLDER.joinpath(f"strike-{look}.json").read_text(encoding="utf-8"))
    assert told["recipe"]["features"] == widths["h"]
    assert told["figures"][0]["least_confidence"] == pytest.approx(float(arrays["least_confidence"]))


@pytest.fixture(params=[*enumerate(LOOKS)], ids=list(LOOKS))
def likely(request: pytest.FixtureRequest):  # type: ignore[no-untyped-def]
    """How likely the shipped weigher of a look calls each pitch, heard alike by the sooner looks."""
    sooner, look = request.param
    weigher, facts = Weigher(_own(look)), np.array([0.5, 0.8, 1.0, 0.0, 1.0, 0.0])

    def of(odds: np.ndarray, expected: np.ndarray) -> np.ndarray:
        seen = inputs([odds] * (sooner + 1), facts, expected, _flat(-10.0))
        return 1.0 / (1.0 + np.exp(-weigher.log_odds(seen)))

    return of


def test_the_shipped_weighers_hear_nothing_only_because_it_is_expected(likely) -> None:  # type: ignore[no-untyped-def]
    unheard = _flat(-10.0)
    for midi in range(LOW_PITCH, HIGH_PITCH + 1):
        assert likely(unheard, _flat(0.0, **{f"m{midi}": 0.9})).max() < 0.05


def test_the_shipped_weighers_go_by_what_they_hear_whatever_is_expected(likely) -> None:  # type: ignore[no-untyped-def]
    for weight in (0.0, 0.03, 0.9):
        steps = [likely(_flat(-8.0, m62=odds), _flat(0.0, m62=weight))[LOUD] for odds in (-5.0, 0.0, 5.0)]
        assert steps[0] < steps[1] < steps[2]
        assert steps[2] > 0.8


@pytest.mark.parametrize("likely", [(0, "early")], indirect=True, ids=["early"])
def test_the_soonest_look_is_surer_of_what_is_asked_for(likely) -> None:  # type: ignore[no-untyped-def]
    thin = _flat(-8.0, m62=0.0)
    asked, slip, unasked = (likely(thin, _flat(0.0, m62=weight))[LOUD] for weight in (0.9, 0.03, 0.0))
    assert asked > 0.7 > slip > unasked


def test_the_shipped_weighers_hear_the_neighbour_of_what_was_asked_for(likely) -> None:  # type: ignore[no-untyped-def]
    found = likely(_flat(-8.0, m62=6.0), _flat(0.0, m63=0.9, m62=0.03))
    assert found[LOUD] > 0.5 > 0.1 > found[LOUD + 1]
