"""The roll print: every answered note of a turn, piled up on the eighth of the bar where it stands.

The problem: four passes of two bars are sixty notes, and what a hand does shows only when they are laid over
one another. So all bars of all passes are laid on one, and each eighth keeps its own pile. One sees whether a
place of the roll lies off, and by the fingers whether one of them leans.

Conventions: an eighth is counted from 1 within its bar; the notes of a pickup stand on the eighths that they
have in their bar, and a note in the second half of an eighth on that eighth. What is piled up is the *rest*
of a note (`feedback.grid`): late is positive, and what is steady in all of them is off. So a finger leans
against the others, not against the click: what is told is how far the median of its notes lies from those of
the other fingers. It is told only from `FEWEST_OF_A_FINGER` notes on, where it is more than a quarter of the
window and more than twice as much as chance would bring.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean, median

from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.limits import Limits
from feedback.session import PassOver
from feedback.words import counted
from routines.fingers import FINGERS
from routines.lick import Lick, quarter_sec
from routines.outcome import Verdict

ANSWERED = ("landed", "early", "late")
"""Verdicts of the notes that have a time of their own."""

FEWEST_OF_A_FINGER = 6
"""Notes from which a finger can be told to lean."""

FINGER_WORDS = {"T": "thumb", "I": "index", "M": "middle"}

_OF_NORMAL = (
    1.25 * 1.25
)  # mean size of normal rests to the error of their median, times the root of the count


@dataclass(frozen=True, slots=True, kw_only=True)
class Nick:
    """One note of one pass.

    Attributes
    ----------
    index : int
        Its target in `Lick.notes`.
    number : int
        Of its pass.
    bar : int
        From 1; 0 is the pickup.
    finger : str
        T, I or M; empty for a slurred note.
    verdict : Verdict
        One of `ANSWERED`.
    rest_ms : float
    """

    index: int
    number: int
    bar: int
    finger: str
    verdict: Verdict
    rest_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One eighth of the bar.

    Attributes
    ----------
    eighth : int
        From 1.
    finger : str
        The one that plays there most often by the lick; empty where nothing is picked.
    slurred : bool
        Whether notes of the lick are slurred there.
    nicks : tuple of Nick
        By pass, then by place.
    median_ms : float or None
        Of their rests; None where nothing was answered.
    """

    eighth: int
    finger: str
    slurred: bool
    nicks: tuple[Nick, ...]
    median_ms: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FingerTime:
    """How one finger keeps time.

    Attributes
    ----------
    finger : str
    count : int
        Its answered notes.
    median_ms : float or None
        Of their rests; None with fewer than `FEWEST_OF_A_FINGER`.
    apart_ms : float or None
        How far that lies from the mean of the other fingers' medians; None where there is no other.
    leans : bool
        Whether it is told to lean.
    """

    finger: str
    count: int
    median_ms: float | None
    apart_ms: float | None = None
    leans: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RollPrint:
    """What a turn left.

    Attributes
    ----------
    columns : tuple of Column
        Eight in 2/2, six in 3/4.
    fingers : tuple of FingerTime
        T, I, M.
    window_ms : float
        W of a picked note.
    passes : int
        How many were told.
    """

    columns: tuple[Column, ...]
    fingers: tuple[FingerTime, ...]
    window_ms: float
    passes: int

    @property
    def leaning(self) -> FingerTime | None:
        """The finger that leans farthest; None where none does."""
        lean = [one for one in self.fingers if one.leans]
        return max(
            lean,
            key=lambda one: (round(abs(one.apart_ms or 0.0), 6), abs(one.median_ms or 0.0)),
            default=None,
        )

    @property
    def text(self) -> str:
        """What it shows, in a few words: "middle leans 14 ms ahead of the others"."""
        leaning = self.leaning
        if leaning is not None and leaning.apart_ms is not None:
            side = "ahead of" if leaning.apart_ms < 0 else "behind"
            ms = abs(leaning.apart_ms)
            return f"{FINGER_WORDS[leaning.finger]} leans {ms:.0f} ms {side} the others"
        if all(one.apart_ms is None for one in self.fingers):
            return "too few notes to tell the fingers apart"
        return "no finger leans"


