"""The bench of the window, for a moment: what it measures is there, whatever it comes to."""

from __future__ import annotations

import os

from tests.bench.screen import _child, _row


def test_a_row_is_measured_while_the_player_is_heard() -> None:
    asked = {
        "lick": "slab-wood-supper",
        "tempo": 240.0,
        "motion": "flowing",
        "size": (640, 360),
        "turns": 1,
        "passes": 1,
    }
    found = _child(asked, {**os.environ, "SDL_VIDEODRIVER": "dummy"})
    assert found["frames"] > 30
    assert 0.0 < found["work"]["50"] <= found["work"]["99"] <= found["work"]["100"]
    assert found["others"] > 0.0
    assert _row("dummy", asked, found).startswith("dummy   slab-wood-supper")
