"""Neck and chord: what is told, where it lies, and what every choice changes."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache

import pytest

from feedback.screen.frame import Frame
from feedback.screen.inks import READ_ON
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Line, Picture, Ring, Shape, Sheet, Text
from feedback.screen.neck.arrows import arrow
from feedback.screen.neck.board import Board
from feedback.screen.neck.choices import ROWS, values
from feedback.screen.neck.picture import NeckState, fitting_sheet, neck_picture
from feedback.screen.neck.shapes import Size, drawn, outline
from feedback.screen.neck.state import paths, tones
from feedback.screen.neck.words import facts
from feedback.screen.screens.neck_and_chord import NeckAndChord, enter
from feedback.screen.staging import House
from routines.errors import BadRoutine
from routines.neck import FifthString, Neck, Place
from tests.in_turn import in_turn
from tests.pictures import check_picture, reaching

SHEETS = (Sheet(960, 720), Sheet(1280, 720), Sheet(1680, 720), Sheet(960, 900))
STATES = (
    NeckState(),
    NeckState(symbol="A7", capo=2),
    NeckState(symbol="E7"),
    NeckState(symbol="C7", left_handed=True),
    NeckState(symbol="Bb7", capo=3),
    NeckState(symbol="A7", tuning="gDGCD"),
    NeckState(symbol="F#7", tuning="aDF#AD"),
    NeckState(symbol="Cb7"),
    NeckState(symbol="D7", next_symbol="Gm"),
    NeckState(symbol="C#m7b5", next_symbol="F#7", capo=7, tuning="f#DF#AD"),
    NeckState(symbol="Gb7", first_fret=5, frets_shown=13),
    NeckState(symbol="D7", first_fret=10, frets_shown=13, left_handed=True),
    NeckState(symbol="C9", capo=12),
    NeckState(symbol="F#dim7", frets_shown=5),
    NeckState(symbol="D#m7b5", next_symbol="G#m7b5", capo=7, tuning="f#DF#AD"),
    NeckState(symbol="A7", capo=2, left_handed=True),
    NeckState(symbol="G#7sus4", next_symbol="G#7sus4", capo=12, tuning="f#DF#AD"),
)


_places = cache(Neck.places)


def a_house(neck: str = "right") -> House:
    values: dict[str, str | float] = {"neck": neck, "pedal_next": "page down", "pedal_choose": "page up"}
    return House(values=values, clock=lambda: 0.0)


def board_of(state: NeckState) -> Board:
    return Board(state=state, left=24.0, right=1228.0, top=140.0, row=80.0)


def box_of(text: Text) -> tuple[float, float, float, float]:
    """Left, right, top and bottom of what is inked of a text."""
    wide = width(text.text, text.size, text.bold)
    left = text.x - {"left": 0.0, "center": 0.5, "right": 1.0}[text.anchor] * wide
    return left, left + wide, text.y - 0.73 * text.size, text.y


@cache
def pictures() -> list[Picture]:
    return [
        *(neck_picture(state, sheet) for state in STATES for sheet in SHEETS),
        *(NeckAndChord(a_house(), state).picture(sheet, "row root") for state in STATES for sheet in SHEETS),
    ]


def test_texts_lie_on_the_sheet_apart_and_can_be_read() -> None:
    for picture in pictures():
        check_picture(picture)
        texts = [mark for mark in picture.marks if isinstance(mark, Text)]
        for text in texts:
            left, right, top, bottom = box_of(text)
            assert 0 <= left <= right <= picture.sheet.wide, text
            assert 0 <= top <= bottom <= picture.sheet.high, text
            assert text.minor or text.size >= READABLE, text
            assert (text.ink, text.on) in READ_ON, text
            assert not {"#", "b5"} & {text.text[1:2], text.text[-2:]}, text
        boxes = [(left, top, right, bottom) for left, right, top, bottom in map(box_of, texts)]
        assert [(texts[one], texts[other]) for one, other in reaching(boxes, 0.0)] == []


def test_what_can_be_chosen_lies_under_the_neck_and_apart() -> None:
    for sheet in SHEETS:
        screen = NeckAndChord(a_house(), NeckState())
        for name in ROWS:
            screen.act(f"row {name}")
            picture = screen.picture(sheet, "")
            neck = max(y for mark in picture.marks if isinstance(mark, Shape) for _, y in mark.points)
            for spot in picture.spots:
                assert neck < spot.y
                assert spot.x >= 0
                assert spot.x + spot.wide <= sheet.wide
                assert width(spot.says, READABLE, True) <= spot.wide - 8
            for one, other in itertools.combinations(picture.spots, 2):
                assert one.y != other.y or one.x + one.wide <= other.x


def test_d7_in_open_g() -> None:
    state = NeckState()
    at = {placed.place: (placed.function, str(placed.tone), placed.reached) for placed in tones(state)}
    assert at[Place(2, 1)] == ("seven", "C", False)
    assert at[Place(2, 0)] == ("third", "B", True)
    assert at[Place(1, 4)] == ("third", "F#", False)
    assert at[Place(1, 5)] == ("root", "G", True)
    assert at[Place(1, 0)] == ("root", "D", False)
    assert Place(3, 0) not in at  # the open G belongs to neither: nothing leads to it on its string
    ways = {(str(path.here), str(path.there)) for path in paths(state)}
    falls = {("1/10", "1/9"), ("2/1", "2/0"), ("3/5", "3/4"), ("4/10", "4/9"), ("5/10", "5/9")}
    rises = {("1/4", "1/5"), ("2/7", "2/8"), ("3/11", "3/12"), ("4/4", "4/5")}
    assert ways == falls | rises
    assert facts(state) == [
        "♭7 C falls to B, 3rd of G",
        "3rd F♯ rises to G, root",
        "root D",
        "5th A",
        "open fifth string G: what F♯ rises to",
    ]


@in_turn(
    ("state", "said"),
    [
        (NeckState(symbol="E7"), "open fifth string G: clashes with G♯"),
        (NeckState(symbol="D"), "open fifth string G: rubs on F♯"),
        (NeckState(symbol="A7"), "open fifth string G: the ♭7"),
        (NeckState(symbol="F"), "open fifth string G: no tone of F"),
        (NeckState(symbol="D7", next_symbol="G7"), "3rd F♯ falls to F, ♭7 of G7"),
        (NeckState(symbol="D7", next_symbol="Gm"), "♭7 C falls to B♭, 3rd of Gm"),
        (NeckState(symbol="D7", next_symbol="C"), "♭7 C is held, in C"),
        (NeckState(symbol="Cb7"), "♭7 B♭♭ falls to A♭, 3rd of F♭"),
        (NeckState(symbol="C#7"), "3rd E♯ rises to F♯, root"),
        (NeckState(symbol="Am7"), "♭7 G"),
        (NeckState(symbol="Am7", next_symbol="D7"), "♭7 G falls to F♯, 3rd of D7"),
        (NeckState(symbol="E7", capo=2), "♭7 C falls to B, 3rd of G"),
        (NeckState(symbol="E7", capo=2, next_symbol="Am"), "♭7 C falls to B♭, 3rd of Gm"),
        (NeckState(symbol="F#dim7"), "diminished 7 E♭"),
    ],
)
def test_what_is_said(state: NeckState, said: str) -> None:
    assert said in facts(state)
    assert said in neck_picture(state, Sheet()).texts


def test_the_heading_names_the_shape_and_what_sounds() -> None:
    texts = neck_picture(NeckState(symbol="Bb7", capo=3, next_symbol="Ebm"), Sheet()).texts
    assert texts[:4] == ("G7", "then Cm", "sounds B♭7", "capo 3 · tuning gDGBD")
    assert neck_picture(NeckState(symbol="Dm"), Sheet()).texts[:2] == ("Dm", "tuning gDGBD")


def test_a_long_heading_is_set_closer_and_nothing_of_it_left_out() -> None:
    state = NeckState(symbol="D#m7b5", next_symbol="G#m7b5", capo=7, tuning="f#DF#AD")
    assert "capo 7 · tuning f♯DF♯AD" in neck_picture(state, Sheet()).texts
    texts = neck_picture(state, Sheet(960, 720)).texts
    assert texts[:4] == ("G♯m7♭5", "then C♯m7♭5", "sounds D♯m7♭5", "capo 7 · f♯DF♯AD")


def test_frets_come_closer_by_the_twelfth_root_of_two_and_tab_counts_from_the_capo() -> None:
    for capo in (0, 3):
        board = board_of(NeckState(capo=capo))
        columns = [board.wire(n) - board.wire(n - 1) for n in range(1, 13)]
        for wide, narrow in itertools.pairwise(columns):
            assert wide / narrow == pytest.approx(2 ** (1 / 12))
        assert board.wire(0) == pytest.approx(board.nut)
    for capo in (0, 2):
        picture = neck_picture(NeckState(capo=capo), Sheet())
        inlays = {mark.x for mark in picture.marks if isinstance(mark, Ring) and not mark.fill}
        at = {
            mark.text
            for mark in picture.marks
            if isinstance(mark, Text) and mark.x in inlays and mark.text.isdecimal()
        }
        assert at == {str(n) for n in range(1, 13) if n + capo in (3, 5, 7, 10, 12)}


def test_open_strings_lie_before_the_nut_and_the_open_fifth_before_its_own() -> None:
    board = board_of(NeckState())
    assert [board.string(n) for n in (1, 2, 3, 4, 5)] == sorted(board.string(n) for n in (1, 2, 3, 4, 5))
    assert board.at(Place(3, 0))[0] < board.nut < board.at(Place(3, 1))[0]
    assert board.wire(4) < board.at(Place(5, 0))[0] < board.wire(5) < board.at(Place(5, 6))[0]
    spiked = board_of(NeckState(capo=2))
    assert spiked.wire(4) < spiked.at(Place(5, 0))[0] < spiked.wire(5)
    pegged = board_of(NeckState(capo=2, fifth=FifthString(69, "peg")))
    assert pegged.wire(2) < pegged.at(Place(5, 0))[0] < pegged.wire(3)
    behind = board_of(NeckState(capo=7, fifth=FifthString(67, "plain")))
    assert behind.at(Place(5, 0))[0] < behind.nut


def test_a_capo_is_drawn_with_its_real_fret() -> None:
    assert "capo 2" in neck_picture(NeckState(capo=2), Sheet()).texts
    assert not any("capo" in text for text in neck_picture(NeckState(), Sheet()).texts)


def test_open_strings_without_a_tone_are_named_by_their_letters_of_the_shape() -> None:
    def letters(state: NeckState) -> list[str]:
        texts = [mark for mark in neck_picture(state, Sheet()).marks if isinstance(mark, Text)]
        names = [mark for mark in texts if mark.text.lower() in ("a", "b", "c", "d", "g", "f♯")]
        return [mark.text for mark in names if (mark.on == "paper" and not mark.bold) or mark.text.islower()]

    assert letters(NeckState(symbol="D7")) == ["G", "g"]
    assert letters(NeckState(symbol="E7", capo=2)) == ["G", "g"]
    assert letters(NeckState(symbol="Bb7", tuning="f#DF#AD")) == ["A", "F♯", "f♯"]


def test_functions_are_shapes() -> None:
    size = Size(60.0, 50.0)
    third, seven = outline("third", 0, 0, size), outline("seven", 0, 0, size)
    assert min(third, key=lambda p: p[1])[0] == 0 == max(seven, key=lambda p: p[1])[0]
    assert {len(outline(name, 0, 0, size)) for name in ("third", "seven")} == {3}
    root, fifth = outline("root", 0, 0, size), outline("fifth", 0, 0, size)
    assert root[1][0] - root[0][0] == pytest.approx(root[2][1] - root[1][1])
    assert fifth[1][0] - fifth[0][0] > 1.4 * (fifth[2][1] - fifth[1][1])
    assert len({outline(name, 0, 0, size) for name in ("root", "third", "fifth", "seven", "ninth")}) == 5


def test_own_tones_are_filled_the_seven_strongest_and_those_reached_are_open() -> None:
    size = Size(60.0, 50.0)
    shapes = {
        (name, reached): mark
        for name in ("root", "third", "fifth", "seven")
        for reached in (False, True)
        for mark in drawn(name, 0, 0, size, "C", reached=reached)
        if isinstance(mark, Shape)
    }
    assert {shapes[name, True].fill for name in ("root", "third", "fifth", "seven")} == {"paper"}
    assert shapes["seven", False].fill == "seven"
    assert shapes["third", False].fill == "third"
    heaviest = max(shapes, key=lambda key: shapes[key].thick)
    assert heaviest == ("seven", False)


def ends(marks: list[object]) -> tuple[tuple[float, float], bool]:
    """Where an arrow points to, and whether it is heavy."""
    heads = [mark for mark in marks if isinstance(mark, Shape)]
    if heads:
        return heads[-1].points[0], True
    return [mark for mark in marks if isinstance(mark, Line)][-1].points[1], False


@in_turn("state", STATES)
def test_arrows_lead_to_where_they_should_heavy_for_a_fall(state: NeckState) -> None:
    board, size = board_of(state), Size(60.0, 50.0)
    for path in paths(state):
        marks = arrow(board, path, size)
        if not state.shows(path.there):
            continue
        (x, y), heavy = ends(list(marks))
        goal = board.at(path.there)
        assert heavy == (path.move.half_steps < 0)
        assert abs(x - goal[0]) <= 0.5 * size.wide
        assert abs(y - goal[1]) <= 0.25 * size.high
        far = abs(x - board.at(path.here)[0])
        assert path.here.string != path.there.string or far < abs(goal[0] - board.at(path.here)[0])


@in_turn("state", STATES)
def test_no_arrow_crosses_a_name(state: NeckState) -> None:
    picture = neck_picture(state, Sheet())
    names = [m for m in picture.marks if isinstance(m, Text) and m.anchor == "center" and m.y < 560]
    lines = [m for m in picture.marks if isinstance(m, Line) and m.ink == "ink" and m.thick < 9]
    assert lines or not paths(state)
    for line, name in itertools.product(lines, names):
        left, right, top, bottom = box_of(name)
        for step in range(21):
            (x1, y1), (x2, y2) = line.points
            x, y = x1 + (x2 - x1) * step / 20, y1 + (y2 - y1) * step / 20
            assert not (left < x < right and top < y < bottom), (line, name)


def test_a_fall_out_of_the_picture_names_where_it_goes() -> None:
    state = NeckState(symbol="D7", first_fret=5, frets_shown=13)
    path = next(path for path in paths(state) if str(path.here) == "3/5")
    marks = arrow(board_of(state), path, Size(60.0, 50.0))
    assert [mark.text for mark in marks if isinstance(mark, Text)] == ["B"]
    assert max(mark.x for mark in marks if isinstance(mark, Text)) < board_of(state).nut


def test_left_handed_turns_the_neck_and_nothing_else() -> None:
    right = neck_picture(NeckState(capo=2), Sheet())
    left = neck_picture(NeckState(capo=2, left_handed=True), Sheet())
    assert right.texts == left.texts
    turned = 0
    for one, other in zip(right.marks, left.marks, strict=True):
        if isinstance(one, Text) and isinstance(other, Text):
            (begin, end, *_), (turned_begin, turned_end, *_) = box_of(one), box_of(other)
            if one.x != other.x:
                assert (turned_begin, turned_end) == pytest.approx((1280 - end, 1280 - begin))
                turned += 1
        if isinstance(one, Box) and isinstance(other, Box):
            assert other.x == pytest.approx(1280 - one.x - one.wide)
    assert turned > 20
    capo = [
        mark.x for mark in (*right.marks, *left.marks) if isinstance(mark, Text) and mark.text == "capo 2"
    ]
    assert capo[0] < 640 < capo[1]
    assert right.marks[0] == left.marks[0]


def test_frets_that_are_shown() -> None:
    state = NeckState(symbol="D7", first_fret=5, frets_shown=8)
    assert state.last_fret == 12
    assert {placed.place.fret for placed in tones(state)} <= {*range(5, 13)}
    assert NeckState(frets_shown=22, capo=4).last_fret == 18
    wide = fitting_sheet(NeckState(frets_shown=22)).wide
    assert wide > fitting_sheet(NeckState()).wide == 1280
    for bad in ({"first_fret": 23}, {"first_fret": -1}, {"frets_shown": 0}, {"symbol": "H7"}, {"capo": 13}):
        with pytest.raises(BadRoutine):
            NeckState(**bad)


def test_the_screen_opens_on_d7_a_chord_or_a_state() -> None:
    assert enter(a_house()).state == NeckState()
    assert enter(a_house(), "Bb7").state.symbol == "Bb7"
    state = NeckState(symbol="E7", capo=2)
    assert enter(a_house(), state).state is state
    with pytest.raises(BadRoutine):
        enter(a_house(), "H7")


def test_the_setting_turns_the_neck() -> None:
    right, left = (enter(a_house(neck)).picture(Sheet(), "") for neck in ("right", "left"))
    assert right.marks != left.marks
    assert right.spots == left.spots


@in_turn(
    ("acts", "expected"),
    [
        (["root E♭"], {"symbol": "Eb7"}),
        (["row kind", "kind m7"], {"symbol": "Dm7"}),
        (["row kind", "kind major"], {"symbol": "D"}),
        (["row then", "then G7"], {"next_symbol": "G7"}),
        (["then G7", "root C"], {"symbol": "C7", "next_symbol": "F7"}),
        (["row capo", "capo 2"], {"symbol": "E7", "capo": 2}),
        (["capo 2", "root G"], {"symbol": "A7", "capo": 2}),
        (["capo 2", "then Gm"], {"symbol": "E7", "capo": 2, "next_symbol": "Am"}),
        (["then Gm", "capo 2"], {"symbol": "E7", "capo": 2, "next_symbol": "Am"}),
        (["capo 3", "capo none"], {"symbol": "D7"}),
        (["tuning gCGCD"], {"tuning": "gCGCD"}),
        (["frets 5–17"], {"first_fret": 5, "frets_shown": 13}),
        (["frets 10–22", "capo 7"], {"symbol": "A7", "capo": 7, "first_fret": 10, "frets_shown": 13}),
        (["nothing of this", "root H"], {}),
    ],
)  # fmt: skip
def test_a_choice_changes_itself_alone(acts: list[str], expected: dict[str, object]) -> None:
    screen = enter(a_house())
    for does in acts:
        assert screen.act(does) is None
    assert screen.state == replace(NeckState(), **expected)


@pytest.mark.parametrize("state", STATES)
def test_every_value_of_every_row_can_be_drawn_and_one_at_most_holds(
    state: NeckState, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A few necks are asked for the places of their pitches some thousand times.
    monkeypatch.setattr(Neck, "places", _places)
    for name in ROWS:
        offered = values(state, name)
        assert len({value.says for value in offered}) == len(offered), name
        assert sum(value.makes == state for value in offered) <= 1
        for value in offered:
            assert tones(value.makes)
            back = values(value.makes, name)
            assert [other.says for other in back if other.makes == value.makes] == [value.says]


def test_roots_by_letters() -> None:
    screen = enter(a_house())
    for key, symbol in (
        ("A", "A7"),
        ("#", "Bb7"),
        ("#", "B7"),
        ("#", "C7"),
        ("b", "B7"),
        ("g", "G7"),
        ("#", "Ab7"),
    ):
        assert screen.press(key) is True
        assert screen.state.symbol == symbol
    for key in ("up", "h", "H", "enter", "f5"):
        assert screen.press(key) is False
    assert screen.tick() is None
    screen.close()


def test_all_of_it_by_keys() -> None:
    frame = Frame(a_house(), "neck and chord", "A7")
    frame.picture(Sheet())
    for key in ("tab", "tab", "tab", "enter", "down"):
        frame.press(key)
        frame.picture(Sheet())
    assert frame.focus.startswith("capo ")
    frame.press("enter")
    screen = frame.screen
    assert isinstance(screen, NeckAndChord)
    assert screen.state.capo == int(frame.focus.removeprefix("capo "))
    assert screen.state.capo > 0
    frame.press("escape")
    assert frame.done


def test_what_holds_is_marked_by_more_than_colour() -> None:
    picture = enter(a_house()).picture(Sheet(), "")
    bold = [mark.text for mark in picture.marks if isinstance(mark, Text) and mark.y > 564 and mark.bold]
    assert bold == ["root", "D"]
    focused = enter(a_house()).picture(Sheet(), "root G")
    assert len(focused.marks) == len(picture.marks) + 1
