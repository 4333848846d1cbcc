"""The heading of the lane: the chord of the moment, what comes next and how soon, and what is played.

The chord of the moment is the largest thing on the screen. In the last bar before a change the quarters that
are left are counted down beside the chord that comes; before a pass the count-in is counted up there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from feedback.screen.lane.moments import Moment, count_at
from feedback.screen.lane.page import Page, chord_words
from feedback.screen.lane.room import MARGIN
from feedback.screen.lettering import fitted, signed, width
from feedback.screen.marks import READABLE, Mark, Text
from feedback.words import chord_name

CHORD = 110.0
"""Em of the chord of the moment."""

_CHORD_WIDEST = 300.0
_NEXT, _COUNT = 58.0, 92.0
_BESIDE = 26.0
_HAIR = 1e-6


def head_marks(page: Page, moment: Moment, bars: int, standing: str, *, last: bool) -> tuple[Mark, ...]:
    """The heading.

    Parameters
    ----------
    page : Page
    moment : Moment
    bars : int
        That are counted before the pass of the moment.
    standing : str
        Which pass it is, in words.
    last : bool
        Whether no other follows it.
    """
    chord, word, following, count = _said(page, moment, bars, last)
    return _drawn(page, chord, word, following, count, standing)


def _said(page: Page, moment: Moment, bars: int, last: bool) -> tuple[str, str, str, str]:
    """Chord, the word beside it, the chord that comes, and what is counted."""
    lick = page.lick
    first = chord_words(lick, lick.chords[0])
    if moment.where in ("count-in", "rest"):
        count = count_at(lick, bars, moment.quarters)
        return first, moment.where, "", str(count) if count else ""
    number = max(k for k, s in enumerate(lick.chords) if k == 0 or s.start_quarters <= moment.quarters)
    chord = chord_words(lick, lick.chords[number])
    if moment.where == "over":
        return chord, "", "", ""
    left = lick.chords[number].end_quarters - moment.quarters
    count = math.ceil(left - _HAIR) if left <= lick.quarters_a_bar else 0
    if number + 1 < len(lick.chords):
        following = chord_words(lick, lick.chords[number + 1])
    else:
        following = first if page.rounds and not last else "rest"
    return chord, "then", following, str(count) if count else ""


@lru_cache(maxsize=256)
def _drawn(page: Page, chord: str, word: str, following: str, count: str, standing: str) -> tuple[Mark, ...]:
    base = page.room.header - 16.0
    size = min(CHORD, CHORD * _CHORD_WIDEST / width(chord, CHORD, True))
    marks: list[Mark] = [Text(x=MARGIN, y=base, text=chord, size=size, bold=True)]
    x = MARGIN + width(chord, size, True) + _BESIDE
    right = x + max(width(word, READABLE), 1.0)
    if word:
        marks.append(Text(x=x, y=base - 60.0, text=word, size=READABLE, ink="faint"))
    if following:
        marks.append(Text(x=x, y=base, text=following, size=_NEXT, bold=True))
        right = max(right, x + width(following, _NEXT, True))
    if count:
        at, size = right + 22.0, _NEXT if following else _COUNT
        if following:  # so many quarters are left; without a chord that comes it is the count itself
            marks.append(Text(x=at, y=base - 60.0, text="in", size=READABLE, ink="faint"))
        marks.append(Text(x=at, y=base, text=count, size=size, bold=True))
        right = at + width("4", size, True)
    elif following:
        right += 22.0 + width("4", _NEXT, True)
    marks += _about(page, right + 30.0, standing)
    return tuple(marks)


def _about(page: Page, left: float, standing: str) -> Iterator[Mark]:
    """Title, key and capo, tempo and pass, on the right."""
    lick, x = page.lick, page.room.sheet.wide - MARGIN
    room = x - left
    tempo = f"{round(page.tempo_half_bpm, 1):g} half notes"
    key = f"key of {signed(lick.key)}"
    if lick.neck.capo:
        key += f" · capo {lick.neck.capo}, {signed(chord_name(lick, lick.key))} shape"
    top = page.room.header - 112.0
    rows = (
        (46.0, lick.title, 36.0, True, "ink"),
        (80.0, key, READABLE, False, "faint"),
        (112.0, f"{tempo} · {standing}" if standing else tempo, READABLE, False, "faint"),
    )
    for down, text, size, bold, ink in rows:
        fits = min(size, max(READABLE, size * room / width(text, size, bold)))
        said = fitted(text, fits, room, bold=bold)
        yield Text(x=x, y=top + down - 8.0, text=said, size=fits, ink=ink, bold=bold, anchor="right")
