"""Sound written as FLAC: what is read again is what was heard, held within full scale, and a file that cannot
be written is told with its name."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from listener import decoder
from listener.errors import LibraryMissing
from listener.storing import write_flac

STEP = 2.0**-23  # of 24 bits


@pytest.mark.parametrize("rate", [44100, 48000])
def test_a_take_is_mono_flac_of_24_bits_at_its_rate(tmp_path: Path, rate: int) -> None:
    path = tmp_path / "take.flac"
    write_flac(path, np.zeros(100), rate)
    about = soundfile.info(path)
    assert (about.format, about.subtype, about.channels) == ("FLAC", "PCM_24", 1)
    assert (about.samplerate, about.frames) == (rate, 100)


@given(samples=st.lists(st.floats(-1.0, 1.0, width=32), min_size=1, max_size=50))
def test_what_is_read_again_is_what_was_written(
    tmp_path_factory: pytest.TempPathFactory, samples: list[float]
) -> None:
    path = tmp_path_factory.getbasetemp() / "again.flac"
    write_flac(str(path), np.array(samples, np.float32), 44100)
    assert soundfile.read(path)[0] == pytest.approx(samples, abs=STEP)


def test_what_is_too_loud_is_held_and_what_is_no_number_is_silence(tmp_path: Path) -> None:
    path = tmp_path / "loud.flac"
    write_flac(path, np.array([2.0, -2.0, 1.0, -1.0, np.nan, np.inf, -np.inf, 0.5]), 44100)
    heard = soundfile.read(path)[0]
    assert heard == pytest.approx([1.0, -1.0, 1.0, -1.0, 0.0, 0.0, 0.0, 0.5], abs=STEP)


def test_the_sound_is_not_changed_by_writing_it(tmp_path: Path) -> None:
    sound = np.array([2.0, -0.5], np.float32)
    write_flac(tmp_path / "take.flac", sound, 44100)
    assert sound.tolist() == [2.0, -0.5]


def test_what_is_there_is_written_over(tmp_path: Path) -> None:
    path = tmp_path / "take.flac"
    write_flac(path, np.full(5000, 0.25), 44100)
    write_flac(path, np.full(3, 0.5), 44100)
    assert soundfile.read(path)[0].tolist() == [0.5, 0.5, 0.5]


@pytest.mark.skipif(os.name != "posix", reason="names are bytes on POSIX systems only")
def test_a_name_may_be_any_bytes(tmp_path: Path) -> None:
    path = os.fsencode(tmp_path) + b"/t\xe4ke.flac"
    try:
        open(path, "wb").close()
    except OSError:
        pytest.skip("this file system takes no such name")
    write_flac(os.fsdecode(path), np.full(3, 0.5), 44100)
    assert os.path.getsize(path) > 0


def test_a_file_that_cannot_be_written_is_told_with_its_name_once(tmp_path: Path) -> None:
    path = tmp_path / "no folder" / "take.flac"
    with pytest.raises(OSError, match="cannot be written") as caught:
        write_flac(path, np.zeros(9), 44100)
    assert (caught.value.filename, caught.value.errno) == (str(path), 5)
    assert caught.value.strerror == "cannot be written (System error)"


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no disk that is always full")
@pytest.mark.parametrize("size", [10, 100_000])
def test_a_full_disk_is_told(size: int) -> None:
    with pytest.raises(OSError, match="cannot be written"):
        write_flac("/dev/full", np.random.default_rng(1).uniform(-1.0, 1.0, size), 44100)


def test_without_the_library_what_to_install_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: str) -> None:
        raise OSError("sndfile library not found")

    monkeypatch.setattr(decoder.importlib, "import_module", refuse)
    with pytest.raises(LibraryMissing, match="libsndfile1"):
        write_flac(tmp_path / "take.flac", np.zeros(9), 44100)
