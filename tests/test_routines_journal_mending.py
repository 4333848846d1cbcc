"""A damaged journal: whoever asks it, or is killed while it is mended, loses nothing that can be read."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import ExitStack, closing
from pathlib import Path

import pytest

from routines.journal.backups import back_up, weekly
from routines.journal.connecting import to_read
from routines.journal.errors import JournalTrouble
from routines.journal.journal import Journal
from routines.journal.mending import JOURNAL_FILE, passes_in, unfinished
from routines.journal.visits import mark, marked
from tests.journal_child import plain_pass
from tests.passes import AT

ASIDE = "journal-set-aside-2026-11-29-193015.sqlite"


def opened(folder: Path, **more: object) -> Journal:
    return Journal.open(folder, now=lambda: AT, **more)  # type: ignore[arg-type]


def fill(folder: Path, many: int, first: int = 0) -> Path:
    with opened(folder) as journal:
        journal.add_all(plain_pass("s", first + n) for n in range(many))
    return folder / JOURNAL_FILE


def spoil(file: Path, begin: float, end: float) -> None:
    """Overwrite the heads of pages, as a disk may do."""
    whole = bytearray(file.read_bytes())
    pages = len(whole) // 4096
    for page in range(int(begin * pages), int(end * pages)):
        whole[page * 4096 : page * 4096 + 300] = b"\xa5" * 300
    file.write_bytes(whole)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Of a journal of two hundred passes with a backup of the first half."""
    file = fill(tmp_path, 100)
    with closing(to_read(file)) as connection:
        assert back_up(connection, weekly(tmp_path, AT.date()))
    fill(tmp_path, 100, first=100)
    return tmp_path


# Whoever asks


@pytest.mark.parametrize("what", ["pages", "some passes", "header", "nothing"])
def test_questions_to_a_damaged_journal_are_answered_by_the_mended_one(folder: Path, what: str) -> None:
    file = folder / JOURNAL_FILE
    if what == "pages":
        spoil(file, 0.2, 0.95)
    elif what == "some passes":  # which is found when they are asked for, not before
        spoil(file, 0.8, 0.95)
    elif what == "header":
        spoil(file, 0.0, 0.01)
        file.write_bytes(b"\xa5" * 100 + file.read_bytes()[100:])
    else:
        file.write_bytes(b"")
    lines: list[str] = []
    with opened(folder, writes=False, told=lines.append) as journal:
        found = {one.id for one in journal.passes()}
        assert found >= {f"s/{n}" for n in range(100)}
        assert sum(day.passes for day in journal.tempo_days("Ann")) == journal.count() == len(found)
    assert len(lines) == 1
    assert lines[0].startswith(
        f"{file} was damaged: the backup journal-2026-11-29.sqlite is in its place with"
    )
    assert (folder / ASIDE).exists()
    with opened(folder, told=pytest.fail) as journal:
        assert journal.count() == len(found)


def test_every_question_that_finds_damage_is_answered(folder: Path) -> None:
    whole = (folder / JOURNAL_FILE).read_bytes()
    questions: tuple[Callable[[Journal], object], ...] = (
        lambda journal: journal.count("Ann"),
        lambda journal: journal.tempo_days("Ann"),
        lambda journal: journal.guide_sums("Ann"),
        lambda journal: journal.levels_days("Ann"),
        lambda journal: journal.days("Ann"),
        lambda journal: journal.last_pass("Ann"),
        lambda journal: next(journal.passes(newest_first=True, limit=1)),
    )
    for ask in questions:
        (folder / JOURNAL_FILE).write_bytes(whole)
        with opened(folder, writes=False, told=pytest.fail) as journal:
            assert ask(journal)
        spoil(folder / JOURNAL_FILE, 0.05, 0.95)
        lines: list[str] = []
        with opened(folder, writes=False, told=lines.append) as journal:
            assert ask(journal)
            assert journal.count() >= 100
        assert len(lines) == 1
        assert not marked(folder)


def test_where_another_window_has_it_open_questions_say_so_and_answer_what_can_be_read(folder: Path) -> None:
    file = folder / JOURNAL_FILE
    before = sorted(path.name for path in folder.glob("*.sqlite"))
    with opened(folder) as window:
        window.add(plain_pass("t", 1))
        mark(folder)
        lines: list[str] = []
        with opened(folder, writes=False, told=lines.append) as journal:
            assert (journal.count(), lines) == (201, [])  # it is whole: nothing is said
        spoil(file, 0.8, 0.95)
        mark(folder)
        with opened(folder, writes=False, told=lines.append) as journal:
            assert lines == [f"{file}: is damaged: close all other windows, then it is mended"]
            assert journal.players() == ["Ann"]
            with pytest.raises(JournalTrouble, match="is damaged: close all windows and open it again"):
                list(journal.passes())
        spoil(file, 0.2, 0.95)  # not even what tables there are can be read now
        with pytest.raises(JournalTrouble, match="is damaged: close all other windows, then it is mended"):
            opened(folder, writes=False)
        assert sorted(path.name for path in folder.glob("*.sqlite")) == before
    with opened(folder, writes=False, told=lines.append) as journal:
        assert journal.count() >= 100
    assert "passes put back" in lines[-1]


