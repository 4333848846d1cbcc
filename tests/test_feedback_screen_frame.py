"""The frame: focus, keys, the pedal, the mouse, and screens that come and go."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from feedback.screen import frame as frame_module
from feedback.screen.frame import Frame
from feedback.screen.marks import Picture, Sheet, Spot
from feedback.screen.staging import Go, House, Leave, Move, Quit

SHEET = Sheet()


def spot(does: str, x: float = 0.0, y: float = 0.0, wide: float = 100.0, high: float = 50.0) -> Spot:
    return Spot(x=x, y=y, wide=wide, high=high, does=does)


ROW = (spot("a"), spot("b", 120.0), spot("c", 240.0))
GRID = tuple(spot(f"{row}{column}", 120.0 * column, 70.0 * row) for row in range(3) for column in range(4))


@dataclass
class Stand:
    """A screen that notes what is asked of it, and answers as it is told."""

    spots: tuple[Spot, ...] = ROW
    uses: dict[str, Move | bool] = field(default_factory=dict)
    moves: dict[str, Move] = field(default_factory=dict)
    ticks: list[Move] = field(default_factory=list)
    learning: bool = False
    fails: bool = False
    asked: list[str] = field(default_factory=list)
    looked: list[str] = field(default_factory=list)
    closed: int = 0

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        self.looked.append(focus)
        return Picture(sheet, (), self.spots)

    def act(self, does: str) -> Move:
        self.asked.append(f"act {does}")
        return self.moves.get(does)

    def press(self, key: str) -> Move | bool:
        self.asked.append(key)
        return self.uses.get(key, False)

    def focused(self, does: str) -> None:
        self.asked.append(f"focus {does}")

    def tick(self) -> Move:
        return self.ticks.pop(0) if self.ticks else None

    def close(self) -> None:
        self.closed += 1
        if self.fails:
            raise RuntimeError("no end of it")


class Plain:
    """A screen without the hooks that need not be there."""

    def __init__(self) -> None:
        self.spots = ROW

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        return Picture(sheet, (), self.spots)

    def act(self, does: str) -> Move:
        return None

    def press(self, key: str) -> Move | bool:
        return False

    def tick(self) -> Move:
        return None

    def close(self) -> None:
        pass


@pytest.fixture
def opened(monkeypatch):
    """Opens a frame over stands by name; what was given to each is noted."""
    given: list[tuple[str, object]] = []

    def open_frame(**stands: object) -> Frame:
        def entered(name: str, house: House, what: object = None) -> object:
            given.append((name, what))
            return stands[name]

        monkeypatch.setattr(frame_module, "entered", entered)
        values: dict[str, str | float] = {"pedal_next": "page down", "pedal_choose": "page up"}
        made = Frame(House(values=values, clock=lambda: 0.0), "first", "what")
        made.picture(SHEET)
        return made

    open_frame.given = given
    return open_frame


def pressed(frame: Frame, *keys: str) -> list[str]:
    """What has the focus after each key."""
    found = []
    for key in keys:
        frame.press(key)
        frame.picture(SHEET)
        found.append(frame.focus)
    return found


def test_the_first_spot_has_the_focus_first(opened):
    first = Stand()
    frame = opened(first=first)
    assert frame.focus == "a"
    assert first.looked == ["", "a"]  # a picture with the focus that it says
    assert opened.given == [("first", "what")]


def test_tab_goes_round_in_the_order_of_the_spots(opened):
    frame = opened(first=Stand())
    assert pressed(frame, "tab", "tab", "tab", "shift tab", "shift tab") == ["b", "c", "a", "c", "b"]


def test_arrows_go_to_neighbours_in_a_grid(opened):
    frame = opened(first=Stand(GRID))
    assert pressed(frame, "right", "right", "right", "right") == ["01", "02", "03", "03"]
    assert pressed(frame, "down", "down", "down", "left", "up", "up", "up") == [
        "13", "23", "23", "22", "12", "02", "02",
    ]  # fmt: skip


def test_arrows_reach_every_spot_of_a_grid_and_come_back(opened):
    frame = opened(first=Stand(GRID))
    back = {"right": "left", "down": "up"}
    for row in range(3):
        for column in range(4):
            for key, to in (("right", (row, column + 1)), ("down", (row + 1, column))):
                frame._focus_on(f"{row}{column}")
                expected = f"{to[0]}{to[1]}" if to[0] < 3 and to[1] < 4 else f"{row}{column}"
                assert pressed(frame, key) == [expected]
                if expected != f"{row}{column}":
                    assert pressed(frame, back[key]) == [f"{row}{column}"]


def test_arrows_in_a_column_of_unequal_width_do_not_go_aside(opened):
    rows = (spot("narrow", 40, 0, 100), spot("wide", 40, 70, 400), spot("inset", 60, 140, 100))
    frame = opened(first=Stand(rows))
    assert pressed(frame, "right", "left", "down", "right", "left") == [
        "narrow", "narrow", "wide", "wide", "wide",
    ]  # fmt: skip
    assert pressed(frame, "down", "left", "right", "up", "up") == [
        "inset",
        "inset",
        "inset",
        "wide",
        "narrow",
    ]


def test_down_from_a_wide_spot_goes_to_the_middle_of_a_row_below(opened):
    rows = (spot("top", 0, 0, 340), *(spot(name, x, 70) for name, x in (("l", 0), ("m", 120), ("r", 240))))
    frame = opened(first=Stand(rows))
    assert pressed(frame, "down", "left", "up") == ["m", "l", "top"]


def test_an_arrow_prefers_what_lies_straight_ahead(opened):
    spots = (spot("here", 0, 100), spot("near aside", 110, 0), spot("far ahead", 240, 100))
    assert pressed(opened(first=Stand(spots)), "right") == ["far ahead"]


@pytest.mark.parametrize("key", ["enter", "space", "page up"])
def test_what_has_the_focus_is_chosen(opened, key):
    first = Stand()
    frame = opened(first=first)
    pressed(frame, "tab", key)
    assert first.asked[-1] == "act b"


def test_the_pedal_goes_round_and_chooses_and_its_keys_are_a_setting(opened):
    first = Stand(uses={"page down": True, "page up": True})
    frame = opened(first=first)
    assert pressed(frame, "page down", "page down", "page down", "page down") == ["b", "c", "a", "b"]
    pressed(frame, "page up")
    assert first.asked[-1] == "act b"
    assert "page down" not in first.asked  # the screen is not asked
    frame._house.values.update(pedal_next="b", pedal_choose="m")
    assert pressed(frame, "B", "page down") == ["c", "c"]
    pressed(frame, "M")
    assert first.asked[-1] == "act c"


def test_a_screen_that_learns_a_key_gets_it_raw(opened):
    first = Stand(learning=True, uses={"page down": True, "escape": True, "tab": True})
    frame = opened(first=first)
    assert pressed(frame, "page down", "escape", "tab") == ["a", "a", "a"]
    assert first.asked == ["page down", "escape", "tab"]


def test_a_screen_is_asked_before_the_frame(opened):
    first = Stand(uses={"right": True, "space": True, "x": Leave(), "y": None})
    frame = opened(first=first)
    assert pressed(frame, "right", "space", "y", "q") == ["a", "a", "a", "a"]
    assert first.asked == ["right", "space", "y", "q"]
    frame.press("x")
    assert frame.done
    assert first.closed == 1


def test_the_screen_is_told_where_the_player_moved_the_focus(opened):
    first = Stand()
    frame = opened(first=first)
    pressed(frame, "tab")
    pressed(frame, "right")
    frame.click(10, 10)
    told = [asked for asked in first.asked if asked.startswith(("focus", "act"))]
    assert told == ["focus b", "focus c", "focus a", "act a"]
    frame.click(10, 10)
    assert first.asked[-2:] == ["act a", "act a"]  # it was there already


def test_a_screen_needs_no_hooks(opened):
    frame = opened(first=Plain())
    assert pressed(frame, "tab", "enter", "page down") == ["b", "b", "c"]


def test_a_single_spot_keeps_the_focus_and_nothing_is_told(opened):
    first = Stand((spot("only"),))
    assert pressed(opened(first=first), "tab", "right", "page down") == ["only"] * 3
    assert not any(asked.startswith("focus") for asked in first.asked)


def test_the_focus_falls_to_the_first_spot_where_its_own_is_gone(opened):
    first = Stand()
    frame = opened(first=first)
    pressed(frame, "tab")
    first.spots = (spot("x"), spot("y"))
    frame.picture(SHEET)
    assert frame.focus == "x"
    assert first.looked[-2:] == ["b", "x"]


def test_a_picture_without_spots(opened):
    first = Stand(())
    frame = opened(first=first)
    assert pressed(frame, "tab", "right", "enter", "page up", "page down") == [""] * 5
    frame.click(5, 5)
    assert not any(asked.startswith("act") for asked in first.asked)


def test_what_is_no_longer_to_be_seen_is_not_chosen(opened):
    first = Stand()
    frame = opened(first=first)
    first.spots = ()
    frame.picture(SHEET)
    pressed(frame, "enter", "page up", "space")
    assert not any(asked.startswith("act") for asked in first.asked)
    first.spots = ROW
    frame.picture(SHEET)
    assert frame.focus == "a"


def test_a_click_chooses_the_topmost_spot_there(opened):
    first = Stand((spot("under", 0, 0, 300, 300), spot("over", 100, 100, 50, 50)))
    frame = opened(first=first)
    for x, y, told in (
        (10, 10, "act under"),
        (120, 120, "act over"),
        (150, 150, "act over"),
        (299, 9, "act under"),
    ):
        frame.click(x, y)
        assert first.asked[-1] == told
    before = list(first.asked)
    frame.click(301, 10)
    frame.click(-1, 10)
    assert first.asked == before


def test_screens_lie_on_one_another_and_keep_their_focus(opened):
    first, second = Stand(moves={"b": Go("second", 7)}), Stand((spot("x"), spot("y")))
    frame = opened(first=first, second=second)
    assert pressed(frame, "tab", "enter", "tab", "escape") == ["b", "x", "y", "b"]
    assert opened.given[-1] == ("second", 7)
    assert (first.closed, second.closed) == (0, 1)
    frame.press("escape")
    assert frame.done
    assert (first.closed, second.closed) == (1, 1)
    assert frame.focus == ""


def test_a_screen_that_takes_the_place_closes_the_one_before_first(opened):
    closed_then = []
    second = Stand()

    class Device(Stand):
        def close(self) -> None:
            super().close()
            closed_then.append(len(opened.given))

    first = Device(moves={"a": Go("second", instead=True)})
    frame = opened(first=first, second=second)
    pressed(frame, "enter")
    assert first.closed == 1
    assert closed_then == [1]  # before the other one was opened: it may want the same device
    assert frame.screen is second
    frame.press("escape")
    assert frame.done


def test_keys_that_come_before_the_first_picture_of_a_screen_choose_nothing(opened):
    first, second = Stand(moves={"a": Go("second")}), Stand()
    frame = opened(first=first, second=second)
    for key in ("enter", "enter", "tab", "page up"):
        frame.press(key)
    frame.click(10, 10)
    assert not any(asked.startswith(("act", "focus")) for asked in second.asked)


def test_quit_closes_all_and_a_tick_may_move(opened):
    first, second = Stand(ticks=[None, Go("second")]), Stand(ticks=[Quit()])
    frame = opened(first=first, second=second)
    frame.tick()
    assert frame.screen is first
    frame.tick()
    assert frame.screen is second
    frame.tick()
    assert frame.done
    assert (first.closed, second.closed) == (1, 1)
    frame.tick()
    frame.press("enter")
    frame.click(1, 1)
    frame.choose()
    frame.close()
    assert (first.closed, second.closed) == (1, 1)


def test_every_screen_is_closed_once_even_where_one_fails(opened):
    stands = {
        "first": Stand(moves={"a": Go("second")}),
        "second": Stand(moves={"a": Go("third")}, fails=True),
    }
    stands["third"] = Stand(fails=True)
    frame = opened(**stands)
    pressed(frame, "enter", "enter")
    with pytest.raises(RuntimeError, match="no end of it"):
        frame.close()
    assert frame.done
    frame.close()
    assert [one.closed for one in stands.values()] == [1, 1, 1]


def test_a_screen_that_fails_to_close_is_left_all_the_same(opened):
    first = Stand(fails=True)
    frame = opened(first=first)
    with pytest.raises(RuntimeError):
        frame.press("escape")
    assert frame.done
    frame.close()
    assert first.closed == 1
