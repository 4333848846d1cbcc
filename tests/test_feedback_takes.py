"""One pass inside a longer take: what was played right before and after it is not its own."""

from __future__ import annotations

import math

import pytest

from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.session import PassOver
from feedback.takes import judge_events, judge_turn
from listener.notes import NoteEvent
from routines.lick import Lick
from tests.scores import TEMPO, A, B, grid_of, judged, lick, play

FULL = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0 1/0", "D7 G")
PICKUP = lick(
    "4/0 4/2 4/4 | 3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 . . .", "D7 G", pickup_eighths=3
)
WALTZ = lick("3/2 2/1 1/0 5/0 1/4 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0", "D7 G", meter="3/4")


def _looped(of: Lick, *slips: str, first_sec: float = 2.0, rest_bars: int = 0) -> list[NoteEvent]:
    """Passes one after another without a break, one for each of the slips."""
    apart = (of.bars + rest_bars) * of.quarters_a_bar * 30.0 / TEMPO
    events = [e for k, slip in enumerate(slips) for e in play(of, slip, start_sec=first_sec + k * apart)]
    return sorted(events, key=lambda event: event.onset_sec)


@pytest.mark.parametrize("of", [A, B, FULL, PICKUP, WALTZ], ids=["A", "B", "full", "pickup", "waltz"])
@pytest.mark.parametrize("lean", ["", "all +15ms", "all -15ms"])
def test_a_pass_between_two_others_is_judged_as_if_alone(of: Lick, lean: str) -> None:
    events = _looped(of, lean, lean, lean)
    start_sec = 2.0 + of.bars * of.quarters_a_bar * 30.0 / TEMPO
    among = judge_pass(grid_of(of, start_sec=start_sec), events)
    alone = judged(of, lean, start_sec=start_sec)
    assert among.outcome == alone.outcome
    assert among.outcome.clean
    assert among.outcome.extras == ()


def test_mistakes_of_the_neighbours_stay_with_them() -> None:
    bad = "b1e1 =61; b1e8 out; b2e1 =1/0; b2e7 =61; b2e8 =61; add 2/0 b2e6.5"
    events = _looped(FULL, bad, "", bad)
    found = judge_events(events, FULL, Limits(), tempo_half_bpm=TEMPO, start_sec=3.6).outcome
    assert found.clean
    assert found.extras == ()
    first = judge_events(events, FULL, Limits(), tempo_half_bpm=TEMPO, start_sec=2.0).outcome
    assert [s.resolution for s in first.sevenths][-1] == "none"
    assert not first.clean


def test_a_mistake_of_this_pass_stays_with_it() -> None:
    events = _looped(FULL, "", "b2e1 =1/0; add 61 b1e7.5", "")
    found = judge_pass(grid_of(FULL, start_sec=3.6), events).outcome
    assert found.sevenths[-1].resolution == "hanging"
    assert [(e.midi, e.foreign) for e in found.extras] == [(61, True)]


def test_an_added_note_belongs_to_the_downbeat_that_it_is_nearer_to() -> None:
    before, after = play(FULL, "add 61 b1e1 -60ms"), play(FULL, "add 61 b1e1 -40ms")
    assert judge_pass(grid_of(FULL), before).outcome.extras == ()
    assert [e.midi for e in judge_pass(grid_of(FULL), after).outcome.extras] == [61]
    end_before, end_after = play(FULL, "add 61 b2e8.4"), play(FULL, "add 61 b2e8.6")
    assert [e.midi for e in judge_pass(grid_of(FULL), end_before).outcome.extras] == [61]
    assert judge_pass(grid_of(FULL), end_after).outcome.extras == ()


def test_a_fall_that_comes_after_the_lick_is_over_is_none() -> None:
    events = _looped(FULL, "b2e1 =1/0")
    late = play(FULL, "b1e1 =2/0", start_sec=3.6)[:1]
    found = judge_pass(grid_of(FULL, start_sec=2.0), [*events, *late]).outcome
    assert found.sevenths[-1].resolution == "hanging"


def test_the_first_pass_of_a_loop_is_found_and_judged() -> None:
    events = _looped(A, "b2e1 =1/0", "", "", rest_bars=1)
    found = judge_events(events, A, Limits()).outcome
    assert found.start_sec == pytest.approx(2.0, abs=0.01)
    assert found.sevenths[-1].resolution == "hanging"


class TestTurn:
    """Pass after pass of a recording."""

    def _judge(
        self, monkeypatch: pytest.MonkeyPatch, of: Lick, events: list[NoteEvent], **more: float
    ) -> list[PassOver]:
        monkeypatch.setattr("feedback.takes._heard", lambda path: (events, math.inf))
        return judge_turn("any.flac", of, Limits(), **{"passes": 4, **more})  # type: ignore[arg-type]

    @pytest.mark.parametrize("rest_bars", [0, 1])
    @pytest.mark.parametrize("of", [FULL, PICKUP], ids=["full", "pickup"])
    def test_each_pass_is_found_and_judged(
        self, monkeypatch: pytest.MonkeyPatch, of: Lick, rest_bars: int
    ) -> None:
        slips = ["b2e1 =1/0", "", "b1e8 out", ""]
        found = self._judge(monkeypatch, of, _looped(of, *slips, rest_bars=rest_bars))
        assert [over.number for over in found] == [1, 2, 3, 4]
        assert [over.judged.outcome.clean for over in found] == [False, True, False, True]
        assert [over.judged.outcome.sevenths[-1].resolution for over in found] == [
            "hanging",
            "resolved",
            "none",
            "resolved",
        ]

    def test_looped_bars_that_are_alike(self, monkeypatch: pytest.MonkeyPatch) -> None:
        roll = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 | " * 2, "G .")
        found = self._judge(monkeypatch, roll, _looped(roll, "", "b1e4 out", "b2e2 out"))
        starts = [over.judged.outcome.start_sec for over in found]
        assert starts == [pytest.approx(2.0 + 1.6 * k, abs=0.01) for k in range(3)]

    def test_no_more_than_asked_for_and_no_more_than_there_are(self, monkeypatch: pytest.MonkeyPatch) -> None:
        events = _looped(A, "", "", "")
        assert len(self._judge(monkeypatch, A, events, passes=2)) == 2
        assert len(self._judge(monkeypatch, A, events, passes=9)) == 3

    def test_bounce_is_pooled_from_the_passes_before(self, monkeypatch: pytest.MonkeyPatch) -> None:
        roll = lick("3/0 2/0 1/0 5/0 2/0 3/0 5/0 1/0", "G")
        found = self._judge(monkeypatch, roll, _looped(roll, "even +18ms", "even +18ms", rest_bars=1))
        bounces = [over.judged.outcome.timing.bounce for over in found]
        assert bounces == [None, pytest.approx(0.59, abs=0.01)]

    def test_silence_is_one_pass_of_which_nothing_was_heard(self, monkeypatch: pytest.MonkeyPatch) -> None:
        (only,) = self._judge(monkeypatch, A, [])
        assert only.judged.outcome.start_sec is None
