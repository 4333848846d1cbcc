"""Play along as a screen: which picture stands for which state, what is wished when something is chosen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from feedback.nexttempo import eased, pushed
from feedback.offers import Offer
from feedback.performing import Asked
from feedback.playstate import PlayState
from feedback.screen.marks import Sheet
from feedback.screen.screens import play_along
from feedback.screen.screens.play_along import STOP, PlayAlong, Playing, play_picture
from feedback.screen.staging import Go, House, Leave, Quit
from feedback.screen.views.warm_up_between import GO_ON, warm_up_between
from feedback.screen.views.warm_up_between import STOP as END
from feedback.session import PassOver
from feedback.settings import SETTINGS
from feedback.warm_up_seen import WarmUpSeen
from feedback.wishes import BreakOff, End, Hold, Start, Tempo, Wish
from routines.excerpt import Span
from routines.library import load
from routines.warmups.table import warm_up
from tests.lanes import plan_of, state_at
from tests.pictures import check_picture

VALUES = {name: row.default for name, row in SETTINGS.items()}
LICK = load("slab-wood-supper")
ASKED = Asked(whole=LICK, values=VALUES, tempo_half_bpm=96.0, waits=True)
RESTING = replace(PlayState(request=ASKED.request), phase="resting")


class Stand:
    """Stands for a practice on its own thread."""

    def __init__(self, asked: Asked = ASKED) -> None:
        self.asked = asked
        self.state = PlayState(request=asked.request)
        self.wished: list[Wish] = []
        self.started = self.stopped = 0
        self.alive = self.lingers = False
        self.sec: float | None = None

    @property
    def over(self) -> bool:
        return self.state.phase == "over"

    def part_sec(self) -> float | None:
        return self.sec

    def start(self) -> None:
        self.started += 1
        self.alive = True

    def wish(self, *wishes: Wish) -> None:
        self.wished += wishes

    def end(self) -> None:
        self.stopped += 1
        self.alive = self.lingers


class Stage:
    """The screen with stand-ins around it."""

    def __init__(self, closes_sec: float | None = None) -> None:
        self.now_sec = 50.0
        self.fault: Exception | None = None
        self.house = House(values=dict(VALUES), clock=lambda: self.now_sec)
        self.made: list[Stand] = [Stand()]
        self.screen = PlayAlong(self.house, ASKED, self.made[0], closes_sec, make=self._make)  # type: ignore[arg-type]

    def _make(self, asked: Asked) -> Stand:
        if self.fault is not None:
            raise self.fault
        self.made.append(Stand(asked))
        return self.made[-1]

    @property
    def now(self) -> Stand:
        return self.made[-1]


def _done() -> tuple[PassOver, ...]:
    plan = plan_of(LICK, 96.0, passes=2)
    state = state_at(plan, plan.end_sec + 1.0, (), ("left-hanging",))
    return tuple(one.over for one in state.running if one.over is not None)


def test_it_starts_and_ends_with_the_screen() -> None:
    stage = Stage()
    assert (stage.now.started, stage.now.stopped) == (1, 0)
    assert stage.house.ending
    stage.screen.close()
    assert stage.now.stopped == 1
    assert not stage.house.ending


@pytest.mark.parametrize("phase", ["opening", "playing", "sound lost", "resting"])
def test_while_nothing_is_over_it_is_the_lane_and_all_of_it_stops_the_turn(phase: str) -> None:
    state = replace(PlayState(request=ASKED.request), phase=phase)  # type: ignore[arg-type]
    picture = play_picture(state, None, 0.0, Sheet(), "", "flowing")
    (spot,) = picture.spots
    assert (spot.does, spot.wide, spot.high) == (STOP, 1280.0, 720.0)
    check_picture(picture)


def test_after_a_turn_there_are_the_choices() -> None:
    state = replace(RESTING, done=_done(), sentence="C over D7 was left hanging.")
    picture = play_picture(state, 20.0, 0.0, Sheet(), "once more", "flowing")
    assert [spot.does for spot in picture.spots] == ["once more", "ease", "push", "another"]
    assert (
        play_picture(replace(state, phase="playing"), 1.0, 0.0, Sheet(), "", "flowing").spots[0].does == STOP
    )


def test_what_it_ended_by_is_told_with_a_way_on() -> None:
    said = "no sound device: plug one in, or start the sound server"
    state = replace(RESTING, phase="over", ended=said, trouble=True)
    picture = play_picture(state, None, 0.0, Sheet(), "once more", "flowing")
    check_picture(picture)
    assert "no sound device" in " ".join(picture.texts)
    assert [spot.does for spot in picture.spots] == ["once more", "watch", "back"]


def test_a_turn_is_broken_off_and_a_rest_cut_short() -> None:
    stage = Stage()
    for phase in ("playing", "sound lost", "resting", "beginning"):
        stage.now.sec = 3.0
        stage.now.state = replace(RESTING, phase=phase)  # type: ignore[arg-type]
        stage.screen.act(STOP)
    assert stage.now.wished == [BreakOff(), Start(), Start()]


def test_a_second_tap_is_not_the_end_of_what_the_first_one_began() -> None:
    stage = Stage()
    stage.now.state = replace(RESTING, phase="playing")
    for sec in (-0.3, 0.0, 0.6):
        stage.now.sec = sec
        stage.screen.act(STOP)
    assert stage.now.wished == []
    stage.now.sec = 0.8
    stage.screen.act(STOP)
    assert stage.now.wished == [BreakOff()]


def test_once_more_ease_and_push() -> None:
    stage = Stage()
    stage.now.state = replace(RESTING, done=_done())
    stage.screen.act("once more")
    stage.screen.act("ease")
    stage.screen.act("push")
    assert stage.now.wished == [Start(), Tempo(eased(96.0)), Start(), Tempo(pushed(96.0)), Start()]
    assert (eased(96.0), pushed(96.0)) == (88.0, 100.0)


def test_what_is_over_is_begun_anew_at_the_tempo_that_is_chosen() -> None:
    stage = Stage()
    stage.now.state = replace(RESTING, phase="over", done=_done())
    stage.now.alive = False
    stage.screen.act("push")
    assert (len(stage.made), stage.made[0].stopped, stage.now.started) == (2, 1, 1)
    assert stage.now.asked.tempo_half_bpm == 100.0


def test_whoever_looks_around_is_waited_for() -> None:
    stage = Stage()
    for phase in ("resting", "hearing again", "playing", "beginning"):
        stage.now.state = replace(RESTING, phase=phase)  # type: ignore[arg-type]
        stage.screen.focused("push")
    assert stage.now.wished == [Hold(), Hold()]


def test_the_change_alone_is_played_instead() -> None:
    stage = Stage()
    offer = Offer(change="D7-G", span=Span(number=None), failed=2, tempo_half_bpm=77.0, command="")
    stage.now.state = replace(RESTING, done=_done(), offer=offer)
    stage.screen.act("the change alone")
    assert stage.made[0].stopped == 1
    assert (stage.now.asked.loop, stage.now.asked.tempo_half_bpm) == ("change", 77.0)
    assert stage.now.asked.request.rest_bars == 0


def test_the_next_one_waits_until_the_one_before_has_ended() -> None:
    stage = Stage()
    stage.now.lingers = True
    stage.screen.act("watch")
    assert (len(stage.made), stage.now.stopped) == (1, 1)
    assert stage.screen.tick() is None
    picture = stage.screen.picture(Sheet(), "")
    assert [spot.does for spot in picture.spots] == [STOP]
    stage.screen.act(STOP)  # nothing runs yet that could be stopped
    stage.now.alive = False
    stage.screen.tick()
    assert (len(stage.made), stage.now.started) == (2, 1)


def test_what_cannot_be_made_is_told_and_can_be_tried_again() -> None:
    stage = Stage()
    stage.fault = OSError("no space left in takes")
    stage.screen.act("watch")
    picture = stage.screen.picture(Sheet(), "once more")
    assert "no space left in takes" in " ".join(picture.texts)
    stage.fault = None
    stage.screen.act("once more")
    assert (len(stage.made), stage.now.started) == (2, 1)


def test_another_back_and_watching() -> None:
    stage = Stage()
    assert stage.screen.act("another") == Go("licks", LICK, instead=True)
    assert stage.screen.act("back") == Leave()
    stage.screen.act("watch")
    assert stage.now.asked.source == "sim"


def test_it_closes_by_itself_where_that_is_asked() -> None:
    stage = Stage(closes_sec=6.0)
    assert stage.screen.tick() is None
    stage.now.state = replace(RESTING, phase="over", done=_done())
    assert stage.screen.tick() is None
    stage.now_sec += 5.9
    assert stage.screen.tick() is None
    stage.now_sec += 0.2
    assert stage.screen.tick() == Quit()
    staying = Stage()
    staying.now.state = replace(RESTING, phase="over")
    staying.now_sec += 100.0
    assert staying.screen.tick() is None


def test_it_is_opened_with_a_lick_or_with_a_practice(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[Asked] = []

    def make(asked: Asked, say: object) -> Stand:
        made.append(asked)
        return Stand(asked)

    monkeypatch.setattr(play_along, "performing", make)
    house = House(values={**VALUES, "source": "sim"}, clock=lambda: 0.0, device="USB")
    play_along.enter(house, {"lick": LICK, "tempo_half_bpm": 70.0, "loop": "change"}).close()
    play_along.enter(house, {"lick": LICK, "source": "mic"})
    assert [(a.source, a.loop, a.tempo_half_bpm, a.device, a.waits) for a in made] == [
        ("sim", "change", 70.0, "USB", True),
        ("mic", None, None, "USB", True),
    ]


def test_the_commands_flags_hold_for_whatever_is_practised_later(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[Asked] = []
    monkeypatch.setattr(play_along, "performing", lambda asked, say: made.append(asked) or Stand(asked))
    house = House(values=dict(VALUES), clock=lambda: 0.0)
    asked = replace(ASKED, backing=True, keep=Path("takes"), click="chop", turns=3, mistakes=((),) * 4)
    stand = Stand(asked)
    play_along.enter(house, Playing(asked=asked, backstage=stand)).close()  # type: ignore[arg-type]
    assert (len(made), stand.started) == (0, 1)
    other = load("tally-stick")
    play_along.enter(house, {"lick": other})
    (later,) = made
    assert (later.whole, later.backing, later.keep, later.click) == (other, True, Path("takes"), "chop")
    assert (later.turns, later.mistakes, later.tempo_half_bpm) == (None, (), None)


def test_between_two_turns_of_a_warm_up_the_pedal_goes_on_and_does_not_end_it() -> None:
    seen = WarmUpSeen(title="Pinches", says="D7", lick=LICK, tempo_half_bpm=60.0)
    picture = warm_up_between(seen, Sheet(), "")
    assert picture.spots[0].does == GO_ON
    assert STOP not in [spot.does for spot in picture.spots]  # what had the focus while the turn ran


def test_what_is_chosen_in_a_warm_up() -> None:
    stage = Stage()
    seen = WarmUpSeen(title="Pinches", says="D7", lick=LICK, tempo_half_bpm=60.0)
    stage.now.state = replace(stage.now.state, phase="resting", warm_up=seen)
    assert "it goes on by itself" in stage.screen.picture(Sheet(), "").texts
    stage.now.state = replace(stage.now.state, besides="disk full")
    assert "disk full" in stage.screen.picture(Sheet(), "").texts
    assert stage.screen.act(GO_ON) is None
    assert stage.screen.act(END) is None
    assert stage.now.wished == [Start(), End()]
    stage.now.sec = 5.0
    stage.now.state = replace(stage.now.state, phase="playing")
    assert stage.screen.act(STOP) is None
    assert stage.now.wished[2:] == [BreakOff()]
    over = replace(seen, remark="The thumb is louder.")
    stage.now.state = replace(stage.now.state, phase="over", warm_up=over, besides="disk full")
    texts = " ".join(stage.screen.picture(Sheet(), "").texts)
    assert "The thumb is louder." in texts
    assert "disk full" in texts
    assert stage.screen.act("another") == Go("warm-up", "", instead=True)
    assert stage.screen.act("back") == Leave()
    stage.now.alive = False
    assert stage.screen.act("once more") is None
    assert len(stage.made) == 2
    assert stage.now.asked.tempo_half_bpm is None


def test_a_warm_up_is_entered_by_its_name() -> None:
    house = House(values=dict(VALUES), clock=lambda: 0.0)
    made: list[Asked] = []

    def make(self: PlayAlong, asked: Asked) -> None:
        made.append(asked)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(PlayAlong, "__init__", lambda self, house, asked: make(self, asked))
        play_along.enter(house, {"warm_up": "pinches"})
        play_along.enter(house, {"lick": LICK})
    first, second = made
    assert (first.warm_up, first.whole.id) == ("pinches", warm_up("pinches").steps(0)[0].lick.id)
    assert (second.warm_up, second.whole, second.tempo_half_bpm) == ("", LICK, None)
