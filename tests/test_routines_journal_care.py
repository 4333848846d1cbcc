"""The weekly look through the journal: when it is due, what it copies, what it puts right, how it stops."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from routines.journal import care
from routines.journal.backups import back_up, backups, prune, weekly
from routines.journal.care import WEEK_DAYS, check, check_in_background, due_for_check
from routines.journal.comparing import wrong_totals
from routines.journal.connecting import to_read
from routines.journal.journal import Journal
from routines.journal.mending import is_sound
from routines.journal.recounting import SHARES
from routines.journal.visits import gate, lock_of, others
from tests.journal_child import plain_pass
from tests.journals import all_rows, totals
from tests.passes import AT, a_pass

DAY = AT.date()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Of a journal of a few passes."""
    with Journal.open(tmp_path, now=lambda: AT) as journal:
        journal.add_all(plain_pass("s", n) for n in range(40))
    return tmp_path


def rows_in(file: Path) -> dict[str, list[tuple]]:
    with closing(to_read(file)) as connection:
        return all_rows(connection)


def test_it_is_due_once_a_week(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    assert not due_for_check(tmp_path_factory.mktemp("none"), AT)
    assert due_for_check(folder, AT)
    lines: list[str] = []
    check(folder, now=AT, told=lines.append)
    assert lines == []
    for days, due in ((0, False), (6, False), (7, True), (-6, False), (-7, True), (400, True)):
        assert due_for_check(folder, AT + timedelta(days=days)) is due
    weekly(folder, DAY).rename(weekly(folder, DAY).with_name("journal-of-ann.sqlite"))
    assert due_for_check(folder, AT)


def test_the_newest_three_copies_are_kept_and_those_before_a_version(folder: Path) -> None:
    before = rows_in(folder / "journal.sqlite")
    kept = folder / "backups" / "before-version-2-2026-11-29-193015.sqlite"
    with closing(to_read(folder / "journal.sqlite")) as connection:
        back_up(connection, kept)
    for week in range(5):
        check(folder, now=AT + timedelta(weeks=week), told=pytest.fail)
    names = [weekly(folder, DAY + timedelta(weeks=week)) for week in (4, 3, 2)]
    assert backups(folder) == [*names, kept]
    assert sorted((folder / "backups").iterdir()) == sorted([*names, kept])
    assert all(is_sound(file) and rows_in(file) == before for file in backups(folder))
    prune(folder)
    assert len(backups(folder)) == 4


def test_a_copy_holds_what_is_still_in_the_log(folder: Path) -> None:
    with Journal.open(folder, now=lambda: AT) as journal:
        journal.add(a_pass())
        check(folder, now=AT, told=pytest.fail)
        assert rows_in(weekly(folder, DAY)) == all_rows(journal._connection)


def test_it_goes_on_in_the_background_while_passes_are_stored(folder: Path) -> None:
    lines: list[str] = []
    with Journal.open(folder, now=lambda: AT) as journal:
        checking = check_in_background(folder, now=AT, told=lines.append)
        assert journal.add(a_pass())
        assert checking.join(30.0)
        assert checking.over
        checking.stop()  # does no harm
        assert journal.count() == 41
    assert lines == []
    assert is_sound(weekly(folder, DAY))


def test_it_can_be_stopped(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it copies: nothing is left half done."""
    checks: list[care.Checking] = []

    def stopped(connection: sqlite3.Connection) -> list[tuple[int, int]]:
        while not checks:
            pass
        checks[0].stop()
        return []

    monkeypatch.setattr(care, "wrong_totals", stopped)
    checks.append(check_in_background(folder, now=AT, told=pytest.fail))
    assert checks[0].join(30.0)
    assert backups(folder) == []
    assert due_for_check(folder, AT)


def test_a_copy_that_is_stopped_leaves_nothing(folder: Path) -> None:
    with closing(to_read(folder / "journal.sqlite")) as connection:
        assert not back_up(connection, weekly(folder, DAY), lambda: False)
        assert not connection.in_transaction
        assert list((folder / "backups").iterdir()) == []
        assert back_up(connection, weekly(folder, DAY))


def test_what_was_left_by_those_who_were_killed_is_swept_away_first(folder: Path) -> None:
    left = [folder / "backups" / f".{name}.77.part" for name in ("journal-2026-11-22", "before-version-2")]
    left += [folder / "backups" / ".journal-2026-11-22.77.part-journal", folder / ".restoring-abc"]
    (folder / "backups").mkdir()
    for path in left[:-1]:
        path.write_bytes(b"x")
    left[-1].mkdir()
    (left[-1] / "journal.sqlite").write_bytes(b"x")
    at_work = folder / ".restoring-def"
    at_work.mkdir()
    with lock_of(at_work / "restoring.lock"):
        check(folder, now=AT, told=pytest.fail)
        assert at_work.exists()  # its maker lives
    assert not any(path.exists() for path in left)
    assert backups(folder) == [weekly(folder, DAY)]


def test_where_another_is_opening_the_journal_nothing_is_swept_and_the_check_is_made(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / ".restoring-abc").mkdir()
    monkeypatch.setattr(care, "_GATE_SEC", 0.0)
    with gate(folder):
        check(folder, now=AT, told=pytest.fail)
    assert (folder / ".restoring-abc").exists()
    assert backups(folder) == [weekly(folder, DAY)]


def test_a_statement_that_takes_long_is_stopped(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also one that begins after the stop was asked for."""
    checks: list[care.Checking] = []
    rows = "WITH RECURSIVE n(k) AS (VALUES (1) UNION ALL SELECT k + 1 FROM n) SELECT count(*) FROM n"

    def endless(connection: sqlite3.Connection, *, quick: bool) -> bool:
        while not checks:
            pass
        checks[0].stop()
        connection.execute(rows)
        return True

    monkeypatch.setattr(care, "looks_whole", endless)
    checks.append(check_in_background(folder, now=AT, told=pytest.fail))
    assert checks[0].join(30.0)
    assert backups(folder) == []
    assert not list((folder / "backups").glob(".*"))


def test_one_window_checks_at_a_time(folder: Path) -> None:
    with lock_of(folder / "check.lock"):
        check(folder, now=AT, told=pytest.fail)
    assert backups(folder) == []


def test_totals_that_do_not_add_up_are_put_right(folder: Path) -> None:
    with Journal.open(folder, now=lambda: AT) as journal:
        before = totals(journal._connection)
        journal._connection.execute("UPDATE tempo_days SET passes = 99 WHERE item = 1")
        lines: list[str] = []
        check(folder, now=AT, told=lines.append)
        assert lines == [f"{journal.file}: totals of 1 item did not add up and were counted anew"]
        assert totals(journal._connection) == before
        assert wrong_totals(journal._connection) == []
    with closing(to_read(weekly(folder, DAY))) as connection:
        assert totals(connection) == before


def test_what_the_verdicts_do_not_say_is_found_within_a_quarter_of_a_year(folder: Path) -> None:
    """Days and months that fit one another, and are wrong: in one check of so many, and in no other."""
    with Journal.open(folder, now=lambda: AT) as journal:
        before = totals(journal._connection)
        wrong = "SET notes = 2 * notes, unclear = unclear + clean, clean = 0 WHERE item = 1"
        found = []
        for week in range(SHARES):
            now = AT + timedelta(days=week * WEEK_DAYS)
            for table in ("tempo_days", "item_months"):
                journal._connection.execute(f"UPDATE {table} {wrong}")
            assert wrong_totals(journal._connection) == []
            lines: list[str] = []
            check(folder, now=now, told=lines.append)
            if lines:
                assert lines == [f"{journal.file}: totals of 1 item did not add up and were counted anew"]
                assert totals(journal._connection) == before
                found.append(week)
            journal.rebuild_totals()
            assert totals(journal._connection) == before
        assert len(found) == 1


def test_a_pass_that_cannot_be_read_is_told_and_the_journal_is_copied(folder: Path) -> None:
    lines: list[str] = []
    with Journal.open(folder, now=lambda: AT) as journal:
        before = totals(journal._connection)
        journal._connection.execute("UPDATE passes SET verdicts = x'00' WHERE id = 3")
        for week in range(SHARES):
            check(folder, now=AT + timedelta(weeks=week), told=lines.append)
        assert totals(journal._connection) == before
        journal.rebuild_totals()
        assert totals(journal._connection) == before
    assert len(lines) == 1
    assert lines[0].startswith(f"{folder / 'journal.sqlite'}: pass s/2 cannot be read (")
    assert len(backups(folder)) == 3


def test_a_damaged_journal_is_told_and_not_copied_and_mended_when_it_is_opened_next(folder: Path) -> None:
    file = folder / "journal.sqlite"
    with Journal.open(folder, now=lambda: AT) as journal:
        journal.add_all(plain_pass("t", n) for n in range(200))
    check(folder, now=AT, told=pytest.fail)
    later = AT + timedelta(weeks=1)
    for begin in (1, 20, -4):  # where the tables are named, and in two of them
        pages = file.stat().st_size // 4096
        with file.open("r+b") as raw:
            raw.seek(4096 * (begin % pages))
            raw.write(b"\xaa" * 4096 * 3)
        lines: list[str] = []
        check(folder, now=later, told=lines.append)
        assert lines == [f"{file} is damaged: close all windows and open it again, then it is mended"]
        assert backups(folder) == [weekly(folder, DAY)]
        assert len(others(folder).left) == 1
        with Journal.open(folder, now=lambda: later, told=lines.append) as journal:
            assert journal.count() == 240
        assert "the backup journal-2026-11-29.sqlite is in its place with 0 passes put back" in lines[1]


def test_what_goes_wrong_in_the_background_is_told_in_one_line(folder: Path) -> None:
    (folder / "backups").write_text("in the way")
    lines: list[str] = []
    checking = check_in_background(folder, now=AT, told=lines.append)
    assert checking.join(30.0)
    assert [line.partition(": ")[2] for line in lines] == ["file exists"]
