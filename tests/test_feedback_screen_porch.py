"""The porch: what it offers, what it says, and where each choice leads."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feedback.errors import Usage
from feedback.nexttempo import EASED
from feedback.screen.marks import Shape, Sheet, Text
from feedback.screen.screens.porch import enter
from feedback.screen.staging import Go, House, Leave
from feedback.screen.views.offered import SETTING, first_tempo, last_lick, remember
from feedback.screen.views.porch import CAUTION, CHOICES, PorchState, porch_picture
from feedback.setting_rows import SETTINGS
from routines.library import all_licks, load
from tests.few import few_licks
from tests.pictures import SHEETS, check_picture, text_bounds

SUPPER = load("slab-wood-supper")
STATE = PorchState(lick=SUPPER, tempo_half_bpm=80.0)


def house(**changed: str | float) -> House:
    values = {name: row.default for name, row in SETTINGS.items()} | changed
    return House(values=values, clock=lambda: 0.0)


def place(text: str, state: PorchState = STATE, sheet: Sheet | None = None) -> Text:
    marks = porch_picture(state, sheet or Sheet(), "").marks
    return next(mark for mark in marks if isinstance(mark, Text) and mark.text == text)


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_lick_stands_well_on_it(sheet: Sheet) -> None:
    for lick in all_licks() if sheet == SHEETS[0] else few_licks():
        state = PorchState(lick=lick, tempo_half_bpm=first_tempo(lick))
        check_picture(porch_picture(state, sheet, "open play along"))
    for focus in ("", *(spot.does for spot in porch_picture(STATE, sheet, "").spots)):
        check_picture(porch_picture(STATE, sheet, focus))


@pytest.mark.parametrize("sheet", SHEETS)
def test_it_offers_all_there_is_playing_along_first_and_says_the_caution(sheet: Sheet) -> None:
    picture = porch_picture(STATE, sheet, "")
    opened = ["open play along", *(f"open {name}" for name in CHOICES)]
    assert [spot.does for spot in picture.spots] == [*opened, "leave"]
    assert picture.spots[0].wide > 2 * max(spot.wide for spot in picture.spots[1:]) - 1 or sheet.wide < 1680
    words = " ".join(picture.texts)
    assert CAUTION in words
    assert "Slab Wood Supper, 80 half notes a minute" in words
    for must in ("five minutes in thirty", "through pain", "clinician", "80 dBA", "40 hours a week"):
        assert must in words


@pytest.mark.parametrize("sheet", [*SHEETS, Sheet(1780, 720), Sheet(2400, 720)])
def test_every_choice_is_named_whole_also_with_the_focus(sheet: Sheet) -> None:
    for name in (*CHOICES, "leave"):
        texts = porch_picture(STATE, sheet, name if name == "leave" else f"open {name}").texts
        assert {*CHOICES, "leave"} <= set(texts)
    assert {"warm-up", "progress"} <= set(CHOICES)


def test_what_is_chosen_is_inked_over_and_nothing_else() -> None:
    for focus in ("open play along", "open tune"):
        texts = [mark for mark in porch_picture(STATE, Sheet(), focus).marks if isinstance(mark, Text)]
        inked = {text.text for text in texts if text.on == "chosen" and text.text}
        assert inked == ({"tune"} if focus == "open tune" else {"play along", place_of_lick()})


def place_of_lick() -> str:
    return "Slab Wood Supper, 80 half notes a minute"


def test_the_name_falls_a_half_step_and_its_ledges_are_those_of_the_lick() -> None:
    seven, fall = place("Seven"), place("fall")
    assert fall.y > seven.y
    assert fall.x > seven.x
    assert place("C  ♭7").on == place("B  3rd").on == "seven"
    assert place("B  3rd").y - place("C  ♭7").y == fall.y - seven.y
    assert place("F♯  3rd").on == place("G  root").on == "third"
    assert place("G  root").y < place("F♯  3rd").y
    ledges = [
        m for m in porch_picture(STATE, Sheet(), "").marks if isinstance(m, Shape) and len(m.points) == 8
    ]
    assert [ledge.fill for ledge in ledges] == ["seven", "third"]
    for name, ledge, ends in (("C  ♭7", 0, (0, 7)), ("B  3rd", 0, (3, 4)), ("F♯  3rd", 1, (0, 7))):
        _, top, _, bottom = text_bounds(place(name))
        upper, lower = (ledges[ledge].points[end][1] for end in ends)
        assert top - upper == pytest.approx(lower - bottom, abs=4.0)  # in the middle of its ledge
    triangles = [
        m for m in porch_picture(STATE, Sheet(), "").marks if isinstance(m, Shape) and len(m.points) == 3
    ]
    tips = [triangle.points[2][1] - triangle.points[0][1] for triangle in triangles]
    assert tips[0] > 0 > tips[1]  # the seven's stands on its head


def test_under_a_capo_the_ledges_name_the_shape() -> None:
    choice = load("trimmers-choice")
    assert choice.neck.capo == 4
    assert place("C  ♭7", replace(STATE, lick=choice)).on == "seven"


def test_a_lick_that_asks_nothing_has_bare_ledges() -> None:
    plain = replace(SUPPER, sevenths=(), thirds=())
    texts = porch_picture(replace(STATE, lick=plain), Sheet(), "").texts
    assert not any("♭7" in text or "3rd" in text for text in texts)


def test_who_plays_is_said() -> None:
    assert place("You play, at the microphone.")
    assert place("The simulated player plays.", replace(STATE, source="sim"))


def test_each_choice_leads_where_it_says() -> None:
    porch = enter(house())
    porch.picture(Sheet(), "")
    assert [porch.act(f"open {name}") for name in CHOICES] == [Go(name) for name in CHOICES]
    assert porch.act("leave") == Leave()
    go = porch.act("open play along")
    assert go == Go("play along", {"lick": SUPPER, "tempo_half_bpm": None})  # the ladder leads
    for name, value in (("ladder", "off"), ("source", "sim")):
        alone = house()
        alone.values[name] = value
        assert enter(alone).act("open play along") == Go(
            "play along", {"lick": SUPPER, "tempo_half_bpm": 80.0}
        )
    assert porch.act("open elsewhere") is None
    assert porch.press("escape") == Leave()
    assert porch.press("a") is False
    assert porch.tick() is None


def test_it_follows_what_is_changed_while_it_lies_under_other_screens() -> None:
    shared = house()
    porch = enter(shared)
    assert "You play, at the microphone." in porch.picture(Sheet(), "").texts
    shared.values["source"] = "sim"
    assert "The simulated player plays." in porch.picture(Sheet(), "").texts
    shared.values[SETTING] = "tally-stick"
    assert "Tally Stick, 80 half notes a minute" in porch.picture(Sheet(), "").texts
    go = porch.act("open play along")
    assert isinstance(go, Go)
    assert go.what["lick"].id == "tally-stick"


def test_a_lick_that_is_not_there_any_more_gives_way_to_a_good_first_one() -> None:
    assert last_lick({SETTING: "gone-with-the-mill"}) == SUPPER
    assert last_lick({SETTING: "/nowhere/at/all.lick"}) == SUPPER
    assert last_lick({}) == SUPPER
    assert last_lick({SETTING: "tally-stick"}).id == "tally-stick"


def test_the_first_tempo_is_a_whole_number_under_the_top() -> None:
    for lick in all_licks():
        assert first_tempo(lick) == round(EASED * lick.top_tempo_half_bpm)


def test_what_was_played_last_is_kept_and_stored_once() -> None:
    stored: list[dict[str, str]] = []
    shared = house()
    shared.store = lambda changed: stored.append(dict(changed))
    remember(shared, load("tally-stick"))
    remember(shared, load("tally-stick"))
    own = replace(SUPPER, id="mine", file="/far/away/mine.lick")
    remember(shared, own)
    assert stored == [{SETTING: "tally-stick"}, {SETTING: "/far/away/mine.lick"}]


@pytest.mark.parametrize(
    "error", [OSError(30, "Read-only file system"), Usage("settings.json:1:1: not JSON")]
)
def test_where_it_cannot_be_stored_it_holds_for_this_window(error: Exception) -> None:
    def refuse(changed: object) -> None:
        raise error

    shared = house()
    shared.store = refuse
    remember(shared, load("tally-stick"))
    assert shared.values[SETTING] == "tally-stick"
