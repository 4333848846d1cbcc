"""The numbers behind the judges' words, as settings with their defaults.

An eighth `e` is meant at the tempo of the pass. The window W is a share of it, held between two bounds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

WINDOWS = {"usual": (0.22, 20.0, 40.0), "loose": (0.30, 27.0, 55.0), "tight": (0.15, 14.0, 27.0)}
"""Name of a window -> share of an eighth, least and most in ms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What counts as in time, in tune, loud enough and sure enough.

    Attributes
    ----------
    window_eighths, window_least_ms, window_most_ms : float
        W is that share of an eighth, held between the two.
    slurred_window : float
        A slurred note's window is this many W.
    choke_cents : float
        How near to its target the peak of a choke must come.
    swallowed_db, swallowed_slurred_db : float
        How far under its neighbours a seven is swallowed.
    sure : float
        Confidence from which the listener is believed.
    blamed : float
        Confidence from which a note may be held against the player, as a wrong one or an added one; never
        less than `sure`.
    spread_limit_ms : float
        Greatest spread of a clean pass; never taken below W / 2.
    pinch_ms : float
        Onsets within this are one pinch, or one note heard twice.
    lean_unsure_ms : float
        A lean is named only beyond this: how well the round trip is known.
    """

    window_eighths: float = WINDOWS["usual"][0]
    window_least_ms: float = WINDOWS["usual"][1]
    window_most_ms: float = WINDOWS["usual"][2]
    slurred_window: float = 1.5
    choke_cents: float = 35.0
    swallowed_db: float = 8.0
    swallowed_slurred_db: float = 12.0
    sure: float = 0.35
    blamed: float = 0.75
    spread_limit_ms: float = 25.0
    pinch_ms: float = 30.0
    lean_unsure_ms: float = 10.0

    def window_sec(self, eighth_sec: float) -> float:
        """W in seconds for an eighth of that many seconds."""
        ms = min(max(self.window_eighths * eighth_sec * 1e3, self.window_least_ms), self.window_most_ms)
        return ms / 1e3

    def with_window(self, name: str) -> Limits:
        """The same limits with another window, by its name in `WINDOWS`."""
        share, least, most = WINDOWS[name]
        return replace(self, window_eighths=share, window_least_ms=least, window_most_ms=most)
