"""The lick text: what is read, what is refused and where, and that what is written reads back the same."""

from __future__ import annotations

import inspect
import re
import textwrap
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from routines import tab
from routines.errors import BadLickText
from routines.library import all_licks
from routines.lick import Lick
from routines.neck import FifthString, Neck
from routines.tab import parse_lick, write_tab
from routines.tab_writer import WIDEST, write_systems
from tests.in_turn import in_turn

HEADER = {
    "title": "Spare Belt",
    "key": "G",
    "grid": "3 columns an eighth",
    "hand": "easy",
    "top": "100",
    "trains": "C and its fall to the open B.",
}
SYSTEM = """\
  D7                       G
D|------------0-----------|------------------------|
B|------------1--------1-p|0-----------------------|
G|2-----------------------|------0-----------------|
D|------0h4---------------|------------------------|
g|------------------0-----|---------0--------------|
"""
# Six header lines and a blank one stand above the chord line.
CHORDS, FIRST, SECOND, THIRD, FOURTH, FIFTH, BELOW = range(8, 15)


def lick_text(system: str = SYSTEM, **header: str) -> str:
    names = {name: value for name, value in (HEADER | header).items() if value}
    return "\n".join(f"{name}: {value}" for name, value in names.items()) + "\n\n" + system


def read(system: str = SYSTEM, **header: str) -> Lick:
    return parse_lick(lick_text(system, **header), "spare-belt.lick")


def one_bar(*strings: str, chords: str = "", below: str = "", columns: int = 24) -> str:
    """A system of one bar, first string first; what is left out is empty."""
    typed = [*strings, *[""] * (5 - len(strings))]
    lines = [f"{name}|{line.ljust(columns, '-')}|" for name, line in zip("DBGDg", typed, strict=True)]
    return "\n".join([f"  {chords}"] * bool(chords) + lines + [f"  {below}"] * bool(below)) + "\n"


def notes_of(lick: Lick) -> list[tuple[float, int, int, str]]:
    return [(n.onset_quarters, n.string, n.fret, n.technique) for n in lick.notes]


