"""The warm-ups on the screen: the list, what stands between two turns, and the remark at the end."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from feedback.screen.lettering import signed
from feedback.screen.marks import READABLE, Box, Picture, Sheet, Text
from feedback.screen.screens.warm_up import NOT_YET, WarmUps, enter
from feedback.screen.staging import Go, House, Leave
from feedback.screen.views.warm_up import (
    FURTHER,
    WarmUpRow,
    WarmUpsState,
    pages_of,
    rows_on,
    warm_ups_picture,
)
from feedback.screen.views.warm_up_between import AFTER, GO_ON, STOP, warm_up_between
from feedback.setting_rows import SETTINGS
from feedback.warm_up_seen import WarmUpSeen
from routines.journal.journal import Journal
from routines.journal.records import Item
from routines.library import load
from routines.warmups.table import WARM_UPS, warm_up
from tests.few import few_licks
from tests.pictures import SHEETS, check_picture
from tests.practice_weeks import TODAY, a_pass

ROWS = tuple(
    WarmUpRow(
        name=f"w{number}",
        title=f"Warm-up number {number} in B",
        about=f"Sentence {number} says what it is good for: the hand learns where G#7 keeps its seven.",
        minutes=2.6 + number,
        last=("today", NOT_YET, "9 weeks ago", "in September", "in Sep 2024")[number % 5],
    )
    for number in range(10)
)
LIST = WarmUpsState(rows=ROWS)
MANY = WarmUpsState(rows=tuple(replace(ROWS[k % 10], name=f"m{k}", title=40 * "So long ") for k in range(25)))
SEEN = WarmUpSeen(
    title="Held sevenths",
    says="G7: F under the thumb",
    lick=load("slab-wood-supper"),
    round=2,
    rounds=3,
    step=1,
    steps=4,
    tempo_half_bpm=66.0,
)
REMARK = "Over C7 the Bb was swallowed by the roll in 5 of 8: let the thumb fall a little heavier there."


def _house(**changed: str | float) -> House:
    return House(values={name: row.default for name, row in SETTINGS.items()} | changed, clock=lambda: 0.0)


def _now() -> datetime:
    return datetime(TODAY.year, TODAY.month, TODAY.day, 20, tzinfo=UTC)


def _one(picture: Picture, text: str) -> Text:
    return next(mark for mark in picture.marks if isinstance(mark, Text) and mark.text == text)


# the list


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_list_can_be_read_everywhere(sheet: Sheet) -> None:
    trouble = "journal.sqlite: it is locked by another program that does not let go " * 3
    for state in (LIST, MANY, replace(MANY, page=2, trouble=trouble), WarmUpsState(rows=())):
        names = [spot.does for spot in warm_ups_picture(state, sheet, "").spots]
        for focus in ("", names[0], names[-1]):
            check_picture(warm_ups_picture(state, sheet, focus))


@pytest.mark.parametrize("sheet", SHEETS)
def test_ten_stand_on_one_page_and_one_row_says_all_of_its_warm_up(sheet: Sheet) -> None:
    picture = warm_ups_picture(LIST, sheet, "warm-up w3")
    assert [spot.does for spot in picture.spots] == [*(f"warm-up w{k}" for k in range(10)), "back"]
    title, minutes, last = (_one(picture, text) for text in (ROWS[3].title, "6 minutes", "in September"))
    assert title.y == minutes.y == last.y
    assert picture.spots[3].says == "Warm-up number 3 in B, 6 minutes"


def test_only_the_one_with_the_focus_is_inked_over_and_its_sentence_is_said() -> None:
    picture = warm_ups_picture(LIST, Sheet(), "warm-up w3")
    (inked,) = [m for m in picture.marks if isinstance(m, Box) and m.fill == "chosen"]
    assert inked.y == picture.spots[3].y
    assert signed(ROWS[3].about) in " ".join(picture.texts)
    assert "Sentence 4" not in " ".join(picture.texts)
    assert "Sentence" not in " ".join(warm_ups_picture(LIST, Sheet(), "back").texts)


def test_a_trouble_is_told_where_no_sentence_stands() -> None:
    state = replace(LIST, trouble="journal.sqlite: cannot be read")
    assert _one(warm_ups_picture(state, Sheet(), "back"), "journal.sqlite: cannot be read").ink == "astray"
    assert "journal.sqlite: cannot be read" not in warm_ups_picture(state, Sheet(), "warm-up w0").texts


def test_what_has_no_room_stands_on_the_next_page() -> None:
    fit = rows_on(Sheet())
    assert (pages_of(LIST, Sheet()), pages_of(MANY, Sheet())) == (1, -(-25 // fit))
    seen = []
    for page in range(pages_of(MANY, Sheet())):
        spots = warm_ups_picture(replace(MANY, page=page), Sheet(), "").spots
        assert [spot.does for spot in spots][-2:] == [FURTHER, "back"]
        seen += [spot.does for spot in spots[:-2]]
    assert seen == [f"warm-up m{k}" for k in range(25)]
    assert warm_ups_picture(replace(MANY, page=99), Sheet(), "").spots[0].does == seen[fit * (25 // fit)]


def test_the_focus_begins_where_it_is_asked_to() -> None:
    spots = [spot.does for spot in warm_ups_picture(replace(LIST, first="w4"), Sheet(), "").spots]
    assert spots[:2] == ["warm-up w4", "warm-up w5"]
    assert spots[-1] == "warm-up w3"


# the screen


def test_every_warm_up_is_offered_and_begins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    screen = enter(_house())
    picture = screen.picture(Sheet(), "")
    check_picture(picture)
    assert [spot.does for spot in picture.spots] == [*(f"warm-up {name}" for name in WARM_UPS), "back"]
    assert picture.texts.count(NOT_YET) == len(WARM_UPS)
    for name in WARM_UPS:
        assert warm_up(name).title in picture.texts
        assert screen.act(f"warm-up {name}") == Go("play along", {"warm_up": name})
    assert screen.act("back") == Leave()
    assert screen.act("warm-up gone") is None
    assert screen.press("up") is False
    assert screen.tick() is None
    assert list(tmp_path.iterdir()) == []


def test_when_it_was_played_last_is_read_anew_after_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    with Journal.open(tmp_path, now=_now) as journal:
        journal.add(a_pass(1, Item("warm-up/pinches/one", "C"), days_ago=9))
        journal.add(a_pass(2, Item("warm-up/pinches/two", "C"), days_ago=3))
        journal.add(a_pass(3, Item("warm-up/slurs/one", "C"), days_ago=3, player="someone"))
        journal.add(a_pass(4, Item("slab-wood-supper", "G"), days_ago=1))
        screen = WarmUps(_house(), now=_now)
        texts = screen.picture(Sheet(), "").texts
        assert texts.count("3 days ago") == 1
        assert texts.count(NOT_YET) == len(WARM_UPS) - 1
        journal.add(a_pass(5, Item("warm-up/pinches/one", "C")))
        assert "today" not in screen.picture(Sheet(), "").texts
        screen.act("warm-up pinches")
        assert "today" in screen.picture(Sheet(), "").texts
    for_someone = WarmUps(_house(player="someone"), now=_now).picture(Sheet(), "")
    pinches, slurs = (_one(for_someone, warm_up(name).title).y for name in ("pinches", "slurs"))
    assert _one(for_someone, "3 days ago").y == slurs != pinches


def test_it_opens_at_the_one_that_was_played(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    assert enter(_house(), "slurs").picture(Sheet(), "").spots[0].does == "warm-up slurs"
    assert enter(_house(), "gone").picture(Sheet(), "").spots[0].does == f"warm-up {next(iter(WARM_UPS))}"


def test_a_journal_that_cannot_be_read_does_not_keep_anyone_from_warming_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    (tmp_path / "journal.sqlite").write_text("this is no journal, " * 99)
    screen = enter(_house())
    picture = screen.picture(Sheet(), "back")
    check_picture(picture)
    assert any("journal.sqlite" in text for text in picture.texts)
    assert NOT_YET not in picture.texts
    assert screen.act("warm-up slurs") == Go("play along", {"warm_up": "slurs"})


# between two turns


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_warm_up_and_few_licks_can_be_read_between_two_turns(sheet: Sheet) -> None:
    for name in WARM_UPS:
        found = warm_up(name)
        step = found.steps(0)[-1]
        picture = warm_up_between(
            replace(SEEN, title=found.title, says=step.says, lick=step.lick), sheet, GO_ON
        )
        check_picture(picture)
        assert not any("…" in text for text in picture.texts), step
    says = "Capo at 4, and the fifth string up to b by its spike at fret 9; then roll on"
    for lick in few_licks() if sheet == SHEETS[0] else ():
        check_picture(warm_up_between(replace(SEEN, lick=lick, says=says), sheet, STOP))


def test_what_comes_next_is_the_largest_and_whole() -> None:
    for sheet in SHEETS:
        picture = warm_up_between(SEEN, sheet, GO_ON)
        said = _one(picture, "G7: F under the thumb")
        assert all(said.size >= 1.3 * m.size for m in picture.marks if isinstance(m, Text) and m is not said)
        assert said.bold


def test_round_step_and_tempo_are_told_and_the_tab_stands_below() -> None:
    picture = warm_up_between(SEEN, Sheet(), GO_ON)
    assert {"Held sevenths", "round 2 of 3, step 1 of 4", "66 half notes a minute"} <= set(picture.texts)
    string = _one(picture, "g")
    assert string.y > _one(picture, "66 half notes a minute").y
    assert string.size >= READABLE
    assert [spot.does for spot in picture.spots] == [GO_ON, STOP]


def test_without_words_the_lick_is_named_and_a_capo_is_told() -> None:
    assert "Slab Wood Supper" in warm_up_between(replace(SEEN, says=""), Sheet(), GO_ON).texts
    capo = warm_up_between(replace(SEEN, lick=load("trimmers-choice")), Sheet(), GO_ON)
    assert "capo 4, G shape, key of B" in capo.texts


def test_names_have_real_signs() -> None:
    texts = warm_up_between(replace(SEEN, says="C7: Bb under the thumb"), Sheet(), GO_ON).texts
    assert "C7: B♭ under the thumb" in texts


# the end


@pytest.mark.parametrize("sheet", SHEETS)
def test_at_the_end_the_one_remark_is_large_and_whole(sheet: Sheet) -> None:
    over = replace(SEEN, remark=REMARK)
    picture = warm_up_between(over, sheet, "another")
    check_picture(picture)
    assert signed(REMARK) in " ".join(picture.texts)
    assert [spot.does for spot in picture.spots] == list(AFTER)
    remark = [m for m in picture.marks if isinstance(m, Text) and m.text in signed(REMARK)]
    assert all(line.size >= 40.0 for line in remark)
    assert "round" not in " ".join(picture.texts)
    check_picture(warm_up_between(replace(over, remark=9 * REMARK), sheet, "back"))


def test_days_are_told_by_the_clock_of_the_player(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    with Journal.open(tmp_path, now=_now) as journal:
        journal.add(a_pass(1, Item("warm-up/pinches/one", "C")))
    screen = WarmUps(_house(), now=lambda: _now() + timedelta(hours=5))
    assert "yesterday" in screen.picture(Sheet(), "").texts
