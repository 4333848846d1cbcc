"""Takes that are kept: sound and JSON beside it, nothing overwritten, nothing half there."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

import feedback.keeping as keeping
from feedback.keeping import prepare, store
from feedback.practice_events import Kept
from feedback.practice_request import PracticeRequest
from routines.library import load

REQUEST = PracticeRequest(lick=load("slab-wood-supper"), tempo_half_bpm=80.0)
BEGUN = datetime(2026, 11, 28, 19, 5, 7)


def _kept(part: int = 1) -> Kept:
    sound = np.linspace(-1.5, 0.5, 4800, dtype=np.float32)
    return Kept(turn=2, part=part, sound=sound, rate=48000, passes=())


def test_a_take_is_sound_and_json(tmp_path: Path) -> None:
    prepare(tmp_path / "takes")
    path = store(tmp_path / "takes", _kept(), REQUEST, BEGUN)
    assert path.name == "slab-wood-supper-20261128-190507-turn2.flac"
    sound, rate = soundfile.read(path, dtype="float32")
    assert rate == 48000
    assert np.allclose(sound, np.clip(_kept().sound, -1.0, 1.0), atol=1e-6)
    beside = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    assert (beside["file"], beside["lick"]) == (path.name, "slab-wood-supper")
    assert sorted(one.name for one in path.parent.iterdir()) == [path.name, path.with_suffix(".json").name]


def test_no_take_is_written_over_another(tmp_path: Path) -> None:
    names = [store(tmp_path, _kept(part), REQUEST, BEGUN).name for part in (1, 1, 2, 1)]
    assert len(set(names)) == 4
    assert names[2].endswith("turn2-2.flac")
    (tmp_path / names[0]).unlink()  # its JSON is still there, and belongs to it
    assert store(tmp_path, _kept(), REQUEST, BEGUN).name not in names


def test_the_folder_is_made_and_tried_beforehand(tmp_path: Path) -> None:
    prepare(tmp_path / "takes")
    prepare(tmp_path / "takes")
    assert list((tmp_path / "takes").iterdir()) == []
    mine = tmp_path / "takes" / "takes.txt"
    mine.write_text("mine")
    prepare(tmp_path / "takes")
    assert mine.read_text() == "mine"
    with pytest.raises(OSError, match="No such file"):
        prepare(tmp_path / "a" / "b")
    (tmp_path / "file").write_text("x")
    with pytest.raises(OSError, match="file"):
        prepare(tmp_path / "file")
    assert (tmp_path / "file").read_text() == "x"


def test_a_folder_that_went_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="No such folder"):
        store(tmp_path / "gone", _kept(), REQUEST, BEGUN)


def test_where_the_json_fails_the_sound_goes_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = keeping.beside

    def beside(path: Path, write: object) -> None:
        if path.suffix == ".json":
            raise OSError(28, "No space left on device", str(path))
        plain(path, write)  # type: ignore[arg-type]

    monkeypatch.setattr(keeping, "beside", beside)
    with pytest.raises(OSError, match="No space"):
        store(tmp_path, _kept(), REQUEST, BEGUN)
    assert list(tmp_path.iterdir()) == []
