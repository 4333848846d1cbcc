"""What is saved of a damaged journal: the newest good backup, and every pass that can still be read."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from routines.journal import mending
from routines.journal.backups import back_up, backups, weekly
from routines.journal.connecting import to_read, to_write
from routines.journal.errors import JournalTrouble
from routines.journal.journal import Journal
from routines.journal.mending import JOURNAL_FILE, looks_whole, passes_in
from routines.journal.visits import mark, others
from tests.journal_child import plain_pass
from tests.passes import AT


def opened(folder: Path, **more: object) -> Journal:
    return Journal.open(folder, now=lambda: AT, **more)  # type: ignore[arg-type]


def filled(folder: Path, many: int = 3, first: int = 0) -> Path:
    """A journal that was closed in order."""
    with opened(folder) as journal:
        journal.add_all(plain_pass("s", first + n) for n in range(many))
    return folder / JOURNAL_FILE


def spoil(file: Path, begin: float = 0.7, end: float = 0.8) -> None:
    """Overwrite a part of a closed journal, as a disk may do."""
    size = file.stat().st_size
    with file.open("r+b") as raw:
        raw.seek(int(begin * size))
        raw.write(os.urandom(int((end - begin) * size)))


def _salvaged(folder: Path, with_backup: bool) -> tuple[list[str], list[str]]:
    """Store, copy, store more, spoil the middle, open again: ids that are there, and what was told."""
    file = filled(folder, 150)
    if with_backup:
        with closing(to_read(file)) as connection:
            assert back_up(connection, weekly(folder, AT.date()))
    filled(folder, 150, first=150)
    spoil(file)
    mark(folder)
    lines: list[str] = []
    with opened(folder, told=lines.append) as journal:
        assert looks_whole(journal._connection, quick=False)
        found = {one.id: one for one in journal.passes()}
        assert all(one == plain_pass("s", int(name[2:])) for name, one in found.items())
        assert sum(day.passes for day in journal.tempo_days("Ann")) == len(found)
    assert not others(folder).left
    return list(found), lines


def test_a_damaged_journal_is_mended_from_the_backup_and_from_what_can_be_read(tmp_path: Path) -> None:
    found, (line,) = _salvaged(tmp_path, with_backup=True)
    assert {f"s/{n}" for n in range(150)} < set(found)
    assert 150 < len(found) < 300
    aside = tmp_path / "journal-set-aside-2026-11-29-193015.sqlite"
    assert aside.exists()
    assert line == (
        f"{tmp_path / JOURNAL_FILE} was damaged: the backup journal-2026-11-29.sqlite is in its place "
        f"with {len(found) - 150} passes put back; it is kept as {aside.name}"
    )


def test_a_damaged_journal_without_a_backup_keeps_what_can_be_read(tmp_path: Path) -> None:
    found, (line,) = _salvaged(tmp_path, with_backup=False)
    assert 50 < len(found) < 300
    assert "damaged: a new one (there was no backup) is in its place with " in line


@pytest.mark.parametrize("what", ["header", "nothing"])
def test_a_file_of_which_nothing_can_be_read_is_the_newest_good_backup(tmp_path: Path, what: str) -> None:
    file = filled(tmp_path, 5)
    with closing(to_read(file)) as connection:
        for days in (0, 1, 2):
            back_up(connection, weekly(tmp_path, AT.date() + timedelta(days=days)))
    filled(tmp_path, 5, first=5)
    spoil(backups(tmp_path)[0], 0.0, 0.9)
    backups(tmp_path)[1].write_bytes(b"")
    if what == "header":
        spoil(file, 0.0, 0.3)
        mark(tmp_path)
    else:
        file.write_bytes(b"")
    lines: list[str] = []
    with opened(tmp_path, told=lines.append) as journal:
        assert journal.count() == 5
    assert "the backup journal-2026-11-29.sqlite is in its place with 0 passes put back" in lines[0]


def test_nothing_is_mended_while_another_window_is_open(tmp_path: Path) -> None:
    file = filled(tmp_path, 200)
    with opened(tmp_path):
        spoil(file)
        mark(tmp_path)
        with pytest.raises(JournalTrouble, match="is damaged: close all other windows, then it is mended"):
            opened(tmp_path)
    with opened(tmp_path) as journal:
        assert 0 < journal.count() < 200


def test_what_is_still_in_the_log_of_a_damaged_journal_is_put_back_and_kept(tmp_path: Path) -> None:
    file = filled(tmp_path, 200)
    with opened(tmp_path, writes=False) as reader:
        reader._connection.execute("BEGIN")
        assert reader.count() == 200  # so long the log cannot be put into the file
        filled(tmp_path, 20, first=200)
        assert Path(f"{file}-wal").stat().st_size > 0
        spoil(file)
        mark(tmp_path)
        with opened(tmp_path) as journal:
            assert {f"s/{n}" for n in range(200, 220)} < {one.id for one in journal.passes()}
            assert looks_whole(journal._connection, quick=False)
        aside = tmp_path / "journal-set-aside-2026-11-29-193015.sqlite-wal"
        assert aside.stat().st_size > 0


def test_a_disk_too_full_for_mending_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = filled(tmp_path, 200)
    spoil(file)
    mark(tmp_path)
    before = file.read_bytes()

    def small(path: Path) -> sqlite3.Connection:
        connection = to_write(path)
        connection.execute("PRAGMA max_page_count = 8")
        return connection

    monkeypatch.setattr(mending, "to_write", small)
    with pytest.raises(JournalTrouble, match="disk is full"):
        opened(tmp_path)
    assert file.read_bytes() == before
    monkeypatch.undo()
    with opened(tmp_path) as journal:
        assert journal.count() > 0


def test_passes_are_read_from_a_journal_whose_numbers_are_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = filled(tmp_path, 70)
    with closing(to_write(file)) as connection:
        connection.execute("UPDATE passes SET verdicts = x'00' WHERE id = 9")
        connection.execute("DELETE FROM passes WHERE id = 8")
    wanted = [f"s/{n}" for n in range(70) if n not in (7, 8)]
    assert [one.id for one in passes_in(file)] == wanted
    monkeypatch.setattr(mending, "_last", lambda connection, file: file.stat().st_size // 100)
    assert [one.id for one in passes_in(file)] == wanted
    assert list(passes_in(tmp_path / "none.sqlite")) == []
