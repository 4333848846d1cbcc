"""The network that scores pitches: where it reads, what it sums, and the weights that are shipped."""

from __future__ import annotations

import json
import math
from importlib import resources
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.framing import Past
from listener.network import (
    AROUND,
    HIGH_PITCH,
    KIN,
    LOW_PITCH,
    MULTIPLES,
    PITCHES,
    READ,
    WEIGHTS,
    Network,
    heights,
    kinship,
    reading,
    shipped,
)
from listener.offset import TuningOffset
from listener.scorer import NetworkScorer
from listener.strikes import Strike
from listener.views import BANDS, FACTS, LOW_MIDI, STEPS, VIEWS, Look, Looker
from tests.plucks import plucked

SHAPES: dict[str, tuple[int | str, ...]] = {
    "read": (READ, "h"),
    "read_bias": ("h",),
    "facts": (FACTS, "h"),
    "height": (2, "h"),
    "share": ("h", "c"),
    "share_bias": ("c",),
    "weigh": ("hc", "g"),
    "weigh_bias": ("g",),
    "say": ("g",),
    "say_bias": (1,),
}
"""Arrays and their shapes, widths by letter."""

FOLDER = resources.files("listener").joinpath("weights")


def _sized(shape: tuple[int | str, ...], widths: dict[str, int]) -> tuple[int, ...]:
    return tuple(widths[n] if isinstance(n, str) else n for n in shape)


def _arrays(seed: int, h: int = 5, c: int = 3, g: int = 4) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    widths = {"h": h, "c": c, "g": g, "hc": h + len(KIN) * c}
    return {
        name: (0.2 * rng.standard_normal(_sized(shape, widths))).astype(np.float32)
        for name, shape in SHAPES.items()
    }


def _look(seed: int, *, quiet_bands: int = 0) -> Look:
    rng = np.random.default_rng(seed)
    views = rng.random((VIEWS, BANDS)).astype(np.float32)
    if quiet_bands:
        views[:, :quiet_bands] = views[:, -quiet_bands:] = 0.0
    return Look(views, rng.standard_normal(FACTS).astype(np.float32), np.zeros((VIEWS, 1)))


def _places(midi: int, multiple: float) -> list[int]:
    at = MULTIPLES.index(multiple) * len(AROUND)
    return [int(band) for band in reading()[midi - LOW_PITCH, at : at + len(AROUND)]]


def test_the_lowest_pitch_is_read_at_its_partials() -> None:
    # Two half steps above the axis' end: its fundamental is band 8, its octave 48 bands on.
    assert reading().shape == (PITCHES, len(MULTIPLES) * len(AROUND))
    assert _places(46, 1.0) == [4, 6, 8, 10, 12]
    assert _places(46, 1.5) == [32, 34, 36, 38, 40]  # a fifth is 28 bands
    assert _places(46, 2.0) == [52, 54, 56, 58, 60]
    assert _places(46, 3.0) == [80, 82, 84, 86, 88]
    assert _places(46, 5.0) == [115, 117, 119, 121, 123]  # two octaves and 15.45 bands
    assert _places(46, 12.0) == [176, 178, 180, 182, 184]


def test_beyond_the_axis_a_silent_band_is_read() -> None:
    assert _places(46, 0.5) == [BANDS] * 5
    assert _places(56, 0.5) == [BANDS, BANDS, 0, 2, 4]  # the axis' first band itself
    assert _places(86, 8.0) == [308, 310, 312, BANDS, BANDS]  # its last one is 312
    assert _places(86, 10.0) == [BANDS] * 5


def test_kin_stand_at_their_half_steps() -> None:
    rows = kinship()
    assert rows.shape == (PITCHES, len(KIN))
    low, middle, high = (dict(zip(KIN, row.tolist(), strict=True)) for row in rows[[0, 20, PITCHES - 1]])
    assert (low[0], low[-1], low[-24], low[1], low[24]) == (0, PITCHES, PITCHES, 1, 24)
    assert (middle[0], middle[-24], middle[-19], middle[19], middle[24]) == (20, PITCHES, 1, 39, PITCHES)
    assert (high[0], high[1], high[-1], high[-24]) == (PITCHES - 1, PITCHES, PITCHES - 2, PITCHES - 25)