class TestReading:
    def test_the_header(self) -> None:
        lick = read()
        assert (lick.id, lick.file) == ("spare-belt", "spare-belt.lick")
        assert (lick.title, lick.key, lick.kind, lick.hand) == ("Spare Belt", "G", "lick", "easy")
        assert (lick.meter, lick.bars, lick.pickup_quarters) == ("2/2", 2, 0.0)
        assert (lick.top_tempo_half_bpm, lick.neck) == (100.0, Neck())

    def test_notes_with_onset_duration_pitch_and_technique(self) -> None:
        assert [(n.onset_quarters, n.duration_quarters, n.midi, n.technique) for n in read().notes] == [
            (0.0, 1.0, 57, "pick"),
            (1.0, 0.25, 50, "pick"),
            (1.25, 0.75, 54, "hammer"),  # inside its eighth: half an eighth after the pick
            (2.0, 1.0, 60, "pick"),
            (2.0, 1.0, 62, "pick"),
            (3.0, 0.5, 67, "pick"),
            (3.5, 0.5, 60, "pick"),
            (4.0, 1.0, 59, "pull"),  # over the bar line, in its own eighth
            (5.0, 0.5, 55, "pick"),
            (5.5, 2.5, 67, "pick"),
        ]

    def test_slurred_notes_have_no_finger_and_picked_ones_have(self) -> None:
        assert [n.finger != "" for n in read().notes] == [n.technique == "pick" for n in read().notes]

    def test_chords_span_the_lick(self) -> None:
        spans = [(s.start_quarters, s.end_quarters, s.symbol) for s in read().chords]
        assert spans == [(0.0, 4.0, "D7"), (4.0, 8.0, "G")]

    def test_a_chord_above_a_bar_line_begins_after_it_and_a_repeated_one_is_one(self) -> None:
        lick = read(SYSTEM.replace(SYSTEM.splitlines()[0], " D7" + " " * 11 + "D7" + " " * 10 + "G"))
        assert [(s.start_quarters, s.symbol) for s in lick.chords] == [(0.0, "D7"), (4.0, "G")]

    def test_before_the_first_chord_and_under_nc_there_is_none(self) -> None:
        lick = read(one_bar("0", chords="      G     N.C."))
        assert [(s.start_quarters, s.symbol) for s in lick.chords] == [(0.0, ""), (1.0, "G"), (2.0, "")]

    def test_without_a_chord_line_there_is_no_chord(self) -> None:
        lick = read(one_bar("0--3"))
        assert [s.chord for s in lick.chords] == [None]
        assert {n.role for n in lick.notes} == {"passing"}

    def test_a_slide_inside_an_eighth_is_one_picked_note(self) -> None:
        (note,) = read(one_bar("", "2s4")).notes
        assert (note.onset_quarters, note.fret, note.midi, note.from_midi) == (0.0, 4, 63, 61)
        assert (note.technique, note.finger) == ("slide", "I")

    def test_a_slide_to_its_own_eighth_is_a_second_note(self) -> None:
        pick, slide = read(one_bar("", "2-s4")).notes
        assert (pick.midi, pick.technique, pick.finger) == (61, "pick", "I")
        assert (slide.onset_quarters, slide.midi, slide.from_midi) == (0.5, 63, 61)
        assert (slide.technique, slide.finger) == ("slide", "")

    @pytest.mark.parametrize(("typed", "midi"), [("10c", 73), ("10c11", 73), ("10c12", 74)])
    def test_a_choke_is_picked_below_its_pitch(self, typed: str, midi: int) -> None:
        (note,) = read(one_bar(typed)).notes
        assert (note.technique, note.fret, note.midi, note.from_midi) == ("choke", 10, midi, 72)

    def test_the_slur_mark_may_stand_anywhere_between_its_frets(self) -> None:
        assert notes_of(read(one_bar("", "2h-3"))) == notes_of(read(one_bar("", "2-h3")))
        assert notes_of(read(one_bar("", "2-h3"))) == [(0.0, 2, 2, "pick"), (0.5, 2, 3, "hammer")]

    def test_a_wider_grid_holds_two_digits_and_slurs_in_a_row(self) -> None:
        lick = read(one_bar("10h12p10", columns=48), grid="6 columns an eighth")
        assert notes_of(lick) == [(0.0, 1, 10, "pick"), (0.25, 1, 12, "hammer"), (0.5, 1, 10, "pull")]

    def test_a_pickup_is_negative_time(self) -> None:
        lick = read(
            """\
D|---0--3-p|2-----------------------|
B|0--------|------------------------|
G|---------|------------------------|
D|---------|------------------------|
g|---------|------------------------|
""",
            pickup="3 eighths",
        )
        assert (lick.bars, lick.pickup_quarters, lick.chords[0].start_quarters) == (1, 1.5, -1.5)
        assert [n.onset_quarters for n in lick.notes] == [-1.5, -1.0, -0.5, 0.0]
        assert lick.notes[-1].technique == "pull"

    def test_systems_continue_and_a_slur_may_cross_them(self) -> None:
        lick = read(one_bar("", "-" * 21 + "1-p") + "\n" + one_bar("", "0"))
        assert lick.bars == 2
        assert notes_of(lick) == [(3.5, 2, 1, "pick"), (4.0, 2, 0, "pull")]

    def test_waltz_time_has_three_quarters_a_bar(self) -> None:
        bar = one_bar("", "0", columns=18)
        lick = read(bar + "\n" + bar, meter="3/4")
        assert (lick.bars, lick.end_quarters) == (2, 6.0)
        assert [n.onset_quarters for n in lick.notes] == [0.0, 3.0]

    def test_under_a_capo_the_text_is_shapes_and_the_lick_sounds(self) -> None:
        shapes, lick = read(), read(capo="2", fifth="peg a", key="A")
        assert [s.symbol for s in lick.chords] == ["E7", "A"]
        assert lick.neck == Neck(capo=2, fifth=FifthString(69, "peg"))
        assert [n.midi for n in lick.notes] == [n.midi + 2 for n in shapes.notes]
        assert [(n.fret, n.role) for n in lick.notes] == [(n.fret, n.role) for n in shapes.notes]
        assert [(a.chord, a.next_chord) for a in lick.sevenths] == [("E7", "A")] * 2

    @pytest.mark.parametrize(
        ("fifth", "expected"),
        [
            ("peg a", FifthString(69, "peg")),
            ("peg f#", FifthString(66, "peg")),
            ("peg b♭", FifthString(70, "peg")),
            ("spike 7", FifthString(69, "spike")),
            ("plain", FifthString(67, "plain")),
            ("", None),
        ],
    )
    def test_the_fifth_string(self, fifth: str, expected: FifthString | None) -> None:
        assert read(fifth=fifth).neck == Neck(fifth=expected)

    def test_the_fifth_string_may_be_named_as_it_sounds(self) -> None:
        assert read(SYSTEM.replace("g|", "a|"), fifth="peg a") == read(fifth="peg a")

    def test_long_names_of_strings_move_all_bar_lines(self) -> None:
        lines = zip(("D", "A", "F#", "D", "f#"), ("0", "0", "0", "", ""), strict=True)
        system = "\n".join(f"{name:<2}|{fret:-<24}|" for name, fret in lines)
        assert [n.midi for n in read(system, tuning="f#DF#AD").notes] == [54, 57, 62]

    def test_fingers_that_are_typed_win_and_the_others_are_filled_in(self) -> None:
        lick = read(one_bar("0--0--", "------0", "0", below="TM I"))
        assert [(n.string, n.finger) for n in lick.notes] == [(3, "T"), (1, "M"), (1, "I"), (2, "T")]

    def test_of_a_pinch_fingers_stand_from_the_fifth_string_to_the_first(self) -> None:
        lick = read(one_bar("0", "0", "", "", "0", below="TIM"))
        assert {n.string: n.finger for n in lick.notes} == {5: "T", 2: "I", 1: "M"}

    def test_a_slur_lets_the_thumb_come_back(self) -> None:
        assert [n.finger for n in read(one_bar("", "", "", "0h2", "---0")).notes] == ["T", "", "T"]
        assert [n.finger for n in read(one_bar("", "", "", "0", "---0")).notes] == ["I", "T"]

    def test_of_two_notes_at_one_pitch_the_lower_string_comes_first(self) -> None:
        assert [n.string for n in read(one_bar("5", "", "", "", "0")).notes] == [5, 1]

    def test_line_ends_and_a_byte_order_mark_of_another_editor(self) -> None:
        text = lick_text()
        assert parse_lick("\ufeff" + text.replace("\n", "\r\n") + "\r\n\r\n", "x") == parse_lick(text, "x")

    def test_the_example_of_the_documentation(self) -> None:
        doc = inspect.getdoc(tab) or ""
        example = textwrap.dedent("\n".join(re.findall(r"^    .*$|^$", doc.partition("\nHeader\n")[0], re.M)))
        lick = parse_lick(example.lstrip("\n"), "example.lick")
        assert [a.place_quarters for a in lick.sevenths] == [5.0]


