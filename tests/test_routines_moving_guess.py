"""A first look at a moved lick: no seven rings on under its own fall where a stopped place costs little."""

from __future__ import annotations

import pytest

from routines.chords import Chord
from routines.library import load
from routines.moving.drones import drones_moved
from routines.moving.guess import guessed, ringing_on
from routines.moving.move import move
from routines.moving.sketch import sketched
from routines.moving.source import source_of
from routines.neck import Neck
from tests.few import few_licks


def test_the_seven_of_e7_is_not_the_open_first_string_under_a_c_sharp_on_the_second() -> None:
    moved = move(load("slab-wood-supper"), "A").fingering.lick
    (ask,) = moved.sevenths
    seven, due = moved.notes[ask.note], moved.notes[ask.due_note or 0]
    assert (seven.midi, seven.string, seven.fret) == (62, 2, 3)
    assert (due.midi, due.string, due.fret) == (61, 2, 2)


def test_it_stays_open_where_nothing_else_is_near(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routines.moving.guess._RINGS_ON", -100.0)
    moved = move(load("slab-wood-supper"), "A").fingering.lick
    (ask,) = moved.sevenths
    assert moved.notes[ask.note].fret == 0


def test_few_ring_on_over_a_whole_circle_of_keys() -> None:
    rings, falls = 0, 0
    for lick in few_licks():
        for key in ("A", "F"):
            moved = move(lick, key).fingering.lick
            for ask in moved.sevenths:
                if ask.how == "resolve" and ask.due_note is not None:
                    seven, due = moved.notes[ask.note], moved.notes[ask.due_note]
                    falls += 1
                    rings += not seven.fret and seven.string != due.string
    assert falls > 50
    assert rings <= falls / 50


def test_nothing_rings_on_in_a_guess_without_open_sevens() -> None:
    source = source_of(load("tally-stick"))
    guess = guessed(sketched(source, drones_moved(source, Neck(), 0, Chord.parse("D")), 0))
    assert guess is not None
    assert ringing_on(guess) == ()
