"""The tempo ladder in a line: where it stands, and what has moved it or would."""

from __future__ import annotations

from feedback.ladder_seen import LadderSeen

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def ladder_line(seen: LadderSeen) -> str:
    """Where the ladder stands and what comes of it, in a line.

    Parameters
    ----------
    seen : LadderSeen

    Returns
    -------
    str
        Such as "home 76, edge 84; at 80: two clean, one more and it rises". Why the tempo has just moved or
        stays goes before what would move it.
    """
    known = [
        f"{word} {tempo_text(tempo)}"
        for word, tempo in (("home", seen.home_half_bpm), ("edge", seen.edge_half_bpm))
        if tempo is not None
    ]
    return f"{', '.join(known)}; {ladder_step(seen)}" if known else ladder_step(seen)


def ladder_step(seen: LadderSeen) -> str:
    """The second half of that line, for where home and edge are drawn."""
    if seen.said:
        return seen.said
    if seen.phase == "closing":
        return f"the last one at home tempo, {tempo_text(seen.tempo_half_bpm)}"
    if seen.phase == "over":
        return "this one has had its time today"
    at = f"at {tempo_text(seen.tempo_half_bpm)}"
    if seen.unit != "whole":
        at = f"the change alone {at}"
    row, more = max(0, seen.row), max(1, seen.needed - seen.row)
    rises = "it rises" if seen.unit == "whole" else "all of it again"
    if not row:
        return f"{at}: {_number(more)} clean in a row and {rises}"
    return f"{at}: {_number(row)} clean, {_number(more)} more and {rises}"


def tempo_text(half_bpm: float) -> str:
    """A tempo as it is written on screens: at most one decimal."""
    return f"{round(half_bpm, 1):g}"


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
