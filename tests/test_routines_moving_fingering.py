"""Which octave is taken, and how many the hands are asked about."""

from __future__ import annotations

import pytest

from routines.chords import Chord
from routines.hand.wanted import Played
from routines.library import load
from routines.moving import fingering
from routines.moving.coarse import Rough
from routines.moving.sketch import Sketch
from routines.moving.trial import Guess, Trial

SUPPER = load("slab-wood-supper")


def told(monkeypatch: pytest.MonkeyPatch, guesses: dict[int, float], costs: dict[int, float]) -> list[int]:
    """Fake the first look and the hands, by the half steps; return whom the hands were asked about."""
    asked: list[int] = []

    def guessed(sketch: Sketch) -> Guess:
        wanted, given = sketch.asked()
        places = tuple(w.choices[0] if w.choices else None for w in wanted)
        rough = Rough(places, guesses.get(sketch.half_steps, 500.0))  # type: ignore[arg-type]
        return Guess(sketch=sketch, wanted=wanted, given=given, rough=rough)

    def weighed(guess: Guess) -> Trial:
        asked.append(guess.sketch.half_steps)
        played = Played(
            places=guess.rough.places,
            left=(0,) * len(guess.wanted),
            right=("T",) * len(guess.wanted),
            cost=costs[guess.sketch.half_steps],
            troubles=(),
        )
        return Trial(sketch=guess.sketch, played=played)

    monkeypatch.setattr(fingering, "guessed", guessed)
    monkeypatch.setattr(fingering, "weighed", weighed)
    return asked


def half_steps(key: str) -> int:
    return fingering.fingering(SUPPER, Chord.parse(key)).half_steps


def test_the_nearer_is_asked_where_it_is_hardly_worse(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = told(monkeypatch, {9: 1.0, -3: 3.4}, {9: 1.0, -3: 3.4})
    assert half_steps("E") == -3  # six half steps nearer are 1.5, and it comes first
    assert asked == [-3]


def test_the_farther_one_is_taken_where_it_is_really_better(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = told(monkeypatch, {9: 1.0, -3: 3.6}, {9: 1.0, -3: 3.6})
    assert half_steps("E") == 9
    assert asked == [9]


def test_no_first_look_where_nothing_can_come_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch, {9: 0.0, -3: 2.0}, {9: 0.0, -3: 2.0})
    looked: list[int] = []
    look = fingering.guessed

    def noted(sketch: Sketch) -> Guess | None:
        looked.append(sketch.half_steps)
        return look(sketch)

    monkeypatch.setattr(fingering, "guessed", noted)
    assert half_steps("E") == -3
    assert looked == [-3]


def test_one_octave_alone_where_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = told(monkeypatch, {9: 40.0, -3: 2.0}, {9: 40.0, -3: 2.0})
    assert fingering.fingering(SUPPER, Chord.parse("E"), way="up").half_steps == 9
    assert asked == [9]


def test_the_better_guess_is_asked_first_and_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = told(monkeypatch, {9: 4.0, -3: 2.0}, {9: 1.0, -3: 3.0})
    assert half_steps("E") == -3
    assert asked == [-3]


def test_the_other_octave_is_asked_where_the_first_disappoints(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = told(monkeypatch, {9: 4.0, -3: 2.0}, {9: 5.0, -3: 12.0})
    assert half_steps("E") == 9
    assert asked == [-3, 9]


def test_a_lick_in_its_own_key_stays_at_its_pitch(monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch, {0: 6.0, 12: 1.0, -12: 1.0}, {0: 6.0, 12: 1.0, -12: 1.0})
    assert half_steps("G") == 0


def test_but_not_at_any_price(monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch, {0: 60.0, 12: 1.0, -12: 90.0}, {0: 60.0, 12: 1.0, -12: 90.0})
    assert half_steps("G") == 12
