"""`sevenfall licks`: what it prints, as text and as JSON."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from pathlib import Path

import pytest

from feedback.commands import licks
from feedback.tab_told import tab_told
from routines.finding import find
from routines.library import all_licks, load
from routines.tab_writer import write_tab

KEYS = ["id", "title", "key", "hand", "change", "top_tempo_half_bpm", "bars", "techniques", "file"]


@pytest.fixture(autouse=True)
def _wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")


def run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    licks.add_arguments(parser)
    return licks.run(parser.parse_args(words))


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(*words) == 0
    return capsys.readouterr().out


def test_the_whole_list_has_a_line_for_each(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys).splitlines()
    assert lines[0].split() == ["lick", "change", "key", "hand", "top", "bars", "what", "it", "has"]
    assert [line.split()[0] for line in lines[1 : len(all_licks()) + 1]] == [lick.id for lick in all_licks()]
    assert max(map(len, lines)) <= 100
    assert lines[-1] == f"{len(all_licks())} licks; sevenfall licks NAME shows the tab of one"
    assert "half notes a minute" in lines[-2]


def test_numbers_stand_below_one_another(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys).splitlines()[: len(all_licks()) + 1]
    (end,) = {lines[0].index("top") + 3}
    assert all(line[end - 1 : end + 1].strip().isdigit() and line[end] == " " for line in lines[1:])


def test_in_a_narrow_terminal_every_word_is_still_there(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = printed(capsys)
    monkeypatch.setenv("COLUMNS", "80")
    narrow = printed(capsys)
    assert max(map(len, narrow.splitlines())) <= 80
    assert sorted(narrow.split()) == sorted(wide.split())
    here = narrow.splitlines()
    at = next(k for k, line in enumerate(here) if line.startswith("flag-on-the-office-roof"))
    assert here[at].split() == ["flag-on-the-office-roof", "E7-A", "A,", "quick", "116", "4", "turnaround,"]
    assert here[at + 1].split() == ["(D7-G)", "capo", "2", "pull,", "slide"]
    assert here[at + 1].index("(") == here[at].index("E7")
    assert here[at + 1].index("pull") == here[at].index("turnaround")


def test_what_fits_is_a_line_for_each_also_in_a_narrow_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    lines = printed(capsys, "waltz", "F").splitlines()
    assert len(lines[: lines.index("")]) == len(find("waltz F")) + 1


def test_below_the_list_only_what_is_there_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    assert "change: as it sounds; in brackets as the hand shapes it\n" in printed(
        capsys, "cant-hook", "ready"
    )
    assert "change: as it sounds; +1: and one more\n" in printed(capsys, "guide-tone")
    assert "change:" not in printed(capsys, "ball-peen")
    assert "\n1 lick; sevenfall" in printed(capsys, "ball-peen")


def test_a_lick_under_a_capo_shows_shapes_beside_what_sounds(capsys: pytest.CaptureFixture[str]) -> None:
    line = printed(capsys, "cant-hook", "ready").splitlines()[1]
    assert line.split()[1:7] == ["E7-A", "(D7-G)", "A,", "capo", "2", "ready"]


def test_several_words_must_all_fit(capsys: pytest.CaptureFixture[str]) -> None:
    assert "tally-stick" in printed(capsys, "A7-D", "easy")
    assert "tally-stick" not in printed(capsys, "A7-D", "ready")


def test_one_lick_by_name_shows_its_tab_and_what_it_trains(capsys: pytest.CaptureFixture[str]) -> None:
    lick = load("pond-mans-lean")
    out = printed(capsys, "Pond-Mans-Lean")
    assert out.startswith(
        "Pond Man's Lean (lick, 2/2)\nA7-D: key D, ready hand, to 105 half notes a minute\n"
    )
    assert lick.trains in out.replace("\n", " ")
    assert out.endswith("\n".join(["", *tab_told(lick), ""]))
    assert "\nmarks in the last row: r: the seven resolves here\n" in out


def test_the_words_of_one_lick_stay_within_80_columns(capsys: pytest.CaptureFixture[str]) -> None:
    for lick in (load("guide-tone-pinches"), load("flag-on-the-office-roof")):
        out = printed(capsys, lick.id)
        assert max(map(len, out.splitlines())) <= 80
        assert lick.trains in out.replace("\n", " ")
    assert out.startswith("Flag on the Office Roof (lick, turnaround, 2/2)\n")


def test_one_lick_under_a_capo_says_where_the_fifth_string_is(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "cant-hook-shuffle")
    assert "E7-A (D7-G shapes): key A (as G, capo 2), fifth string at a, ready hand, to 112" in out


def test_a_file_of_the_players_own(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.lick"
    file.write_text(write_tab(load("tally-stick")), encoding="utf-8")
    assert "D|------------5-----------|4---" in printed(capsys, str(file))
    assert json.loads(printed(capsys, str(file), "--json"))["licks"][0]["id"] == "mine"


def test_a_meter_is_no_path(capsys: pytest.CaptureFixture[str]) -> None:
    assert "log-deck-waltz" in printed(capsys, "3/4")


def test_a_file_that_is_missing() -> None:
    with pytest.raises(FileNotFoundError):
        run("nowhere.lick")


def test_nothing_found_is_one_line_and_no_error(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "no-such-thing")
    assert out.count("\n") == 1
    assert "'no-such-thing'" in out
    assert json.loads(printed(capsys, "no-such-thing", "--json")) == {"licks": []}


def test_json_is_one_object_with_the_fields_agreed(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(printed(capsys, "--json"))["licks"]
    assert [list(lick) for lick in found] == [KEYS] * len(all_licks())
    (choke,) = json.loads(printed(capsys, "choke", "sawdust", "--json"))["licks"]
    assert choke.pop("file").endswith("sawdust-in-the-coffee.lick")
    assert choke == {
        "id": "sawdust-in-the-coffee",
        "title": "Sawdust in the Coffee",
        "key": "G",
        "hand": "ready",
        "change": "C7-G",
        "top_tempo_half_bpm": 105.0,
        "bars": 2,
        "techniques": ["choke"],
    }


def test_the_key_and_change_in_json_are_those_that_sound(capsys: pytest.CaptureFixture[str]) -> None:
    (lick,) = json.loads(printed(capsys, "trimmers-choice", "--json"))["licks"]
    assert (lick["key"], lick["change"]) == ("B", "F#7-B")


def test_no_sound_or_window_library_is_loaded() -> None:
    heavy = ["aubio", "sounddevice", "soundfile", "soxr", "pygame", "scipy", "matplotlib", "mido", "numpy"]
    code = (
        "import sys, argparse; from feedback.commands import licks; p = argparse.ArgumentParser();"
        "licks.add_arguments(p); licks.run(p.parse_args(['forward-roll']));"
        f"sys.exit(' '.join(m for m in {heavy!r} if m in sys.modules) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
