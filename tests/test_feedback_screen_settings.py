"""The settings screen: every row, how it is changed, and what is said where that cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedback import settings
from feedback.errors import Usage
from feedback.screen.frame import Frame
from feedback.screen.marks import Picture, Sheet, Spot, Text
from feedback.screen.screens.settings import Settings, enter
from feedback.screen.staging import House, Leave
from feedback.screen.views.settings import (
    MOST,
    NOT_SHOWN,
    PAGES,
    SettingsState,
    all_pages,
    label_of,
    settings_picture,
    value_words,
)
from feedback.setting_rows import SETTINGS
from tests.in_turn import in_turn
from tests.pictures import SHEETS, check_picture

DEFAULTS = {name: row.default for name, row in SETTINGS.items()}
LONG = "/very/long/somebody/.local/share/sevenfall/settings.json: permission denied"


class Stored:
    """A house that keeps what is stored."""

    def __init__(self, wrong: Exception | None = None, **values: str | float) -> None:
        self.kept: list[dict[str, str]] = []
        self._wrong = wrong
        self.house = House(values=DEFAULTS | values, clock=lambda: 0.0, store=self._store)

    def _store(self, changed: object) -> None:
        assert isinstance(changed, dict)
        if self._wrong is not None:
            raise self._wrong
        self.kept.append(dict(changed))


def page_with(name: str) -> int:
    return next(at for at, (_, names) in enumerate(all_pages()) if name in names)


def opened(stored: Stored, name: str, environ: dict[str, str] | None = None) -> Settings:
    """The screen, turned to the page of a setting, which has the focus."""
    screen = Settings(stored.house, environ or {})
    for _ in range(page_with(name)):
        screen.act("next page")
    screen.picture(Sheet(), f"set {name}")
    return screen


def said(screen: Settings, focus: str) -> str:
    return " ".join(screen.picture(Sheet(), focus).texts)


def row_value(picture: Picture, name: str) -> str:
    texts = [mark for mark in picture.marks if isinstance(mark, Text)]
    label = next(text for text in texts if text.text == label_of(name))
    return next(text.text for text in texts if text.y == label.y and text.bold and text.anchor == "right")


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_page_stands_well_with_every_focus(sheet: Sheet) -> None:
    for page, (_, names) in enumerate(all_pages()):
        for state in (
            SettingsState(values=DEFAULTS, page=page),
            SettingsState(values=DEFAULTS, page=page, overridden={n: settings.variable(n) for n in names}),
            SettingsState(values=DEFAULTS, page=page, news=f"Not stored, it holds until then: {LONG}"),
            SettingsState(values=DEFAULTS, page=page, learning="pedal_choose"),
        ):
            for focus in ("", "next page", *(f"set {name}" for name in names)):
                check_picture(settings_picture(state, sheet, focus))


@pytest.mark.parametrize("sheet", SHEETS)
def test_nothing_is_cut_off_whatever_is_chosen(sheet: Sheet) -> None:
    for page, (_, names) in enumerate(all_pages()):
        for name in names:
            row = SETTINGS[name]
            values = [row.default, *(row.read(choice) for choice in row.choices)]
            values += [end for end in (row.least, row.most) if end is not None]
            for value in values:
                state = SettingsState(values=DEFAULTS | {name: value}, page=page)
                assert not [t for t in settings_picture(state, sheet, f"set {name}").texts if "…" in t]


def test_every_setting_is_on_one_page_and_pages_are_short() -> None:
    names = [name for _, page in all_pages() for name in page]
    assert sorted([*names, *NOT_SHOWN]) == sorted(SETTINGS)
    assert all(1 <= len(page) <= MOST for _, page in all_pages())
    assert all_pages()[: len(PAGES)] == PAGES


def test_a_setting_that_no_page_knows_stands_under_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(SETTINGS, "hum_db", SETTINGS["click_db"])
    assert any("hum_db" in names for title, names in all_pages() if title == "more")
    assert label_of("hum_db") == "hum"
    assert value_words("hum_db", -24.0) == "−24 dB"


def test_no_two_rows_of_a_page_are_called_the_same() -> None:
    for _, names in all_pages():
        assert len({label_of(name) for name in names}) == len(names)


@in_turn(
    ("name", "value", "words"),
    [
        ("source", "sim", "simulated player"),
        ("rest_sec", 4.0, "4 s"),
        ("spread_limit_ms", 25.0, "25 ms"),
        ("click_db", -26.0, "−26 dB"),
        ("round_trip_ms", "unknown", "unknown"),
        ("round_trip_ms", 37.5, "37.5 ms"),
        ("latency", 0.05, "0.05 s"),
        ("rate", 44100, "44100 Hz"),
        ("rate", "device", "the device's own"),
        ("channel", 2, "2"),
        ("sure", 0.35, "0.35"),
    ],
)
def test_values_have_their_units(name: str, value: str | float, words: str) -> None:
    assert value_words(name, value) == words


def test_left_and_right_change_what_has_the_focus_and_it_is_stored_at_once() -> None:
    stored = Stored()
    screen = opened(stored, "click_db")
    assert screen.press("right") is True
    assert screen.press("left") is True
    assert screen.press("left") is True
    assert stored.kept == [{"click_db": "-22"}, {"click_db": "-24"}, {"click_db": "-26"}]
    assert stored.house.values["click_db"] == -26.0
    assert row_value(screen.picture(Sheet(), "set click_db"), "click_db") == "−26 dB"
    assert row_value(screen.picture(Sheet(), "set click_db"), "model_db") == "−24 dB"


def test_a_choice_goes_round_by_choosing_it_and_by_its_buttons() -> None:
    stored = Stored()
    screen = opened(stored, "window")
    for does in ("set window", "more window", "more window", "less window"):
        assert screen.act(does) is None
    assert stored.kept == [{"window": name} for name in ("loose", "tight", "usual", "tight")]


def test_at_the_end_of_a_range_nothing_is_stored() -> None:
    stored = Stored(rest_sec=0.0)
    screen = opened(stored, "rest_sec")
    assert screen.press("left") is True
    assert stored.kept == []


def test_arrows_without_a_row_in_focus_are_left_to_the_frame() -> None:
    screen = opened(Stored(), "look")
    screen.picture(Sheet(), "next page")
    assert [screen.press(key) for key in ("left", "right", "escape", "a", "5")] == [False] * 5
    screen.picture(Sheet(), "set look")
    assert [screen.press(key) for key in ("up", "enter", "5")] == [False] * 3


def test_a_number_is_typed_seen_and_taken_with_enter() -> None:
    stored = Stored()
    screen = opened(stored, "round_trip_ms")
    for key in "377":
        assert screen.press(key) is True
    assert screen.press("backspace") is True
    for key in ".5":
        screen.press(key)
    assert row_value(screen.picture(Sheet(), "set round_trip_ms"), "round_trip_ms") == "37.5_"
    assert stored.kept == []
    assert screen.press("enter") is True
    assert stored.kept == [{"round_trip_ms": "37.5"}]
    assert screen.press("enter") is False  # now it chooses, as everywhere


def test_a_number_out_of_range_is_told_and_nothing_changes() -> None:
    stored = Stored()
    screen = opened(stored, "channel")
    for key in ("9", "9", "enter"):
        screen.press(key)
    assert "99 is not accepted" in said(screen, "set channel")
    assert "1 to 64" in said(screen, "set channel")
    assert stored.kept == []
    assert stored.house.values["channel"] == 1


def test_escape_and_another_focus_forget_what_was_typed() -> None:
    screen = opened(Stored(), "round_trip_ms")
    screen.press("3")
    assert screen.press("escape") is True
    assert screen.press("escape") is False
    screen.press("3")
    screen.picture(Sheet(), "set channel")
    assert row_value(screen.picture(Sheet(), "set round_trip_ms"), "round_trip_ms") == "unknown"


def test_the_key_of_the_pedal_is_learnt_by_pressing_it() -> None:
    stored = Stored()
    screen = opened(stored, "pedal_next")
    assert not screen.learning
    screen.act("set pedal_next")
    assert screen.learning
    assert row_value(screen.picture(Sheet(), "set pedal_next"), "pedal_next") == "press the pedal now"
    assert screen.press("home") is True
    assert not screen.learning
    assert stored.kept == [{"pedal_next": "home"}]


@in_turn("sheet", SHEETS)
@in_turn("key", ["enter", "space", "tab", "shift tab", "backspace", "left", "up", "b", "B", "#"])
def test_a_key_with_a_use_of_its_own_is_not_learnt_and_which_are_is_said(key: str, sheet: Sheet) -> None:
    stored = Stored()
    screen = opened(stored, "pedal_next")
    screen.act("set pedal_next")
    assert screen.press(key) is True
    assert not screen.learning
    assert stored.kept == []
    picture = screen.picture(sheet, "set pedal_next")
    told = " ".join(picture.texts)
    assert f"{key} is not accepted" in told
    assert "f1 to f12 but f11" in told
    assert "…" not in told
    check_picture(picture)


def test_escape_keeps_the_old_key_and_a_key_serves_once() -> None:
    stored = Stored()
    screen = opened(stored, "pedal_next")
    screen.act("set pedal_next")
    assert screen.press("escape") is True
    assert not screen.learning
    screen.act("set pedal_next")
    assert screen.press("page up") is True
    assert "already" in said(screen, "set pedal_next")
    assert stored.kept == []
    assert stored.house.values["pedal_next"] == "page down"


def test_through_the_frame_the_pedal_itself_can_be_learnt_anew() -> None:
    stored = Stored()
    frame = Frame(stored.house, "settings")
    frame.picture(Sheet())
    for _ in range(page_with("pedal_next")):
        frame.screen.act("next page")
    frame.picture(Sheet())
    assert frame.focus == "set pedal_next"
    frame.press("enter")
    frame.press("page down")  # the very key that it has: taken by the screen, not by the frame
    assert frame.focus == "set pedal_next"
    frame.press("enter")
    frame.press("f7")
    assert stored.house.values["pedal_next"] == "f7"
    frame.press("f7")
    frame.picture(Sheet())
    assert frame.focus == "set pedal_choose"


def test_what_the_environment_sets_is_not_changed_and_says_so() -> None:
    stored = Stored(look="night")
    screen = opened(stored, "look", {"SEVENFALL_LOOK": "night"})
    assert "SEVENFALL_LOOK" in said(screen, "set look")
    assert "fixed" in screen.picture(Sheet(), "").texts
    names = [spot.does for spot in screen.picture(Sheet(), "").spots]
    assert "set look" in names
    assert "less look" not in names
    screen.picture(Sheet(), "set look")
    for key in ("left", "right"):
        assert screen.press(key) is True
        assert "unset it first" in said(screen, "set look")
    assert stored.kept == []
    assert stored.house.values["look"] == "night"


def test_a_number_that_the_environment_sets_cannot_be_typed() -> None:
    stored = Stored()
    screen = opened(stored, "rest_sec", {"SEVENFALL_REST_SEC": "4"})
    assert screen.press("7") is True
    assert "unset it first" in said(screen, "set rest_sec")
    assert screen.press("enter") is False


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (OSError(13, "Permission denied", "/x/settings.json"), "permission denied"),
        (Usage("not JSON"), "not JSON"),
    ],
)
def test_what_could_not_be_stored_holds_for_now_and_says_so(wrong: Exception, words: str) -> None:
    stored = Stored(wrong)
    screen = opened(stored, "look")
    screen.press("right")
    assert stored.house.values["look"] == "night"
    assert "Not stored" in said(screen, "set look")
    assert words in said(screen, "set look")
    assert words not in said(screen, "set motion")  # it is gone when the player goes on


def test_what_holds_later_says_so_and_the_rest_does_not() -> None:
    assert "when Sevenfall is started the next time" in said(
        opened(Stored(), "full_screen"), "set full_screen"
    )
    assert "when the sound is opened the next time" in said(opened(Stored(), "latency"), "set latency")
    assert "next time" not in said(opened(Stored(), "look"), "set look")


def test_pages_go_round_and_back_leaves() -> None:
    screen = enter(Stored().house)
    first = screen.picture(Sheet(), "").texts
    for _ in all_pages():
        screen.act("next page")
    assert screen.picture(Sheet(), "").texts == first
    screen.act("page before")
    assert f"page {len(all_pages())} of {len(all_pages())}" in " ".join(screen.picture(Sheet(), "").texts)
    assert screen.act("back") == Leave()


def test_the_buttons_lie_beside_their_row() -> None:
    page = page_with("click_db")
    picture = settings_picture(SettingsState(values=DEFAULTS, page=page), Sheet(), "")
    spots = {spot.does: spot for spot in picture.spots}
    assert [spot.does for spot in picture.spots[:4]] == [f"set {name}" for name in PAGES[page][1]]

    def middle(spot: Spot) -> float:
        return spot.y + spot.high / 2

    for name in PAGES[page][1]:
        row, less, more = (spots[f"{verb} {name}"] for verb in ("set", "less", "more"))
        assert middle(row) == middle(less) == middle(more)
        assert row.x + row.wide < less.x < more.x


def test_what_is_stored_here_is_loaded_at_the_next_start(tmp_path: Path) -> None:
    environ = {"SEVENFALL_HOME": str(tmp_path)}
    house = House(values=settings.load([], environ), clock=lambda: 0.0)
    house.store = lambda changed: settings.store(changed, environ)
    screen = Settings(house, environ)
    for page in range(len(all_pages())):
        for name in all_pages()[page][1]:
            screen.picture(Sheet(), f"set {name}")
            for key in ("D", "o", "space", "B", "enter") if SETTINGS[name].free else ("right",):
                screen.press(key)
    assert house.values["player"] == "Do B"
    assert settings.load([], environ) == house.values
    changed = [name for name in SETTINGS if house.values[name] != DEFAULTS[name]]
    assert sorted([*changed, *NOT_SHOWN]) == sorted(name for name, row in SETTINGS.items() if not row.learnt)
