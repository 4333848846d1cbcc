"""What a warm-up is made of: rounds of steps, each step a short lick played a few times by itself.

The problem: before the first lick of the day the hands want something easy that goes from one thing to the
next without being asked for. So a warm-up is a table of what comes, and whoever runs it needs nothing else: a
step's lick, how often it is played, which click it has, and the words that stand large before it.

Conventions: a step is one turn: its rest, in which its words are read, two bars of count-in, its passes.
All steps of a round are played at one tempo; after a round that was clean the tempo rises. Tempos are half
notes a minute. Rounds are counted from 0. A step's lick has the id "warm-up/NAME/STEP": it is the item that
the journal knows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from routines.ladder.rules import LadderRules
from routines.lick import Lick, quarter_sec

Watched = Literal[
    "levels", "sevens", "chains", "slurs", "places", "doors", "strings", "chops", "keys", "time"
]
"""What the one remark at the end of a warm-up looks at (a row of `feedback.warmup_remarks`)."""

COUNT_IN_BARS = 2
"""Bars of click before each step."""

FIRST_HALF_BPM = 60.0
"""Where a warm-up begins as long as nothing is known of the hands."""

LICK_BEGINS = "warm-up/"
"""So begins the id of a step's lick."""

CAPO_SEC = 12.0
"""What two hands need to move a capo and to see to the fifth string."""

WARM = LadderRules(
    start_share=0.60,
    rise_share=0.06,
    near_rise_share=0.03,
    clean_to_rise=1,
    still_sec=0.0,
    ceiling_share=1.0,
    floor_share=None,
)
"""Rules of the ladder for warm-ups: from three fifths of what the hands can do, never beyond home.

One clean round is a rise. The sitting's first two minutes, in which a lick does not rise, are the warm-up.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One turn of a warm-up.

    Attributes
    ----------
    name : str
        Small letters, digits and dashes; the end of the lick's id.
    lick : Lick
        One to four bars.
    passes : int
        How often it is played in its turn.
    rest_bars : int
        Bars of rest between two passes; 0 for what goes round and round.
    click : str
        A row of `feedback.clicking.CLICKS`.
    says : str
        A few words that stand large before it, such as "G7: F under the thumb".
    rest_sec : float
        How long they stand before the count-in begins, while the hands rest, or move the capo.
    """

    name: str
    lick: Lick
    passes: int = 2
    rest_bars: int = 0
    click: str = "halves"
    says: str = ""
    rest_sec: float = 2.0

    def lasts_sec(self, tempo_half_bpm: float) -> float:
        """How long it takes at a tempo, with its rest and its count-in, in seconds."""
        bars = COUNT_IN_BARS + self.passes * self.lick.bars + (self.passes - 1) * self.rest_bars
        return self.rest_sec + bars * self.lick.quarters_a_bar * quarter_sec(tempo_half_bpm)


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """A warm-up.

    Attributes
    ----------
    name : str
        A row of `routines.warmups.table.WARM_UPS`.
    title : str
    about : str
        One sentence: what it is good for.
    watches : Watched
    rounds : int
    steps : callable
        From a round, counted from 0, to its steps in order.
    rules : LadderRules
    first_half_bpm : float
        Its tempo where nothing is known of the hands.
    """

    name: str
    title: str
    about: str
    watches: Watched
    rounds: int
    steps: Callable[[int], tuple[Step, ...]]
    rules: LadderRules = WARM
    first_half_bpm: float = FIRST_HALF_BPM

    def lasts_sec(self, tempo_half_bpm: float, rise_share: float = 0.0) -> float:
        """How long all of it takes from a tempo, in seconds.

        Parameters
        ----------
        tempo_half_bpm : float
            Of the first round.
        rise_share : float
            By how much each round is faster than the one before it.
        """
        return sum(
            step.lasts_sec(tempo_half_bpm * (1.0 + rise_share) ** number)
            for number in range(self.rounds)
            for step in self.steps(number)
        )
