"""What is offered after a turn: the change alone, round and round and slower, where the fall keeps failing.

The problem: a seven that does not come home is not mended by another time through the whole lick. The change
loop is offered where the resolution failed in two passes or more of the turn: left hanging, late where the
lick does not ask for it, in another octave, or its due note wrong, not heard or off its place. What was
unclear counts neither way, and what fell ahead is no fault.
"""

from __future__ import annotations

import shlex
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from feedback.nexttempo import EASED
from feedback.session import PassOver
from feedback.words import chord_name, counted
from routines.errors import BadRoutine
from routines.excerpt import Span, falls
from routines.library import all_licks, load
from routines.lick import Ask, Lick
from routines.outcome import PassOutcome, SeventhVerdict
from routines.tempo import SLOWEST_HALF_BPM

FEWEST_PASSES = 2
"""So often the fall fails before the change is offered."""

_FAILED = ("hanging", "late", "octave")
_OFF = ("wrong", "missed", "early", "late")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """The change loop, offered.

    Attributes
    ----------
    change : str
        As the hand shapes it, such as "D7-G".
    span : Span
        The part of the lick.
    failed : int
        In how many passes its resolution failed.
    tempo_half_bpm : float
        Eased.
    command : str
        The command line that plays it.
    """

    change: str
    span: Span
    failed: int
    tempo_half_bpm: float
    command: str

    @property
    def text(self) -> str:
        """One line for the player."""
        passes = counted(self.failed, "pass", "passes")
        return f"{self.change} did not come home in {passes}; the change alone, slower: {self.command}"


def offer(
    lick: Lick, passes: Sequence[PassOver], *, span: Span | None = None, typed: str = ""
) -> Offer | None:
    """What is offered after a turn.

    Parameters
    ----------
    lick : Lick
        The whole lick.
    passes : sequence of PassOver
        Of the turn; those that were not heard, or not to their end, count neither way.
    span : Span, optional
        The part of the lick that was played.
    typed : str
        Flags that the offered command takes over: the device, the backing and so on.

    Returns
    -------
    Offer or None
        Of the change that failed most often, the first of several; None where nothing is to be offered, and
        where a change loop was played already.
    """
    if span is not None and span.is_change:
        return None
    played = lick if span is None else span.of(lick)
    later = 0.0 if span is None or span.first is None else (span.first - 1) * lick.quarters_a_bar
    told = [over.judged.outcome for over in passes if over.complete and over.heard]
    failed = Counter(place for outcome in told for place in _failed(played, outcome))
    place = max(sorted(failed), key=lambda one: failed[one], default=0.0)
    if failed[place] < FEWEST_PASSES:
        return None
    places = falls(lick)
    chord, next_chord = next((a.chord, a.next_chord) for a in played.sevenths if a.change_quarters == place)
    number = places.index(place + later) + 1 if len(places) > 1 else None
    tempo = max(SLOWEST_HALF_BPM, round(EASED * told[-1].tempo_half_bpm))
    flags = f"--from mic --loop change{number or ''} --tempo {tempo:g} {typed}".rstrip()
    return Offer(
        change=f"{chord_name(lick, chord)}-{chord_name(lick, next_chord)}",
        span=Span(number=number),
        failed=failed[place],
        tempo_half_bpm=tempo,
        command=f"sevenfall play {_typed(lick)} {flags}",
    )


def _failed(lick: Lick, outcome: PassOutcome) -> set[float]:
    """Where the changes lie whose resolution failed in a pass."""
    return {
        ask.change_quarters
        for ask, seven in zip(lick.sevenths, outcome.sevenths, strict=True)
        if ask.change_quarters is not None and ask.how != "colour" and _went_astray(outcome, ask, seven)
    }


def _went_astray(outcome: PassOutcome, ask: Ask, seven: SeventhVerdict) -> bool:
    if seven.resolution in ("ahead", "unclear"):
        return False
    if seven.resolution in _FAILED and seven.as_asked is False:
        return True
    return ask.due_note is not None and outcome.notes[ask.due_note].verdict in _OFF


def _typed(lick: Lick) -> str:
    """How the lick is named on a command line; one in another key by the name of what is written."""
    written = next((one for one in all_licks() if (one.id, one.file) == (lick.id, lick.file)), None)
    name = lick.id if written is not None else shlex.quote(lick.file)
    key = written.key if written is not None else _key_in(lick.file)
    return name if key in (lick.key, None) else f"{name} --key {shlex.quote(lick.key)}"


def _key_in(file: str) -> str | None:
    """The key of a lick's file; None where it cannot be read any more."""
    try:
        return load(file).key
    except (OSError, BadRoutine):
        return None
