"""The way from what is played to the microphone, learnt while somebody plays beside it.

The problem: between loudspeaker and microphone lies a room, and what comes back is mixed with a banjo that is
louder and begins its notes on the very strokes that one could learn from. The two share their times but not
their waveforms, so what comes back in one form, stroke after stroke, is the loudspeaker's.

Each look takes in a frame longer than the room rings, so that every frequency can be learnt by itself: a
Kalman filter each, whose step is small where something else sounds (the power that the response so far does
not explain, over neighbouring frequencies) and where little is played. What is not played moves nothing.
Looks overlap, and come in steps, so that no block of sound waits for a whole one.

Two things keep it honest. What is not known yet is taken to come back about as loud as what is: so after a
count-in through headphones, when the microphone hears nothing, little is learnt from the banjo that follows.
And what the response says is held against sound that it has not learnt from: where it is not borne out it is
shrunk, and where it once was (a loudspeaker was moved, a clock has jumped) it is learnt anew. What was never
heard and then appears, headphones being unplugged, is learnt slowly: `reset` where that may be, as when a
turn begins.

Source: Enzner and Vary, "Frequency-domain adaptive Kalman filter for acoustic echo control in hands-free
telephones", Signal Processing 86 (2006). Departs from it in the long frame (the delay that it would bring is
`listener.bleed`'s to avoid), and in the two things above.

Conventions: a look has a frame of the microphone's sound, and of what was played as much and one frame before
it. Spectra are of two frames, so a frame's power stands at half of what it would be. Powers are linear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

LEAST_LOOKS = 20
"""So many looks at what was played before anything is concluded from the whole of them."""

PROVEN, STAYS_PROVEN = 0.33, 0.27
"""So great a share of what a response says must be found in sound that is new to it.

