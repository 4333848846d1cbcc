"""Some bars of a lick, and its change, as licks of their own."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.excerpt import Span, bars, change, falls, span_of
from routines.library import all_licks, load
from routines.lick import Lick
from routines.tab import parse_lick, write_tab
from tests.few import few_licks
from tests.in_turn import in_turn

SUPPER = load("slab-wood-supper")  # D7 | G, two bars; C on eighth 5, B on the next downbeat
PINCHES = load("guide-tone-pinches")  # E7 A7 D7 G7 C7 F, a bar each
KICK_OFF = load("first-log-up")  # three eighths of pickup over G7, then C
WALTZ = load("log-deck-waltz")

LATE = """\
title: Late home
key: G
grid: 3 columns an eighth
hand: easy
top: 100
trains: The fall comes three quarters after the change.

  D7                       G
D|------0-----------0-----|------0-----------------|
B|------------------1-----|---------------------0--|
G|------------------------|0-----------0-----------|
D|4-----------4-----------|------------------------|
g|------------------------|------------------------|
                                                r
"""

LONG = """\
title: Two bars of home
key: G
grid: 3 columns an eighth
hand: easy
top: 100
trains: The fall is asked for in the third bar, though B is struck before.

  D7                       G
D|------0-----------0-----|------0-----------------|------------------------|
B|------------------1-----|0-----------------------|0-----------------------|
G|------------------------|------------0-----------|------------0-----------|
D|4-----------4-----------|------------------------|------------------------|
g|------------------------|------------------------|------------------------|
                                                    r
"""

EARLY = """\
title: Far ahead
key: G
grid: 3 columns an eighth
hand: easy
top: 100
trains: The seven comes in the first half of its bar.

  D7                       G
D|------0-----0-----0-----|------0-----------------|
B|---1--------------------|0-----------------------|
G|------------------------|------------0-----------|
D|4-----------4-----------|------------------------|
g|------------------------|------------------------|
"""


def lick_of(text: str) -> Lick:
    return parse_lick(text, "typed.lick")


def parts_of(lick: Lick) -> list[Lick]:
    parts = [change(lick, number + 1) for number in range(len(falls(lick)))]
    return parts + [bars(lick, a, b) for b in range(1, lick.bars + 1) for a in range(1, b + 1)]


def test_a_later_bar_becomes_bar_1() -> None:
    part = bars(SUPPER, 2, 2)
    assert (part.bars, part.pickup_quarters, part.title) == (1, 0.0, "Slab Wood Supper, bar 2")
    assert part.id == SUPPER.id
    ours = [(n.onset_quarters, n.midi) for n in SUPPER.notes if n.onset_quarters >= 4.0]
    assert [(n.onset_quarters + 4.0, n.midi) for n in part.notes] == ours
    assert [(s.start_quarters, s.end_quarters, s.symbol) for s in part.chords] == [(0.0, 4.0, "G")]
    assert part.sevenths == ()
    assert part.notes[0].core  # as the resolution that it was


def test_all_bars_are_the_lick() -> None:
    assert bars(KICK_OFF, 1, KICK_OFF.bars) is KICK_OFF


def test_a_seven_whose_change_is_the_end_is_colour_even_where_the_loop_comes_round_to_its_fall() -> None:
    part = bars(SUPPER, 1, 1)
    (ask,) = part.sevenths
    assert (ask.how, ask.due_midi, ask.place_quarters, ask.due_note) == ("colour", None, None, None)
    assert (ask.chord, ask.next_chord, ask.change_quarters) == ("D7", "", None)
    # C7-F come round to E7: nothing is made up for them either.
    last = bars(PINCHES, 5, 5)
    assert [ask.how for ask in last.sevenths] == ["colour"] * len(last.sevenths)
    assert last.thirds == ()


def test_a_seven_whose_asked_place_lies_outside_is_colour_though_its_change_lies_inside() -> None:
    lick = lick_of(LONG)
    assert lick.sevenths[0].place_quarters == 8.0
    part = bars(lick, 1, 2)
    (ask,) = part.sevenths
    assert (ask.how, ask.next_chord, ask.change_quarters, ask.due_note) == ("colour", "G", 4.0, None)
    # Written so that nobody infers the B on the downbeat of bar 2.
    assert parse_lick(write_tab(part), "typed.lick").sevenths == part.sevenths


def test_where_the_fall_lies_outside_another_octave_is_not_asked_for_instead() -> None:
    text = """\
