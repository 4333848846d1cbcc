"""The greedy non-negative fit, on cases small enough to work out by hand, and on the harmonic templates."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import nnls

from listener.fitting import Fit, pursue
from listener.templates import Bank, TemplateSettings, partial_hz


def _pursued(shapes: np.ndarray, spectrum: np.ndarray, pitches: int, **options: float) -> Fit:
    asked = {"most": 4, "least_gain": 0.01} | options
    return pursue(
        shapes.T @ shapes,
        spectrum @ shapes,
        float(spectrum @ spectrum),
        pitches=pitches,
        most=int(asked["most"]),
        least_gain=asked["least_gain"],
    )


def test_right_angled_templates_get_their_own_amounts_the_greatest_first() -> None:
    fit = _pursued(np.eye(4), np.array([3.0, 0.0, 4.0, 0.0]), 4)
    assert fit.columns == (2, 0)
    assert fit.amounts == pytest.approx([4.0, 3.0])
    assert fit.alone == pytest.approx([16 / 25, 9 / 25])
    assert fit.explained == pytest.approx(1.0)


def test_what_explains_too_little_is_left_out() -> None:
    spectrum = np.array([10.0, 1.0, 0.0])  # the second explains 1 of 101
    assert _pursued(np.eye(3), spectrum, 3, least_gain=0.0098).columns == (0, 1)
    assert _pursued(np.eye(3), spectrum, 3, least_gain=0.0100).columns == (0,)


def test_no_more_than_asked_are_chosen() -> None:
    assert len(_pursued(np.eye(5), np.ones(5), 5, most=2).columns) == 2


def test_nothing_is_ever_taken_away() -> None:
    fit = _pursued(np.eye(3), np.array([-2.0, -1.0, 0.0]), 3)
    assert fit.columns == ()
    assert fit.explained == 0.0


def test_a_hump_takes_what_has_no_pitch() -> None:
    flat = np.full(4, 0.5)
    shapes = np.stack([np.array([1.0, 0, 0, 0]), np.array([0, 1.0, 0, 0]), flat], axis=1)
    fit = _pursued(shapes, 2.0 * flat, pitches=2)
    assert fit.columns == ()
    assert fit.explained == pytest.approx(1.0)
    assert _pursued(shapes, 2.0 * flat + [3.0, 0, 0, 0], pitches=2).columns == (0,)


def test_the_chosen_amounts_are_those_of_least_squares() -> None:
    rng = np.random.default_rng(3)
    shapes = np.abs(rng.standard_normal((30, 6)))
    shapes /= np.linalg.norm(shapes, axis=0)
    spectrum = shapes @ np.array([2.0, 0.0, 1.0, 0.0, 0.0, 3.0])
    fit = _pursued(shapes, spectrum, 6, least_gain=1e-6)
    expected, _ = nnls(shapes, spectrum)
    assert dict(zip(fit.columns, fit.amounts, strict=True)) == pytest.approx(
        {column: amount for column, amount in enumerate(expected) if amount > 1e-9}, rel=1e-6
    )


@pytest.fixture(scope="module")
def bank() -> Bank:
    return Bank(44100, 1764, 0.0, TemplateSettings())


@pytest.mark.parametrize("midi", [(48,), (60,), (84,), (55, 62), (50, 62), (55, 67), (59, 67, 74)])
def test_a_sum_of_templates_is_taken_apart(bank: Bank, midi: tuple[int, ...]) -> None:
    columns = [int(np.flatnonzero(bank.midi == pitch)[0]) for pitch in midi]
    spectrum = bank.shapes[:, columns].sum(axis=1).astype(float)
    fit = pursue(
        bank.gram,
        spectrum @ bank.shapes,
        float(spectrum @ spectrum),
        pitches=len(bank.midi),
        most=5,
        least_gain=0.004,
    )
    assert sorted(bank.midi[list(fit.columns)]) == list(midi)
    assert fit.amounts == pytest.approx(np.ones(len(midi)), abs=1e-3)


def test_the_templates_cover_the_banjo_and_are_of_unit_length(bank: Bank) -> None:
    assert bank.midi[0] <= 48
    assert bank.midi[-1] >= 84
    assert np.linalg.norm(bank.shapes, axis=0) == pytest.approx(np.ones(bank.shapes.shape[1]), abs=1e-5)


def test_a_tuned_bank_peaks_where_the_instrument_does() -> None:
    flat = Bank(48000, 1920, -40.0, TemplateSettings())
    hz = np.arange(2049) * 48000 / 4096
    column = int(np.flatnonzero(flat.midi == 69)[0])
    shape = flat.shapes[:, column]
    near = hz[flat.band][shape > 0.99 * shape.max()]
    wanted = 440.0 * 2.0 ** (-40 / 1200)
    assert near.mean() == pytest.approx(wanted, abs=8.0)


def test_partials_of_a_stiff_string_are_sharp() -> None:
    hz = partial_hz(69.0, np.array([1, 2, 10]), 1e-4)
    assert hz == pytest.approx([440.022, 880.176, 4421.945], abs=1e-3)
