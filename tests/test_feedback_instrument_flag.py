"""`--instrument NAME` of hear, judge and play: the ear that knows the banjo, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from feedback import instruments
from feedback.__main__ import main
from listener.adapting import MOVED
from listener.ear import EarSettings
from listener.files import Hearing
from listener.framing import Past
from listener.instrument import Profile, fingerprint
from listener.network import shipped
from listener.offset import TuningOffset
from listener.strikes import Strike


@pytest.fixture
def take(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    path = tmp_path / "take.wav"
    soundfile.write(path, np.zeros(22050, np.float32), 44100)
    return path


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[EarSettings | None]:
    """How every ear was built that heard a file."""
    found: list[EarSettings | None] = []

    def hear_file(path, *, ear) -> Hearing:  # type: ignore[no-untyped-def]
        found.append(ear.keywords["settings"])
        return Hearing(sample_rate=44100, duration_sec=0.5, tuning_cents=0.0, notes=(), withdrawn=())

    monkeypatch.setattr("listener.files.hear_file", hear_file)
    return found


@pytest.mark.parametrize(
    "words",
    [
        ["hear", "{}", "--instrument", "Old Five"],
        ["hear", "{}", "--lick", "tally-stick", "--instrument", "old five"],
        ["hear", "{}", "--lick", "tally-stick", "--tempo", "90", "--start", "0", "--instrument", "old five"],
        ["judge", "{}", "--lick", "tally-stick", "--instrument", "old five"],
        ["judge", "{}", "--lick", "tally-stick", "--tempo", "90", "--start", "0", "--instrument", "old five"],
        ["play", "tally-stick", "--from", "{}", "--instrument", "old five"],
    ],
)
def test_every_ear_knows_that_banjo(words: list[str], take: Path, told: list[EarSettings | None]) -> None:
    instruments.save("old five", Profile(tuning_cents=-31.0))
    assert main([word.format(take) for word in words]) == 0
    assert told
    for settings in told:
        assert settings is not None
        scorer, tuning = settings.scorer(44100), TuningOffset()
        past = Past(16384)
        past.append(np.zeros(16384, np.float32))
        scorer.struck(past, Strike(8000, 0.5), None, tuning)
        assert tuning.cents == -31.0


def test_what_another_version_learnt_is_told(take: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arrays = {name: shipped()[name] for name in MOVED}
    instruments.save("old five", Profile(tuning_cents=3.0, arrays=arrays, grown_from="another"))
    assert main(["hear", str(take), "--json", "--instrument", "Old five"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["notes"] == []
    assert said.err == (
        "Old five: its sound was learnt by another version of this program, its tuning holds; "
        "once more: sevenfall soundcheck --from FILE --instrument NAME\n"
    )
    instruments.save("old five", Profile(tuning_cents=3.0, arrays=arrays, grown_from=fingerprint()))
    assert main(["hear", str(take), "--instrument", "Old five"]) == 0
    assert not capsys.readouterr().err


def test_without_it_the_ear_is_the_plain_one(take: Path, told: list[EarSettings | None]) -> None:
    instruments.save("old five", Profile(tuning_cents=-31.0))
    assert main(["hear", str(take)]) == 0
    assert told == [None]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["hear", "{}", "--instrument", "olf five"], "did you mean old five?"),
        (["judge", "{}", "--lick", "tally-stick", "--instrument", "../five"], "letters and digits"),
        (
            ["play", "tally-stick", "--from", "sim", "--instrument", "old five"],
            "--instrument is for recordings",
        ),
    ],
)
def test_what_is_refused_is_one_line(
    words: list[str], says: str, take: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    instruments.save("old five", Profile(tuning_cents=-31.0))
    assert main([word.format(take) for word in words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert says in said.err
