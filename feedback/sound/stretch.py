"""Sound slowed down without a change of pitch, for plucked strings.

The problem: a pluck is an attack of a few milliseconds and a tone that dies away, and others ring on through
it. Stretch all and the attack is smeared; copy it in grains and it comes twice, and the tone flutters; begin
anew at each attack and what rings on sounds struck again. So attacks are looked for, and from one to the next
the sound is a piece of its own. Its first milliseconds go over as they are, to their place on the slower
clock, and the next attack takes over within `_BEFORE_SEC`. The tone behind is stretched by a phase vocoder
that never looks over the end of its piece; it begins in phase for what the attack brings, and for what rang
before it goes on from what was made of that.

The vocoder takes the turn of each partial from two frames one step apart, so nothing has to be unwrapped, and
moves the bins around a spectral peak together with it, after J. Laroche and M. Dolson, "Improved phase
vocoder time-scale modification of audio" (IEEE Transactions on Speech and Audio Processing 7, 1999). The
frame is as long as the piece allows: 46 ms at 44.1 kHz, down to 6 ms between the strings of a slow pinch.
What lies nearer than some 18 ms stays as far apart as it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedback.errors import Usage
from listener.framing import Past, cleaned
from listener.strikes import StrikeFinder

SLOWEST = 4.0
"""Greatest factor that is accepted."""

_STRONG = 0.12
_GROWN = 2.0
_BEFORE_SEC, _AFTER_SEC = 0.004, 0.005
_FRAMES = (2048, 1024, 512, 256)
_SHARE = 0.6
_STEPS_A_FRAME = 8
_HOP = 128
_FAINT = 1e-12


@dataclass(frozen=True, slots=True)
class _Piece:
    """From one attack to the next: samples `begin` to `end`, of which `rigid` stay as they are."""

    begin: int
    rigid: int
    end: int


def slowed(sound: np.ndarray, rate: int, factor: float) -> np.ndarray:
    """Slow a sound down.

    Parameters
    ----------
    sound : ndarray, shape (n,)
        Mono.
    rate : int
        Samples a second.
    factor : float
        How many times as long it becomes, 1 to `SLOWEST`; 2 is half speed.

    Returns
    -------
    numpy.ndarray
        Shape (round(n * factor),), float32. What began at t begins at t * factor.

    Raises
    ------
    Usage
        If the factor is out of range.
    ValueError
        If the sound is not mono.
    """
    if not 1.0 <= factor <= SLOWEST:
        raise Usage(f"slowed {factor:g} times: accepted: 1 to {SLOWEST:g}")
    if np.ndim(sound) != 1:
        raise ValueError(f"sound of shape {np.shape(sound)}; one channel, shape (n,), is needed")
    signal = cleaned(sound)
    if factor == 1.0:
        return signal.copy()
    fade = round(_BEFORE_SEC * rate)
    led = np.concatenate([np.zeros(_FRAMES[0]), signal])  # so that a frame may begin before the sound
    out = np.zeros(_FRAMES[0] + round(len(signal) * factor))
    pieces = _pieces(_attacks(signal, rate), len(signal), rate)
    begins = [round(factor * (p.begin + fade)) - fade if p.begin else 0 for p in pieces]
    ends = [*begins[1:], len(out) - _FRAMES[0]]
    for piece, begin, end in zip(pieces, begins, ends, strict=True):
        last = piece is pieces[-1]
        begin, length = begin + _FRAMES[0], end - begin + (0 if last else fade)
        made = _stretched(led, _moved(piece, _FRAMES[0]), out[:begin], length)
        if piece.begin:
            made[:fade] *= np.linspace(0.0, 1.0, fade)
        if not last:
            made[-fade:] *= np.linspace(1.0, 0.0, fade)
        out[begin : begin + length] += made
    return out[_FRAMES[0] :].astype(np.float32)


def _moved(piece: _Piece, by: int) -> _Piece:
    return _Piece(piece.begin + by, piece.rigid, piece.end + by)


def _attacks(signal: np.ndarray, rate: int) -> list[int]:
    """Samples where something was struck."""
    finder = StrikeFinder(rate)
    past = Past(finder.look_back_samples + 4 * _HOP)
    found = []
    padded = np.concatenate([signal, np.zeros(finder.look_back_samples + (-len(signal)) % _HOP, np.float32)])
    for begin in range(0, len(padded) - _HOP + 1, _HOP):
        past.append(padded[begin : begin + _HOP])
        strike = finder.feed(past)
        if strike is not None and strike.strength >= _STRONG and strike.sample < len(signal):
            found.append(strike.sample)
    return found


def _pieces(attacks: Sequence[int], length: int, rate: int) -> list[_Piece]:
    """Cut a sound before its attacks; those that are too near for a frame between them stay in one piece."""
    before, after = round(_BEFORE_SEC * rate), round(_AFTER_SEC * rate)
    least = 3 * _FRAMES[-1] // 2
    begins, rigid = [0], [0]
    for attack in attacks:
        if attack - before >= begins[-1] + rigid[-1] + least:
            begins.append(attack - before)
            rigid.append(before + after)
        else:
            rigid[-1] = attack + after - begins[-1]
    ends = [*begins[1:], length]
    return [_Piece(*piece) for piece in zip(begins, rigid, ends, strict=True)]


def _stretched(sound: np.ndarray, piece: _Piece, before: np.ndarray, length: int) -> np.ndarray:
    """A piece brought to a length; `before` is what was made of all the sound before it."""
    given = piece.end - piece.begin
    frame = next((f for f in _FRAMES if piece.rigid + f <= _SHARE * given), _FRAMES[-1])
    if piece.rigid + frame > given:  # too short for a frame: it is over before it is slower
        made = np.zeros(length)
        made[: min(length, given)] = sound[piece.begin : piece.end][:length]
        return made
    half, step = frame // 2, frame // _STEPS_A_FRAME
    window = np.hanning(frame + 1)[:-1]
    vocoder = _Vocoder(sound, window, step, _carried_on(sound, piece, before, window))
    made, weight = np.zeros(length + 3 * frame), np.full(length + 3 * frame, _FAINT)
    middles = np.arange(0, length + half, step)
    turning = piece.rigid + half
    known = [0, turning, max(length - half, turning + 1)]
    sources = np.rint(np.interp(middles, known, [0, turning, given - half])).astype(int)
    for middle, source in zip(middles, piece.begin + sources, strict=True):
        at = slice(middle, middle + frame)
        made[at] += window * vocoder.frame_at(source)
        weight[at] += window * window
    made = made[half : half + length] / weight[half : half + length]
    share = np.clip((np.arange(length) - piece.rigid) / half, 0.0, 1.0)
    same = np.zeros(length)
    same[: min(length, given)] = sound[piece.begin : piece.end][:length]
    joined: np.ndarray = made * share + same * (1.0 - share)
    return joined


def _carried_on(sound: np.ndarray, piece: _Piece, before: np.ndarray, window: np.ndarray) -> np.ndarray:
    """How far each bin is turned when a piece begins, so that what rings on is not struck anew.

    As far as what was made lies from what was there, both right before the piece; not at all around the
    peaks that the attack brings.
    """
    frame = len(window)
    had = np.fft.rfft(sound[piece.begin - frame : piece.begin] * window)
    made = np.fft.rfft(before[-frame:] * window)
    attack = min(piece.begin + piece.rigid, piece.end - frame)
    now = np.abs(np.fft.rfft(sound[attack : attack + frame] * window))
    new = now > _GROWN * np.abs(had)
    return _together(np.where(new, 1.0, made * np.conj(had)), now)


class _Vocoder:
    """Frames of a sound, one after another, each turned so that its partials go on from the one before."""

    def __init__(self, sound: np.ndarray, window: np.ndarray, step: int, turn: np.ndarray) -> None:
        self._sound, self._window, self._step, self._turn = sound, window, step, turn
        self._last: np.ndarray | None = None
        self._last_middle = 0

    def frame_at(self, middle: int) -> np.ndarray:
        """The windowed frame around a sample, to be laid one step after the one before."""
        spectrum = self._spectrum(middle)
        if self._last is not None and middle - self._last_middle != self._step:
            drift = self._last * np.conj(self._spectrum(middle - self._step))
            self._turn = _together(self._turn * drift, np.abs(spectrum))
        self._last, self._last_middle = spectrum, middle
        frame: np.ndarray = np.fft.irfft(spectrum * self._turn)
        return frame

    def _spectrum(self, middle: int) -> np.ndarray:
        begin = middle - len(self._window) // 2
        spectrum: np.ndarray = np.fft.rfft(self._sound[begin : begin + len(self._window)] * self._window)
        return spectrum


def _together(turn: np.ndarray, magnitude: np.ndarray) -> np.ndarray:
    """Give all bins around a peak the peak's turn, of size 1."""
    inner = magnitude[1:-1]
    peaks = 1 + np.flatnonzero((inner > magnitude[:-2]) & (inner >= magnitude[2:]))
    if not len(peaks):
        return np.ones_like(turn)
    owner = np.zeros(len(magnitude), int)
    owner[(peaks[1:] + peaks[:-1]) // 2 + 1] = 1
    of_peak = turn[peaks]
    size = np.abs(of_peak)
    of_peak = np.where(size > 0.0, of_peak / np.maximum(size, 1e-300), 1.0)
    together: np.ndarray = of_peak[np.cumsum(owner)]
    return together
