"""`tune` from its sound to its lines: a recording, or a microphone while pegs are turned. No device in here.

Conventions: what is live is any source of blocks (`Blocks`), and the time that counts is that of its sound,
so a test needs no clock.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from os import PathLike, fspath
from typing import TYPE_CHECKING, Literal, Protocol

from feedback.errors import CannotDo, Usage, tell
from feedback.tuning import Changed, Tuning
from feedback.tuning_report import ALL_IN_TUNE, string_line
from feedback.twelfth import TwelfthCheck
from listener.files import SoundFile
from listener.keeper import Back, Lost
from listener.rates import Resampler
from listener.tuner import Reading, Tuner
from routines.neck import Neck

if TYPE_CHECKING:
    from listener.ring import Block

QUIET_SEC = 60.0
"""Nothing heard for so long: the player has gone."""

LONGEST_SEC = 600.0
"""Of a recording."""

Ended = Literal["in tune", "twelfth done", "nobody plays", "interrupted", "sound lost"]

_WAIT_SEC = 0.1


class Blocks(Protocol):
    """Where live sound comes from; see `listener.taking.Taking`."""

    @property
    def rate(self) -> int: ...
    def take(self, wait_sec: float) -> list[Block | Lost | Back]: ...


@dataclass(slots=True)
class TuneFound:
    """What a tuning came to.

    Attributes
    ----------
    tuning : Tuning
    twelfth : TwelfthCheck or None
        None where it was not asked for.
    """

    tuning: Tuning
    twelfth: TwelfthCheck | None = None

    def feed(self, readings: Sequence[Reading]) -> Iterator[str]:
        """Take readings; yields lines for the player."""
        if self.twelfth is None:
            for event in self.tuning.feed(readings):
                yield string_line(event.state) if isinstance(event, Changed) else ALL_IN_TUNE
            return
        for reading in readings:
            for one in self.twelfth.feed([reading]):
                yield f"  {one.text}"
            if self.twelfth.opened is reading:  # a stopped note says nothing of another open string
                self.tuning.feed([reading])


def tune_file(path: str | PathLike[str], neck: Neck, *, twelfth: bool) -> TuneFound:
    """Read every string in a recording.

    Parameters
    ----------
    path : path
    neck : Neck
    twelfth : bool
        Whether the twelfth fret is checked, too: each string open, then there, in the order of the check.

    Returns
    -------
    TuneFound

    Raises
    ------
    OSError, listener.errors.BadSound
        As `listener.files.SoundFile`.
    Usage
        If the recording is longer than `LONGEST_SEC`.
    """
    found = TuneFound(Tuning(neck), TwelfthCheck(neck) if twelfth else None)
    with SoundFile(path) as file:
        if file.frames > LONGEST_SEC * file.sample_rate:
            raise Usage(f"{fspath(path)}: longer than {LONGEST_SEC:.0f} s; give a shorter recording")
        resampler = Resampler(file.sample_rate)
        tuner = Tuner(resampler.rate_out, found.tuning.references)
        for block in file.blocks():
            for _, samples in resampler.feed(block):
                _drain(found.feed(tuner.feed(samples)))
        _drain(found.feed(tuner.feed(resampler.finish())))
    return found


class LiveTune:
    """Follows a player at a microphone until all is in tune, or nobody plays.

    Parameters
    ----------
    blocks : Blocks
        Started already.
    neck : Neck
    twelfth : bool
        Whether the twelfth fret is checked; then that is done to its end instead.
    say : callable
        Takes a line for the player.
    clock : callable
        Seconds that pass while there is no sound.
    watch : callable, optional
        Is given this object each time that sound was taken: for a screen, which needs more than lines.
    """

    def __init__(
        self,
        blocks: Blocks,
        neck: Neck,
        *,
        twelfth: bool,
        say: Callable[[str], None],
        clock: Callable[[], float] = time.monotonic,
        watch: Callable[[LiveTune], None] = lambda live: None,
    ) -> None:
        self._blocks, self._say, self._clock, self._watch = blocks, say, clock, watch
        self._prompted = ""
        self._lost: Lost | None = None
        self.found = TuneFound(Tuning(neck), TwelfthCheck(neck) if twelfth else None)
        self.ended: Ended = "interrupted"
        """Why it ended; that, until it is over."""
        self.quiet_sec = 0.0
        """For so long no string has been heard."""
        self.away = ""
        """Why there is no sound, while there is none."""

    def run(self) -> None:
        """Tune to the end.

        Raises
        ------
        CannotDo
            If the sound goes and stays away.
        """
        tuner = self._tuner()
        came_sec = self._clock()
        quiet = 0
        self._prompt()
        while True:
            for item in self._blocks.take(_WAIT_SEC):
                if isinstance(item, (Lost, Back)):
                    self._news(item)
                    tuner, quiet = self._tuner(), 0  # another stream may have another rate
                    continue
                came_sec = self._clock()
                readings = [one for one in tuner.feed(item.samples) if one.plucked]
                quiet = 0 if readings else quiet + len(item.samples)
                self.quiet_sec = quiet / tuner.rate
                if self._is_over(readings):
                    self._watch(self)
                    return
            self._watch(self)
            if self._clock() - came_sec > QUIET_SEC:
                self.ended = "sound lost"
                why = self._lost.line if self._lost is not None else "no sound comes"
                raise CannotDo(f"{why}; given up after {QUIET_SEC:.0f} s")

    def _is_over(self, readings: Sequence[Reading]) -> bool:
        """Take readings, say what they change, and tell whether it is over."""
        for line in self.found.feed(readings):
            self._say(line)
        self._prompt()
        check = self.found.twelfth
        if check is not None and check.asked is None:
            self.ended = "twelfth done"
        elif check is None and self.found.tuning.done:
            self.ended = "in tune"
        elif self.quiet_sec > QUIET_SEC:
            self.ended = "nobody plays"
            self._say(f"nothing heard for {QUIET_SEC:.0f} s")
        else:
            return False
        return True

    def _news(self, item: Lost | Back) -> None:
        if isinstance(item, Lost):
            self._lost = item
            self.away = item.line
            tell(item.line)
        else:
            self.away = ""
            tell("the sound is back")

    def _tuner(self) -> Tuner:
        return Tuner(self._blocks.rate, self.found.tuning.references)

    def _prompt(self) -> None:
        """Ask for the next string of the check, once."""
        check = self.found.twelfth
        if check is not None and check.prompt and check.prompt != self._prompted:
            self._prompted = check.prompt
            self._say(f"play {check.prompt}")


def _drain(lines: Iterator[str]) -> None:
    """Let it happen; what is said line by line is not for a recording."""
    for _ in lines:
        pass
