"""Sounds that are kept from run to run: the same as made anew, and never believed when damaged."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedback.errors import CannotDo
from feedback.performance import perform
from feedback.played import Performance
from routines.library import load
from tests.bench import renders as module
from tests.bench.fluid import font_path
from tests.bench.renders import RATE, Renders, default_folder


def _played(seed: int = 1) -> Performance:
    return perform(load("tally-stick"), tempo_half_bpm=100.0, seed=seed)


def _usable(sound: str) -> str:
    if sound != "sim":
        try:
            font_path(sound)
        except CannotDo as error:
            pytest.skip(str(error))
    return sound


@pytest.mark.parametrize("sound", ["sim", "fluid"])
def test_a_kept_sound_and_what_came_true_equal_those_made_anew(sound: str, tmp_path: Path) -> None:
    renders = Renders(folder=tmp_path / "new" / "bench")
    found = [where.sounded(_played(), _usable(sound)) for where in (renders, renders, Renders(folder=None))]
    assert [kept for _, _, kept in found] == [False, True, False]
    first, came_true, _ = found[0]
    assert first.dtype == np.float32
    assert 0.05 < np.abs(first).max() <= 1.0
    assert len(first) / RATE > came_true.notes[-1].onset_sec + 1.0
    for samples, played, _ in found[1:]:
        assert np.array_equal(samples, first)
        assert played == came_true
    assert (came_true == _played()) is (sound == "sim")


def test_a_damaged_file_is_made_anew(tmp_path: Path) -> None:
    renders = Renders(folder=tmp_path)
    first, _, _ = renders.sounded(_played(), "sim")
    (path,) = tmp_path.iterdir()
    whole = path.read_bytes()
    middle = len(whole) // 2
    for damaged in (b"", whole[:20], whole[:-1], whole[:middle] + b"\0\0\0\0" + whole[middle + 4 :]):
        path.write_bytes(damaged)
        again, _, kept = renders.sounded(_played(), "sim")
        assert not kept
        assert np.array_equal(again, first)
        assert path.read_bytes() == whole
    assert list(tmp_path.iterdir()) == [path]


def test_what_sounds_otherwise_is_kept_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    renders = Renders(folder=tmp_path)
    played = _played()
    louder = replace(played.notes[0], level_db=played.notes[0].level_db + 1.0)
    others = (played, replace(played, seed=2), replace(played, notes=(louder, *played.notes[1:])))
    assert not any(renders.sounded(other, "sim")[2] for other in others)
    assert len(list(tmp_path.iterdir())) == 3
    monkeypatch.setattr(module, "_made_by", lambda sound: "another renderer")
    assert not renders.sounded(played, "sim")[2]


@pytest.mark.parametrize(
    "name", ["strings.py", "voice.py", "room.py", "banjo.py", "partials.py", "player.py", "played.py",
             "fluid.py", "midi.py", "renders.py"],
)  # fmt: skip
def test_a_hash_of_the_renderer_holds_its_source(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    module._made_by.cache_clear()
    before = module._made_by("sim")
    read = Path.read_bytes

    def edited(path: Path) -> bytes:
        return read(path) + (b"# edited" if path.name == name else b"")

    monkeypatch.setattr(Path, "read_bytes", edited)
    module._made_by.cache_clear()
    assert module._made_by("sim") != before
    module._made_by.cache_clear()


def test_a_folder_is_trimmed_of_what_was_not_used_for_longest(tmp_path: Path) -> None:
    renders = Renders(folder=tmp_path)
    for number in range(4):
        path = tmp_path / f"{number}.take"
        path.write_bytes(bytes(100))
        os.utime(path, (1000.0 + number, 1000.0 + number))
    assert renders.size_bytes() == 400
    renders.trim(250)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["2.take", "3.take"]
    assert Renders(folder=None).size_bytes() == 0


def test_what_is_used_again_is_not_the_next_to_go(tmp_path: Path) -> None:
    renders = Renders(folder=tmp_path)
    for seed in (1, 2):
        renders.sounded(_played(seed), "sim")
    for path in tmp_path.iterdir():
        os.utime(path, (1000.0, 1000.0))
    renders.sounded(_played(2), "sim")
    renders.trim(renders.size_bytes() - 1)
    assert len(list(tmp_path.iterdir())) == 1
    assert renders.sounded(_played(2), "sim")[2]


def test_where_sounds_are_kept_moves_with_the_home() -> None:
    assert default_folder({"SEVENFALL_HOME": "/some/where"}) == Path("/some/where/bench")
    assert default_folder({}).name == "bench"
    assert "sevenfall" in str(default_folder({}))
