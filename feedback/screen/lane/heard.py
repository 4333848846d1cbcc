"""What is known of a pass that runs: which verdicts may be shown yet.

The problem: while a pass goes on its verdicts are provisional, and a target that has not come stands there as
not heard. A player must not be blamed for what may still come. So an answered note is shown at once; silence,
and another note in a target's place, when it cannot come any more: an eighth and the player's lean after it
was due, a seven also until just after its change, and until its resolution cannot come any more, which may
still tell a far too late note to be the seven. A fall that resolved is shown at once; that it has not come is
drawn an eighth after its place, and said when it can come late no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from feedback.grid import EIGHTH_QUARTERS
from feedback.playstate import PlayState, RunningPass
from routines.lick import Ask, Lick, quarter_sec
from routines.outcome import NoteVerdict, PassOutcome, SeventhVerdict

_AFTER_CHANGE_QUARTERS = 0.2
_AT_ONCE = ("landed", "early", "late")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardPass:
    """A pass as far as it was heard.

    Attributes
    ----------
    lick : Lick
    number : int
        From 0 within the plan.
    outcome : PassOutcome
    heard_to_quarters : float
        Up to which place of it all is known; infinite once it is over.
    """

    lick: Lick
    number: int
    outcome: PassOutcome
    heard_to_quarters: float

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return self.heard_to_quarters == math.inf

    def verdict(self, note: int) -> NoteVerdict | None:
        """What may be shown of a target; None where that is nothing yet."""
        found = self.outcome.notes[note]
        if found.verdict in _AT_ONCE and found.heard_midi is not None:
            return found
        return found if self._gone_quarters(note) + self._lean_quarters <= self.heard_to_quarters else None

    def _gone_quarters(self, note: int) -> float:
        """From when on a target cannot come any more, for a player who does not lean."""
        onset = self.lick.notes[note].onset_quarters
        gone = [onset + EIGHTH_QUARTERS]
        for ask in self.lick.sevenths:
            if ask.note != note:
                continue
            if ask.change_quarters is not None:
                gone.append(ask.change_quarters + _AFTER_CHANGE_QUARTERS)
            if ask.due_note is not None:  # where that comes late as well, it may still prove the seven
                gone.append(self.lick.notes[ask.due_note].onset_quarters + EIGHTH_QUARTERS)
        return max(gone)

    @property
    def _lean_quarters(self) -> float:
        """How far behind the click the player is."""
        return max(0.0, self.outcome.timing.lean_ms or 0.0) / 1e3 * self.outcome.tempo_half_bpm / 30.0

    def falls(self, ask: Ask, verdict: SeventhVerdict) -> bool:
        """Whether it can be told where a due guide tone went; one that hangs may still come late."""
        if ask.place_quarters is None or not verdict.due:
            return False
        wait = 0.0 if verdict.resolution in ("resolved", "late") else EIGHTH_QUARTERS
        return ask.place_quarters + wait <= self.heard_to_quarters or verdict.resolution == "resolved"

    def settled(self, ask: Ask, verdict: SeventhVerdict) -> bool:
        """Whether it can be told for good."""
        if ask.change_quarters is None or verdict.resolution not in ("hanging", "unclear", "octave"):
            return self.falls(ask, verdict)
        gone = ask.change_quarters + self.lick.quarters_a_bar
        following = (s.start_quarters for s in self.lick.chords if s.start_quarters > ask.change_quarters)
        return min([gone, *following]) + EIGHTH_QUARTERS <= self.heard_to_quarters


def heard_passes(state: PlayState) -> Iterator[HeardPass]:
    """The passes of the part so far, in order; one that does not fit its lick is left out."""
    plan = state.plan
    if plan is None:
        return
    for running in sorted(state.running, key=lambda one: one.number):
        number = running.number - state.first_number
        if 0 <= number < plan.passes and len(running.outcome.notes) == len(plan.lick.notes):
            start = plan.starts_sec[number]
            yield HeardPass(
                lick=plan.lick,
                number=number,
                outcome=running.outcome,
                heard_to_quarters=_heard_to(running, start, quarter_sec(plan.tempo_half_bpm)),
            )


def _heard_to(running: RunningPass, start_sec: float, a_quarter_sec: float) -> float:
    if running.over is not None:
        return math.inf
    return (running.heard_to_sec - start_sec) / a_quarter_sec
