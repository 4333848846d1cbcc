"""The checker of licks: each rule is broken by a lick that breaks it alone, and kept by its neighbour."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from routines.checker import hands
from routines.checker.lick import FAULTS, faults
from routines.checker.places import where
from routines.chords import Chord, ChordSpan
from routines.hand.wanted import Trouble
from routines.library import all_licks, load
from routines.lick import Lick, TargetNote
from routines.tab import parse_lick
from tests.in_turn import in_turn
from tests.lick_texts import GOOD, HOME, typed


def lick(first_bar: str, tail: str = HOME, **more: Any) -> Lick:
    """Bars of D7 before a bar of G, or what is said."""
    return typed(f"{first_bar} {tail}", **more)


def checks(found: Lick) -> set[str]:
    return {fault.check for fault in faults(found)}


def with_note(index: int, **changes: Any) -> Lick:
    good = lick(GOOD)
    notes = list(good.notes)
    notes[index] = replace(notes[index], **changes)
    return replace(good, notes=tuple(notes))


def with_ask(**changes: Any) -> Lick:
    good = lick(GOOD)
    return replace(good, sevenths=(replace(good.sevenths[0], **changes),))


PLAIN_BAR = ". . . . . . . ."
WALTZ = "4/4 . 1/0 . 2/1 . | 2/0 . 1/0 . 3/0 ."


def strings_at_once(count: int) -> list[TargetNote]:
    """A pinch of so many open strings, the fourth and up, at the end of the lick."""
    last = lick(GOOD).notes[-1]
    return [
        replace(last, string=string, midi=midi, role="fifth", finger="TIMM"[number])
        for number, (string, midi) in enumerate(((4, 50), (3, 55), (2, 59), (1, 62))[:count])
    ]


BROKEN_AND_KEPT = {
    "a bar without a note": (
        "bars",
        lick(GOOD, tail=f"{HOME} | {PLAIN_BAR} | 3/0 . . . . . . ."),
        lick(GOOD, tail=f"{HOME} | . . . . . . . 2/0 | 3/0 . . . . . . ."),
    ),
    "a note after the end": ("bars", with_note(-1, onset_quarters=8.0), with_note(-1, onset_quarters=7.5)),
    "a note before the beginning": (
        "bars",
        with_note(0, onset_quarters=-0.5),
        replace(
            with_note(0, onset_quarters=-0.5),
            pickup_quarters=0.5,
            chords=(ChordSpan(-0.5, 4.0, Chord.parse("D7")), ChordSpan(4.0, 8.0, Chord.parse("G"))),
        ),
    ),
    "a pickup that begins with a rest": (
        "pickup",
        typed(". 3/2 2/1 | 2/0 . 1/0 5/0 3/0 . 5/0 .", chords={0: "D7", 3: "G"}, pickup="3 eighths"),
        typed("3/2 2/1 | 2/0 . 1/0 5/0 3/0 . 5/0 .", chords={0: "D7", 2: "G"}, pickup="2 eighths"),
    ),
    "a gap between chords": (
        "chords",
        replace(lick(GOOD), chords=(ChordSpan(0, 3.5, Chord.parse("D7")), ChordSpan(4, 8, Chord.parse("G")))),
        lick(GOOD),
    ),
    "a chord off the beat": (
        "chords",
        lick("4/4 . 2/1 5/0 2/0 . 1/0 5/0", chords={0: "D7", 3: "G"}),
        lick("4/4 . 2/1 5/0 2/0 . 1/0 5/0", chords={0: "D7", 4: "G"}),
    ),
    "a chord on an eighth of a waltz": (
        "chords",
        typed(WALTZ, chords={0: "D7", 5: "G"}, meter="3/4", top=70),
        typed(WALTZ, chords={0: "D7", 4: "D7", 6: "G"}, meter="3/4", top=70),
    ),
    "a pitch that does not lie there": ("pitches", with_note(0, midi=53), with_note(0, midi=54)),
    "a fret below the fifth string's nut": (
        "pitches",
        with_note(2, fret=5, midi=67),
        with_note(2, fret=7, midi=69),
    ),
    "a stopped fifth string under a capo, by its peg": (
        "fifth string",
        lick("4/4 . 1/0 5/9 2/1 . 1/0 5/0", capo=2, fifth="peg a", key="A"),
        lick("4/4 . 1/0 5/9 2/1 . 1/0 5/0", capo=2, fifth="spike 7", key="A"),
    ),
    "a stopped fifth string that is left as tuned": (
        "fifth string",
        lick("4/4 . 1/0 5/9 2/1 . 1/0 .", capo=2, fifth="peg a", key="A"),
        lick("4/4 . 1/0 5/9 2/1 . 1/0 .", capo=2, fifth="plain", key="A"),
    ),
    "no seven": ("seven", lick("4/4 . 1/0 5/0 3/2 . 1/0 5/0"), lick(GOOD)),
    "only the seven of a minor seventh": (
        "seven",
        lick("3/2 . 1/0 . 3/0 . 3/2 .", chords={0: "Am7", 8: "C"}, tail="| 4/2 . 2/1 . 3/0 . 2/1 ."),
        lick("3/2 . 1/0 . 3/0 . 3/2 .", chords={0: "A7", 8: "D"}, tail="| 4/4 . 1/0 . 3/2 . 2/3 ."),
    ),
    "a seven that is another chord's": ("seven", with_ask(chord="G7"), with_ask(chord="D7")),
    "a seven that goes nowhere": (
        "goes",
        lick(GOOD, tail="| 3/4s5 . 1/0 5/0 3/0 . 5/0 ."),
        lick(GOOD, tail="| 3/4s5 . 1/0 5/0 3/0 . 5/0 .", marks={4: "x"}),
    ),
    "a due note at another place": (
        "goes",
        with_ask(place_quarters=5.0),
        with_ask(place_quarters=4.0),
    ),
    "a due note of another pitch": ("goes", with_ask(due_midi=60), with_ask(due_midi=59)),
    "another octave that is the same": (
        "goes",
        with_ask(how="octave"),
        with_ask(how="octave", due_midi=71),
    ),
    "another octave of another note": (
        "goes",
        with_ask(how="octave", due_midi=60),
        with_ask(how="octave", due_midi=47),
    ),
    "no due note": ("goes", with_ask(due_note=None), lick(GOOD)),
    "swallowed": (
        "swallowed",
        lick("4/4 . 1/0 . 5/0 2/1 5/0 ."),
        lick("4/4 . 1/0 5/0 2/1 5/0 . ."),
    ),
    "swallowed is by drones on both sides": (
        "swallowed",
        lick("4/4 . 1/0 . 5/0 2/1 5/0 ."),
        lick("4/4 . 1/0 . 5/0 2/1 1/0 ."),
    ),
    "a pinch on one string": (
        "at once",
        replace(
            lick(GOOD), notes=(*lick(GOOD).notes, replace(lick(GOOD).notes[-2], midi=57, fret=2, finger=""))
        ),
        lick(GOOD),
    ),
    "more strings than fingers at once": (
        "playable",
        replace(lick(GOOD), notes=(*lick(GOOD).notes[:-1], *strings_at_once(4))),
        replace(lick(GOOD), notes=(*lick(GOOD).notes[:-1], *strings_at_once(3))),
    ),
    "the middle finger on the fourth string": (
        "fingers",
        lick("4/4 . 1/0 . 2/1 . 1/0 .", fingers={0: "M"}),
        lick("4/4 . 1/0 . 2/1 . 1/0 .", fingers={0: "I"}),
    ),
    "thumb on the first string": (
        "fingers",
        lick("4/4 . 1/0 . 2/1 . 1/0 .", fingers={2: "T"}),
        lick("4/4 . 1/0 . 2/1 . 1/0 .", fingers={2: "M"}),
    ),
    "a finger twice within a quarter": (
        "playable",
        lick("4/4 . 1/0 2/1 2/1 . 1/0 5/0", fingers={3: "I", 4: "I"}),
        lick("4/4 . 1/0 2/1 2/1 . 1/0 5/0", fingers={3: "T", 4: "I"}),
    ),
    "frets out of reach": (
        "playable",
        lick("4/4 . 3/2+1/12 . 2/1 . 1/0 5/0"),
        lick("4/4 . 3/2+1/4 . 2/1 . 1/0 5/0"),
    ),
    "three slurs in a quick bar": (
        "slurs",
        lick("4/0h 4/4 3/0h 3/2 2/0h 2/1 1/0 5/0", top=121),
        lick("4/0h 4/4 3/0h 3/2 2/0h 2/1 1/0 5/0", top=120),
    ),
    "three slurs, one of them over the bar line": (
        "slurs",
        lick("4/0h 4/4 3/0h 3/2 2/0h 2/1 1/0 5/0", top=125),
        lick("4/0h 4/4 3/0h 3/2 1/0 . 5/0 2/1p", top=125),
    ),
    "a hammer inside a quick eighth": (
        "slurs inside",
        lick("4/4 . 1/0 5/0 2/0h1 . 1/0 5/0", top=121),
        lick("4/4 . 1/0 5/0 2/0h1 . 1/0 5/0", top=120),
    ),
    "a slide inside a very quick eighth": (
        "slurs inside",
        lick("3/2s4 . 4/4 5/0 2/1 . 1/0 5/0", top=150),
        lick("3/2s4 . 4/4 5/0 2/1 . 1/0 5/0", top=149),
    ),
    "g with F#": (
        "drone pinched",
        lick("4/0 . 5/0+1/4 . 2/1 . 1/0 5/0"),
        lick("4/0 . 5/0+1/0 . 2/1 . 1/0 5/0"),
    ),
    "g over E7": (
        "drone clashes",
        lick("3/1 . 2/0 5/0 2/3 . 1/2 .", chords={0: "E7", 8: "A"}, tail="| 2/2 . 1/2 . 3/2 . 2/2 ."),
        lick("3/1 . 2/0 1/2 2/3 . 1/2 .", chords={0: "E7", 8: "A"}, tail="| 2/2 . 1/2 . 3/2 . 2/2 ."),
    ),
    "g over E7 that is meant": (
        "drone clashes",
        lick("3/1 . 2/0 5/0 2/3 . 1/2 .", chords={0: "E7", 8: "A"}, tail="| 2/2 . 1/2 . 3/2 . 2/2 ."),
        lick(
            "3/1 . 2/0 5/0 2/3 . 1/2 .",
            chords={0: "E7", 8: "A"},
            tail="| 2/2 . 1/2 . 3/2 . 2/2 .",
            marks={3: "*"},
        ),
    ),
    "no breath": (
        "breathes",
        lick("3/2 2/1 1/0 5/0 2/1 1/0 5/0 1/0", tail="| 2/0 1/0 5/0 2/0 1/0 5/0 2/0 1/0"),
        lick("3/2 2/1 1/0 5/0 2/1 1/0 5/0 1/0", tail="| 2/0 1/0 5/0 2/0 1/0 5/0 2/0 ."),
    ),
}


class TestFaults:
    @in_turn("name", BROKEN_AND_KEPT)
    def test_each_rule_is_broken_alone(self, name: str) -> None:
        check, broken, kept = BROKEN_AND_KEPT[name]
        assert checks(broken) == {check}
        assert checks(kept) == set()

    def test_every_rule_is_shown_here(self) -> None:
        shown = {check for check, _, _ in BROKEN_AND_KEPT.values()}
        assert shown == {check.name for check in FAULTS}

    def test_a_good_lick_has_none(self) -> None:
        assert faults(lick(GOOD)) == ()

    def test_a_fault_names_the_place_and_what_is_accepted(self) -> None:
        (fault,) = faults(BROKEN_AND_KEPT["swallowed"][1])
        assert fault.words == (
            "bar 1, eighth 6: 2/1 (C4) stands between two open fifth strings, where the roll swallows it: "
            "accepted is an odd eighth, or a drone on one side only"
        )

    def test_what_no_hand_does_is_told_at_its_place(self, monkeypatch: pytest.MonkeyPatch) -> None:
        played = hands.hands(lick(GOOD))
        trouble = Trouble(onset_quarters=2.0, words="nobody reaches that")
        monkeypatch.setattr(hands, "played", lambda told: replace(played, troubles=(trouble,)))
        (fault,) = faults(lick(GOOD))
        assert (fault.check, fault.words) == ("playable", "bar 1, eighth 5: nobody reaches that")

    def test_a_roll_need_not_breathe(self) -> None:
        broken = BROKEN_AND_KEPT["no breath"][1]
        assert faults(replace(broken, kind="roll")) == ()
        assert checks(replace(broken, kind="drill")) == {"breathes"}

    def test_each_two_bars_breathe_by_themselves(self) -> None:
        eighths = "| 2/0 1/0 5/0 2/0 1/0 5/0 2/0 1/0"
        late = lick("3/2 2/1 1/0 5/0 2/1 1/0 5/0 .", tail=f"{eighths} {eighths}")
        (fault,) = faults(late)
        assert fault.words.startswith("bars 2 to 3 never breathe")

    def test_the_pickup_belongs_to_the_first_two_bars(self) -> None:
        def led_in(pickup: str, more: str = "") -> Lick:
            bars = f"{pickup} | 3/2 2/1 1/0 5/0 2/1 1/0 5/0 1/0 | 2/0 1/0 5/0 2/0 1/0 5/0 2/0 1/0 {more}"
            return typed(bars, chords={0: "D7", 10: "G"}, pickup="2 eighths")

        assert checks(led_in("3/2 .")) == set()
        assert checks(led_in("3/2 2/0")) == {"breathes"}
        (fault,) = faults(led_in("3/2 .", "| 2/0 1/0 5/0 2/0 1/0 5/0 2/0 1/0"))
        assert fault.words.startswith("bars 2 to 3 never breathe")

    @in_turn("capo", [1, 2, 5])
    @in_turn("name", ["slab-wood-supper", "tally-stick", "two-chalk-marks", "belt-dressing"])
    def test_a_capo_makes_no_fault(self, name: str, capo: int) -> None:
        text = Path(load(name).file).read_text(encoding="utf-8")
        assert faults(parse_lick(f"capo: {capo}\n{text}", f"{name}.lick")) == ()

    def test_a_capo_hides_no_fault(self) -> None:
        under: dict[str, Any] = {"capo": 3, "key": "Bb"}
        assert checks(lick("4/0 . 5/0+1/4 . 2/1 . 1/0 5/0", **under)) == {"drone pinched"}
        assert checks(lick("4/4 . 1/0 . 5/0 2/1 5/0 .", **under)) == {"swallowed"}

    def test_the_marked_drone_is_a_seven_and_no_drone(self) -> None:
        told = lick(
            "3/2 . 2/2 . 5/0 . 1/4 .",
            chords={0: "A7", 8: "D"},
            marks={4: "7"},
            tail="| 1/4 . 3/2 . 2/3 . 4/0 .",
        )
        assert [told.notes[ask.note].string for ask in told.sevenths] == [5]
        assert faults(told) == ()


class TestPlaces:
    def test_a_place_is_told_as_players_count(self) -> None:
        kick = typed("3/2 2/1 | 2/0 . . . 3/0 . . .", chords={0: "D7", 2: "G"}, pickup="2 eighths")
        assert where(kick, -1.0) == "the pickup, eighth 1"
        assert where(kick, -0.5) == "the pickup, eighth 2"
        assert where(kick, 0.0) == "bar 1, eighth 1"
        assert where(kick, 2.25) == "bar 1, eighth 5.5"


def test_no_lick_of_the_program_has_a_fault() -> None:
    assert {told.id: faults(told) for told in all_licks() if faults(told)} == {}
