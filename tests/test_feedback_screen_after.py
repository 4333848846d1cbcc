"""What is seen after a turn: the sentence, the roll print, the sevens, the tab, the choices, the seconds."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import pytest

from feedback.grid import Grid
from feedback.judges.whole import Circumstances, judge_pass
from feedback.nexttempo import eased, pushed
from feedback.performance import perform
from feedback.played import as_heard
from feedback.playstate import PlayState
from feedback.practice_report import turn_offer, turn_sentence
from feedback.practice_request import PracticeRequest
from feedback.rollprint import roll_print
from feedback.screen.after import picture as after_module
from feedback.screen.after.picture import after_picture
from feedback.screen.after.print import print_marks
from feedback.screen.after.sevens import sevens_marks, sign
from feedback.screen.lettering import signed
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Ring, Shape, Sheet, Text
from feedback.session import PassOver
from feedback.whereabouts import Went, whereabouts
from routines.excerpt import span_of
from routines.library import load
from routines.lick import Lick
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.pictures import check_picture
from tests.scores import A, judged

SHEETS = [Sheet(960, 720), Sheet(1280, 720), Sheet(1680, 720), Sheet(960, 900)]
HANGING, LATE = ("left-hanging",), ("resolution-late",)


def _passes(lick: Lick, tempo: float, mistakes: Sequence[Sequence[str]]) -> tuple[PassOver, ...]:
    found: list[PassOver] = []
    for number, names in enumerate(mistakes, start=1):
        played = perform(lick, tempo_half_bpm=tempo, mistakes=names, seed=number)
        grid = Grid(
            lick=lick,
            tempo_half_bpm=tempo,
            start_sec=played.start_sec,
            limits=PracticeRequest(lick=lick, tempo_half_bpm=tempo).limits,
        )
        earlier = [one for over in found for one in over.judged.played]
        found.append(
            PassOver(number=number, judged=judge_pass(grid, as_heard(played), Circumstances(earlier=earlier)))
        )
    return tuple(found)


@cache
def _state(name: str, *mistakes: Sequence[str], part: str = "", tempo: float = 88.0) -> PlayState:
    whole = load(name)
    span = span_of(part, whole) if part else None
    lick = span.of(whole) if span else whole
    request = PracticeRequest(lick=lick, tempo_half_bpm=tempo, span=span, whole=whole if span else None)
    done = _passes(lick, tempo, mistakes)
    return PlayState(
        request=request,
        phase="resting",
        turn=1,
        done=done,
        sentence=turn_sentence(request, done),
        offer=turn_offer(request, done),
        goes_on_sec=104.0,
    )


def _small(*slips: str, **more: object) -> PlayState:
    """A turn of a small lick that was played just so."""
    request = PracticeRequest(lick=A, tempo_half_bpm=150.0)
    done = tuple(PassOver(number=k, judged=judged(A, one)) for k, one in enumerate(slips, start=1))
    sentence = turn_sentence(request, done)
    return PlayState(request=request, phase="resting", turn=1, done=done, sentence=sentence, **more)  # type: ignore[arg-type]


def _seen(
    state: PlayState, sheet: Sheet = SHEETS[1], focus: str = "once more", sec: float = 101.5
) -> Picture:
    return after_picture(state, sec, sheet, focus)


def _text(picture: Picture) -> str:
    return " ".join(picture.texts)


def _rings(picture: Picture) -> list[Box]:
    return [m for m in picture.marks if isinstance(m, Box) and m.edge == "astray" and not m.fill and m.round]


STATES = {
    "hanging": lambda: _state("the-edgers-nod", HANGING, (), HANGING, ()),
    "one pass": lambda: _state("pond-mans-lean", ("seven-swallowed",)),
    "two passes": lambda: _state("kiln-door-ajar", ("uneven",), ("resolution-octave",)),
    "capo": lambda: _state("trimmers-choice", LATE, LATE, (), ("resolution-ahead",)),
    "pinches": lambda: _state("guide-tone-pinches", ("all-sevens-missing",), HANGING, (), ("uneven",)),
    "waltz": lambda: _state("log-deck-waltz", (), (), (), ()),
    "octaves": lambda: _state("tally-stick", *[("resolution-octave",)] * 3),
    "long words": lambda: _state(
        "index-led-roll", ("seven-missing",), ("seven-late",), (), ("seven-missing",)
    ),
    "loop": lambda: _state("slab-wood-supper", HANGING, (), (), (), part="change"),
    "six passes": lambda: _state("half-an-inch-of-kerf", *[("hurry-at-change",)] * 6),
    "unclear": lambda: _small("b1e8 sure 0.1", "b2e1 sure 0.1", "b1e2 -30ms; b1e3 +30ms"),
    "nothing heard": lambda: _small("all out", "all out"),
    "nothing played": lambda: _small(),
    "news": lambda: replace(_small(""), news="sound lost: the microphone was unplugged, trying again"),
    "over": lambda: replace(_small(""), phase="over", ended="nobody plays"),
    "rest": lambda: replace(_small(""), turn=6),
}


@in_turn("sheet", SHEETS, ids=lambda sheet: f"{sheet.wide:g}x{sheet.high:g}")
@in_turn("name", list(STATES))
def test_it_can_be_read_everywhere(name: str, sheet: Sheet) -> None:
    check_picture(_seen(STATES[name](), sheet))


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_it_can_be_read_for_every_lick(lick: Lick) -> None:
    check_picture(_seen(_state(lick.id, ("all-sevens-missing",), (), ("uneven",)), SHEETS[0]))


def test_the_sentence_is_the_largest_and_whole() -> None:
    for name in ("hanging", "long words", "nothing heard"):
        state = STATES[name]()
        for sheet in SHEETS:
            picture = _seen(state, sheet)
            texts = [m for m in picture.marks if isinstance(m, Text)]
            lines = [
                t for t in texts if t.size == texts[0].size and t.x == texts[0].x and t.y < 0.4 * sheet.high
            ]
            said = " ".join(t.text for t in lines)
            assert said.startswith(signed(state.sentence))
            assert len(lines) <= 4
            assert texts[0].size >= 28.0


def test_names_have_real_signs() -> None:
    text = _text(_seen(STATES["hanging"]()))
    assert "G over A7 to F♯" in text
    assert "F#" not in text


def test_each_choice_says_the_tempo_that_it_gives() -> None:
    picture = _seen(STATES["hanging"]())
    assert [(spot.does, spot.says) for spot in picture.spots] == [
        ("once more", "once more at 88"),
        ("ease", "ease to 81"),
        ("push", "push to 92"),
        ("another", "another lick"),
        ("the change alone", "the change alone, 70"),
    ]
    without = _seen(STATES["waltz"]())
    assert [spot.does for spot in without.spots] == ["once more", "ease", "push", "another"]
    assert (eased(88.0), pushed(88.0)) == (81.0, 92.0)


def test_the_focus_is_inked_over() -> None:
    for focus in ("ease", "the change alone"):
        picture = _seen(STATES["hanging"](), focus=focus)
        spot = next(one for one in picture.spots if one.does == focus)
        chosen = [m for m in picture.marks if isinstance(m, Box) and m.fill == "chosen"]
        assert [(m.x, m.wide) for m in chosen] == [(spot.x, spot.wide)]
    assert not [
        m for m in _seen(STATES["hanging"](), focus="").marks if isinstance(m, Box) and m.fill == "chosen"
    ]


def test_the_seconds_are_counted_down_in_one_place() -> None:
    state = STATES["hanging"]()
    at = {}
    for sec, said in ((100.0, "4"), (100.1, "4"), (101.0, "3"), (103.5, "1")):
        texts = [m for m in _seen(state, sec=sec).marks if isinstance(m, Text)]
        count = next(t for t in texts if t.text.startswith("goes on"))
        assert count.text == f"goes on in {said}"
        at[count.x, count.y] = True
    assert len(at) == 1
    assert "goes on" in _seen(state, sec=104.2).texts
    assert "waits for you" in _seen(replace(state, goes_on_sec=None)).texts


def test_the_foot_tells_what_else_goes_on() -> None:
    assert "nobody plays" in _seen(STATES["over"]()).texts
    assert "your last pass: listen" in _seen(replace(_small(""), phase="hearing again")).texts
    assert any(text.startswith("sound lost: the") for text in _seen(STATES["news"]()).texts)
    assert "key of B (as G, capo 4), 88 half notes a minute" in _text(_seen(STATES["capo"]()))


def test_a_rest_is_spoken_of_after_six_turns() -> None:
    for turn in range(14):
        found = [
            mark
            for mark in _seen(replace(_small(""), turn=turn)).marks
            if isinstance(mark, Text) and mark.text == "rest five minutes in thirty"
        ]
        assert bool(found) == (turn in (6, 12))
        assert all((mark.size >= READABLE, mark.ink, mark.minor) == (True, "ink", False) for mark in found)


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_rest_that_is_due_has_room_beside_the_longest_count(sheet: Sheet) -> None:
    waits = replace(STATES["hanging"](), turn=6, goes_on_sec=None)
    for state in (waits, replace(waits, goes_on_sec=700.0), replace(waits, phase="hearing again")):
        check_picture(_seen(state, sheet))


def test_what_the_sentence_is_about_is_ringed_in_its_bars() -> None:
    picture = _seen(STATES["hanging"]())
    rings = _rings(picture)
    assert len(rings) == 4  # two notes, doubled
    lick = load("the-edgers-nod")
    seven = lick.sevenths[0]
    inked = {(m.x, m.text) for m in picture.marks if isinstance(m, Text) and m.bold}
    middles = sorted({ring.x + ring.wide / 2 for ring in rings})
    frets = [next(text for x, text in inked if abs(x - middle) < 0.01) for middle in middles]
    assert frets == [
        str(lick.notes[index].fret) for index in (seven.note, seven.due_note) if index is not None
    ]


def test_praise_has_nothing_to_look_at_and_what_was_not_heard_shows_the_lick() -> None:
    assert "fingers" not in _text(_seen(STATES["waltz"]()))
    assert not _rings(_seen(STATES["waltz"]()))
    assert not [t for t in _seen(STATES["waltz"]()).texts if t == "g"]
    unheard = _seen(STATES["nothing heard"]())
    assert "g" in unheard.texts
    assert not _rings(unheard)


def test_another_sentence_than_the_advice_rings_nothing() -> None:
    state = replace(STATES["hanging"](), sentence="Something else.")
    assert not _rings(_seen(state))


def test_the_tab_goes_first_where_there_is_no_room() -> None:
    for sheet in SHEETS:
        texts = _seen(STATES["pinches"](), sheet).texts
        assert "D over E7 to C♯" in texts
    assert "g" not in _seen(STATES["pinches"](), Sheet(960, 720)).texts
    assert "g" in _seen(STATES["pinches"](), Sheet(960, 900)).texts


def test_the_same_state_gives_the_same_picture_whatever_was_drawn_before() -> None:
    first = _seen(STATES["hanging"]())
    _seen(STATES["capo"]())
    assert _seen(STATES["hanging"]()) == first
    other = _seen(STATES["hanging"](), Sheet(960, 720))
    assert other != first
    assert _seen(replace(STATES["hanging"](), sentence="Other words."), Sheet(960, 720)) != other
    state = STATES["hanging"]()
    fewer = replace(state, done=state.done[:3])
    assert _seen(state) == first
    assert _seen(fewer) != first


def test_what_stays_is_laid_out_once_and_kept_for_one_turn_only(monkeypatch: pytest.MonkeyPatch) -> None:
    laid: list[str] = []

    def sentence(text: str, sheet: Sheet, share: float) -> tuple[list[Mark], float]:
        laid.append(text)
        return [], 100.0

    monkeypatch.setattr(after_module, "_sentence", sentence)
    one, two = (replace(_small(""), sentence=said) for said in ("one", "two"))
    for state in (one, replace(one, goes_on_sec=103.0), replace(one, news="lost"), two, two, one):
        _seen(state, Sheet(1111, 720))
    assert laid == ["one", "two", "one"]
    others = replace(one, done=_small("").done)  # which are equal, but others
    _seen(others, Sheet(1111, 720))
    assert laid == ["one", "two", "one", "one"]
    _seen(replace(others, request=replace(others.request, passes=9)), Sheet(1111, 720))
    assert laid == ["one", "two", "one", "one", "one"]


# the sevens


def _sign(slips: str) -> list[Mark]:
    went = whereabouts(A, [PassOver(number=1, judged=judged(A, slips))])[-1].went[0]
    return sign(went, 0.0, 0.0)


def _inks(marks: Sequence[Mark]) -> set[str]:
    return {m.fill for m in marks if isinstance(m, Shape)} | {m.ink for m in marks if isinstance(m, Line)}


def test_each_fate_of_a_seven_has_a_sign_of_its_own() -> None:
    slips = {
        "resolved": "",
        "not heard": "b1e8 out",
        "swallowed": "b1e8 -9dB",
        "hanging": "b2e1 =1/0",
        "octave": "b2e1 =71",
        "late": "b2e1 +1e",
        "ahead": "b2e1 -0.8e",
        "off its place": "b1e8 +30ms",
        "unclear": "b1e8 sure 0.1",
        "due unclear": "b2e1 sure 0.1",
    }
    # Without its inks, by shape alone.
    shapes = {name: str([_plain(m) for m in _sign(played)]) for name, played in slips.items()}
    assert len(set(shapes.values())) == len(slips)


def _plain(mark: Mark) -> Mark:
    if isinstance(mark, Shape):
        return replace(mark, fill="ink" if mark.fill not in ("", "paper") else "", edge="")
    return replace(mark, edge="") if isinstance(mark, Ring | Box) else replace(mark, ink="ink")


def test_what_came_about_is_inked_and_what_did_not_is_dashed() -> None:
    resolved = _sign("")
    assert _inks(resolved) == {"landed"}
    assert not any(m.dashed for m in resolved if isinstance(m, Line))
    hanging = _sign("b2e1 =1/0")
    (slope,) = [m for m in hanging if isinstance(m, Line)]
    assert (slope.dashed, slope.ink) == (True, "astray")
    assert [m.fill for m in hanging if isinstance(m, Shape)] == ["landed"]
    crossed = _sign("b1e8 out")
    assert [m.fill for m in crossed if isinstance(m, Shape)] == ["paper"]
    assert len([m for m in crossed if isinstance(m, Line)]) == 2
    assert [m.text for m in _sign("b1e8 sure 0.1") if isinstance(m, Text)] == ["?"]
    assert [m.edge for m in _sign("b2e1 =71") if isinstance(m, Ring)] == ["astray"]
    assert _inks(_sign("b2e1 -0.8e")) == {"landed"}


def test_a_sign_scales_about_its_corner() -> None:
    went = Went(number=1, sounding="landed", resolution="resolved", due=True, as_asked=True)
    small, large = sign(went, 10.0, 20.0), sign(went, 10.0, 20.0, 2.0)
    for one, other in zip(small, large, strict=True):
        assert isinstance(one, Line | Shape)
        assert isinstance(other, Line | Shape)
        wide = [2 * (x - 10.0) for x, _ in one.points] + [2 * (y - 20.0) for _, y in one.points]
        twice = [x - 10.0 for x, _ in other.points] + [y - 20.0 for _, y in other.points]
        assert twice == pytest.approx(wide)


def test_there_is_a_sign_for_each_pass_and_a_word() -> None:
    rows = whereabouts(
        A, [PassOver(number=k, judged=judged(A, "b2e1 =1/0" if k == 2 else "")) for k in (1, 2, 3)]
    )
    marks = sevens_marks(rows[-1:], 0.0, 0.0, 500.0, 80.0, 1)
    assert [m.text for m in marks if isinstance(m, Text)] == ["C over D7 to B", "left hanging", "1 of 3"]
    assert len([m for m in marks if isinstance(m, Shape)]) == 3
    assert len([m for m in marks if isinstance(m, Line) and m.dashed]) == 1


# the roll print


def _print(*slips: str, wide: float = 400.0) -> list[Mark]:
    found = roll_print(A, [PassOver(number=k, judged=judged(A, one)) for k, one in enumerate(slips, start=1)])
    assert found is not None
    return print_marks(found, 0.0, 0.0, wide, 300.0)


def _nicks(marks: Sequence[Mark]) -> list[Box | Shape]:
    boxes = [m for m in marks if isinstance(m, Box) and m.fill == "landed"]
    wedges = [m for m in marks if isinstance(m, Shape) and m.edge == "astray"]
    return [*boxes, *wedges]


def test_every_answered_note_is_a_nick() -> None:
    assert len(_nicks(_print("", ""))) == 2 * len(A.notes)
    assert len(_nicks(_print("b1e3 out"))) == len(A.notes) - 1
    early = [m for m in _print("b1e3 -30ms") if isinstance(m, Shape) and m.edge == "astray"]
    late = [m for m in _print("b1e3 +30ms") if isinstance(m, Shape) and m.edge == "astray"]
    assert early[0].points[0][0] < early[0].points[1][0]  # points to the left
    assert late[0].points[0][0] > late[0].points[1][0]


def test_one_pass_tells_too_little_of_the_fingers() -> None:
    assert any(isinstance(m, Text) and m.text == "too few notes to tell" for m in _print("", wide=340.0))


def test_a_nick_lies_to_its_side_as_far_as_it_was_off() -> None:
    def x_of(slips: str) -> float:
        columns = [m for m in _print(slips) if isinstance(m, Box) and m.fill == "landed"]
        # the third column reaches from 100 to 150
        return min(m.x + m.wide / 2 for m in columns if 100 <= m.x + m.wide / 2 < 150)

    middle, sooner, soonest = x_of(""), x_of("b1e3 -10ms"), x_of("b1e3 -20ms")
    assert middle == pytest.approx(125.0)
    assert middle - soonest == pytest.approx(2 * (middle - sooner))


def test_no_two_nicks_of_a_column_lie_over_one_another() -> None:
    boxes = [m for m in _print("", "", "", "") if isinstance(m, Box) and m.fill == "landed"]
    column = sorted(m.y for m in boxes if m.x < 50)
    assert len(column) == 8
    assert all(b - a >= boxes[0].high for a, b in itertools.pairwise(column))
    assert min(column) >= 40.0


def test_a_leaning_finger_has_its_letter_marked() -> None:
    fingers = ("TIMTIMTI" * 2)[: len(A.notes)]
    lick = replace(A, notes=tuple(replace(n, finger=f) for n, f in zip(A.notes, fingers, strict=True)))
    slips = "each " + " ".join("14" if n.finger == "M" else "0" for n in lick.notes)
    done = [PassOver(number=k, judged=judged(lick, slips)) for k in (1, 2, 3)]
    found = roll_print(lick, done)
    assert found is not None
    marks = print_marks(found, 0.0, 0.0, 600.0, 300.0)
    letters = [m for m in marks if isinstance(m, Text) and m.anchor == "center"]
    marked = {m.text for m in letters if m.bold}
    assert marked == {"M"}
    assert {m.text for m in letters if not m.bold} == {"T", "I"}
    assert any(isinstance(m, Text) and m.text.startswith("middle leans") for m in marks)
    arrows = [
        m
        for m in marks
        if isinstance(m, Shape) and m.fill == "astray" and not m.edge and m.points[0][1] > 260
    ]
    assert arrows
    assert all(m.points[0][0] > m.points[1][0] for m in arrows)
