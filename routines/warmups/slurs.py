"""Slurs, each to a seven: hammered, pulled, slid and choked, and each falls on the next downbeat.

The left hand alone brings the seven; so it must bring it as loud as a pick would.
"""

from __future__ import annotations

from functools import cache

from routines.warmups.parts import written
from routines.warmups.steps import Step, WarmUp

_NAME = "slurs"
_ROUNDS = 3

_HAMMER = """
  D7                       G
D|---------0-----0--------|------0-----------------|
B|------------------0-h1--|0-----------------------|
G|------------2-----------|------------0-----------|
D|4-----------------------|------------------0-----|
g|------------------------|---------0--------------|
  T        M  I  M  T      T     M  T  I     T
"""

_PULL = """
  G7                       C
D|------------5p-3--------|2-----------2-----------|
B|------0--------------0--|------1-----------------|
G|0-----------------0-----|------------------0-----|
D|------------------------|------------------------|
g|---------0--------------|---------0--------------|
  T     I  T  M     T  I   M     I  T  M     T
"""

_SLIDE = """
  C7                       F
D|---------2-----------2--|------3-----------3-----|
B|------1-----------1-----|---------1--------------|
G|------------2-s3--------|2-----------2-----------|
D|2-----------------------|------------------------|
g|------------------------|------------------------|
  T     I  M  T     I  M   T     M  I  T     M
"""

_CHOKE = """
  D7                       G
D|------------10----9c10--|9-----------9-----------|
B|------10----------------|------8-----------------|
G|11----------------------|------------------7-----|
D|------------------------|------------------------|
g|---------0--------------|---------0--------------|
  T     I  T  M     M      M     I  T  M     T
"""


_SLURS = (
    (
        "hammer",
        "G",
        _HAMMER,
        "Hammered to C",
        "B on the second string is hammered up to C and falls back.",
        "D7: hammer to C, string 2",
    ),
    (
        "pull",
        "C",
        _PULL,
        "Pulled off to F",
        "The little finger pulls G off to F, and F comes down to E.",
        "G7: pull off to F, string 1",
    ),
    (
        "slide",
        "F",
        _SLIDE,
        "Slid up to Bb",
        "A slides up to Bb, which rings for three eighths and comes back to A.",
        "C7: slide to Bb, string 3",
    ),
    (
        "choke",
        "G",
        _CHOKE,
        "Choked up to C",
        "B is choked up to C, and left alone it is B again.",
        "D7: choke B up to C, fret 9",
    ),
)
"""Step, key, tab, title, what it trains, what is said before it."""


@cache
def _steps(number: int) -> tuple[Step, ...]:
    return tuple(
        Step(name=step, lick=written(_NAME, step, tab, key=key, title=title, trains=trains), says=says)
        for step, key, tab, title, trains, says in _SLURS
    )


WARM_UP = WarmUp(
    name=_NAME,
    title="Slurs to the seven",
    about="Hammer-on, pull-off, slide and choke, each to a seven: the left hand makes it as loud as a pick.",
    watches="slurs",
    rounds=_ROUNDS,
    steps=_steps,
)
