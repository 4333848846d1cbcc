"""What is kept of an instrument: written and read back, looked at before it is believed, and listened by."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from listener.adapting import MOVED
from listener.ear import Ear, EarSettings
from listener.expecting import Expectation
from listener.instrument import VERSION, BadProfile, Profile, fingerprint, read, write
from listener.network import shipped
from listener.notes import standing
from tests.plucks import ROLL, plucked

RATE = 44100


def _learnt() -> Profile:
    arrays = {name: shipped()[name] + np.float32(0.001) for name in MOVED}
    return Profile(
        tuning_cents=-12.5, string_cents={4: 3.0, 1: -70.0}, arrays=arrays, grown_from=fingerprint()
    )


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "five.npz"
    profile = _learnt()
    write(profile, path)
    found = read(path)
    assert found.tuning_cents == profile.tuning_cents
    assert found.string_cents == profile.string_cents
    assert found.learnt
    assert not found.outgrown
    for name in MOVED:
        assert np.array_equal(found.arrays[name], profile.arrays[name])
        assert np.array_equal(found.weights()[name], profile.arrays[name])
    assert set(found.weights()) == set(shipped())


def test_a_tuning_alone_leaves_the_weights_as_they_come(tmp_path: Path) -> None:
    write(Profile(tuning_cents=7.0), tmp_path / "plain.npz")
    found = read(tmp_path / "plain.npz")
    assert (found.tuning_cents, found.learnt, found.outgrown, dict(found.string_cents)) == (
        7.0,
        False,
        False,
        {},
    )
    assert found.weights() is shipped()


def test_weights_that_grew_out_of_others_are_left_and_the_tuning_is_kept(tmp_path: Path) -> None:
    arrays = {**_learnt().arrays, "weigh": np.ones((3, 2), np.float32)}
    write(Profile(tuning_cents=5.0, arrays=arrays, grown_from="of another year"), tmp_path / "old.npz")
    found = read(tmp_path / "old.npz")
    assert found.outgrown
    assert not found.learnt
    assert found.weights() is shipped()
    assert found.tuning_cents == 5.0


def _saved(path: Path, **changes: np.ndarray | None) -> None:
    write(_learnt(), path)
    with np.load(path) as held:
        arrays = {name: held[name] for name in held.files}
    arrays.update({name: array for name, array in changes.items() if array is not None})
    np.savez(
        path, **{name: a for name, a in arrays.items() if name not in changes or changes[name] is not None}
    )


def _central(path: Path, at: int, bits: int) -> None:
    """Spoil a byte of the first entry in a file's list of contents."""
    data = bytearray(path.read_bytes())
    data[data.index(b"PK\x01\x02") + at] |= bits
    path.write_bytes(bytes(data))


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda path: path.write_bytes(b""), "no profile"),
        (lambda path: path.write_bytes(b"a letter that calls itself a profile"), "no profile"),
        (lambda path: path.write_bytes(path.read_bytes()[:5000]), "no profile"),
        (lambda path: np.save(path.open("wb"), np.zeros(3)), "no profile"),
        (lambda path: np.savez(path, version=np.array(VERSION)), "without grown_from, string"),
        (lambda path: np.savez(path, tuning_cents=np.array(0.0)), "without version"),
        (lambda path: np.savez(path, version=np.array(VERSION + 1), tuning_hz=np.array(3.0)), "version 2;"),
        (lambda path: _central(path, 8, 1), "no profile"),  # flags: said to be encrypted
        (lambda path: _central(path, 45, 0x80), "no profile"),  # an entry far beyond the file
        (lambda path: np.savez(path, version=np.array({"a": 1})), "no profile"),
        (lambda path: _saved(path, version=np.array(VERSION + 1)), f"version {VERSION + 1}"),
        (lambda path: _saved(path, version=np.array([VERSION])), "version"),
        (lambda path: _saved(path, version=np.array("one")), "version one"),
        (lambda path: _saved(path, tuning_cents=np.array(61.0)), "tuning_cents is not within 60"),
        (lambda path: _saved(path, tuning_cents=np.array(np.nan)), "tuning_cents"),
        (lambda path: _saved(path, tuning_cents=np.array("in tune")), "tuning_cents"),
        (lambda path: _saved(path, strings=np.array([4, 6])), "1 to 5"),
        (lambda path: _saved(path, strings=np.array([4])), "string_cents"),
        (lambda path: _saved(path, say=None), "say is not there"),
        (lambda path: _saved(path, say=np.zeros(3, np.float32)), "say of shape (3,)"),
        (lambda path: _saved(path, say=np.zeros(96)), "say is not there, or not float32"),
        (lambda path: _saved(path, say_bias=np.array([np.inf], np.float32)), "no number"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_one_line(
    tmp_path: Path, spoil: Callable[[Path], object], said: str
) -> None:
    path = tmp_path / "five.npz"
    write(_learnt(), path)
    spoil(path)
    with pytest.raises(BadProfile) as told:
        read(path)
    assert said in str(told.value)
    assert "\n" not in str(told.value)


def test_a_profile_that_is_not_there_is_an_error_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read(tmp_path / "none.npz")


def _sharp_roll(cents: float) -> np.ndarray:
    notes = [(sec, midi + cents / 100.0, size) for sec, midi, size in ROLL]
    return plucked(RATE, notes, duration_sec=1.9)


def _heard(profile: Profile | None, sound: np.ndarray, *, asked: bool = False) -> list[int]:
    expected = (
        [Expectation(onset_sec=s, spread_sec=0.03, midi=m, weight=0.9) for s, m, _ in ROLL] if asked else []
    )
    ear = Ear(RATE, settings=profile.settings() if profile else EarSettings(), expectations=expected)
    notes, _ = standing(ear.feed(sound) + ear.flush())
    return [note.midi for note in notes]


@pytest.mark.parametrize("asked", [False, True])
def test_an_ear_that_knows_the_tuning_names_half_steps_by_it(asked: bool) -> None:
    sound, played = _sharp_roll(60.0), [midi for _, midi, _ in ROLL]
    assert _heard(Profile(tuning_cents=56.0), sound, asked=asked) == played
    assert _heard(None, sound) != played  # 60 sharp is 40 flat of the next half step


def test_an_ear_hears_by_the_profiles_own_weights() -> None:
    deaf = {name: np.zeros_like(shipped()[name]) for name in MOVED}
    deaf["say_bias"] = np.array([-9.0], np.float32)
    profile = Profile(tuning_cents=0.0, arrays=deaf, grown_from=fingerprint())
    assert _heard(Profile(tuning_cents=0.0), _sharp_roll(0.0)) == [midi for _, midi, _ in ROLL]
    assert _heard(profile, _sharp_roll(0.0)) == []


def test_an_ear_that_is_reset_starts_at_its_tuning_again() -> None:
    ear = Ear(RATE, settings=Profile(tuning_cents=56.0).settings())
    takes = []
    for _ in range(2):
        notes, _ = standing(ear.feed(_sharp_roll(60.0)) + ear.flush())
        takes.append(notes)
        ear.reset()
    assert takes[0] == takes[1]