def test_heights_are_octaves_from_the_middle_and_their_squares() -> None:
    assert heights().shape == (PITCHES, 2)
    assert heights()[65 - LOW_PITCH].tolist() == [0.0, 0.0]
    assert heights()[77 - LOW_PITCH].tolist() == [1.0, 1.0]
    assert heights()[53 - LOW_PITCH].tolist() == [-1.0, 1.0]


def _layer(values: list[float], weights: np.ndarray, bias: np.ndarray) -> list[float]:
    """One layer, written out."""
    outputs = []
    for column in range(weights.shape[1]):
        total = float(bias[column])
        for number, value in enumerate(values):
            total += value * float(weights[number, column])
        outputs.append(max(total, 0.0))
    return outputs


def _slowly(arrays: dict[str, np.ndarray], look: Look) -> list[float]:
    """The log odds from what the docstrings say: no table, no array sums."""
    features: dict[int, list[float]] = {}
    for midi in range(LOW_PITCH, HIGH_PITCH + 1):
        read: list[float] = []
        for view in look.views:
            for multiple in MULTIPLES:
                middle = (midi - LOW_MIDI) * STEPS + round(12 * STEPS * math.log2(multiple))
                bands = [middle + around for around in AROUND]
                read += [float(view[band]) if 0 <= band < BANDS else 0.0 for band in bands]
        octaves = (midi - 65) / 12
        stacked = np.concatenate([arrays["read"], arrays["height"], arrays["facts"]])
        features[midi] = _layer([*read, octaves, octaves**2, *look.facts], stacked, arrays["read_bias"])
    shared = {midi: _layer(own, arrays["share"], arrays["share_bias"]) for midi, own in features.items()}
    silent = [0.0] * len(arrays["share_bias"])
    odds = []
    for midi, own in features.items():
        both = own + [number for kin in KIN for number in shared.get(midi + kin, silent)]
        weighed = _layer(both, arrays["weigh"], arrays["weigh_bias"])
        odds.append(float(np.dot(weighed, arrays["say"])) + float(arrays["say_bias"][0]))
    return odds


def test_log_odds_are_the_sums_written_out() -> None:
    network = Network(_arrays(1))
    for seed in (2, 3):  # the second look must see nothing of the first
        odds = network.log_odds(_look(seed))
        assert odds.shape == (PITCHES,)
        assert odds.std() > 0.01
        assert odds == pytest.approx(_slowly(_arrays(1), _look(seed)), abs=1e-4)


@given(seed=st.integers(0, 2**32 - 1), half_steps=st.integers(-6, 6))
@settings(max_examples=25, deadline=None)
def test_a_look_moved_along_the_axis_has_its_odds_moved(seed: int, half_steps: int) -> None:
    arrays, h, c, far = _arrays(seed), 5, 3, 12
    arrays["height"][:] = 0.0
    for number, kin in enumerate(KIN):  # no pitch has all its kin within the scored ones
        if abs(kin) >= far:
            arrays["weigh"][h + number * c : h + (number + 1) * c] = 0.0
    look = _look(seed, quiet_bands=6 * STEPS)
    moved = Look(np.roll(look.views, half_steps * STEPS, axis=1), look.facts, look.magnitudes)
    network = Network(arrays)
    plain, other = network.log_odds(look), network.log_odds(moved)
    kept = range(7 + max(0, -half_steps), PITCHES - 7 - max(0, half_steps))
    for pitch in kept:
        assert other[pitch + half_steps] == pytest.approx(plain[pitch], abs=1e-4)


def test_height_tells_pitches_of_one_pattern_apart() -> None:
    arrays = _arrays(4)
    silent = Look(np.zeros((VIEWS, BANDS), np.float32), np.zeros(FACTS, np.float32), np.zeros((VIEWS, 1)))
    arrays["weigh"][5:] = 0.0
    assert np.ptp(Network(arrays).log_odds(silent)) > 1e-3
    arrays["height"][:] = 0.0
    assert np.ptp(Network(arrays).log_odds(silent)) == pytest.approx(0.0, abs=1e-6)


