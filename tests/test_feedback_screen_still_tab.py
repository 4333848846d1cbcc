"""A standing tab: what is written where, and that nothing touches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import pytest

from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Sheet, Text
from feedback.screen.still.fit import bars_of, least_eighth, left_wide, shared_out
from feedback.screen.still.tab import still_tab
from routines.library import load
from routines.lick import Lick
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.pictures import check_picture
from tests.scores import A, lick

SLURS = lick("2/10h2/12 5/0 2/10s2/12 3/9+1/9 1/10c12 2/8 p2/7 1/12 | 2/1c2 1/0 5/0 3/0", "Bb7 Eb")


def _drawn(of: Lick, wide: float = 880.0, **more: object) -> tuple[list[Mark], float]:
    return still_tab(of, x=40.0, y=30.0, wide=wide, **more)  # type: ignore[arg-type]


def _texts(marks: Sequence[Mark], **wanted: object) -> list[Text]:
    found = [mark for mark in marks if isinstance(mark, Text)]
    return [text for text in found if all(getattr(text, name) == value for name, value in wanted.items())]


def _frets(marks: Sequence[Mark]) -> list[Text]:
    return [text for text in _texts(marks, bold=True) if text.text.isdigit()]


def _counts(marks: Sequence[Mark]) -> list[Text]:
    """The numbers of bars."""
    return [text for text in _texts(marks, ink="faint", bold=False) if text.text.isdigit()]


def _strings(marks: Sequence[Mark]) -> list[float]:
    """How high the lines of the first system lie, from the top."""
    lines = [m for m in marks if isinstance(m, Line) and m.ink == "rule"]
    return [line.points[0][1] for line in lines[:5]]


@in_turn("of", [*few_licks(), A, SLURS], ids=lambda of: of.id)
@in_turn("wide", [960.0, 1280.0, 1680.0])
def test_nothing_touches_or_leaves_its_room(of: Lick, wide: float) -> None:
    ringed = {index for ask in of.sevenths for index in (ask.note, ask.due_note) if index is not None}
    marks, lower = _drawn(of, wide - 80.0, ringed=ringed)
    picture = Picture(Sheet(wide, lower), tuple(marks))
    check_picture(picture)
    right = [m.points[-1][0] for m in marks if isinstance(m, Line)]
    assert max(right) <= wide - 40.0 + 0.01
    for string in range(5):
        row = sorted((t.x, width(t.text, t.size, True)) for t in _frets(marks) if _on(marks, t) == string)
        for (x1, wide1), (x2, wide2) in itertools.pairwise(row):
            assert x2 - x1 >= 1.05 * (wide1 + wide2) / 2


def _on(marks: Sequence[Mark], fret: Text) -> int | None:
    middle = fret.y - 0.365 * fret.size
    return next((k for k, y in enumerate(_strings(marks)) if abs(y - middle) < 1.0), None)


def test_every_note_stands_on_its_string_in_its_order() -> None:
    marks, _ = _drawn(A, 880.0)
    frets = sorted(_frets(marks), key=lambda text: text.x)
    assert [text.text for text in frets] == [str(note.fret) for note in A.notes]
    assert [_on(marks, text) for text in frets] == [note.string - 1 for note in A.notes]
    apart = [b.x - a.x for a, b in itertools.pairwise(frets)]
    assert apart[0] == pytest.approx(apart[1])
    assert apart[7] > apart[0]  # over the bar line


def test_string_one_is_on_top_and_named() -> None:
    marks, _ = _drawn(A)
    assert _strings(marks) == sorted(_strings(marks))
    named = [t.text for t in _texts(marks, ink="faint", minor=False, anchor="left")]
    assert named == ["D", "B", "G", "D", "g"]


def test_fingers_stand_below_where_asked() -> None:
    marks, lower = _drawn(A)
    without, less = _drawn(A, fingers=False)
    bottom = _strings(marks)[-1]
    below = [t.text for t in _texts(marks) if t.y > bottom + 20]
    assert below == [note.finger for note in A.notes]
    assert not [t for t in _texts(without) if t.y > bottom + 20]
    assert less < lower


def _rings(marks: Sequence[Mark]) -> list[Box]:
    return sorted((m for m in marks if isinstance(m, Box) and m.edge == "faint"), key=lambda m: m.x)


def test_the_left_hand_stands_below_the_letters_where_a_string_is_stopped() -> None:
    marks, lower = _drawn(A, left=[1 + index % 4 if note.fret else 0 for index, note in enumerate(A.notes)])
    letters = _texts(marks, ink="faint", anchor="center")
    rings = _rings(marks)
    frets = sorted(_frets(marks), key=lambda text: text.x)
    stopped = [text.x for text in frets if text.text != "0"]
    assert 0 < len(stopped) < len(frets)
    assert [ring.x + ring.wide / 2 for ring in rings] == pytest.approx(stopped)
    assert min(ring.y for ring in rings) > max(text.y for text in letters)
    assert max(ring.y + ring.high for ring in rings) == pytest.approx(lower)
    inside = [
        next(t for t in _texts(marks, ink="ink") if ring.y < t.y and t.x == ring.x + ring.wide / 2)
        for ring in rings
    ]
    assert [t.text for t in inside] == [str(1 + k % 4) for k, note in enumerate(A.notes) if note.fret]
    assert min(t.size for t in inside) >= READABLE
    assert not _rings(_drawn(A)[0])
    assert _drawn(A)[1] < lower


def test_left_fingers_that_are_close_do_not_touch_and_the_thumb_is_a_letter() -> None:
    close = lick("5/7+1/3 5/7+1/3 2/1 h2/3 2/1 s2/3", "G7")
    assert len(close.notes) == 8
    left = [5 if note.string == 5 else 1 if note.fret < 3 else 3 for note in close.notes]
    marks, _ = _drawn(close, 900.0, left=left, size=36.0, line_gap=44.0)
    rings = _rings(marks)
    assert all(a.x + a.wide < b.x for a, b in itertools.pairwise(rings))
    bar = bars_of(close, 1, 1)
    assert (
        least_eighth(close, bar, 28.0, (), left) > left_wide("T3", 28.0) > least_eighth(close, bar, 28.0, ())
    )
    said = [t.text for t in sorted(_texts(marks, ink="ink", bold=False, minor=False), key=lambda t: t.x)]
    assert said == ["T3", "T3", "1", "3", "1"]  # the finger that slides is known


def test_a_pinch_has_its_fingers_side_by_side() -> None:
    marks, _ = _drawn(load("first-log-up"))
    assert "TM" in [t.text for t in _texts(marks)]


def test_chords_stand_over_the_places_where_they_begin_as_the_hand_shapes_them() -> None:
    marks, _ = _drawn(load("trimmers-choice"))
    frets = sorted(_frets(marks), key=lambda text: text.x)
    chords = [t for t in _texts(marks, bold=True) if not t.text.isdigit()]
    assert [t.text for t in chords] == ["D7", "G"]
    notes = load("trimmers-choice").notes
    downbeat = frets[sum(note.onset_quarters < 4.0 for note in notes) + 1].x  # one slide shows two frets
    assert abs(chords[1].x - downbeat) < 15


def test_accidentals_are_real_signs() -> None:
    marks, _ = _drawn(SLURS)
    assert "B♭7" in [t.text for t in _texts(marks)]


def test_slurs_and_chokes_have_their_letters() -> None:
    marks, _ = _drawn(SLURS)
    letters = [t.text for t in _texts(marks, minor=True) if not t.text.isdigit()]
    assert letters == ["h", "s", "c12", "p", "c"]
    arcs = [m for m in marks if isinstance(m, Line) and len(m.points) > 2]
    assert len(arcs) == 5
    frets = [t.text for t in sorted(_frets(marks), key=lambda t: (t.y > 300, t.x))]
    assert frets[:4] == ["10", "12", "0", "10"]
    assert frets[4] == "12"


def test_ringed_notes_have_a_doubled_ring_and_only_they() -> None:
    marks, _ = _drawn(A, ringed=(7, 8))
    rings = [m for m in marks if isinstance(m, Box) and m.edge == "astray"]
    assert len(rings) == 4
    frets = sorted(_frets(marks), key=lambda text: text.x)
    middles = {round(m.x + m.wide / 2) for m in rings}
    assert middles == {round(frets[7].x), round(frets[8].x)}
    assert not [m for m in _drawn(A)[0] if isinstance(m, Box) and m.edge]


def test_rings_do_not_reach_into_their_neighbours() -> None:
    close = lick("2/10h2/12 5/0 2/10 p2/9 2/0 . 2/1 2/2", "Bb7")
    marks, _ = _drawn(close, 1600.0, ringed=(0, 1, 3, 4, 5, 6, 7))
    outer = sorted(
        {(m.x, m.x + m.wide) for m in marks if isinstance(m, Box) and m.edge and m.high > 2 * 0.6 * 28}
    )
    assert len(outer) == 7
    assert all(right <= left for (_, right), (left, _) in itertools.pairwise(outer))
    assert min(right - left for left, right in outer) > width("0", 28.0, True) + 10


def test_a_pickup_stands_before_bar_1() -> None:
    marks, _ = _drawn(load("first-log-up"), 1200.0)
    upright = sorted(m.points[0][0] for m in marks if isinstance(m, Line) and m.thick == 3.0)
    assert len([t for t in _frets(marks) if t.x < upright[1]]) == 3
    assert _counts(marks) == []


def test_bars_can_be_chosen_and_are_numbered() -> None:
    marks, _ = _drawn(load("guide-tone-pinches"), first_bar=3, bars=2)
    assert [t.text for t in _counts(marks)] == ["3"]
    assert _counts(marks)[0].size >= READABLE
    inside = [n for n in load("guide-tone-pinches").notes if 8.0 <= n.onset_quarters < 16.0]
    assert len(_frets(marks)) == len(inside)
    for first, bars in ((0, 1), (6, 2), (1, 0), (7, None)):
        with pytest.raises(ValueError, match="it has bars 1 to 6"):
            _drawn(load("guide-tone-pinches"), first_bar=first, bars=bars)


def test_long_licks_break_into_systems_and_name_the_chord_again() -> None:
    of = load("guide-tone-pinches")
    _, one = _drawn(of, first_bar=1, bars=1)
    marks, lower = _drawn(of, 880.0)
    assert lower > 2.5 * (one - 30.0)
    assert [t.text for t in _counts(marks)] == ["3", "5"]
    ends = [m.points[0] for m in marks if isinstance(m, Line) and m.ink == "rule"][::5]
    assert [t.x for t in _counts(marks)] == [x for x, _ in ends[1:]]
    assert all(t.size < y - t.y < 2 * t.size for t, (_, y) in zip(_counts(marks), ends[1:], strict=True))
    going_on = lick("3/0 2/0 1/0 5/0 3/0 2/0 1/0 5/0 | 3/0 2/0 1/0 5/0", "G .")
    names = [t.text for t in _texts(_drawn(going_on, 420.0)[0], bold=True) if not t.text.isdigit()]
    assert names == ["G", "G"]


def test_where_it_is_drawn_moves_all_of_it() -> None:
    here, lower = still_tab(A, x=0.0, y=0.0, wide=880.0)
    there, moved = still_tab(A, x=100.0, y=50.0, wide=880.0)
    assert moved == pytest.approx(lower + 50.0)
    for one, other in zip(_texts(here), _texts(there), strict=True):
        assert (other.x - one.x, other.y - one.y) == pytest.approx((100.0, 50.0))


@in_turn("count", range(1, 9))
@in_turn("pickup", [0.0, 1.5])
def test_bars_are_shared_out_whole_and_in_order(count: int, pickup: float) -> None:
    bars = [(4.0 * k, 4.0 * k + 4.0) for k in range(count)]
    if pickup:
        bars.insert(0, (-pickup, 0.0))
    for wide in (100.0, 420.0, 880.0, 1600.0, 9000.0):
        systems = shared_out(bars, wide, 20.0, 45.0)
        assert list(itertools.chain.from_iterable(systems)) == bars
        assert all(len(system) - (system[0][0] < 0) >= 1 for system in systems)
        for system in systems:
            need = sum(20.0 + 45.0 * 2 * (end - begin) for begin, end in system)
            assert need <= wide or len([bar for bar in system if bar[0] >= 0]) == 1
