"""What a practice listens to and plays on, as it sees it: a microphone, or anything that behaves like one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from feedback.session import Listened
from listener.aligning import shifted

if TYPE_CHECKING:
    import numpy as np

    from listener.expecting import Expectation
    from listener.keeper import Back, Lost
    from listener.run import Condition, Heard
    from listener.tape import Tape


class Listening(Protocol):
    """What is listened to and played on; see `listener.live.Live`."""

    @property
    def rate(self) -> int: ...
    @property
    def now_sec(self) -> float: ...
    @property
    def ready(self) -> bool: ...
    @property
    def tape(self) -> Tape: ...
    @property
    def condition(self) -> Condition: ...
    def play(self, sound: np.ndarray, at_sec: float) -> None: ...
    @property
    def grown(self) -> bool: ...
    def freshen(self) -> None: ...
    def hush(self) -> None: ...
    def expect(self, expectations: Sequence[Expectation]) -> None: ...
    def relearn(self) -> None: ...
    def settle(self) -> None: ...
    def take(self, wait_sec: float) -> list[Heard | Lost | Back]: ...


def sounding_sec(live: Listening) -> float:
    """Which second of the stream sounds now; where that cannot be told, which one is handed on now."""
    told = getattr(live, "sounding_sec", None)
    return live.now_sec if told is None else float(told())


def since(item: Heard, origin_sec: float) -> Listened:
    """What was heard, in times since a count-in began."""
    return Listened(
        now_sec=item.now_sec - origin_sec,
        reports=[shifted(report, -origin_sec) for report in item.reports],
        deaf=[(begin - origin_sec, end - origin_sec) for begin, end in item.deaf],
        round_trip_sec=item.round_trip_sec,
        untold=item.untold,
        bleed_db=item.bleed_db,
    )
