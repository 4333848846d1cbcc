"""From a command to the window: when there is one, what it is given, pictures without a display."""

from __future__ import annotations

import os
from pathlib import Path

import pygame
import pytest

from feedback import onscreen
from feedback.__main__ import main
from tests.pictures import alike

pytestmark = pytest.mark.usefixtures("ears_remember")

ABOUT_DISPLAYS = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")


@pytest.fixture(autouse=True)
def nowhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No display, and files of its own."""
    for name in ABOUT_DISPLAYS:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(onscreen, "own_standard_error", lambda: None)
    monkeypatch.setattr("sys.platform", "linux")


@pytest.mark.parametrize(
    ("environ", "seen"),
    [
        ({}, False),
        ({"DISPLAY": ":0"}, True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, True),
        ({"DISPLAY": ""}, False),
        ({"SDL_VIDEODRIVER": "x11"}, True),
        ({"DISPLAY": ":0", "SDL_VIDEODRIVER": "dummy"}, False),
    ],
)
def test_whether_a_window_can_be_seen(
    environ: dict[str, str], seen: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in environ.items():
        monkeypatch.setenv(name, value)
    assert onscreen.has_display() is seen


def test_a_display_that_cannot_be_reached_is_none_and_that_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pygame.display.quit()
    monkeypatch.setenv("DISPLAY", ":987")
    assert not onscreen.opens()
    assert not pygame.display.get_init()
    said = capsys.readouterr().err
    assert said == "no window: the display cannot be reached; it goes on in the terminal\n"
    assert main([]) == 0
    out, err = capsys.readouterr()
    assert err == said
    assert "sevenfall COMMAND --help" in out


def test_other_systems_have_a_display(monkeypatch: pytest.MonkeyPatch) -> None:
    for system in ("darwin", "win32"):
        monkeypatch.setattr("sys.platform", system)
        assert onscreen.has_display()


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, object]]:
    """What a window would have been opened with."""
    found: list[tuple[str, object]] = []

    monkeypatch.setattr(onscreen, "opens", lambda: True)

    def show(house: object, first: str, what: object = None, args: object = None) -> None:
        found.append((first, what))

    monkeypatch.setattr(onscreen, "show", show)
    return found


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ([], "porch"),
        (["demo"], "play along"),
        (["play", "slab-wood-supper"], "play along"),
        (["play", "slab-wood-supper", "--from", "mic"], "play along"),
        (["tune", "--capo", "2"], "tune"),
        (["soundcheck"], "sound check"),
    ],
)
def test_with_a_display_commands_open_their_screen(
    words: list[str],
    first: str,
    shown: list[tuple[str, object]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    assert main(words) == 0
    assert [one for one, _ in shown] == [first]


@pytest.mark.parametrize(
    "words",
    [
        ["play", "slab-wood-supper", "--passes", "1", "--tempo", "200", "--no-window"],
        ["play", "slab-wood-supper", "--passes", "1", "--tempo", "200", "--json"],
    ],
)
def test_without_a_window_it_stays_in_the_terminal_and_uses_no_colour(
    words: list[str],
    shown: list[tuple[str, object]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "\x1b" not in said
    assert len(said) > 100
    assert not shown


def test_a_picture_needs_no_display_and_is_of_its_moment(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = [tmp_path / name for name in ("one.png", "same.png", "later.png")]
    for file, at in zip(files, ("1.5", "1.5", "3.2"), strict=True):
        assert main(["demo", "--screenshot", str(file), "--at", at]) == 0
        assert capsys.readouterr().out == f"Written: {file}\n"
    assert alike(files[0], files[1], mean=0.0, most=0.0)
    assert not alike(files[0], files[2])


def test_a_picture_of_a_window_with_a_driver_that_shows_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("feedback.soundcard.taking", _no_microphone)
    file = tmp_path / "tune.png"
    assert main(["tune", "--screenshot", str(file), "--at", "0"]) == 0
    assert file.read_bytes().startswith(b"\x89PNG")
    assert os.environ["SDL_VIDEODRIVER"] == "dummy"


def _no_microphone(asked: object) -> None:
    raise OSError("no sound device: plug one in")


@pytest.mark.parametrize(
    ("code", "words", "said"),
    [
        (2, "demo --at 3", "--at is for --screenshot FILE"),
        (2, "demo --screenshot {}/a.png --no-window", "--screenshot needs the window"),
        (2, "demo --screenshot {}/a.png --json", "--screenshot needs the window"),
        (2, "demo --screenshot {}/a.bmp", ".png"),
        (2, "demo --screenshot {}/a.png --at -1", "0 or more"),
        (2, "demo --screenshot {}/a.png --at 1000", "0 to 600"),
        (1, "demo --screenshot {}/none/a.png --at 0", "none"),
        (2, "play slab-wood-supper --from {}/take.wav --screenshot {}/a.png", "--from mic and --from sim"),
        (2, "tune --from {}/take.wav --screenshot {}/a.png", "--from mic"),
        (2, "soundcheck --instrument five --screenshot {}/a.png", "without --instrument"),
    ],
)
def test_what_cannot_be_is_one_line(
    code: int, words: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words.replace("{}", str(tmp_path)).split()) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert said in err
    assert not list(tmp_path.glob("*.png"))
