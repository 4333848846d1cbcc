"""The window, without a display: what it does with events, sizes, looks, pictures that stay, and failures."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass, field
from types import SimpleNamespace

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pygame
import pytest

from feedback.errors import CannotDo
from feedback.screen import display_lost
from feedback.screen import frame as frame_module
from feedback.screen import window as window_module
from feedback.screen.frame import Frame
from feedback.screen.inks import LOOKS
from feedback.screen.keys import key_name
from feedback.screen.marks import Box, Picture, Sheet, Spot, Text
from feedback.screen.staging import House, Leave, Move
from feedback.screen.window import Shot, Window
from tests.pictures import alike

VALUES = {"full_screen": "off", "look": "paper", "pedal_next": "page down", "pedal_choose": "page up"}


@dataclass
class Stand:
    """A screen that runs a plan, a step a frame, and notes what reaches it."""

    plan: list[object] = field(default_factory=list)
    got: list[str] = field(default_factory=list)
    sheets: list[Sheet] = field(default_factory=list)
    says: str = "here"
    closed: int = 0

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        self.sheets.append(sheet)
        marks = (Box(x=100, y=100, wide=60, high=40, fill="seven"), Text(x=200, y=300, text=self.says))
        return Picture(sheet, marks, (Spot(x=100, y=100, wide=60, high=40, does="box"),))

    def act(self, does: str) -> Move:
        self.got.append(f"act {does}")
        return None

    def press(self, key: str) -> Move | bool:
        self.got.append(key)
        return False

    def tick(self) -> Move:
        if not self.plan:
            return Leave()
        step = self.plan.pop(0)
        done = step() if callable(step) else None
        return done if isinstance(done, Leave) else None

    def close(self) -> None:
        self.closed += 1


@pytest.fixture
def shown(monkeypatch):
    """Runs a window over a stand until its plan is through."""
    windows: list[Window] = []
    monkeypatch.setattr(window_module, "FRAMES_A_SEC", 0)  # as fast as it goes
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")

    def run(screen: Stand, *, house: House | None = None, **options: object) -> Window:
        monkeypatch.setattr(frame_module, "entered", lambda *_: screen)
        house = house or House(values=dict(VALUES), clock=lambda: 0.0)
        window = Window(house, **options)
        windows.append(window)
        pygame.event.clear()
        window.run(Frame(house))
        return window

    yield run
    for window in windows:
        window.close()


def key(name: int, typed: str = "", mod: int = 0):
    """A step that presses a key."""
    return lambda: pygame.event.post(
        pygame.event.Event(pygame.KEYDOWN, key=name, unicode=typed, mod=mod, scancode=0)
    )


def wait() -> None:
    """A step that lets a frame pass."""


def test_it_opens_draws_and_closes_its_screen(shown):
    seen: list[tuple[int, ...]] = []

    def look() -> None:
        seen.append(tuple(pygame.display.get_surface().get_at((130, 120))))
        titles.append(pygame.display.get_caption()[0])

    titles: list[str] = []
    screen = Stand([wait, look])
    shown(screen)
    assert screen.sheets[0] == Sheet(1280.0, 720.0, 1.0)
    assert seen == [(*LOOKS["paper"]["seven"], 255)]
    assert screen.closed == 1
    assert titles == ["Sevenfall"]
    assert not pygame.display.get_init()  # nobody sees a window that stands still while the last things end
    assert pygame.mixer.get_init() is None


def test_keys_reach_the_screen_by_name(shown):
    pressed = [
        (pygame.K_a, "a", 0, "a"),
        (pygame.K_a, "A", pygame.KMOD_SHIFT, "A"),
        (pygame.K_3, "#", pygame.KMOD_SHIFT, "#"),
        (pygame.K_7, "7", 0, "7"),
        (pygame.K_SPACE, " ", 0, "space"),
        (pygame.K_RETURN, "\r", 0, "enter"),
        (pygame.K_KP_ENTER, "\r", 0, "enter"),
        (pygame.K_ESCAPE, "\x1b", 0, "escape"),
        (pygame.K_TAB, "\t", 0, "tab"),
        (pygame.K_TAB, "\t", pygame.KMOD_LSHIFT, "shift tab"),
        (pygame.K_BACKSPACE, "\b", 0, "backspace"),
        (pygame.K_UP, "", 0, "up"),
        (pygame.K_HOME, "", 0, "home"),
        (pygame.K_F5, "", 0, "f5"),
        (pygame.K_KP4, "4", pygame.KMOD_NUM, "4"),
        (pygame.K_KP4, "", 0, "left"),
        (pygame.K_KP9, "", 0, "page up"),
        (pygame.K_e, "é", 0, "é"),
    ]
    steps = [key(code, typed, mod) for code, typed, mod, name in pressed if name not in ("escape", "page up")]
    steps += [key(pygame.K_LSHIFT), key(pygame.K_RCTRL), key(pygame.K_CAPSLOCK), key(pygame.K_MODE)]
    steps += [key(pygame.K_c, "\x03", pygame.KMOD_LCTRL), key(pygame.K_a, "a", pygame.KMOD_LALT)]
    steps += [key(pygame.K_q, "q", pygame.KMOD_LMETA), key(pygame.K_F4, "", pygame.KMOD_LALT)]
    screen = Stand([*steps, wait])
    shown(screen)
    keys = [got for got in screen.got if not got.startswith("act")]
    assert keys == [name for *_, name in pressed if name not in ("escape", "page up")]
    for code, typed, mod, name in pressed:
        assert key_name(pygame.key.name(code), typed, mod) == name


@pytest.mark.parametrize(
    ("name", "typed", "mod"),
    [
        ("3", "#", pygame.KMOD_RALT | pygame.KMOD_LCTRL),
        ("3", "#", pygame.KMOD_LALT),
        ("q", "@", pygame.KMOD_RALT),
    ],
)
def test_a_character_behind_the_alt_key_is_that_character(name, typed, mod):
    assert key_name(name, typed, mod) == typed


def test_the_pedal_and_escape_go_to_the_frame(shown):
    screen = Stand([key(pygame.K_PAGEUP), key(pygame.K_ESCAPE, "\x1b"), wait, wait, wait])
    shown(screen)
    assert screen.got == ["act box", "escape"]
    assert screen.closed == 1
    assert screen.plan == [wait, wait, wait]  # left by the key, not by the plan


def test_a_key_that_is_held_is_pressed_once(shown):
    repeats: list[tuple[int, int]] = []
    shown(Stand([lambda: repeats.append(pygame.key.get_repeat())]))
    assert repeats == [(0, 0)]


def test_clicks_are_in_units_of_the_sheet(shown):
    def click(x: int, y: int, button: int = 1):
        return lambda: pygame.event.post(
            pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=(x, y), button=button, touch=False)
        )

    places = [(152, 152), (238, 180), (200, 208), (148, 180), (200, 148)]
    screen = Stand([wait, *(click(x, y) for x, y in places), click(200, 180, 3), wait])
    shown(screen, size_px=(1920, 1080))
    assert screen.got == ["act box"] * 3


def test_closing_the_window_closes_the_screen(shown):
    screen = Stand([lambda: pygame.event.post(pygame.event.Event(pygame.QUIT)), wait, wait])
    shown(screen)
    assert screen.closed == 1
    assert screen.plan == [wait, wait]


def test_a_fault_of_a_screen_closes_it_too(shown):
    screen = Stand([wait, lambda: 1 / 0])
    with pytest.raises(ZeroDivisionError):
        shown(screen)
    assert screen.closed == 1


def test_a_picture_that_stays_is_painted_once(shown, monkeypatch):
    painted: list[str] = []
    real = window_module.Painter.paint

    def paint(self, surface: pygame.Surface, picture: Picture, **options: float) -> bool:
        painted.append(picture.texts[0])
        return real(self, surface, picture, **options)

    monkeypatch.setattr(window_module.Painter, "paint", paint)
    screen = Stand()

    def say() -> None:
        screen.says = "there"

    def expose() -> None:
        pygame.event.post(pygame.event.Event(pygame.VIDEOEXPOSE))

    screen.plan = [wait, wait, wait, say, wait, wait, expose, wait, wait]
    shown(screen)
    assert painted == ["here", "there", "there"]


def test_the_look_changes_at_once(shown):
    house = House(values=dict(VALUES), clock=lambda: 0.0)
    papers: list[tuple[int, ...]] = []

    def look() -> None:
        papers.append(tuple(pygame.display.get_surface().get_at((5, 5)))[:3])

    def night() -> None:
        house.values["look"] = "night"

    window = shown(Stand([wait, look, night, look, wait]), house=house)
    assert papers == [LOOKS["paper"]["paper"], LOOKS["night"]["paper"]]
    assert window.painter.kept[0] == 1


@pytest.mark.parametrize(
    ("size_px", "sheet"),
    [
        ((960, 720), Sheet(960.0, 720.0, 1.0)),  # 4:3
        ((1920, 1080), Sheet(1280.0, 720.0, 1.5)),  # 16:9
        ((1680, 720), Sheet(1680.0, 720.0, 1.0)),  # 21:9
        ((720, 1080), Sheet(960.0, 1440.0, 0.75)),  # upright
        ((480, 360), Sheet(960.0, 720.0, 0.5)),
        ((100, 50), Sheet(960.0, 720.0, 0.5)),  # its upper left part is seen
        ((1, 1), Sheet(960.0, 720.0, 0.5)),
    ],
)
def test_every_shape_of_window_has_its_sheet(shown, size_px, sheet):
    screen = Stand([wait])
    shown(screen, size_px=size_px)
    assert screen.sheets[-1] == sheet


def test_a_window_that_is_resized_has_another_sheet(shown):
    def resize() -> None:
        pygame.display.set_mode((800, 900), pygame.RESIZABLE)
        pygame.event.post(pygame.event.Event(pygame.VIDEORESIZE, size=(800, 900), w=800, h=900))

    screen = Stand([wait, resize, wait, wait])
    shown(screen)
    assert (screen.sheets[0].wide, screen.sheets[0].high) == (1280, 720)
    assert (screen.sheets[-1].wide, screen.sheets[-1].high) == (960, 1080)


def test_full_screen_comes_and_goes_and_nothing_stops(shown):
    sizes: list[tuple[int, int]] = []

    def size() -> None:
        sizes.append(pygame.display.get_surface().get_size())

    desktops: list[tuple[int, int]] = []
    f11 = key(pygame.K_F11)
    steps = [size, f11, wait, size, f11, wait, size, key(pygame.K_a, "a"), wait]
    screen = Stand([*steps, lambda: desktops.extend(pygame.display.get_desktop_sizes())])
    shown(screen, size_px=(1000, 700))
    desktop = desktops[0]
    assert sizes == [(1000, 700), desktop, (1000, 700)]
    assert screen.got == ["a"]
    full = Stand([size])
    shown(full, house=House(values={**VALUES, "full_screen": "on"}, clock=lambda: 0.0))
    assert sizes[-1] == desktop


def test_where_the_screen_cannot_be_filled_the_window_stays(shown, monkeypatch):
    real = pygame.display.set_mode

    def fails(size: tuple[int, int], flags: int) -> pygame.Surface:
        if flags & pygame.FULLSCREEN:
            raise pygame.error("no such mode")
        return real(size, flags)

    monkeypatch.setattr(pygame.display, "set_mode", fails)
    screen = Stand([key(pygame.K_F11), wait, key(pygame.K_a, "a"), wait])
    shown(screen, size_px=(1000, 700))
    assert screen.got == ["a"]
    assert screen.sheets[-1].scale == 700 / 720


def test_a_picture_of_it_is_written_and_it_ends(shown, tmp_path):
    path = tmp_path / "shot.png"
    screen = Stand([wait] * 100_000)
    frames: list[tuple[float, float]] = []
    shot = Shot(path=str(path), at_sec=0.05)
    window = shown(screen, shot=shot, watched=lambda work, since: frames.append((work, since)))
    assert len(screen.plan) > 0
    assert screen.closed == 1
    expected = pygame.Surface((1280, 720))
    window.painter.paint(expected, screen.picture(Sheet(), ""))
    assert alike(path, expected, mean=0.0, most=0.0)
    assert sum(since for _, since in frames) <= 0.05
    assert all(work > 0.0 for work, _ in frames)


def test_where_it_ends_sooner_its_last_picture_is_written(shown, tmp_path):
    path = tmp_path / "shot.png"
    shown(Stand([wait, wait]), shot=Shot(path=str(path), at_sec=600.0))
    assert pygame.image.load(path).get_size() == (1280, 720)


def test_a_picture_that_cannot_be_written_closes_the_screen(shown, tmp_path):
    screen = Stand([wait] * 9)
    with pytest.raises(FileNotFoundError, match="nowhere"):
        shown(screen, shot=Shot(path=str(tmp_path / "nowhere" / "shot.png"), at_sec=0.0))
    assert screen.closed == 1


@pytest.mark.parametrize(
    ("desktop", "size"),
    [
        ((1920, 1080), (1280, 720)),
        ((3840, 2160), (2560, 1440)),
        ((1440, 900), (1280, 720)),
        ((1280, 720), (1280, 720)),
        ((1024, 768), (921, 691)),
        ((3440, 1440), (1707, 960)),
    ],
)
def test_it_takes_two_thirds_of_a_screen(monkeypatch, desktop, size):
    monkeypatch.setattr(pygame.display, "get_driver", lambda: "x11")
    monkeypatch.setattr(pygame.display, "get_desktop_sizes", lambda: [desktop])
    assert window_module._usual_size() == size


def test_a_display_that_cannot_be_opened_is_told_in_one_line(monkeypatch):
    pygame.display.quit()
    monkeypatch.setenv("SDL_VIDEODRIVER", "nonsense")
    with pytest.raises(CannotDo) as told:
        Window(House(values=dict(VALUES), clock=lambda: 0.0))
    said = str(told.value)
    assert said.startswith("no window could be opened: ")
    assert "nonsense" in said
    assert said.endswith("--no-window stays in the terminal")
    assert "\n" not in said


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("fails", [False, True])
def test_where_the_x_server_goes_the_practice_ends_first(monkeypatch, fails):
    happened: list[object] = []
    monkeypatch.setattr(
        display_lost.ctypes, "CDLL", lambda _: SimpleNamespace(XSetIOErrorHandler=happened.append)
    )
    monkeypatch.setattr(display_lost, "tell", happened.append)
    monkeypatch.setattr(display_lost, "leave_at_once", happened.append)

    def lost() -> None:
        happened.append("ended")
        if fails:
            raise RuntimeError("nobody to be told")

    assert display_lost.guard("x11", lost)
    happened.pop()(None)
    assert happened == ["ended", *([] if fails else [display_lost.LINE]), 1]


def test_other_displays_need_no_guard(monkeypatch):
    def none(name: str) -> None:
        raise OSError(name)

    monkeypatch.setattr(display_lost.ctypes, "CDLL", none)
    assert not display_lost.guard("dummy", list)
    assert not display_lost.guard("x11", list)


def test_only_display_and_fonts_are_started_and_nothing_is_printed():
    code = f"""
from feedback.screen.window import Window
from feedback.screen.staging import House
import os, pygame
window = Window(House(values={VALUES!r}, clock=lambda: 0.0))
assert pygame.font.get_init() and not pygame.mixer.get_init() and not pygame.joystick.get_init()
assert os.environ["SDL_WINDOWS_DPI_AWARENESS"] == "permonitorv2"
window.close()
assert not pygame.display.get_init()
"""
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYGAME", "SDL"))}
    clean["SDL_VIDEODRIVER"] = "dummy"
    done = subprocess.run([sys.executable, "-c", code], env=clean, capture_output=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
