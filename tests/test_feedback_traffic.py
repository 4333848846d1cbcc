"""A lick in traffic, played and judged: by the command line and in the window."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import soundfile

from feedback.__main__ import main
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged, judge_pass
from feedback.offers import offer
from feedback.performance import perform
from feedback.performing import Asked
from feedback.played import as_heard
from feedback.player import render
from feedback.playing import TurnRequest, play_simulated
from feedback.playstate import PlayState
from feedback.screen.marks import Sheet
from feedback.screen.screens import play_along
from feedback.screen.screens.licks import Licks
from feedback.screen.screens.play_along import enter, play_picture
from feedback.screen.staging import Go, House
from feedback.screen.views.lick import LickState, lick_picture
from feedback.session import PassOver, after_count_in
from feedback.settings import SETTINGS
from listener.notes import NoteEvent
from routines.excerpt import change
from routines.library import load
from routines.lick import Lick
from routines.traffic import WAYS, around, between, in_form, stands
from tests.few import few_licks
from tests.lanes import plan_of, sec_at, state_at
from tests.pictures import SHEETS, check_picture

pytestmark = pytest.mark.usefixtures("ears_remember")

VALUES = {name: row.default for name, row in SETTINGS.items()}
SUPPER = load("slab-wood-supper")
TEMPO = 80.0
START_SEC = 0.5
ASKED = Asked(whole=SUPPER, values=VALUES, source="sim", way="traffic", tempo_half_bpm=TEMPO, waits=True)

Change = Callable[[Sequence[NoteEvent]], Sequence[NoteEvent]]


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path / "home"))


def judged(lick: Lick, *mistakes: str, but: Change = lambda notes: notes) -> Judged:
    """A pass as a flawless listener hears it."""
    tempo = 0.8 * lick.top_tempo_half_bpm
    played = perform(lick, tempo_half_bpm=tempo, mistakes=mistakes, seed=3, start_sec=START_SEC)
    grid = Grid(lick=lick, tempo_half_bpm=tempo, start_sec=START_SEC, limits=Limits())
    return judge_pass(grid, but(sorted(as_heard(played), key=lambda note: note.onset_sec)))


# Played and judged


@pytest.mark.parametrize(("way", "bars"), [("", 3), ("traffic", 5), ("form 8", 8), ("form 16", 16)])
def test_a_form_goes_round_without_a_rest_and_all_else_has_one(way: str, bars: int) -> None:
    for name in ("slab-wood-supper", "first-log-up"):
        request = replace(ASKED, whole=load(name), way=way).request
        first, second, *_ = after_count_in(
            request.lick, TEMPO, passes=2, rest_bars=request.rest_bars
        ).starts_sec
        assert second - first == pytest.approx(bars * 60.0 * 2 / TEMPO)


def test_a_faithful_pass_in_traffic_is_heard_as_one() -> None:
    whole = between(load("first-log-up"))
    (over,) = play_simulated(TurnRequest(lick=whole, tempo_half_bpm=TEMPO, mistakes=((),)))
    outcome = over.judged.outcome
    assert outcome.clean
    assert {note.verdict for note in outcome.notes} == {"landed"}
    assert [seven.resolution for seven in outcome.sevenths] == ["resolved"]
    assert outcome.lick == whole.id


@pytest.mark.parametrize("lick", few_licks()[::4], ids=lambda lick: lick.id)
def test_a_faithful_pass_is_clean_and_every_seven_is_told_as_by_itself(lick: Lick) -> None:
    told = [seven.resolution for seven in judged(lick).outcome.sevenths]
    for way in WAYS:
        if way != "traffic" and not stands(lick, 8):
            continue
        outcome = judged(around(lick, way)).outcome
        assert outcome.clean
        assert [seven.resolution for seven in outcome.sevenths] == told


@pytest.mark.parametrize("whole", [between(SUPPER), in_form(SUPPER, 8)], ids=["traffic", "form"])
@pytest.mark.parametrize(
    ("mistake", "resolution"),
    [("left-hanging", "hanging"), ("resolution-late", "late"), ("resolution-octave", "octave")],
)
def test_a_mistake_in_the_lick_is_still_told(whole: Lick, mistake: str, resolution: str) -> None:
    outcome = judged(whole, mistake).outcome
    assert outcome.clean is False
    assert [seven.resolution for seven in outcome.sevenths] == [resolution]


def test_a_swallowed_seven_is_told_in_the_roll() -> None:
    (seven,) = judged(between(SUPPER), "seven-swallowed").outcome.sevenths
    assert seven.swallowed


def test_a_stroke_of_the_roll_that_is_left_out_spoils_nothing_but_a_downbeat_does() -> None:
    whole = between(SUPPER)
    inner, downbeat = judged(whole, but=lambda n: [*n[:2], *n[3:]]), judged(whole, but=lambda n: n[1:])
    assert [n.index for n in inner.outcome.notes if n.verdict == "missed"] == [2]
    assert inner.outcome.clean
    assert [n.index for n in downbeat.outcome.notes if n.verdict == "missed"] == [0]
    assert downbeat.outcome.clean is False


# What is asked for


def test_what_is_asked_for_is_played_in_traffic_with_a_rest_bar() -> None:
    request = ASKED.request
    assert (request.lick, request.whole, request.span) == (between(SUPPER), between(SUPPER), None)
    assert request.rest_bars == 1
    assert replace(ASKED, way="form 16").request.lick.bars == 16


def test_the_change_alone_is_that_of_the_lick_by_itself() -> None:
    request = replace(ASKED, loop="change").request
    assert (request.lick, request.whole) == (change(SUPPER), SUPPER)
    assert request.rest_bars == 0


def test_the_change_alone_is_offered_where_the_fall_fails_in_traffic() -> None:
    whole = ASKED.request.lick
    passes = [PassOver(number=n, judged=judged(whole, "left-hanging")) for n in (1, 2)]
    found = offer(whole, passes)
    assert found is not None
    assert (found.change, found.failed) == ("D7-G", 2)
    assert found.command == "sevenfall play slab-wood-supper --from mic --loop change --tempo 64"
    assert found.span.of(SUPPER) == change(SUPPER)


# The command line


def _said(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main([*words, "--json"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    found: dict[str, Any] = json.loads(said.out)
    return found


def test_play_in_traffic(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("play", SUPPER.id, "--traffic", "--tempo", "150", "--passes", "1", "--mistake", "left-hanging")
    found = _said(capsys, *words)
    assert found["lick"] == SUPPER.id
    (one,) = found["passes"]
    assert len(one["notes"]) == len(between(SUPPER).notes)
    assert [seven["resolution"] for seven in one["sevenths"]] == ["hanging"]


def test_a_recording_in_traffic_is_judged(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    whole, file = between(SUPPER), str(tmp_path / "take.wav")
    soundfile.write(file, render(perform(whole, tempo_half_bpm=150.0, seed=4, start_sec=0.75)), 44_100)
    given = ("--tempo", "150", "--start", "0.75")
    outcome = _said(capsys, "judge", file, "--lick", SUPPER.id, "--traffic", *given)
    assert outcome["clean"] is True
    assert len(outcome["notes"]) == len(whole.notes)


def test_listen_to_it_in_a_form(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = str(tmp_path / "form.wav")
    words = ("listen", SUPPER.id, "--form", "8", "--tempo", "240", "--rounds", "1", "-o", file)
    found = _said(capsys, *words)
    assert (found["lick"], found["title"]) == (SUPPER.id, "Slab Wood Supper, in a form of 8 bars")
    assert [note["midi"] for note in found["notes"]] == [note.midi for note in in_form(SUPPER, 8).notes]


@pytest.mark.parametrize("command", ["play", "listen"])
@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--traffic", "--loop", "change"), "--traffic and --loop: give one of them"),
        (("--form", "8", "--loop", "1"), "--form and --loop: give one of them"),
        (("--traffic", "--form", "8"), "--traffic and --form: give one of them"),
        (("--form", "12"), "choose from 8, 16"),
    ],
)
def test_what_does_not_go_together_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], command: str, words: Sequence[str], why: str
) -> None:
    assert main([command, SUPPER.id, *words]) == 2
    said = capsys.readouterr()
    assert why in said.err
    assert said.out == ""
    assert said.err.count("\n") == 1


def test_with_a_microphone_it_is_refused_before_anything_is_opened(capfd: pytest.CaptureFixture[str]) -> None:
    assert main(["play", SUPPER.id, "--from", "mic", "--traffic", "--loop", "change", "--no-window"]) == 2
    assert "--traffic and --loop" in capfd.readouterr().err


# The window


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("way", ["traffic", "form 8"])
def test_the_lane_and_what_comes_after_it_can_be_read(way: str, sheet: Sheet) -> None:
    for name in ("first-log-up", "cant-hook-shuffle"):
        plan = plan_of(around(load(name), way), TEMPO, passes=2)
        for sec in (0.5, sec_at(plan, 0, 1.0), sec_at(plan, 0, 4.0), sec_at(plan, 0, plan.lick.bars * 4 - 3)):
            check_picture(play_picture(state_at(plan, sec), sec, sec, sheet, "", "flowing"))
        over = state_at(plan, plan.end_sec + 1.0, ("left-hanging",))
        done = tuple(one.over for one in over.running if one.over is not None)
        assert len(done) == 2
        state = replace(over, phase="resting", done=done, sentence="C over D7 was left hanging.")
        check_picture(play_picture(state, None, plan.end_sec, sheet, "once more", "flowing"))


def test_the_page_of_a_lick_offers_both_where_it_has_a_place() -> None:
    page = LickState(lick=SUPPER, tempo_half_bpm=TEMPO)
    does = [spot.does for spot in lick_picture(page, Sheet(), "").spots]
    forms = ["in a form of 8", "in a form of 16"]
    assert does[:5] == ["play along", "in traffic", *forms, "the change alone"]
    astray = replace(page, lick=replace(SUPPER, key="Ab"))
    does = [spot.does for spot in lick_picture(astray, Sheet(), "").spots]
    assert "in traffic" in does
    assert not set(forms) & set(does)


@pytest.mark.parametrize(
    ("does", "way"),
    [("in traffic", "traffic"), ("in a form of 8", "form 8"), ("in a form of 16", "form 16")],
)
def test_from_the_page_it_is_played_so_and_the_lick_itself_is_remembered(does: str, way: str) -> None:
    stored: list[dict[str, str]] = []
    house = House(values=dict(VALUES), clock=lambda: 0.0, store=lambda changed: stored.append(dict(changed)))
    screen = Licks(house)
    screen.act("open tally-stick")
    go = screen.act(does)
    assert isinstance(go, Go)
    assert go.what == {"lick": load("tally-stick"), "tempo_half_bpm": None, "way": way}  # the ladder leads
    assert stored == [{"last_lick": "tally-stick"}]


class Stand:
    """Stands for a practice on its own thread."""

    alive = over = False

    def __init__(self, asked: Asked) -> None:
        self.asked = asked
        self.state = PlayState(request=asked.request)

    def part_sec(self) -> None:
        return None

    def start(self) -> None:
        pass

    def end(self) -> None:
        pass


def test_after_the_change_alone_the_whole_lick_is_in_traffic_again(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[Stand] = []

    def performing(asked: Asked, _: object) -> Stand:
        made.append(Stand(asked))
        return made[-1]

    monkeypatch.setattr(play_along, "performing", performing)
    house = House(values=dict(VALUES), clock=lambda: 0.0)
    screen = enter(house, {"lick": SUPPER, "way": "traffic"})
    assert made[-1].state.request.lick == between(SUPPER)
    passes = [PassOver(number=n, judged=judged(between(SUPPER), "left-hanging")) for n in (1, 2)]
    found = offer(made[-1].state.request.whole or SUPPER, passes)
    made[-1].state = replace(made[-1].state, phase="resting", done=tuple(passes), offer=found)
    screen.act("the change alone")
    assert made[-1].state.request.lick == change(SUPPER)
    screen.act("the whole lick")
    assert made[-1].state.request.lick == between(SUPPER)
    assert enter(house, {"lick": SUPPER}) is not screen
    assert made[-1].state.request.lick == SUPPER
