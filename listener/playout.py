"""What is played: sounds laid at positions of the stream, mixed block by block in the sound card's thread.

The callback reads one tuple of sounds; whoever adds or takes away puts another tuple in its place, which is
one store and so always whole. One thread adds, and it or the one that ends the stream clears; the callback
neither waits nor allocates more than views.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from listener.framing import cleaned

MOST = 256
"""Sounds that may lie ahead at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A sound and where its first frame lies.

    Attributes
    ----------
    position : int
        In frames since the stream began.
    sound : ndarray of float32, shape (n,)
        Mono, within +-1; not to be changed afterwards.
    """

    position: int
    sound: np.ndarray

    @property
    def end(self) -> int:
        """The first position after it."""
        return self.position + len(self.sound)


class Playout:
    """The sounds that are to be played."""

    def __init__(self) -> None:
        self._laid: tuple[Laid, ...] = ()

    def add(self, sound: np.ndarray, position: int, *, now: int = 0) -> None:
        """Lay a sound at a position; what lies before is played from where it is by then.

        Parameters
        ----------
        sound : ndarray, shape (n,)
            Mono, full scale is 1; what is no number is silence.
        position : int
        now : int
            Where the stream is: what is over by then is forgotten.

        Raises
        ------
        ValueError
            If it is not mono, or `MOST` sounds lie ahead already.
        """
        if np.ndim(sound) != 1:
            raise ValueError(f"sound of shape {np.shape(sound)}; one channel, shape (n,), is needed")
        ahead = tuple(one for one in self._laid if one.end > now)
        if len(ahead) >= MOST:
            raise ValueError(f"{len(ahead)} sounds lie ahead; at most {MOST} are accepted")
        self._laid = (*ahead, Laid(position=position, sound=np.ascontiguousarray(cleaned(sound))))

    def clear(self) -> None:
        """Play nothing any more."""
        self._laid = ()

    def mix(self, position: int, out: np.ndarray) -> None:
        """Fill a block; for the sound card's thread.

        Parameters
        ----------
        position : int
            Of its first frame.
        out : ndarray of float32, shape (n,)
            Is overwritten: the sum of what lies there, held within +-1.
        """
        out[:] = 0.0
        end = position + len(out)
        for one in self._laid:
            begin, stop = max(position, one.position), min(end, one.end)
            if begin < stop:
                out[begin - position : stop - position] += one.sound[
                    begin - one.position : stop - one.position
                ]
        np.clip(out, -1.0, 1.0, out=out)
