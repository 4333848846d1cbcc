"""What passes before a part tell of the player's bounce, near the tempo that comes."""

from __future__ import annotations

import pytest

from feedback.laying import BOUNCE_PASSES, NEAR_SHARE, told_of_bounce
from routines.library import load
from tests.passed import over_of

LICK = load("slab-wood-supper")


def test_at_the_same_tempo_all_of_it_counts_as_it_is() -> None:
    judged = over_of(LICK, 80.0).judged
    assert told_of_bounce([judged], 80.0) == list(judged.played)


def test_near_it_as_a_share_of_the_eighth_and_farther_off_not_at_all() -> None:
    judged = over_of(LICK, 80.0).judged
    for tempo in (76.0, 84.0):
        told = told_of_bounce([judged], tempo)
        assert [one.quarters for one in told] == [one.quarters for one in judged.played]
        for one, before in zip(told, judged.played, strict=True):
            assert one.sec * tempo == pytest.approx(before.sec * 80.0)
    for tempo in (80.0 / (1.0 + NEAR_SHARE + 0.01), 80.0 / (1.0 - NEAR_SHARE - 0.01)):
        assert told_of_bounce([judged], tempo) == []


def test_only_the_latest_passes_tell() -> None:
    old, new = over_of(LICK, 80.0, ("bounced",)).judged, over_of(LICK, 80.0).judged
    assert told_of_bounce([old] + [new] * BOUNCE_PASSES, 80.0) == list(new.played) * BOUNCE_PASSES
