"""Which licks are meant: filters that never lead to nothing, and words that narrow as they are typed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

import pytest

from feedback.screen.views.search import (
    FILTERS,
    LETTERS_TOGETHER,
    TECHNIQUES,
    USES,
    Search,
    facts,
    words_of,
)
from routines.finding import facts_of, find
from routines.library import all_licks, load, techniques_of

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


def test_of_a_change_its_beginning_is_enough() -> None:
    begun = [lick for lick in all_licks() if any(fact.startswith("f#") for fact in facts_of(lick))]
    assert CHOICE in begun
    assert set(Search(typed="f#").found()) >= set(begun)
    assert Search(typed="f#7-b ").found() == Search(change="F#7-B").found()


def test_a_change_is_found_as_it_sounds_and_as_it_is_shaped() -> None:
    assert CHOICE in Search(change="D7-G").found()
    assert CHOICE in Search(change="F#7-B").found()
    assert SUPPER not in Search(change="F#7-B").found()


@pytest.mark.parametrize("name", FILTERS)
def test_a_filter_goes_round_and_never_leads_to_nothing(name: str) -> None:
    for search in (Search(), Search(key="A"), Search(hand="easy", use="fill"), Search(typed="b")):
        start = replace(search, **{name: ""})
        seen: list[str] = []
        at = start
        while not seen or at != start:
            seen.append(getattr(at, name))
            at = at.cycled(name)
            assert at.found()
        assert seen == list(start.choices(name))
        assert start.cycled(name, -1).cycled(name) == start
        backwards = start.cycled(name, -1)
        assert getattr(backwards, name) == seen[-1]


@pytest.mark.parametrize("name", FILTERS)
def test_a_filter_leaves_the_licks_that_have_its_value_and_each_value_goes_round(name: str) -> None:
    values = {value for lick in all_licks() for value in facts(lick, name)}
    assert set(Search().choices(name)) == {"", *values}
    for value in values:
        found = replace(Search(), **{name: value}).found()
        assert found == tuple(lick for lick in all_licks() if value in facts(lick, name))


def test_filters_add_up() -> None:
    lick = next(lick for lick in all_licks() if lick.use and "hammer" in techniques_of(lick))
    search = Search(use=lick.use, technique="hammer", hand=lick.hand, key=lick.key)
    assert lick in search.found()
    for one in search.found():
        assert (one.use, one.hand, one.key) == (lick.use, lick.hand, lick.key)
        assert "hammer" in techniques_of(one)


def test_what_a_lick_is_for_and_what_hands_do_are_its_facts() -> None:
    waltz = next(lick for lick in all_licks() if lick.meter == "3/4")
    assert "waltz" in facts(waltz, "use")
    assert all(facts(lick, "use") for lick in all_licks() if lick.use or lick.kind != "lick")
    assert all(facts(lick, "technique") == techniques_of(lick) for lick in all_licks())


def test_titles_go_by_their_first_letters_a_few_together() -> None:
    letters = Search().choices("title")[1:]
    assert list(letters) == sorted(letters)
    for lick in all_licks():
        [group] = facts(lick, "title")
        assert group[0] <= lick.title[0].upper() <= group[-1]
    for group in letters:
        many = len(Search(title=group).found())
        assert many <= LETTERS_TOGETHER or "-" not in group
    for one, after in itertools.pairwise(letters):
        first = [lick for lick in Search(title=after).found() if lick.title[0].upper() == after[0]]
        assert len(Search(title=one).found()) + len(first) > LETTERS_TOGETHER
    assert facts(replace(SUPPER, title="Åkerö"), "title") == ()


def test_filters_have_the_order_of_the_trade() -> None:
    assert Search().choices("hand") == ("", "easy", "ready", "quick")
    assert Search().choices("change")[:2] == ("", "D7-G")
    assert Search().choices("use") == ("", *USES)
    assert Search().choices("technique") == ("", *TECHNIQUES)
    assert [words_of(name, "") for name in FILTERS] == [f"any {name}" for name in FILTERS]
    assert [words_of("key", "G"), words_of("hand", "easy"), words_of("use", "roll")] == [
        "key of G",
        "easy hand",
        "rolls",
    ]
    assert words_of("technique", "pull") == "pull-offs"
    assert [words_of("title", "A-B"), words_of("title", "S")] == ["titles A to B", "titles S"]


def test_where_nothing_fits_it_is_said_what_would() -> None:
    search = Search(hand="quick", typed="edger")
    quick = sum(lick.hand == "quick" for lick in all_licks())
    assert search.found() == ()
    assert replace(search, hand="").found() == (load("the-edgers-nod"),)
    assert quick > 1
    assert search.instead() == f"Without “edger” {quick} licks fit."
    assert Search(typed="edgeer's").instead() == "The nearest name is Edger's."
    assert Search(typed="qqq").instead() == f"Without “qqq” {len(all_licks())} licks fit."
    one = next(s for s in alone() if len(s.found()) == 1)
    assert replace(one, typed="qqq").instead() == "Without “qqq” 1 lick fits."


def alone() -> Iterator[Search]:
    """Searches by three filters, each for a lick that is there."""
    for lick in all_licks():
        yield Search(key=lick.key, hand=lick.hand, change=facts(lick, "change")[0])
