"""A tab in the terminal: the left hand's fingers below the right hand's, and what the lower rows mean."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest

from feedback import tab_told as module
from feedback.tab_told import MARKS, left_of_part, legend, tab_told, tab_with_left_hand
from routines.errors import BadRoutine
from routines.excerpt import bars, change
from routines.hand.playing import hands
from routines.library import all_licks, load
from routines.lick import Lick
from routines.tab_systems import MARK_SIGNS
from routines.tab_writer import WIDEST, write_systems
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import lick

SUPPER = load("slab-wood-supper")
PINCHES = load("guide-tone-pinches")
LEAN = load("pond-mans-lean")


def _plain(of: Lick) -> list[str]:
    return write_systems(of).rstrip("\n").split("\n")


def test_a_tab_as_it_is_told() -> None:
    assert tab_told(PINCHES)[:9] == [
        "  E7                       A7",
        "D|6-----------6-----6-----|5-----------5-----5-----|",
        "B|------------------------|------------------------|",
        "G|7-----------7-----7-----|6-----------6-----6-----|",
        "D|------------------------|------------------------|",
        "g|------------------------|------------------------|",
        "  TM          TM    TM     TM          TM    TM",
        "  43          43    43     32          32    32",
        "                           3",
    ]
    assert tab_told(PINCHES)[-3:] == [
        "",
        "below the strings: right hand T I M, left hand 1 to 4",
        "marks in the last row: 3: the third resolves here",
    ]


@in_turn("of", few_licks(), ids=lambda of: of.id)
def test_only_rows_of_the_left_hand_are_added(of: Lick) -> None:
    told = tab_with_left_hand(of)
    plain = _plain(of)
    added = [line for line in told if line not in plain]
    assert [line for line in told if line in plain] == plain
    assert len(added) == plain.count("") + 1  # one in each system
    assert set("".join(added)) <= set(" 012345")
    for line in added:
        right = told[told.index(line) - 1]
        assert all(line[at].isdigit() for at, sign in enumerate(right) if sign != " ")


def test_every_lick_has_room_for_them_and_its_words_fit() -> None:
    for of in all_licks():
        left = hands(of).left
        assert tab_with_left_hand(of, left) != _plain(of)
        lines = legend(of, left)
        assert max(map(len, lines)) <= WIDEST
        assert len(lines) == 1 + any(set(line) <= set(MARK_SIGNS + " ") for line in _plain(of) if line)


def test_the_fingers_that_are_given_are_those_that_stand_there() -> None:
    left = tuple(index % 5 for index in range(len(SUPPER.notes)))
    row = tab_with_left_hand(SUPPER, left)[7]
    assert [int(sign) for sign in row if sign != " "] == list(left)


def test_a_slur_has_a_finger_where_its_eighth_begins_but_for_the_end_of_a_slide() -> None:
    of = lick("2/1 h2/3 5/0 2/1 s2/3", "G7")
    told = tab_with_left_hand(of, (1, 3, 0, 1, 1))
    assert "".join(told[-1].split()) == "1301"
    assert len("".join(told[-2].split())) == 3


def test_a_system_without_a_note_is_left_as_it_is() -> None:
    of = replace(SUPPER, bars=6)
    told = tab_with_left_hand(of, hands(of).left)
    assert [line for line in told if line in _plain(of)] == _plain(of)
    assert sum(set(line) <= set(" 01234") and bool(line) for line in told) == 1


def test_where_the_fingers_have_no_room_the_tab_stands_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    def narrow(of: Lick) -> str:
        if of is not LEAN:
            raise BadRoutine("no room")
        return write_systems(of)

    monkeypatch.setattr(module, "write_systems", narrow)
    assert tab_told(LEAN) == [
        *_plain(LEAN),
        "",
        "below the strings: right hand T I M",
        "marks in the last row: r: the seven resolves here",
    ]


def test_where_the_fingers_make_another_grid_the_tab_stands_alone() -> None:
    fingers = [1234] * len(PINCHES.notes)  # two of them take more than the two eighths to the next pinch
    assert tab_with_left_hand(PINCHES, fingers) == _plain(PINCHES)
    assert len(legend(PINCHES, fingers)) == 2
    assert "left" not in legend(PINCHES, fingers)[0]


def test_open_strings_and_the_thumb_are_explained_where_they_are_used() -> None:
    notes = len(SUPPER.notes)
    assert legend(SUPPER, [1] * notes) == ["below the strings: right hand T I M, left hand 1 to 4"]
    (line,) = legend(SUPPER, [0, 5, *[1] * (notes - 2)])
    assert line.endswith("left hand 1 to 4, 0 open, 5 the thumb")


def test_every_mark_has_its_words_and_only_those_that_are_used_are_told() -> None:
    assert set(MARKS) == set(MARK_SIGNS)
    assert len(legend(SUPPER)) == 1
    several = replace(LEAN, notes=tuple(replace(note, core=True) for note in LEAN.notes))
    lines = legend(several)[1:]
    assert max(map(len, lines)) <= WIDEST
    assert " ".join(lines) == f"marks in the last row: *: {MARKS['*']}; r: {MARKS['r']}"


def test_a_part_is_fingered_as_the_whole() -> None:
    whole, second, turn = hands(LEAN).left, bars(LEAN, 2, 2), change(LEAN)
    assert left_of_part(second, LEAN) == whole[-len(second.notes) :]
    assert left_of_part(LEAN, LEAN) == whole
    first = next(k for k, note in enumerate(LEAN.notes) if note.onset_quarters >= 2.0)
    assert left_of_part(turn, LEAN) == whole[first : first + len(turn.notes)]


def test_a_part_alone_might_be_fingered_otherwise() -> None:
    parts = [(bars(of, 2, 2), of) for of in few_licks() if of.bars == 2]
    assert any(left_of_part(part, of) != hands(part).left for part, of in parts)


def test_what_is_no_part_has_fingers_of_its_own() -> None:
    assert left_of_part(PINCHES, SUPPER) == hands(PINCHES).left


def test_no_heavy_library_is_loaded() -> None:
    heavy = ["aubio", "sounddevice", "soundfile", "soxr", "pygame", "scipy", "matplotlib", "mido", "numpy"]
    code = (
        "import sys; from feedback.tab_told import tab_told; from routines.library import load;"
        "tab_told(load('forward-roll'));"
        f"sys.exit(' '.join(m for m in {heavy!r} if m in sys.modules) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
