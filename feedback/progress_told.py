"""Progress as text: the one sentence first, then minutes, licks, keys, and chords by voice.

Every rate stands as the counts that it was made of, "46 of 50"; a dash where there is too little to tell.
Lines keep to 80 columns wherever names allow it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from feedback.progress_words import (
    NOTHING,
    OFTEN_ASKED,
    WIDE,
    as_of_words,
    chords_told,
    day_words,
    falls_words,
    guide_words,
    half_bpm,
    practice_words,
    share,
    timing_words,
    wrapped,
)
from routines.progress.names import item_name
from routines.progress.types import (
    FEWEST_TO_RATE,
    ChordProgress,
    ItemProgress,
    KeyProgress,
    Progress,
    WarmUpProgress,
)

LICKS_TOLD = 12
"""Licks and parts of licks, those practised most; nobody reads a report of fifty."""
LEVELS_TOLD = 12
"""Days of home and edge in a lick's own report."""

_VERBS = {"seven": "falls to", "third": "goes to"}


def told(progress: Progress) -> list[str]:
    """Tell a player's progress.

    Parameters
    ----------
    progress : Progress

    Returns
    -------
    list of str
        Lines.
    """
    of = f", {progress.asked_for}" if progress.asked_for else ""
    lines = [
        *wrapped(progress.sentence),
        "",
        f"{progress.player}{of}, {day_words(progress.first_day)} to {day_words(progress.today)}",
        *wrapped(practice_words(progress)),
    ]
    if not progress.passes_span:
        return [*lines, "Nothing was played in these weeks: --weeks N looks back farther."]
    for heading, rows in (
        (_LICKS, _licks(progress)),
        (_warm_up_heading(progress.warm_ups), _warm_ups(progress.warm_ups)),
        (_KEYS, _keys(progress.keys)),
        (_CHORDS, _chords(progress)),
    ):
        if rows:
            lines += ["", heading, *rows]
    return lines


_LICKS = "Licks: half notes a minute, clean passes of those told, minutes"
_KEYS = "Keys, as they sound; home against top: the middle one of its licks"
_CHORDS = "Chords, as they sound, by voice; a third that went on is told as resolved"


def _licks(progress: Progress) -> list[str]:
    if not progress.items:
        return []
    rows: list[tuple[str, ...]] = [("", "home", "edge", "top", "", "clean", "min")]
    of_one_lick = len({item.item.lick for item in progress.items if not item.item.unit}) == 1
    shown = progress.items if of_one_lick else progress.items[:LICKS_TOLD]
    rows += [_lick_row(item) for item in shown]
    table = _laid(rows, left=(0, 4))
    lines = [table[0]]
    for item, row in zip(shown, table[1:], strict=True):
        lines += [row, *_under(item)]
    if len(progress.items) > len(shown):
        lines += wrapped(
            f"and {len(progress.items) - len(shown)} more: sevenfall progress LICK shows one, --json all"
        )
    if progress.asked_kind == "lick":
        lines += _over_time(progress.items[0])
    return lines


def _lick_row(item: ItemProgress) -> tuple[str, ...]:
    return (
        item_name(item.item, item.title),
        half_bpm(item.home_half_bpm),
        half_bpm(item.edge_half_bpm),
        half_bpm(item.top_half_bpm),
        item.how_far,
        share(item.clean, item.clean + item.unclean),
        f"{item.minutes:.0f}",
    )


def _under(item: ItemProgress) -> Iterator[str]:
    """What does not fit into a lick's row."""
    said = [f"sevens {guide_words(item.guides)}"] if item.guides.told else []
    said += [timing_words(item), *_rise(item), f"last on {day_words(item.last_day)}"]
    for line in said[:-2] if len(said) > 3 else said[:-1]:
        yield from _folded(line)
    rest = said[-2:] if len(said) > 3 else said[-1:]
    yield from _folded("; ".join(rest))


def _rise(item: ItemProgress) -> list[str]:
    """Home and edge from the first day of the span on which they were known, and how old they are."""
    known, as_of = item.levels_told, as_of_words(item)
    if len(known) < 2:
        return [f"home and edge {as_of}"] if as_of else []
    first, last = known[0], known[-1]
    home = _from_to(first.home_half_bpm, last.home_half_bpm)
    edge = _from_to(first.edge_half_bpm, last.edge_half_bpm)
    year = not as_of or first.day[:4] != last.day[:4]
    since = f"home {home}, edge {edge} since {day_words(first.day, with_year=year)}"
    return [", ".join(filter(None, (since, as_of)))]


