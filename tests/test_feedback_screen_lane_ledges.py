"""The fall picture as data: ledges lie and slope as the tendencies say, and pegs stand on them."""

from __future__ import annotations

from itertools import pairwise

from feedback.screen.lane.leading import fall_picture
from feedback.screen.lane.ledges import FallPicture
from routines.chords import Chord, ChordSpan, seven_falls, third_moves
from routines.library import load
from routines.shapes import shaped
from tests.few import few_licks
from tests.in_turn import in_turn


def of(*symbols: str) -> FallPicture:
    """The picture of chords of a bar each, over a lick whose notes play no part in it."""
    spans = [ChordSpan(4.0 * k, 4.0 * k + 4.0, Chord.parse(symbol)) for k, symbol in enumerate(symbols)]
    return fall_picture(load("slab-wood-supper"), spans)


def said(picture: FallPicture) -> list[tuple[str, str, int]]:
    return [(ledge.tone, ledge.function, ledge.step) for ledge in picture.ledges]


def test_seven_falls_a_half_step_and_third_rises() -> None:
    assert said(of("D7", "G")) == [
        ("C", "seven", 0),
        ("F#", "third", 0),
        ("B", "third", -1),
        ("G", "root", 1),
    ]


def test_seven_falls_a_whole_step_twice_as_far() -> None:
    slope = of("B7", "Em").slope_of("seven", 4.0)
    assert slope is not None
    assert slope.to_step - slope.from_step == -2


def test_seven_that_is_held_goes_on_level_and_nothing_slopes_there() -> None:
    picture = of("D7", "C")
    assert ("C", "root", 0) in said(picture)
    assert picture.slope_of("seven", 4.0) is None


def test_seven_with_nowhere_to_go_ends() -> None:
    picture = of("C7", "G")
    assert said(picture) == [("Bb", "seven", 0), ("E", "third", 0)]
    assert not picture.slopes


def test_chain_of_sevenths_both_fall_and_swap_jobs_then_begin_at_their_own_level() -> None:
    picture = of("A7", "D7", "G7")
    upper = [ledge for ledge in picture.ledges if ledge.upper]
    assert [ledge.tone for ledge in upper] == ["G", "F#", "F#", "F", "F"]
    assert [ledge.function for ledge in upper] == ["seven", "third", "third", "seven", "seven"]
    assert [ledge.step for ledge in upper] == [0, -1, 0, -1, 0]
    assert [ledge.broken for ledge in upper] == [False, False, True, False, True]
    assert {slope.to_step - slope.from_step for slope in picture.slopes} == {-1}


def test_new_seventh_after_a_plain_chord_begins_anew() -> None:
    picture = of("D7", "G", "E7")
    begun = [ledge for ledge in picture.ledges if ledge.begin_quarters >= 8.0]
    assert {(ledge.tone, ledge.step) for ledge in begun} == {("D", 0), ("G#", 0)}


def test_tone_without_a_ledge_in_the_next_seventh_chord_has_a_stub_before_the_new_one() -> None:
    picture = of("D7", "Em7")
    stubs = [ledge for ledge in picture.ledges if ledge.begin_quarters == 4.0]
    anew = [ledge for ledge in picture.ledges if ledge.begin_quarters > 4.0]
    assert ("B", "fifth", -1) in [(s.tone, s.function, s.step) for s in stubs]
    for ledge in anew:
        stub = [s for s in stubs if s.upper == ledge.upper]
        assert all(s.end_quarters < ledge.begin_quarters for s in stub)


def test_nothing_lies_over_plain_chords_alone() -> None:
    assert said(of("G", "C")) == []


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_slopes_of_every_lick_are_its_tendencies(lick) -> None:  # type: ignore[no-untyped-def]
    picture = fall_picture(lick, lick.chords)
    expected = set()
    for span, following in zip(lick.chords, lick.chords[1:], strict=False):
        one, two = (shaped(s.chord, lick.neck.capo) for s in (span, following))
        for function, move in (("seven", seven_falls(one, two)), ("third", third_moves(one, two))):
            if move is not None:
                expected.add((following.start_quarters, function, move.half_steps))
    found = {(s.at_quarters, s.function, s.to_step - s.from_step) for s in picture.slopes}
    assert found == expected


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_every_guide_tone_and_its_resolution_stands_on_a_ledge_once(lick) -> None:  # type: ignore[no-untyped-def]
    picture = fall_picture(lick, lick.chords)
    asks = [*lick.sevenths, *lick.thirds]
    wanted = {a.note for a in asks} | {a.due_note for a in asks if a.due_note is not None}
    assert sorted(peg.note for peg in picture.pegs) == sorted(wanted)
    guides = {a.note for a in asks}
    changes = {a.due_note: a.change_quarters for a in asks if a.due_note not in guides and a.change_quarters}
    for peg in picture.pegs:
        # What comes ahead of its change stands at once where it leads to.
        onset = lick.notes[peg.note].onset_quarters
        ledge = picture.ledge_at(peg.upper, max(onset, changes.get(peg.note, onset)))
        assert ledge is not None
        assert ledge.step == peg.step
        assert ledge.function == peg.function


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_ledges_of_a_side_never_overlap(lick) -> None:  # type: ignore[no-untyped-def]
    for side in (True, False):
        row = [g for g in fall_picture(lick, lick.chords).ledges if g.upper == side]
        row.sort(key=lambda g: g.begin_quarters)
        assert all(a.end_quarters <= b.begin_quarters for a, b in pairwise(row))


def test_higher_guide_tone_of_the_lick_has_the_upper_ledge() -> None:
    upper = {}
    for name in ("tally-stick", "trimmers-choice"):
        lick = load(name)
        first = fall_picture(lick, lick.chords).ledges[:2]
        upper[name] = next(ledge.function for ledge in first if ledge.upper)
    assert upper == {"tally-stick": "seven", "trimmers-choice": "third"}
