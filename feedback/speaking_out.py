"""Sounds played over the output, piece after piece, each laid while the one before it sounds.

The problem: a loop that goes on until the player has had enough cannot be laid at once, and one that is laid
round by round must never be late. So each piece is laid some seconds before it is due, on the output's own
count of frames; what rings beyond a piece is mixed with the next. Everything here runs on the caller's thread
and waits for nothing but time.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from feedback.clicking import strokes
from feedback.modelling import CLICK_DB, LEVEL_DB, looped
from feedback.session import after_count_in
from feedback.sound.click import render
from routines.lick import Lick, quarter_sec

if TYPE_CHECKING:
    from listener.speaking import Speaker

LEAD_SEC = 0.3
"""So long after it was asked for, the first piece begins."""

AHEAD_SEC = 2.0
"""So long before it is due, a piece is laid."""

_LOOK_SEC = 0.05


class Speaking(Protocol):
    """What is played on; see `listener.speaking.Speaker`."""

    @property
    def rate(self) -> int: ...
    @property
    def now_sec(self) -> float: ...
    def play(self, sound: np.ndarray, at_sec: float) -> None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A sound, and when it is due.

    Attributes
    ----------
    sound : ndarray of float32, shape (n,)
        Mono.
    begins_sec : float
        Since the first piece was asked for, less the lead; 0 or more.
    """

    sound: np.ndarray
    begins_sec: float = 0.0


def speaker(device: str | None, values: Mapping[str, str | float]) -> Speaker:
    """The output that the flag and the settings ask for, not started yet."""
    from feedback import soundcard

    return soundcard.speaker(soundcard.asked_stream(device, values))


def rounds(
    lick: Lick,
    *,
    tempo_half_bpm: float,
    rate: int,
    count: int | None = None,
    level_db: float = LEVEL_DB,
    click: str | None = None,
    click_db: float = CLICK_DB,
) -> Iterator[Piece]:
    """A lick round and round, without rest.

    Parameters
    ----------
    lick : Lick
    tempo_half_bpm : float
    rate : int
        Samples a second.
    count : int, optional
        How many rounds; without end where left out.
    level_db, click, click_db
        As in `feedback.modelling.model`; a click has its count-in.

    Yields
    ------
    Piece
        By time: the count-in if there is one, then each round.
    """
    once = looped(
        lick, tempo_half_bpm=tempo_half_bpm, rate=rate, level_db=level_db, click=click, click_db=click_db
    )
    begin = 0.0
    if click is not None:
        plan = after_count_in(lick, tempo_half_bpm, passes=1, rest_bars=0)
        before = [stroke for stroke in strokes(plan, click) if stroke.sec < plan.first_start_sec - 1e-6]
        yield Piece(sound=render(before, rate=rate, level_db=click_db, quiet_sec=plan.first_start_sec))
        begin = plan.first_start_sec - lick.pickup_quarters * quarter_sec(tempo_half_bpm)
    for number in itertools.count():
        over = count is not None and number + 1 >= count
        yield Piece(sound=once.last if over else once.sound, begins_sec=begin + number * once.apart_sec)
        if over:
            return


def speak(output: Speaking, pieces: Iterable[Piece], *, wait: Callable[[float], object] = time.sleep) -> None:
    """Play pieces to the end of the last one, or until the player interrupts.

    Parameters
    ----------
    output : Speaking
        Started already.
    pieces : iterable of Piece
        By time. The next one is asked for when the one before was laid.
    wait : callable
        Waits so many seconds.

    Raises
    ------
    OSError
        If the output has gone.
    KeyboardInterrupt
        As it comes; what was laid is for the caller to silence.
    """
    origin_sec: float | None = None
    end_sec = 0.0
    for piece in pieces:
        if origin_sec is None:  # what the first piece takes to be made is over
            origin_sec = output.now_sec + LEAD_SEC
        due_sec = origin_sec + piece.begins_sec
        while due_sec - output.now_sec > AHEAD_SEC:
            wait(_LOOK_SEC)
        output.play(piece.sound, due_sec)
        end_sec = max(end_sec, due_sec + len(piece.sound) / output.rate + LEAD_SEC)
    while output.now_sec < end_sec:
        wait(_LOOK_SEC)
