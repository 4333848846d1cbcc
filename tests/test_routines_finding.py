"""Finding licks: facts mean what they say, other words are looked for in titles and in what a lick trains."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from routines.finding import all_facts, facts_of, find
from routines.library import all_licks, changes_of, shape_changes_of, techniques_of
from routines.lick import Lick
from tests.in_turn import in_turn

HOME = {"G": "D7", "A": "E7", "Bb": "F7", "B": "F#7", "C": "G7", "D": "A7", "E": "B7", "F": "C7"}
LEADS_HOME = {(f"{seven}-{key}", key) for key, seven in HOME.items()} | {("E7-Am", "Am"), ("B7-Em", "Em")}


def ids(query: str, *, growing: bool = False) -> list[str]:
    return [lick.id for lick in find(query, growing=growing)]


def those(fits: Callable[[Lick], bool]) -> list[str]:
    found = [lick.id for lick in all_licks() if fits(lick)]
    assert 0 < len(found) < len(all_licks())
    return found


def test_nothing_asked_finds_all() -> None:
    assert find("") == find("   ") == all_licks()


@pytest.mark.parametrize("query", ["A7-D", "a7-d", "A7–D", "A7→D", "  A7-D  "])
def test_by_change_as_it_sounds_and_as_it_is_shaped(query: str) -> None:
    assert ids(query) == those(lambda lick: "A7-D" in (*changes_of(lick), *shape_changes_of(lick)))


@in_turn(
    ("query", "fits"),
    [
        ("A", lambda lick: lick.key == "A"),
        ("b", lambda lick: lick.key == "B"),
        ("easy", lambda lick: lick.hand == "easy"),
        ("quick", lambda lick: lick.hand == "quick"),
        ("roll", lambda lick: lick.kind == "roll"),
        ("drill", lambda lick: lick.kind == "drill"),
        ("3/4", lambda lick: lick.meter == "3/4"),
        ("waltz", lambda lick: lick.meter == "3/4"),
        ("kick-off", lambda lick: lick.use == "kick-off"),
        ("ending", lambda lick: lick.use == "ending"),
        ("backup", lambda lick: lick.use == "backup"),
        ("slide", lambda lick: "slide" in techniques_of(lick)),
        ("choke", lambda lick: "choke" in techniques_of(lick)),
        ("pinch", lambda lick: "pinch" in techniques_of(lick)),
        ("capo2", lambda lick: lick.neck.capo == 2),
        ("capo 4", lambda lick: lick.neck.capo == 4),
        ("hammer-on", lambda lick: "hammer" in techniques_of(lick)),
        ("pull-offs", lambda lick: "pull" in techniques_of(lick)),
        ("gCGBD", lambda lick: lick.neck.tuning == "gCGBD"),
        ("colour", lambda lick: all(ask.how == "colour" for ask in lick.sevenths)),
        ("V7-I", lambda lick: any((one, lick.key) in LEADS_HOME for one in changes_of(lick))),
        ("high", lambda lick: max(note.fret for note in lick.notes) > 7),
        ("E7-A easy", lambda lick: "easy" in facts_of(lick) and "e7-a" in facts_of(lick)),
    ],
)
def test_a_fact_means_the_fact(query: str, fits: Callable[[Lick], bool]) -> None:
    assert ids(query) == ids(query.upper()) == those(fits)


def test_every_word_must_fit() -> None:
    assert ids("easy quick") == []
    assert ids("A7-D easy tally") == ["tally-stick"]


@pytest.mark.parametrize("query", ["chalk two", "saw coffee", "Sawdust in the Coffee".lower(), "tally-stick"])
def test_by_words_of_the_title(query: str) -> None:
    assert len(ids(query)) >= 1
    for lick in find(query):
        assert all(word in lick.id.replace("-", " ") or word == lick.id for word in query.split())


def test_by_words_of_what_it_trains_three_letters_are_enough() -> None:
    assert "pond-mans-lean" in ids("patience")
    assert "pond-mans-lean" in ids("pati")
    assert "tally-stick" not in ids("patience")
    assert ids("sl") == []


def test_no_note_named_in_a_sentence_answers_to_a_key() -> None:
    assert {lick.key for lick in find("F")} == {"F"}
    assert any(" F" in lick.trains and lick.key != "F" for lick in all_licks())


def test_what_fits_nothing() -> None:
    assert ids("nothing-of-ours") == []


def test_a_growing_word_narrows_and_never_loses_what_it_will_mean() -> None:
    for query in ("waltz", "kick-off", "A7-D", "pinch", "patience", "easy slide"):
        whole = set(ids(query))
        before = set(ids(""))
        for length in range(1, len(query) + 1):
            now = set(ids(query[:length], growing=True))
            assert whole <= now
            before = now
        assert set(ids(query + " ", growing=True)) == whole
        assert whole <= before


def test_a_fact_is_one_word() -> None:
    assert all(fact and " " not in fact and fact == fact.casefold() for fact in all_facts())
