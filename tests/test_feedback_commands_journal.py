"""`sevenfall journal`: what it prints, what it refuses, and that nothing gets lost by it."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import NoReturn

import pytest

from feedback.__main__ import main
from routines.journal.exporting import write_export
from routines.journal.exports import passes_of
from routines.journal.journal import Journal
from routines.journal.records import PassRecord
from tests.passes import AT, a_pass, told

PASSES = [a_pass(1), a_pass(2), a_pass(3, player="Ben", days=4)]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    with _journal(tmp_path / "home") as journal:
        journal.add_all(PASSES)
    return tmp_path / "home"


@pytest.fixture
def fresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Another home, without a journal."""
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "fresh"))
    return tmp_path / "fresh"


def _journal(home: Path) -> Journal:
    return Journal.open(home, now=lambda: AT)


def _held(home: Path) -> list[PassRecord]:
    with _journal(home) as journal:
        return list(journal.passes())


def _said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> str:
    assert main(["journal", *map(str, words)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def _refused(capsys: pytest.CaptureFixture[str], code: int, *words: str | Path) -> str:
    assert main(["journal", *map(str, words)]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "fault of the program" not in err
    return err


def test_there_and_back(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("all.json", "all.csv"):
        path = tmp_path / name
        monkeypatch.setenv("SEVENFALL_HOME", str(home))
        told_of = "3 passes of Ann and Ben, 2026-11-29 to 2026-12-03"
        assert _said(capsys, "export", path) == f"Written: {path}, {told_of}.\n"
        other = tmp_path / path.suffix[1:]
        monkeypatch.setenv("SEVENFALL_HOME", str(other))
        assert _said(capsys, "import", path) == f"Imported: {path}, {told_of}.\n"
        assert told(_held(other)) == told(PASSES)
        already = f"Imported: {path}, {told_of}; none new, 3 there already.\n"
        assert _said(capsys, "import", path) == already
        lines = _said(capsys, "restore", path).splitlines()
        assert lines[0] == f"Restored: {path}, {told_of}."
        (kept,) = other.glob("journal-before-restore-*.sqlite")
        assert lines[1:] == [
            f"Kept beside: {kept}, the journal as it was before; back to it with",
            f"  sevenfall journal restore {kept}",
        ]
        assert told(_held(other)) == told(PASSES)


def test_only_one_players(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "ben.csv"
    one = f"{path}, 1 pass of Ben, 2026-12-03"
    assert _said(capsys, "export", path, "--player", "Ben") == f"Written: {one}.\n"
    said = _refused(capsys, 2, "export", tmp_path / "cy.csv", "--player", "Cy")
    assert said == "--player Cy: there are no passes of that name, but of Ann, Ben\n"
    assert not (tmp_path / "cy.csv").exists()
    _refused(capsys, 2, "export", tmp_path / "cy.csv", "--player", " ")


def test_into_another_player(
    home: Path, fresh: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not fresh.exists()
    path = tmp_path / "all.json"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SEVENFALL_HOME", str(home))
        _said(capsys, "export", path)
    _said(capsys, "import", path, "--player", "Cy")
    with _journal(fresh) as journal:
        assert journal.players() == ["Cy"]
        assert journal.count("Cy") == 3


def test_whose_passes_they_are_is_told(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "one.json"
    write_export([a_pass(7, player=" Bo ")], path, ".json")
    assert _said(capsys, "import", path) == f"Imported: {path}, 1 pass of Bo, 2026-11-29.\n"
    with _journal(home) as journal:
        assert journal.players() == ["Ann", "Ben", "Bo"]


def test_json_is_one_object(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "all.json"
    held = {"passes": 3, "players": ["Ann", "Ben"], "first_day": "2026-11-29", "last_day": "2026-12-03"}
    written = json.loads(_said(capsys, "export", path, "--json"))
    assert written == {"file": str(path), **held, "unread": 0}
    told_of = json.loads(_said(capsys, "import", path, "--json"))
    assert told_of == {"file": str(path), **held, "added": 0, "already": 3}
    told_of = json.loads(_said(capsys, "restore", path, "--json"))
    assert told_of == {"file": str(path), **held, "kept": told_of["kept"]}
    assert Path(told_of["kept"]).parent == home


def test_without_a_journal_there_is_nothing_to_export(
    fresh: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "there is no journal yet" in _refused(capsys, 1, "export", tmp_path / "all.json")
    assert not (tmp_path / "all.json").exists()
    assert not fresh.exists()


def test_a_faulty_file_is_refused_and_makes_no_journal(
    fresh: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("empty.json", "empty.csv"):
        (tmp_path / name).touch()
        assert _refused(capsys, 2, "import", tmp_path / name).endswith("the file is empty\n")
        assert _refused(capsys, 2, "restore", tmp_path / name).endswith("the file is empty\n")
    assert "no such file" in _refused(capsys, 1, "import", tmp_path / "nowhere.json")
    assert "is a directory" in _refused(capsys, 1, "import", _folder(tmp_path / "folder.json"))
    assert "ends in .json or .csv" in _refused(capsys, 2, "import", tmp_path / "passes.xlsx")
    assert not (fresh / "journal.sqlite").exists()


def _folder(path: Path) -> Path:
    path.mkdir()
    return path


def test_what_holds_no_pass_imports_none(
    fresh: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "none.json"
    path.write_text('{"format": "sevenfall-journal", "version": 1, "passes": []}', encoding="utf-8")
    assert _said(capsys, "import", path) == f"Imported: {path}, no passes.\n"
    assert not fresh.exists()


def test_an_export_is_written_over_only_where_nothing_is_lost(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "all.csv"
    _said(capsys, "export", path, "--player", "Ann")
    _said(capsys, "export", path)  # what is there is in the new one, too
    whole = path.read_bytes()
    said = _refused(capsys, 1, "export", path, "--player", "Ben")
    assert said.startswith(f"{path}: holds 2 passes that would be lost, it is left as it is: import it first")
    assert path.read_bytes() == whole
    other = tmp_path / "letter.json"
    other.write_text('{"dear": "Ann"}', encoding="utf-8")
    assert "is there already and is no whole export" in _refused(capsys, 1, "export", other)
    assert other.read_text(encoding="utf-8") == '{"dear": "Ann"}'
    assert sorted(file.name for file in tmp_path.iterdir()) == ["all.csv", "home", "letter.json"]


def test_where_it_cannot_be_written_nothing_is_left(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "ends in .json or .csv" in _refused(capsys, 2, "export", tmp_path / "all.txt")
    assert "no such folder" in _refused(capsys, 1, "export", tmp_path / "nowhere" / "all.json")
    assert [file.name for file in tmp_path.iterdir()] == ["home"]
    folder = _folder(tmp_path / "folder.json")
    assert f"{folder}: is a directory" in _refused(capsys, 1, "export", folder)
    assert "file name too long" in _refused(capsys, 1, "export", tmp_path / f"{'x' * 300}.json")
    for nowhere in (Path("/proc/all.json"), Path("/proc/1/all.json"), Path("/dev/null/all.json")):
        assert str(nowhere.parent) in _refused(capsys, 1, "export", nowhere)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "open", _forbidden)
        said = _refused(capsys, 1, "export", tmp_path / "all.json")
    assert said == f"{tmp_path / 'all.json'}: permission denied\n"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["folder.json", "home"]


def _forbidden(path: Path, *args: object, **more: object) -> NoReturn:
    raise PermissionError(13, "Permission denied", str(path))


def test_a_pass_that_cannot_be_read_is_named_and_all_others_are_written(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, path = home / "journal.sqlite", tmp_path / "all.json"
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE passes SET verdicts = 'xx' WHERE name = ?", (PASSES[1].id,))
    assert main(["journal", "export", str(path)]) == 1
    out, err = capsys.readouterr()
    assert out == f"Written: {path}, 2 passes of Ann and Ben, 2026-11-29 to 2026-12-03.\n"
    assert err.startswith(f"{file}: pass {PASSES[1].id} cannot be read (")
    assert err.endswith("), it is not in the export\n")
    assert err.count("\n") == 1
    assert told(list(passes_of(path))) == told([PASSES[0], PASSES[2]])
    assert main(["journal", "export", str(path), "--json", "--player", "Ann"]) == 1  # would lose Ben's pass
    assert "holds 1 pass that would be lost" in capsys.readouterr().err
    assert main(["journal", "export", str(tmp_path / "ann.csv"), "--json", "--player", "Ann"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert (found["passes"], found["unread"]) == (1, 1)
    _said(capsys, "export", tmp_path / "ben.csv", "--player", "Ben")


def test_many_passes_that_cannot_be_read_are_counted(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with _journal(home) as journal:
        journal.add_all(a_pass(number, player=f"P{number:02}") for number in range(10, 23))
    path = tmp_path / "all.json"
    assert "16 passes of Ann, Ben, P10, P11, P12, P13, P14, P15, P16, P17 and 5 more," in _said(
        capsys, "export", path
    )
    path.unlink()
    with closing(sqlite3.connect(home / "journal.sqlite")) as connection, connection:
        connection.execute("UPDATE passes SET verdicts = 'xx'")
    assert main(["journal", "export", str(path)]) == 1
    out, err = capsys.readouterr()
    assert out == f"Written: {path}, no passes.\n"
    assert err.count("\n") == 11
    assert err.endswith(": 6 passes more cannot be read\n")


def test_an_open_journal_is_not_replaced(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _said(capsys, "export", tmp_path / "all.json")
    with _journal(home) as journal:
        assert "is open in another window" in _refused(capsys, 1, "restore", tmp_path / "all.json")
        assert "3 there already" in _said(capsys, "import", tmp_path / "all.json")  # merging disturbs nobody
        assert journal.count() == 3


def test_wrong_words(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in ((), ("export",), ("exprot", "x.json"), ("export", "x.json", "y.json")):
        assert "see sevenfall journal --help" in _refused(capsys, 2, *words)
    assert "--player is for export and import" in _refused(capsys, 2, "restore", "x.json", "--player", "Ann")


def test_who_is_not_in_what_is_restored_is_named_and_an_import_gives_nobody_anothers_passes(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = tmp_path / "ann.json"
    _said(capsys, "export", one, "--player", "Ann")
    said = _said(capsys, "import", one, "--player", "Cy")
    assert "there already, which stay whose they are" in said
    said = _said(capsys, "restore", one)
    assert "Not in it: " in said
    assert "of Ben." in said
