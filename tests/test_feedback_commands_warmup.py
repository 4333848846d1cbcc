"""`warmup` from the command line, and `play --player`: what is played, printed and remembered."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from feedback import commands, warming
from feedback.__main__ import main
from feedback.commands import warmup
from feedback.practice_report import REST
from routines.journal.journal import Journal
from routines.journal.records import PassRecord
from routines.warmups.table import WARM_UPS, warm_up

SHORT = ["warmup", "held-sevens", "--no-window", "--tempo", "110"]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of its own, and a warm-up of two short steps."""
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    whole = warm_up("held-sevens")
    steps = tuple(replace(step, passes=1) for step in whole.steps(0)[:2])
    monkeypatch.setattr(warming, "warm_up", lambda name: replace(whole, rounds=1, steps=lambda number: steps))
    return tmp_path


def stored(folder: Path) -> list[PassRecord]:
    with Journal.open(folder, now=lambda: datetime.now().astimezone(), writes=False) as journal:
        return list(journal.passes())


@pytest.fixture
def as_object(home: Path, capsys: pytest.CaptureFixture[str]) -> Iterator[dict]:
    assert main([*SHORT, "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return iter([json.loads(out)])


def test_it_plays_to_its_end_and_says_one_thing(
    home: Path, capsys: pytest.CaptureFixture[str], as_object: Iterator[dict]
) -> None:
    (found,) = as_object
    assert stored(home) == []  # the simulated player is not you
    assert main([*SHORT, "--player", "Bo"]) == 0
    out, _ = capsys.readouterr()
    whole = warm_up("held-sevens")
    for step in whole.steps(0)[:2]:
        assert f"{step.says} | 110 half notes a minute" in out
    assert out.count("  pass 1: ") == 2
    assert out.rstrip().splitlines()[-2:] == [found["remark"], REST]
    assert [turn["lick"] for turn in found["turns"]] == [step.lick.id for step in whole.steps(0)[:2]]
    assert [one["turn"] for one in found["passes"]] == [1, 2]
    kept = stored(home)
    assert [(one.player, one.source, one.routine) for one in kept] == [("Bo", "sim", "held-sevens")] * 2
    assert [one.item.lick for one in kept] == [step.lick.id for step in whole.steps(0)[:2]]


def test_a_wrong_name_lists_them_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["warmup", "cold-down"]) == 2
    _, err = capsys.readouterr()
    assert err.count("\n") == 1
    assert all(name in err for name in WARM_UPS)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--keep", "takes"], "--keep is for --from mic"),
        (["--instrument", "mine"], "--instrument is for --from mic"),
        (["--player", " "], "1 to 60"),
        (["--from", "take.wav"], "mic"),
        (["--tempo", "4"], "20 to 240"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    more: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["warmup", "open-strings", *more]) == 2
    _, err = capsys.readouterr()
    assert says in err
    assert err.count("\n") == 1


def test_the_command_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert warmup.HELP in capsys.readouterr().out
    assert "warmup" in commands.COMMANDS


def test_a_turn_is_remembered_where_a_player_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    play = ["play", "slab-wood-supper", "--loop", "change", "--tempo", "150", "--passes", "2", "--no-window"]
    assert main(play) == 0
    assert stored(tmp_path) == []
    assert main([*play, "--player", "Bo", "--set", "journal=off"]) == 0
    assert stored(tmp_path) == []
    told, _ = capsys.readouterr()
    assert main([*play, "--player", "Bo"]) == 0
    assert capsys.readouterr().out * 2 == told  # what is said is the same
    assert main([*play, "--player", "Bo", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    kept = stored(tmp_path)
    assert [one.item.unit for one in kept] == ["change"] * 4
    assert len({one.sitting for one in kept}) == 1
    assert [one.outcome.clean for one in kept[2:]] == [one["clean"] for one in found["passes"]]
