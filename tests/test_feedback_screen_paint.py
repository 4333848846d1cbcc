"""The painter: every mark at its place, at every scale; what is kept is bounded; files whole or not."""

from __future__ import annotations

import itertools
import os
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import numpy as np
import pygame
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.screen import paint
from feedback.screen.files import save_beside, write_png
from feedback.screen.inks import LOOKS
from feedback.screen.lettering import width
from feedback.screen.marks import Box, Line, Mark, Picture, Ring, Shape, Sheet, Text
from feedback.screen.paint import STAMPS, TEXTS, Painter
from feedback.screen.stamps import Kept
from tests.in_turn import in_turn
from tests.pictures import alike

INKS = LOOKS["paper"]
SCALES = (2 / 3, 1.0, 1.5, 2.0)


def painted(
    *marks: Mark, scale: float = 1.0, painter: Painter | None = None, units=(240, 160)
) -> pygame.Surface:
    sheet = Sheet(*map(float, units), scale)
    surface = pygame.Surface((round(units[0] * scale), round(units[1] * scale)), depth=32)
    (painter or Painter()).paint(surface, Picture(sheet, marks))
    return surface


def at(surface: pygame.Surface, x: float, y: float, scale: float = 1.0) -> tuple[int, int, int]:
    return tuple(surface.get_at((int(x * scale), int(y * scale))))[:3]


