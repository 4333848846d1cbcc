"""`sevenfall move`: what it prints, as text and as JSON, what it keeps, and its one-line errors."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from feedback.__main__ import main
from feedback.commands import move
from feedback.tab_told import tab_with_left_hand
from routines.library import load
from routines.moving.answers import Alteration
from routines.moving.move import move as moved
from routines.tab import parse_lick
from routines.tab_writer import write_systems

KEYS = {"lick", "key", "capo", "fingering"}
FINGERING_KEYS = {"playable", "exact", "cost", "notes", "altered"}
NOTE_KEYS = {"onset_quarters", "midi", "string", "fret", "finger"}


def run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    move.add_arguments(parser)
    return move.run(parser.parse_args(words))


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(*words) == 0
    return capsys.readouterr().out


def test_json_keeps_its_contract(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "slab-wood-supper", "--to", "A", "--json")
    assert out.count("\n") == 1
    found = json.loads(out)
    assert set(found) == KEYS
    assert (found["lick"], found["key"]) == ("slab-wood-supper", "A")
    fingering = found["fingering"]
    assert set(fingering) >= FINGERING_KEYS
    assert (fingering["playable"], fingering["exact"], fingering["altered"]) == (True, True, [])
    lick = load("slab-wood-supper")
    assert len(fingering["notes"]) == len(lick.notes)
    for note in fingering["notes"]:
        assert set(note) >= NOTE_KEYS
        assert note["midi"] == lick.notes[note["index"]].midi + fingering["half_steps"]
    capo = found["capo"]
    assert (capo["fret"], capo["shapes"], capo["fifth"]["note"]) == (2, "G", "a")
    assert [note["fret"] for note in capo["notes"]] == [note.fret for note in lick.notes]


def test_json_without_a_capo_answer_says_why(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(printed(capsys, "slab-wood-supper", "--to", "F", "--json"))
    assert found["capo"]["fret"] is None
    assert "would want capo 10" in found["capo"]["words"][0]


def test_json_tells_what_is_altered() -> None:
    lick = load("slab-wood-supper")
    answer = moved(lick, "A")
    altered = (Alteration(index=3, before="E4", after="left out", why="no hand reaches it there"),)
    changed = replace(answer, fingering=replace(answer.fingering, exact=False, altered=altered))
    assert move.as_json(lick, changed)["fingering"]["altered"] == [
        {"index": 3, "from": "E4", "to": "left out", "why": "no hand reaches it there"}
    ]
    told = "\n".join(move.as_text(lick, changed))
    assert "Not the lick itself, but the nearest that a hand plays:" in told
    assert "  note 4, E4 is left out: no hand reaches it there" in told


def test_text_gives_the_capo_answer_first(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "slab-wood-supper", "--to", "A").splitlines()
    assert out[:6] == [
        "Slab Wood Supper, from G to A",
        "Capo 2, G shapes, the same frets as written: up a whole step.",
        "Fifth string up to a, by a spike at fret 7 or its peg.",
        "",
        "Fingered without a capo: up a whole step.",
        "The drone goes along: fifth string up to a, by its peg or a spike at fret 7.",
    ]
    assert max(map(len, out)) <= 110


def test_text_says_what_no_hand_plays() -> None:
    lick = load("slab-wood-supper")
    answer = moved(lick, "A")
    changed = replace(answer, fingering=replace(answer.fingering, playable=False, troubles=("too far",)))
    told = "\n".join(move.as_text(lick, changed))
    assert "No hand plays this at 100 half notes a minute: too far." in told


def test_the_left_hand_stands_below_the_right() -> None:
    fingering = moved(load("slab-wood-supper"), "A").fingering
    lines = tab_with_left_hand(fingering.lick, fingering.left)
    plain = write_systems(fingering.lick).rstrip("\n").split("\n")
    assert [line for line in lines if line in plain] == plain
    (left,) = [line for line in lines if line not in plain]
    right = plain[6]
    columns = [column for column, sign in enumerate(right) if sign != " "]
    assert [column for column, sign in enumerate(left) if sign != " "] == columns
    assert [int(left[column]) for column in columns] == list(fingering.left)


def test_slurs_have_a_finger_where_their_eighth_begins() -> None:
    # Frets pulled off to their own eighth have no letter of the right hand, and one digit of the left.
    fingering = moved(load("first-log-up"), "D").fingering
    lines = tab_with_left_hand(fingering.lick, fingering.left)
    row = next(i for i, line in enumerate(lines) if set(line) & set("TIM") and "|" not in line)
    digits = sum(sign.isdigit() for sign in lines[row + 1])
    assert digits == len(fingering.lick.notes)
    assert sum(sign.isalpha() for sign in lines[row]) < digits


@pytest.mark.parametrize("asked", [(), ("--capo", "2")])
def test_a_file_is_kept_and_reads_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], asked: tuple[str, ...]
) -> None:
    path = tmp_path / "slab-wood-supper-in-a.lick"
    out = printed(capsys, "slab-wood-supper", "--to", "A", "-o", str(path), *asked)
    answer = moved(load("slab-wood-supper"), "A", capo=2 if asked else None)
    there = parse_lick(path.read_text(encoding="utf-8"), "slab-wood-supper-in-a.lick")
    assert answer.capo is not None
    assert there == (answer.capo.lick if asked else answer.fingering.lick)
    assert out.splitlines()[-1].startswith(f"{path}: written, {'the frets as' if asked else 'the fingering'}")


def test_only_the_same_lick_is_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.lick"
    assert printed(capsys, "slab-wood-supper", "--to", "A", "-o", str(path)).endswith(
        "written, the fingering\n"
    )
    assert printed(capsys, "slab-wood-supper", "--to", "A", "-o", str(path)).endswith(
        "replaced, the fingering\n"
    )
    kept = path.read_bytes()
    for words in (["slab-wood-supper", "--to", "B"], ["tally-stick", "--to", "A"], [str(path), "--to", "B"]):
        assert main(["move", *words, "-o", str(path)]) == 2
        told = capsys.readouterr()
        assert (told.out, told.err.count("\n")) == ("", 1)
        assert "there already, 'Slab Wood Supper in A', not " in told.err
    assert path.read_bytes() == kept
    path.write_text("no lick\n", encoding="utf-8")
    assert main(["move", "slab-wood-supper", "--to", "A", "-o", str(path)]) == 2
    assert "there already, and no lick" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "no lick\n"


@pytest.mark.parametrize(("asked", "half_steps"), [((), -2), (("--down",), -2), (("--up",), 10)])
def test_up_or_down(capsys: pytest.CaptureFixture[str], asked: tuple[str, ...], half_steps: int) -> None:
    found = json.loads(printed(capsys, "slab-wood-supper", "--to", "f", "--json", *asked))
    assert (found["key"], found["fingering"]["half_steps"]) == ("F", half_steps)


def test_the_fifth_string_is_named_in_the_words_as_in_the_tab(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "slab-wood-supper", "--to", "Ab")
    assert "the drone goes along: fifth string up to g#, by its peg" in out.lower()
    assert "\ng#|" in out


def test_a_file_of_the_players_own_moves_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.lick"
    assert run("slab-wood-supper", "--to", "A", "-o", str(path)) == 0
    capsys.readouterr()
    found = json.loads(printed(capsys, str(path), "--to", "B", "--json"))
    assert (found["lick"], found["key"], found["capo"]["shapes"]) == ("mine", "B", "A")


@pytest.mark.parametrize(
    ("code", "words", "said"),
    [
        (2, "slab-wood-supper --to H", "no key 'H': accepted is a major key"),
        (2, "slab-wood-supper --to A --tuning eadgbe", "no tuning 'eadgbe': accepted are"),
        (2, "slab-wood-supper --to A --capo 40", "no capo at fret 40: accepted are"),
        (2, "slab-wood-supper --to A --capo two", "--capo"),
        (2, "slab-wood-supper", "--to"),
        (2, "slab-wood-supper --to A --up --down", "not allowed with"),
        (2, "slab-wod-supper --to A", "the nearest: slab-wood-supper"),
        (2, "slab-wood-supper --to A -o x.txt", "a lick's name ends in .lick"),
        (1, "nowhere/x.lick --to A", "nowhere/x.lick: no such file"),
        (1, "slab-wood-supper --to A -o nowhere/x.lick", "nowhere: no such folder"),
    ],
)
def test_errors_are_one_line(capsys: pytest.CaptureFixture[str], code: int, words: str, said: str) -> None:
    assert main(["move", *words.split()]) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert said in told.err


def test_nothing_heavy_is_loaded() -> None:
    code = (
        "import sys; from feedback.__main__ import main\n"
        "main(['move', 'slab-wood-supper', '--to', 'A', '--json'])\n"
        "print(*sorted(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stdout.splitlines()[-1].split()}
    assert loaded.isdisjoint({"numpy", "pygame", "aubio", "sounddevice", "soundfile", "soxr", "scipy"})
