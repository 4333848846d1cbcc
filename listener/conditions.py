"""What a recording is like, whatever is played in it: how loud, whether clipped, how much noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_FRAME_SEC = 0.05
_QUIET_SHARE = 0.1
_FLAT = 1e-4  # of the peak: samples so near to it, three running, are a flat top
_RUN = 3
_TOPS_LEAST = 3
_SILENT = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How a recording sounds.

    Attributes
    ----------
    peak_db : float
        Greatest sample, in dB of full scale; -120 for silence.
    noise_db : float
        Power of its quietest tenth, in dB of full scale; not under -120.
    clipped : int
        Samples in flat tops: three or more running at the greatest value; 0 where such tops are so few that
        they may be chance.
    """

    peak_db: float
    noise_db: float
    clipped: int


def conditions(sound: np.ndarray, rate: int) -> Conditions:
    """Look at a recording.

    Parameters
    ----------
    sound : ndarray of float32, shape (n,)
        Mono, full scale is 1; may be empty.
    rate : int
        Samples a second.

    Returns
    -------
    Conditions
    """
    peak = float(np.abs(sound).max(initial=0.0))
    frame = max(1, round(_FRAME_SEC * rate))
    whole = sound[: len(sound) // frame * frame].astype(np.float64).reshape(-1, frame)
    powers = np.sort(whole.var(axis=1)) if len(whole) else np.zeros(1)
    quiet = powers[: max(1, int(_QUIET_SHARE * len(powers)))]
    return Conditions(
        peak_db=20.0 * float(np.log10(max(peak, _SILENT**0.5))),
        noise_db=10.0 * float(np.log10(max(float(quiet.mean()), _SILENT))),
        clipped=_clipped(sound, peak),
    )


def _clipped(sound: np.ndarray, peak: float) -> int:
    if peak <= 0.0:
        return 0
    flat = np.concatenate([[0], (np.abs(sound) >= peak * (1.0 - _FLAT)).astype(int), [0]])
    begins, ends = np.flatnonzero(np.diff(flat) == 1), np.flatnonzero(np.diff(flat) == -1)
    runs = (ends - begins)[ends - begins >= _RUN]
    return int(runs.sum()) if len(runs) >= _TOPS_LEAST else 0
