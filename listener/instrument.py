"""What is kept of one instrument: where it is tuned, and the weights that learnt to hear it.

The problem: what was learnt of a banjo outlives the sitting, and the program. So a profile is plain data (an
npz of numbers, never pickled), says which version wrote it and which weights it grew out of, and is looked at
before it is believed: arrays of another shape, numbers that are none, are refused. Weights that grew out of
others than those that come with the program are of no use any more; the tuning still is.
"""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from listener.adapting import MOVED
from listener.ear import EarSettings
from listener.expecting import Expected
from listener.framing import Past
from listener.informed import InformedSettings, informed_scorers
from listener.network import shipped
from listener.offset import TuningOffset
from listener.scorer import NetworkScorer, Scorer, Struck
from listener.strikes import Strike

VERSION = 1
"""Of the file."""

OFF_MOST_CENTS = 60.0
"""An instrument farther off is tuned to other half steps."""

_STRING_MOST_CENTS = 200.0
_STRINGS = (1, 2, 3, 4, 5)
_DAMAGE = (
    ValueError,
    KeyError,
    EOFError,
    TypeError,  # one bare array
    NotImplementedError,
    MemoryError,
    OSError,  # an offset that is none, in what was read from memory
    RuntimeError,  # said to be encrypted
    zipfile.BadZipFile,
    zlib.error,
)


class BadProfile(ValueError):
    """What was read is no profile that this program can use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One instrument.

    Attributes
    ----------
    tuning_cents : float
        The whole instrument against A4 = 440 Hz, within `OFF_MOST_CENTS`.
    string_cents : mapping of int to float
        Strings that were measured to how far their pitches are off from the rest.
    arrays : mapping of str to ndarray of float32
        `listener.adapting.MOVED` as learnt; empty where nothing was.
    grown_from : str
        `fingerprint` of the weights that they were learnt upon.
    """

    tuning_cents: float
    string_cents: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))
    arrays: Mapping[str, np.ndarray] = field(default_factory=lambda: MappingProxyType({}))
    grown_from: str = ""

    @property
    def learnt(self) -> bool:
        """Whether it has weights of its own that go with those of this program."""
        return bool(self.arrays) and self.grown_from == fingerprint()

    @property
    def outgrown(self) -> bool:
        """Whether it has weights of its own that no longer go with those of this program."""
        return bool(self.arrays) and not self.learnt

    def weights(self) -> Mapping[str, np.ndarray]:
        """All arrays of the network: its own where it has learnt, else those that come with the program."""
        return {**shipped(), **self.arrays} if self.learnt else shipped()

    def scorer(self, rate: int) -> Scorer:
        """The scorer of an ear that listens blind to this instrument, as `EarSettings.scorer` wants it."""
        return _Knowing(NetworkScorer(rate, self.weights()), self.tuning_cents)

    def informed(self, rate: int, expected: Expected) -> Sequence[Scorer]:
        """The scorers of an ear that knows what to expect, as `EarSettings.informed` wants them."""
        known = InformedSettings(tuned=True)
        scorers = informed_scorers(rate, expected, settings=known, weights=self.weights())
        return tuple(_Knowing(scorer, self.tuning_cents) for scorer in scorers)

    def settings(self) -> EarSettings:
        """How an ear is built that knows this instrument."""
        return EarSettings(scorer=self.scorer, informed=self.informed)


class _Knowing:
    """A scorer whose first hint is where the instrument was tuned last."""

    def __init__(self, scorer: Scorer, tuning_cents: float) -> None:
        self._scorer, self._tuning_cents = scorer, tuning_cents

    @property
    def back_samples(self) -> int:
        return self._scorer.back_samples

    @property
    def ahead_samples(self) -> int:
        return self._scorer.ahead_samples

    def reset(self) -> None:
        self._scorer.reset()

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        tuning.start(self._tuning_cents)
        return self._scorer.struck(past, strike, following, tuning)


@lru_cache(maxsize=1)
def fingerprint() -> str:
    """Names the weights that come with the program: 16 letters and digits."""
    told = hashlib.sha256()
    for name, array in sorted(shipped().items()):
        told.update(f"{name} {array.dtype.str} {array.shape};".encode())
        told.update(np.ascontiguousarray(array).tobytes())
    return told.hexdigest()[:16]


def write(profile: Profile, path: Path) -> None:
    """Write a profile.

    Parameters
    ----------
    profile : Profile
    path : pathlib.Path
        Written over if it is there.

    Raises
    ------
    OSError
        As `open` does.
    """
    strings = sorted(profile.string_cents)
    held: dict[str, Any] = {
        "version": np.array(VERSION),
        "tuning_cents": np.array(profile.tuning_cents),
        "strings": np.array(strings, int),
        "string_cents": np.array([profile.string_cents[string] for string in strings], float),
        "grown_from": np.array(profile.grown_from),
        **profile.arrays,
    }
    with path.open("wb") as file:
        np.savez(file, **held)
        file.flush()
        os.fsync(file.fileno())


def read(path: Path) -> Profile:
    """Read a profile.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    Profile

    Raises
    ------
    BadProfile
        If it is no file of `write`, of another version, or holds what cannot be.
    OSError
        As `open` does.
    """
    data = path.read_bytes()
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as held:
            found = {name: held[name] for name in held.files}
    except _DAMAGE as error:
        raise BadProfile(f"no profile of an instrument ({type(error).__name__})") from error
    if "version" not in found:
        raise BadProfile("no profile of an instrument (without version)")
    if found["version"].shape != () or found["version"].dtype.kind != "i" or found["version"] != VERSION:
        raise BadProfile(f"a profile of version {found['version']}; this program reads version {VERSION}")
    lacks = {"tuning_cents", "strings", "string_cents", "grown_from"} - set(found)
    if lacks:
        raise BadProfile(f"no profile of an instrument (without {', '.join(sorted(lacks))})")
    return Profile(
        tuning_cents=float(_cents(found, "tuning_cents", (), OFF_MOST_CENTS)),
        string_cents=_string_cents(found),
        arrays=_arrays(found),
        grown_from=str(found["grown_from"]),
    )


def _cents(found: Mapping[str, np.ndarray], name: str, shape: tuple[int, ...], most: float) -> np.ndarray:
    array = found[name]
    if array.shape != shape or array.dtype.kind != "f" or not np.all(np.abs(array) <= most):
        raise BadProfile(f"{name} is not within {most:g} cents either way")
    return array


def _string_cents(found: Mapping[str, np.ndarray]) -> dict[int, float]:
    strings = found["strings"]
    if strings.ndim != 1 or strings.dtype.kind != "i" or not set(strings.tolist()) <= set(_STRINGS):
        raise BadProfile("strings are not numbers from 1 to 5")
    cents = _cents(found, "string_cents", strings.shape, _STRING_MOST_CENTS)
    return dict(zip(strings.tolist(), cents.tolist(), strict=True))


def _arrays(found: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    there = [name for name in MOVED if name in found]
    if not there:
        return {}
    for name in MOVED:
        array, own = found.get(name), shipped()[name]
        if array is None or array.dtype != np.float32:
            raise BadProfile(f"{name} is not there, or not float32")
        if array.shape != own.shape and str(found["grown_from"]) == fingerprint():
            raise BadProfile(f"{name} of shape {array.shape}; {own.shape} is needed")
        if not np.all(np.isfinite(array)):
            raise BadProfile(f"{name} holds what is no number")
    return {name: found[name] for name in MOVED}
