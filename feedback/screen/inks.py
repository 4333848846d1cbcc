"""Inks: the colours of the screen, named by what they are for, on light paper and by night.

No fact is told by colour alone; shapes and words say the same. Yet what is told apart by colour as well must
stay apart for every eye, and what is read must stand out: tests hold each pair of `READ_ON` to a contrast of
4.5 to 1 (WCAG 2.2, 1.4.3), the lines of the tab to 3 to 1 (1.4.11), and each pair of `TOLD_APART` to a
distance, as seen by a full eye, by those of the three dichromacies, and in grey.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

Rgb = tuple[int, int, int]


def _inks(**hexes: str) -> Mapping[str, Rgb]:
    return MappingProxyType(
        {name: (int(h[:2], 16), int(h[2:4], 16), int(h[4:], 16)) for name, h in hexes.items()}
    )


LOOKS: Mapping[str, Mapping[str, Rgb]] = MappingProxyType(
    {
        "paper": _inks(
            paper="f3eee3",
            band="fcf8f0",
            ink="1f2328",
            faint="5c564a",
            rule="8b8475",
            seven="efc577",
            third="a0b5c4",
            landed="005264",
            astray="a84c00",
            chosen="1f2328",
        ),
        "night": _inks(
            paper="15181c",
            band="1e2227",
            ink="f4eee1",
            faint="b8b1a2",
            rule="827c70",
            seven="805e13",
            third="36506a",
            landed="6cc0cf",
            astray="d98236",
            chosen="f4eee1",
        ),
    }
)
"""A look of the screen to the colour of each ink, 0 to 255 each of red, green and blue.

`paper` and `band` lie under everything; `ink` writes, `faint` what is less important, `rule` draws the lines
of the tab; `seven` and `third` are the ledges of the fall picture; `landed` inks in what came about, `astray`
what did not; `chosen` lies under what has the focus.
"""

READ_ON = (
    ("ink", "paper"),
    ("ink", "band"),
    ("ink", "seven"),
    ("ink", "third"),
    ("faint", "paper"),
    ("faint", "band"),
    ("landed", "paper"),
    ("landed", "band"),
    ("astray", "paper"),
    ("astray", "band"),
    ("paper", "chosen"),
)
"""Every ink that writes on another one."""

TOLD_APART = (
    ("landed", "astray"),
    ("seven", "third"),
    ("seven", "band"),
    ("third", "band"),
    ("landed", "ink"),
    ("astray", "ink"),
)
"""Inks that stand for different things."""
