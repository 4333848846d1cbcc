"""Lettering: widths as the fonts have them, the characters of the program's words, breaks, accidentals."""

from __future__ import annotations

import ast
import itertools
import os
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pygame
import pytest
from hypothesis import given
from hypothesis import strategies as st

import feedback
from feedback.screen import lettering
from feedback.screen.lettering import fitted, signed, width, wrapped
from routines.library import all_licks
from tests.in_turn import in_turn

FOLDER = Path(feedback.__file__).parent
EM = 2048
FONTS = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
EVERYDAY = "".join(map(chr, range(32, 127))) + "♭♯♮←↑→↓…·–—−×′°"


@pytest.mark.parametrize("bold", [False, True])
def test_every_advance_is_that_of_the_font(bold):
    pygame.font.init()
    font = pygame.font.Font(str(FOLDER / "screen" / "fonts" / FONTS[bold]), EM)
    table = lettering._advances(bold)
    assert set(EVERYDAY) <= table.keys()
    for char, em in table.items():
        metrics = font.metrics(char)[0]
        assert metrics is not None, f"{char!r} is not in {FONTS[bold]}"
        assert em * EM == pytest.approx(metrics[4], rel=0.01), char


def test_both_tables_have_the_same_characters():
    assert lettering._advances(False).keys() == lettering._advances(True).keys()


def test_the_words_of_the_program_have_all_their_characters():
    table = lettering._advances(False).keys()
    told = [text for lick in all_licks() for text in (lick.title, lick.trains, lick.id, lick.key)]
    told += [span.chord.symbol for lick in all_licks() for span in lick.chords]
    told += [signed(text) for text in told]
    for path in FOLDER.rglob("*.py"):
        source = path.read_text(encoding="utf-8")
        if set(source) - table - {"\n"}:
            told += _texts_in(source)
    assert not {char for char in set("".join(told)) - table if char.isprintable()}


def _texts_in(source: str) -> list[str]:
    """The texts of a module, without its docstrings and comments: nobody reads those on a screen."""
    nodes = list(ast.walk(ast.parse(source)))
    notes = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
    return [
        node.value
        for node in nodes
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in notes
    ]


def test_a_width_is_the_sum_of_the_advances():
    assert width("", 30) == 0.0
    assert width("00", EM) == 2 * 1303
    assert width("A7", 100) == pytest.approx((1401 + 1303) * 100 / EM)
    assert width("A7", 100, True) > width("A7", 100)
    assert width("漢", 30) == width("0", 30)  # what no table has is as wide as a figure


WORDS = st.text(alphabet=st.sampled_from("abW i♭#.7 "), max_size=60)
SIZES = st.floats(10, 90)


@given(WORDS, SIZES, st.floats(20, 900), st.booleans())
def test_wrapped_lines_keep_the_width_and_every_word(text, size, wide, bold):
    lines = wrapped(text, size, wide, bold=bold)
    assert " ".join(lines).split() == text.split()
    for line in lines:
        assert width(line, size, bold) <= wide or " " not in line
    for line, after in itertools.pairwise(lines):
        assert width(f"{line} {after.split()[0]}", size, bold) > wide  # no line breaks too soon


def test_what_just_fits_is_not_broken_nor_cut():
    wide = width("two bars", 30, True)
    assert wrapped("two bars", 30, wide, bold=True) == ["two bars"]
    assert wrapped("two bars", 30, wide - 0.1, bold=True) == ["two", "bars"]
    assert wrapped("  ", 30, wide) == []
    assert wrapped("unbreakable", 30, 10) == ["unbreakable"]
    assert fitted("two bars", 30, wide, bold=True) == "two bars"
    assert fitted("two bars", 30, wide - 0.1, bold=True) == "two ba…"
    assert fitted("two bars", 30, width("two …", 30)) == "two…"
    assert fitted("two bars", 30, 0) == "…"


@given(WORDS, SIZES, st.floats(0, 900), st.booleans())
def test_a_fitted_text_keeps_the_width_and_its_beginning(text, size, wide, bold):
    said = fitted(text, size, wide, bold=bold)
    if width(text, size, bold) <= wide:
        assert said == text
        return
    assert said.endswith("…")
    assert text.startswith(said[:-1])
    assert width(said, size, bold) <= wide or said == "…"
    cut = text[: len(said)].rstrip() + "…"
    if said[:-1] == text[: len(said) - 1]:  # one more would not have fitted
        assert width(text[: len(said)] + "…", size, bold) > wide or cut == said


@in_turn(
    ("text", "said"),
    [
        ("Bb", "B♭"),
        ("F#", "F♯"),
        ("Bb7", "B♭7"),
        ("Cb7: Cb Eb Gb Bbb", "C♭7: C♭ E♭ G♭ B♭♭"),
        ("C#7: C# E# G# B", "C♯7: C♯ E♯ G♯ B"),
        ("F##", "F♯♯"),
        ("G#-A, F#4 to Eb3", "G♯-A, F♯4 to E♭3"),
        ("Bbm", "B♭m"),
        ("F#m7", "F♯m7"),
        ("Bbmaj7 Ebdim Abaug Gbsus4 Bbmin", "B♭maj7 E♭dim A♭aug G♭sus4 B♭min"),
        ("Bb/D (Eb)", "B♭/D (E♭)"),
        ("the F#s, the Bb's, two Bbs", "the F♯s, the B♭'s, two B♭s"),
        ("fifth at bb, f# D F# A D", "fifth at b♭, f♯ D F♯ A D"),
        ("Ab. Db!", "A♭. D♭!"),
        ("key of Bb", "key of B♭"),
    ],
)
def test_names_get_real_signs(text, said):
    assert signed(text) == said
    assert signed(said) == said


@in_turn(
    "text",
    [
        "cab lab dB webb ebb abbey Abbey abacus Ebbing",
        "Add added deed baggage bb4u"[:22],
        "gDGBD",
        "number #7, no. #",
        "b7 and #11",
        "H# Hb xb 5b 4#",
        "about the edge",
        "",
    ],
)
def test_words_are_left_alone(text):
    assert signed(text) == text


def test_words_of_licks_change_in_their_names_only():
    for lick in all_licks():
        for text in (lick.title, lick.trains):
            said = signed(text)
            assert len(said) == len(text)
            changed = {(a, b) for a, b in zip(text, said, strict=True) if a != b}
            assert changed <= {("b", "♭"), ("#", "♯")}
            assert not any(
                word.isalpha() and word.islower() and len(word) > 2 and "♭" in word for word in said.split()
            )


@given(
    st.sampled_from("ABCDEFG"), st.sampled_from(["b", "bb", "#", "##"]), st.sampled_from(["", "7", "m", "4"])
)
def test_every_name_gets_its_signs(letter, sign, kind):
    said = signed(f"to {letter}{sign}{kind}, then")
    assert said == f"to {letter}{sign.replace('b', '♭').replace('#', '♯')}{kind}, then"


@given(st.text(alphabet="abcdefgh ", max_size=30))
def test_small_letters_change_only_where_a_letter_with_b_stands_by_itself(text):
    for word, said in zip(text.split(" "), signed(text).split(" "), strict=True):
        assert said == (f"{word[0]}♭" if len(word) == 2 and word[1] == "b" and word[0] != "h" else word)
