"""The player's instruments: names, where profiles lie, and one line where something is wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feedback.errors import Usage
from feedback.instruments import LONGEST, folder, load, named, names, save
from listener.instrument import Profile
from tests.in_turn import in_turn


@pytest.fixture
def environ(tmp_path: Path) -> dict[str, str]:
    return {"SEVENFALL_HOME": str(tmp_path / "home")}


@in_turn(
    ("typed", "kept"),
    [
        ("Old Five", "old five"),
        ("  old \t five ", "old five"),
        ("RB-75_b", "rb-75_b"),
        ("5", "5"),
        ("Grün", "grün"),
        ("Gru\u0308n", "gr\u00fcn"),
        ("İki", "i\u0307ki"),
        ("हिन्दी", "हिन्दी"),
        ("auxiliary", "auxiliary"),
        ("x" * LONGEST, "x" * LONGEST),
    ],
)
def test_names_are_kept_in_small_letters_with_single_blanks(typed: str, kept: str) -> None:
    assert named(typed) == kept
    assert named(kept) == kept


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "   ",
        "-five",
        ".five",
        "../five",
        "a/b",
        "a\\b",
        "a\0b",
        "five.npz",
        "AUX",
        "com1",
        "x" * (LONGEST + 1),
    ],
)
def test_what_is_no_name_is_refused(typed: str, environ: dict[str, str]) -> None:
    with pytest.raises(Usage, match=f"1 to {LONGEST} letters"):
        save(typed, Profile(tuning_cents=0.0), environ)
    assert not folder(environ).exists()


def test_one_name_is_one_profile_and_the_last_one_counts(environ: dict[str, str]) -> None:
    assert names(environ) == ()
    first = save("Old Five", Profile(tuning_cents=3.0), environ)
    save("banjo b", Profile(tuning_cents=-3.0), environ)
    assert save("OLD  FIVE", Profile(tuning_cents=5.0), environ) == first
    assert first.parent == folder(environ) == Path(environ["SEVENFALL_HOME"], "instruments")
    assert names(environ) == ("banjo b", "old five")
    assert load("old five", environ).tuning_cents == 5.0


def test_a_wrong_name_says_which_are_known(environ: dict[str, str]) -> None:
    with pytest.raises(Usage, match="none is known yet; make one: sevenfall soundcheck"):
        load("old five", environ)
    for name in ("old five", "travel"):
        save(name, Profile(tuning_cents=0.0), environ)
    with pytest.raises(
        Usage, match="no instrument 'Old Fife': did you mean old five\\? known are old five, travel"
    ):
        load("Old Fife", environ)
    with pytest.raises(Usage, match="no instrument 'zzz': known are"):
        load("zzz", environ)


def test_a_damaged_profile_is_one_line_that_names_the_file(environ: dict[str, str]) -> None:
    path = save("five", Profile(tuning_cents=0.0), environ)
    path.write_bytes(path.read_bytes()[:100])
    with pytest.raises(Usage) as told:
        load("five", environ)
    assert str(path) in str(told.value)
    assert "make it anew" in str(told.value)
    assert "\n" not in str(told.value)


def test_what_cannot_be_written_leaves_the_old_profile_and_nothing_beside_it(
    environ: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    save("five", Profile(tuning_cents=1.0), environ)

    def full(file: object, **arrays: np.ndarray) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez", full)
    with pytest.raises(OSError, match="No space"):
        save("five", Profile(tuning_cents=2.0), environ)
    monkeypatch.undo()
    assert [file.name for file in folder(environ).iterdir()] == ["five.npz"]
    assert load("five", environ).tuning_cents == 1.0


def test_other_files_in_the_folder_are_no_instruments(environ: dict[str, str]) -> None:
    save("five", Profile(tuning_cents=0.0), environ)
    (folder(environ) / "notes.txt").write_text("strings: light", encoding="utf-8")
    (folder(environ) / ".six.123.npz").write_bytes(b"")
    assert names(environ) == ("five",)
