"""What a plucked note's pitch is: a stiff string laid by least squares through how its partials turn.

The problem: the truth about a decaying note must not be got the way the tuner gets it. Here each partial is
brought down to zero frequency and smoothed, and its frequency is the slope of its phase over 0.3 to 1.0 s
after the pluck, by least squares with its amplitude as weight. Through these frequencies go f0 and B of a
stiff string, in hertz, so that the high partials count as finely as they are known, with a loss that lets
outliers go.

Conventions: as `listener.stiff`, f0 is where the first partial lies.
"""

from __future__ import annotations

import numpy as np

FROM_SEC, TO_SEC = 0.3, 1.0
_SMOOTH_SEC = 0.06
_STEP_SEC = 0.004
_HIGHEST_HZ = 5000.0
_PARTIALS_MOST = 14
_SHARE_DB = -40.0
_SCALE_HZ = 0.2
_STEADY_HZ = 1.5  # a partial whose phase wanders more than that from its line is left out


def reference_hz(sound: np.ndarray, rate: int, onset_sec: float, near_hz: float) -> float | None:
    """Return the pitch of a note, near a pitch that is known to 40 cents; None where it cannot be told.

    Parameters
    ----------
    sound : ndarray, shape (n,)
    rate : int
    onset_sec : float
    near_hz : float
    """
    begin, end = round((onset_sec + FROM_SEC) * rate), round((onset_sec + TO_SEC) * rate)
    # stretched to both sides by the smoothing, which must not read beyond the pluck
    taps = 2 * round(0.5 * _SMOOTH_SEC * rate) + 1
    first, last = begin - taps // 2, min(len(sound), end + taps // 2)
    piece = sound[first:last].astype(float)
    size = 1 << (4 * len(piece) - 1).bit_length()
    magnitudes = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), size))
    found: list[tuple[int, float, float]] = []
    hz, stiffness = near_hz, 1e-4
    for number in range(1, _PARTIALS_MOST + 1):
        place = hz * number * np.sqrt((1.0 + stiffness * number**2) / (1.0 + stiffness))
        if place > min(_HIGHEST_HZ, 0.4 * rate):
            break
        partial = _partial(piece, magnitudes, rate, place, taps, share=40.0 if number < 4 else 20.0)
        if partial is None:
            continue
        found.append((number, *partial))
        if len(found) >= 2:
            hz, stiffness = _laid(found)
    loudest = max((height for _, _, height in found), default=0.0)
    found = [one for one in found if one[2] >= loudest * 10.0 ** (_SHARE_DB / 20.0)]
    if not found:
        return None
    return _laid(found)[0]


def _partial(
    piece: np.ndarray, magnitudes: np.ndarray, rate: int, place: float, taps: int, *, share: float
) -> tuple[float, float] | None:
    """Frequency and amplitude of the partial at a place, looked for within so many cents."""
    size = 2 * (len(magnitudes) - 1)
    reach = max(place * (2.0 ** (share / 1200.0) - 1.0), 1.5 * rate / len(piece))
    low, high = int((place - reach) * size / rate), int((place + reach) * size / rate) + 1
    at = low + int(magnitudes[low:high].argmax())
    around = magnitudes[max(0, at - int(60 * size / rate)) : at + int(60 * size / rate)]
    if not low < at < high - 1 or magnitudes[at] < 8.0 * np.median(around):
        return None
    middle = at * rate / size
    time = np.arange(len(piece)) / rate
    # a straight mean over the smoothing twice is a triangle: enough, and quick
    half = taps // 2 + 1
    turned = np.concatenate([[0.0], np.cumsum(piece * np.exp(-2j * np.pi * middle * time))])
    once = np.concatenate([[0.0], np.cumsum(turned[half:] - turned[:-half])])
    kept = (once[half:] - once[:-half])[:: round(_STEP_SEC * rate)]
    height, phase = np.abs(kept), np.unwrap(np.angle(kept))
    sec = np.arange(len(kept)) * round(_STEP_SEC * rate) / rate
    slope, base = np.polyfit(sec, phase, 1, w=np.sqrt(height))
    rest = np.sqrt(np.average((phase - slope * sec - base) ** 2, weights=height))
    if rest > 2.0 * np.pi * _STEADY_HZ * (TO_SEC - FROM_SEC) / 4.0:
        return None
    return middle + slope / (2.0 * np.pi), float(height.mean())


def _laid(found: list[tuple[int, float, float]]) -> tuple[float, float]:
    """f0 and B through frequencies of partials."""
    numbers, at, _ = (np.array(column) for column in zip(*found, strict=True))
    guess = float(np.median(at / numbers))

    def rest(values: np.ndarray) -> np.ndarray:
        hz, bend = guess * np.exp(values[0]), 1e-4 * values[1]
        off = hz * numbers * np.sqrt((1.0 + bend * numbers**2) / (1.0 + bend)) - at
        return np.append(off, 0.02 * (values[1] - 1.0))  # a single partial says nothing of B

    from scipy.optimize import least_squares  # a second to load

    solved = least_squares(rest, [0.0, 1.0], bounds=([-0.1, 0.0], [0.1, 20.0]), loss="soft_l1",
                           f_scale=_SCALE_HZ, x_scale=[1e-3, 1.0])  # fmt: skip
    return float(guess * np.exp(solved.x[0])), float(1e-4 * solved.x[1])
