"""Sound files of all kinds, whole and broken, and times of hearing where the rate is changed."""

from __future__ import annotations

import os
import shutil
import struct
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

import numpy as np
import pytest
import soundfile

from listener.ear import Ear, EarSettings
from listener.errors import BadSound
from listener.expecting import Expectation
from listener.files import Hearing, SoundFile, hear_file, heard_in
from listener.informed import InformedSettings, informed_scorers
from listener.notes import NoteEvent, Report, standing
from listener.rates import Resampler
from tests.plucks import ROLL, plucked

PITCHES = [round(pitch) for _, pitch, _ in ROLL]
ONSETS = [onset_sec for onset_sec, _, _ in ROLL]
ODD_RATES = (16000, 22050, 32000, 88200, 96000)


@cache
def _roll(rate: int) -> np.ndarray:
    return plucked(rate, ROLL, duration_sec=1.6)


@pytest.fixture(scope="module")
def rolls(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], Path]:
    """The roll as a file of a rate."""
    folder = tmp_path_factory.mktemp("rolls")

    @cache
    def roll(rate: int) -> Path:
        return _written(folder / f"{rate}.wav", _roll(rate), rate)

    return roll


@pytest.fixture(scope="module")
def heard_rolls(rolls: Callable[[int], Path]) -> Callable[[int], Hearing]:
    """What is heard in these."""
    return cache(lambda rate: hear_file(rolls(rate)))


def _written(path: Path, sound: np.ndarray, rate: int, **options: str) -> Path:
    soundfile.write(path, sound, rate, **options)
    return path


def _reports(path: Path, block_frames: int = 4096) -> list[Report]:
    with SoundFile(path) as sound:
        return [said for _, reports, _ in heard_in(sound, block_frames=block_frames) for said in reports]


@pytest.mark.parametrize("rate", [44100, 32000])
def test_what_is_doubtful_is_kept_apart_from_the_notes(
    rolls: Callable[[int], Path], heard_rolls: Callable[[int], Hearing], rate: int
) -> None:
    asked = [
        Expectation(onset_sec=onset, spread_sec=0.02, midi=midi, weight=0.9)
        for onset, midi in zip(ONSETS, PITCHES, strict=True)
    ]
    never_sure = partial(informed_scorers, settings=InformedSettings(least_asked=1.1))
    ear = partial(Ear, settings=EarSettings(informed=never_sure), expectations=asked)
    hearing = hear_file(rolls(rate), ear=ear)
    assert (hearing.notes, hearing.withdrawn) == ((), ())
    for note, onset_sec, midi in zip(hearing.doubtful, ONSETS, PITCHES, strict=True):
        assert (note.midi, note.onset_sec) == (midi, pytest.approx(onset_sec, abs=0.004))
        assert onset_sec + 0.05 < note.heard_sec < onset_sec + 0.1
    assert heard_rolls(rate).doubtful == ()


def _times(notes: tuple[NoteEvent, ...]) -> list[float]:
    return [note.onset_sec for note in notes]


def test_a_name_that_is_no_text_is_read(tmp_path: Path) -> None:
    path = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.wav")
    try:
        shutil.copy(_silent(tmp_path), path)
    except OSError:
        pytest.skip("this file system takes only names that are text")
    assert hear_file(path).notes == ()


def _silent(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "silent.wav", np.zeros(4410, np.float32), 44100)
    return tmp_path / "silent.wav"


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("suffix", ["wav", "flac", "ogg", "mp3"])
def test_every_kind_of_file_is_heard(tmp_path: Path, suffix: str, rate: int) -> None:
    hearing = hear_file(_written(tmp_path / f"take.{suffix}", _roll(rate), rate))
    assert hearing.sample_rate == rate
    assert hearing.duration_sec == pytest.approx(1.6, abs=0.06)
    picked = [note for note in hearing.notes if note.onset_sec > 0.2]
    assert [note.midi for note in picked] == PITCHES
    assert [note.onset_sec for note in picked] == pytest.approx(ONSETS, abs=0.004)
    assert hearing.withdrawn == ()


def test_a_lossless_file_is_heard_as_the_ear_hears_it(tmp_path: Path) -> None:
    path = _written(tmp_path / "take.wav", _roll(44100), 44100, subtype="FLOAT")
    ear = Ear(44100)
    notes, _ = standing(ear.feed(_roll(44100)) + ear.flush())
    hearing = hear_file(path)
    assert hearing.notes == tuple(notes)
    assert hearing.tuning_cents == ear.tuning_cents