title: Home in the next bar
key: G
grid: 3 columns an eighth
hand: easy
top: 100
trains: B comes high at the half bar, and in its own octave on the next downbeat.

  D7          G
D|------------9-----0-----|------0-----------------|
B|------1-----------------|0-----------------------|
G|------------------------|------------0-----------|
D|4-----------------------|------------------------|
g|------------------------|------------------------|
"""
    lick = lick_of(text)
    assert [(a.how, a.place_quarters, a.marked) for a in lick.sevenths] == [("resolve", 4.0, False)]
    part = bars(lick, 1, 1)
    assert [(a.how, a.change_quarters) for a in part.sevenths] == [("colour", 2.0)]
    assert parse_lick(write_tab(part), "typed.lick").sevenths == part.sevenths


def test_asks_inside_are_kept_and_renumbered() -> None:
    part = bars(PINCHES, 2, 3)
    first = next(ask for ask in part.sevenths if ask.chord == "A7")
    assert (first.how, first.change_quarters, first.place_quarters) == ("resolve", 4.0, 4.0)
    assert part.notes[first.note].role == "seven"
    assert first.due_note is not None
    assert part.notes[first.due_note].midi == first.due_midi
    assert all(ask.how == "colour" for ask in part.sevenths if ask.chord == "D7")


def test_the_pickup_belongs_to_bar_1_where_the_end_has_room_for_it() -> None:
    assert bars(KICK_OFF, 2, 2).pickup_quarters == 0.0
    # The first bar is full to its end: the next round's pickup would lie over it.
    first = bars(KICK_OFF, 1, 1)
    assert first.pickup_quarters == 0.0
    assert first.notes[0].onset_quarters == 0.0


def test_a_slur_out_of_a_note_that_lies_outside_is_picked() -> None:
    whole = next(n for n in KICK_OFF.notes if n.onset_quarters == 0.0)
    assert (whole.technique, whole.finger) == ("pull", "")
    first = bars(KICK_OFF, 1, 1).notes[0]
    assert (first.technique, first.finger, first.from_midi) == ("pick", "M", None)
    slide = bars(load("the-edgers-nod"), 2, 2).notes[0]
    assert (slide.technique, slide.finger, slide.from_midi) == ("pick", "M", None)
    inside = next(n for n in change(KICK_OFF).notes if n.onset_quarters == 0.0)
    assert inside.technique == "pull"


def test_the_change_loop_is_the_half_bars_around_it() -> None:
    part = change(SUPPER)
    assert (part.bars, part.pickup_quarters, part.title) == (1, 2.0, "Slab Wood Supper, the change")
    assert [(n.onset_quarters, n.midi) for n in part.notes] == [
        (n.onset_quarters - 4.0, n.midi) for n in SUPPER.notes if 2.0 <= n.onset_quarters < 6.0
    ]
    # The chord of the next round's pickup stands where that begins.
    spans = [(s.start_quarters, s.end_quarters, s.symbol) for s in part.chords]
    assert spans == [(-2.0, 0.0, "D7"), (0.0, 2.0, "G"), (2.0, 4.0, "D7")]
    (ask,) = part.sevenths
    assert (ask.how, ask.change_quarters, ask.place_quarters) == ("resolve", 0.0, 0.0)
    assert ask.due_note is not None
    assert part.notes[ask.due_note].midi == 59


def test_a_kick_off_s_change_has_a_rest_before_it() -> None:
    part = change(KICK_OFF)
    assert part.pickup_quarters == 2.0
    assert part.notes[0].onset_quarters == -1.5
    assert part.chords[0].start_quarters == -2.0


def test_a_late_fall_makes_the_loop_longer_by_whole_bars() -> None:
    lick = lick_of(LATE)
    (ask,) = lick.sevenths
    assert ask.place_quarters == 7.5
    part = change(lick)
    assert (part.bars, part.pickup_quarters) == (2, 2.0)
    assert part.sevenths[0].how == "resolve"
    assert part.sevenths[0].place_quarters == 3.5


def test_a_seven_far_ahead_brings_its_whole_bar() -> None:
    part = change(lick_of(EARLY))
    assert (part.bars, part.pickup_quarters) == (2, 0.0)
    assert part.sevenths[0].change_quarters == 4.0
    waltz = change(WALTZ)
    assert (waltz.bars, waltz.quarters_a_bar, waltz.pickup_quarters) == (2, 3.0, 0.0)
    assert waltz.sevenths[0].how == "resolve"


def test_several_changes_are_numbered_and_a_marked_one_comes_first() -> None:
    assert falls(PINCHES) == (4.0, 8.0, 12.0, 16.0, 20.0)
    assert change(PINCHES, 3).title == "Guide-tone pinches, change 3"
    assert change(PINCHES, 3).chords[0].symbol == "D7"
    assert change(PINCHES).chords[0].symbol == "E7"
    sevenths = tuple(replace(ask, marked=ask.chord == "G7") for ask in PINCHES.sevenths)
    assert change(replace(PINCHES, sevenths=sevenths)).chords[0].symbol == "G7"
    octave = tuple(replace(a, how="octave") if a.chord == "E7" else a for a in PINCHES.sevenths)
    assert change(replace(PINCHES, sevenths=octave)).chords[0].symbol == "A7"


@in_turn("of", few_licks(), ids=lambda of: of.id)
def test_every_part_is_written_and_read_back_as_the_lick_that_it_is(of: Lick) -> None:
    for part in parts_of(of):
        back = parse_lick(write_tab(part), part.file)
        assert back.notes == part.notes, part.title
        assert back.thirds == part.thirds, part.title
        assert back.chords == part.chords, part.title
        assert [(a.note, a.how, a.place_quarters, a.due_note) for a in back.sevenths] == [
            (a.note, a.how, a.place_quarters, a.due_note) for a in part.sevenths
        ], part.title


def test_rounds_a_part_s_bars_apart_do_not_overlap_and_chords_cover_them() -> None:
    for part in (part for lick in all_licks() for part in parts_of(lick)):
        onsets = [note.onset_quarters for note in part.notes]
        assert min(onsets) >= -part.pickup_quarters, part.title
        assert max(onsets) < part.end_quarters - part.pickup_quarters, part.title
        assert part.chords[0].start_quarters == -part.pickup_quarters, part.title
        assert part.chords[-1].end_quarters == part.end_quarters, part.title
        ends = [span.end_quarters for span in part.chords[:-1]]
        assert ends == [span.start_quarters for span in part.chords[1:]], part.title


@given(st.sampled_from(all_licks()), st.data())
def test_bars_laid_one_after_another_are_the_lick(lick: Lick, data: st.DataObject) -> None:
    cut = data.draw(st.integers(1, lick.bars))
    bar = lick.quarters_a_bar
    head = bars(lick, 1, cut)
    tail = bars(lick, cut + 1, lick.bars) if cut < lick.bars else None
    laid = [(n.onset_quarters, n.midi) for n in head.notes]
    if tail is not None:
        laid += [(n.onset_quarters + cut * bar, n.midi) for n in tail.notes]
    lost = lick.pickup_quarters - head.pickup_quarters
    wanted = [(n.onset_quarters, n.midi) for n in lick.notes if not lost or n.onset_quarters >= 0.0]
    assert laid == wanted


def test_parts_are_read_as_players_type_them() -> None:
    assert span_of("2", SUPPER) == Span(first=2, last=2)
    assert span_of(" 1 - 2 ", SUPPER) == Span(first=1, last=2)
    assert span_of("Change", SUPPER) == Span()
    assert span_of("change5", PINCHES) == Span(number=5)
    assert Span().is_change
    assert not Span(first=1, last=1).is_change
    assert span_of("2", SUPPER).of(SUPPER) == bars(SUPPER, 2, 2)
    assert span_of("change5", PINCHES).of(PINCHES) == change(PINCHES, 5)


@in_turn("text", ["", "0", "3", "2-1", "1-3", "x", "-1", "change0", "change2", "1,2"])
def test_what_is_no_part_is_refused_with_what_is(text: str) -> None:
    with pytest.raises(BadRoutine, match=r"slab-wood-supper: accepted: a bar, 1 to 2.*or change$"):
        span_of(text, SUPPER)


def test_a_lick_without_a_fall_has_no_change_loop() -> None:
    with pytest.raises(BadRoutine, match="no change to loop"):
        span_of("change", load("sawdust-in-the-coffee"))
    with pytest.raises(BadRoutine, match="change1 to change5"):
        span_of("change6", PINCHES)


def test_an_empty_bar_is_refused() -> None:
    text = LATE.replace("D|4-----------4-----------", "D|------------------------")
    text = text.replace("D|------0-----------0-----", "D|------------------------")
    text = text.replace("B|------------------1-----", "B|------------------------")
    text = text[: text.rindex("\n", 0, -2)]
    with pytest.raises(BadRoutine, match="no note is there"):
        bars(lick_of(text), 1, 1)
