"""The change loop: when it is offered, and that it can be played round and round and judged."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from feedback.another_key import in_key
from feedback.commands import play
from feedback.expect import expectations
from feedback.following import follow_turn
from feedback.judges.limits import Limits
from feedback.offers import Offer, offer
from feedback.played import as_heard
from feedback.player import render
from feedback.session import Listened, PassOver, TurnPlan, after_count_in
from feedback.sources import SIMULATED_RATE, listened, simulated_turn
from listener.notes import Report
from routines.excerpt import Span, bars, change, falls, span_of
from routines.library import load
from routines.lick import Lick
from routines.tab import parse_lick, write_tab
from tests.few import few_licks
from tests.in_turn import in_turn

SUPPER = load("slab-wood-supper")
PINCHES = load("guide-tone-pinches")
LIMITS = Limits()


def follow(plan: TurnPlan, mistakes: Sequence[Sequence[str]], seed: int = 1) -> list[PassOver]:
    """A turn as a flawless listener hears it."""
    notes = as_heard(simulated_turn(plan, mistakes=mistakes, seed=seed))
    said = [
        Listened(now_sec=note.settled_sec, reports=[Report("settled", number, note)])
        for number, note in sorted(enumerate(notes), key=lambda pair: pair[1].settled_sec)
    ]
    return list(follow_turn(plan, [*said, Listened(now_sec=plan.end_sec)], LIMITS))


def turn(lick: Lick, *mistakes: Sequence[str], rest_bars: int = 1) -> list[PassOver]:
    plan = after_count_in(lick, 80.0, passes=len(mistakes), rest_bars=rest_bars)
    return follow(plan, mistakes)


def made(lick: Lick, *mistakes: Sequence[str], span: Span | None = None) -> Offer:
    found = offer(lick, turn(lick if span is None else span.of(lick), *mistakes), span=span)
    assert found is not None
    return found


HANGING, LATE, OCTAVE = ("left-hanging",), ("resolution-late",), ("resolution-octave",)


@pytest.mark.parametrize("fault", [HANGING, LATE, OCTAVE])
def test_the_change_is_offered_where_the_fall_failed_twice(fault: Sequence[str]) -> None:
    found = made(SUPPER, fault, (), fault, ())
    assert (found.change, found.failed, found.tempo_half_bpm) == ("D7-G", 2, 64.0)
    assert found.command == "sevenfall play slab-wood-supper --from mic --loop change --tempo 64"
    assert found.text == f"D7-G did not come home in 2 passes; the change alone, slower: {found.command}"
    assert found.span.of(SUPPER) == change(SUPPER)


def test_once_is_a_slip() -> None:
    assert offer(SUPPER, turn(SUPPER, HANGING, (), (), ())) is None
    assert offer(SUPPER, turn(SUPPER, (), ())) is None
    assert offer(SUPPER, []) is None


@pytest.mark.parametrize(
    "other", ["seven-late", "filler-wrong", "filler-missing", "resolution-ahead", "seven-swallowed"]
)
def test_other_faults_are_not_for_the_change_loop(other: str) -> None:
    assert offer(SUPPER, turn(SUPPER, *[(other,)] * 4)) is None


def test_a_fall_that_the_lick_asks_for_late_is_no_fault() -> None:
    lick = load("pond-mans-lean")
    assert offer(lick, turn(lick, (), (), (), ())) is None
    assert offer(lick, turn(lick, HANGING, HANGING)) is not None


def test_a_fall_that_the_lick_asks_for_in_another_octave_is_no_fault() -> None:
    text = """\
title: Low seven
key: A
grid: 3 columns an eighth
hand: easy
top: 100
trains: D on the open fourth string, below which there is no C#.

  E7                       A
