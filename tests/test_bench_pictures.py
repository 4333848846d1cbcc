"""The pictures of all screens: each keeps what every picture must, on every shape of window."""

from __future__ import annotations

from pathlib import Path

import pygame
import pytest

from feedback.screen.marks import Sheet
from feedback.screen.paint import Painter
from feedback.screen.screens import SCREENS
from tests.bench.__main__ import main
from tests.bench.pictures import TABLE, pictures
from tests.pictures import alike, check_picture

QUICK = [name for name in TABLE if not name.startswith(("lane", "after"))]
"""Those for which nothing has to be played."""

ASIDE = {"warm-up-between", "progress-years"}
"""A line so long and large that its last letters lie some pixels aside where another size hints them; and ten
years of rungs, which lie some pixels apart."""


@pytest.mark.parametrize("size", [(1280, 720), (960, 720), (1680, 720), (900, 1200), (480, 360)])
def test_every_picture_keeps_what_every_picture_must(size: tuple[int, int]) -> None:
    sheet = Sheet.of(*size)
    for name in QUICK:
        for _, picture in pictures(sheet, name):
            try:
                check_picture(picture)
            except AssertionError as error:
                raise AssertionError(f"{name}: {error}") from error


def test_every_picture_is_the_same_at_every_size() -> None:
    """To an eighth of its pixels; scaling down alone makes the light up to 3 of 255 another."""
    others: list[pygame.Surface] = []
    painters = {size: Painter() for size in ((1280, 720), (2560, 1440), (1920, 1080))}
    for name in [one for one in QUICK if one not in ASIDE]:
        painted = []
        for size, painter in painters.items():
            ((_, picture),) = [one for one in pictures(Sheet.of(*size), name) if one[0] == name]
            surface = pygame.Surface(size)
            painter.paint(surface, picture)
            as_wide = pygame.transform.smoothscale(surface, (1280, 720))
            painted.append(pygame.transform.smoothscale(as_wide, (160, 90)))
        for other in painted[1:]:
            assert alike(painted[0], other, mean=3.5, most=64.0, smaller=1), name
        assert not any(alike(painted[0], other, mean=3.5, most=64.0, smaller=1) for other in others), name
        others.append(painted[2])


def test_a_lane_that_was_played() -> None:
    for _, picture in pictures(Sheet(), "lane-count-in"):
        check_picture(picture)


def test_every_screen_has_a_picture() -> None:
    shown = " ".join(TABLE).replace("-", " ")
    named = {"play along": "lane", "neck and chord": "neck", "warm-up": "warm up"}
    assert all(named.get(screen, screen) in shown for screen in SCREENS)


def test_they_are_written_into_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "pictures"
    assert main(["pictures", str(folder), "--only", "tune", "--look", "night", "--size", "640x360"]) == 0
    written = sorted(path.name for path in folder.iterdir())
    assert written == ["tune-flat.png", "tune-in-tune.png", "tune-warned.png"]
    assert main(["pictures", str(folder), "--size", "wide"]) == 2


def test_a_name_that_no_picture_has_is_refused_and_makes_no_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "pictures"
    assert main(["pictures", str(folder), "--only", "play"]) == 2
    said = capsys.readouterr().err
    assert "--only play: no picture has that in its name; there are porch, licks" in said
    assert not folder.exists()


@pytest.mark.parametrize("name", ["lane-in-traffic", "lane-in-a-form"])
def test_a_lick_in_its_surroundings(name: str) -> None:
    ((_, picture),) = pictures(Sheet(), name)
    check_picture(picture)
    assert any(name.removeprefix("lane-").replace("-", " ") in text for text in picture.texts)


def test_pages_in_another_key() -> None:
    shown = {name: " ".join(picture.texts) for name, picture in pictures(Sheet(), "lick-")}
    assert "Capo 2" in shown["lick-under-a-capo"]
    assert "fingered anew" in shown["lick-fingered-anew"]
