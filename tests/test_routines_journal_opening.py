"""Opening the journal: made, brought up, looked at after an unclean end, mended."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from routines.journal import connecting, opening
from routines.journal.backups import backups
from routines.journal.connecting import to_read, to_write, transaction
from routines.journal.errors import JournalTrouble
from routines.journal.journal import Journal
from routines.journal.mending import JOURNAL_FILE, looks_whole
from routines.journal.schema import STEPS
from routines.journal.visits import gate, mark, others
from tests.journal_child import plain_pass
from tests.journals import all_rows
from tests.passes import AT, a_pass


def opened(folder: Path, **more: object) -> Journal:
    return Journal.open(folder, now=lambda: AT, **more)  # type: ignore[arg-type]


def filled(folder: Path, many: int = 3, first: int = 0) -> Path:
    """A journal that was closed in order."""
    with opened(folder) as journal:
        journal.add_all(plain_pass("s", first + n) for n in range(many))
    return folder / JOURNAL_FILE


def rows_in(file: Path) -> dict[str, list[tuple]]:
    with closing(to_read(file)) as connection:
        return all_rows(connection)


def trouble_of(code: int) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("for some reason")
    error.sqlite_errorcode = code
    return error


# New, and for questions only


def test_a_journal_is_made_with_its_folders(tmp_path: Path) -> None:
    folder = tmp_path / "a ? # %20" / "b"
    with opened(folder) as journal:
        assert journal.file == folder / JOURNAL_FILE
        assert journal.add(a_pass())
        asked = [
            journal._connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous")
        ]
        assert asked == ["wal", 2]  # read while another writes; on the disk when it is stored
    assert sorted(path.name for path in folder.iterdir()) == ["journal.lock", JOURNAL_FILE, "visits"]
    assert list((folder / "visits").iterdir()) == []
    journal.close()
    with opened(folder) as journal:
        assert list(journal.passes()) == [a_pass()]


def test_for_questions_no_file_is_made(tmp_path: Path) -> None:
    folder = tmp_path / "none"
    with opened(folder, writes=False) as journal:
        assert journal.count() == 0
        assert journal.players() == journal.tempo_days("Ann") == list(journal.passes()) == []
        for write in (lambda: journal.add(a_pass()), lambda: journal.add_all([]), journal.rebuild_totals):
            with pytest.raises(JournalTrouble, match="opened for questions only"):
                write()
    assert not folder.exists()
    filled(folder)
    names = sorted(path.name for path in folder.rglob("*"))
    with opened(folder, writes=False) as journal:
        assert journal.count() == 3
        with pytest.raises(JournalTrouble, match="opened for questions only"):
            journal.add(a_pass())
    assert sorted(path.name for path in folder.rglob("*")) == names


def test_questions_see_what_is_stored_meanwhile(tmp_path: Path) -> None:
    filled(tmp_path)
    with opened(tmp_path, writes=False) as reader, opened(tmp_path) as writer:
        assert reader.count() == 3
        writer.add(a_pass())
        assert reader.count() == 4


def test_a_folder_where_nothing_can_be_written_can_be_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(tmp_path)
    plain = connecting._connected

    def refused(file: Path, how: str) -> sqlite3.Connection:
        if "immutable" not in how:
            raise faults[0]
        return plain(file, how)

    faults = [trouble_of(code) for code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY_CANTINIT)]
    monkeypatch.setattr(connecting, "_connected", refused)
    while faults:
        with opened(tmp_path, writes=False) as journal:
            assert journal.count() == 3
        del faults[0]
    faults.append(trouble_of(sqlite3.SQLITE_BUSY))
    with pytest.raises(JournalTrouble, match="is kept busy by another program"):
        opened(tmp_path, writes=False)
    faults[0] = trouble_of(sqlite3.SQLITE_READONLY)
    Path(f"{tmp_path / JOURNAL_FILE}-wal").touch()
    opened(tmp_path, writes=False).close()
    Path(f"{tmp_path / JOURNAL_FILE}-wal").write_bytes(b"what was played last")
    with pytest.raises(
        JournalTrouble, match=r"with what is still in journal\.sqlite-wal: its folder is read"
    ):
        opened(tmp_path, writes=False)


def test_whoever_writes_waits_as_long_for_others_as_is_asked(tmp_path: Path) -> None:
    filled(tmp_path)
    with opened(tmp_path) as usual, opened(tmp_path, patience_sec=0.25) as hasty:
        for journal, patience_ms in ((usual, 30_000), (hasty, 250)):
            assert journal._connection.execute("PRAGMA busy_timeout").fetchone() == (patience_ms,)
    with opened(tmp_path, patience_sec=0.0) as journal:
        with closing(to_write(journal.file)) as other, transaction(other):
            with pytest.raises(JournalTrouble, match="is kept busy by another program: try again"):
                journal.add(a_pass())
            assert journal.count() == 3
        assert journal.add(a_pass())
    with opened(tmp_path, patience_sec=0.0, writes=False) as journal:
        assert journal._connection.execute("PRAGMA busy_timeout").fetchone() == (0,)


# What is no journal


def test_what_is_no_journal_is_one_line_and_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "text").mkdir()
    (tmp_path / "text" / JOURNAL_FILE).write_text("Dear diary, today I played the roll.\n" * 99)
    (tmp_path / "other").mkdir()
    (tmp_path / "like").mkdir()
    for name, version in (("other", 0), ("like", 1)):
        with closing(sqlite3.connect(tmp_path / name / JOURNAL_FILE)) as other:
            other.execute("CREATE TABLE passes (id)")
            other.execute(f"PRAGMA user_version = {version}")
    newer = filled(tmp_path / "newer")
    with closing(sqlite3.connect(newer)) as connection:
        connection.execute("PRAGMA user_version = 7")
    (tmp_path / "folder" / JOURNAL_FILE).mkdir(parents=True)
    (tmp_path / "file").write_text("")
    for name, what in (
        ("text", "is no journal: move it away"),
        ("other", "is no journal: move it away"),
        ("like", "is no journal: move it away"),
        ("newer", "is of version 7, made by a newer program; this one knows 1"),
        ("folder", "cannot be "),
    ):
        file = tmp_path / name / JOURNAL_FILE
        before = file.read_bytes() if file.is_file() else b""
        for writes in (True, False):
            with pytest.raises(JournalTrouble, match=what) as raised:
                opened(tmp_path / name, writes=writes)
            assert str(raised.value).startswith(str(file))
            assert "\n" not in str(raised.value)
        assert not file.is_file() or file.read_bytes() == before
        assert others(tmp_path / name).here == 0
    with pytest.raises(JournalTrouble, match=f"{tmp_path / 'file'}.*: (file exists|not a directory)"):
        opened(tmp_path / "file")


def test_an_empty_file_is_a_new_journal(tmp_path: Path) -> None:
    (tmp_path / JOURNAL_FILE).touch()
    with opened(tmp_path, writes=False) as journal:
        assert journal.count() == 0
    assert (tmp_path / JOURNAL_FILE).stat().st_size == 0
    assert filled(tmp_path).stat().st_size > 0


def test_another_who_opens_it_for_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with (
        gate(tmp_path),
        pytest.raises(JournalTrouble, match="another window is opening the journal"),
        gate(tmp_path, 0.0),
    ):
        pass


# Versions


def _second(connection: sqlite3.Connection) -> None:
    connection.execute("ALTER TABLE passes ADD COLUMN mood TEXT NOT NULL DEFAULT ''")
    connection.execute("UPDATE passes SET mood = 'bright'")


def _spilt(connection: sqlite3.Connection) -> None:
    _second(connection)
    connection.execute("DELETE FROM passes")
    connection.execute("INSERT INTO nowhere VALUES (1)")


def _faulty(connection: sqlite3.Connection) -> None:
    _second(connection)
    raise KeyError("mood")


def test_an_older_journal_is_brought_up_after_a_backup(tmp_path: Path) -> None:
    file = filled(tmp_path)
    before = rows_in(file)
    for writes in (False, True):
        with opened(tmp_path, steps=(*STEPS, _second), writes=writes) as journal:
            assert journal.count() == 3
            assert journal._connection.execute("PRAGMA user_version").fetchone() == (2,)
            assert journal._connection.execute("SELECT DISTINCT mood FROM passes").fetchall() == [("bright",)]
    (backup,) = backups(tmp_path)
    assert backup.name == "before-version-2-2026-11-29-193015.sqlite"
    assert rows_in(backup) == before
    with pytest.raises(JournalTrouble, match="is of version 2, made by a newer program"):
        opened(tmp_path)


def test_a_step_that_fails_leaves_the_journal_as_it_was(tmp_path: Path) -> None:
    file = filled(tmp_path)
    before = rows_in(file)
    for step in (_spilt, _faulty):
        with pytest.raises(JournalTrouble, match="could not be brought to version 2") as raised:
            opened(tmp_path, steps=(*STEPS, step))
        assert "it is as it was; a copy of it is" in str(raised.value)
        assert rows_in(file) == before
        (backup,) = backups(tmp_path)
        assert rows_in(backup) == before
        assert others(tmp_path).here == 0
    with pytest.raises(JournalTrouble, match="version 3"):  # the second step holds
        opened(tmp_path, steps=(*STEPS, _second, _spilt))
    with opened(tmp_path, steps=(*STEPS, _second)) as journal:
        assert journal.count() == 3


def test_where_the_backup_cannot_be_made_no_step_is_taken(tmp_path: Path) -> None:
    before = rows_in(filled(tmp_path))
    (tmp_path / "backups").write_text("in the way")
    with pytest.raises(JournalTrouble, match="backups: file exists"):
        opened(tmp_path, steps=(*STEPS, _second))
    assert rows_in(tmp_path / JOURNAL_FILE) == before


def test_no_step_is_taken_while_another_window_is_open(tmp_path: Path) -> None:
    with opened(tmp_path) as journal:
        with pytest.raises(JournalTrouble, match="is of an older version: close all other windows"):
            opened(tmp_path, steps=(*STEPS, _second))
        assert journal.add(a_pass())
    opened(tmp_path, steps=(*STEPS, _second)).close()


# After an unclean end


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """How often a file was looked through, quickly or not."""
    seen: list[bool] = []

    def look(connection: sqlite3.Connection, *, quick: bool) -> bool:
        seen.append(quick)
        return looks_whole(connection, quick=quick)

    monkeypatch.setattr(opening, "looks_whole", look)
    return seen


def test_the_file_is_looked_through_after_an_unclean_end_only(tmp_path: Path, looks: list[bool]) -> None:
    filled(tmp_path)
    filled(tmp_path, first=3)
    with opened(tmp_path), opened(tmp_path):
        assert looks == []
    (tmp_path / "visits" / "7-abc.lock").touch()
    lines: list[str] = []
    opened(tmp_path, writes=False).close()
    assert looks == []  # who only asks waits for no look
    with opened(tmp_path, told=lines.append) as journal:
        assert (looks, lines, journal.count()) == ([True], [], 6)
        opened(tmp_path).close()
        assert looks == [True]
    mark(tmp_path)  # where damage was found it is looked at as closely
    opened(tmp_path, writes=False).close()
    assert looks == [True, False]
    opened(tmp_path, writes=False).close()
    assert looks == [True, False]
    assert others(tmp_path) == others(tmp_path / "nobody")
