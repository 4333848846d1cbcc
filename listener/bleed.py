"""What our own program plays, taken out of what the microphone hears: by what was played, not by guessing.

The problem: click, backing and model come back through a loudspeaker and a room, and an ear takes them for
the player's. What was played is known to the sample and, a little, ahead of time. So its way to the
microphone is learnt (`listener.echo`), and what must come back is worked out before it comes and taken off:
no sample waits, the cleaned one is returned in the call that brought it.

The filter works in short blocks: the response is cut into parts of a block each, and each part is applied to
the spectrum of what was played so many blocks ago (the uniformly partitioned overlap-save of Soo and Pang,
IEEE Transactions on Acoustics, Speech, and Signal Processing 38, 1990). That wants a block to be known before
it begins, and a response may begin before its time, as stamps are not exact; so what is played is handed over
`ahead_samples` ahead. Learning takes long frames and comes a step a block.

Conventions: sample k of the microphone was taken in when frame k of the output sounded, give or take
`before_sec`, as `listener.aligning` lays it. Nothing depends on how sound is cut into calls. Where nothing
was played for as long as the response lasts, samples are returned as they came, to the bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from listener.echo import Echo, EchoSettings
from listener.framing import Past, cleaned

LOOKS_MOST, SELDOM = 64, 8
"""After so many looks (six seconds) that bore nothing out only each eighth is taken, until `renew`."""

QUIETEST_DB = -80.0
"""No less is told of how loud what is played comes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BleedSettings:
    """How bleed is taken out.

    Attributes
    ----------
    block_samples : int
        A power of two, 16 to 1024: what is played must be known so much longer ahead.
    before_sec : float
        So much before its time a sound may come back, 0 or more.
    lasts_sec : float
        How long the response is, from `before_sec` ahead of its time on: delay, converters and room.
    looks : int
        How often a frame (`listener.echo`) is looked at while it passes: a power of two, 2 to 8.
    echo : EchoSettings
    """

    block_samples: int = 256
    before_sec: float = 0.015
    lasts_sec: float = 0.34
    looks: int = 4
    echo: EchoSettings = field(default_factory=EchoSettings)


