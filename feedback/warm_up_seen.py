"""What a player is shown of a warm-up between its turns and at its end: plain data."""

from __future__ import annotations

from dataclasses import dataclass

from routines.lick import Lick


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpSeen:
    """A warm-up, as it stands before the next count-in.

    Attributes
    ----------
    title : str
        The warm-up's.
    says : str
        What comes next, in a few words; where it is empty the name of the lick stands for it.
    lick : Lick
        What is played next.
    round, rounds : int
        Which time through all steps it is, from 1, and how many there are.
    step, steps : int
        Which step of the round comes next, from 1, and how many there are.
    tempo_half_bpm : float
        Of what is played next.
    remark : str
        The one thing that is said at the end; empty while it goes on.
    """

    title: str
    says: str
    lick: Lick
    round: int = 1
    rounds: int = 1
    step: int = 1
    steps: int = 1
    tempo_half_bpm: float
    remark: str = ""
