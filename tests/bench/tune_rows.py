"""The rows of the tuner's tables: which string is plucked, how it is tuned, and what disturbs.

Each row draws a pluck from a random generator; a sampled banjo is tuned in steps, as each tuning is another
run of its synthesiser.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

import numpy as np

from routines.neck import OPEN_TUNINGS, Neck
from tests.bench.tune_sounds import Pluck

Drawn = Callable[[np.random.Generator, bool], Pluck]
"""Draws a pluck; True for tunings in steps."""

_OFF_CENTS = 30.0
_FAR_CENTS = (40.0, 150.0)
_STEPS = (-30.0, 0.0, 30.0)
_FAR_STEPS = (-150.0, -80.0, 80.0, 150.0)


def _drawn(
    rng: np.random.Generator,
    stepped: bool,
    *,
    string: int | None = None,
    tuning: str = "gDGBD",
    capo: int = 0,
    twelfth: bool = False,
    others_db: float | None = None,
    noise_dbfs: float = -68.0,
    far: bool = False,
) -> Pluck:
    at = int(rng.integers(1, 6)) if string is None else string
    if far:
        way = float(rng.choice([-1.0, 1.0]))
        off = float(rng.choice(_FAR_STEPS)) if stepped else way * float(rng.uniform(*_FAR_CENTS))
    else:
        off = float(rng.choice(_STEPS)) if stepped else float(rng.uniform(-_OFF_CENTS, _OFF_CENTS))
    fret = (17 if at == 5 else 12) if twelfth else 0
    return Pluck(
        neck=Neck(tuning=tuning, capo=capo), string=at, fret=fret, off_cents=off, others_db=others_db,
        noise_dbfs=noise_dbfs,
    )  # fmt: skip


ROWS: Mapping[str, Drawn] = MappingProxyType(
    {
        **{f"string {string}": partial(_drawn, string=string) for string in (5, 4, 3, 2, 1)},
        **{f"tuning {name}": partial(_drawn, tuning=name) for name in OPEN_TUNINGS},
        "capo 2": partial(_drawn, capo=2),
        "capo 4": partial(_drawn, capo=4),
        "noise 32 dB under": partial(_drawn, noise_dbfs=-56.0),
        "noise 22 dB under": partial(_drawn, noise_dbfs=-46.0),
        "others ringing at -20 dB": partial(_drawn, others_db=-20.0),
        "others ringing at -10 dB": partial(_drawn, others_db=-10.0),
        "40 to 150 cents off": partial(_drawn, far=True),
        "twelfth fret": partial(_drawn, twelfth=True),
    }
)
"""Name of a row to what draws its plucks."""
