"""The one remark at the end of a warm-up: a plain sentence worth acting on, from what was measured.

Each warm-up says what it watches; each of those is a row here. Where too little was heard to tell, the
sentence says so, and how much there was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from types import MappingProxyType

from feedback.session import PassOver
from feedback.warmup_guides import of_sevens
from feedback.warmup_keys import of_keys
from feedback.warmup_rows import ROWS
from feedback.warmup_time import of_levels, of_time
from feedback.warmup_told import FEWEST, Told, told
from feedback.words import counted
from routines.warmups.steps import Step, WarmUp, Watched

REMARKS: Mapping[Watched, Callable[[Sequence[Told]], str]] = MappingProxyType(
    {
        "levels": of_levels,
        "time": of_time,
        "keys": of_keys,
        **{watched: partial(of_sevens, watched) for watched in ROWS if watched != "keys"},
    }
)
"""What is watched to how it is told, from the passes that were heard to their ends."""


def remark(warm_up: WarmUp, played: Sequence[tuple[Step, Sequence[PassOver]]]) -> str:
    """Say the one thing that is worth acting on after a warm-up.

    Parameters
    ----------
    warm_up : WarmUp
    played : sequence of (Step, sequence of PassOver)
        Every turn, in the order in which they were played.

    Returns
    -------
    str
        One sentence.
    """
    every = [over for _, passes in played for over in passes]
    if not any(over.heard for over in every):
        return "I did not hear the banjo in this warm-up: check that it reaches the microphone."
    passes = told(played)
    clear = sum(one.clear for one in passes)
    if clear < FEWEST:
        heard = counted(clear, "pass", "passes")
        return f"{heard} of {len(every)} could be heard clearly: too few to tell anything."
    return REMARKS[warm_up.watches](passes)
