"""A lick in another key, as it is played: under a capo where that is sensible, else fingered anew."""

from __future__ import annotations

import json

import pytest

from feedback.__main__ import main
from feedback.another_key import in_key, keys_of
from routines.library import load
from routines.lick import Lick

pytestmark = pytest.mark.usefixtures("ears_remember")

SUPPER = load("slab-wood-supper")


def pitches(lick: Lick) -> list[int]:
    return [note.midi for note in lick.notes if note.role != "drone"]


def test_in_its_own_key_it_is_the_lick_itself() -> None:
    assert in_key(SUPPER, "G").lick == SUPPER
    assert in_key(SUPPER, "G").words == ""


def test_a_tone_up_is_the_capo() -> None:
    found = in_key(SUPPER, "A")
    assert found.words == "Capo 2, fifth string at a, the frets as in G."
    assert [note.fret for note in found.lick.notes] == [note.fret for note in SUPPER.notes]
    assert pitches(found.lick) == [midi + 2 for midi in pitches(SUPPER)]
    assert found.trains == SUPPER.trains


def test_where_no_capo_is_sensible_it_is_fingered_anew() -> None:
    found = in_key(SUPPER, "F")
    assert found.lick.neck.capo == 0
    assert "fingered anew" in found.words
    moved = {there - here for here, there in zip(pitches(SUPPER), pitches(found.lick), strict=True)}
    assert len(moved) == 1
    assert moved.pop() % 12 == 10
    assert found.trains == ""


def test_it_keeps_its_name_so_that_it_is_found_again() -> None:
    for key in keys_of(SUPPER):
        found = in_key(SUPPER, key).lick
        assert (found.id, found.title, found.file, found.key) == (SUPPER.id, SUPPER.title, SUPPER.file, key)


def test_keys_go_round_by_fifths_from_its_own() -> None:
    assert keys_of(SUPPER) == ("G", "D", "A", "E", "B", "Bb", "F", "C")


@pytest.mark.parametrize("around", [["--traffic"], ["--loop", "change"]])
def test_played_in_another_key_it_is_judged_there(
    capsys: pytest.CaptureFixture[str], around: list[str]
) -> None:
    argv = ["play", "slab-wood-supper", "--key", "Bb", "--passes", "1", "--tempo", "150", "--json", *around]
    assert main(argv) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out)
    assert (found["lick"], found["key"]) == ("slab-wood-supper", "Bb")
    assert found["title"].startswith("Slab Wood Supper")
    (one,) = found["passes"]
    assert one["clean"]
    assert [(seven["chord"], seven["resolution"]) for seven in one["sevenths"]] == [("F7", "resolved")]


def test_a_wrong_key_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["listen", "slab-wood-supper", "--key", "H", "-o", "x.wav"]) == 2
    assert capsys.readouterr().err.startswith("no key 'H'")
    assert main(["hear", "x.wav", "--key", "A"]) == 2
    assert "--key is of a lick" in capsys.readouterr().err
