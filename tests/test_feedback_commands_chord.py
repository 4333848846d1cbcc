"""`sevenfall chord`: the JSON contract, and a page that a banjo player can read."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from feedback.__main__ import main
from routines.neck import OPEN_TUNINGS, Neck

_ABOUT_DISPLAYS = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER", "PYGAME_HIDE_SUPPORT_PROMPT")


def told(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(["chord", *argv]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_json_of_d7_keeps_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    got = json.loads(told(capsys, "D7", "--json"))
    assert list(got) == ["symbol", "notes", "midi_pitch_classes", "tendencies", "places"]
    assert (got["symbol"], got["notes"], got["midi_pitch_classes"]) == (
        "D7",
        ["D", "F#", "A", "C"],
        [2, 6, 9, 0],
    )
    assert got["tendencies"] == [
        {"from": "F#", "to": "G", "semitones": 1, "chord": "G"},
        {"from": "C", "to": "B", "semitones": -1, "chord": "G"},
    ]
    assert {"note": "C", "string": 2, "fret": 1, "midi": 60} in got["places"]
    assert {"note": "C", "string": 1, "fret": 22, "midi": 84} in got["places"]


@pytest.mark.parametrize("argv", [["C#7"], ["Bb7", "--capo", "3"], ["A7", "--tuning", "f#DF#AD"], ["Em"]])
def test_places_are_every_place_of_every_note_at_its_sounding_pitch(
    capsys: pytest.CaptureFixture[str], argv: list[str]
) -> None:
    got = json.loads(told(capsys, *argv, "--json"))
    options = dict(zip(argv[1::2], argv[2::2], strict=True))
    neck = Neck(options.get("--tuning", "gDGBD"), int(options.get("--capo", 0)))
    pitch_classes = dict(zip(got["notes"], got["midi_pitch_classes"], strict=True))
    for place in got["places"]:
        assert place["midi"] == neck.midi(place["string"], place["fret"])
        assert place["midi"] % 12 == pitch_classes[place["note"]]
    wanted = {
        (p.string, p.fret) for m in range(128) if m % 12 in pitch_classes.values() for p in neck.places(m)
    }
    assert {(place["string"], place["fret"]) for place in got["places"]} == wanted
    assert len(got["places"]) == len(wanted)


@pytest.mark.parametrize(
    ("symbol", "notes"),
    [("C#7", "C# E# G# B"), ("Cb7", "Cb Eb Gb Bbb"), ("C7", "C E G Bb"), ("F♯7", "F# A# C# E")],
)
def test_spelling(capsys: pytest.CaptureFixture[str], symbol: str, notes: str) -> None:
    assert json.loads(told(capsys, symbol, "--json"))["notes"] == notes.split()
    assert told(capsys, symbol).splitlines()[0].endswith(f"7: {notes}")


@pytest.mark.parametrize("symbol", ["D", "Em", "Am7", "Dmaj7", "F#dim"])
def test_a_chord_that_is_no_dominant_seventh_wants_to_go_nowhere(
    capsys: pytest.CaptureFixture[str], symbol: str
) -> None:
    assert json.loads(told(capsys, symbol, "--json"))["tendencies"] == []
    text = told(capsys, symbol)
    assert "falls" not in text
    assert "rises" not in text
    assert "string 1" in text


def test_the_page_on_d7(capsys: pytest.CaptureFixture[str]) -> None:
    lines = told(capsys, "D7").splitlines()
    page = [re.sub(" +", " ", line.strip()) for line in lines]
    assert page[0] == "D7: D F# A C"
    assert "F# third rises a half step to G, the root of G" in page
    assert "C flat seven falls a half step to B, the third of G" in page
    assert "C flat seven 10 1 5 10 10" in page
    assert "F# third 4 7 11 4 -" in page
    assert "C falls to B: 1/10-1/9 2/1-2/0 3/5-3/4 4/10-4/9 5/10-5/9" in page
    assert "The open fifth string, G, rubs against F# and is what F# rises to." in page
    assert max(len(line) for line in lines) <= 80


@pytest.mark.parametrize(
    ("symbol", "drone"),
    [
        ("A7", "G, is the flat seven."),
        ("E7", "G, rubs against G#."),
        ("G", "G, is the root."),
        ("C7", "G, is the fifth."),
        ("F", "G, is no tone of F."),
    ],
)
def test_what_the_drone_is_to_the_chord(capsys: pytest.CaptureFixture[str], symbol: str, drone: str) -> None:
    assert told(capsys, symbol).splitlines()[-1] == f"The open fifth string, {drone}"


def test_under_a_capo_the_page_names_the_shape_and_the_json_what_sounds(
    capsys: pytest.CaptureFixture[str],
) -> None:
    page = told(capsys, "E7", "--capo", "2")
    assert page.splitlines()[0] == "E7: E G# B D. With capo 2 it is the D7 shape, named below."
    assert "C falls to B: 1/10-1/9  2/1-2/0" in page
    assert re.search(r"C +flat seven +10 +1 +5 +10 ", page)
    assert page.endswith("The open fifth string, G, rubs against F# and is what F# rises to.\n")
    got = json.loads(told(capsys, "E7", "--capo", "2", "--json"))
    assert got["notes"] == ["E", "G#", "B", "D"]
    assert {"note": "D", "string": 2, "fret": 1, "midi": 62} in got["places"]


@pytest.mark.parametrize(
    ("argv", "named"),
    [
        (["H7"], "'H7'"),
        (["D7", "--tuning", "banjo"], "'banjo'"),
        (["D7", "--capo", "99"], "99"),
        (["D7", "--capo", "x"], "'x'"),
        ([], "CHORD"),
    ],
)
def test_what_cannot_be_read_is_one_line_and_exit_code_2(
    capsys: pytest.CaptureFixture[str], argv: list[str], named: str
) -> None:
    assert main(["chord", *argv]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert named in err
    assert err.count("\n") == 1


def test_nothing_heavy_is_loaded() -> None:
    code = (
        "import sys; from feedback.__main__ import main; main(['chord', 'D7']); "
        "print(sorted({'aubio', 'sounddevice', 'soundfile', 'soxr', 'pygame', 'scipy', 'matplotlib', 'mido'} "
        "& set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


def test_a_picture_as_svg(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "d7.svg"
    assert told(capsys, "D7", "-o", str(path)) == f"{path}: D7 on the neck, frets 0 to 12\n"
    root = ET.parse(path).getroot()
    title, words = (root.findtext(f"{{http://www.w3.org/2000/svg}}{name}") for name in ("title", "desc"))
    assert title == "D7 on the neck"
    assert words is not None
    assert words.startswith("♭7 C falls to B, 3rd of G. 3rd F♯ rises to G, root.")
    assert [file.name for file in tmp_path.iterdir()] == ["d7.svg"]


@pytest.mark.parametrize(
    ("argv", "texts"),
    [
        (["D7", "--to", "Gm"], ["then Gm", "♭7 C falls to B♭, 3rd of Gm", "12"]),
        (["E7", "--capo", "2"], ["D7", "sounds E7", "capo 2"]),
        (["A7", "--tuning", "aDF#AD"], ["tuning aDF♯AD"]),
        (["A7", "--frets", "5-17"], ["17"]),
    ],
)
def test_a_picture_shows_what_was_asked(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, argv: list[str], texts: list[str]
) -> None:
    path = tmp_path / "x.SVG"
    told(capsys, *argv, "-o", str(path))
    found = [element.text for element in ET.parse(path).iter("{http://www.w3.org/2000/svg}text")]
    assert set(texts) <= set(found)
    told(capsys, *argv, "--left", "-o", str(tmp_path / "left.svg"))
    assert (tmp_path / "left.svg").read_bytes() != path.read_bytes()


def test_a_picture_as_png_needs_no_display_and_says_nothing_of_its_maker(tmp_path: Path) -> None:
    environ = {name: value for name, value in os.environ.items() if name not in _ABOUT_DISPLAYS}
    argv = [sys.executable, "-m", "feedback", "chord", "D7", "-o", "d7.png"]
    done = subprocess.run(argv, capture_output=True, text=True, check=True, env=environ, cwd=tmp_path)
    assert (done.stdout, done.stderr) == ("d7.png: D7 on the neck, frets 0 to 12\n", "")
    data = (tmp_path / "d7.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert (int.from_bytes(data[16:20]), int.from_bytes(data[20:24])) == (1920, 1080)
    assert [file.name for file in tmp_path.iterdir()] == ["d7.png"]


def test_json_beside_a_picture_stands_alone(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "d7.svg"
    assert told(capsys, "D7", "--json", "-o", str(path)) == told(capsys, "D7", "--json")
    assert path.exists()


def test_the_page_on_d7_to_another_chord(capsys: pytest.CaptureFixture[str]) -> None:
    page = re.sub(" +", " ", told(capsys, "D7", "--to", "Gm"))
    assert "C flat seven falls a whole step to Bb, the third of Gm" in page
    assert "C falls to Bb: 1/10-1/8 2/1-3/3" in page
    page = re.sub(" +", " ", told(capsys, "E7", "--capo", "2", "--to", "A7"))
    assert "F# third falls a half step to F, the flat seven of G7" in page
    assert told(capsys, "D7", "--to", "G") == told(capsys, "D7")
    assert "falls" not in told(capsys, "D7", "--to", "C")
    assert "G falls to F#" in told(capsys, "Am7", "--to", "D7")


@pytest.mark.parametrize(
    ("argv", "code", "said"),
    [
        (["-o", "d7.pdf"], 2, "d7.pdf: a picture's name ends in .png or .svg"),
        (["-o", "png"], 2, "png: a picture's name ends in .png or .svg"),
        (["-o", "none/d7.png"], 1, "none: no such folder"),
        (["-o", "none/d7.svg"], 1, "none: no such folder"),
        (["--left"], 2, "--left is for a picture"),
        (["--frets", "0-5"], 2, "--frets is for a picture"),
        (["--frets", "5", "-o", "d7.svg"], 2, "such as 0-12"),
        (["--frets", "7-5", "-o", "d7.svg"], 2, "such as 0-12"),
        (["--frets", "0-22", "--capo", "2", "-o", "d7.svg"], 2, "with capo 2 is 20"),
        (["--to", "G", "--json"], 2, "--to is for text and pictures"),
        (["--to", "H7"], 2, "'H7'"),
    ],
)
def test_what_cannot_be_drawn_is_one_line_and_leaves_nothing(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    argv: list[str],
    code: int,
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["chord", "D7", *argv]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_no_more_is_loaded_than_a_picture_needs(tmp_path: Path) -> None:
    for argv, loaded in ((["D7"], []), (["D7", "-o", "x.svg"], []), (["D7", "-o", "x.png"], ["pygame"])):
        code = (
            f"import sys; from feedback.__main__ import main; main(['chord', *{argv}]); "
            "print(sorted({'aubio', 'sounddevice', 'soundfile', 'scipy', 'pygame'} & set(sys.modules)), "
            "'numpy' in sys.modules, file=sys.stderr)"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
        )
        found, numpy_too = done.stderr.strip().rsplit(" ", 1)
        assert found == str(loaded)
        assert loaded or numpy_too == "False"


# With a key


def test_a_chord_by_number_is_the_chord(capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "27", "--key", "G") == told(capsys, "A7")
    assert told(capsys, "57", "--key", "G", "--to", "6m") == told(capsys, "D7", "--to", "Em")
    assert told(capsys, "A7", "--key", "G") == told(capsys, "A7")


def test_a_key_tells_its_sevenths_and_a_chain(capsys: pytest.CaptureFixture[str]) -> None:
    lines = [" ".join(line.split()) for line in told(capsys, "--key", "G").splitlines()]
    assert "37 B7 6m (Em) A falls a whole step to G D# rises to E 1/7-1/5 2/10-2/8 3/2-3/0 4/7-4/5" in lines
    assert "A chain of sevenths: B7 E7 A7 D7 G (37 67 27 57 1)" in lines
    assert "A7-D7: G falls to F#, C# falls to C" in lines
    assert "D7-G: C falls to B, F# rises to G" in lines


def test_under_a_capo_a_key_is_named_by_its_shapes(capsys: pytest.CaptureFixture[str]) -> None:
    shapes = told(capsys, "--key", "B", "--capo", "4").splitlines()
    plain = told(capsys, "--key", "G").splitlines()
    assert "With capo 4 it is held as G" in shapes[0]
    assert shapes[1:] == plain[1:]


def test_json_of_a_key(capsys: pytest.CaptureFixture[str]) -> None:
    got = json.loads(told(capsys, "--key", "Em", "--json"))
    assert list(got) == ["key", "sevenths", "chain"]
    assert got["sevenths"][0] == {
        "number": "57",
        "symbol": "B7",
        "to": "Em",
        "to_number": "1m",
        "tendencies": [
            {"from": "D#", "to": "E", "semitones": 1},
            {"from": "A", "to": "G", "semitones": -2},
        ],
    }
    assert got["chain"] == ["G#7", "C#7", "F#7", "B7", "Em"]


def test_in_every_tuning(capsys: pytest.CaptureFixture[str]) -> None:
    out = told(capsys, "A7", "--tuning", "all")
    assert all(f"{tuning}, frets to 12:" in out for tuning in OPEN_TUNINGS)
    assert "The open fifth string, F#, rubs against G and is what G falls to." in out
    assert "Nothing of it wants to go anywhere" in told(capsys, "Em", "--tuning", "all")


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        ([], "CHORD is missing"),
        (["57"], "needs --key"),
        (["--key", "H"], "no key 'H'"),
        (["D7", "--key", "H"], "no key 'H'"),
        (["--key", "G", "--to", "D7"], "--to"),
        (["--key", "G", "-o", "x.png"], "-o"),
        (["--key", "G", "--tuning", "all"], "--tuning all"),
        (["D7", "--tuning", "all", "--json"], "--tuning all"),
        (["58x", "--key", "G"], "no kind of chord '8x'"),
        (["87", "--key", "G"], "accepted is 1 to 7"),
    ],
)
def test_what_a_key_does_not_go_with(capsys: pytest.CaptureFixture[str], argv: list[str], says: str) -> None:
    assert main(["chord", *argv]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.count("\n") == 1
