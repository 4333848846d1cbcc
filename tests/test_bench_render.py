"""`python -m tests.bench render`: sound, truth and MIDI that agree; through FluidSynth where it is there."""

from __future__ import annotations

import json
import shutil
from itertools import pairwise
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.errors import CannotDo
from feedback.performance import perform
from feedback.played import Performance, PlayedNote
from routines import library
from tests.bench.__main__ import main
from tests.bench.fluid import BEGINS_DB, FONTS, font_path, through_font
from tests.bench.midi import BEND_HALF_STEPS, VELOCITY, midi_file, velocity_of
from tests.bench.rolls import RollSettings, random_rolls
from tests.bench.train.takes import drawn
from tests.scores import lick

RATE = 44_100
LICK = "the-edgers-nod"


def fluid_here() -> bool:
    return shutil.which("fluidsynth") is not None and any(Path(p).is_file() for p in FONTS["fluid"])


needs_fluid = pytest.mark.skipif(
    not fluid_here(), reason="fluidsynth and fluid-soundfont-gm are not installed"
)


def run(*words: str) -> int:
    return main(["render", *words])


def on_track(file: mido.MidiFile) -> list[tuple[int, mido.Message]]:
    now, found = 0, []
    for message in file.tracks[0]:
        now += message.time
        found.append((now, message))
    return found


def test_sound_truth_and_midi_lie_side_by_side(tmp_path: Path) -> None:
    out = tmp_path / "take.flac"
    assert run(LICK, "--mistake", "left-hanging", "--tempo", "100", "--seed", "3", "-o", str(out)) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["take.flac", "take.json", "take.mid"]
    sound, rate = soundfile.read(out)
    truth = json.loads(out.with_suffix(".json").read_text())
    assert (rate, sound.ndim) == (RATE, 1)
    assert {k: truth[k] for k in truth if k != "notes"} == {
        "nps": pytest.approx(100 / 15),
        "rate": RATE,
        "lick": LICK,
        "tempo_half_bpm": 100.0,
        "start_sec": 0.5,
        "mistakes": ["left-hanging"],
        "seed": 3,
        "sound": "sim",
    }
    assert all({"onset", "midi", "string", "fret", "how", "level_db"} <= set(n) for n in truth["notes"])
    ons = [(ms, m) for ms, m in on_track(mido.MidiFile(out.with_suffix(".mid"))) if m.type == "note_on"]
    assert [(ms, m.channel + 1, m.note) for ms, m in ons] == [
        (round(1e3 * n["onset"]), n["string"], n["midi"]) for n in truth["notes"]
    ]