def _from_to(first: float | None, last: float | None) -> str:
    begin, end = half_bpm(first), half_bpm(last)
    return end if begin == end else f"{begin} to {end}"


def _over_time(item: ItemProgress) -> list[str]:
    known = item.levels_told
    if len(known) < 2:
        return []
    step = max(len(known) - 1, 1) / (min(len(known), LEVELS_TOLD) - 1)
    shown = [known[round(step * number)] for number in range(min(len(known), LEVELS_TOLD))]
    rows = [("", "home", "edge")]
    rows += [(day_words(day.day), half_bpm(day.home_half_bpm), half_bpm(day.edge_half_bpm)) for day in shown]
    name = f"{item_name(item.item, item.title)}, home and edge over time"
    return ["", *wrapped(name), *_laid(rows, left=(0,))]


def _warm_up_heading(warm_ups: Sequence[WarmUpProgress]) -> str:
    few = any(one.passes < FEWEST_TO_RATE for one in warm_ups)
    dash = f" ({NOTHING} of fewer than {FEWEST_TO_RATE})" if few else ""
    return f"Warm-ups: clean passes of all{dash}, minutes"


def _warm_ups(warm_ups: Sequence[WarmUpProgress]) -> list[str]:
    if not warm_ups:
        return []
    rows: list[tuple[str, ...]] = [("", "clean", "min", "last on")]
    rows += [
        (one.name, share(one.clean, one.passes), f"{one.minutes:.0f}", day_words(one.last_day))
        for one in warm_ups
    ]
    return _laid(rows, left=(0, 3))


def _keys(keys: Sequence[KeyProgress]) -> list[str]:
    if not keys:
        return []
    rows = [("", "licks", "jam-ready", "home/top", "clean", "sevens landed", "resolved", "min")]
    rows += [
        (
            one.key,
            str(one.licks),
            str(one.jam_ready),
            NOTHING if one.home_share is None else f"{100 * one.home_share:.0f} %",
            share(one.clean, one.clean + one.unclean),
            share(one.guides.landed, one.guides.told),
            share(one.guides.resolved, one.guides.falls_told),
            f"{one.minutes:.0f}",
        )
        for one in keys
    ]
    return _laid(rows, left=(0,))


def _chords(progress: Progress) -> list[str]:
    chords = chords_told(progress)
    rows: list[tuple[str, ...]] = [("", "", "sounded", "landed", "swallowed", "resolved")]
    rows += [_chord_row(one) for one in chords]
    table = _laid(rows, left=(0, 1))
    lines = [table[0]]
    for one, row in zip(chords, table[1:], strict=True):
        went = "; ".join(filter(None, (_goes(one), falls_words(one.guides))))
        lines += [row, *_folded(went)]
    left = len(progress.chords) - len(chords)
    if left:
        lines.append(f"and {left} more, each asked for fewer than {OFTEN_ASKED} times: --json has all")
    return lines if chords else []


def _chord_row(one: ChordProgress) -> tuple[str, ...]:
    guides = one.guides
    return (
        one.chord,
        f"{one.voice} {one.tone}",
        share(guides.sounded, guides.told),
        share(guides.landed, guides.told),
        share(guides.swallowed, guides.told),
        share(guides.resolved, guides.falls_told),
    )


def _goes(one: ChordProgress) -> str:
    """Where it goes: "falls to B in G, A in F"."""
    if not one.falls_to:
        return ""
    into = [" in ".join(reversed(name.split(": "))) for name in one.falls_to]
    return f"{_VERBS[one.voice]} {', '.join(into)}"


def _laid(rows: Sequence[tuple[str, ...]], *, left: Sequence[int]) -> list[str]:
    """Rows in columns; a name that is too long has its row's rest in the next line."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    widths[0] = min(widths[0], WIDE - sum(widths[1:]) - len("  ") * (len(widths) - 1))
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if at in left else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        over = len(row[0]) > widths[0]
        line = "  ".join([" " * widths[0] if over else cells[0], *cells[1:]]).rstrip()
        lines.append("\n".join([*textwrap.wrap(row[0], WIDE), line]) if over else line)
    return lines


def _folded(text: str) -> list[str]:
    """A text under a row."""
    return wrapped(text, WIDE, "    ", "      ")