@pytest.mark.parametrize("rate", [8000, 11025, *ODD_RATES, 44099, 192000])
def test_every_rate_is_heard_at_the_times_of_the_file(
    heard_rolls: Callable[[int], Hearing], rate: int
) -> None:
    hearing = heard_rolls(rate)
    assert hearing.sample_rate == rate
    assert hearing.duration_sec == pytest.approx(1.6, abs=1e-3)
    assert [note.midi for note in hearing.notes if note.onset_sec > 0.2] == PITCHES
    assert [t for t in _times(hearing.notes) if t > 0.2] == pytest.approx(ONSETS, abs=0.005)


@pytest.mark.parametrize("rate", [44100, 22050, 96000])
@pytest.mark.parametrize("block_frames", [1000, 3, 100_000])
def test_the_size_of_blocks_does_not_matter(tmp_path: Path, rate: int, block_frames: int) -> None:
    sound = _roll(rate)[round(0.15 * rate) : round(0.4 * rate)]
    path = _written(tmp_path / "take.wav", sound, rate)
    whole = _reports(path)
    assert _reports(path, block_frames) == whole
    assert whole


@pytest.mark.parametrize("rate", ODD_RATES)
def test_a_resampled_file_cut_after_hearing_or_settling_has_the_note(
    heard_rolls: Callable[[int], Hearing], tmp_path: Path, rate: int
) -> None:
    for note in heard_rolls(rate).notes[1:4:2]:
        for cut_sec, kind in ((note.heard_sec, "heard"), (note.settled_sec, "settled")):
            end = int(np.ceil(cut_sec * rate))
            cut = _written(tmp_path / "cut.wav", _roll(rate)[:end], rate)
            with SoundFile(cut) as sound:  # the last yield is the flush: it is left out
                said = [report for _, reports, _ in list(heard_in(sound))[:-1] for report in reports]
            found = [report.note for report in said if report.kind == kind]
            if kind == "settled":
                assert note in found
            else:
                assert any(f.midi == note.midi and abs(f.onset_sec - note.onset_sec) < 1e-9 for f in found)


@pytest.mark.parametrize("rate", ODD_RATES)
def test_a_resampled_file_is_heard_later_by_the_resampler(
    heard_rolls: Callable[[int], Hearing], rate: int
) -> None:
    latency = Resampler(rate).latency_sec
    assert 0.003 < latency < 0.060
    for note in heard_rolls(rate).notes[1:-1]:
        assert 0.0519 < note.heard_sec - note.onset_sec < 0.058 + latency
        assert note.heard_sec <= note.settled_sec


def test_notes_near_the_end_are_settled_by_the_end(tmp_path: Path) -> None:
    for rate in (44100, 96000):
        sound = plucked(rate, [(0.3, 62, 0.2)], duration_sec=0.36)
        hearing = hear_file(_written(tmp_path / "take.wav", sound, rate))
        assert [note.midi for note in hearing.notes] == [62]
        assert hearing.notes[0].settled_sec == pytest.approx(hearing.duration_sec)


def test_the_native_rates_pass_unchanged() -> None:
    for rate in (44100, 48000):
        resampler = Resampler(rate)
        assert (resampler.rate_out, resampler.latency_sec) == (rate, 0.0)
        block = np.arange(5, dtype=np.float32)
        ((given, out),) = resampler.feed(block)
        assert given == 5
        assert np.array_equal(out, block)
        assert len(resampler.finish()) == 0


@pytest.mark.parametrize(("rate", "goal"), [(96000, 48000), (88200, 44100), (22050, 44100), (32000, 48000)])
def test_a_simple_ratio_is_chosen_and_no_time_is_lost(rate: int, goal: int) -> None:
    resampler = Resampler(rate)
    tone = np.sin(2.0 * np.pi * 441.0 * np.arange(rate) / rate).astype(np.float32)
    parts = [out for _, out in resampler.feed(tone)] + [resampler.finish()]
    out = np.concatenate(parts)
    assert resampler.rate_out == goal
    assert len(out) == goal
    wanted = np.sin(2.0 * np.pi * 441.0 * np.arange(goal) / goal)
    assert np.abs(out - wanted)[2000:-2000].max() < 1e-3


