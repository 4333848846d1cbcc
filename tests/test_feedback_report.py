"""What is reported: the JSON contract to the letter, and the words."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances
from feedback.report import heading, heard_json, notes_text, outcome_json, pass_text, to_json
from feedback.takes import judge_events
from feedback.words import late_words
from listener.notes import NoteEvent
from routines.lick import Lick
from tests.in_turn import in_turn
from tests.scores import A, B, judged, lick, play

OUTCOME = [
    "lick", "key", "tempo_half_bpm", "start_sec", "start_found", "clean",
    "notes", "extras", "sevenths", "thirds", "timing", "sentence",
]  # fmt: skip
NOTE = [
    "index", "onset_sec", "midi", "string", "fret", "role", "core", "verdict", "heard_midi", "deviation_ms",
    "rest_ms",
]  # fmt: skip
EXTRA = ["onset_sec", "midi", "foreign"]
SEVENTH = [
    "index", "chord", "next_chord", "midi", "sounded", "landed", "swallowed", "due", "due_midi", "resolution",
    "resolved_midi", "resolution_ms", "as_asked",
]  # fmt: skip
TIMING = ["lean_ms", "bounce", "spread_ms", "drift_percent", "hurry_at_change_ms", "tempo_course"]
HEARD = ["onset_sec", "midi", "cents", "level_db", "confidence", "heard_sec", "settled_sec", "path"]

MANY_SLIPS = "all -9ms; b1e3 =2/0; b1e5 out; b1e8 -9dB; b2e1 =1/0; b2e2 sure 0.1; add 2/0 b1e7.5"
THIRDS = lick("3/2 2/1 1/0 5/0 3/2 4/4 1/0 2/1 | 2/0 3/0 1/0 5/0 3/0 1/0 5/0", "D7 G")


def _json(of: Lick, slips: str = "", about: Circumstances | None = None) -> dict[str, Any]:
    text = to_json(outcome_json(judged(of, slips, about=about).outcome, "Said."))
    assert "\n" not in text
    found = json.loads(text, parse_constant=_not_a_number)
    assert isinstance(found, dict)
    return found


def _not_a_number(name: str) -> float:
    raise AssertionError(f"{name} in JSON")


class TestContract:
    """Keys, in their order, and the words of the values."""

    def test_keys(self) -> None:
        found = _json(THIRDS, MANY_SLIPS)
        assert list(found) == OUTCOME
        assert {tuple(note) for note in found["notes"]} == {tuple(NOTE)}
        assert {tuple(extra) for extra in found["extras"]} == {tuple(EXTRA)}
        assert {tuple(seventh) for seventh in found["sevenths"]} == {tuple(SEVENTH)}
        assert {tuple(third) for third in found["thirds"]} == {tuple(SEVENTH)}
        assert list(found["timing"]) == TIMING

    def test_values(self) -> None:
        found = _json(A, MANY_SLIPS)
        assert (found["lick"], found["key"], found["tempo_half_bpm"]) == ("A", "G", 150.0)
        assert (found["start_sec"], found["start_found"], found["clean"]) == (1.0, False, False)
        assert found["sentence"] == "Said."
        assert len(found["notes"]) == 15
        assert found["notes"][2] == {
            "index": 2,
            "onset_sec": 1.2,
            "midi": 62,
            "string": 1,
            "fret": 0,
            "role": "root",
            "core": False,
            "verdict": "wrong",
            "heard_midi": 59,
            "deviation_ms": -9.0,
            "rest_ms": 0.0,
        }
        assert [n["verdict"] for n in found["notes"]][4:9] == [
            "missed",
            "landed",
            "landed",
            "landed",
            "wrong",
        ]
        assert found["notes"][4]["heard_midi"] is None
        assert found["notes"][9]["verdict"] == "unclear"
        assert found["extras"] == [{"onset_sec": 1.65, "midi": 59, "foreign": True}]
        assert found["sevenths"][2] == {
            "index": 7,
            "chord": "D7",
            "next_chord": "G",
            "midi": 60,
            "sounded": True,
            "landed": False,
            "swallowed": True,
            "due": True,
            "due_midi": 59,
            "resolution": "hanging",
            "resolved_midi": None,
            "resolution_ms": None,
            "as_asked": False,
        }
        assert found["timing"]["lean_ms"] == -9.0
        assert found["timing"]["tempo_course"] == [[1.0, 150.0]]

    def test_unclear_is_null(self) -> None:
        seventh = _json(A, "b1e8 sure 0.1")["sevenths"][2]
        assert [seventh[name] for name in ("sounded", "landed", "swallowed", "due")] == [None] * 4

    def test_a_pass_that_counts_neither_way_is_null(self) -> None:
        assert _json(A, "b1e3 sure 0.1; b1e4 sure 0.1")["clean"] is None

    def test_silence(self) -> None:
        outcome = judge_events([], A, Limits()).outcome
        found = json.loads(to_json(outcome_json(outcome, "")), parse_constant=_not_a_number)
        assert list(found) == OUTCOME
        assert found["start_sec"] is None
        assert found["start_found"] is False
        assert found["clean"] is None
        assert {note["verdict"] for note in found["notes"]} <= {"missed", "unclear"}
        assert {note["onset_sec"] for note in found["notes"]} == {None}
        assert found["extras"] == []
        assert {s["resolution"] for s in found["sevenths"]} == {"none"}
        assert found["timing"] == dict.fromkeys(TIMING[:-1]) | {"tempo_course": []}

    def test_drift_and_lean_where_the_player_set_the_tempo(self) -> None:
        timing = _json(A, about=Circumstances(start_found=True))["timing"]
        assert timing["lean_ms"] is None
        assert timing["drift_percent"] == 0.0
        assert len(timing["tempo_course"]) == 2

    def test_figures_are_rounded_by_their_unit(self) -> None:
        found = _json(A, "all +1.23456ms; b1e3 +0.0123ms")
        assert found["notes"][0]["deviation_ms"] == 1.23
        assert found["notes"][0]["onset_sec"] == 1.0
        assert "-0.0" not in json.dumps(found)

    def test_nan_is_refused(self) -> None:
        with pytest.raises(ValueError, match="JSON"):
            to_json({"lean_ms": math.nan})

    @settings(max_examples=40, deadline=None)
    @given(
        st.lists(
            st.sampled_from(
                ["all +31ms", "even +20ms", "b1e1-b1e8 out", "b2e1-b2e7 out", "all -9dB", "all sure 0.2"]
            ),
            max_size=3,
            unique=True,
        )
    )
    def test_whatever_was_played(self, slips: list[str]) -> None:
        found = _json(A, "; ".join(slips))
        assert list(found) == OUTCOME
        verdicts = {"landed", "early", "late", "wrong", "missed", "unclear"}
        assert {note["verdict"] for note in found["notes"]} <= verdicts

    def test_heard(self) -> None:
        (event,) = play(lick("3/4c5", "G"), "b1e1 arrives 0.5e")
        found = json.loads(to_json(heard_json(event)))
        assert list(found) == HEARD
        assert found["path"] == [[1.0, 0.0], [1.025, 33.33333], [1.05, 100.0]]
        assert (found["midi"], found["level_db"], found["confidence"]) == (59, -20.0, 1.0)
        plain = json.loads(to_json(heard_json(play(A)[0])))
        assert plain["path"] == []


class TestWords:
    """The report in text."""

    def _text(self, of: Lick, slips: str = "", about: Circumstances | None = None) -> str:
        return pass_text(of, judged(of, slips, about=about).outcome, lean_unsure_ms=10.0)

    def test_a_clean_pass(self) -> None:
        text = self._text(A)
        assert "clean pass" in text
        assert (
            "flat seven C over D7 (the last eighth of bar 1): landed; resolved to B on the downbeat of bar 2"
            in text
        )
        assert "15 notes: 15 landed" in text
        assert "on the click, spread 0 ms" in text

    @in_turn(
        ("slips", "said"),
        [
            ("b1e8 out", "(the last eighth of bar 1): not heard over its chord"),
            ("b1e8 -9dB", "swallowed by the roll; resolved to B"),
            ("b1e8 +0.6e", "late; resolved to B"),
            ("b1e8 sure 0.1", "(the last eighth of bar 1): unclear"),
            ("b2e1 =1/0", "left hanging: no B came over G"),
            ("b2e1 out; b2e3 =2/0", "B two eighths late, asked for on the downbeat of bar 2"),
            ("b2e1 +30ms", "B late by 30 ms"),
            ("b1e8 =2/0; b2e1 =1/0", "B ahead (100 ms before the downbeat of bar 2)"),
            ("b2e1 =71", "B in another octave"),
            ("b2e1 sure 0.1", "whether it went to B is unclear"),
            ("b1e3 =2/0", "eighth 3 of bar 1, string 1 fret 0: wrong note (B3 for D4)"),
            ("b1e4 out", "eighth 4 of bar 1, string 5 fret 0: not heard"),
            ("b1e6 -51ms", "eighth 6 of bar 1, string 1 fret 4: early by 51 ms"),
            ("add 2/0 b1e7.5", "B3 added at 1.65 s, foreign to the chord"),
            ("add 1/0 b1e7.5", "D4 added at 1.65 s, a chord tone"),
            ("all -22ms", "22 ms ahead of the click"),
            ("all +12ms", "12 ms behind the click"),
            ("all +9ms", "on the click"),
            ("even +12ms", "bounce 56:44"),
            ("b1e7-b2e1 -15ms", "at the change -15 ms"),
            ("b1e3 sure 0.1; b1e4 sure 0.1", "counts neither way"),
            ("all out", "15 notes: 15 not heard"),
        ],
    )
    def test_what_went_astray(self, slips: str, said: str) -> None:
        assert said in self._text(A, slips)

    def test_a_seven_that_was_not_due_has_no_fall(self) -> None:
        line = next(line for line in self._text(A).splitlines() if "(eighth 5" in line)
        assert line.endswith("landed")

    def test_thirds_are_told_quietly(self) -> None:
        assert "third F# over D7 (eighth 6 of bar 1): landed; resolved to G" in self._text(THIRDS)
        assert "third" not in self._text(A)

    def test_rushing(self) -> None:
        about = Circumstances(click_off=True)
        late = " ".join(f"{k * 2}" for k in range(15))
        assert "dragging by 2.0 %" in self._text(A, f"each {late}", about)
        assert "rushing by 2.0 %" in self._text(A, f"each {late.replace(' ', ' -')}", about)

    @pytest.mark.parametrize(
        ("last", "said"),
        [
            (92.0, "speeding up: 80 to 92 half notes a minute"),
            (68.0, "slowing down: 80 to 68 half notes a minute"),
            (84.0, "steady tempo"),
        ],
    )
    def test_a_tempo_that_changes_on_the_way_is_not_called_steady(self, last: float, said: str) -> None:
        outcome = judged(A, "", about=Circumstances(start_found=True)).outcome
        course = ((0.0, 80.0), (1.0, last))
        timing = replace(outcome.timing, drift_percent=0.1, tempo_course=course)
        assert said in pass_text(A, replace(outcome, timing=timing), lean_unsure_ms=10.0)

    def test_no_start(self) -> None:
        outcome = judge_events([], A, Limits()).outcome
        assert "No start was found" in pass_text(A, outcome, lean_unsure_ms=10.0)

    def test_heading(self) -> None:
        assert heading(B, 96.0) == "B | key of G | 96 half notes a minute"

    def test_notes_are_a_line_each(self) -> None:
        lines = notes_text(play(A)).splitlines()
        assert len(lines) == 15
        assert "A3" in lines[0]
        assert notes_text([]) == ""
        event = NoteEvent(
            onset_sec=1.5,
            midi=66,
            cents=-12,
            level_db=-31.4,
            confidence=0.87,
            heard_sec=1.53,
            settled_sec=1.6,
        )
        assert " ".join(notes_text([event]).split()) == "1.500 s F#4 -12 cents -31.4 dB sure 0.87"

    @pytest.mark.parametrize(
        ("ms", "said"),
        [
            (23, "late by 23 ms"),
            (49, "late by 49 ms"),
            (51, "one eighth late"),
            (149, "one eighth late"),
            (200, "two eighths late"),
            (800, "eight eighths late"),
            (1200, "12 eighths late"),
        ],
    )
    def test_how_late(self, ms: float, said: str) -> None:
        assert late_words(ms, 150.0) == said
