"""What killed restores and mendings have left: swept away, or finished, before a journal is replaced."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from routines.journal import restoring
from routines.journal.exporting import write_export
from routines.journal.journal import Journal
from routines.journal.restoring import restore
from tests.passes import AT, a_pass, told

OLD, NEW = [a_pass(1), a_pass(2)], [a_pass(3)]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with Journal.open(tmp_path / "home", now=lambda: AT) as journal:
        journal.add_all(OLD)
    write_export(NEW, tmp_path / "new.json", ".json")
    return tmp_path / "home"


def _held(home: Path) -> list[object]:
    with Journal.open(home, now=lambda: AT, writes=False) as journal:
        return list(told(list(journal.passes())))


def _restored(home: Path, source: Path | None = None) -> Path | None:
    return restore(home, source or home.parent / "new.json", now=lambda: AT).kept


def _during(monkeypatch: pytest.MonkeyPatch, do: Callable[[Path], object]) -> None:
    """Do that while the new journal is made."""
    made = restoring._made

    def meanwhile(made_in: Path, *args: object) -> object:
        do(made_in)
        return made(made_in, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(restoring, "_made", meanwhile)


def test_what_a_killed_restore_has_left_is_swept_away_by_the_next_one(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(made_in: Path) -> None:
        (made_in / "journal.sqlite").write_bytes(b"x" * 9999)
        shutil.copytree(made_in, home / ".restoring-killed")
        raise KeyboardInterrupt

    _during(monkeypatch, killed)
    with pytest.raises(KeyboardInterrupt):
        _restored(home)
    assert [path.name for path in home.glob(".restoring*")] == [".restoring-killed"]
    monkeypatch.undo()
    _restored(home)
    assert _held(home) == list(told(NEW))
    assert not list(home.glob(".restoring*"))


def test_what_a_restore_is_at_that_goes_on_meanwhile_is_left_to_it(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folders: list[Path] = []

    def another(made_in: Path) -> None:
        folders.append(made_in)
        if len(folders) == 1:
            _restored(home)
            assert made_in.exists()

    _during(monkeypatch, another)
    _restored(home)
    assert len(set(folders)) == 2
    assert _held(home) == list(told(NEW))
    assert not list(home.glob(".restoring*"))


def test_a_mending_that_was_cut_short_is_finished_before_its_journal_is_replaced(home: Path) -> None:
    (home / "journal.sqlite").rename(home / ".mended.sqlite")
    kept = _restored(home)
    assert _held(home) == list(told(NEW))
    assert not (home / ".mended.sqlite").exists()
    _restored(home, kept)
    assert _held(home) == list(told(OLD))
