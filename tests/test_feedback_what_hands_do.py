"""What a player's hands can do, by the licks that are known."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from feedback.memory import Memory
from feedback.nexttempo import EASED
from feedback.practice_request import PracticeRequest
from feedback.remembered import Remembered
from feedback.what_hands_do import MOST, SLOWEST_SHARE, Hands, hands_in, hands_of
from routines.journal.records import Item, LevelsDay
from routines.ladder.rules import LADDER
from routines.library import all_licks, load
from tests.passed import over_of


def day(lick: str, edge: float | None, on: str = "2026-11-20", unit: str = "") -> LevelsDay:
    home = None if edge is None else 0.9 * edge
    return LevelsDay(
        day=on, item=Item(lick, "G", unit), home_half_bpm=home, edge_half_bpm=edge, reach_half_bpm=edge
    )


def test_nothing_is_known_of_nothing_or_of_one_lick() -> None:
    assert hands_of(None) == hands_in([]) == Hands()
    assert hands_in([day("slab-wood-supper", 80.0), day("tally-stick", None)]) == Hands()
    assert Hands().first_half_bpm(100.0) == round(EASED * 100.0)


def test_parts_traffic_and_warm_ups_tell_nothing() -> None:
    known = [day("slab-wood-supper", 60.0), day("tally-stick", 70.0)]
    others = [
        day("slab-wood-supper", 200.0, unit="change"),
        day("tally-stick", 200.0, unit="traffic"),
        day("warm-up/pinches/one", 200.0),
    ]
    assert hands_in([*known, *others]) == hands_in(known)


def test_the_latest_of_each_counts_and_the_middle_of_them() -> None:
    hands = hands_in(
        [
            day("slab-wood-supper", 80.0, "2026-11-21"),
            day("slab-wood-supper", 50.0, "2026-11-20"),
            day("tally-stick", 40.0),
            day("the-edgers-nod", 60.0),
        ]
    )
    assert hands.edge_half_bpm == 60.0
    assert hands.home_half_bpm == pytest.approx(54.0)
    tops = [load(name).top_tempo_half_bpm for name in ("slab-wood-supper", "tally-stick", "the-edgers-nod")]
    share = sorted(edge / top for edge, top in zip((80.0, 40.0, 60.0), tops, strict=True))[1]
    assert hands.edge_share == pytest.approx(share)


def test_only_those_practised_last_are_asked() -> None:
    old = [day(lick.id, 30.0, f"2026-11-0{1 + k}") for k, lick in enumerate(all_licks()[:5])]
    new = [day(lick.id, 90.0, f"2026-11-{10 + k}") for k, lick in enumerate(all_licks()[5 : 5 + MOST])]
    assert hands_in([*old, *new]).edge_half_bpm == 90.0


def test_a_lick_of_ones_own_tells_of_tempo_but_not_of_tops() -> None:
    hands = hands_in([day("of-my-own", 80.0), day("another-of-mine", 80.0), day("slab-wood-supper", 80.0)])
    assert (hands.edge_half_bpm, hands.edge_share) == (80.0, None)


def test_a_new_lick_begins_under_the_edge_that_others_let_expect() -> None:
    for share, first in (
        (0.6, LADDER.start_share * 0.6),
        (0.2, SLOWEST_SHARE),  # too little is known of such hands
        (2.0, EASED),  # nobody begins faster than four fifths of the top
    ):
        assert Hands(edge_share=share).first_half_bpm(100.0) == round(100.0 * first)


def test_the_journal_is_asked(tmp_path: Path) -> None:
    now = datetime(2026, 11, 29, 9, tzinfo=timezone(timedelta(hours=1)))
    about = Remembered(folder=tmp_path, player="me", source="mic", now=lambda: now)
    for name in ("slab-wood-supper", "tally-stick"):
        lick, memory = load(name), Memory(about)
        for turn, tempo in enumerate([60.0] * 4 + [70.0] * 4 + [75.0] * 4, 1):
            request = PracticeRequest(lick=lick, tempo_half_bpm=tempo)
            slips = ("left-hanging",) if tempo == 75.0 else ()
            list(memory.passed(turn, over_of(lick, tempo, slips), request))
        list(memory.close())
    hands = hands_of(about)
    assert hands.edge_half_bpm is not None
    assert 60.0 < hands.edge_half_bpm < 75.0
    assert hands_of(Remembered(folder=tmp_path, player="you", source="mic", now=lambda: now)) == Hands()
