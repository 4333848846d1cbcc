"""Changes as text: bars, repeats, split bars, numbers, and errors that name the bar."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.changes import parse_changes
from routines.errors import BadRoutine
from routines.lick import QUARTERS_A_BAR
from tests.in_turn import in_turn


def read(text: str, *, key: str | None = None, meter: str = "2/2") -> list[tuple[float, float, str]]:
    return [(s.start_quarters, s.end_quarters, s.symbol) for s in parse_changes(text, key=key, meter=meter)]


def test_one_token_a_bar_with_a_repeat_and_a_split_bar() -> None:
    assert read("G . (C D7) G") == [(0, 8, "G"), (8, 10, "C"), (10, 12, "D7"), (12, 16, "G")]


def test_the_example_of_the_command_line() -> None:
    assert read("G . C . D7 . G .") == [(0, 8, "G"), (8, 16, "C"), (16, 24, "D7"), (24, 32, "G")]


def test_a_bar_in_four_parts_lets_chords_go_on_beat_by_beat() -> None:
    assert read("(G . . D7) G") == [(0, 3, "G"), (3, 4, "D7"), (4, 8, "G")]


def test_in_three_four_a_bar_is_three_quarters_and_splits_in_three() -> None:
    assert read("G (C . D7) G", meter="3/4") == [(0, 3, "G"), (3, 5, "C"), (5, 6, "D7"), (6, 9, "G")]


def test_the_same_chord_written_again_is_no_change() -> None:
    assert read("G G (G D7) D7") == [(0, 10, "G"), (10, 16, "D7")]
    assert read("G G7") == [(0, 4, "G"), (4, 8, "G7")]


def test_a_bar_without_a_chord() -> None:
    assert read("G N.C. . G") == [(0, 4, "G"), (4, 12, ""), (12, 16, "G")]
    assert read("NC G") == [(0, 4, ""), (4, 8, "G")]


def test_brackets_need_no_blanks_around_them() -> None:
    assert read("G(C D7)G") == read("G ( C  D7 ) G")


@in_turn(
    ("key", "numbers", "letters"),
    [
        ("G", "1 4 57 1", "G C D7 G"),
        ("G", "17 4", "G7 C"),
        ("G", "6m 2m7 3 7", "Em Am7 B F#"),
        ("G", "b7 b3 b77 #4dim", "F Bb F7 C#dim"),
        ("Bb", "1 4 57 6m", "Bb Eb F7 Gm"),
        ("C#", "1 3 7", "C# E# B#"),
        ("A", "1 (4 57) .", "A (D E7) ."),
        ("G", "1 C 57", "G C D7"),
        ("G", "6- 2-7", "Em Am7"),
        ("B♭", "♭7", "Ab"),
    ],
)
def test_numbers_count_on_the_major_scale_of_the_key(key: str, numbers: str, letters: str) -> None:
    assert read(numbers, key=key) == read(letters)


@in_turn(
    ("text", "names"),
    [
        ("G H7", ["bar 2", "'H7'", "A to G"]),
        ("G . d7", ["bar 3", "'d7'", "capital"]),
        ("G (C D7", ["bar 2", "'('", "(C D7)"]),
        ("G C)", ["bar 3", "')'"]),
        ("G (C (D7))", ["bar 2", "'('"]),
        ("(C D G)", ["bar 1", "3 parts", "2 or 4"]),
        ("G ()", ["bar 2", "0 parts"]),
        ("G (C)", ["bar 2", "1 parts"]),
        (". G", ["bar 1", "'.'"]),
        ("(. G)", ["bar 1", "'.'"]),
        ("1 4", ["bar 1", "'1'", "key"]),
        ("G | C", ["bar 2", "'|'"]),
        ("", ["no changes", "one chord a bar"]),
        ("  \n ", ["no changes"]),
    ],
)
def test_errors_name_the_bar_and_what_is_accepted(text: str, names: list[str]) -> None:
    with pytest.raises(BadRoutine) as caught:
        parse_changes(text)
    message = str(caught.value)
    assert all(name in message for name in names), message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("text", "names"),
    [("1 8", ["bar 2", "'8'", "1 to 7"]), ("1 1x", ["bar 2", "'x'", "m7b5"]), ("1 5b5", ["bar 2", "'b5'"])],
)
def test_errors_in_numbers(text: str, names: list[str]) -> None:
    with pytest.raises(BadRoutine) as caught:
        parse_changes(text, key="G")
    assert all(name in str(caught.value) for name in names), str(caught.value)


@pytest.mark.parametrize("key", ["", "H", "Amm", "m", "g", "Bbb"])
def test_a_bad_key_is_told(key: str) -> None:
    with pytest.raises(BadRoutine, match="no key"):
        parse_changes("1", key=key)


def test_a_bad_meter_is_told() -> None:
    with pytest.raises(BadRoutine, match="accepted are 2/2 3/4"):
        parse_changes("G", meter="6/8")


def test_two_chords_in_a_bar_of_three_would_begin_between_beats() -> None:
    with pytest.raises(BadRoutine, match="accepted are 3 in 3/4"):
        parse_changes("(C D7)", meter="3/4")


bars = st.sampled_from(["G", "C", "D7", ".", "N.C.", "Em"])


@given(st.lists(bars, min_size=1, max_size=24).filter(lambda b: b[0] != "."), st.sampled_from(["2/2", "3/4"]))
def test_spans_cover_all_bars_without_gaps_and_each_end_is_a_change(tokens: list[str], meter: str) -> None:
    spans = parse_changes(" ".join(tokens), meter=meter)
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == len(tokens) * QUARTERS_A_BAR[meter]
    for before, after in itertools.pairwise(spans):
        assert before.end_quarters == after.start_quarters
        assert before.chord != after.chord
    sounding = ""
    for bar, token in enumerate(tokens):
        sounding = {".": sounding, "N.C.": ""}.get(token, token)
        middle = (bar + 0.5) * QUARTERS_A_BAR[meter]
        assert next(s.symbol for s in spans if s.start_quarters <= middle < s.end_quarters) == sounding