def inked(surface: pygame.Surface) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of what is not paper, by half its ink, in pixels."""
    pixels = pygame.surfarray.array3d(surface).astype(int)
    far = np.abs(pixels - INKS["paper"]).sum(axis=2)
    across, down = np.flatnonzero((far > 250).any(axis=1)), np.flatnonzero((far > 250).any(axis=0))
    return across[0], down[0], across[-1] + 1, down[-1] + 1


def shades(surface: pygame.Surface) -> set[tuple[int, int, int]]:
    return {tuple(rgb) for rgb in pygame.surfarray.array3d(surface).reshape(-1, 3).tolist()}


@pytest.mark.parametrize("scale", SCALES)
def test_a_box_lies_at_its_place(scale):
    surface = painted(Box(x=30, y=24, wide=60, high=48, fill="seven", edge="ink", thick=3), scale=scale)
    assert at(surface, 60, 48, scale) == INKS["seven"]
    for x, y in ((30.8, 48), (89.2, 48), (60, 24.8), (60, 71.2)):
        assert at(surface, x, y, scale) == INKS["ink"]
    for x, y in ((28, 48), (91.6, 48), (60, 22), (60, 73.6)):
        assert at(surface, x, y, scale) == INKS["paper"]


def test_what_lies_far_away_is_not_seen():
    for x in (65_536.0 + 50, -65_536.0 + 50):  # the library's own numbers end before
        assert shades(painted(Box(x=x, y=20, wide=20, high=20, fill="ink"))) == {INKS["paper"]}


@pytest.mark.parametrize("scale", SCALES)
def test_a_box_has_round_smooth_corners(scale):
    box = Box(x=30, y=24, wide=90, high=60, fill="chosen", round=18)
    surface = painted(box, scale=scale)
    for x, y in itertools.product((31.5, 118), (25.5, 82)):
        assert at(surface, x, y, scale) == INKS["paper"]
    for x, y in ((32, 54), (118, 54), (75, 26), (75, 82), (38, 32), (112, 32), (38, 76), (112, 76)):
        assert at(surface, x, y, scale) == INKS["chosen"]
    assert len(shades(surface)) > 6
    edged = painted(replace(box, fill="band", edge="ink", thick=4.0), scale=scale)
    assert at(edged, 75, 54, scale) == INKS["band"]
    for x, y in ((32, 54), (118, 54), (75, 26), (75, 82), (37.3, 31.3), (112.3, 31.3)):
        assert sum(at(edged, x, y, scale)) < 3 * 90
    hollow = painted(replace(box, fill="", edge="ink"), scale=scale)
    assert at(hollow, 75, 54, scale) == INKS["paper"]


@pytest.mark.parametrize("scale", SCALES)
def test_lines_lie_at_their_places(scale):
    surface = painted(
        Line(points=((20, 30), (200, 30)), thick=6),
        Line(points=((60, 60), (60, 140)), thick=6, ink="astray"),
        Line(points=((100, 60), (180, 140)), thick=6, ink="landed"),
        scale=scale,
    )
    for x in (21, 110, 198):
        assert at(surface, x, 28, scale) == at(surface, x, 31.5, scale) == INKS["ink"]
        assert at(surface, x, 24.5, scale) == at(surface, x, 35.5, scale) == INKS["paper"]
    for y in (61, 100, 138):
        assert at(surface, 60, y, scale) == INKS["astray"]
        assert at(surface, 54.5, y, scale) == at(surface, 65.5, y, scale) == INKS["paper"]
    for part in (0.1, 0.5, 0.9):
        assert at(surface, 100 + 80 * part, 60 + 80 * part, scale) == INKS["landed"]
        assert at(surface, 108 + 80 * part, 60 + 80 * part, scale) == INKS["paper"]


def test_a_broken_line_has_gaps_of_its_own():
    for points in (((10, 30), (230, 30)), ((30, 10), (30, 150)), ((10, 20), (150, 125))):
        whole = painted(Line(points=points, thick=4))
        broken = painted(Line(points=points, thick=4, dashed=True))
        drawn = [int((pygame.surfarray.array3d(one)[..., 0] < 128).sum()) for one in (whole, broken)]
        assert 0.45 < drawn[1] / drawn[0] < 0.65


@pytest.mark.parametrize("scale", SCALES)
def test_a_shape_lies_at_its_place(scale):
    triangle = ((40.0, 20.0), (100.0, 130.0), (20.0, 110.0))
    surface = painted(Shape(points=triangle, fill="landed"), scale=scale)
    assert at(surface, 53, 86, scale) == INKS["landed"]
    for x, y in ((40, 16), (80, 70), (20, 80), (104, 132)):
        assert at(surface, x, y, scale) == INKS["paper"]
    open_one = painted(Shape(points=triangle, fill="", edge="ink", thick=4.0), scale=scale)
    assert at(open_one, 53, 86, scale) == INKS["paper"]
    assert at(open_one, 70, 75, scale) == at(open_one, 30, 65, scale) == INKS["ink"]


@pytest.mark.parametrize("scale", SCALES)
def test_a_ring_lies_at_its_place(scale):
    surface = painted(Ring(x=100, y=80, radius=30, fill="third", edge="astray", thick=6), scale=scale)
    assert at(surface, 100, 80, scale) == at(surface, 118, 90, scale) == INKS["third"]
    for x, y in ((70.5, 80), (129.5, 80), (100, 50.5), (100, 109.5), (121.2, 101.2)):
        assert at(surface, x, y, scale) == INKS["astray"]
    for x, y in ((65, 80), (135, 80), (125, 105)):
        assert at(surface, x, y, scale) == INKS["paper"]


@in_turn("scale", SCALES)
@in_turn("bold", [False, True])
def test_a_text_stands_on_its_line(scale, bold):
    surface = painted(Text(x=20, y=100, text="HE", size=60, bold=bold), scale=scale)
    left, top, right, bottom = (edge / scale for edge in inked(surface))
    assert bottom == pytest.approx(100, abs=1.6)
    assert top == pytest.approx(100 - 0.729 * 60, abs=1.6)  # capitals of DejaVu Sans
    assert left == pytest.approx(20 + 0.098 * 60, abs=2.0)
    assert right < 20 + width("HE", 60, bold)


def test_the_foot_of_letters_lies_sharp_on_the_line_at_every_size():
    painter = Painter()
    for size in range(22, 90, 3):
        surface = painted(Text(x=20, y=100, text="HH", size=size), painter=painter)
        column = pygame.surfarray.array3d(surface)[int(20 + 0.15 * size)].astype(int).sum(axis=1)
        assert column[99] < sum(INKS["ink"]) + 40
        assert column[100] == sum(INKS["paper"])


@pytest.mark.parametrize("scale", SCALES)
def test_texts_are_anchored_left_right_and_in_the_middle(scale):
    wide = width("HNH", 40)
    bounds = {
        anchor: inked(painted(Text(x=120, y=90, text="HNH", size=40, anchor=anchor), scale=scale))
        for anchor in ("left", "center", "right")
    }
    for anchor, shift in (("center", 0.5), ("right", 1.0)):
        moved = (bounds["left"][0] - bounds[anchor][0]) / scale
        assert moved == pytest.approx(shift * wide, abs=2.0 / scale)
    assert (bounds["center"][0] + bounds["center"][2]) / 2 / scale == pytest.approx(120, abs=1.5 / scale)


@in_turn("size", [14, 22, 24, 28, 33, 46, 76])
@in_turn("bold", [False, True])
def test_texts_are_as_wide_as_the_table_says_at_every_size(size, bold):
    text = "Half an Inch of Kerf, eighth 3 of bar 2: F♯ falls to E"
    surface = painted(Text(x=2, y=110, text=text, size=size, bold=bold), units=(2600, 130))
    left, _, right, _ = inked(surface)
    # A kerned pair makes it narrower; beside the first and after the last letter is some room.
    assert -0.012 * width(text, size, bold) - 0.3 * size < right - left - width(text, size, bold) <= 1.0


def test_shapes_have_smooth_edges_without_a_rim_of_another_colour():
    points = ((20.0, 20.0), (120.0, 50.0), (40.0, 130.0))
    assert len(shades(painted(Shape(points=points, fill="ink")))) > 12
    edged = painted(Shape(points=points, fill="seven", edge="ink", thick=5))
    outer = pygame.surfarray.array3d(edged).astype(float).reshape(-1, 3)
    paper, ink, seven = (np.array(INKS[name], float) for name in ("paper", "ink", "seven"))
    # Every pixel is a mixture of ink with one of the others: none is more yellow than such a mixture.
    for inside in (paper, seven):
        along = ((outer - ink) @ (inside - ink)) / ((inside - ink) @ (inside - ink))
        off = np.linalg.norm(outer - (ink + along[:, None] * (inside - ink)), axis=1)
        outer = outer[off > 4.0]
    assert len(outer) == 0


def test_large_shapes_and_rings_are_drawn_too():
    units = (1300, 1300)
    ledge = Shape(
        points=((0.0, 40.0), (600.0, 40.0), (700.0, 60.0), (1300.0, 60.0), (1300.0, 90.0), (0.0, 70.0))
    )
    surface = painted(ledge, Ring(x=650, y=700, radius=400, fill="third", thick=6), units=units)
    assert at(surface, 300, 50) == at(surface, 1200, 75) == INKS["ink"]
    assert at(surface, 1200, 50) == INKS["paper"]
    assert at(surface, 650, 700) == INKS["third"]
    assert at(surface, 251, 700) == INKS["ink"]


def test_painting_twice_is_the_same_to_the_bit():
    marks = _some_of_each()
    painter = Painter()
    first, again, fresh = (painted(*marks, painter=one) for one in (painter, painter, Painter()))
    assert first.get_buffer().raw == again.get_buffer().raw == fresh.get_buffer().raw
    assert alike(first, fresh, mean=0.0, most=0.0)
    assert not alike(first, painted(*marks[:-3]))


@pytest.mark.parametrize("scale", SCALES)
def test_what_moves_by_whole_pixels_keeps_its_distances(scale):
    marks = [mark for mark in _some_of_each() if not isinstance(mark, Ring)]
    painter, sheet = Painter(), Sheet(240.0, 160.0, scale)
    still = pygame.surfarray.array3d(painted(*marks, scale=scale, painter=painter))
    for units in (0.7, 7.3, 11.0):
        by = sheet.snapped(units)
        moved = painted(*[_moved(mark, by) for mark in marks], scale=scale, painter=painter)
        px = round(by * scale)
        assert (pygame.surfarray.array3d(moved)[px:] == still[: still.shape[0] - px]).all()


@pytest.mark.parametrize("scale", SCALES)
def test_a_rounding_error_moves_nothing(scale):
    sheet = Sheet(240.0, 160.0, scale)
    for units, half in itertools.product(range(100), range(0, 60, 7)):
        by, place = sheet.snapped(units * 0.37), (half + 0.5) / scale
        assert paint._px((place + by) * scale) == half + 1 + round(by * scale)


def test_halves_of_pixels_go_the_same_way_everywhere():
    rows = painted(*(Line(points=((0, y + 0.5), (240, y + 0.5)), thick=2) for y in range(10, 150, 7)))
    tops = np.flatnonzero(np.diff((pygame.surfarray.array3d(rows)[5, :, 0] < 128).astype(int)) == 1)
    assert set(np.diff(tops)) == {7}


def test_stores_are_bounded():
    painter = Painter()
    for number in range(0, 900, 50):
        texts = [Text(x=0, y=20, text=str(number + k), size=14) for k in range(50)]
        rings = [Ring(x=9, y=9, radius=1 + (number + k) / 240) for k in range(50)]
        shapes = [Shape(points=((0, 0), (9, 0), (3, 1 + (number + k) / 90))) for k in range(50)]
        painted(*texts, *rings, *shapes, painter=painter)
    assert painter.kept[0] <= TEXTS
    assert 20 < painter.kept[1] <= STAMPS
    painted(Text(x=0, y=20, text="a"), painter=painter, scale=2.0)
    assert painter.kept == (1, 0)  # nothing of another scale is kept


def test_what_was_not_used_for_longest_goes_first():
    kept = Kept(3, 10_000)
    for name in "abc":
        kept.keep(name, pygame.Surface((10, 10)))
    kept.get("a")
    kept.keep("d", pygame.Surface((10, 10)))
    assert kept.get("b") is None
    assert all(kept.get(name) for name in "acd")
    kept.keep("e", pygame.Surface((99, 99)))  # the pixels of all
    assert len(kept) == 2
    kept.keep("f", pygame.Surface((200, 200)))
    assert len(kept) == 1


def test_fonts_are_opened_once_for_a_size(monkeypatch):
    opened = []
    font = pygame.font.Font
    monkeypatch.setattr(pygame.font, "Font", lambda *args: opened.append(args[1]) or font(*args))
    painter = Painter()
    for text in ("a", "b", "c"):
        painted(Text(x=0, y=30, text=text), Text(x=0, y=90, text=text, bold=True), painter=painter)
    assert opened == [112, 112]


@pytest.mark.parametrize("text", ["", "\0", "\ud800 x", "\u200b", "漢字 🙂", "\n", "x" * 3000])
def test_any_text_can_be_painted(text):
    painted(Text(x=5, y=40, text=text), Text(x=5, y=90, text=text, size=0.0))


NUMBER = st.floats(-3000, 3000)
SIZE = st.floats(0, 1500)
POINT = st.tuples(NUMBER, NUMBER)
INK = st.sampled_from(["", "ink", "seven"])
MARK = st.one_of(
    st.builds(Line, points=st.lists(POINT, max_size=4).map(tuple), thick=SIZE, dashed=st.booleans()),
    st.builds(
        Shape, points=st.lists(POINT, max_size=5).map(tuple), fill=INK, edge=INK, thick=st.floats(0, 30)
    ),
    st.builds(Ring, x=NUMBER, y=NUMBER, radius=SIZE, fill=INK, edge=INK, thick=SIZE),
    st.builds(Box, x=NUMBER, y=NUMBER, wide=SIZE, high=SIZE, fill=INK, edge=INK, thick=SIZE, round=SIZE),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(MARK, max_size=4), st.sampled_from(SCALES))
def test_anything_can_be_painted(marks, scale):
    painted(*marks, scale=scale)


def test_a_look_that_there_is_not():
    with pytest.raises(KeyError):
        Painter("neon")


def test_a_file_holds_what_the_window_would_show(tmp_path):
    picture = Picture(Sheet(240.0, 160.0, 1.5), tuple(_some_of_each()), paper="band")
    path = tmp_path / "one.png"
    for look in LOOKS:
        write_png(picture, path, look=look)
        shown = pygame.Surface((360, 240), depth=32)
        Painter(look).paint(shown, picture)
        assert alike(path, shown, mean=0.0, most=0.0)
        assert at(shown, 1, 1) == LOOKS[look]["band"]
    assert [one.name for one in tmp_path.iterdir()] == ["one.png"]


def test_a_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    picture = Picture(Sheet(240.0, 160.0), ())
    with pytest.raises(FileNotFoundError, match="nowhere"):
        write_png(picture, tmp_path / "nowhere" / "one.png")
    path = tmp_path / "one.png"
    path.write_bytes(b"older")

    def full(part: Path, made: bytes) -> int:
        with part.open("wb") as file:
            file.write(made[:10])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match=r"No space.*one\.png"):
        write_png(picture, path)
    assert [one.name for one in tmp_path.iterdir()] == ["one.png"]
    assert path.read_bytes() == b"older"


def test_a_library_that_cannot_write_is_told(tmp_path, monkeypatch):
    def fails(*args: object) -> None:
        raise pygame.error("out of memory")

    monkeypatch.setattr(pygame.image, "save", fails)
    with pytest.raises(OSError, match=r"one\.png: could not be written \(out of memory\)"):
        save_beside(pygame.Surface((4, 4)), tmp_path / "one.png")


def test_shapes_of_other_inks_are_other_stamps():
    painter, points = Painter(), ((20.0, 20.0), (90.0, 20.0), (50.0, 90.0))
    for fill, edge in (("ink", ""), ("seven", ""), ("seven", "ink"), ("", "ink")):
        surface = painted(Shape(points=points, fill=fill, edge=edge), painter=painter)
        assert at(surface, 54, 40) == INKS[fill or "paper"]
        assert at(surface, 54, 20.5) == INKS[edge or fill]
        ring = painted(Ring(x=60, y=60, radius=30, fill=fill, edge=edge, thick=6), painter=painter)
        assert at(ring, 60, 60) == INKS[fill or "paper"]
        assert at(ring, 60, 89) == INKS[edge or fill]


def test_a_stamp_is_not_made_again(monkeypatch):
    made = []
    real = paint.stamp
    monkeypatch.setattr(paint, "stamp", lambda *args: made.append(args) or real(*args))
    painter = Painter()
    for x in (10.0, 20.0, 130.0):
        shape = Shape(points=((x, 10.3), (x + 30.2, 20.0), (x + 4.1, 50.9)))
        painted(shape, Ring(x=x, y=90, radius=9), painter=painter)
    assert len(made) == 2


def _some_of_each() -> list[Mark]:
    return [
        Box(x=10, y=10, wide=80, high=50, fill="seven", edge="ink", round=7),
        Box(x=100.5, y=10.5, wide=33, high=21, fill="band", edge="rule"),
        Line(points=((10, 75), (150, 75)), thick=3),
        Line(points=((20.5, 80), (60, 101), (60, 120)), ink="astray", dashed=True),
        Text(x=15, y=50, text="F♯ 7", size=33, on="seven"),
        Text(x=80, y=140, text="landed", size=28, ink="landed", bold=True, anchor="center"),
        Shape(points=((100, 90), (130, 95), (104.25, 120)), fill="landed", edge="ink"),
        Ring(x=140, y=40, radius=9, fill="astray"),
    ]


def _moved(mark: Mark, by: float) -> Mark:
    if isinstance(mark, Line | Shape):
        return replace(mark, points=tuple((x + by, y) for x, y in mark.points))
    return replace(mark, x=mark.x + by)


def test_words_that_cannot_be_made_in_time_come_with_the_next_pictures() -> None:
    sheet = Sheet()
    many = tuple(
        Text(x=40.0 + 200.0 * (n % 6), y=100.0 + 60.0 * (n // 6), text=f"word {n}") for n in range(12)
    )
    picture = Picture(sheet, many)
    whole, slowly = pygame.Surface((1280, 720)), pygame.Surface((1280, 720))
    assert Painter().paint(whole, picture)
    painter = Painter()
    times = 1
    while not painter.paint(slowly, picture, making_sec=0.0):
        times += 1
        assert times <= len(many)
    assert times == len(many)  # one word a time
    assert alike(whole, slowly, mean=0.0, most=0.0)
