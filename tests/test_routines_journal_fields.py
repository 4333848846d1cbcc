"""What an export may hold: names that do no harm by their length, names of players, numbers that are some."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routines.journal.exporting import write_export
from routines.journal.exports import ENDINGS, passes_of
from routines.journal.texts import BadJournalFile
from tests.passes import a_pass

THREE = [a_pass(number) for number in (1, 2, 3)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_export(THREE, tmp_path / "three.json", ".json")
    return tmp_path


def test_every_name_has_a_longest_length_and_that_long_it_is_taken(folder: Path) -> None:
    tree = json.loads((folder / "three.json").read_text(encoding="utf-8"))
    path = folder / "long.json"
    for name in ("id", "sitting", "routine", "click", "window"):
        for many, taken in ((200, True), (201, False)):
            tree["passes"][2][name], was = "x" * many, tree["passes"][2][name]
            path.write_text(json.dumps(tree), encoding="utf-8")
            if taken:
                assert len(list(passes_of(path))) == 3
            else:
                with pytest.raises(BadJournalFile, match=f"pass 3, {name}: .* at most 200 are accepted"):
                    list(passes_of(path))
            tree["passes"][2][name] = was


def test_a_players_name_is_taken_as_it_would_be_typed(folder: Path) -> None:
    tree = json.loads((folder / "three.json").read_text(encoding="utf-8"))
    for one, name in zip(tree["passes"], (" Ann ", "Zoe\u0308", "Bo\n"), strict=True):
        one["player"] = name
    path = folder / "typed.json"
    path.write_text(json.dumps(tree), encoding="utf-8")
    assert [one.player for one in passes_of(path)] == ["Ann", "Zo\u00eb", "Bo"]


def test_a_number_that_is_none_is_exported_as_what_could_not_be_told(folder: Path) -> None:
    sound = THREE[0]
    timing = replace(sound.outcome.timing, spread_ms=math.nan, bounce=math.inf)
    note = replace(sound.outcome.notes[0], rest_ms=-math.inf, midi=np.int64(67))
    outcome = replace(sound.outcome, timing=timing, notes=(note, sound.outcome.notes[1]))
    odd = replace(sound, moved_ms=math.nan, lasted_sec=np.float32(math.inf), outcome=outcome)
    for ending in ENDINGS:
        path = folder / f"odd{ending}"
        write_export([odd], path, ending)
        (found,) = passes_of(path)
        assert (found.moved_ms, found.lasted_sec) == (0.0, 0.0)
        assert found.outcome == replace(sound.outcome, timing=replace(timing, spread_ms=None, bounce=None))
