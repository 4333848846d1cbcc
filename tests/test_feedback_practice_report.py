"""What practising tells: each line when it is true, the report, the JSON."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from feedback.drifting import Drifted
from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import judge_pass
from feedback.performance import perform
from feedback.played import as_heard
from feedback.practice_events import (
    CountIn,
    Event,
    Fell,
    HeardAgain,
    Kept,
    NobodyPlays,
    Passed,
    SoundBack,
    SoundLost,
    StringOff,
    TurnOver,
)
from feedback.practice_json import practice_json, take_json
from feedback.practice_report import (
    bleed_line,
    condition_line,
    event_lines,
    losses_line,
    opening,
    pass_mark,
    report_lines,
)
from feedback.practice_request import PracticeRequest
from feedback.session import PassOver, SevenFell, after_count_in
from listener.run import Condition
from routines.excerpt import span_of
from routines.library import load
from tests.scores import judged

LICK = load("slab-wood-supper")
REQUEST = PracticeRequest(lick=LICK, tempo_half_bpm=80.0)
SOUND = Condition(
    source="Mic",
    sink="Phones",
    rate=48000,
    block=256,
    round_trip_sec=0.0234,
    unsure_sec=0.003,
    basis="stamps",
    drift_ppm=None,
    overflows=0,
    underflows=0,
    dropped=0,
)


def _over(number: int = 1, played: str = "", **more: object) -> PassOver:
    return PassOver(number=number, judged=judged(LICK, played), **more)  # type: ignore[arg-type]


def _said(event: Event) -> list[str]:
    return list(event_lines(REQUEST, event))


def test_the_opening_says_lick_devices_click_and_caution() -> None:
    title, tab, devices, click, caution = opening(REQUEST, SOUND)
    assert "D|" in tab
    assert LICK.title in title
    assert "80 half notes a minute" in title
    assert "Mic and Phones, 48000 Hz" in devices
    assert "round trip 23 ms (within 3 ms" in devices
    assert "half notes, 80 a minute" in click
    assert "80 dBA" in caution


def test_the_opening_says_what_sounds_along() -> None:
    assert "play along" not in list(opening(REQUEST, SOUND))[3]
    along = replace(REQUEST, backing=True, model=True, span=span_of("change", LICK), whole=LICK)
    line = list(opening(along, SOUND))[3]
    for part in ("bass and chop play along", "the lick itself sounds along", "round and round"):
        assert part in line


@pytest.mark.parametrize("bleed_db", [None, -70.0])
def test_where_no_loudspeaker_is_heard_nothing_is_said(bleed_db: float | None) -> None:
    assert bleed_line(replace(REQUEST, model=True), replace(SOUND, bleed_db=bleed_db)) is None


def test_a_loudspeaker_that_is_heard_is_said() -> None:
    heard = replace(SOUND, bleed_db=-12.3)
    assert bleed_line(REQUEST, heard) == (
        "The loudspeaker was heard (-12 dB against what was played); what was played was taken out of the "
        "microphone."
    )
    assert "unclear; headphones" in str(bleed_line(replace(REQUEST, model=True), heard))


def test_the_change_is_offered_where_the_fall_failed_twice_and_not_in_its_loop() -> None:
    played = perform(LICK, tempo_half_bpm=80.0, mistakes=("left-hanging",), seed=2, start_sec=1.0)
    grid = Grid(lick=LICK, tempo_half_bpm=80.0, start_sec=1.0, limits=Limits())
    hung = judge_pass(grid, as_heard(played))
    failed = tuple(PassOver(number=number, judged=hung) for number in (1, 2))
    lines = _said(TurnOver(turn=1, passes=failed))
    assert len(lines) == 2
    assert f"sevenfall play {LICK.id} --from mic --loop change --tempo 64" in lines[1]
    span = span_of("change", LICK)
    part = replace(REQUEST, lick=span.of(LICK), whole=LICK, span=span)
    over = PassOver(number=1, judged=judged(part.lick, ""))
    assert len(list(event_lines(part, TurnOver(turn=1, passes=(over,))))) == 1
    found = json.loads(practice_json(REQUEST, [failed], SOUND, ended="turns played"))
    assert found["turns"][0]["offer"]["failed"] == 2
    assert found["turns"][0]["offer"]["command"] in lines[1]


def test_what_is_heard_again_and_which_string_drifts_is_said() -> None:
    (again,) = _said(HeardAgain(turn=1, speed=1.0, lasts_sec=3.0))
    assert "half speed" not in again
    (slow,) = _said(HeardAgain(turn=1, speed=0.5, lasts_sec=6.0))
    assert "at half speed" in slow
    drifted = Drifted(string=3, note="G3", cents=-11.0, unsure_cents=2.0)
    assert _said(StringOff(drifted=drifted)) == [f"  {drifted.text}"]


def test_one_device_for_both_is_named_once() -> None:
    line = condition_line(replace(SOUND, sink="Mic"))
    assert line.count("Mic") == 1


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ("stamps", "time stamps"),
        ("checked", "sound check"),
        ("measured", "measured"),
        ("reported", "not to be trusted"),
    ],
)
def test_what_the_round_trip_goes_by_is_said(basis: str, words: str) -> None:
    assert words in condition_line(replace(SOUND, basis=basis))


def test_losses_are_counted_or_nothing_is_said() -> None:
    assert losses_line(SOUND) is None
    assert losses_line(replace(SOUND, drift_ppm=19.0)) is None
    line = losses_line(replace(SOUND, overflows=1, underflows=2, dropped=3, drift_ppm=-80.4))
    assert line is not None
    for part in ("lost 4 times", "2 gaps in the click", "80 ppm", "unclear"):
        assert part in line
    assert "unclear" not in str(losses_line(replace(SOUND, underflows=2, drift_ppm=50.0)))


def test_each_event_has_its_line() -> None:
    plan = after_count_in(LICK, 80.0, passes=3)
    over = _over(2)
    assert _said(CountIn(turn=2, again=False, plan=plan, begins_sec=0.0)) == ["turn 2: count-in of 2 bars"]
    (again,) = _said(CountIn(turn=2, again=True, plan=plan, begins_sec=0.0))
    assert "goes on" in again
    assert "3 passes left" in again
    mark = _said(Passed(turn=1, over=over))
    seven = SevenFell(number=2, outcome=over.judged.outcome)
    assert _said(Fell(turn=1, seven=seven, item=None, origin_sec=0.0)) == mark  # type: ignore[arg-type]
    assert mark[0].startswith("  pass 2: ")
    assert "landed" in mark[0]
    assert _said(SoundLost(line="gone")) == ["  sound lost: gone"]
    assert _said(SoundBack()) == ["  the sound is back"]
    assert len(_said(TurnOver(turn=1, passes=(over,)))) == 1
    assert "two whole passes" in _said(NobodyPlays())[0]
    assert _said(Kept(turn=1, part=1, sound=None, rate=1, passes=())) == []  # type: ignore[arg-type]


def test_what_is_to_be_known_about_a_pass_is_said_with_it() -> None:
    assert "not complete" in pass_mark(REQUEST, _over(complete=False))
    assert "moved by some 7 ms" in pass_mark(REQUEST, _over(moved_ms=7.0))
    assert "moved" not in pass_mark(REQUEST, _over(moved_ms=5.0))
    assert pass_mark(REQUEST, _over(heard=False)) == "nothing heard"


def test_the_sentence_is_of_whole_passes_only() -> None:
    good, broken, silent = (
        _over(),
        _over(played="all out", complete=False),
        _over(played="all out", heard=False),
    )
    said = _said(TurnOver(turn=1, passes=(good, broken, silent)))
    assert said == _said(TurnOver(turn=1, passes=(good,)))


def test_the_report_has_every_pass_that_was_heard() -> None:
    turns = [[_over(1), _over(2, complete=False)], [_over(1, heard=False)]]
    text = "\n".join(report_lines(REQUEST, turns))
    assert "turn 1, pass 1\n" in text
    assert "turn 1, pass 2, not complete\n" in text
    assert "turn 2" not in text
    # The roll print is of whole passes only, after the passes of its turn.
    assert text.index("turn 1\n  roll print of 1 pass:") > text.index("turn 1, pass 2")


def test_each_turn_has_its_roll_print() -> None:
    text = "\n".join(report_lines(REQUEST, [[_over(1)], [_over(1), _over(2)]]))
    assert text.index("turn 1\n  roll print of 1 pass:") < text.index("turn 2, pass 1\n")
    assert text.index("turn 2\n  roll print of 2 passes:") > text.index("turn 2, pass 2\n")


def test_the_json_has_all_of_it() -> None:
    turns = [[_over(1), _over(2, complete=False, moved_ms=7.25)], [_over(1, heard=False)]]
    found = json.loads(
        practice_json(
            REQUEST, turns, SOUND, ended="nobody plays", takes=["a.flac"], faults=["sound lost: gone"]
        )
    )
    assert [(one["turn"], one["pass"], one["complete"], one["heard"]) for one in found["passes"]] == [
        (1, 1, True, True),
        (1, 2, False, True),
        (2, 1, True, False),
    ]
    assert found["passes"][1]["moved_ms"] == 7.25
    assert found["passes"][0]["notes"][0]["verdict"] == "landed"
    assert [turn["turn"] for turn in found["turns"]] == [1, 2]
    assert found["sentence"] == found["turns"][-1]["sentence"]
    assert found["sound"]["round_trip_ms"] == 23.4
    assert (found["sound"]["overflows"], found["sound"]["basis"]) == (0, "stamps")
    assert (found["takes"], found["faults"]) == (["a.flac"], ["sound lost: gone"])
    assert found["lick"] == LICK.id
    assert found["ended"] == "nobody plays"
    empty = json.loads(practice_json(REQUEST, [], None, ended="sound lost"))
    assert (empty["passes"], empty["sound"]) == ([], None)


def test_beside_a_take_stands_where_its_passes_begin() -> None:
    import numpy as np

    over = _over(3)
    kept = Kept(turn=2, part=1, sound=np.zeros(96000, np.float32), rate=48000, passes=(over,))
    found = json.loads(take_json(REQUEST, kept, "x.flac"))
    assert (found["file"], found["duration_sec"], found["turn"]) == ("x.flac", 2.0, 2)
    assert [one["pass"] for one in found["passes"]] == [3]
    assert found["passes"][0]["start_sec"] == over.judged.outcome.start_sec
