"""Instruments to learn from, and instruments kept aside.

The problem: what holds a listener back is the variety of banjos that it has heard. Three families are drawn
from: the simulated banjo, widely varied; a modal string of another structure; notes of a sound font. Of each
family a part is kept aside, made by another rule, so that what was learned can be tried on strangers.

Conventions: a family is a row of `FAMILIES`. Learned heads have resonances strewn over the logarithm of
frequency; heads kept aside have those of a round membrane. Learned modal strings follow a power law and have
modes; those kept aside follow an exponential and have reflections. Fonts are kept aside by program.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from feedback.sound.banjo import Banjo, Manner
from tests.bench.train.fontnotes import ASIDE, LEARN, FontString
from tests.bench.train.lines import LEFT_DB, LEFT_SEC, LEFT_SHARE, Touching
from tests.bench.train.microphone import Colour
from tests.bench.train.modal import PARTIALS, Body, Modal
from tests.bench.train.sounding import Assembled, Instrument, Simulated

MEMBRANE = (1.0, 1.594, 2.136, 2.296, 2.653, 2.918, 3.156, 3.501, 3.600, 4.060)
"""Frequencies of a round membrane against its lowest (zeros of Bessel functions)."""


def log_even(rng: np.random.Generator, least: float, most: float) -> float:
    """Draw evenly over the logarithm."""
    return float(np.exp(rng.uniform(np.log(least), np.log(most))))


BANJO_EVEN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "intonation_cents": (0.0, 6.0),
        "pick_mm": (25.0, 170.0),
        "decay_power": (0.2, 0.9),
        "decay_stopped": (0.0, 1.2),
        "tail_db": (-22.0, -4.0),
        "tail_detune_cents": (-2.0, 5.0),
        "sharp_cents": (0.0, 25.0),
        "knock_db": (-35.0, -6.0),
        "low_slope_db": (0.0, 18.0),
        "high_slope_db": (-2.0, 8.0),
        "sympathetic_db": (-60.0, -22.0),
    }
)
"""Attribute of `Banjo` to the range that it is drawn from, evenly."""

BANJO_LOG: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "pick_bright_hz": (2500.0, 20000.0),
        "early_decay_db_per_sec": (25.0, 120.0),
        "late_decay_db_per_sec": (6.0, 30.0),
        "sharp_sec": (0.02, 0.12),
        "low_hz": (120.0, 600.0),
        "high_hz": (1500.0, 4500.0),
    }
)
"""The same, evenly over the logarithm."""

MANNER_EVEN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "ripple_db": (0.5, 4.0),
        "knock_tick": (0.0, 2.0),
        "slur_knock_db": (-25.0, 8.0),
        "slur_knock_spread_db": (0.0, 8.0),
        "touch_sec": (0.002, 0.006),
        "lift_sec": (0.006, 0.028),
    }
)
"""Attribute of `Manner` to the range that it is drawn from, evenly."""

MANNER_LOG: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"knock_length": (0.3, 3.0), "slur_bright": (0.6, 2.5), "slur_attack": (0.5, 4.0)}
)
"""The same, evenly over the logarithm."""


def drawn_instrument(
    rng: np.random.Generator, *, aside: bool, notes_folder: Path | None, tuning_cents: float, reach: float
) -> Instrument:
    """Draw an instrument.

    Parameters
    ----------
    rng : numpy.random.Generator
    aside : bool
        Whether from those that are never learned from.
    notes_folder : pathlib.Path or None
        Where `tests.bench.train.fontnotes.build` put its notes; None to do without.
    tuning_cents : float
        The whole instrument against A4 = 440 Hz.
    reach : float
        How much of a choke's rise its player brings about.

    Returns
    -------
    Instrument
    """
    shares = FAMILIES if notes_folder is not None else {k: v for k, v in FAMILIES.items() if k != "font"}
    weights = np.array([family.share for family in shares.values()])
    family = shares[str(rng.choice(list(shares), p=weights / weights.sum()))]
    return family.draw(rng, _Wanted(aside, notes_folder, tuning_cents, reach))


@dataclass(frozen=True, slots=True)
class _Wanted:
    aside: bool
    notes_folder: Path | None
    tuning_cents: float
    reach: float


def _simulated(rng: np.random.Generator, wanted: _Wanted) -> Instrument:
    head = _membrane_head(rng) if wanted.aside else _strewn_head(rng)
    usual = Banjo()
    stiff = log_even(rng, 0.3, 4.0)
    banjo = replace(
        usual,
        **{name: float(rng.uniform(*ends)) for name, ends in BANJO_EVEN.items()},
        **{name: log_even(rng, *ends) for name, ends in BANJO_LOG.items()},
        tuning_cents=wanted.tuning_cents,
        stiffness=tuple(stiff * b * log_even(rng, 0.6, 1.6) for b in usual.stiffness),
        string_bright_db=tuple(db + float(rng.uniform(-2.0, 2.0)) for db in usual.string_bright_db),
        head_hz=tuple(head[0]),
        head_q=tuple(head[1]),
        head_db=tuple(head[2]),
    )
    left = rng.random() < LEFT_SHARE
    manner = Manner(
        **{name: float(rng.uniform(*ends)) for name, ends in MANNER_EVEN.items()},
        **{name: log_even(rng, *ends) for name, ends in MANNER_LOG.items()},
        string_cents=tuple(float(cents) for cents in _string_cents(rng)),
        touch_left_db=float(rng.uniform(*LEFT_DB)) if left else float("-inf"),
        touch_left_sec=float(rng.uniform(*LEFT_SEC)) if left else 0.0,
        choke_reach=wanted.reach,
    )
    return Simulated(banjo=banjo, manner=manner)


def _strewn_head(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    count = int(rng.integers(3, 15))
    hz = np.sort(np.exp(rng.uniform(np.log(150.0), np.log(5500.0), count)))
    return hz, np.exp(rng.uniform(np.log(2.0), np.log(16.0), count)), rng.uniform(-8.0, 13.0, count)


def _membrane_head(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    hz = float(rng.uniform(190.0, 340.0)) * np.array(MEMBRANE) ** float(rng.uniform(0.9, 1.1))
    hill = log_even(rng, 1500.0, 3200.0)
    q = np.append(np.full(len(hz), rng.uniform(5.0, 12.0)), rng.uniform(1.0, 2.5))
    return np.append(hz, hill), q, np.append(rng.uniform(0.0, 9.0, len(hz)), rng.uniform(4.0, 10.0))


def _string_cents(rng: np.random.Generator) -> np.ndarray:
    """How far strings are off from one another: a little, or one of them more."""
    cents = np.clip(rng.normal(0.0, rng.uniform(0.0, 3.0), 5), -6.0, 6.0)
    if rng.random() < 0.3:
        cents[int(rng.integers(5))] = rng.choice([-1.0, 1.0]) * rng.uniform(4.0, 15.0)
    return cents


def _modal(rng: np.random.Generator, wanted: _Wanted) -> Modal:
    modes = 0 if wanted.aside else int(rng.integers(10, 45))
    reflections = np.zeros((0, 2))
    if wanted.aside:
        count = int(rng.integers(2, 6))
        reflections = np.stack([rng.uniform(0.00015, 0.0035, count), rng.uniform(-0.6, 0.6, count)], axis=1)
    body = Body(
        mode_hz=np.exp(rng.uniform(np.log(130.0), np.log(7000.0), modes)),
        mode_q=rng.uniform(3.0, 22.0, modes),
        mode_weight=rng.uniform(-1.2, 1.2, modes) + 0.3,
        reflections=reflections,
        low_hz=float(rng.uniform(60.0, 500.0)),
        low_order=float(rng.uniform(0.5, 3.0)),
    )
    ripple = rng.uniform(0.5, 4.0)
    return Modal(
        law="exponential" if wanted.aside else "power",
        slope=float(rng.uniform(4.0, 14.0) if wanted.aside else rng.uniform(0.4, 1.6)),
        pick_mm=float(rng.uniform(20.0, 200.0)),
        bright_hz=log_even(rng, 2000.0, 14000.0),
        ripple_db=np.clip(rng.normal(0.0, ripple, (5, PARTIALS)), -8.0, 8.0),
        decay_spread=np.exp(rng.normal(0.0, rng.uniform(0.0, 0.5), (5, PARTIALS))),
        decay_db_per_sec=log_even(rng, 18.0, 110.0),
        decay_power=float(rng.uniform(0.1, 0.9)),
        tail_db=float(rng.uniform(-25.0, -3.0)),
        tail_decay=float(rng.uniform(0.12, 0.6)),
        tail_cents=float(rng.uniform(-3.0, 4.0)),
        stiffness=log_even(rng, 1e-5, 2.5e-4),
        string_cents=_string_cents(rng),
        intonation_cents=float(rng.uniform(0.0, 6.0)),
        sharp_cents=float(rng.uniform(0.0, 25.0)),
        sharp_sec=float(rng.uniform(0.02, 0.1)),
        attack_sec=log_even(rng, 0.0003, 0.004),
        slur_attack_sec=log_even(rng, 0.002, 0.015),
        slur_dull=float(rng.uniform(0.15, 1.0)),
        knock_db=float(rng.uniform(-35.0, -6.0)),
        knock_sec=log_even(rng, 0.0015, 0.015),
        knock_hz=log_even(rng, 200.0, 5000.0),
        slur_knock_db=float(rng.uniform(-20.0, 6.0)),
        tuning_cents=wanted.tuning_cents,
        body=body,
    )


def _answering(rng: np.random.Generator, tuning_cents: float) -> Banjo | None:
    """What open strings answer with, or nothing."""
    if rng.random() < 0.35:
        return None
    decay = log_even(rng, 6.0, 30.0)
    level = float(rng.uniform(-50.0, -22.0))
    return Banjo(tuning_cents=tuning_cents, sympathetic_db=level, late_decay_db_per_sec=decay)


def _modal_strings(rng: np.random.Generator, wanted: _Wanted) -> Instrument:
    string = _modal(rng, wanted)
    return Assembled(
        kind="modal",
        string=string,
        touching=Touching.drawn(rng),
        answering=_answering(rng, wanted.tuning_cents),
        colour=None,
        reach=wanted.reach,
        knocks=string,
        slur_knock_share=float(rng.uniform(0.0, 1.0)),
    )


def _font_strings(rng: np.random.Generator, wanted: _Wanted) -> Instrument:
    if wanted.notes_folder is None:
        raise ValueError("notes_folder None: font notes need the folder that fontnotes.build filled")
    programs = list(ASIDE if wanted.aside else LEARN)
    banjo_too = 105 in programs and rng.random() < 0.5
    program = 105 if banjo_too else int(rng.choice([p for p in programs if p != 105]))
    late = float(rng.uniform(0.0, 20.0))
    string = FontString(
        folder=wanted.notes_folder,
        program=program,
        shift=float(rng.choice([0.0, rng.uniform(-4.0, 4.0)])),
        damp_db_per_sec=late + float(rng.uniform(0.0, 60.0)),
        damp_late_db_per_sec=late,
        damp_share=float(rng.uniform(0.3, 1.0)),
        string_cents=_string_cents(rng),
        intonation_cents=float(rng.uniform(0.0, 5.0)),
        tuning_cents=wanted.tuning_cents,
        slur_from_sec=(0.1, 0.5) if rng.random() < 0.6 else (0.0, 0.03),
        slur_attack_sec=log_even(rng, 0.002, 0.015),
    )
    knocks = replace(_modal(rng, wanted), knock_db=float(rng.uniform(-40.0, -6.0)))
    return Assembled(
        kind=f"font-{program}",
        string=string,
        touching=Touching.drawn(rng),
        answering=_answering(rng, wanted.tuning_cents),
        colour=Colour.drawn(rng) if rng.random() < 0.85 else None,
        reach=wanted.reach,
        knocks=knocks,
        slur_knock_share=float(rng.uniform(0.0, 1.0)),
    )


@dataclass(frozen=True, slots=True)
class Family:
    """How often a family is drawn, against the others, and how."""

    share: float
    draw: Callable[[np.random.Generator, _Wanted], Instrument]


FAMILIES: Mapping[str, Family] = MappingProxyType(
    {
        "simulated": Family(0.40, _simulated),
        "modal": Family(0.25, _modal_strings),
        "font": Family(0.35, _font_strings),
    }
)
"""Name of a family of instruments to its row."""
