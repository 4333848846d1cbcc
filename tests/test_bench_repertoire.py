"""The table over all licks: copies are found, variety is measured, and the set keeps its limits."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routines.library import all_licks, load
from routines.lick import Lick
from routines.tab import write_tab
from tests.bench import repertoire
from tests.bench.__main__ import main
from tests.bench.repertoire_copies import COPY, copies, likenesses, nearest
from tests.bench.repertoire_counts import (
    LICKS_LEAST,
    WANTED,
    chops,
    counts,
    falls_short,
    minimal,
    relations,
    shape_key,
    up_the_neck,
)
from tests.bench.repertoire_figures import (
    FIGURES,
    ROLLS,
    beyond_limits,
    ending,
    fingers_of,
    off_share,
    off_the_downbeat,
    roll_of,
    seven_eighth,
    seven_roll,
    seven_string,
)
from tests.in_turn import in_turn
from tests.lick_texts import HOME, typed

LICKS = [lick for lick in all_licks() if lick.kind == "lick"]
LONG = typed("4/4 . 1/0 5/0 2/1 . 1/0 4/4 | 2/0 . 1/0 5/0 3/0 4/0 . .")


def moved(told: Lick, half_steps: int, *, drones: bool = False, later_quarters: float = 0.0) -> Lick:
    """All voices moved; drones too where that is said."""
    notes = tuple(
        replace(
            note,
            midi=note.midi + half_steps * (drones or note.role != "drone"),
            onset_quarters=note.onset_quarters + later_quarters,
        )
        for note in told.notes
    )
    return replace(told, id="moved", notes=notes)


def likeness(one: Lick, other: Lick) -> float:
    found = likenesses([one, other])
    assert found[0, 1] == found[1, 0]
    return float(found[0, 1])


class TestCopies:
    def test_a_lick_is_its_own_copy(self) -> None:
        assert np.allclose(np.diag(likenesses(LICKS)), 1.0)

    @in_turn("half_steps", [-12, -5, 1, 7, 24])
    @in_turn("drones", [False, True])
    def test_moved_by_any_interval_whether_drones_move_or_stay(self, half_steps: int, drones: bool) -> None:
        assert likeness(LONG, moved(LONG, half_steps, drones=drones)) == (1.0)

    def test_moved_by_half_bars_but_not_by_less(self) -> None:
        assert likeness(LONG, moved(LONG, 3, later_quarters=2.0)) == 1.0
        assert likeness(LONG, moved(LONG, 3, later_quarters=0.5)) < COPY

    def test_a_third_of_the_notes_must_differ_not_less(self) -> None:
        def changed(many: int) -> Lick:
            notes = list(LONG.notes)
            voices = [index for index, note in enumerate(notes) if note.role != "drone"]
            for half_steps, index in enumerate(voices[:many], 13):
                notes[index] = replace(notes[index], midi=notes[index].midi + half_steps, fret=half_steps)
            return replace(LONG, id="changed", notes=tuple(notes))

        assert len(LONG.notes) == 11
        assert likeness(LONG, changed(3)) == pytest.approx(8 / 11)
        assert [pair.likeness for pair in copies([LONG, changed(3)])] == [pytest.approx(8 / 11)]
        assert copies([LONG, changed(4)]) == ()

    def test_a_short_lick_within_a_long_one_is_no_copy(self) -> None:
        head = replace(LONG, id="head", notes=LONG.notes[:6])
        assert likeness(LONG, head) == pytest.approx(6 / 11)

    def test_the_same_frets_in_another_tuning(self) -> None:
        tab = "3/2 . 2/1 . 3/2 2/3 . 1/4 | 3/0 . 2/2 . 3/4 2/1 . ."
        chords = {0: "D7"}
        assert likeness(typed(tab, chords=chords), typed(tab, chords=chords, tuning="gCGCD")) == 1.0

    def test_another_meter_is_no_copy(self) -> None:
        assert likeness(LONG, replace(LONG, meter="3/4")) == 0.0

    def test_pairs_come_the_most_alike_first(self) -> None:
        pairs = nearest(LICKS)
        assert len(pairs) == len(LICKS) * (len(LICKS) - 1) // 2
        assert [pair.likeness for pair in pairs] == sorted((p.likeness for p in pairs), reverse=True)
        assert all(pair.one < pair.other for pair in pairs)


class TestFigures:
    @pytest.mark.parametrize("name", ROLLS)
    def test_the_five_rolls_are_known(self, name: str) -> None:
        assert roll_of(load(f"{name.replace(' ', '-')}-roll"), 1) == name

    def test_a_bar_has_the_roll_that_it_follows_in_half_of_its_eighths_or_more(self) -> None:
        def told(tab: str) -> tuple[str, str]:
            bar = typed(f"{tab} {HOME}")
            return fingers_of(bar, 1), roll_of(bar, 1)

        assert told("3/2 2/1 1/0 5/0 2/1 1/0 2/1 .") == ("TIMTIMI.", "forward")
        assert told("4/4 2/1 1/0 4/4 2/1 1/0 4/4 .") == ("TIMTIMT.", "forward")  # strings move with the chord
        assert told("1/0 2/1 . . 1/0 2/1 . .") == ("MI..MI..", "few strokes")
        assert told("1/0 2/1 5/0 . 1/0 2/1 . .") == ("MIT.MI..", "its own")  # three of the backward roll
        assert told("1/0 2/1 5/0 1/0 . . . .") == ("MITM....", "backward")  # four of it

    def test_of_two_rolls_alike_by_the_fingers_it_has_the_one_of_its_strings(self) -> None:
        both = typed(f"1/0 2/1 5/0 1/0 . 3/2 . . {HOME}", fingers={5: "I"})
        assert (fingers_of(both, 1), roll_of(both, 1)) == ("MITM.I..", "backward")
        other = typed(f"3/0 2/1 5/0 1/0 . 2/1 . . {HOME}", fingers={0: "M"})
        assert (fingers_of(other, 1), roll_of(other, 1)) == ("MITM.I..", "alternating thumb")

    def test_a_pinch_and_a_slur_are_no_stroke_of_a_roll(self) -> None:
        slurred = typed(f"3/2 2/1p 2/0 5/0 2/1p 2/0 5/0+1/0 . {HOME}")
        assert (fingers_of(slurred, 1), roll_of(slurred, 1)) == ("TI.TI.(TM).", "forward")
        chops = typed(f"4/4 . 3/2+2/1 . 4/4 . 3/2+2/1 . {HOME}")
        assert (fingers_of(chops, 1), roll_of(chops, 1)) == ("T.(TI).T.(TI).", "pinches")

    def test_a_waltz_bar_is_laid_beside_the_first_six_eighths(self) -> None:
        waltz = typed(
            "3/2 2/1 1/0 5/0 2/1 1/0 | 3/0 2/0 1/0 . . . | 2/0 1/0 . . . .",
            chords={0: "D7", 6: "G"},
            meter="3/4",
            top=70,
        )
        assert [roll_of(waltz, bar) for bar in (1, 2, 3)] == ["forward", "forward", "few strokes"]

    def test_a_roll_in_more_than_a_quarter_is_beyond_its_limit_and_what_is_no_roll_never(self) -> None:
        rolled = typed(f"3/2 2/1 1/0 5/0 2/1 1/0 2/1 . {HOME}")
        sparse = typed(f"4/4 . 1/0 . 2/1 . . . {HOME}")
        assert (seven_roll(rolled), seven_roll(sparse)) == ("forward", "few strokes")
        words = [said for said in beyond_limits([sparse, rolled, rolled]) if said.startswith("roll")]
        assert words == ["roll of its bar: forward in 2 of 3, at most 25%"]
        within = beyond_limits([sparse, sparse, sparse, rolled])
        assert not [said for said in within if said.startswith("roll")]

    def test_the_last_seven_is_the_one_that_is_told(self) -> None:
        assert (seven_string(LONG), seven_eighth(LONG)) == ("string 2", "e5")
        half = typed(f"4/4 . 1/0 5/0 3/4 . 2/0h1 . {HOME}")
        assert seven_eighth(half) == "e7"
        kick = typed("3/2 2/1 | 2/0 . 3/0 .  2/0 . . .", chords={0: "D7", 2: "G"}, pickup="2 eighths")
        assert seven_eighth(kick) == "e8"

    def test_endings(self) -> None:
        assert ending(LONG) == "e6 fifth"
        assert ending(typed("4/4 . 1/0 . 2/1 . 1/0 . | 2/0 . . . 5/0+1/5 . . .")) == "e5 pinch"
        assert ending(typed("4/4 . 1/0 . 2/1 . 1/0 . | 2/0 . . . 1/5 . 5/0 .")) == "e7 drone"

    def test_other_than_on_e1(self) -> None:
        first = "4/4 . 1/0 5/0 2/1 . 1/0"
        assert off_the_downbeat(typed(f"{first} . | 2/0 . . . 3/0 . . .")) is False
        assert off_the_downbeat(typed(f"{first} . | 3/0 2/0 . . 3/0 . . .")) is True
        assert off_the_downbeat(typed(f"{first} 2/0 | 3/0 . . . 3/0 . . .")) is True
        half_bar = typed("4/4 . 2/1 . 2/0 . 3/0 .", chords={0: "D7", 4: "G"})
        assert off_the_downbeat(half_bar) is True
        assert off_the_downbeat(typed(f"{first} . | 1/9 . . . 5/0 . . .")) is True
        colour = typed(f"{first} . | 2/0 . . . 3/0 . . .", marks={4: "x"})
        assert off_the_downbeat(colour) is None
        assert off_share([colour]) == 1.0
        assert off_share([half_bar, typed(f"{first} . | 2/0 . . . 3/0 . . .")]) == 0.5

    def test_what_lies_beyond_a_limit_is_said(self) -> None:
        words = beyond_limits([LONG] * 4)
        assert len(words) == len(FIGURES) + 1
        assert words[0] == "string of the last seven: string 2 in 4 of 4, at most 40%"
        assert words[-1] == "resolved other than on e1: 0%, at least 33%"

    def test_exactly_at_a_limit_is_within_it(self) -> None:
        four = [
            load("log-deck-waltz"),
            *(load(name) for name in ("tally-stick", "trimmers-choice", "belt-dressing")),
        ]
        assert beyond_limits(four) == ("resolved other than on e1: 25%, at least 33%",)


class TestCounts:
    def test_a_change_is_counted_by_the_key(self) -> None:
        assert relations(LONG) == ("V7-I",)
        assert relations(replace(LONG, key="D")) == ("I7-IV",)
        assert relations(replace(LONG, key="C")) == ("another change",)
        assert relations(load("sawdust-in-the-coffee")) == ("colour on IV",)

    def test_the_shape_under_a_capo(self) -> None:
        assert shape_key(load("trimmers-choice")) == "G"
        assert shape_key(load("tally-stick")) == "D"

    def test_a_chop_is_stopped_and_has_the_seven_on_top(self) -> None:
        assert chops(typed(f"4/4 . 3/2+2/1 . 1/0 . 2/0 . {HOME}"))
        assert not chops(typed(f"4/0 . 3/0+2/1 . 1/0 . 2/0 . {HOME}"))
        assert not chops(typed(f"4/4 . 3/5+1/4 . 2/1 . 2/0 . {HOME}"))
        assert not chops(LONG)

    def test_minimal_and_up_the_neck(self) -> None:
        assert minimal(LONG)
        assert not minimal(typed(f"4/4 . 2/1 . 1/0 . 2/1 . {HOME}"))
        assert not up_the_neck(typed(f"4/4 . 2/1 . 1/7 . . . {HOME}"))
        assert up_the_neck(typed(f"4/4 . 2/1 . 1/8 . . . {HOME}"))

    def test_what_is_wanted_can_be_counted(self) -> None:
        for want in WANTED:
            assert isinstance(counts(want.count, LICKS)[want.value], int)

    def test_what_falls_short_is_said(self) -> None:
        words = falls_short([LONG])
        assert words[0] == f"licks: 1, wanted {LICKS_LEAST}"
        assert "keys: 1 of G, wanted 5" in words


class TestTheBench:
    def test_over_the_program(
        self, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        few = (*LICKS[:3], load("forward-roll"))
        monkeypatch.setattr(repertoire, "all_licks", lambda: few)
        assert main(["repertoire"]) == 0
        told = capsys.readouterr().out
        assert all(lick.id in told for lick in few)
        assert "faults: 0 in 0 of 4" in told
        assert "variety of 3 licks" in told
        assert "copies (likeness 0.70 and more): 0;" in told

    def test_a_folder_is_compared_with_the_program(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        copied = load("tally-stick")
        (tmp_path / "mine.lick").write_text(write_tab(replace(copied, id="mine")), encoding="utf-8")
        (tmp_path / "bad.lick").write_text("title: Nothing\n", encoding="utf-8")
        assert main(["repertoire", str(tmp_path), "--no-advice"]) == 0
        told = capsys.readouterr().out
        assert "not read: " in told
        assert "1.00  mine  tally-stick  COPY" in told
        assert "advice" not in told

    def test_a_folder_without_licks_is_one_line(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["repertoire", str(tmp_path)]) == 2
        assert main(["repertoire", str(tmp_path / "nowhere")]) == 1
        assert "Traceback" not in capsys.readouterr().err


class TestTheRepertoire:
    """The licks that come with the program."""

    def test_no_copies(self) -> None:
        licks = all_licks()
        assert [(licks[pair.one].id, licks[pair.other].id) for pair in copies(licks)] == []

    def test_the_repertoire_is_varied_and_holds_what_is_wanted(self) -> None:
        assert beyond_limits(LICKS) == ()
        assert falls_short(LICKS) == ()