def changed(old: str, new: str) -> str:
    """The lick text with one thing in its system replaced."""
    assert SYSTEM.count(old) == 1
    return lick_text(SYSTEM.replace(old, new))


def below(signs: str) -> str:
    return lick_text(SYSTEM + signs)


FAULTS: dict[str, tuple[str, int, int, str]] = {
    "empty": ("", 1, 1, "'title'"),
    "no tab": (lick_text(""), 7, 1, "no tab"),
    "no blank line": (lick_text().replace("\n\n", "\n"), 7, 3, "blank line"),
    "unknown header name": (lick_text(tunning="gDGBD"), 7, 1, "nearest is 'tuning'"),
    "header name twice": (lick_text().replace("hand: easy", "key: A"), 4, 1, "line 2"),
    "missing header name": (lick_text(grid=""), 6, 1, "'grid'"),
    "empty value": (lick_text().replace("Spare Belt", ""), 1, 8, "title"),
    "no such key": (lick_text(key="H"), 2, 6, "'H'"),
    "a chord for a key": (lick_text(key="G7"), 2, 6, "'G7'"),
    "no such hand": (lick_text(hand="fast"), 4, 7, "easy or ready or quick"),
    "no such kind": (lick_text(kind="tune"), 7, 7, "lick or roll or drill"),
    "no such meter": (lick_text(meter="4/4"), 7, 8, "2/2 or 3/4"),
    "grid too narrow": (lick_text(grid="1 columns an eighth"), 3, 7, "2 to 12"),
    "grid in other words": (lick_text(grid="3"), 3, 7, "3 columns an eighth"),
    "tempo nan": (lick_text(top="nan"), 5, 6, "'nan'"),
    "tempo zero": (lick_text(top="0"), 5, 6, "'0'"),
    "pickup of a bar": (lick_text(pickup="8 eighths"), 7, 9, "fewer than a bar"),
    "pickup of a waltz bar": (lick_text(meter="3/4", pickup="6 eighths"), 8, 9, "fewer than a bar"),
    "no such tuning": (lick_text(tuning="GDGBE"), 7, 9, "gDGBD"),
    "no such capo": (lick_text(capo="13"), 7, 7, "0 to 12"),
    "no such peg": (lick_text(fifth="peg h"), 7, 8, "peg a"),
    "spike at the nut": (lick_text(fifth="spike 5"), 7, 8, "spike"),
    "tab character": (changed("G|2--", "G|2\t-"), THIRD, 4, "tab character"),
    "string left out": (lick_text(SYSTEM.rpartition("g|")[0]), FIFTH, 1, "string 5"),
    "label left out": (changed("\nB|", "\n||"), SECOND, 1, "string 2"),
    "upside down": (lick_text("\n".join(SYSTEM.splitlines()[:0:-1])), CHORDS, 1, "first string on top"),
    "sixth line": (below("D|---"), BELOW, 1, "blank line"),
    "text below": (below("  slowly"), BELOW, 3, "fingers"),
    "two lines above": (lick_text("  slowly\n" + SYSTEM), FIRST, 1, "one line of chord symbols"),
    "two finger lines": (below("  T\n  T"), BELOW + 1, 3, "second line of fingers"),
    "letter among marks": (below("  *  T"), BELOW, 6, "'T'"),
    "bar too short": (lick_text(one_bar("0", columns=23)), CHORDS, 26, "bar 1 has 23 columns: expected 24"),
    "second bar too long": (lick_text(one_bar("0") + "\n" + one_bar(columns=25)), CHORDS + 6, 28, "bar 2"),
    "pickup not full": (
        lick_text(pickup="3 eighths"),
        FIRST + 1,
        27,
        "the pickup has 24 columns: expected 9",
    ),
    "only a pickup": (lick_text(one_bar("0", columns=9), pickup="3 eighths"), CHORDS + 1, 13, "full bar"),
    "no closing bar line": (lick_text(SYSTEM.replace("-|\n", "-\n")), FIRST, 52, "bar line"),
    "bar line too soon": (
        changed("G|2-----------------------|", "G|2---|---"),
        THIRD,
        7,
        "the first string has none",
    ),
    "line too short": (
        changed("0-----|---------0--------------|", "0-----|"),
        FIFTH,
        28,
        "under that of the first",
    ),
    "sign of another tab": (changed("0h4", "0/4"), FOURTH, 10, "write s"),
    "space in a tab line": (changed("0h4-", "0h4 "), FOURTH, 12, "write -"),
    "fret between columns": (changed("G|2--", "G|-2-"), THIRD, 4, "on no grid column"),
    "fret runs on": (lick_text(one_bar("2h35")), CHORDS, 5, "runs on"),
    "no such fret": (changed("G|2--", "G|23-"), THIRD, 3, "no fret 23"),
    "three digits": (changed("G|2--", "G|112"), THIRD, 3, "no fret 112"),
    "nought before a fret": (changed("G|2--", "G|02-"), THIRD, 3, "no fret 02"),
    "below the nut of the fifth": (
        lick_text(one_bar("", "", "", "", "5")),
        CHORDS + 4,
        3,
        "no fret 5 on string 5",
    ),
    "slur from nothing": (changed("G|2--", "G|h2-"), THIRD, 3, "no note before it"),
    "slur to nothing": (changed("1-p|0", "1-p|-"), SECOND, 26, "leads to no fret"),
    "slur to another string": (lick_text(one_bar("-----3", "2-h")), CHORDS, 8, "on no grid column"),
    "slur from another string": (lick_text(one_bar("--h3", "2")), CHORDS, 5, "no note before it"),
    "two slurs to one fret": (changed("0h4", "0hp"), FOURTH, 11, "between them"),
    "hammer-on down": (changed("0h4", "4h2"), FOURTH, 11, "goes up"),
    "hammer-on in place": (changed("0h4", "4h4"), FOURTH, 11, "goes up"),
    "pull-off up": (changed("0h4", "2p4"), FOURTH, 11, "goes down"),
    "slide from an open string": (changed("0h4", "0s4"), FOURTH, 11, "stopped"),
    "slide in place": (changed("0h4", "4s4"), FOURTH, 11, "to another"),
    "two slurs in an eighth": (
        lick_text(one_bar("0h2p0", columns=48), grid="6 columns an eighth"),
        CHORDS,
        7,
        "one slur an eighth",
    ),
    "slur from an earlier eighth": (lick_text(one_bar("0--h2")), CHORDS, 7, "one slur an eighth"),
    "slide after a slur": (lick_text(one_bar("0-h2s4")), CHORDS, 8, "begins with a pick"),
    "choke of nothing": (lick_text(one_bar("-c-")), CHORDS, 4, "no picked fret"),
    "choke apart from its fret": (lick_text(one_bar("9-c")), CHORDS, 5, "no picked fret"),
    "choke of a slurred note": (lick_text(one_bar("7-h9c")), CHORDS, 7, "no picked fret"),
    "choke of an open string": (lick_text(one_bar("0c1")), CHORDS, 4, "stopped fret"),
    "choke too far": (lick_text(one_bar("10c13")), CHORDS, 5, "no choke"),
    "choke down": (lick_text(one_bar("10c9")), CHORDS, 5, "no choke"),
    "four at once": (lick_text(one_bar("0", "0", "0", "0")), CHORDS, 3, "more than 3"),
    "no note": (lick_text(one_bar()), CHORDS, 1, "no note"),
    "unknown chord": (changed("  D7", "  H7"), CHORDS, 3, "'H7'"),
    "chord between columns": (changed("  D7 ", "   D7"), CHORDS, 4, "column 3 or 6"),
    "chord before the tab": (changed("  D7 ", "D7   "), CHORDS, 1, "outside the bars"),
    "chord after the tab": (changed(" G\n", " " * 26 + "G\n"), CHORDS, 53, "outside the bars"),
    "two chords at one place": (
        lick_text(" G D7\n" + one_bar("0").replace("|", "||")),
        CHORDS,
        4,
        "two chords",
    ),
    "finger under no note": (below("     T"), BELOW, 6, "no picked note"),
    "finger under a hammered note": (below("          T"), BELOW, 11, "no picked note"),
    "finger beyond the tab": (below(" " * 60 + "T"), BELOW, 61, "no picked note"),
    "one finger for a pinch": (below(" " * 14 + "T"), BELOW, 15, "for 2 picked"),
    "one finger twice in a pinch": (below(" " * 14 + "TT"), BELOW, 15, "different"),
    "mark under no note": (below("   *"), BELOW, 4, "mark under no note"),
    "r where nothing resolves": (below("  r"), BELOW, 3, "flat seven before it"),
    "3 where no third goes": (below(" " * 27 + "3"), BELOW, 28, "third"),
    "7 away from the fifth string": (below(" " * 14 + "7"), BELOW, 15, "open fifth string"),
    "x under another note": (below("  *x"), BELOW, 4, "flat seven"),
}


