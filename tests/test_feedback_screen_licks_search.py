"""Which licks are meant: filters that never lead to nothing, and words that narrow as they are typed."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from feedback.screen.views.search import FILTERS, Search, words_of
from routines.finding import find
from routines.library import all_licks, load

SUPPER = load("slab-wood-supper")
CHOICE = load("trimmers-choice")


def test_a_search_for_nothing_finds_all() -> None:
    assert Search().found() == all_licks()


@pytest.mark.parametrize(
    ("typed", "query"),
    [("A7-D ", "A7-D"), ("easy ", "easy"), ("slab supper ", "slab supper"), ("choke ", "choke")],
)
def test_whole_words_are_found_as_the_command_finds_them(typed: str, query: str) -> None:
    assert Search(typed=typed).found() == find(query)


def test_each_letter_narrows_from_the_first_one() -> None:
    found = [set(Search(typed="edger"[:k]).found()) for k in range(6)]
    assert all(after <= before for before, after in itertools.pairwise(found))
    assert [lick.id for lick in found[-1]] == ["the-edgers-nod"]
    assert 0 < len(found[1]) < len(found[0])
    assert CHOICE in Search(typed="f#").found()
    assert Search(typed="f#").found() == (CHOICE,)


def test_a_change_is_found_as_it_sounds_and_as_it_is_shaped() -> None:
    assert CHOICE in Search(change="D7-G").found()
    assert CHOICE in Search(change="F#7-B").found()
    assert SUPPER not in Search(change="F#7-B").found()


@pytest.mark.parametrize("name", FILTERS)
def test_a_filter_goes_round_and_never_leads_to_nothing(name: str) -> None:
    for search in (Search(), Search(key="A"), Search(hand="easy", kind="lick"), Search(typed="b")):
        start = replace(search, **{name: ""})
        seen, at = [], start
        while not seen or at != start:
            seen.append(getattr(at, name))
            at = at.cycled(name)
            assert at.found()
        assert seen == list(start.choices(name))
        assert start.cycled(name, -1).cycled(name) == start
        backwards = start.cycled(name, -1)
        assert getattr(backwards, name) == seen[-1]


def test_filters_have_the_order_of_the_trade() -> None:
    assert Search().choices("hand") == ("", "easy", "ready", "quick")
    assert Search().choices("change")[:2] == ("", "D7-G")
    assert [words_of(name, "") for name in FILTERS] == ["any change", "any key", "any hand", "any kind"]
    assert [words_of("key", "G"), words_of("hand", "easy"), words_of("kind", "roll")] == [
        "key of G",
        "easy hand",
        "rolls",
    ]


def test_where_nothing_fits_it_is_said_what_would() -> None:
    search = Search(hand="quick", typed="edger")
    assert search.found() == ()
    without = len(replace(search, typed="").found()), len(replace(search, hand="").found())
    assert without == (2, 1)
    assert search.instead() == "Without “edger” 2 licks fit."
    assert Search(typed="edgre").instead() == "The nearest name is Edger's."
    assert Search(typed="qqq").instead() == f"Without “qqq” {len(all_licks())} licks fit."
    assert Search(typed="qqq", key="A", hand="easy").instead() == "Without “qqq” 1 lick fits."
