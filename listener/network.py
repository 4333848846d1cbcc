"""The network that scores pitches: one small function of a pitch's partials, the same for all pitches.

For each pitch the views of a strike (`listener.views`) are read at and around its partials, and halfway
between them, where only another pitch would sound. A first layer makes features of that; a second one sees
those of the pitches that share partials with it (octaves, fifths, thirds, neighbours) and so learns what is
explained by another note. The last gives the log odds that this pitch was begun at this strike.

It was trained on own material only (`tests/bench/train`; what and how is stored beside the weights) and runs
on numpy: three products of small matrices a strike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources

import numpy as np

from listener.views import BANDS, LOW_MIDI, STEPS, VIEWS, Look

LOW_PITCH, HIGH_PITCH = 46, 86
"""Pitches that are scored, a little beyond the banjo's own C3 to C6."""

PITCHES = HIGH_PITCH - LOW_PITCH + 1

MULTIPLES = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0)
"""Multiples of the fundamental at which the views are read."""

AROUND = (-4, -2, 0, 2, 4)
"""Bands around each of those."""

KIN = (0, -24, -19, -16, -12, -7, -5, -4, -3, -2, -1, 1, 2, 3, 4, 5, 7, 12, 16, 19, 24)
"""Half steps to the pitches whose features are seen, too; the first is the pitch itself."""

READ = VIEWS * len(MULTIPLES) * len(AROUND)
"""Numbers read for each pitch."""

WEIGHTS = "strike.npz"


def reading() -> np.ndarray:
    """Where the views are read.

    Returns
    -------
    ndarray of int, shape (PITCHES, len(MULTIPLES) * len(AROUND))
        Bands; `BANDS` stands for beyond the axis, where a silent band is to be added.
    """
    octave = 12 * STEPS
    first = (LOW_PITCH + np.arange(PITCHES) - LOW_MIDI) * STEPS
    steps = np.round(octave * np.log2(MULTIPLES)).astype(int)
    bands = (first[:, None, None] + steps[None, :, None] + np.array(AROUND)).reshape(PITCHES, -1)
    found: np.ndarray = np.where((bands < 0) | (bands >= BANDS), BANDS, bands)
    return found


def kinship(steps: Sequence[int] = KIN) -> np.ndarray:
    """Rows of the pitches so many half steps above each; shape (PITCHES, len(steps)), `PITCHES` for none."""
    rows = np.arange(PITCHES)[:, None] + np.array(steps)
    found: np.ndarray = np.where((rows < 0) | (rows >= PITCHES), PITCHES, rows)
    return found


def heights() -> np.ndarray:
    """What the network knows of a pitch's height; shape (PITCHES, 2), float32."""
    octaves = (LOW_PITCH + np.arange(PITCHES, dtype=np.float32) - 65.0) / 12.0
    return np.stack([octaves, octaves * octaves], axis=1).astype(np.float32)


def last_layers(arrays: Mapping[str, np.ndarray], seen: np.ndarray) -> np.ndarray:
    """Log odds of what the last two layers see.

    Parameters
    ----------
    arrays : mapping of str to ndarray
        `weigh` (h, g), `weigh_bias` (g,), `say` (g,), `say_bias` (1,); others may lie beside them.
    seen : ndarray, shape (..., h)

    Returns
    -------
    ndarray, shape (...,)
    """
    weighed = np.maximum(seen @ arrays["weigh"] + arrays["weigh_bias"], 0.0)
    odds: np.ndarray = weighed @ arrays["say"] + arrays["say_bias"]
    return odds


class Network:
    """Scores the pitches of a strike.

    Parameters
    ----------
    arrays : mapping of str to ndarray of float32
        `read` (READ, h), `facts` (FACTS, h), `height` (2, h), `read_bias` (h,), `share` (h, c),
        `share_bias` (c,), `weigh` (h + len(KIN) * c, g), `weigh_bias` (g,), `say` (g,), `say_bias` (1,);
        others may lie beside them.
    """

    def __init__(self, arrays: Mapping[str, np.ndarray]) -> None:
        self._arrays = {name: np.ascontiguousarray(array, np.float32) for name, array in arrays.items()}
        flat = np.arange(VIEWS)[None, :, None] * (BANDS + 1) + reading()[:, None, :]
        self._reading = flat.reshape(PITCHES, READ)
        self._kinship = kinship()
        self._views = np.zeros((VIEWS, BANDS + 1), np.float32)
        self._shared = np.zeros((PITCHES + 1, self._arrays["share_bias"].shape[0]), np.float32)
        self._height = heights() @ self._arrays["height"] + self._arrays["read_bias"]

    def log_odds(self, look: Look) -> np.ndarray:
        """Log odds that each pitch was begun at a strike; shape (PITCHES,)."""
        return last_layers(self._arrays, self.joined(look))

    @property
    def joined_width(self) -> int:
        """How many numbers `joined` gives of each pitch."""
        return int(self._arrays["weigh"].shape[0])

    def joined(self, look: Look) -> np.ndarray:
        """What the last two layers see of each pitch: its features, then its kin's; float32.

        Parameters
        ----------
        look : Look

        Returns
        -------
        ndarray of float32, shape (PITCHES, h + len(KIN) * c)
        """
        arrays = self._arrays
        self._views[:, :BANDS] = look.views
        read = self._views.reshape(-1)[self._reading]
        features = np.maximum(read @ arrays["read"] + (self._height + look.facts @ arrays["facts"]), 0.0)
        np.maximum(features @ arrays["share"] + arrays["share_bias"], 0.0, out=self._shared[:PITCHES])
        kin = self._shared[self._kinship].reshape(PITCHES, -1)
        return np.concatenate([features, kin], axis=1)


@lru_cache(maxsize=8)
def shipped(name: str = WEIGHTS) -> dict[str, np.ndarray]:
    """The arrays that come with the program, by the name of their file; not to be written to."""
    with resources.files("listener").joinpath("weights", name).open("rb") as file:
        arrays = dict(np.load(file, allow_pickle=False))
    for array in arrays.values():
        array.setflags(write=False)
    return arrays
