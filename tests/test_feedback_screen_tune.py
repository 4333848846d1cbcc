"""The screen that tunes: what stands where, what is said, and the screen at a stand-in microphone."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedback.screen.marks import READABLE, Box, Line, Picture, Shape, Sheet
from feedback.screen.screens.tune import CAPO_MOST, TuneScreen, enter
from feedback.screen.staging import House, Leave
from feedback.screen.views.tune import IN_TUNE_CENTS, MOST_CENTS, Ruled, tune_picture
from feedback.screen.views.tune_words import INVITES, bridge_words, off_words
from feedback.tuning import Tuning
from feedback.tuning_thread import TuneAsked, TuneState, before
from feedback.twelfth import TwelfthFound
from listener.errors import LibraryMissing
from listener.ring import Block
from listener.tuner import Reading
from routines.neck import OPEN_TUNINGS, FifthString, Neck
from tests.in_turn import in_turn
from tests.pictures import check_picture as check_layout
from tests.plucks import plucked
from tests.screen_texts import SHEETS, texts, until, written

OPEN = {5: 67.0, 4: 50.0, 3: 55.0, 2: 59.0, 1: 62.0}
RATE, SIZE = 44100, 4096


def reading(tuning: Tuning, string: int, cents: float, *, steady: bool = True) -> Reading:
    midi = tuning.references[5 - string] + cents / 100.0
    near = min(range(5), key=lambda at: abs(tuning.references[at] - midi))
    return Reading(
        sec=1.0,
        plucked_sec=0.5,
        hz=200.0,
        midi=midi,
        nearest=near,
        cents=100.0 * (midi - tuning.references[near]),
        unsure_cents=1.0,
        level_db=-30.0,
        steady=steady,
    )


def heard(*found: tuple[int, float], neck: Neck | None = None, steady: bool = True) -> TuneState:
    """The state after strings were read in this order; whether the last reading was steady."""
    neck = neck or Neck()
    tuning = Tuning(neck)
    for number, (string, cents) in enumerate(found, 1):
        tuning.feed([reading(tuning, string, cents, steady=steady or number < len(found))])
    return replace(
        before(TuneAsked(neck)), phase="listening", strings=tuning.strings, now=tuning.now, sounds=True
    )


def stopped(*cents: float) -> tuple[TwelfthFound, ...]:
    return tuple(
        TwelfthFound(string=string, cents=off, unsure_cents=1.0, bridge_mm=0.39 * off)
        for string, off in enumerate(cents, 1)
    )


ALL = heard(*((string, 0.4) for string in OPEN))
LONG = "PortAudio, the library that reaches the sound card, is not installed: apt install libportaudio2"
STATES = {
    "opening": before(TuneAsked(Neck())),
    "nothing": replace(before(TuneAsked(Neck())), phase="listening"),
    "flat": heard((5, 0.4), (1, 33.0), (2, 77.0), (3, -14.0)),
    "first sharp": heard((1, 80.0), (3, -14.0)),
    "unsteady": heard((2, 9.0), steady=False),
    "in tune": heard((5, 0.4), (3, -1.2)),
    "breaks": heard((3, -190.0)),
    "in doubt": heard((1, -210.0)),
    "capo": heard((4, 22.0), (3, -122.0), neck=Neck(capo=7)),
    "sharps": heard((3, -41.0), neck=Neck(tuning="f#DF#AD", capo=3)),
    "beforehand": replace(
        before(TuneAsked(Neck(fifth=FifthString(70, "peg")))),
        phase="listening",
    ),
    "all": replace(ALL, phase="over", ended="in tune"),
    "nobody": replace(heard((5, 0.4)), phase="over", ended="nobody plays"),
    "lost": replace(heard((5, 0.4)), news="USB Audio: nothing but zeros comes from it; is it muted?"),
    "failed": replace(before(TuneAsked(Neck())), phase="failed", news=LONG),
    "twelfth": replace(before(TuneAsked(Neck(capo=2), True)), phase="listening"),
    "twelfth on": replace(
        before(TuneAsked(Neck(capo=2), True)),
        phase="listening",
        asked=(3, "twelfth"),
        prompt="string 3, 12 frets above the capo, pressed as you play",
        stopped=stopped(8.0, 1.0),
    ),
    "twelfth done": replace(
        before(TuneAsked(Neck(), True)),
        phase="over",
        ended="twelfth done",
        asked=None,
        prompt="",
        stopped=stopped(-8.0, 11.0, 9.0, 8.0, 12.0),
    ),
}


def nicks(picture: Picture) -> list[Box]:
    """What was heard: the only boxes that are a little high and edged like a string."""
    return [mark for mark in picture.marks if isinstance(mark, Box) and mark.edge in ("ink", "landed")]


@in_turn("sheet", SHEETS, ids=lambda sheet: f"{sheet.wide:g}x{sheet.high:g}")
@in_turn("name", STATES)
def test_everything_lies_on_the_sheet_and_nothing_on_another(name: str, sheet: Sheet) -> None:
    picture = tune_picture(STATES[name], sheet, "again")
    check_layout(picture)
    assert not [text for text in picture.texts if "…" in text]
    lowest = max(mark.y for mark in texts(picture) if not mark.minor and mark.on == "paper")
    assert lowest < picture.spots[0].y


def test_string_one_is_on_top_and_all_have_their_notes() -> None:
    picture = tune_picture(STATES["nothing"], Sheet(), "")
    ys = [written(picture, name).y for name in ("1  D4", "2  B3", "3  G3", "4  D3", "5  G4")]
    assert ys == sorted(ys)
    assert INVITES in picture.texts
    assert nicks(picture) == []


def test_the_scale_is_true_near_the_now_line_and_never_leaves_the_strings() -> None:
    ruled = Ruled.of(Sheet())
    assert ruled.x(0.0) == ruled.centre
    assert ruled.x(20.0) - ruled.x(10.0) == pytest.approx(ruled.x(10.0) - ruled.centre)
    places = [ruled.x(cents) for cents in (-400.0, -60.0, -30.0, -25.0, 0.0, 25.0, 30.0, 60.0, 400.0)]
    assert places == sorted(places)
    assert ruled.left < places[0]
    assert places[-1] < ruled.right
    assert ruled.x(61.0) == ruled.x(400.0)
    assert ruled.x(30.0) - ruled.x(25.0) < ruled.x(25.0) - ruled.x(20.0)


def test_the_now_line_is_as_wide_as_a_string_may_be_off() -> None:
    sheet = Sheet()
    ruled = Ruled.of(sheet)
    solid = {
        mark.points[0][0]
        for mark in tune_picture(STATES["nothing"], sheet, "").marks
        if isinstance(mark, Line) and not mark.dashed and mark.points[0][0] == mark.points[1][0]
    }
    assert solid == {ruled.x(-IN_TUNE_CENTS), ruled.x(IN_TUNE_CENTS)}


@pytest.mark.parametrize(
    ("cents", "word", "off"), [(-14.0, "up", "14 cents flat"), (6.0, "down", "6 cents sharp")]
)
def test_a_string_that_is_off_says_which_way(cents: float, word: str, off: str) -> None:
    sheet = Sheet()
    picture = tune_picture(heard((3, cents)), sheet, "")
    assert written(picture, word).size > 2 * READABLE
    assert off in picture.texts
    assert written(picture, "3  G3").size > written(picture, "2  B3").size
    (nick,) = nicks(picture)
    ruled = Ruled.of(sheet)
    assert nick.x + nick.wide / 2.0 == pytest.approx(ruled.x(cents))
    assert ruled.y(3) < nick.y < nick.y + nick.high < ruled.y(4)
    assert nick.fill == "ink"


def test_a_string_in_tune_is_inked_in() -> None:
    picture = tune_picture(STATES["in tune"], Sheet(), "")
    ruled = Ruled.of(Sheet())
    inked = {mark.points[0][1] for mark in picture.marks if isinstance(mark, Line) and mark.ink == "landed"}
    assert inked == {ruled.y(5), ruled.y(3)}
    assert written(picture, "5  G4").ink == "landed"
    assert written(picture, "2  B3").ink == "ink"
    assert all(nick.fill == "landed" for nick in nicks(picture))
    word = next(mark for mark in texts(picture) if mark.text == "in tune" and mark.size > 2 * READABLE)
    assert word.ink == "landed"


def test_a_pitch_that_is_not_still_is_open_and_says_nothing_yet() -> None:
    picture = tune_picture(STATES["unsteady"], Sheet(), "")
    (nick,) = nicks(picture)
    assert nick.fill == "paper"
    assert "let it ring" in picture.texts
    assert "down" not in picture.texts


def test_what_is_far_off_has_a_wedge_that_points_beyond() -> None:
    def wedges(cents: float) -> list[Shape]:
        state = heard((3, cents))
        return [mark for mark in tune_picture(state, Sheet(), "").marks if isinstance(mark, Shape)]

    assert wedges(MOST_CENTS - 0.1) == []
    (wedge,) = wedges(MOST_CENTS + 1.0)
    assert max(x for x, _ in wedge.points) == wedge.points[1][0] <= Ruled.of(Sheet()).right
    (flat,) = wedges(-MOST_CENTS - 1.0)
    assert min(x for x, _ in flat.points) == flat.points[1][0]


@pytest.mark.parametrize(
    ("name", "title", "rest"),
    [
        ("breaks", "strings break", "string 3 would go up by 190 cents"),
        ("in doubt", "strings break: is it string 1 (D4)?", "string 1 would go up by 210 cents"),
        ("beforehand", "strings break", "string 5 is to go 3 half steps above open G"),
    ],
)
def test_a_warning_takes_the_place_of_the_words(name: str, title: str, rest: str) -> None:
    picture = tune_picture(STATES[name], Sheet(), "")
    assert written(picture, title).ink == "astray"
    assert rest in " ".join(picture.texts)
    assert not {"up", "down", INVITES} & set(picture.texts)
    assert sum(isinstance(mark, Box) and mark.edge == "astray" for mark in picture.marks) == 2
    plain = tune_picture(STATES["flat"], Sheet(), "")
    assert not any(isinstance(mark, Box) and mark.edge == "astray" for mark in plain.marks)


def test_under_a_capo_strings_have_the_names_of_the_shape_and_what_sounds_beside() -> None:
    picture = tune_picture(heard((3, 22.0), neck=Neck(capo=4)), Sheet(), "")
    assert {"1  D", "3  G", "5  G", "F♯4", "B3"} <= set(picture.texts)
    assert "gDGBD · capo 4" in picture.texts
    assert {"capo 4"} <= set(picture.texts)


def test_all_in_tune_is_said_and_so_is_that_nobody_plays() -> None:
    assert "all five are in tune" in tune_picture(STATES["all"], Sheet(), "").texts
    assert "all five are in tune" not in tune_picture(STATES["in tune"], Sheet(), "").texts
    assert "no string was heard for a minute" in tune_picture(STATES["nobody"], Sheet(), "").texts


@pytest.mark.parametrize(("name", "choice"), [("lost", "once more"), ("failed", "try again")])
def test_trouble_is_one_line_and_what_to_do(name: str, choice: str) -> None:
    picture = tune_picture(STATES[name], Sheet(), "")
    assert STATES[name].news in " ".join(picture.texts)
    assert choice in picture.texts
    assert "in tune" not in [mark.text for mark in texts(picture) if mark.size > 2 * READABLE]


def test_the_check_of_the_twelfth_fret_asks_and_tells() -> None:
    asks = tune_picture(STATES["twelfth"], Sheet(), "")
    assert "play string 1 (E4), open" in asks.texts
    assert [mark.text for mark in texts(asks) if mark.anchor == "center"].count("12") == 3
    on = tune_picture(STATES["twelfth on"], Sheet(), "")
    assert {"8 cents sharp", "true", "string 2: true", "tune up"} <= set(on.texts)
    assert len(nicks(on)) == 2
    assert written(on, "3  G").size > written(on, "1  D").size
    assert written(on, "2  B").ink == "landed"
    assert written(on, "1  D").ink == "ink"


def test_where_the_bridge_has_to_go() -> None:
    assert bridge_words(stopped(1.0, -1.0))[0] == "true at the twelfth fret: the bridge stands right"
    assert bridge_words(stopped(10.0, 0.0, 20.0)) == (
        "the bridge has to go toward the tailpiece",
        "string 1 3.9 mm, string 3 7.8 mm",
    )
    assert bridge_words(stopped(10.0, -20.0)) == (
        "the bridge would have to go both ways",
        "toward the tailpiece: string 1 3.9 mm; toward the neck: string 2 7.8 mm",
    )


def test_cents_in_words() -> None:
    assert [off_words(cents) for cents in (0.3, 1.0, -14.4)] == ["true", "1 cent sharp", "14 cents flat"]


class Microphone:
    """Blocks of a sound, then silence that comes slowly; as `listener.taking.Taking`."""

    rate, hung, stream = RATE, False, None

    def __init__(self, *midis: float, trouble: Exception | None = None) -> None:
        sounds = [plucked(RATE, [(0.1, midi, 0.2)], duration_sec=0.9) for midi in midis]
        sound = np.concatenate(sounds) if sounds else np.zeros(0, np.float32)
        self._left = [self._block(sound[at : at + SIZE]) for at in range(0, len(sound), SIZE)]
        self._trouble = trouble
        self.started = self.stopped = 0

    def start(self) -> None:
        self.started += 1
        if self._trouble is not None:
            raise self._trouble

    def stop(self) -> None:
        self.stopped += 1

    def play(self, sound: np.ndarray, position: int) -> None:
        raise AssertionError("a tuner plays nothing")

    def take(self, wait_sec: float) -> list:
        if self._left:
            return [self._left.pop(0)]
        threading.Event().wait(0.002)
        return []

    @staticmethod
    def _block(samples: np.ndarray) -> Block:
        return Block(position=0, samples=samples, adc_sec=0.0, dac_sec=0.0, came_sec=0.0, flags=0)


@pytest.fixture
def entered(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    screens: list[TuneScreen] = []

    def open_(*mics: Microphone, **what: object) -> TuneScreen:
        given = iter(mics)
        house = House(values={}, clock=lambda: 0.0)
        screen = enter(house, {**what, "taking": lambda: next(given)})
        assert isinstance(screen, TuneScreen)
        screens.append(screen)
        return screen

    yield open_
    for screen in screens:
        screen.close()


def says(screen: TuneScreen, *said: str) -> bool:
    return until(lambda: set(said) <= set(screen.picture(Sheet(), "").texts))


def test_a_flat_string_is_said_and_leaving_stops_it(entered) -> None:
    mic = Microphone(55.0 - 0.2)
    screen = entered(mic)
    assert says(screen, "up", "20 cents flat")
    assert screen.tick() is None
    assert isinstance(screen.act("back"), Leave)
    screen.close()
    assert mic.stopped >= 1


def test_tuning_and_capo_begin_anew_on_the_same_microphone(entered) -> None:
    mic = Microphone()
    screen = entered(mic)
    assert says(screen, INVITES, "gDGBD · no capo")
    screen.act("tuning")
    assert says(screen, f"{list(OPEN_TUNINGS)[1]} · no capo", INVITES)
    assert screen.press("+") is True
    assert says(screen, f"{list(OPEN_TUNINGS)[1]} · capo 1")
    assert screen.press("-") is True
    assert screen.press("-") is True
    assert says(screen, f"{list(OPEN_TUNINGS)[1]} · capo {CAPO_MOST}")
    screen.act("capo")
    assert says(screen, f"{list(OPEN_TUNINGS)[1]} · no capo")
    assert screen.press("x") is False
    screen.act("twelfth")
    assert says(screen, "play string 1 (D4), open")
    assert (mic.started, mic.stopped) == (1, 0)


def test_a_lick_brings_its_own_neck(entered) -> None:
    screen = entered(Microphone(), neck=Neck(capo=2), twelfth=True)
    assert says(screen, "play string 1 (E4), open", "gDGBD · capo 2 · twelfth fret")


def test_what_cannot_be_opened_is_said_and_tried_again(entered) -> None:
    broken, whole = Microphone(trouble=LibraryMissing("PortAudio is not installed")), Microphone()
    screen = entered(broken, whole)
    assert says(screen, "PortAudio is not installed", "try again")
    screen.act("again")
    assert until(lambda: screen.tick() is None and whole.started == 1)
    assert says(screen, INVITES, "once more")


def test_five_strings_are_tuned_the_microphone_is_closed_and_once_more_opens_another(entered) -> None:
    first, second = Microphone(*OPEN.values()), Microphone()
    screen = entered(first, second)
    assert says(screen, "all five are in tune")
    assert until(lambda: first.stopped > 0)
    assert (first.started, second.started) == (1, 0)
    screen.press("A")
    assert until(lambda: screen.tick() is None and second.started == 1)
    assert says(screen, INVITES)


@pytest.mark.parametrize("hung", [False, True])
def test_a_microphone_that_hangs_is_told_to_the_house(hung: bool) -> None:
    mic, house = Microphone(), House(values={}, clock=lambda: 0.0)
    mic.hung = hung
    screen = enter(house, {"taking": lambda: mic})
    assert until(lambda: mic.started == 1)
    screen.close()
    assert house.hung is hung


def test_one_that_hung_is_not_forgotten_where_another_is_opened() -> None:
    hanging, whole = Microphone(trouble=LibraryMissing("gone")), Microphone()
    hanging.hung = True
    given, house = iter((hanging, whole)), House(values={}, clock=lambda: 0.0)
    screen = enter(house, {"taking": lambda: next(given)})
    assert says(screen, "gone")
    screen.act("again")
    assert until(lambda: screen.tick() is None and whole.started == 1)
    screen.close()
    assert house.hung is True


def test_what_it_failed_by_is_left_with_the_house_unless_it_went_well_at_last(entered) -> None:
    broken, whole = Microphone(trouble=LibraryMissing("PortAudio is not installed")), Microphone()
    screen = entered(broken, whole)
    house = screen._house
    assert says(screen, "PortAudio is not installed")
    screen.close()
    assert house.trouble == "PortAudio is not installed"
    screen.act("again")
    assert until(lambda: screen.tick() is None and whole.started == 1)
    assert says(screen, INVITES)
    screen.close()
    assert house.trouble == ""


def test_the_lines_of_a_terminal_are_printed_beside_the_window(
    entered, capsys: pytest.CaptureFixture[str]
) -> None:
    screen = entered(Microphone(*OPEN.values()), neck=Neck(fifth=FifthString(70, "peg")))
    assert says(screen, "strings break")
    screen.close()
    screen = entered(Microphone(*OPEN.values()))
    assert says(screen, "all five are in tune")
    screen.act("back")
    screen.close()
    out = capsys.readouterr().out.splitlines()
    assert out[0].startswith("gDGBD: 5 B")
    second = out.index("gDGBD: 5 G4  4 D3  3 G3  2 B3  1 D4")
    assert "half steps above open G" in out[1]
    assert out[second + 1] == "Pluck one string at a time, let it ring; it ends when all five are in tune."
    assert sum("in tune (" in line for line in out[second:]) >= 5
    assert out[-1] == "all five are in tune"
