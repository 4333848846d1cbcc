"""Writing beside: all or nothing, and an error names the file that was wanted."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from feedback.errors import CannotDo
from feedback.writing import beside


def test_what_is_there_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    path = tmp_path / "a.npz"
    path.write_text("old")

    def full(part: Path) -> None:
        part.write_text("ha")
        raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(OSError, match="No space left") as told:
        beside(path, full)
    assert told.value.filename == str(path)
    assert [file.name for file in tmp_path.iterdir()] == ["a.npz"]
    assert path.read_text() == "old"
    beside(path, lambda part: part.write_text("new"))
    assert path.read_text() == "new"


def test_what_could_not_be_done_is_told_as_it_was_said(tmp_path: Path) -> None:
    def cannot(part: Path) -> None:
        raise CannotDo("no sound font here")

    with pytest.raises(CannotDo, match="no sound font here"):
        beside(tmp_path / "a.npz", cannot)
    with pytest.raises(FileNotFoundError, match="No such folder"):
        beside(tmp_path / "none" / "a.npz", cannot)
