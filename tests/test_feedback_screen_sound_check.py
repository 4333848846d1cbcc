"""The screen of the sound check: what it asks for and tells, and the screen at a stand-in microphone."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import pytest

from feedback import checking, pairs, settings
from feedback.checking_events import Ended, LevelFound, NoiseFound, PlayAlong, PlayAway, Still, TripFound
from feedback.checking_thread import FLOOR_DB, CheckState, after, later, level_of
from feedback.screen.marks import READABLE, Box, Line, Picture, Ring, Sheet
from feedback.screen.screens.sound_check import CheckScreen, enter
from feedback.screen.staging import House, Leave
from feedback.screen.views.check import check_picture, found_lines, level_word
from feedback.trips import Trip
from listener.errors import LibraryMissing
from tests.desks import RATE, Desk, laid_out
from tests.in_turn import in_turn
from tests.pictures import check_picture as check_layout
from tests.plucks import plucked
from tests.screen_texts import SHEETS, texts, until, written

LONG = "microphone USB Audio CODEC: - (hw:1,0), output HDA Intel PCH: ALC3234 Analog (hw:0,0)"
SWEPT = Trip(
    trip_sec=0.0417, unsure_sec=0.0004, how="chirp", stamps_sec=0.03, agreed=5, sent=5, bleed_db=-15.0
)
ALONG = Trip(trip_sec=0.0417, unsure_sec=0.02, how="played", stamps_sec=0.03, agreed=12, sent=16, apart=False)
SAID = Trip(trip_sec=0.030, unsure_sec=0.01, how="reported", stamps_sec=None)
LEVEL = LevelFound(peak_db=-9.0, clipped=0, notes=42, note_db=-30.0, noise_db=-62.0)
BASE = CheckState(devices=LONG, level_db=-55.0, loudest_db=-50.0)
PLAY = replace(BASE, step="play", step_sec=8.0, at_sec=4.0, noise_db=-40.0, trip=SWEPT)
NOT_ALONE = "as it was: the round trip that was measured on 2025-11-29"
STATES = {
    "opening": CheckState(),
    "still": replace(BASE, step="still", step_sec=3.0, at_sec=1.2),
    "sweeps": replace(BASE, step="sweeps", noise_db=-40.0),
    "along, soon": replace(
        BASE, step="play along", noise_db=-62.0, step_sec=12.0, at_sec=1.0, begins_sec=3.0, along="asked"
    ),
    "along": replace(
        BASE, step="play along", noise_db=-62.0, step_sec=12.0, at_sec=5.0, begins_sec=3.0, along="asked"
    ),
    "ready": replace(BASE, step="get ready", noise_db=-62.0, trip=ALONG, step_sec=3.0, along="asked"),
    "soft": replace(PLAY, loudest_db=-34.0),
    "good": replace(PLAY, loudest_db=-9.0),
    "loud": replace(PLAY, loudest_db=-1.0),
    "clipped": replace(PLAY, loudest_db=0.0, level_db=0.0, full=True),
    "played": replace(PLAY, at_sec=8.0),
    "done": replace(BASE, step="done", noise_db=-62.0, trip=SWEPT, stored="the round trip", level=LEVEL),
    "done along": replace(
        BASE,
        step="done",
        noise_db=-40.0,
        trip=ALONG,
        along="asked",
        stored=NOT_ALONE,
        level=replace(LEVEL, clipped=312, peak_db=0.0, note_db=-20.0, noise_db=-40.0),
    ),
    "done, not measured": replace(
        BASE, step="done", noise_db=-62.0, trip=SAID, along="told nothing", stored="no round trip"
    ),
    "failed": CheckState(
        step="failed",
        news="USB Audio CODEC: nothing but zeros comes from it; is it muted, does it shut off quiet sounds, "
        "or may this program not use the microphone? Choose another one: --device",
    ),
}


def picture(name: str, sheet: Sheet | None = None) -> Picture:
    return check_picture(STATES[name], sheet or Sheet(), "again")


@in_turn("sheet", SHEETS, ids=lambda sheet: f"{sheet.wide:g}x{sheet.high:g}")
@in_turn("name", STATES)
def test_everything_lies_on_the_sheet_and_nothing_on_another(name: str, sheet: Sheet) -> None:
    drawn = picture(name, sheet)
    check_layout(drawn)
    assert max(m.y for m in texts(drawn) if not m.minor and m.on == "paper") < drawn.spots[0].y


@in_turn(
    ("name", "title", "about"),
    [
        ("opening", "one moment", "microphone and output are opened"),
        ("still", "keep still", "how loud is the room? 2 seconds more"),
        ("sweeps", "keep still", "quiet sweeps go out, and come back"),
        ("along, soon", "play along", "no sweep came back; clicks come in 2 seconds"),
        ("along", "strike with each click", "one open string: one, two, rest"),
        ("ready", "get ready to play", "in 3 seconds, up to your loudest"),
        ("good", "play, up to your loudest", "4 seconds more"),
        ("played", "enough, thank you", "it is listened to"),
        ("done", "round trip 41.7 ms", "measured within 0.4 ms, 5 of 5 sweeps agree"),
        ("done along", "round trip 41.7 ms", "by playing along: the system's own word stays"),
        (
            "done, not measured",
            "round trip 30.0 ms",
            "not measured: play along is judged by the system's word",
        ),
    ],
)
def test_one_thing_is_asked_or_told_large(name: str, title: str, about: str) -> None:
    drawn = picture(name)
    assert written(drawn, title, least=1.9 * READABLE)
    assert about in drawn.texts


def test_the_now_line_stands_at_the_step_that_goes_on_and_what_is_over_is_inked_in() -> None:
    def standing(name: str) -> tuple[list[float], int]:
        drawn = picture(name)
        lines = [m for m in drawn.marks if isinstance(m, Line) and m.points[0][0] == m.points[1][0]]
        at = [m.points[0][0] for m in lines if m.points[1][1] < 160.0]
        rings = [m for m in drawn.marks if isinstance(m, Ring)]
        return at, sum(ring.fill == "landed" for ring in rings)

    places = [standing(name) for name in ("still", "sweeps", "good", "done")]
    assert [inked for _, inked in places] == [0, 1, 2, 4]
    assert [len(at) for at, _ in places] == [2, 2, 2, 0]
    assert places[0][0][0] < places[1][0][0] < places[2][0][0]
    assert written(picture("sweeps"), "sweeps").bold
    assert written(picture("along"), "play along").bold
    assert standing("failed") == ([], 0)


@in_turn(
    ("name", "word"),
    [
        ("still", ""),
        ("sweeps", ""),
        ("along, soon", ""),
        ("ready", ""),
        ("soft", "too soft"),
        ("good", "good"),
        ("loud", "too loud"),
        ("clipped", "too loud, clipped"),
    ],
)
def test_the_level_is_judged_only_while_the_player_plays(name: str, word: str) -> None:
    assert level_word(STATES[name]) == word
    large = [m.text for m in texts(picture(name)) if m.size == 40.0]
    assert large == ([word] if word else [])


def test_the_bar_is_as_long_as_it_is_loud() -> None:
    def inked(level_db: float) -> float:
        drawn = check_picture(replace(PLAY, level_db=level_db), Sheet(), "")
        return max(m.wide for m in drawn.marks if isinstance(m, Box) and m.high == 32.0)

    assert inked(0.0) == pytest.approx(1200.0)
    assert inked(-30.0) == pytest.approx(600.0)
    assert inked(-70.0) < 3.0


def test_what_was_found_is_told_in_words() -> None:
    assert found_lines(STATES["still"]) == []
    noise = dict(found_lines(STATES["sweeps"]))["noise"]
    assert noise.startswith("-40 dB of full scale; that is loud")
    done = dict(found_lines(STATES["done"]))
    assert done["level"] == "peaks at -9 dB of full scale; good; 42 notes, 32 dB over the noise"
    assert done["stored"] == "the round trip, for these two devices"
    assert "headphones are surer" in done["speaker"]
    unsure = dict(found_lines(STATES["done, not measured"]))
    assert "not to be trusted" in unsure["round trip"]
    assert "earpiece" in unsure["surer"]
    assert "strokes" in unsure
    assert "clipped (312 samples)" in dict(found_lines(STATES["done along"]))["level"]


def test_where_there_is_no_room_what_matters_least_is_left_out() -> None:
    narrow = picture("done along", Sheet(960, 720)).texts
    assert "noise" not in narrow
    assert {"level", "stored"} <= set(narrow)
    assert "noise" in picture("done along", Sheet(960, 1100)).texts


def test_trouble_is_told_with_what_to_do() -> None:
    drawn = picture("failed")
    assert STATES["failed"].news in " ".join(drawn.texts)
    assert "try again" in drawn.texts
    assert [spot.does for spot in drawn.spots] == ["again", "back"]


def test_events_and_sound_fold_into_the_state(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "READY_SEC", 0.5)
    monkeypatch.setattr(checking, "PLAY_SEC", 2.0)
    state = after(CheckState(), Still(sec=3.0))
    state = later(state, 1.0, -20.0, full=False)
    assert (state.step, state.left_sec, state.level_db, state.loudest_db) == ("still", 2.0, -20.0, -20.0)
    state = later(state, 0.5, -60.0, full=False)
    assert state.level_db == pytest.approx(-32.0)
    assert state.loudest_db == -20.0
    state = after(after(state, NoiseFound(noise_db=-61.0)), PlayAlong(clicks=16, sec=9.0, begins_sec=3.0))
    assert (state.step, state.step_sec, state.along, state.noise_db) == ("play along", 12.0, "asked", -61.0)
    assert state.loudest_db == FLOOR_DB
    state = after(after(state, TripFound(trip=SWEPT)), PlayAway(sec=2.0))
    assert (state.step, state.trip, state.at_sec) == ("get ready", SWEPT, 0.0)
    state = later(state, 0.3, -1.0, full=False)
    assert state.step == "get ready"
    state = later(state, 0.3, -1.0, full=False)
    assert (state.step, state.left_sec, state.loudest_db) == ("play", 2.0, FLOOR_DB)
    state = after(after(state, LEVEL), Ended())
    assert (state.step, state.level) == ("done", LEVEL)


def test_levels_in_db() -> None:
    assert level_of(1.0) == 0.0
    assert level_of(0.1) == pytest.approx(-20.0)
    assert level_of(0.0) == FLOOR_DB


class Mic(Desk):
    """A desk that is started and stopped."""

    hung = False
    trouble: Exception | None = None
    slow_sec = 0.0

    def __init__(self, **more: object) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self.started = self.stopped = 0

    def start(self) -> None:
        self.started += 1
        if self.trouble is not None:
            raise self.trouble

    def stop(self) -> None:
        self.stopped += 1

    def take(self, wait_sec: float) -> list:
        threading.Event().wait(self.slow_sec)
        return super().take(wait_sec)


@pytest.fixture
def entered(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(checking, "STILL_SEC", 1.0)
    monkeypatch.setattr(checking, "PLAY_SEC", 1.0)
    monkeypatch.setattr(checking, "READY_SEC", 0.3)
    monkeypatch.setattr(checking, "SWEEPS_DB", (-30.0,))
    monkeypatch.setattr(checking, "SENT", 3)
    monkeypatch.setattr(checking, "PATTERN_SEC", (0.0, 0.5))
    monkeypatch.setattr(checking, "LONGEST_SEC", 0.2)
    screens: list[CheckScreen] = []

    def open_(*mics: Mic) -> CheckScreen:
        given = iter(mics)
        house = House(values=settings.load([]), clock=lambda: 0.0)
        screen = enter(house, {"taking": lambda: next(given)})
        assert isinstance(screen, CheckScreen)
        screens.append(screen)
        return screen

    yield open_
    for screen in screens:
        screen.close()


def says(screen: CheckScreen, *said: str) -> bool:
    return until(lambda: set(said) <= set(screen.picture(Sheet(), "").texts))


def test_a_pair_of_devices_is_checked_and_kept(entered) -> None:
    mic = Mic(trip_sec=0.0417, bleed=0.2)
    mic.hand = laid_out(plucked(RATE, [(0.1, 55.0, 0.5)], duration_sec=1.2), 4 * RATE)
    screen = entered(mic)
    assert says(screen, "round trip 41.7 ms", "the round trip, for these two devices")
    assert screen.tick() is None
    assert "microphone Mic, output Speakers" in screen.picture(Sheet(), "").texts
    (kept,) = pairs.load().values()
    assert kept.trip_sec == pytest.approx(0.0417, abs=3e-4)
    assert until(lambda: mic.stopped > 0)
    assert (mic.started, screen.press("x")) == (1, False)


def test_it_is_left_in_the_middle(entered) -> None:
    mic = Mic()
    mic.slow_sec = 0.002
    screen = entered(mic)
    assert says(screen, "keep still")
    assert isinstance(screen.act("back"), Leave)
    screen.close()
    assert mic.stopped >= 1
    assert pairs.load() == {}


def test_sound_that_goes_away_is_told_and_it_is_tried_again(entered) -> None:
    lost, whole = Mic(), Mic()
    lost.lose_at, whole.slow_sec = RATE // 4, 0.002
    screen = entered(lost, whole)
    assert says(screen, "the sound went away during the check: unplugged", "try again")
    screen.press("A")
    assert says(screen, "keep still", "once more")
    assert (lost.started, whole.started) == (1, 1)
    screen.close()
    assert (screen._house.trouble, screen._house.hung) == ("", False)


def test_one_that_hung_or_failed_is_not_forgotten(entered) -> None:
    lost, whole = Mic(), Mic()
    lost.lose_at, lost.hung, whole.lose_at = RATE // 4, True, RATE // 4
    screen = entered(lost, whole)
    assert says(screen, "try again")
    screen.act("again")
    assert until(lambda: whole.stopped > 0)
    assert says(screen, "try again")
    screen.close()
    assert screen._house.hung is True
    assert screen._house.trouble.startswith("the sound went away")


def test_the_lines_of_a_terminal_are_printed_beside_the_window(
    entered, capsys: pytest.CaptureFixture[str]
) -> None:
    mic = Mic(trip_sec=0.0417, bleed=0.2)
    mic.hand = laid_out(plucked(RATE, [(0.1, 55.0, 0.5)], duration_sec=1.2), 4 * RATE)
    screen = entered(mic)
    assert says(screen, "round trip 41.7 ms")
    assert until(lambda: mic.stopped > 0)
    out = capsys.readouterr().out
    lines = [line.split()[0] for line in out.splitlines() if line.startswith("  ") and line[2] != " "]
    assert out.startswith(f"microphone Mic, output Speakers, {RATE} Hz")
    assert lines == ["noise", "round", "loudspeaker", "stored", "level"]


@pytest.mark.parametrize("muted", [False, True])
def test_what_cannot_be_used_is_told(entered, muted: bool) -> None:
    mic = Mic(noise=0.0, bleed=0.0)
    mic.trouble = None if muted else LibraryMissing("PortAudio is not installed")
    screen = entered(mic)
    assert says(screen, "it cannot go on", "try again")
    told = " ".join(screen.picture(Sheet(), "").texts)
    assert ("nothing but zeros" if muted else "PortAudio is not installed") in told


def test_what_could_not_be_kept_is_told_before_anything_is_opened(entered) -> None:
    pairs.path().parent.mkdir(parents=True)
    pairs.path().write_text('{"version": 99}')
    mic = Mic()
    screen = entered(mic)
    assert says(screen, "it cannot go on")
    assert "of version 99" in " ".join(screen.picture(Sheet(), "").texts)
    assert mic.started == 0