@pytest.mark.parametrize("channels", [1, 2, 6])
def test_channels_are_averaged(tmp_path: Path, channels: int) -> None:
    frames = np.random.default_rng(0).uniform(-0.5, 0.5, (5000, channels)).astype(np.float32)
    with SoundFile(_written(tmp_path / "take.wav", frames, 44100, subtype="FLOAT")) as sound:
        read = np.concatenate(list(sound.blocks(999)))
    assert read.dtype == np.float32
    np.testing.assert_allclose(read, frames.mean(axis=1), rtol=0.0, atol=1e-6)


def test_a_dead_channel_costs_six_decibels_and_nothing_else(tmp_path: Path) -> None:
    roll = _roll(44100)
    both = hear_file(_written(tmp_path / "both.wav", np.stack([roll, roll], axis=1), 44100, subtype="FLOAT"))
    dead = np.stack([roll, np.zeros_like(roll)], axis=1)
    one = hear_file(_written(tmp_path / "one.wav", dead, 44100, subtype="FLOAT"))
    assert [(n.midi, n.onset_sec) for n in one.notes if n.onset_sec > 0.2] == [
        (n.midi, n.onset_sec) for n in both.notes if n.onset_sec > 0.2
    ]
    assert both.notes[-1].level_db - one.notes[-1].level_db == pytest.approx(6.02, abs=0.1)


@pytest.mark.parametrize("rate", [44100, 32000])
def test_samples_that_are_no_numbers_are_silence(tmp_path: Path, rate: int) -> None:
    spoilt = _roll(rate).copy()
    spoilt[[200, round(0.61 * rate)]] = np.nan, np.inf
    spoilt[300] = -1e38
    hearing = hear_file(_written(tmp_path / "take.wav", spoilt, rate, subtype="FLOAT"))
    assert all(np.isfinite([n.level_db, n.cents, n.confidence]).all() for n in hearing.notes)
    assert [n.midi for n in hearing.notes if n.onset_sec > 0.7] == PITCHES[4:]


@pytest.mark.parametrize("frames", [1, 5, 127, 4000, 50000])
@pytest.mark.parametrize("rate", [44100, 16000])
def test_silence_and_very_short_files_have_no_notes(tmp_path: Path, frames: int, rate: int) -> None:
    hearing = hear_file(_written(tmp_path / "take.wav", np.zeros(frames), rate))
    assert hearing.notes == ()
    assert hearing.tuning_cents == 0.0
    assert hearing.duration_sec == pytest.approx(frames / rate)


def test_blocks_are_of_bounded_length(tmp_path: Path) -> None:
    with SoundFile(_written(tmp_path / "take.flac", np.zeros((50000, 2)), 44100)) as sound:
        sizes = [len(block) for block in sound.blocks()]
    assert max(sizes) <= 4096
    assert sum(sizes) == 50000


def test_what_the_system_says_goes_through(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError) as caught:
        hear_file(tmp_path / "none.wav")
    assert caught.value.filename == str(tmp_path / "none.wav")
    with pytest.raises(IsADirectoryError):
        hear_file(tmp_path)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_said_so(tmp_path: Path) -> None:
    path = _written(tmp_path / "take.wav", np.zeros(10), 44100)
    path.chmod(0)
    with pytest.raises(PermissionError):
        hear_file(path)