def test_training_and_listening_sum_alike() -> None:
    torch = pytest.importorskip("torch")
    from tests.bench.train.net import Net

    torch.manual_seed(0)
    net = Net(features=7, shared=3, weighed=5, dropout=0.5).eval()
    with torch.no_grad():  # drawn wide enough that no layer is silent
        for weights in net.parameters():
            weights.copy_(0.2 * torch.randn(weights.shape))
    looks = [_look(seed) for seed in range(3)]
    views, facts = (torch.from_numpy(np.stack([getattr(x, n) for x in looks])) for n in ("views", "facts"))
    with torch.no_grad():
        trained = net(views, facts).numpy()
    network = Network(net.arrays())
    assert set(net.arrays()) == set(SHAPES)
    assert trained.std() > 0.01
    for row, look in zip(trained, looks, strict=True):
        assert network.log_odds(look) == pytest.approx(row, abs=1e-4)


def test_the_shipped_weights_are_small_and_whole() -> None:
    held = FOLDER.joinpath(WEIGHTS)
    assert len(held.read_bytes()) < 2_000_000
    with held.open("rb") as file:
        arrays = dict(np.load(file, allow_pickle=False))
    assert set(arrays) == {*SHAPES, "least_confidence"}
    widths = {"h": arrays["read_bias"].size, "c": arrays["share_bias"].size, "g": arrays["weigh_bias"].size}
    widths["hc"] = widths["h"] + len(KIN) * widths["c"]
    for name, array in arrays.items():
        assert array.dtype == np.float32, name
        assert np.isfinite(array).all(), name
        assert array.shape == _sized(SHAPES.get(name, ()), widths), name
    assert 0.0 < arrays["least_confidence"] < 1.0
    assert all(np.array_equal(shipped()[name], array) for name, array in arrays.items())
    assert np.isfinite(Network(arrays).log_odds(_look(0))).all()


def test_beside_the_shipped_weights_stands_what_they_were_made_of() -> None:
    held = FOLDER.joinpath(WEIGHTS.replace(".npz", ".json"))
    told = json.loads(held.read_text(encoding="utf-8"))
    assert told["sounds"]
    for sound in told["sounds"]:
        assert sound["sound"]
        assert sound["licence"]
    assert told["made_by"].startswith("python -m tests.bench learn ")
    assert f"--seed {told['recipe']['seed']}" in told["made_by"]
    assert told["commit"]
    assert told["strikes"] > told["notes"] > 0
    spans = sorted((first, first + count) for first, count in told["takes"].values())
    assert set(told["takes"]) == {"learn", "near", "far"}
    assert all(end <= begin for (_, end), (begin, _) in pairwise(spans))
    for figures in told["figures"]:
        assert all(0.5 < figures[name]["F"] <= 1.0 for name in ("near", "far"))
    # What is written is the first training, at its own least confidence and of the widths of the recipe.
    first, arrays = told["figures"][0], shipped()
    assert first["seed"] == told["recipe"]["seed"]
    assert first["least_confidence"] == pytest.approx(float(arrays["least_confidence"]))
    for width, name in (("features", "read_bias"), ("shared", "share_bias"), ("weighed", "weigh_bias")):
        assert told["recipe"][width] == arrays[name].size


def test_the_shipped_network_knows_a_pluck() -> None:
    looker, past, at = Looker(44100), Past(16384), 8820
    past.append(plucked(44100, [(0.2, 62, 0.2)], duration_sec=0.4)[: at + looker.ahead_samples])
    look = looker.look(past, Strike(at, 0.5), None, 0.0)
    assert look is not None
    odds = Network(shipped()).log_odds(look)
    assert np.flatnonzero(odds > 0.0).tolist() == [62 - LOW_PITCH]


def _said(least: float | None, **changes: float) -> list[tuple[int, float]]:
    """What a scorer says whose network gives even odds to every pitch."""
    arrays = {name: np.zeros_like(array) for name, array in _arrays(0).items()}
    arrays |= {name: np.array(value, np.float32) for name, value in changes.items()}
    scorer, past = NetworkScorer(44100, arrays, least), Past(32768)
    past.append(plucked(44100, [(0.2, 62, 0.2)], duration_sec=0.4))
    return [(s.midi, s.confidence) for s in scorer.struck(past, Strike(8820, 0.5), None, TuningOffset())]


def test_a_pitch_is_said_from_the_least_confidence_on() -> None:
    every = [(midi, 0.5) for midi in range(LOW_PITCH, HIGH_PITCH + 1)]
    assert _said(0.5) == every  # the limit itself is enough; rising in pitch
    assert _said(0.51) == []
    assert _said(None, least_confidence=0.5) == every
    assert _said(None, least_confidence=0.51) == []
    assert _said(0.5, least_confidence=0.51) == every  # what is asked for goes before what is stored
