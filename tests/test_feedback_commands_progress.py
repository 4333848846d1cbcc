"""`sevenfall progress`: text, JSON and files of a journal, and one line where there is none."""

from __future__ import annotations

import argparse
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from feedback import progress_charts
from feedback.commands import progress
from feedback.errors import CannotDo, Usage, exit_code
from routines.errors import BadRoutine
from routines.journal.journal import Journal
from routines.progress.types import Progress
from tests.practice_weeks import weeks_of_practice

NOW = datetime(2026, 11, 29, 20, tzinfo=UTC)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("home")
    with Journal.open(folder, now=lambda: NOW) as journal:
        journal.add_all(weeks_of_practice(2))
    return folder


@pytest.fixture(autouse=True)
def _at_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(home))
    monkeypatch.setattr(progress, "local_now", lambda: NOW)


def run(capsys: pytest.CaptureFixture[str], *typed: str) -> str:
    parser = argparse.ArgumentParser()
    progress.add_arguments(parser)
    assert progress.run(parser.parse_args(typed)) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_text_of_everything_and_of_one_thing(capsys: pytest.CaptureFixture[str]) -> None:
    whole = run(capsys)
    assert "Slab Wood Supper in D" in whole
    assert "Tally Stick in G" in whole
    for typed in ("slab-wood-supper", "Slab Wood Supper", "d", "A7", "a7"):
        one = run(capsys, typed)
        assert "Slab Wood Supper in D" in one
        assert "Tally Stick" not in one


def test_json_stands_alone(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(run(capsys, "--json", "--weeks", "1"))
    assert found["passes_span"] == found["passes_week"] > 0


@pytest.mark.parametrize("ending", progress.ENDINGS)
def test_every_kind_of_file_is_written(
    ending: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    def stub(found: Progress, path: Path, *, of_lick: bool) -> None:
        path.write_bytes(b"%" * 1001 if of_lick else b"")

    if ending == ".pdf":  # what is in it, the tests of the charts tell
        monkeypatch.setattr(progress_charts, "write_charts", stub)
    file = tmp_path / f"x{ending.upper() if ending == '.csv' else ending}"
    assert run(capsys, "tally-stick", "-o", str(file)) == (
        f"{file}: progress of me, tally-stick, 2026-11-16 to 2026-11-29\n"
    )
    assert file.stat().st_size > 1000
    assert list(tmp_path.iterdir()) == [file]
    if ending == ".json":
        written = json.loads(file.read_text(encoding="utf-8"))
        assert written == json.loads(run(capsys, "tally-stick", "--json"))


def test_what_was_never_practised_is_answered_with_what_there_is(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(BadRoutine, match=r"called 'Eb': keys A D G; chords A7 D7 E7; licks slab") as caught:
        run(capsys, "Eb")
    assert exit_code(caught.value) == 2
    with pytest.raises(Usage, match=r"x\.txt: a file of progress ends in one of \.png \.pdf \.csv \.json"):
        run(capsys, "-o", "x.txt")


@pytest.mark.parametrize("weeks", ["0", "1041", "x", "1.5"])
def test_weeks_out_of_range_are_refused(weeks: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        run(capsys, "--weeks", weeks)
    assert "give 1 to 1040 weeks" in capsys.readouterr().err


def test_an_empty_journal_is_one_line_and_makes_no_file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert run(capsys, "--player", "Zoe") == (
        "Nothing is in the journal of Zoe yet: begin with sevenfall play slab-wood-supper --from mic; there "
        "are passes of me: --player NAME.\n"
    )
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "none"))
    for typed in ((), ("A7",), ("--set", "player=Ann")):
        assert run(capsys, *typed) == (
            "Nothing is in the journal yet: begin with sevenfall play slab-wood-supper --from mic.\n"
        )
    file = str(tmp_path / "x.csv")
    for wish in (("-o", file), ("--json", "-o", file)):
        with pytest.raises(CannotDo, match=r"^Nothing is in the journal yet: begin with") as caught:
            run(capsys, *wish)
        assert exit_code(caught.value) == 1
    assert json.loads(run(capsys, "--json"))["licks"] == []
    assert not list(tmp_path.iterdir())
