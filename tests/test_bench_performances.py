"""The plan of the verdicts bench: everything is in it, evenly, and it follows from its seed."""

from __future__ import annotations

from collections import Counter

import pytest

from feedback.errors import Usage
from feedback.mistakes import MISTAKES
from routines.errors import BadRoutine
from routines.library import all_licks
from tests.bench.performances import (
    FAITHFUL,
    LEAD_SEC,
    MUTATIONS,
    TEMPO_SHARES,
    Planned,
    lick_of,
    performed,
    plan,
)

SOUNDS = ("sim", "fluid")


@pytest.fixture(scope="module")
def rows() -> tuple[Planned, ...]:
    return plan(600, 5, sounds=SOUNDS)


def test_every_sound_mutation_lick_and_key_is_played(rows: tuple[Planned, ...]) -> None:
    assert len(rows) == 600
    for sound in SOUNDS:
        some = [row for row in rows if row.sound == sound]
        assert len(some) == 300
        assert {row.mutation for row in some} == set(MUTATIONS)
        assert {row.lick for row in some} == {lick.id for lick in all_licks()}
        assert {lick_of(row).key for row in some} == {lick.key for lick in all_licks()}


def test_mutations_have_equal_shares_and_faithful_passes_a_sixth(rows: tuple[Planned, ...]) -> None:
    for sound in SOUNDS:
        many = Counter(row.mutation for row in rows if row.sound == sound)
        assert many.pop(FAITHFUL) == round(300 / 6)
        assert max(many.values()) - min(many.values()) <= 1


def test_licks_take_turns(rows: tuple[Planned, ...]) -> None:
    played = [row for row in rows if row.sound == "sim"]
    faithful = Counter({lick.id: 0 for lick in all_licks()})
    faithful.update(row.lick for row in played if row.mutation == FAITHFUL)
    assert max(faithful.values()) - min(faithful.values()) <= 1
    # one that has a place for few mistakes is played less, but no other more than its share
    every = Counter(row.lick for row in played)
    assert max(every.values()) <= len(played) / len(every) * 1.15 + 1


def test_tempos_of_a_mutation_lie_in_equal_steps(rows: tuple[Planned, ...]) -> None:
    low, high = TEMPO_SHARES
    shares = sorted(
        (row.tempo_half_bpm / lick_of(row).top_tempo_half_bpm - low) / (high - low)
        for row in rows
        if (row.sound, row.mutation) == ("fluid", FAITHFUL)
    )
    step = 1 / len(shares)
    hair = 0.05 / 75 / (high - low)  # a tempo is told to a tenth
    assert all(k * step - hair <= at <= (k + 1) * step + hair for k, at in enumerate(shares))


def test_every_performance_has_a_place_for_its_mutation(rows: tuple[Planned, ...]) -> None:
    for row in rows[::7]:
        played = performed(row)
        assert played.mistakes == (() if row.mutation == FAITHFUL else (row.mutation,))
        assert played.notes[0].onset_sec > LEAD_SEC - 0.2
    assert len({row.seed for row in rows}) == len(rows)


def test_a_plan_follows_from_its_seed_and_a_sound_from_no_other_sound(rows: tuple[Planned, ...]) -> None:
    assert plan(600, 5, sounds=SOUNDS) == rows
    assert plan(300, 5, sounds=["fluid"]) == rows[300:]
    assert plan(300, 6, sounds=["fluid"]) != rows[300:]


def test_a_mistake_that_a_lick_has_no_place_for_goes_to_another_lick() -> None:
    licks = ["sawdust-in-the-coffee", "tally-stick"]
    rows = plan(6, 0, sounds=["sim"], licks=licks, mutations=["left-hanging"])
    assert [row.lick for row in rows] == ["tally-stick"] * 6
    assert plan(6, 0, sounds=["sim"], licks=licks[:1], mutations=["left-hanging"]) == ()


def test_licks_that_another_mistake_has_no_place_in_are_not_made_up_for_with_the_next() -> None:
    licks = ["sawdust-in-the-coffee", "tally-stick"]
    rows = plan(12, 0, sounds=["sim"], licks=licks, mutations=["left-hanging", "seven-missing"])
    many = Counter(row.lick for row in rows if row.mutation == "seven-missing")
    assert many == dict.fromkeys(licks, 3)


def test_every_mutation_is_one_that_the_player_can_make() -> None:
    assert set(MUTATIONS) - {FAITHFUL} <= set(MISTAKES)


def test_a_performance_is_read_as_it_is_told(rows: tuple[Planned, ...]) -> None:
    assert all(Planned.of(str(row).split()) == row for row in rows[::50])


@pytest.mark.parametrize(
    "words", [("x", "1"), ("nan", "1"), ("inf", "1"), ("0", "1"), ("80", "-1"), ("80", "1.5")]
)
def test_a_performance_that_cannot_be_is_told_in_one_line(words: tuple[str, str]) -> None:
    tempo, seed = words
    with pytest.raises(Usage, match=r"tempo .*, seed "):
        Planned.of(["sim", "tally-stick", tempo, FAITHFUL, seed])


def test_an_unknown_mistake_is_answered_with_all_names() -> None:
    with pytest.raises(BadRoutine, match=r"no mistake 'left-hangin': accepted are faithful, .*left-hanging"):
        plan(3, 0, sounds=["sim"], mutations=["left-hangin"])


def test_numbers_out_of_range_are_refused() -> None:
    for count, seed in ((0, 0), (1, -1)):
        with pytest.raises(Usage, match="1 and more, and 0 and more"):
            plan(count, seed, sounds=["sim"])
