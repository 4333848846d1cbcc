"""The last pass of an item in a sitting: at which tempo, and in what words."""

from __future__ import annotations

from routines.ladder.holds import minutes, playable, whole_under
from routines.ladder.rungs import Now


def last_pass(now: Now, tempo_half_bpm: float, *, is_later: bool) -> tuple[float, str]:
    """Where the last pass is played: at home; at ease where home is not known.

    Parameters
    ----------
    now : Now
    tempo_half_bpm : float
        Of the turn before.
    is_later : bool
        Whether some of the item's minutes were spent before, in the same sitting.

    Returns
    -------
    tuple of (float, str)
        Whole half notes a minute, no faster than the lick goes; and the line.
    """
    levels, fastest = now.levels, whole_under(now.limits.fastest_half_bpm)
    if levels is not None:
        at = float(round(playable(levels.home_half_bpm)))
    else:
        clean = [row.tempo_half_bpm for row in now.today if row.clean]
        share = now.limits.rules.start_share
        at = float(round(playable(share * max(clean) if clean else tempo_half_bpm)))
    tempo = min(at, fastest)
    where = f"{tempo:g}, home tempo" if levels is not None and tempo == at else f"once more at {tempo:g}"
    item_sec = now.limits.rules.item_sec
    over = f"{round(item_sec / 60.0)} minutes of this one"
    if is_later:
        over = f"its {minutes(item_sec)} of this sitting are over"
    return tempo, f"{over}: {where}, then leave it"
