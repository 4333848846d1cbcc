"""What is said of a turn in which nothing is to be mended: only what was measured."""

from __future__ import annotations

from statistics import median

from feedback.turn import Turn

FEWEST_TO_TELL = 3
"""Passes after which a habit can be told from a slip."""


def praise(turn: Turn) -> str:
    """How many sevens landed and fell, what was unclear, the spread; and whether the passes were few."""
    unclear = sum(s.sounded is None for p in turn.passes for s in p.outcome.sevenths)
    sevenths = [s for p in turn.passes for s in p.outcome.sevenths if s.sounded is not None]
    asked = [s for s in sevenths if s.due and s.as_asked is not None]
    spreads = [p.outcome.timing.spread_ms for p in turn.passes if p.outcome.timing.spread_ms is not None]
    parts = []
    if sevenths:
        parts.append(f"{sum(s.landed is True for s in sevenths)} of {len(sevenths)} sevens landed")
    if asked:
        parts.append(f"{sum(s.as_asked is True for s in asked)} of {len(asked)} fell as the lick asks")
    if unclear:
        parts.append(f"{unclear} unclear")
    if spreads:
        parts.append(f"spread {median(spreads):.0f} ms")
    said = ", ".join(parts)
    few = "one pass" if len(turn.passes) == 1 else f"{len(turn.passes)} passes"
    yet = f"; {few} cannot tell yet whether it stays so" if len(turn.passes) < FEWEST_TO_TELL else ""
    if turn.all_clean:
        return f"Clean: {said}{yet}."
    clean = sum(p.outcome.clean is True for p in turn.passes)
    return f"{said[:1].upper()}{said[1:]}; clean in {clean} of {len(turn.passes)}: once more."
