"""The click thins out: the same four bars of roll while it goes from every half note to nothing.

What is watched is time alone: how far the notes lie apart from the beat (spread), and whether the tempo
wanders while nothing holds it (drift). In the rest bar between two passes the click comes back.
"""

from __future__ import annotations

from functools import cache

from routines.warmups.parts import written
from routines.warmups.steps import Step, WarmUp

_NAME = "thinning-click"

_TAB = """
  G                        C
D|------0--------0-----0--|------2--------2-----2--|
B|---0--------0-----------|---1--------1-----------|
G|0-----------------------|0-----------------------|
D|------------------------|------------------------|
g|---------0--------0-----|---------0--------0-----|
  T  I  M  T  I  M  T  M   T  I  M  T  I  M  T  M

  D7                       G
D|------0--------0-----0--|------0-----------------|
B|---1--------1-----------|---0--------0-----------|
G|2-----------------2-----|0-----------------0-----|
D|------------------------|------------------------|
g|---------0--------------|---------0--------------|
  T  I  M  T  I  M  T  M   T  I  M  T  I     T
"""

_CLICKS = (
    ("halves", "The click has every half note"),
    ("second", "The click has the downbeats, the rest is yours"),
    ("gaps", "Two bars of click, two bars of yours"),
    ("off", "No click while you play, only between"),
)
"""That of each round, and what is said before it."""


@cache
def _steps(number: int) -> tuple[Step, ...]:
    click, says = _CLICKS[number]
    lick = written(
        _NAME,
        "roll",
        _TAB,
        title="Four bars that keep time",
        trains="A forward roll through three chords that is as steady without a click as with it.",
        kind="roll",
    )
    return (Step(name="roll", lick=lick, passes=4, rest_bars=1, click=click, says=says),)


WARM_UP = WarmUp(
    name=_NAME,
    title="The click thins out",
    about="The same roll with less and less click: you hear whether the tempo is yours or the click's.",
    watches="time",
    rounds=len(_CLICKS),
    steps=_steps,
)