def _complaint(path: Path) -> str:
    with pytest.raises(BadSound) as caught:
        hear_file(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert "\n" not in message
    return message


def test_an_empty_file_and_one_that_is_no_sound_are_refused(tmp_path: Path) -> None:
    empty, text = tmp_path / "empty.wav", tmp_path / "text.flac"
    empty.write_bytes(b"")
    text.write_text("A roll is no sound. " * 50)
    assert "the file is empty; WAV, FLAC, OGG or MP3 is accepted" in _complaint(empty)
    assert "no sound that can be read" in _complaint(text)
    assert "WAV, FLAC, OGG or MP3 is accepted" in _complaint(text)


@pytest.mark.parametrize("suffix", ["wav", "ogg"])
def test_a_file_of_no_frames_is_refused(tmp_path: Path, suffix: str) -> None:
    path = _written(tmp_path / f"none.{suffix}", np.zeros(0), 44100)
    assert "no sound in it, 0 frames" in _complaint(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in this system's folders")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    assert "no ordinary file" in _complaint(tmp_path / "pipe.wav")


@pytest.mark.parametrize("suffix", ["wav", "flac", "ogg", "mp3", "aiff"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.9, 0.99])
def test_a_file_cut_short_is_refused(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], suffix: str, share: float
) -> None:
    noise = 0.2 * np.random.default_rng(2).standard_normal(2 * 44100)
    path = _written(tmp_path / f"cut.{suffix}", noise, 44100)
    whole = path.read_bytes()
    if share == 0.5:  # the whole is the same for all shares
        assert hear_file(path).duration_sec == pytest.approx(2.0, abs=0.06)
    path.write_bytes(whole[: int(share * len(whole))])
    message = _complaint(path)
    assert "WAV, FLAC, OGG or MP3 is accepted" in message
    assert capfd.readouterr().err == ""


def test_a_recorder_that_never_wrote_its_length_is_trusted(tmp_path: Path) -> None:
    path = _written(tmp_path / "stream.wav", _roll(44100), 44100)
    data = bytearray(path.read_bytes())
    at = data.index(b"data")
    data[at + 4 : at + 8] = struct.pack("<I", 0xFFFFFFFF)
    path.write_bytes(data)
    assert len(hear_file(path).notes) >= len(ROLL)


def _box(name: bytes, *inside: bytes) -> bytes:
    body = b"".join(inside)
    return struct.pack(">I4s", 8 + len(body), name) + body


def _mp4(brand: bytes, *codings: bytes, index_first: bool = True) -> bytes:
    """What a phone records: its kind, an index with the coding of each track, and the sound."""
    entries = [_box(b"stsd", bytes(4), struct.pack(">I", 1), _box(code, bytes(28))) for code in codings]
    index = _box(b"moov", *(_box(b"trak", entry) for entry in entries))
    sound = _box(b"mdat", bytes(500))
    kind = _box(b"ftyp", brand, bytes(4))
    return kind + (index + sound if index_first else sound + index)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("take.m4a", _mp4(b"M4A ", b"mp4a"), "AAC sound in an MP4 container"),
        ("take.mp4", _mp4(b"isom", b"avc1", b"mp4a", index_first=False), "AAC sound in an MP4 container"),
        ("take.3gp", _mp4(b"3gp4", b"samr"), "AMR sound in a 3GP container"),
        ("take.mov", _mp4(b"qt  ", b"alac"), "Apple Lossless sound in a QuickTime container"),
        ("strange.m4a", _mp4(b"M4A ", b"none"), "sound in an MP4 container"),
        ("take.aac", b"\xff\xf1\x50\x80" + bytes(500), "AAC sound"),
        ("take.amr", b"#!AMR\n" + bytes(500), "AMR sound"),
        ("take.wma", b"\x30\x26\xb2\x75\x8e\x66\xcf\x11" + bytes(500), "Windows Media sound"),
        ("take.webm", b"\x1a\x45\xdf\xa3" + bytes(500), "sound in a Matroska or WebM container"),
    ],
    ids=lambda value: value if isinstance(value, str) and "." in value else "",
)
def test_what_a_phone_records_is_named_with_how_to_convert_it(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    assert _complaint(path) == (
        f"{path}: {said} cannot be read; WAV, FLAC, OGG or MP3 is accepted; "
        f"convert it first: ffmpeg -i {path} {path.with_suffix('.wav')}"
    )


def test_such_a_file_is_known_by_what_is_in_it_whatever_it_is_called(tmp_path: Path) -> None:
    path = tmp_path / "my take.wav"
    path.write_bytes(_mp4(b"M4A ", b"mp4a"))
    said = _complaint(path)
    assert "AAC sound in an MP4 container cannot be read" in said
    assert said.endswith(f"ffmpeg -i '{path}' '{tmp_path / 'my take-converted.wav'}'")


@pytest.mark.parametrize("kept", [24, 300, 560])
def test_a_phone_s_file_without_its_index_is_cut_short(tmp_path: Path, kept: int) -> None:
    whole = _mp4(b"M4A ", b"mp4a", index_first=False)
    assert kept < len(whole)
    path = tmp_path / "cut.m4a"
    path.write_bytes(whole[:kept])
    assert "cut short, its index is missing; a whole file is needed" in _complaint(path)


def test_boxes_of_great_or_senseless_length_are_walked_through(tmp_path: Path) -> None:
    path = tmp_path / "take.m4a"
    kind, index = _box(b"ftyp", b"M4A ", bytes(4)), _mp4(b"M4A ", b"mp4a")[16:]
    path.write_bytes(kind + struct.pack(">I4sQ", 1, b"mdat", 16 + 100) + bytes(100) + index)
    assert "AAC sound in an MP4 container" in _complaint(path)
    path.write_bytes(kind + struct.pack(">I4s", 3, b"mdat") + index)
    assert "its index is missing" in _complaint(path)