def test_the_same_words_give_the_same_files(tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert run(LICK, "--seed", "5", "-o", str(tmp_path / f"{name}.wav")) == 0
    for suffix in (".wav", ".json", ".mid"):
        assert (tmp_path / f"one{suffix}").read_bytes() == (tmp_path / f"two{suffix}").read_bytes()


def test_a_take_to_learn_from_is_written_by_its_seed(tmp_path: Path) -> None:
    out, aside = tmp_path / "take.wav", tmp_path / "aside.wav"
    assert run("--take", "--seed", "100018", "-o", str(out)) == 0
    assert run("--take", "--seed", "100018", "--aside", "-o", str(aside)) == 0
    take = drawn(100018)
    sound, rate = soundfile.read(out, dtype="float32")
    truth = json.loads(out.with_suffix(".json").read_text())
    assert rate == truth["rate"] == take.rate
    assert np.allclose(sound, take.sound, atol=1e-4)
    assert [note["midi"] for note in truth["notes"]] == [note.midi for note in take.notes]
    assert not np.array_equal(sound, soundfile.read(aside, dtype="float32")[0])
    assert not out.with_suffix(".mid").exists()


def test_random_rolls_and_another_instrument(tmp_path: Path) -> None:
    out = tmp_path / "rolls.flac"
    assert run("--rolls", "8", "--bars", "2", "--vary", "--rate", "48000", "-o", str(out)) == 0
    truth = json.loads(out.with_suffix(".json").read_text())
    assert (truth["nps"], truth["rate"], truth["lick"]) == (8.0, 48_000, "")
    assert soundfile.info(out).samplerate == 48_000


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["no-such-lick"], 2, "no-such-lick"),
        ([], 2, "either a LICK or --rolls"),
        ([LICK, "--rolls", "8"], 2, "either a LICK or --rolls"),
        ([LICK, "--mistake", "seven-mising"], 2, "seven-missing"),
        ([LICK, "--tempo", "nan"], 2, "tempo"),
        ([LICK, "--tempo", "0"], 2, "tempo"),
        ([LICK, "--seed", "-1"], 2, "seed"),
        ([LICK, "--rate", "100"], 2, "rate"),
        ([LICK, "--start", "-1"], 2, "start"),
        ([LICK, "--start", "nan"], 2, "start"),
        (["--rolls", "0"], 2, "eighths a second"),
        (["--rolls", "8", "--bars", "0"], 2, "bars"),
        ([LICK, "--font", "no-such-font"], 1, "no sound font"),
    ],
)
def test_what_is_wrong_is_one_line(
    words: list[str], code: int, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(*words, "-o", str(tmp_path / "x.flac")) == code
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_no_folder_and_no_ending_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(LICK, "-o", str(tmp_path / "none" / "x.flac")) == 1
    assert run(LICK, "-o", str(tmp_path / "x.mp4")) == 2
    assert "no such folder" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_channel_a_string_never_sounds_two_notes() -> None:
    for seed in range(6):
        sounding: dict[int, int] = {}
        for _, message in on_track(midi_file(random_rolls(seed, 9.0).notes)):
            if message.type == "note_on":
                assert message.channel not in sounding
                sounding[message.channel] = message.note
            elif message.type == "note_off":
                assert sounding.pop(message.channel) == message.note
        assert not sounding


def test_a_choke_bends_to_its_pitch_and_the_next_note_starts_straight() -> None:
    of = lick("2/10c12 . . . 2/1", "G")
    played = perform(of, tempo_half_bpm=60, seed=1)
    wheels = [(ms, m.pitch) for ms, m in on_track(midi_file(played.notes)) if m.type == "pitchwheel"]
    bends = dict(wheels)
    arrives_ms = round(1e3 * (played.notes[0].arrive_sec or 0.0))
    full = round(2 / BEND_HALF_STEPS * 8192)
    assert wheels[0][1] == 0
    assert max(bends.values()) == full
    assert min(ms for ms, bend in wheels if bend == full) == pytest.approx(arrives_ms, abs=5)
    assert bends[round(1e3 * played.notes[1].onset_sec)] == 0


def test_a_slide_starts_bent_and_goes_fret_by_fret() -> None:
    played = perform(lick("3/2 s3/5", "G"), tempo_half_bpm=60, seed=1)
    wheels = [m.pitch for _, m in on_track(midi_file(played.notes)) if m.type == "pitchwheel"][1:]
    half_steps = sorted({round(bend * BEND_HALF_STEPS / 8192, 2) for bend in wheels})
    assert half_steps == [-3.0, -2.0, -1.0, 0.0]
    assert wheels[-1] == 0


def test_velocity_follows_the_fourth_power() -> None:
    assert velocity_of(0.0) == VELOCITY
    assert velocity_of(-40.0) == VELOCITY // 10
    assert (velocity_of(-200.0), velocity_of(60.0)) == (1, 127)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.floats(2.0, 12.0), st.integers(1, 6))
def test_rolls_can_be_played(seed: int, nps: float, bars: int) -> None:
    played = random_rolls(seed, nps, bars=bars)
    assert played.tempo_half_bpm == pytest.approx(15.0 * nps)
    for note in played.notes:
        assert 48 <= note.midi <= 86
        assert 0.4 < note.onset_sec < 0.6 + 8 * bars / nps
    for string in range(1, 6):
        line = [note for note in played.notes if note.string == string]
        for note, following in pairwise(line):
            assert note.duration_sec <= following.onset_sec - note.onset_sec + 1e-9
            assert following.onset_sec > note.onset_sec
            if not following.picked:
                assert following.midi != note.midi
                assert following.onset_sec - note.onset_sec < 1.2 / nps + 0.05


