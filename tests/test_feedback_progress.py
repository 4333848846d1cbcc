"""Progress as text, as JSON and as cells: every fact in each of them, readable at 80 columns."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest

from feedback.progress_json import as_csv, as_json
from feedback.progress_told import told
from feedback.progress_words import day_words, lean_words, minutes_words, practice_words, share
from routines.journal.records import Item
from routines.progress.types import ItemProgress, WarmUpProgress
from tests.progressed import CHORDS, EMPTY, FEW, YEARS, guides, lick, stale


def test_the_sentence_comes_first() -> None:
    lines = told(FEW)
    assert lines[0].startswith(FEW.sentence[:60])
    assert lines[lines.index("") + 1] == "me, 6 Sep 2026 to 29 Nov 2026"


def test_a_lick_is_told_with_its_counts() -> None:
    text = "\n".join(told(FEW))
    at = text.index("\nSlab Wood Supper in G ", text.index("Licks: ")) + 1
    told_of_it = " ".join(text[at : text.index("The Edger's Nod")].split())
    assert told_of_it == (
        "Slab Wood Supper in G 74 82 110 in hand 150 of 210 95 "
        "sevens sounded 34 of 36, landed 31 of 36, swallowed 2 of 36, resolved 25 of 34 "
        "lean 7 ms behind the click, bounce 56:44, spread 18 ms "
        "home 58 to 74, edge 66 to 82 since 20 Oct 2026; last on 28 Nov 2026"
    )
    assert "D7  seven C     34 of 36   31 of 36    2 of 36   25 of 34\n    falls to B in G, B in Em; " in text


def under(*items: ItemProgress) -> str:
    """What is told of licks, in one line."""
    return " ".join("\n".join(told(replace(FEW, items=items, keys=(), chords=()))).split())


def test_home_and_edge_that_are_older_than_the_last_day_say_so() -> None:
    assert "as of" not in under(*FEW.items)
    old = stale(lick(days=(40, 6)), 1)
    assert "edge 66 to 84 since 20 Oct, as of 23 Nov; last on 28 Nov 2026" in under(old)
    assert "spread 18 ms home and edge as of 23 Nov; last on 29 Nov 2026" in under(stale(lick(days=(6,))))
    assert "home and edge as of 30 Dec 2025;" in under(stale(lick(days=(334,))))
    assert "as of" not in under(stale(lick(days=())))
    assert [one["levels_as_of"] for one in as_json(replace(FEW, items=(old, lick())))["licks"]] == [
        "2026-11-23",
        "",
    ]


def test_what_did_not_change_has_one_number() -> None:
    one = lick(days=(40, 6))
    same = tuple(replace(day, home_half_bpm=61.2) for day in one.levels)
    assert "home 61, edge 66 to 84 since 20 Oct 2026" in under(replace(one, levels=same))
    same = tuple(replace(day, edge_half_bpm=67.0) for day in same)
    assert "home 61, edge 67 since 20 Oct 2026" in under(replace(one, levels=same))


def test_only_a_lick_that_is_asked_for_has_its_days_and_they_have_its_name() -> None:
    one = replace(FEW, items=FEW.items[:1])
    for kind, what in (("", ""), ("key", "G"), ("chord", "D7")):
        assert "over time" not in "\n".join(told(replace(one, asked_kind=kind, asked_for=what)))  # type: ignore[arg-type]
    lines = told(replace(one, asked_kind="lick", asked_for="slab-wood-supper"))
    at = lines.index("Slab Wood Supper in G, home and edge over time")
    assert lines[at + 2].split() == ["20", "Oct", "2026", "58", "66"]


def test_a_dash_of_a_warm_up_is_explained() -> None:
    often = WarmUpProgress(name="held-sevens", passes=4, clean=3, minutes=2.0, last_day="2026-11-29")
    text = "\n".join(told(replace(FEW, warm_ups=(often,))))
    assert "\nWarm-ups: clean passes of all, minutes\n" in text
    text = "\n".join(told(replace(FEW, warm_ups=(often, replace(often, passes=3)))))
    assert "\nWarm-ups: clean passes of all (– of fewer than 4), minutes\n" in text


def test_no_seven_comes_home() -> None:
    assert "came home" not in "\n".join(told(FEW))
    assert "swallowed   resolved" in "\n".join(told(FEW))


@pytest.mark.parametrize("found", [FEW, YEARS, EMPTY, replace(YEARS, asked_kind="lick", asked_for="x")])
def test_lines_keep_to_80_columns_and_counts_are_never_torn_apart(found: object) -> None:
    for line in "\n".join(told(found)).splitlines():  # type: ignore[arg-type]
        assert len(line) <= 80
        assert line == line.rstrip()
        assert not line.endswith(" of")
        assert "\xa0" not in line


def test_of_many_licks_those_practised_most_are_told() -> None:
    many = tuple(replace(FEW.items[0], title=f"Lick {at}", item=Item(f"lick-{at}", "G")) for at in range(14))
    text = "\n".join(told(replace(FEW, items=many)))
    assert "Lick 11 in G" in text
    assert "Lick 12 in G" not in text
    assert "\nand 2 more: sevenfall progress LICK shows one, --json all\n" in text
    keys = tuple(
        replace(one, item=Item("one-lick", key)) for one, key in zip(many, "ABCDEFGHIJKLMN", strict=True)
    )
    assert "more: sevenfall" not in "\n".join(told(replace(FEW, items=keys)))


def test_chords_that_were_hardly_asked_for_stand_behind_a_line() -> None:
    rare, often = (replace(CHORDS[0], chord=name, guides=guides(n)) for name, n in (("Gb7", 19), ("F7", 20)))
    text = "\n".join(told(replace(FEW, chords=(*CHORDS, rare, often))))
    assert text.endswith("\nand 1 more, each asked for fewer than 20 times: --json has all")
    assert ("Gb7" in text, "F7" in text) == (False, True)
    for found in (replace(FEW, chords=(rare,)), replace(FEW, asked_for="Gb7", chords=(rare, often))):
        assert "Gb7  seven C" in "\n".join(told(found))
        assert "fewer than" not in "\n".join(told(found))


def test_what_was_played_is_said_once() -> None:
    few = {"minutes_week": 20.0, "passes_week": 60, "minutes_span": 50.0, "passes_span": 150}
    several = replace(FEW, **few, minutes_all=700.0, passes_all=2000)
    assert practice_words(several) == (
        "20 minutes played and 60 passes in the last seven days; 50 minutes and 150 passes in these weeks; "
        "12 hours and 2000 passes in all since 14 Sep 2026"
    )
    span = replace(several, minutes_all=50.0, passes_all=150)
    assert practice_words(span) == (
        "20 minutes played and 60 passes in the last seven days; "
        "50 minutes and 150 passes in all since 14 Sep 2026"
    )
    week = replace(span, minutes_week=50.0, passes_week=150)
    assert practice_words(week) == "50 minutes played and 150 passes in all since 14 Sep 2026"
    assert practice_words(EMPTY).startswith("0 minutes played and 0 passes in the last seven days; 0 ")


def test_nothing_in_the_span_is_said_so() -> None:
    assert told(EMPTY)[-1] == "Nothing was played in these weeks: --weeks N looks back farther."


def test_words() -> None:
    assert (share(46, 50), share(3, 3), share(0, 4)) == ("46 of 50", "–", "0 of 4")
    assert [lean_words(lean) for lean in (None, -12.4, 0.3)] == [
        "–",
        "12 ms ahead of the click",
        "on the click",
    ]
    assert [minutes_words(n) for n in (0.0, 0.4, 1.2, 599.0, 1260.0)] == [
        "0 minutes", "less than a minute", "1 minute", "599 minutes", "21 hours",
    ]  # fmt: skip
    assert (day_words("2026-03-01"), day_words("2026-03-01", with_year=False)) == ("1 Mar 2026", "1 Mar")


def test_json_has_every_fact_and_nothing_that_json_has_not() -> None:
    found = json.loads(json.dumps(as_json(FEW), allow_nan=False))
    lick = found["licks"][0]
    assert (found["sentence"], found["player"], found["passes_all"]) == (FEW.sentence, "me", 900)
    assert (lick["name"], lick["key"], lick["how_far"], lick["edge_half_bpm"]) == (
        "Slab Wood Supper in G", "G", "in hand", 82.0,
    )  # fmt: skip
    assert lick["sevens"]["landed_rate"] == round(31 / 36, 4)
    assert lick["thirds"]["landed_rate"] is None
    assert len(lick["levels"]) == len(FEW.items[0].levels)
    assert found["chords"][0]["falls_to"] == ["G: B", "Em: B"]
    assert [key["key"] for key in found["keys"]] == ["G", "D", "Bb"]


def test_cells_have_the_same_facts_in_one_table() -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(FEW))))
    kinds = [row["what"] for row in rows]
    assert {kind: kinds.count(kind) for kind in dict.fromkeys(kinds)} == {
        "player": 1, "lick": 4, "level": sum(len(item.levels) for item in FEW.items), "key": 3, "chord": 6,
        "week": 1,
    }  # fmt: skip
    lick = next(row for row in rows if row["what"] == "lick")
    assert (lick["name"], lick["landed"], lick["third_asked"], lick["lean_ms"]) == (
        "Slab Wood Supper in G", "31", "0", "7.4",
    )  # fmt: skip
    chord = next(row for row in rows if row["what"] == "chord")
    assert (chord["name"], chord["voice"], chord["day"]) == ("D7", "seven", "")
    assert chord["falls_to"] == "G: B; Em: B"


def test_no_cell_is_taken_for_a_formula() -> None:
    odd = replace(
        FEW, player="=1+1", items=(replace(FEW.items[0], title="@home", lean_ms=-7.0),), sentence="-x"
    )
    for cells in csv.reader(io.StringIO(as_csv(odd))):
        assert not any(cell[:1] in ("=", "+", "-", "@") for cell in cells)
    rows = list(csv.DictReader(io.StringIO(as_csv(odd))))
    assert (rows[0]["name"], rows[0]["sentence"], rows[1]["lean_ms"]) == ("'=1+1", "'-x", "'-7.0")
