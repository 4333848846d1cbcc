"""The seven's mark: the few words between two passes, when nobody has time to read."""

from __future__ import annotations

from feedback.words import RESOLUTION_WORDS, target_name
from routines.lick import Lick
from routines.outcome import PassOutcome, SeventhVerdict


def seven_marks(lick: Lick, outcome: PassOutcome) -> str:
    """What became of each chord's sevens, as short as it can be said.

    Parameters
    ----------
    lick : Lick
    outcome : PassOutcome

    Returns
    -------
    str
        Such as "C landed, resolved"; chord by chord, the due seven speaking for its chord.
    """
    if outcome.start_sec is None:
        return "not heard"
    if not outcome.sevenths:
        return "clean" if outcome.clean else "no seven in this one"
    by_change: dict[float | None, list[SeventhVerdict]] = {}
    for ask, verdict in zip(lick.sevenths, outcome.sevenths, strict=True):
        by_change.setdefault(ask.change_quarters, []).append(verdict)
    return "; ".join(_mark(lick, sevens) for sevens in by_change.values())


def _mark(lick: Lick, sevens: list[SeventhVerdict]) -> str:
    """One chord's mark: its due seven, else its last."""
    spoken = next((seven for seven in sevens if seven.due), sevens[-1])
    name = target_name(lick, spoken.index)
    missing = sum(seven.sounded is False for seven in sevens)
    if spoken.sounded is None:
        said = "unclear"
    elif not spoken.sounded:
        return f"{name} not heard"
    else:
        said = "swallowed" if spoken.swallowed else "landed" if spoken.landed else "off its place"
    if spoken.due:
        said += f", {RESOLUTION_WORDS[spoken.resolution]}"
    if missing:
        said += f" ({len(sevens) - missing} of {len(sevens)} sounded)"
    return f"{name} {said}"