class Bleed:
    """Takes out what comes back of what is played.

    Parameters
    ----------
    rate : int
        Samples a second, 8000 or more.
    settings : BleedSettings

    Raises
    ------
    ValueError
        If the rate or a setting is out of range.
    """

    def __init__(self, rate: int, settings: BleedSettings | None = None) -> None:
        self._set = how = settings or BleedSettings()
        self.rate = rate
        _check(rate, how)
        self._size = how.block_samples
        self._before = round(how.before_sec * rate)
        self._parts = -(-round(how.lasts_sec * rate) // self._size)
        self._echo = Echo(self._parts * self._size, looks=how.looks, settings=how.echo)
        frames = self._echo.frame + self._echo.hop  # what a look sees must stay until its last step
        self._taken = Past(frames)
        self._played = Past(self._echo.frame + frames)
        self._filled = 0
        self._ramp = np.arange(1, self._size + 1, dtype=np.float32) / self._size
        self.reset()

    @property
    def ahead_samples(self) -> int:
        """How far ahead of the microphone's samples what is played is to be handed over."""
        return self._before + self._size

    @property
    def active(self) -> bool:
        """Whether anything that was played may still come back: the microphone's sound may be changed."""
        return bool(self._live.any())

    @property
    def heard_db(self) -> float | None:
        """How loud what is played comes back, in decibels against what was played, of late.

        Told over the frequencies and moments at which least else sounds. `QUIETEST_DB` at least, and where it
        is not borne out that anything comes back, as with headphones; None until
        enough was played. Measured (tests/bench/bleed.py): -40 and lower through headphones, -27 and higher
        from loudspeakers that the microphone hears 24 dB under the banjo.
        """
        gain = self._echo.gain
        if gain is not None and not self._echo.proven:
            return QUIETEST_DB
        return None if gain is None else max(QUIETEST_DB, 10.0 * float(np.log10(max(gain, 1e-30))))

    def reset(self) -> None:
        """Forget everything, the way from loudspeaker to microphone too."""
        self._echo.reset()
        self._forget()
        self._filters = np.zeros((self._parts, self._size + 1), np.complex64)

    def renew(self) -> None:
        """For when a turn begins: a loudspeaker may have come, gone or been moved since the last one.

        What was learnt is still taken off, and open to change as at first; `heard_db` is unknown again.
        """
        self._echo.renew()

    def start(self, response: np.ndarray, *, zero: int = 0) -> None:
        """Forget everything, and begin with a way from loudspeaker to microphone that was measured.

        Parameters
        ----------
        response : ndarray, shape (n,)
            What came in against what was played; what lies out of reach is left out.
        zero : int
            Which of its samples stands for no delay at all.

        Raises
        ------
        ValueError
            If it is not one row of finite numbers.
        """
        if np.ndim(response) != 1 or not np.all(np.isfinite(response)):
            raise ValueError(
                f"response of shape {np.shape(response)}; finite numbers, shape (n,), are needed"
            )
        length = self._parts * self._size
        begin = self._before - zero
        known = np.zeros(length + abs(begin) + len(response), np.float32)
        known[max(0, begin) : max(0, begin) + len(response)] = response
        self._echo.start(known[max(0, -begin) :][:length])
        self._forget()
        self._filters = self._cut()

    def feed(self, taken: np.ndarray, played: np.ndarray) -> np.ndarray:
        """Take out of the next samples what was played.

        Parameters
        ----------
        taken : ndarray of float32, shape (n,)
            The microphone's; any n. What is no number counts as silence.
        played : ndarray of float32, shape (n,)
            Frames of the output, `ahead_samples` later than `taken`: beside sample k its frame
            k + ahead_samples. What was played before the first of them is taken for silence.

        Returns
        -------
        ndarray of float32, shape (n,)
            Samples of `taken` without what came back.

        Raises
        ------
        ValueError
            If the two have not one and the same length and one dimension.
        """
        if np.ndim(taken) != 1 or np.shape(taken) != np.shape(played):
            raise ValueError(
                f"taken of shape {np.shape(taken)}, played of shape {np.shape(played)}; two of shape (n,)"
            )
        taken, played = cleaned(taken), cleaned(played)
        out = taken.copy()
        done = 0
        while done < len(taken):
            fits = min(self._size - self._filled, len(taken) - done)
            here, there = slice(self._filled, self._filled + fits), slice(done, done + fits)
            self._block[0, here], self._block[1, here] = taken[there], played[there]
            if self._said is not None:
                out[there] -= self._said[here]
            self._filled += fits
            done += fits
            if self._filled == self._size:
                self._filled = 0
                self._end_block()
        return out

    def _forget(self) -> None:
        """Forget sound, not the way that it takes."""
        for past in (self._taken, self._played):
            past.reset()
        # Everything twice, so that the newest, going downwards, and all older ones lie in one piece.
        self._spectra = np.zeros((2 * self._parts, self._size + 1), np.complex64)
        self._live = np.zeros(2 * self._parts, bool)
        self._newest = 0
        self._look: Iterator[None] | None = None
        self._new: np.ndarray | None = None
        self._block = np.zeros((2, self._size), np.float32)
        self._earlier = np.zeros(self._size, np.float32)
        self._said: np.ndarray | None = None
        self._filled = self._rested = 0

    def _end_block(self) -> None:
        """A block is complete: learn from it, and say what will come back in the next one."""
        taken, played = self._block
        # The block that was handed over before this one is the first that can be heard in this one.
        self._taken.append(taken)
        self._played.append(self._earlier)
        both = np.concatenate([self._earlier, played])
        self._earlier = played.copy()
        live = bool(both.any())
        self._rested = 0 if live else self._rested + self._size
        self._learn()
        self._newest = (self._newest - 1) % self._parts
        spectrum = np.fft.rfft(both.astype(np.float64)) if live else 0.0
        for at in (self._newest, self._newest + self._parts):
            self._spectra[at], self._live[at] = spectrum, live
        self._said = self._say()

    def _learn(self) -> None:
        """Go on with a look, or begin one where it is due and anything was played that it would see."""
        frame, end = self._echo.frame, self._taken.end
        due = end % self._echo.hop == 0
        seldom = self._echo.unproven_looks > LOOKS_MOST and end // self._echo.hop % SELDOM
        if self._look is not None:
            # A step a block; all that are left where blocks are so long that there are few to a hop.
            for _ in self._look:
                if not due:
                    break
            else:
                self._look, self._new = None, self._cut()
                if not self._echo.proven:  # what is not borne out would only add to the microphone
                    self._new = np.zeros_like(self._new)
        taken = self._taken.between(end - frame, end)
        # A microphone that is shut, and silence put in for what was lost, say nothing of what comes back.
        if (
            due
            and not seldom
            and self._rested < 2 * frame
            and taken.reshape(-1, self._echo.hop).any(axis=1).all()
        ):
            self._look = self._echo.look(self._played.between(end - 2 * frame, end), taken)

    def _cut(self) -> np.ndarray:
        """The response in parts, as spectra."""
        parts = self._echo.response.reshape(self._parts, self._size).astype(np.float64)
        cut: np.ndarray = np.fft.rfft(parts, 2 * self._size, axis=1).astype(np.complex64)
        return cut

    def _say(self) -> np.ndarray | None:
        """What will come back in the next block; None where nothing can."""
        now, self._new = self._new, None
        before = self._filters
        if now is not None:
            self._filters = now
        live = np.flatnonzero(self._live[self._newest : self._newest + self._parts])
        if not len(live):
            return None
        rows = slice(live[0], live[-1] + 1)
        spectra = self._spectra[self._newest : self._newest + self._parts][rows]
        said = self._through(spectra, before[rows])
        if now is not None:  # without a step from one response to the next
            said += self._ramp * (self._through(spectra, now[rows]) - said)
        return said

    def _through(self, spectra: np.ndarray, filters: np.ndarray) -> np.ndarray:
        through: np.ndarray = np.fft.irfft((spectra * filters).sum(axis=0))[self._size :].astype(np.float32)
        return through


def _check(rate: int, how: BleedSettings) -> None:
    if rate < 8000:
        raise ValueError(f"rate {rate}; 8000 samples a second or more are accepted")
    if how.block_samples not in (1 << k for k in range(4, 11)):
        raise ValueError(f"blocks of {how.block_samples} samples; a power of two, 16 to 1024, is accepted")
    if how.looks not in (2, 4, 8):
        raise ValueError(f"{how.looks} looks to a frame; 2, 4 or 8 are accepted")
    if not 0.0 <= how.before_sec < how.lasts_sec <= 2.0:
        raise ValueError(
            f"a response from {how.before_sec:g} s ahead, {how.lasts_sec:g} s long; "
            "accepted are 0 s ahead or more, and a length above that, up to 2 s"
        )
