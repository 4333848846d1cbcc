"""Whether a pass was clean: what the tempo ladder counts."""

from __future__ import annotations

from collections.abc import Sequence

from feedback.grid import Grid
from routines.outcome import Extra, NoteVerdict, SeventhVerdict

BARS_A_SLIP = 2
"""One note outside the core may be missed or wrong in so many bars; a shorter lick is allowed one, too."""

UNCLEAR_SHARE = 1 / 8
"""A pass with more unclear notes than this counts neither way."""


def clean_pass(
    grid: Grid,
    notes: Sequence[NoteVerdict],
    extras: Sequence[Extra],
    sevenths: Sequence[SeventhVerdict],
    thirds: Sequence[SeventhVerdict],
    spread_ms: float | None,
) -> bool | None:
    """Judge the pass as a whole.

    Parameters
    ----------
    grid : Grid
    notes, extras, sevenths, thirds : sequences of verdicts
    spread_ms : float or None

    Returns
    -------
    bool or None
        None where the pass counts neither way.
    """
    if not notes:
        return None
    if sum(note.verdict == "unclear" for note in notes) > UNCLEAR_SHARE * len(notes):
        return None
    slips = sum(not note.core and note.verdict in ("missed", "wrong") for note in notes)
    limit_ms = max(grid.limits.spread_limit_ms, 1e3 * grid.window_sec / 2)
    marked = {ask.note for ask in grid.lick.thirds if ask.marked}
    return (
        all(note.verdict in ("landed", "unclear") for note in notes if note.core)
        and all(_in_order(seventh) for seventh in sevenths)
        and all(_in_order(third) for third in thirds if third.index in marked)
        and slips <= max(1, grid.lick.bars // BARS_A_SLIP)
        and not any(extra.foreign for extra in extras)
        and (spread_ms is None or spread_ms <= limit_ms + 1e-6)
    )


def _in_order(seventh: SeventhVerdict) -> bool:
    """A guide tone that landed and went where the lick asks; one that is unclear is left out."""
    return seventh.landed is not False and seventh.as_asked is not False
