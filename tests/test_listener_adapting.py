"""Moving the last layers: slopes against differences, labels by hand, and a way that can be measured."""

from __future__ import annotations

import numpy as np
import pytest

from listener.adapting import EITHER, MOVED, NO, YES, Descent, Rows, labelled, moved, slope
from listener.composing import Begun
from listener.network import LOW_PITCH, PITCHES, Network, last_layers, shipped
from listener.views import BANDS, FACTS, VIEWS, Look


def _weights(seed: int, h: int = 6, g: int = 4) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    shapes = {"weigh": (h, g), "weigh_bias": (g,), "say": (g,), "say_bias": (1,)}
    return {name: rng.standard_normal(shape).astype(np.float32) for name, shape in shapes.items()}


def _rows(seed: int, n: int = 40, h: int = 6) -> Rows:
    rng = np.random.default_rng(seed)
    return Rows(rng.standard_normal((n, h)).astype(np.float32), (rng.random(n) < 0.4).astype(np.float32))


def _loss(weights: dict[str, np.ndarray], rows: Rows) -> float:
    odds = last_layers(
        {name: array.astype(float) for name, array in weights.items()}, rows.seen.astype(float)
    )
    return float(np.mean(np.logaddexp(0.0, odds) - rows.begun * odds))


def test_the_last_layers_say_what_the_network_says() -> None:
    rng = np.random.default_rng(2)
    look = Look(rng.random((VIEWS, BANDS), np.float32), rng.random(FACTS, np.float32), np.zeros((VIEWS, 1)))
    network = Network(shipped())
    joined = network.joined(look)
    assert joined.shape == (PITCHES, network.joined_width)
    assert last_layers(shipped(), joined) == pytest.approx(network.log_odds(look), abs=1e-4)


@pytest.mark.parametrize("name", MOVED)
def test_slopes_are_those_of_the_loss(name: str) -> None:
    weights, rows = _weights(0), _rows(1)
    found = slope(weights, rows.seen, rows.begun)[name]
    assert found.shape == weights[name].shape
    for place in np.ndindex(weights[name].shape):
        sides = []
        for step in (1e-3, -1e-3):
            near = {key: array.astype(float) for key, array in weights.items()}
            near[name][place] += step
            sides.append(_loss(near, rows))
        assert found[place] == pytest.approx((sides[0] - sides[1]) / 2e-3, abs=2e-4)


def test_a_descent_goes_down_and_only_a_share_of_it_is_kept() -> None:
    weights, rows = _weights(3), _rows(4)
    descent = Descent(steps=60, rows=20, pace=1e-2, keep=1.0)
    whole = moved(weights, rows, descent, np.random.default_rng(0))
    half = moved(weights, rows, Descent(steps=60, rows=20, pace=1e-2, keep=0.5), np.random.default_rng(0))
    assert _loss(whole, rows) < _loss(half, rows) < _loss(weights, rows)
    for name in MOVED:
        assert half[name] == pytest.approx(0.5 * (weights[name] + whole[name]), abs=1e-6)
        assert whole[name].dtype == np.float32


def test_the_same_dice_give_the_same_weights_and_no_step_moves_nothing() -> None:
    weights, rows = _weights(3), _rows(4)
    one, again = (moved(weights, rows, Descent(steps=5), np.random.default_rng(7)) for _ in range(2))
    still = moved(weights, rows, Descent(steps=0), np.random.default_rng(7))
    for name in MOVED:
        assert np.array_equal(one[name], again[name])
        assert np.array_equal(still[name], weights[name])


def test_to_hold_fast_is_to_stay_nearer() -> None:
    weights, rows = _weights(3), _rows(4)
    way = []
    for hold in (0.0, 10.0):
        found = moved(
            weights, rows, Descent(steps=80, rows=40, pace=1e-2, hold=hold), np.random.default_rng(0)
        )
        way.append(sum(float(np.sum((found[name] - weights[name]) ** 2)) for name in MOVED))
    assert way[1] < 0.5 * way[0]


def test_labels_by_hand() -> None:
    sec = np.array([0.990, 1.001, 1.006, 1.030, 1.060, 2.030, 3.001])
    notes = [
        Begun(1.0, 60, False, True),
        Begun(2.0, 62, True, True),  # a slur, whose strike is 30 ms off
        Begun(2.0, 64, False, True),  # a stroke that has none so far off
        Begun(3.0, 65, False, False),  # next to nothing
        Begun(3.0, LOW_PITCH - 1, False, True),
    ]
    labels = labelled(sec, notes)
    assert labels[:, 60 - LOW_PITCH].tolist() == [NO, YES, EITHER, EITHER, NO, NO, NO]
    assert labels[5, 62 - LOW_PITCH] == YES
    assert not labels[:, 64 - LOW_PITCH].any()
    assert labels[6, 65 - LOW_PITCH] == EITHER
    assert int((labels == YES).sum()) == 2
    assert labelled(np.zeros(0), notes).shape == (0, PITCHES)


def test_rows_leave_out_what_teaches_nothing() -> None:
    seen = np.arange(PITCHES, dtype=np.float32)[None, :, None]
    labels, odds = np.full((1, PITCHES), NO, np.uint8), np.full((1, PITCHES), -20.0)
    labels[0, 3], labels[0, 4], odds[0, 4], odds[0, 5] = YES, EITHER, 3.0, 1.0
    rows = Rows.of(seen, odds, labels)
    assert rows.seen[:, 0].tolist() == [3.0, 5.0]
    assert rows.begun.tolist() == [1.0, 0.0]
    assert len(Rows.joined([rows, rows]).begun) == 4