Measured on click, backing and model beside a banjo: at most 0.24 with headphones, whatever is played; with a
loudspeaker that comes back at -10 dB 0.40 and more two seconds after it began, at -30 dB only after 10 to 15.
"""

STARTED = 0.1
"""How much of its power a measured response may be off."""

_TINY = 1e-12
_NEAR_IN_HOP = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class EchoSettings:
    """How a response is learnt.

    Attributes
    ----------
    most_gain : float
        Of what is played no more than this may come back, as power, at any frequency.
    spread : float
        How far above what comes back over all frequencies that may lie which is taken for possible at one.
    wander : float
        By how much of its power the response may change over a frame.
    near : int
        Neighbouring frequencies over which powers are taken together; odd.
    forget : float
        What stays, from look to look, of how well the response was borne out.
    remember : float
        The same of how loud it was.
    proof : float
        How much must be known before the response is doubted: power of what it says against all else, summed
        over frequencies.
    fits, misfits : float
        What share of what it says must be found in the microphone: for a response to be trusted, and for it
        not to be doubted.
    """

    most_gain: float = 10.0
    spread: float = 2.0
    wander: float = 1e-3
    near: int = 9
    forget: float = 0.5
    remember: float = 0.98
    proof: float = 30.0
    fits: float = 0.8
    misfits: float = 0.3


class Echo:
    """A response that is learnt.

    Parameters
    ----------
    length : int
        Samples that the response has.
    looks : int
        To a frame: a power of two, 2 or more.
    settings : EchoSettings
    """

    def __init__(self, length: int, *, looks: int, settings: EchoSettings | None = None) -> None:
        self._set = settings or EchoSettings()
        self._length = length
        self.frame = 1 << (length - 1).bit_length()
        """Samples of a frame."""
        self.hop = self.frame // looks
        """Samples from look to look."""
        self.reset()

    def reset(self) -> None:
        """Know nothing."""
        bins = self.frame + 1
        self.response = np.zeros(self._length, np.float32)
        """From what is played to the microphone, shape (length,), float32; replaced, never changed."""
        self._spectrum = np.zeros(bins, np.complex64)
        self._unsure: np.ndarray = np.full(bins, self._set.most_gain, np.float32)
        self._found = self._said = self._found_long = self._said_long = 0.0
        self._back = self._went = 0.0
        self._looks = 0
        self._trusted = False
        self.proven = False
        """Whether sound that was new to it bears the response out: something does come back."""

    def start(self, response: np.ndarray) -> None:
        """Begin with a response that was measured.

        Parameters
        ----------
        response : ndarray, shape (length,)
        """
        self.reset()
        self._put(response.astype(np.float32))
        self._unsure = np.float32(STARTED) * self._smoothed(_power(self._spectrum))
        self._looks, self._trusted, self.proven = LEAST_LOOKS, True, True

    def renew(self) -> None:
        """Anything may come back another way by now: what is known stays, open to change as at first."""
        response, proven = self.response, self.proven
        self.reset()
        self._put(response)
        self.proven = proven

    @property
    def unproven_looks(self) -> int:
        """Looks so far that bore nothing out; 0 where something comes back."""
        return 0 if self.proven else self._looks

    @property
    def gain(self) -> float | None:
        """Power of what came back against that of what was played, where least else sounded; 0 or more.

        None until `LEAST_LOOKS` looks saw anything that was played.
        """
        if self._looks < LEAST_LOOKS or not self._said_long:
            return None
        borne_out = self._found_long / self._said_long
        return min(max(borne_out, 0.0), 1.0) * self._back / self._went

    def look(self, played: np.ndarray, taken: np.ndarray) -> Iterator[None]:
        """Learn from a frame, step by step; the last step replaces `response`.

        Parameters
        ----------
        played : ndarray of float32, shape (2 * frame,)
        taken : ndarray of float32, shape (frame,)
            The microphone's, at the time of the second half of `played`.

        Yields
        ------
        None
            Between two steps, which take about as long as each other.
        """
        x = _spectrum(played)
        yield
        said = np.fft.irfft(x * self._spectrum)[self.frame :].astype(np.float32)
        shrink = self._shrink(taken[-self.hop :], said[-self.hop :])
        said *= np.float32(shrink)
        yield
        self._doubt(shrink)
        error = _spectrum(taken - said, ahead=self.frame)
        yield
        loud, others = _power(x), self._smoothed(_power(error)) + _TINY
        self._weigh(loud, others)
        step = self._unsure / (loud * self._unsure + 2.0 * others)
        moved = np.fft.irfft(self._spectrum + step * np.conj(x) * error)
        yield
        share = self.hop / self.frame  # each sample is looked at that often
        self._unsure *= 1.0 - share * step * loud
        self._put(moved[: self._length].astype(np.float32))
        self._prove()
        yield
        self._unsure += np.float32(self._set.wander * share) * self._smoothed(_power(self._spectrum))

    def _shrink(self, taken: np.ndarray, said: np.ndarray) -> float:
        """Hold what the response says against sound that is new to it.

        Returns
        -------
        float
            The share of it that may stay, 0 to 1.
        """
        y, d = np.fft.rfft(taken), np.fft.rfft(said)
        weight = 1.0 / (_smoothed(_power(y - d), _NEAR_IN_HOP) + _TINY)
        found = float(np.sum((y.real * d.real + y.imag * d.imag) * weight))
        told = float(np.sum(_power(d) * weight))
        keep = self._set.forget
        self._found, self._said = keep * self._found + found, keep * self._said + told
        keep = self._set.remember
        self._found_long, self._said_long = keep * self._found_long + found, keep * self._said_long + told
        share = self._borne_out()
        if share is None or share >= self._set.misfits or self._looks < LEAST_LOOKS:
            self._trusted = self._trusted or (share is not None and share >= self._set.fits)
            return 1.0
        return max(0.0, share)

    def _weigh(self, loud: np.ndarray, others: np.ndarray) -> None:
        """How much comes back of what is played; frequencies not heard yet are no great exception."""
        back = float(np.sum(loud * _power(self._spectrum) / others))
        if not back:
            return
        keep = self._set.remember
        self._back, self._went = keep * self._back + back, keep * self._went + float(np.sum(loud / others))
        self._looks += 1
        if self._looks >= LEAST_LOOKS:
            most = np.float32(self._set.spread * self._back / self._went)
            np.minimum(self._unsure, most, out=self._unsure)

    def _prove(self) -> None:
        """Tell by all that was said so far whether anything comes back at all."""
        if self._looks >= LEAST_LOOKS and self._said_long:
            share = self._found_long / self._said_long
            self.proven = share >= (STAYS_PROVEN if self.proven else PROVEN)

    def _borne_out(self) -> float | None:
        """What share of what the response says was found in the microphone of late; None while unknown."""
        return self._found / self._said if self._said >= self._set.proof else None

    def _doubt(self, shrink: float) -> None:
        """Shrink a response that is not borne out; if it once was, anything may have taken its place."""
        if shrink == 1.0:
            return
        if self._trusted:
            self._unsure = np.maximum(self._unsure, 2.0 * self._smoothed(_power(self._spectrum)))
        self._spectrum *= np.float32(shrink)
        self._trusted, self._found, self._said = False, 0.0, 0.0

    def _put(self, response: np.ndarray) -> None:
        self.response = response
        self._spectrum = np.fft.rfft(response.astype(np.float64), 2 * self.frame).astype(np.complex64)

    def _smoothed(self, power: np.ndarray) -> np.ndarray:
        return _smoothed(power, self._set.near)


def _smoothed(power: np.ndarray, near: int) -> np.ndarray:
    """The mean over neighbouring frequencies; at either end over those that there are, the last repeated."""
    half = near // 2
    padded = np.empty(len(power) + near, np.float64)
    padded[: half + 1] = power[0]
    padded[half + 1 : half + 1 + len(power)] = power
    padded[half + 1 + len(power) :] = power[-1]
    sums = np.cumsum(padded)
    return ((sums[near:] - sums[:-near]) / near).astype(np.float32)


def _power(spectrum: np.ndarray) -> np.ndarray:
    power: np.ndarray = spectrum.real**2 + spectrum.imag**2
    return power


def _spectrum(sound: np.ndarray, *, ahead: int = 0) -> np.ndarray:
    """Of a sound with so much silence ahead of it; by way of float64, which numpy transforms sooner."""
    whole = np.zeros(ahead + len(sound))
    whole[ahead:] = sound
    return np.fft.rfft(whole).astype(np.complex64)
