"""What is remembered of a practice: every finished pass, whatever happens to the disk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from feedback.memory import Memory
from feedback.practice_events import Begins, Trouble
from feedback.practice_request import PracticeRequest
from feedback.remembered import Remembered
from routines.excerpt import span_of
from routines.journal.backups import backups
from routines.journal.errors import JournalTrouble
from routines.journal.exports import passes_of
from routines.journal.journal import Journal
from routines.journal.records import Item, PassRecord
from routines.journal.sittings import BREAK, began, sitting_at
from routines.library import load
from tests.passed import over_of, turn_of

LICK = load("slab-wood-supper")
NOW = datetime(2026, 11, 29, 21, 15, tzinfo=timezone(timedelta(hours=-6)))
REQUEST = PracticeRequest(lick=LICK, tempo_half_bpm=80.0)


def about(folder: Path, now: datetime = NOW) -> Remembered:
    return Remembered(folder=folder, player="Ada", source="mic", now=lambda: now)


def stored(folder: Path) -> list[PassRecord]:
    with Journal.open(folder, now=lambda: NOW, writes=False) as journal:
        return list(journal.passes())


def test_a_finished_pass_is_there_before_the_next_is_begun(tmp_path: Path) -> None:
    memory = Memory(about(tmp_path))
    assert list(memory.told(Begins(turn=1), REQUEST)) == []
    passed, over = turn_of(LICK, 80.0, [(), ("left-hanging",)])
    for number, one in enumerate(passed, 1):
        assert list(memory.told(one, REQUEST)) == []
        assert len(stored(tmp_path)) == number
    assert list(memory.told(over, REQUEST)) == []
    assert list(memory.close()) == []
    first, second = stored(tmp_path)
    assert (first.player, first.source, first.title) == ("Ada", "mic", LICK.title)
    assert first.item == Item("slab-wood-supper", LICK.key)
    assert (first.day, first.ended_at) == ("2026-11-29", NOW)
    assert first.lasted_sec == pytest.approx((LICK.bars + 1) * 120.0 / 80.0)
    assert first.outcome == passed[0].over.judged.outcome
    assert (first.outcome.clean, second.outcome.clean) == (True, False)
    assert first.id != second.id
    assert first.sitting == second.sitting


def test_one_that_was_broken_off_is_none_and_one_told_twice_is_there_once(tmp_path: Path) -> None:
    memory = Memory(about(tmp_path))
    passed, _ = turn_of(LICK, 80.0, [()])
    broken = replace(passed[0], over=replace(passed[0].over, number=2, complete=False))
    for one in (passed[0], broken, passed[0]):
        assert list(memory.told(one, REQUEST)) == []
    assert list(memory.close()) == []
    assert len(stored(tmp_path)) == 1


def test_parts_and_ways_are_items_of_their_own(tmp_path: Path) -> None:
    memory = Memory(about(tmp_path))
    units = {}
    for number, text in enumerate(("change", "1", "1-2"), 1):
        span = span_of(text, LICK)
        part = span.of(LICK)
        request = replace(REQUEST, lick=part, whole=LICK, span=span)
        list(memory.passed(number, over_of(part, 80.0), request))
        units[text] = Item(LICK.id, LICK.key, text)
    list(memory.passed(9, over_of(LICK, 80.0), replace(REQUEST, way="form 8", routine="")))
    list(memory.close())
    assert {one.item for one in stored(tmp_path)} == {*units.values(), Item(LICK.id, LICK.key, "form 8")}


def test_a_sitting_goes_on_from_run_to_run(tmp_path: Path) -> None:
    for minutes in (0, 19, 50):
        memory = Memory(about(tmp_path, NOW + timedelta(minutes=minutes)))
        list(memory.passed(1, over_of(LICK, 80.0), REQUEST))
        list(memory.close())
    first, second, third = stored(tmp_path)
    assert first.sitting == second.sitting != third.sitting
    assert began(first.sitting) == NOW
    assert began(third.sitting) == NOW + timedelta(minutes=50)


def test_sittings_at_their_limits() -> None:
    old = sitting_at(None, NOW, "a")
    assert began(old.id) == old.began_at == NOW
    assert sitting_at((old.id, NOW), NOW + BREAK, "b") == old
    assert sitting_at((old.id, NOW), NOW + BREAK + timedelta(seconds=1), "b").id.endswith("b")
    assert sitting_at((old.id, NOW), NOW - timedelta(seconds=1), "b").id.endswith(
        "b"
    )  # the clock was put back
    assert sitting_at(("what is this", NOW), NOW, "b").id.endswith("b")


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[bool]]:
    """While the list has True in it, nothing can be stored."""
    fails: list[bool] = []
    add = Journal.add

    def adds(journal: Journal, record: PassRecord) -> bool:
        if any(fails):
            raise JournalTrouble(journal.file, "disk full")
        return add(journal, record)

    monkeypatch.setattr(Journal, "add", adds)
    return iter([fails])


def test_a_full_disk_is_told_once_and_the_passes_follow(
    tmp_path: Path, failing: Iterator[list[bool]]
) -> None:
    (fails,) = failing
    fails.append(True)
    memory = Memory(about(tmp_path))
    passed, _ = turn_of(LICK, 80.0, [(), (), ()])
    told = [trouble for one in passed[:2] for trouble in memory.told(one, REQUEST)]
    assert [trouble.line for trouble in told] == [
        f"not remembered yet: {tmp_path / 'journal.sqlite'}: disk full"
    ]
    fails.clear()
    assert list(memory.told(passed[2], REQUEST)) == [Trouble(line="")]  # what was told is over
    assert list(memory.close()) == []
    assert [one.outcome for one in stored(tmp_path)] == [one.over.judged.outcome for one in passed]


def test_what_cannot_be_written_by_the_end_is_written_beside(
    tmp_path: Path, failing: Iterator[list[bool]]
) -> None:
    (fails,) = failing
    fails.append(True)
    memory = Memory(about(tmp_path))
    passed, _ = turn_of(LICK, 80.0, [(), ("left-hanging",)])
    for one in passed:
        list(memory.told(one, REQUEST))
    (last,) = memory.close()
    assert isinstance(last, Trouble)
    assert last.lost == 0
    (file,) = tmp_path.glob("passes-*.json")
    assert str(file) in last.line
    assert "sevenfall journal import" in last.line
    assert [one.outcome for one in passes_of(file)] == [one.over.judged.outcome for one in passed]


def test_where_nothing_can_be_written_it_says_how_many_are_lost(tmp_path: Path) -> None:
    folder = tmp_path / "a-file"
    folder.write_text("not a folder")
    memory = Memory(about(folder))
    passed, _ = turn_of(LICK, 80.0, [(), ()])
    told = [trouble for one in passed for trouble in memory.told(one, REQUEST)]
    assert len(told) == 1
    (last,) = memory.close()
    assert last.lost == 2
    assert last.line.startswith("2 passes lost: ")


def test_once_a_week_it_is_looked_through_and_copied_meanwhile(tmp_path: Path) -> None:
    for days, copies in ((0, 1), (6, 1), (7, 2)):
        memory = Memory(about(tmp_path, NOW + timedelta(days=days)))
        assert list(memory.told(Begins(turn=1), REQUEST)) == []
        if memory._check is not None:
            assert memory._check.join(20.0)
        assert list(memory.close()) == []
        assert len(backups(tmp_path)) == copies