def roll_print(lick: Lick, passes: Sequence[PassOver], limits: Limits | None = None) -> RollPrint | None:
    """Pile up the notes of a turn.

    Parameters
    ----------
    lick : Lick
    passes : sequence of PassOver
        Those that were not heard, or not to their end, are left out.
    limits : Limits, optional
        For the window.

    Returns
    -------
    RollPrint or None
        None where no note was answered.
    """
    told = [over for over in passes if over.complete and over.heard]
    nicks = [nick for over in told for nick in _nicks(lick, over)]
    if not nicks:
        return None
    eighth_sec = EIGHTH_QUARTERS * quarter_sec(told[-1].judged.outcome.tempo_half_bpm)
    window_ms = 1e3 * (limits or Limits()).window_sec(eighth_sec)
    count = round(lick.quarters_a_bar / EIGHTH_QUARTERS)
    return RollPrint(
        columns=tuple(_column(lick, eighth, nicks) for eighth in range(1, count + 1)),
        fingers=_finger_times(nicks, window_ms),
        window_ms=window_ms,
        passes=len(told),
    )


def roll_print_lines(found: RollPrint) -> list[str]:
    """The same as text: a line for each eighth, and one for the fingers."""
    number = counted(found.passes, "pass", "passes")
    lines = [
        f"  roll print of {number}: ms from its place at each eighth, within {found.window_ms:.0f} landed"
    ]
    for column in found.columns:
        if column.median_ms is None:
            continue
        pile = " ".join(_nick_text(nick) for nick in sorted(column.nicks, key=lambda nick: nick.rest_ms))
        lines.append(f"    eighth {column.eighth} {column.finger or '-'} {_ms(column.median_ms):>4}: {pile}")
    told = [
        f"{FINGER_WORDS[one.finger]} {_ms(one.median_ms)} ({one.count})"
        for one in found.fingers
        if one.median_ms is not None
    ]
    return [*lines, f"    {'; '.join([', '.join(told), found.text] if told else [found.text])}"]


def _nicks(lick: Lick, over: PassOver) -> list[Nick]:
    return [
        Nick(
            index=note.index,
            number=over.number,
            bar=max(0, math.floor(lick.notes[note.index].onset_quarters / lick.quarters_a_bar) + 1),
            finger=lick.notes[note.index].finger,
            verdict=note.verdict,
            rest_ms=note.rest_ms,
        )
        for note in over.judged.outcome.notes
        if note.verdict in ANSWERED and note.rest_ms is not None
    ]


def _eighth(lick: Lick, index: int) -> int:
    """On which eighth of its bar a target stands, from 1."""
    return int(lick.notes[index].onset_quarters % lick.quarters_a_bar / EIGHTH_QUARTERS) + 1


def _column(lick: Lick, eighth: int, nicks: Sequence[Nick]) -> Column:
    here = [note for index, note in enumerate(lick.notes) if _eighth(lick, index) == eighth]
    fingers = Counter(note.finger for note in here if note.finger)
    piled = tuple(nick for nick in nicks if _eighth(lick, nick.index) == eighth)
    return Column(
        eighth=eighth,
        finger=max(FINGERS, key=lambda finger: fingers[finger]) if fingers else "",
        slurred=any(not note.picked for note in here),
        nicks=piled,
        median_ms=median(nick.rest_ms for nick in piled) if piled else None,
    )


def _finger_times(nicks: Sequence[Nick], window_ms: float) -> tuple[FingerTime, ...]:
    rests = {finger: [nick.rest_ms for nick in nicks if nick.finger == finger] for finger in FINGERS}
    middles = {finger: median(one) for finger, one in rests.items() if len(one) >= FEWEST_OF_A_FINGER}
    found = []
    for finger, own in rests.items():
        others = [middle for other, middle in middles.items() if other != finger]
        if finger not in middles or not others:
            found.append(FingerTime(finger=finger, count=len(own), median_ms=middles.get(finger)))
            continue
        apart = middles[finger] - mean(others)
        unsure = math.hypot(*(_unsure_ms(rests[one], middle) for one, middle in middles.items()))
        found.append(
            FingerTime(
                finger=finger,
                count=len(own),
                median_ms=middles[finger],
                apart_ms=apart,
                leans=abs(apart) > max(window_ms / 4, 2 * unsure),
            )
        )
    return tuple(found)


def _unsure_ms(rests: Sequence[float], middle: float) -> float:
    """Standard error of a median."""
    return _OF_NORMAL * mean(abs(rest - middle) for rest in rests) / math.sqrt(len(rests))


def _nick_text(nick: Nick) -> str:
    word = "" if nick.verdict == "landed" else f" {nick.verdict}"
    return _ms(nick.rest_ms) + ("" if nick.finger else " slurred") + word


def _ms(ms: float | None) -> str:
    return f"{round(ms or 0.0):+d}"