def test_rolls_hold_pinches_slurs_chokes_and_high_frets() -> None:
    notes = [note for seed in range(40) for note in random_rolls(seed, 6.0).notes]
    hows = {note.how for note in notes}
    assert hows == {"pick", "hammer", "pull", "slide", "choke"}
    onsets = np.sort([note.onset_sec for note in random_rolls(3, 6.0, bars=40).notes])
    assert 0.02 < np.mean(np.diff(onsets) < 0.010) < 0.25
    assert max(note.fret for note in notes) >= 15
    assert not any(
        note.how != "pick"
        for note in random_rolls(1, 6.0, bars=20, settings=RollSettings(slur_share=0, choke_share=0)).notes
    )


def test_a_font_that_is_nowhere_says_what_to_install() -> None:
    with pytest.raises(CannotDo, match="fluid-soundfont-gm"):
        font_path("no-such-font")


@needs_fluid
def test_through_fluidsynth_onsets_and_levels_are_those_of_the_truth() -> None:
    rng = np.random.default_rng(4)
    wanted = tuple(
        PlayedNote(
            onset_sec=0.4 + 0.7 * k + float(rng.uniform(0.0, 0.01)),
            midi=int(rng.integers(50, 84)),
            string=1 + k % 5,
            fret=1,
            how="hammer" if k % 4 == 3 else "pick",
            picked=k % 4 != 3,
            level_db=float(rng.uniform(-14.0, 2.0)),
            duration_sec=0.35,
        )
        for k in range(16)
    )
    asked = Performance(
        notes=wanted, lick_id="", tempo_half_bpm=90.0, start_sec=0.4, mistakes=(), seed=0,
        open_midi={1: 62, 2: 59, 3: 55, 4: 50, 5: 67},
    )  # fmt: skip
    sound, played, file = through_font(asked, font=font_path("fluid"), rate=RATE)
    width = RATE // 1000
    for note, want in zip(played.notes, wanted, strict=True):
        assert abs(note.onset_sec - want.onset_sec) < 0.001
        from_ms = round((note.onset_sec - 0.015) * RATE)
        piece = sound[from_ms : from_ms + RATE // 8].astype(float)
        power = np.convolve(piece**2, np.ones(width) / width)[width - 1 :]
        begins = (from_ms + int(np.argmax(power > power.max() * 10 ** (-BEGINS_DB / 10)))) / RATE
        assert begins == pytest.approx(note.onset_sec, abs=0.0005)
        begin = round(note.onset_sec * RATE)
        level = 10 * np.log10(np.mean(sound[begin : begin + int(0.07 * RATE)].astype(float) ** 2))
        assert level == pytest.approx(-24.0 + want.level_db, abs=0.6)
    assert {m.program for _, m in on_track(file) if m.type == "program_change"} == {105}


@needs_fluid
def test_fluid_takes_are_written_too(tmp_path: Path) -> None:
    out = tmp_path / "take.flac"
    assert run(LICK, "--font", "fluid", "-o", str(out)) == 0
    sound, _ = soundfile.read(out)
    truth = json.loads(out.with_suffix(".json").read_text())
    assert truth["sound"] == "fluid"
    assert len(truth["notes"]) == len(library.load(LICK).notes)
    assert 0.05 < np.abs(sound).max() <= 1.0
    first = round(truth["notes"][0]["onset"] * RATE)
    assert np.mean(sound[first : first + 2000] ** 2) > 100 * np.mean(sound[: first - 400] ** 2)


@needs_fluid
def test_a_file_that_is_no_font_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    font = tmp_path / "not.sf2"
    font.write_text("not a font, though long enough to be looked at")
    assert run(LICK, "--font", str(font), "-o", str(tmp_path / "x.flac")) == 1
    told = capsys.readouterr().err
    assert told.startswith("fluidsynth failed")
    assert told.count("\n") == 1