@in_turn("fault", FAULTS)
def test_a_fault_is_told_with_file_line_and_column(fault: str) -> None:
    text, line, column, said = FAULTS[fault]
    with pytest.raises(BadLickText) as error:
        parse_lick(text, "bad.lick")
    assert (error.value.line, error.value.column) == (line, column), error.value
    assert str(error.value).startswith(f"bad.lick:{line}:{column}: ")
    assert said in str(error.value)
    assert "\n" not in str(error.value)


MUTATIONS = st.lists(
    st.tuples(
        st.floats(0, 1), st.integers(0, 3), st.text("0123456789-hpsc|TIM*r37x: \n\tDG7bm#égπ", max_size=4)
    ),
    min_size=1,
    max_size=6,
)
TEXTS = [lick_text(), lick_text(pickup="3 eighths"), *(write_tab(lick) for lick in all_licks()[:6])]


def fault_in(text: str) -> tuple[int, int] | None:
    """Where the text is refused, None where it is read; nothing else may come of any text."""
    try:
        parse_lick(text, "fuzz.lick")
    except BadLickText as error:
        return error.line, error.column
    return None


@given(st.sampled_from(TEXTS), MUTATIONS)
@settings(max_examples=250, deadline=None)
def test_any_damage_is_read_or_refused(text: str, damage: list[tuple[float, int, str]]) -> None:
    for where, gone, put in damage:
        at = int(where * len(text))
        text = text[:at] + put + text[at + gone :]
    line, column = fault_in(text) or (1, 1)
    assert line >= 1
    assert column >= 1


