"""Tuning up: words for readings, warnings before a string breaks, and the check of the twelfth fret."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedback.tuning import AllInTune, Changed, Tuning, beforehand
from feedback.tuning_report import heading, string_line, tuning_json
from feedback.twelfth import SCALE_MM, TwelfthCheck, bridge_mm, open_length_mm
from listener.tuner import Reading, hz_of
from routines.neck import OPEN_TUNINGS, FifthString, Neck


def reading(midi: float, references: tuple[float, ...], *, at: float = 1.0, **more) -> Reading:
    nearest = min(range(len(references)), key=lambda k: abs(references[k] - midi))
    usual = {"unsure_cents": 0.8, "level_db": -30.0, "steady": True, "plucked_sec": at - 0.9}
    return Reading(
        sec=at,
        hz=hz_of(midi),
        midi=midi,
        nearest=nearest,
        cents=100.0 * (midi - references[nearest]),
        **{**usual, **more},
    )


def fed(tuning: Tuning, *midis: float, **more) -> list:
    return tuning.feed([reading(midi, tuning.references, at=1.0 + k, **more) for k, midi in enumerate(midis)])


def test_strings_are_named_as_they_sound() -> None:
    assert [s.note for s in Tuning(Neck()).strings] == ["G4", "D3", "G3", "B3", "D4"]
    under = Tuning(Neck(capo=2)).strings
    assert [(s.string, s.note) for s in under] == [(5, "A4"), (4, "E3"), (3, "A3"), (2, "C#4"), (1, "E4")]
    assert [s.note for s in Tuning(Neck(tuning="f#DF#AD")).strings] == ["F#4", "D3", "F#3", "A3", "D4"]


def test_flat_goes_up_sharp_goes_down_and_two_cents_are_in_tune() -> None:
    tuning = Tuning(Neck())
    up, down, there = fed(tuning, 54.88, 50.05, 58.985)
    assert (up.state.string, up.state.word) == (3, "up")
    assert string_line(up.state) == "  string 3 (G3)  12 cents flat: up"
    assert string_line(down.state) == "  string 4 (D3)  5 cents sharp: down"
    assert there.state.word == "in tune"
    assert string_line(there.state).startswith("  string 2 (B3)  in tune (")
    assert [state.word for state in tuning.strings] == ["not heard", "down", "up", "in tune", "not heard"]


def test_only_what_changed_is_worth_a_line() -> None:
    tuning = Tuning(Neck())
    assert len(fed(tuning, 54.80, 54.805, 54.81)) == 1
    assert len(fed(tuning, 54.90)) == 1
    assert len(fed(tuning, 55.01, 55.005, 55.015)) == 1


def test_an_unsteady_reading_moves_the_needle_and_no_word() -> None:
    tuning = Tuning(Neck())
    assert fed(tuning, 54.9, steady=False) == []
    assert tuning.now is not None
    assert tuning.now.cents == pytest.approx(-10.0)
    assert tuning.strings[2].word == "not heard"


def test_in_tune_does_not_flicker_at_its_edge() -> None:
    tuning = Tuning(Neck())
    assert len(fed(tuning, 55.018, 55.022, 55.019, 55.028)) == 1
    assert tuning.strings[2].word == "in tune"
    (out,) = fed(tuning, 55.032)
    assert out.state.word == "down"
    assert len(fed(tuning, 55.028)) == 0
    assert tuning.strings[2].word == "down"


def test_all_five_is_said_once_and_again_after_one_was_off() -> None:
    tuning = Tuning(Neck())
    events = fed(tuning, 67, 50, 55, 59, 62, 62)
    assert [type(event) for event in events] == [Changed] * 5 + [AllInTune]
    assert tuning.done
    assert [type(event) for event in fed(tuning, 62.1, 62.0)] == [Changed, Changed, AllInTune]


def test_a_note_far_from_every_string_is_passed_over() -> None:
    tuning = Tuning(Neck())
    assert fed(tuning, 67 + 12, 44.0) == []
    assert tuning.now is None


@pytest.mark.parametrize(
    ("midi", "string", "warned"),
    [
        (55 - 1.49, 3, False),
        (55 - 1.5, 3, True),
        (67 - 2.2, 5, False),
        (67 - 2.3, 5, True),
        (48.4, 4, True),
        (62 + 1.6, 1, False),
    ],
)
def test_a_string_that_would_break_is_warned_of(midi: float, string: int, warned: bool) -> None:
    tuning = Tuning(Neck())
    state = fed(tuning, midi)[-1].state
    assert state.string == string
    assert state.warning.startswith("strings break: ") is warned
    assert ("strings break" in string_line(state)) is warned


def test_the_fifth_string_is_warned_of_beyond_a_whole_step() -> None:
    tuning = Tuning(Neck(fifth=FifthString(71, "peg")))
    state = fed(tuning, 68.4)[-1].state
    assert "spike" in state.warning


def test_under_a_capo_it_is_asked_whether_that_is_on() -> None:
    state = fed(Tuning(Neck(capo=2)), 50.0)[-1].state
    assert "is the capo on, at fret 2?" in state.warning


def test_what_the_asked_tuning_itself_winds_too_far_is_said_beforehand() -> None:
    for tuning in OPEN_TUNINGS:
        assert beforehand(Neck(tuning=tuning)) == []  # a whole step on the fifth is what it stands
    assert beforehand(Neck(capo=4)) == []  # the fifth by a spike
    (said,) = beforehand(Neck(fifth=FifthString(70, "peg")))
    assert said.startswith("strings break: string 5 is to go 3 half steps")
    assert "spike" in said


def test_what_is_told_of_the_whole() -> None:
    tuning = Tuning(Neck(capo=2))
    fed(tuning, 56.9)
    found = tuning_json(tuning, None, file="x.wav")
    assert list(found) == ["file", "tuning", "capo", "fifth", "in_tune", "warnings", "strings", "twelfth"]
    assert found["fifth"] == {"midi": 69, "how": "spike"}
    assert list(found["strings"][0]) == [
        "string", "note", "midi", "hz", "cents", "unsure_cents", "word", "warnings",
    ]  # fmt: skip
    assert found["strings"][0]["hz"] is None
    assert found["strings"][2]["cents"] == pytest.approx(-10.0)
    assert heading(tuning.neck) == "gDGBD, capo 2: 5 A4  4 E3  3 A3  2 C#4  1 E4"


def test_within_must_be_above_nought() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        Tuning(Neck(), within_cents=0.0)


@given(st.lists(st.floats(44.0, 80.0), max_size=20))
def test_a_word_never_sends_a_string_the_wrong_way(midis: list[float]) -> None:
    tuning = Tuning(Neck())
    fed(tuning, *midis)
    for state in tuning.strings:
        if state.cents is not None and state.word != "in tune":
            assert (state.word == "up") is (state.cents < 0.0)
        if state.word == "in tune":
            assert abs(state.cents or 0.0) <= 3.0


def check_fed(check: TwelfthCheck, *midis: float, begin: float = 1.0) -> list:
    readings = [
        reading(midi, check.references, at=begin + 2.0 * k, plucked_sec=begin + 2.0 * k - 0.9)
        for k, midi in enumerate(midis)
    ]
    return check.feed(readings)


def test_the_twelfth_fret_of_every_string_in_order() -> None:
    check = TwelfthCheck(Neck())
    assert check.asked == (1, "open")
    assert check.prompt == "string 1 (D4), open"
    notes = [note for open_midi in (62, 59, 55, 50, 67) for note in (open_midi - 0.05, open_midi + 11.99)]
    found = check_fed(check, *notes)
    assert [one.string for one in found] == [1, 2, 3, 4, 5]
    assert all(one.cents == pytest.approx(4.0) for one in found)
    assert check.asked is None
    assert check.prompt == ""
    assert "toward the tailpiece" in found[0].text
    assert found[0].bridge_mm == pytest.approx(1.54, abs=0.02)


def test_the_fifth_strings_twelfth_is_fret_17() -> None:
    check = TwelfthCheck(Neck())
    check_fed(check, 62, 74, 59, 71, 55, 67, 50, 62, 67)
    assert check.prompt == "string 5, fret 17, pressed as you play"


def test_what_was_not_asked_for_is_passed_over_and_an_open_string_may_be_repeated() -> None:
    check = TwelfthCheck(Neck())
    assert check_fed(check, 50, 62, 55, 62.02, 74.08) != []
    assert check.found[0].cents == pytest.approx(6.0)  # against the second open one
    assert check.asked == (2, "open")


def test_one_pluck_is_not_both_notes_and_unsteady_ones_count_for_nothing() -> None:
    check = TwelfthCheck(Neck())
    check.feed([reading(62, check.references, steady=False)])
    assert check.asked == (1, "open")
    check.feed([reading(62, check.references, plucked_sec=1.0)])
    check.feed([reading(74, check.references, plucked_sec=1.0)])
    assert check.asked == (1, "twelfth")


def test_flat_at_the_twelfth_brings_the_bridge_nearer_and_an_octave_is_true() -> None:
    check = TwelfthCheck(Neck())
    flat, true = check_fed(check, 62, 73.9, 59, 71.01)
    assert not flat.true
    assert "toward the neck" in flat.text
    assert flat.bridge_mm < 0.0
    assert true.true
    assert true.text.endswith("true")


@given(st.floats(-60.0, 60.0), st.floats(300.0, 700.0))
def test_the_bridge_once_moved_gives_an_octave(cents: float, length: float) -> None:
    moved = bridge_mm(cents, length)
    stopped = length / 2.0 * 2.0 ** (-cents / 1200.0)
    assert (length + moved) / (stopped + moved) == pytest.approx(2.0, abs=1e-9)


def test_open_lengths() -> None:
    assert open_length_mm(Neck(), 1) == SCALE_MM
    assert open_length_mm(Neck(capo=12), 3) == pytest.approx(SCALE_MM / 2)
    assert open_length_mm(Neck(), 5) == pytest.approx(SCALE_MM * 2 ** (-5 / 12))
    assert open_length_mm(Neck(capo=2), 5) == pytest.approx(SCALE_MM * 2 ** (-7 / 12))


def test_under_a_capo_an_open_string_is_named_as_its_shape_is_moved() -> None:
    named = {capo: [state.note for state in Tuning(Neck(capo=capo)).strings] for capo in (0, 1, 3, 4)}
    assert named == {
        0: ["G4", "D3", "G3", "B3", "D4"],
        1: ["Ab4", "Eb3", "Ab3", "C4", "Eb4"],
        3: ["Bb4", "F3", "Bb3", "D4", "F4"],
        4: ["B4", "F#3", "B3", "D#4", "F#4"],
    }
