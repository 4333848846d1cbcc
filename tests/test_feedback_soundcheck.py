"""The sound check as a player meets it: what to play, what was found, what is stored."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from feedback import instruments
from feedback.__main__ import main
from feedback.checked import told
from feedback.errors import Usage
from feedback.soundcheck import FRETS, STRINGS, Checked, asked_places
from listener.acquaint import Acquaintance, Found, Tried
from listener.adapting import MOVED
from listener.conditions import Conditions
from listener.instrument import Profile, fingerprint
from listener.network import shipped
from routines.neck import Neck, Place
from tests.plucks import plucked

RATE = 22050
GAP_SEC = 0.4
LIST = [(place, Neck().midi(place.string, place.fret)) for place in asked_places(Neck())]


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))


@pytest.fixture(scope="module")
def takes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the first two strings of the list (eight cents sharp), a half step up, and silence."""
    folder = tmp_path_factory.mktemp("takes")
    for name, cents in {"two-strings": 8.0, "half-step-up": 100.0}.items():
        notes = [(0.5 + GAP_SEC * n, midi + cents / 100.0, 0.08) for n, (_, midi) in enumerate(LIST[:14])]
        sound = plucked(RATE, notes, duration_sec=0.7 + GAP_SEC * 14)
        soundfile.write(folder / f"{name}.wav", np.stack([sound, sound], axis=1), RATE)
    soundfile.write(folder / "silence.flac", np.zeros(RATE, np.float32), RATE)
    soundfile.write(folder / "long.flac", np.zeros(301 * 8000, np.float32), 8000)
    return folder


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert main(["soundcheck", *words, "--json"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.count("\n") == 1
    return json.loads(said.out)


def test_it_says_what_to_play(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["soundcheck", "--notes"]) == 0
    said = capsys.readouterr()
    assert "string 4 (D3): open 3 times, then frets 2, 4, 5, 7" in said.out
    assert "string 5 (G4): open 3 times, then frets 7, 9, 10, 12" in said.out
    assert "Then: sevenfall soundcheck --instrument NAME" in said.out
    assert said.err == ""
    asked = _json(capsys, "--notes")["asked"]
    assert [(Place(one["string"], one["fret"]), one["midi"]) for one in asked] == LIST


def test_what_was_found_is_told_though_it_cannot_be_stored(
    takes: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "instruments").write_text("in the way")
    file = str(takes / "two-strings.wav")
    assert main(["soundcheck", "--from", file, "--instrument", "five"]) == 1
    said = capsys.readouterr()
    assert "14 of 35 notes found" in said.out
    assert "stored      nothing\n" in said.out
    assert said.err.count("\n") == 1
    assert str(tmp_path / "home" / "instruments") in said.err
    assert main(["soundcheck", "--from", file, "--instrument", "five", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["stored"] is None


def test_the_beginning_of_the_list_is_not_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    notes = [(0.5 + GAP_SEC * n, midi, 0.08) for n, (_, midi) in enumerate(LIST[:5])]
    soundfile.write(tmp_path / "five.wav", plucked(RATE, notes, duration_sec=3.0), RATE)
    assert main(["soundcheck", "--from", str(tmp_path / "five.wav")]) == 0
    assert "only 5 of 35 notes found: this is not the list" in capsys.readouterr().out


def test_the_list_is_one_that_a_neck_has_in_any_tuning_and_under_a_capo() -> None:
    for neck in (Neck(), Neck(tuning="gCGBD"), Neck(capo=2), Neck(capo=7), Neck(tuning="aDGBD", capo=4)):
        places = asked_places(neck)
        assert len(places) == len(STRINGS) * len(FRETS)
        midi = [neck.midi(place.string, place.fret) for place in places]
        assert midi[:7] == [neck.open_midi(4) + fret for fret in FRETS]
        assert midi[-7:] != [midi[-7]] * 7
    with pytest.raises(Usage, match="--capo 8: the sound check wants fret 0"):
        asked_places(Neck(capo=8))


def test_a_take_is_measured_and_its_tuning_stored_under_the_name(
    takes: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(takes / "two-strings.wav")
    found = _json(capsys, "--from", file, "--instrument", "Old  Five")
    assert found["sample_rate"] == RATE
    there = [one for one in found["asked"] if one["onset_sec"] is not None]
    assert len(there) == 14
    assert [(one["string"], one["fret"]) for one in there] == [(p.string, p.fret) for p, _ in LIST[:14]]
    assert found["tuning_cents"] == pytest.approx(8.0 - 4.0, abs=4.0)
    assert [one["string"] for one in found["strings"]] == [3, 4]
    assert found["clipped_samples"] == 0
    assert found["noise_db"] < found["note_level_db"] < found["peak_db"] <= 0.0
    assert found["rolls"] is None  # too few whole notes to learn from
    assert not found["learnt"]
    assert found["instrument"] == "old five"
    assert found["stored"] == str(instruments.folder() / "old five.npz")
    assert instruments.load("old five").tuning_cents == pytest.approx(found["tuning_cents"], abs=0.01)


def test_in_words_it_says_the_same_and_without_a_name_stores_nothing(
    takes: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["soundcheck", "--from", str(takes / "two-strings.wav")]) == 0
    said = capsys.readouterr().out
    assert "14 of 35 notes found in order" in said
    assert "2/0, 2/0, 2/0, 2/2" in said
    assert "cents against A = 440 Hz, give or take" in said
    assert "too few whole notes" in said
    assert "nothing; --instrument NAME stores it" in said
    assert instruments.names() == ()


@pytest.mark.parametrize(
    ("name", "words"),
    [("silence.flac", "no note heard"), ("half-step-up.wav", "other half steps")],
)
def test_what_is_not_the_list_is_no_error_and_is_not_stored(
    takes: Path, capsys: pytest.CaptureFixture[str], name: str, words: str
) -> None:
    file = str(takes / name)
    assert main(["soundcheck", "--from", file, "--instrument", "five"]) == 0
    assert words in capsys.readouterr().out
    found = _json(capsys, "--from", file, "--instrument", "five")
    assert found["stored"] is None
    assert instruments.names() == ()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--from", "long.flac"], "301 s long; up to 300 s"),
        (["--from", "silence.flac", "--instrument", "a/b"], "letters and digits"),
        (["--from", "silence.flac", "--tuning", "gDGBE"], "no tuning"),
        (["--from", "silence.flac", "--capo", "9"], "--capo 9"),
        (["--from", "none.wav"], "none.wav"),
    ],
)
def test_what_is_wrong_is_one_line(
    takes: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(takes)
    assert main(["soundcheck", *words]) == (1 if "none.wav" in words else 2)
    told_them = capsys.readouterr()
    assert told_them.out == ""
    assert told_them.err.count("\n") == 1
    assert said in told_them.err


def _checked(tried: Tried | None, profile: Profile) -> Checked:
    places = asked_places(Neck())
    return Checked(
        file="take.wav",
        rate=RATE,
        duration_sec=30.0,
        places=places,
        midi=tuple(midi for _, midi in LIST),
        conditions=Conditions(peak_db=-34.0, noise_db=-60.0, clipped=0),
        acquaintance=Acquaintance(
            tuple(Found(0.0, 5.0, -40.0, True) for _ in places), 0, 5.0, tried, profile
        ),
    )


def test_each_outcome_of_learning_is_said_as_it_is() -> None:
    tuned = Profile(tuning_cents=5.0, string_cents={4: -12.0, 1: 1.0})
    arrays = {name: shipped()[name] for name in MOVED}
    learnt = Profile(tuning_cents=5.0, arrays=arrays, grown_from=fingerprint())
    said = {
        what: "\n".join(told(_checked(tried, profile), "five", "five.npz"))
        for what, tried, profile in (
            ("kept", Tried(200, 0.871, 0.934), learnt),
            ("well", Tried(200, 0.984, 0.984), tuned),
            ("in vain", Tried(200, 0.871, 0.874), tuned),
        )
    }
    assert "87 of 100 notes right" in said["kept"]
    assert "93 after learning from the other half" in said["kept"]
    assert "what was learnt of its sound, as five" in said["kept"]
    assert "98 of 100" in said["well"]
    assert "next to nothing to learn" in said["well"]
    assert "too little, so it is not kept" in said["in vain"]
    assert "its tuning, as five: five.npz" in said["in vain"]
    assert "4 -12 (flat), 1 +1" in said["well"]
    assert "soft: turn the input up" in said["well"]
    assert "noisy: go nearer" in said["well"]  # 20 dB between notes and noise
