"""Which fingers stay when the left hand goes on, and that what is known of hands does not grow for ever."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from routines.hand import playing, reach
from routines.hand.grips import Hand, Need, Way, forget_hands, grip_of, hand_of
from routines.hand.left import ways
from routines.hand.reach import Stop
from tests.hand_notes import played

INDEX, MIDDLE, RING, LITTLE = 1, 2, 3, 4


@pytest.fixture(autouse=True)
def _none_known() -> Iterator[None]:
    forget_hands(0)
    yield
    forget_hands(0)


def holding(places: dict[int, str], *, stale: tuple[int, ...] = ()) -> Hand:
    """A hand in first position; finger to string/fret, and which fingers are of an earlier chord."""
    stops = {}
    for finger, place in places.items():
        string, fret = map(int, place.split("/"))
        stops[finger] = Stop(fret, string, string)
    return hand_of(grip_of(stops), frozenset(stale), 1)


def down(way: Way) -> set[int]:
    return {finger for finger, stop in enumerate(way.hand.grip, 1) if stop is not None}


# Which of the fingers that are not needed stay


def test_all_stay_where_that_costs_nothing() -> None:
    hand = holding({INDEX: "2/1", MIDDLE: "4/2"}, stale=(INDEX,))
    best = ways(hand, (Need(3, 3),))[0]
    assert (down(best), best.fingers) == ({INDEX, MIDDLE, RING}, (RING,))


def test_those_of_the_chord_stay_where_one_of_an_earlier_chord_would_cramp_the_hand() -> None:
    chord = {INDEX: "1/1", MIDDLE: "2/2"}
    hand = holding({**chord, RING: "3/2"}, stale=(RING,))
    best = ways(hand, (Need(1, 4),))[0]
    assert (down(best), best.fingers) == ({INDEX, MIDDLE, LITTLE}, (LITTLE,))
    (stop,) = (stop for stop in holding(chord).grip if stop is not None and stop.high == 2)
    assert best.hand.grip[MIDDLE - 1] == stop
    # Neither to hold on to all nor to let go of all is as good.
    others = [way for way in ways(hand, (Need(1, 4),)) if way.fingers == (LITTLE,) and way is not best]
    assert {frozenset(down(way)) for way in others} == {
        frozenset({INDEX, MIDDLE, RING, LITTLE}),
        frozenset({LITTLE}),
    }
    assert all(way.cost > best.cost for way in others)


# What is remembered


def test_equal_hands_are_one_until_there_are_too_many() -> None:
    first, second = holding({INDEX: "2/1"}), holding({INDEX: "3/1"})
    first.known[(Need(1, 2),)] = ()
    forget_hands(2)
    assert holding({INDEX: "2/1"}) is first
    assert first.known
    third = holding({INDEX: "4/1"})
    forget_hands(2)
    assert not first.known
    for old, place in ((first, "2/1"), (second, "3/1"), (third, "4/1")):
        assert holding({INDEX: place}) is not old


def test_each_search_forgets_hands_where_there_are_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    before = hand_of()
    played("2/1 1/2 2/1")
    assert hand_of() is before
    monkeypatch.setattr(playing, "_HANDS_KEPT", 0)
    played("2/1 1/2 2/1")
    assert hand_of() is not before


@pytest.mark.parametrize("of_grips", [reach.fits, reach.held_of, reach.strain, reach._leaning_together])
def test_what_is_worked_out_of_grips_is_kept_for_so_many_only(of_grips: Callable[..., object]) -> None:
    most = of_grips.cache_info().maxsize  # type: ignore[attr-defined]
    assert most is not None
    assert 0 < most <= 1 << 16