def test_what_never_was_a_journal_is_not_mended_for_a_question(tmp_path: Path) -> None:
    (tmp_path / JOURNAL_FILE).write_text("Dear diary, today I played the roll.\n" * 99)
    for _ in range(2):
        with pytest.raises(JournalTrouble, match="is no journal: move it away"):
            opened(tmp_path, writes=False)
    assert [path.name for path in tmp_path.glob("*.sqlite")] == [JOURNAL_FILE]


def test_questions_see_a_mended_journal_that_has_not_its_name_yet(tmp_path: Path) -> None:
    file = fill(tmp_path, 5)
    file.rename(tmp_path / ".mended.sqlite")
    with opened(tmp_path, writes=False) as journal:
        assert journal.count() == 5
    assert file.exists()
    assert not unfinished(tmp_path)


# Whoever is killed


class _Killed(BaseException):
    """As good as a kill: whatever is to be done on the way out is not done either."""


def _cut(monkeypatch: pytest.MonkeyPatch, steps: int, do: Callable[[], object]) -> bool:
    """Do that, but be killed before that one of its links, renames and deletions: whether it came so far.

    A deletion of what is not there is none.
    """
    left = iter(range(steps))
    unlink = Path.unlink

    def step() -> None:
        if next(left, None) is None:
            raise _Killed

    def stepping(call: Callable[..., object]) -> Callable[..., object]:
        def stepped(path: Path, *args: object, **how: object) -> object:
            if os.path.exists(path):
                step()
            return call(path, *args, **how)

        return stepped

    with monkeypatch.context() as patch:
        for name in ("link", "replace", "rename"):
            patch.setattr(os, name, stepping(getattr(os, name)))
        patch.setattr(Path, "unlink", stepping(unlink))
        try:
            do()
        except _Killed:
            return True
    return False


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Folders of a spoilt journal, without a log and with one in which the last passes stand alone."""
    made = {}
    for name in ("plain", "logged"):
        live = tmp_path_factory.mktemp("live") / "home"
        file = fill(live, 100)
        with opened(live) as journal:
            if name == "logged":
                for n in range(100, 106):
                    journal.add(plain_pass("s", n))
            made[name] = tmp_path_factory.mktemp(name) / "home"
            made[name].mkdir()
            for path in live.glob(f"{file.name}*"):
                if not path.name.endswith("-shm") and path.stat().st_size:
                    shutil.copy(path, made[name])
        spoil(made[name] / JOURNAL_FILE, 0.8, 0.95)
        mark(made[name])
    return made


def _readable(home: Path, beside: Path) -> set[str]:
    copy = Path(shutil.copytree(home, beside))
    return {one.id for one in passes_in(copy / JOURNAL_FILE)}


def _names(journal: Journal) -> set[str]:
    return {name for (name,) in journal._connection.execute("SELECT name FROM passes")}


def _reading(home: Path) -> sqlite3.Connection:
    """Somebody who is in the middle of a question."""
    connection = to_read(home / JOURNAL_FILE)
    connection.execute("BEGIN")
    connection.execute("SELECT count(*) FROM players").fetchone()
    return connection


@pytest.mark.parametrize("log", ["plain", "logged"])
@pytest.mark.parametrize("reads", [False, True])
def test_mending_that_is_killed_at_any_step_loses_no_pass(
    spoilt: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    log: str,
    reads: bool,
) -> None:
    """With a log or not, while somebody reads or not; whoever comes next only asks."""
    wanted = _readable(spoilt[log], tmp_path / "readable")
    assert len(wanted) > 20
    assert ("s/105" in wanted) is (log == "logged")
    steps, was_cut = 0, True
    while was_cut:
        home = Path(shutil.copytree(spoilt[log], tmp_path / str(steps)))
        with ExitStack() as stack:
            if reads:
                stack.enter_context(closing(_reading(home)))
            was_cut = _cut(monkeypatch, steps, lambda home=home: opened(home).close())  # type: ignore[misc]
            with opened(home, writes=False) as journal:
                assert _names(journal) == wanted
        with opened(home, told=pytest.fail) as journal:
            assert _names(journal) == wanted
            assert journal.add(plain_pass("new", 1))
        assert [path.name for path in home.glob("journal-set-aside-*.sqlite")] == [ASIDE]
        logs = [path for path in home.glob("*-wal") if path.stat().st_size]
        assert [path.name for path in logs] in ([], [f"{ASIDE}-wal"])
        assert _readable_in(home / ASIDE, tmp_path / f"aside {steps}") == wanted
        steps += 1
    assert steps > 3


def _readable_in(file: Path, to: Path) -> set[str]:
    to.mkdir()
    for path in file.parent.glob(f"{file.name}*"):
        shutil.copy(path, to / path.name)
    return {one.id for one in passes_in(to / file.name)}


def test_a_second_kill_while_the_first_is_made_up_for_loses_nothing_either(
    spoilt: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = _readable(spoilt["logged"], tmp_path / "readable")
    first, was_cut = 0, True
    while was_cut:
        for second in range(3):
            home = Path(shutil.copytree(spoilt["logged"], tmp_path / f"{first}-{second}"))
            was_cut = _cut(monkeypatch, first, lambda home=home: opened(home).close())  # type: ignore[misc]
            if was_cut and unfinished(home):
                _cut(monkeypatch, second, lambda home=home: opened(home).close())  # type: ignore[misc]
            else:
                break
            with opened(home) as journal:
                assert _names(journal) == wanted
        first += 1
    assert first > 3