D|------2-----------2-----|------2-----------------|
B|---0-----------0--------|2--------2--------------|
G|1-----------1-----------|------------2-----------|
D|------------------0-----|------------------2-----|
g|------------------------|------------------------|
"""
    lick = parse_lick(text, "typed.lick")
    assert [ask.how for ask in lick.sevenths] == ["octave"]
    passes = turn(lick, (), ())
    assert [over.judged.outcome.sevenths[0].resolution for over in passes] == ["octave"] * 2
    assert offer(lick, passes) is None


def test_what_was_unclear_or_not_played_to_its_end_counts_neither_way() -> None:
    passes = turn(SUPPER, HANGING, HANGING)
    assert offer(SUPPER, passes) is not None
    assert offer(SUPPER, [passes[0], replace(passes[1], complete=False)]) is None
    assert offer(SUPPER, [passes[0], replace(passes[1], heard=False)]) is None
    outcome = passes[1].judged.outcome
    (seven,) = outcome.sevenths
    doubtful = replace(outcome, sevenths=(replace(seven, resolution="unclear", as_asked=None),))
    unclear = replace(passes[1], judged=replace(passes[1].judged, outcome=doubtful))
    assert offer(SUPPER, [passes[0], unclear]) is None


@pytest.mark.parametrize(
    ("verdict", "offered"),
    [("missed", True), ("wrong", True), ("late", True), ("unclear", False), ("landed", False)],
)
def test_a_due_note_off_its_place_counts_though_no_seven_was_due(verdict: str, offered: bool) -> None:
    (over,) = turn(SUPPER, ("seven-missing",))
    outcome = over.judged.outcome
    assert outcome.sevenths[0].due is False
    due = SUPPER.sevenths[0].due_note
    notes = tuple(replace(note, verdict=verdict) if note.index == due else note for note in outcome.notes)
    again = replace(over, judged=replace(over.judged, outcome=replace(outcome, notes=notes)))
    assert (offer(SUPPER, [again, again]) is not None) == offered


def test_of_several_changes_the_worst_is_named_by_its_number() -> None:
    found = made(PINCHES, HANGING, HANGING, HANGING, HANGING)
    assert found.span.number is not None
    place = falls(PINCHES)[found.span.number - 1]
    (left,) = {a.chord for a in PINCHES.sevenths if a.change_quarters == place}
    assert found.change.startswith(f"{left}-")
    assert f"--loop change{found.span.number} " in found.command
    assert span_of(f"change{found.span.number}", PINCHES) == found.span


def test_from_a_loop_of_bars_the_change_of_the_whole_lick_is_offered() -> None:
    span = Span(first=4, last=5)  # G7, C7
    found = made(PINCHES, HANGING, HANGING, span=span)
    assert found.change == "G7-C7"
    assert found.span == Span(number=4)


def test_in_a_change_loop_nothing_is_offered() -> None:
    passes = turn(change(SUPPER), HANGING, HANGING, HANGING, rest_bars=0)
    assert [over.judged.outcome.sevenths[0].resolution for over in passes] == ["hanging"] * 3
    assert offer(SUPPER, passes, span=Span()) is None


def test_a_lick_of_the_player_s_own_is_named_by_its_file_and_a_slow_tempo_stays_playable() -> None:
    own = replace(SUPPER, file="my licks/supper.lick")
    assert "play 'my licks/supper.lick' --from" in made(own, HANGING, HANGING).command
    plan = after_count_in(SUPPER, 21.0, passes=2)
    slow = offer(SUPPER, follow(plan, (HANGING, HANGING)))
    assert slow is not None
    assert slow.tempo_half_bpm == 20.0


def test_the_offered_command_keeps_the_flags_that_were_typed() -> None:
    parser = argparse.ArgumentParser()
    play.add_arguments(parser)
    line = "slab-wood-supper --from mic --device 'my mic/spk' --tempo 90 --backing --set rate=48000"
    words = shlex.split(f"{line} --set bleed=in --passes 2 --hear-last half --click off")
    typed = play.kept_flags(parser.parse_args(words))
    found = offer(SUPPER, turn(SUPPER, HANGING, HANGING), typed=typed)
    assert found is not None
    again = parser.parse_args(shlex.split(found.command)[2:])
    assert (again.lick, again.source, again.loop, again.tempo) == ("slab-wood-supper", "mic", "change", 64.0)
    assert (again.device, again.backing, again.model, again.click) == ("my mic/spk", True, False, "off")
    assert (again.hear_last, again.set, again.passes) == ("half", ["rate=48000", "bleed=in"], 4)


def loops() -> list[Lick]:
    found = [change(lick, k + 1) for lick in few_licks() for k in range(len(falls(lick)))]
    return found + [bars(lick, n, n) for lick in few_licks() for n in range(1, lick.bars + 1)]


def test_an_offered_command_plays_it_in_the_key_that_was_played(tmp_path: Path) -> None:
    own = tmp_path / "my own.lick"
    own.write_text(write_tab(SUPPER), encoding="utf-8")
    parser = argparse.ArgumentParser()
    play.add_arguments(parser)
    for written, name in ((SUPPER, SUPPER.id), (load(str(own)), str(own))):
        for key in ("G", "A", "F"):
            lick = in_key(written, key).lick
            found = offer(lick, turn(lick, HANGING, HANGING))
            assert found is not None
            again = parser.parse_args(shlex.split(found.command)[2:])
            assert (again.lick, again.key or "G", again.loop) == (name, key, "change")


ASKED = {"resolve": "resolved", "octave": "octave"}


@in_turn("tempo", [85.0])
@in_turn("lick", loops(), ids=lambda lick: lick.title)
def test_a_faithful_player_is_clean_in_every_round_of_a_loop(lick: Lick, tempo: float) -> None:
    plan = after_count_in(lick, tempo, passes=4, rest_bars=0)
    passes = follow(plan, ((),) * 4, seed=3)
    assert [over.number for over in passes] == [1, 2, 3, 4]
    for over in passes:
        outcome = over.judged.outcome
        assert outcome.extras == ()
        assert {note.verdict for note in outcome.notes} == {"landed"}
        asked = [ask.how for ask in lick.sevenths]
        wrong = [
            seven.resolution
            for seven, how in zip(outcome.sevenths, asked, strict=True)
            if how != "colour" and seven.due and seven.resolution != ASKED[how]
        ]
        assert wrong == []


@pytest.mark.parametrize(("name", "tempo"), [("first-log-up", 115.0)])
def test_so_it_is_in_sound(name: str, tempo: float) -> None:
    part = change(load(name))
    plan = after_count_in(part, tempo, passes=4, rest_bars=0)
    mistakes = ((), ("left-hanging",), (), ())
    sound = render(simulated_turn(plan, mistakes=mistakes, seed=2), rate=SIMULATED_RATE, seed=2)
    asked = [one for grid in plan.grids(LIMITS) for one in expectations(grid)]
    heard = listened(sound, SIMULATED_RATE, until_sec=plan.end_sec, expectations=asked)
    outcomes = [over.judged.outcome for over in follow_turn(plan, heard, LIMITS)]
    assert [outcome.sevenths[0].resolution for outcome in outcomes] == [
        "resolved",
        "hanging",
        "resolved",
        "resolved",
    ]
    assert [outcome.clean for outcome in outcomes] == [True, False, True, True]
    assert all(outcome.extras == () for outcome in outcomes)