@given(st.text(), st.text("D|B|G|g|-0123hpsc7 \nTIM*r", max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused(header: str, system: str) -> None:
    for text in (header, header + "\n\n" + system, lick_text(system)):
        line, column = fault_in(text) or (1, 1)
        assert line >= 1
        assert column >= 1


def test_every_lick_of_ours_reads_back_as_it_was() -> None:
    for lick in all_licks():
        assert replace(parse_lick(write_tab(lick), lick.id), file=lick.file) == lick, lick.id


def test_systems_are_narrow_enough_for_a_terminal() -> None:
    for lick in all_licks():
        assert max(map(len, write_systems(lick).splitlines())) <= WIDEST, lick.id
        assert write_tab(lick).endswith("\n\n" + write_systems(lick)), lick.id


def test_four_marks_at_one_place_take_a_wider_grid() -> None:
    # D falls to C#, G# to the drone's G, which is the next seven and is left as colour.
    system = """\
  E7                              A7
D|6-------------------------------|--------------------------------|
B|3-------------------------------|2---0---------------------------|
G|--------------------------------|--------------------------------|
D|--------------------------------|--------------------------------|
g|--------------------------------|0-------------------------------|
                                   r37x
"""
    lick = read(system, grid="4 columns an eighth")
    assert [a.marked for a in (*lick.sevenths, *lick.thirds)] == [True, True, True]
    assert "grid: 4" in write_tab(lick)
    assert parse_lick(write_tab(lick), lick.file) == lick


COLUMNS = 12
SYMBOLS = ("D7", "G", "A7", "C7", "F", "Bm", "E7", "G7", "C", "F#m7b5", "N.C.", "D")


@st.composite
def texts(draw: st.DrawFn) -> str:
    """A lick text on a wide grid, full of slurs, chokes, pinches and chords."""
    meter, eighths = draw(st.sampled_from([("2/2", 8), ("3/4", 6)]))
    pickup, bars, capo = draw(st.integers(0, 3)), draw(st.integers(1, 3)), draw(st.integers(0, 4))
    cells = pickup + bars * eighths
    rows = {string: ["-"] * (cells * COLUMNS) for string in range(1, 6)}
    held: dict[int, int] = {}
    chords = [" "] * (cells * COLUMNS)
    used = False
    for cell in range(cells):
        for string in draw(st.lists(st.integers(1, 5), max_size=3, unique=True)):
            fret = draw(st.integers(1, 15) if string < 5 else st.just(0))
            typed = draw(st.sampled_from(["{f}", "{f}h{u}", "{f}p0", "{f}s{u}", "{f}c{u}", "own", "0"]))
            before = held.get(string)
            if string == 5:
                typed = "{f}"
            if typed == "own":
                typed = "{f}" if before in (None, fret) else ("h{f}" if fret > (before or 0) else "p{f}")
                if before and before != fret and draw(st.booleans()):
                    typed = "s{f}"
            text = typed.format(f=fret, u=fret + 2)
            start = cell * COLUMNS - (text[0] in "hps")
            rows[string][start : start + len(text)] = text
            held[string] = {"{f}h{u}": fret + 2, "{f}s{u}": fret + 2, "{f}p0": 0, "0": 0}.get(typed, fret)
            used = True
        if draw(st.integers(0, 3)) == 0:
            symbol = draw(st.sampled_from(SYMBOLS))
            chords[cell * COLUMNS : cell * COLUMNS + len(symbol)] = symbol
    assume(used)
    lines = [(0, pickup), *((pickup + n * eighths, pickup + (n + 1) * eighths) for n in range(bars))]
    systems = []
    for start, end in [line for line in lines if line[0] < line[1]]:
        span = slice(start * COLUMNS, end * COLUMNS)
        strings = [f"{name}|{''.join(rows[n][span])}|" for n, name in enumerate("DBGDg", 1)]
        systems.append("\n".join(["  " + "".join(chords[span]), *strings]))
    header = {"grid": f"{COLUMNS} columns an eighth", "meter": meter, "capo": str(capo)}
    return lick_text("\n\n".join(systems), **header, pickup=f"{pickup} eighths" if pickup else "")


@st.composite
def marked_texts(draw: st.DrawFn) -> str:
    """The same with one kind of mark, where that mark says something."""
    text = draw(texts())
    lick = parse_lick(text, "x.lick")
    onset = {index: note.onset_quarters for index, note in enumerate(lick.notes)}
    under = {
        "*": list(onset.values()),
        "r": [a.place_quarters for a in lick.sevenths if a.place_quarters is not None],
        "3": [a.place_quarters for a in lick.thirds],
        "x": [onset[a.note] for a in lick.sevenths],
    }
    mark = draw(st.sampled_from([sign for sign in under if under[sign]]))
    place = draw(st.sampled_from(under[mark]))
    # A fret that is hammered or pulled inside its eighth stands two columns after its pick, or three.
    lines = text.split("\n")
    eighths_before = int(2 * (place + lick.pickup_quarters))
    a_bar = round(2 * lick.quarters_a_bar)
    pickup = round(2 * lick.pickup_quarters)
    if eighths_before < pickup:
        system, cell = 0, eighths_before
    else:
        bar, cell = divmod(eighths_before - pickup, a_bar)
        system = bar + (1 if pickup else 0)
    end = [i for i, line in enumerate(lines) if line.startswith("g|")][system]
    column = 2 + cell * COLUMNS
    if 2 * place != round(2 * place):
        inner = [
            re.search(r"(?<=[hp])\d", line[column : column + COLUMNS - 1])
            for line in lines[end - 4 : end + 1]
        ]
        column += min(found.start() for found in inner if found)
    lines.insert(end + 1, " " * column + mark)
    return "\n".join(lines)


@given(st.one_of(texts(), marked_texts()))
@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
def test_what_is_written_reads_back_the_same(text: str) -> None:
    lick = parse_lick(text, "x.lick")
    assert parse_lick(write_tab(lick), "x.lick") == lick
