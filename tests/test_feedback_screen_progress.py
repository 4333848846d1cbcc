"""Progress on the screen: the sentence, one thing at a time, no journal, one that cannot be read."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from feedback.screen.lettering import signed, width
from feedback.screen.marks import Line, Mark, Picture, Sheet, Text
from feedback.screen.screens.progress import ProgressScreen, enter
from feedback.screen.staging import Go, House, Leave
from feedback.screen.views.progress import (
    AGAIN,
    BACK,
    BEFORE,
    BEGIN,
    KINDS,
    NEXT,
    NOTHING_YET,
    Kind,
    ProgressState,
    progress_picture,
    things_of,
)
from feedback.screen.views.progress_time import time_marks
from feedback.screen.views.progress_words import (
    ago_text,
    bounce_text,
    breakable,
    lean_text,
    minutes_text,
    often,
    since_text,
)
from feedback.setting_rows import SETTINGS
from routines.journal.journal import Journal
from routines.journal.records import Item, LevelsDay
from routines.progress.types import GuideCounts, Progress
from tests.in_turn import in_turn
from tests.pictures import SHEETS, check_picture, text_bounds
from tests.practice_weeks import weeks_of_practice
from tests.progressed import CHORDS, EMPTY, FEW, SENTENCE, TODAY, YEARS, chord, guides, levels, lick, stale

TROUBLE = "journal.sqlite: another program has it; close that first, then try it again here"


def _seen(
    progress: Progress | None = FEW, kind: Kind = "licks", at: int = 0, sheet: Sheet | None = None
) -> Picture:
    trouble = "" if progress else TROUBLE
    state = ProgressState(progress=progress, kind=kind, at=at, trouble=trouble)
    return progress_picture(state, sheet or Sheet(), NEXT)


def _house(**changed: str | float) -> House:
    return House(values={name: row.default for name, row in SETTINGS.items()} | changed, clock=lambda: 0.0)


def _now() -> datetime:
    return datetime(TODAY.year, TODAY.month, TODAY.day, 20, tzinfo=UTC)


def _said(picture: Picture) -> str:
    return " ".join(picture.texts)


def _beside(picture: Picture, text: str) -> list[str]:
    """What else stands in the line of a text, from left to right."""
    texts = [mark for mark in picture.marks if isinstance(mark, Text)]
    y = next(one.y for one in texts if one.text == text)
    return [one.text for one in sorted(texts, key=lambda t: text_bounds(t)[0]) if abs(one.y - y) < 1.0]


# the picture


@in_turn("sheet", SHEETS)
@in_turn("kind", KINDS)
def test_it_can_be_read_everywhere(kind: Kind, sheet: Sheet) -> None:
    gone = replace(EMPTY, passes_all=900, minutes_all=1000.0)
    flats = tuple(
        replace(chord(name, voice, "Gb", "Db: F", "Bbm: F"), guides=guides(900, 780, 770, 660))
        for name in ("Ab7", "C#7", "Gb7")
        for voice in ("seven", "third")
    )
    for progress in (FEW, YEARS, EMPTY, gone, replace(FEW, chords=flats), None):
        for at in range(4 if progress in (FEW, YEARS) else 1):
            check_picture(_seen(progress, kind, at, sheet))


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_sentence_is_the_largest_and_whole(sheet: Sheet) -> None:
    for progress in (FEW, YEARS):
        picture = _seen(progress, sheet=sheet)
        texts = [mark for mark in picture.marks if isinstance(mark, Text)]
        lines = [text for text in texts if text.size == texts[0].size and text.y <= 0.25 * sheet.high]
        assert " ".join(line.text for line in lines).startswith(signed(progress.sentence))
        assert all(text.size <= texts[0].size for text in texts if text.y > 0.5 * sheet.high)
    assert "This week: 95 minutes played, 220 passes" in _seen(FEW, sheet=sheet).texts


def test_of_licks_one_is_seen_at_a_time() -> None:
    titles = [item.title for item in FEW.items]
    for at, title in enumerate(titles):
        picture = _seen(at=at)
        assert [text for text in picture.texts if text in titles] == [title]
        assert f"{at + 1} of 4" in picture.texts
    assert _seen(at=5).texts == _seen(at=1).texts


def test_a_lick_says_how_far_it_has_come_and_what_became_of_its_sevens() -> None:
    picture = _seen()
    assert _beside(picture, "Slab Wood Supper") == ["Slab Wood Supper", "in hand"]
    assert _beside(picture, "♭7 sounded")[-1] == "34 of 36"
    assert _beside(picture, "♭7 landed")[-1] == "31 of 36"
    assert _beside(picture, "♭7 resolved")[-1] == "25 of 34"
    assert _beside(picture, "♭7 swallowed")[-1] == "2 of 36"
    assert _beside(picture, "clean")[-1] == "150 of 210"
    assert _beside(picture, "spread")[-1] == "18 ms"
    assert _beside(picture, "bounce")[-1] == "56:44"
    assert "key of G, 95 minutes, last played yesterday" in picture.texts
    assert "key of B, the change, 95 minutes, last played 4 days ago" in _seen(at=2).texts


def test_a_lick_without_sevens_says_nothing_of_them() -> None:
    item = replace(lick(), guides=GuideCounts(), lean_ms=None, bounce=None, spread_ms=None)
    picture = _seen(replace(FEW, items=(item,)))
    check_picture(picture)
    assert "♭7" not in _said(picture)
    assert "clean" in picture.texts
    assert not {"spread", "bounce", "lean"} & set(picture.texts)


def test_what_cannot_be_told_yet_is_said() -> None:
    assert "Home and edge cannot be told yet" in _said(_seen(at=3))
    assert "Home and edge cannot be told yet" not in _said(_seen())


def test_a_row_of_keys_has_its_counts() -> None:
    picture = _seen(kind="keys")
    assert _beside(picture, "G") == ["G", "95", "220", "150 of 210", "25 of 34", "72 % of top"]
    assert _beside(picture, "B♭")[-1] == "–"


def test_a_chord_has_a_row_for_each_voice_and_is_named_once() -> None:
    picture = _seen(kind="chords")
    assert _beside(picture, "D7") == ["D7", "C  ♭7", "B over G …", "34 of 36", "31 of 36", "25 of 34"]
    assert _beside(picture, "F♯  3rd") == ["F♯  3rd", "G over G", "34 of 36", "31 of 36", "25 of 34"]
    assert picture.texts.count("D7") == 1
    assert "B♭  ♭7" in picture.texts


def test_where_counts_have_no_room_shares_are_told() -> None:
    many = tuple(
        replace(one, guides=guides(900, 780, 770, 660))
        for one in (chord("Ab7", "seven", "Gb", "Db: F", "B"),)
    )
    assert "780 of 810" in _seen(replace(FEW, chords=many), "chords").texts
    narrow = _seen(replace(FEW, chords=many), "chords", sheet=Sheet(960, 720)).texts
    assert "96 %" in narrow
    assert "780 of 810" not in narrow


def test_what_has_no_room_stands_on_pages_and_a_chords_two_voices_stay_together() -> None:
    state = ProgressState(progress=YEARS, kind="chords")
    pages = things_of(state, Sheet())
    rows = []
    for at in range(pages):
        texts = _seen(YEARS, "chords", at).texts
        rows.append(sum(text.endswith(("♭7", "3rd")) for text in texts))
    assert sum(rows) == len(YEARS.chords) == 6 * len(CHORDS)
    assert all(number % 2 == 0 for number in rows)
    assert things_of(replace(state, kind="licks"), Sheet()) == len(YEARS.items)
    assert things_of(ProgressState(progress=FEW, kind="keys"), Sheet()) == 1
    assert (
        things_of(ProgressState(progress=EMPTY), Sheet())
        == things_of(ProgressState(progress=None), Sheet())
        == 0
    )


def test_what_can_be_turned_can_be_chosen_and_the_kind_is_underlined() -> None:
    kinds = [f"show {kind}" for kind in KINDS]
    assert [spot.does for spot in _seen().spots] == [NEXT, BEFORE, *kinds, BACK]
    assert [spot.does for spot in _seen(kind="keys").spots] == [*kinds, BACK]
    for kind in KINDS:
        bold = {
            m.text for m in _seen(kind=kind).marks if isinstance(m, Text) and m.bold and m.anchor == "center"
        }
        assert bold - {"next"} == {kind}


def test_an_empty_journal_says_so_and_how_to_begin() -> None:
    picture = _seen(EMPTY)
    assert all(words in _said(picture) for words in NOTHING_YET)
    assert [spot.does for spot in picture.spots] == [BEGIN, BACK]
    assert EMPTY.sentence not in picture.texts


def test_after_long_weeks_without_the_banjo_that_is_said() -> None:
    picture = _seen(replace(EMPTY, passes_all=900, minutes_all=1000.0))
    assert "No licks since 6 Sep; 16 h 40 min before." in _said(picture)


def test_a_trouble_is_one_readable_line_with_a_way_on() -> None:
    picture = _seen(None)
    assert TROUBLE in _said(picture)
    assert [spot.does for spot in picture.spots] == [AGAIN, BACK]


# home and edge over time

ITEM = Item("slab-wood-supper", "G")
ROOM = (100.0, 100.0, 600.0, 300.0)


def _over_time(days: tuple[LevelsDay, ...]) -> list[Mark]:
    return time_marks(days, TODAY.isoformat(), *ROOM)


def _rails(marks: list[Mark], *, dashed: bool = False) -> list[Line]:
    """The lines along time: edge first, home second."""
    return [
        m for m in marks if isinstance(m, Line) and m.dashed == dashed and m.points[0][0] != m.points[-1][0]
    ]


def test_home_is_the_lower_rail_and_thick_and_both_are_named_where_they_end() -> None:
    marks = _over_time(levels(ITEM, (40, 30, 20, 10, 0)))
    edge, home = _rails(marks)
    assert home.thick > 1.5 * edge.thick
    for (x1, y1), (x2, y2) in zip(edge.points, home.points, strict=True):
        assert (x1, y1 < y2) == (x2, True)
    named = {m.text: m for m in marks if isinstance(m, Text)}
    assert {"edge 84", "home 76", "66", "58", "20 Oct", "today"} == set(named)
    assert named["edge 84"].y < named["home 76"].y
    assert named["edge 84"].x > edge.points[-1][0]
    assert home.points[-2][1] < home.points[0][1]  # it has come up


def test_levels_and_days_lie_in_proportion() -> None:
    home = _rails(_over_time(levels(ITEM, (40, 20, 0), first=60.0, last=80.0)))[1]
    (x1, y1), (x2, y2), (x3, y3), *_ = home.points
    assert x2 - x1 == pytest.approx(x3 - x2)
    assert y1 - y2 == pytest.approx(y2 - y3)


def test_each_day_is_a_rung_and_days_too_near_are_not_all_drawn() -> None:
    def rungs(days: tuple[int, ...]) -> list[Line]:
        marks = _over_time(levels(ITEM, days))
        return [m for m in marks if isinstance(m, Line) and m.points[0][0] == m.points[-1][0]]

    assert len(rungs((40, 30, 20, 10, 0))) == 5
    many = rungs(tuple(range(400, -1, -1)))
    xs = [line.points[0][0] for line in many]
    assert 20 <= len(xs) <= 45
    assert min(b - a for a, b in itertools.pairwise(xs)) >= 12.0


def test_over_a_pause_both_rails_are_dashed() -> None:
    marks = _over_time(levels(ITEM, (90, 87, 84, 20, 17)))
    assert len(_rails(marks, dashed=True)) == 2
    assert len(_rails(marks)) == 4
    assert not _rails(_over_time(levels(ITEM, (20, 17, 3))), dashed=True)
    years = levels(ITEM, tuple(round(3650 - 30.4 * k) for k in range(120)))
    assert not _rails(_over_time(years), dashed=True)
    assert len(_rails(_over_time(levels(ITEM, (60,))), dashed=True)) == 2


def test_days_of_which_nothing_could_be_told_are_left_out() -> None:
    blind = [replace(one, home_half_bpm=None, edge_half_bpm=None) for one in levels(ITEM, (50, 45))]
    assert _over_time((*blind, *levels(ITEM, (40, 0)))) == _over_time(levels(ITEM, (40, 0)))
    assert _over_time(tuple(blind)) == []
    assert _over_time(()) == []


def test_it_stays_in_its_room() -> None:
    for days in ((0,), (3,), (400,), (40, 0), tuple(range(99, -1, -1))):
        for first, last in ((58.0, 76.0), (120.0, 60.0), (99.0, 99.0), (8.0, 160.0)):
            marks = _over_time(levels(ITEM, days, first=first, last=last))
            check_picture(Picture(Sheet(), tuple(marks)))
            for mark in marks:
                points = mark.points if isinstance(mark, Line) else ()
                if isinstance(mark, Text):
                    left, top, right, bottom = text_bounds(mark)
                    points = ((left, top), (right, bottom))
                assert all(99.0 <= x <= 701.0 and 95.0 <= y <= 405.0 for x, y in points), mark


@pytest.mark.parametrize("sheet", SHEETS)
def test_levels_older_than_the_last_day_say_of_which_day_they_are(sheet: Sheet) -> None:
    for first, last in ((58.0, 76.0), (120.0, 60.0), (99.0, 99.0)):
        one = stale(lick(days=(40, 20, 6)))
        one = replace(one, levels=(*levels(ITEM, (40, 20, 6), first=first, last=last), one.levels[-1]))
        picture = _seen(replace(FEW, items=(one,)), sheet=sheet)
        check_picture(picture)
        marks = {mark.text: mark for mark in picture.marks if isinstance(mark, Text)}
        old, home, edge = (
            marks[text] for text in ("as of 23 Nov", f"home {last:.0f}", f"edge {last + 8:.0f}")
        )
        assert old.x == home.x
        assert old.y in (pytest.approx(home.y + 34.0), pytest.approx(edge.y - 34.0))
        assert abs(old.y - marks["today"].y) > 20.0
    assert "as of" not in _said(_seen(sheet=sheet))


# words


def test_days_in_plain_words() -> None:
    for day, said in (
        ("2026-11-29", "today"),
        ("2026-11-28", "yesterday"),
        ("2026-11-16", "13 days ago"),
        ("2026-11-15", "2 weeks ago"),
        ("2026-10-04", "8 weeks ago"),
        ("2026-09-20", "in September"),
        ("2024-03-01", "in Mar 2024"),
        ("2026-12-01", "1 Dec"),
    ):
        assert ago_text(day, "2026-11-29") == said
    assert since_text("2026-10-04", "2026-11-29") == "4 Oct"
    assert since_text("2024-10-04", "2026-11-29") == "Oct 2024"


def test_minutes_shares_and_timing_in_plain_words() -> None:
    found = [minutes_text(minutes) for minutes in (0.0, 1.2, 119.0, 120.0, 135.0, 60_000.0)]
    assert found == ["0 minutes", "1 minute", "119 minutes", "2 hours", "2 h 15 min", "1000 hours"]
    assert (often(3, 4), often(0, 0), often(999, 1000), often(9, 10, 10)) == ("3 of 4", "–", "100 %", "90 %")
    assert (lean_text(-12.4), lean_text(30.0)) == (("leans ahead", "12 ms"), ("leans behind", "30 ms"))
    assert lean_text(2.0) == ("lean", "none")
    assert (bounce_text(0.5), bounce_text(0.56)) == ("even", "56:44")


def test_the_path_of_a_file_is_broken_behind_a_slash_and_loses_nothing() -> None:
    path = "/" + "/".join(["elsewhere"] * 20) + "/journal.sqlite:"
    said = breakable(f"{path} cannot be read", 32.0, 600.0)
    assert said.replace(" ", "") == f"{path}cannotberead"
    pieces = said.split()
    assert all(width(piece, 32.0) <= 600.0 for piece in pieces)
    assert all(piece.endswith("/") for piece in pieces[:-4])
    assert breakable("B" * 90, 32.0, 600.0).replace(" ", "") == "B" * 90
    assert breakable("as it is", 32.0, 600.0) == "as it is"
    check_picture(progress_picture(ProgressState(progress=None, trouble=path), Sheet(960, 720), AGAIN))


# the screen


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    return tmp_path


def test_without_a_journal_it_opens_and_makes_none(home: Path) -> None:
    screen = enter(_house())
    assert NOTHING_YET[0] in screen.picture(Sheet(), "").texts
    assert screen.act(BEGIN) == Go("licks", instead=True)
    assert screen.act(BACK) == Leave()
    assert screen.press("down") is False
    assert screen.tick() is None
    assert list(home.iterdir()) == []


def test_it_is_read_once_and_turned_by_choices_and_keys(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Journal.open(home, now=_now) as journal:
        journal.add_all(weeks_of_practice(3))
    opened: list[object] = []
    usual = Journal.open

    def watched(
        folder: Path, *, now: Callable[[], datetime], writes: bool, told: Callable[[str], None]
    ) -> Journal:
        opened.append(writes)
        return usual(folder, now=now, writes=writes, told=told)

    monkeypatch.setattr(Journal, "open", watched)
    screen = ProgressScreen(_house(), now=_now)

    def which() -> str:
        return next(text for text in screen.picture(Sheet(), NEXT).texts if " of " in text and len(text) < 8)

    first = which()
    things = int(first.split()[-1])
    assert (first, things > 2) == (f"1 of {things}", True)
    assert screen.act(NEXT) is None
    assert which() == f"2 of {things}"
    assert screen.press("down") is True
    assert which() == f"3 of {things}"
    for at in (2, 1, things, things - 1):
        assert screen.press("up") is True
        assert which() == f"{at} of {things}"
    screen.act(BEFORE)
    assert which() == f"{things - 2} of {things}"
    screen.act("show chords")
    assert "A7" in screen.picture(Sheet(), NEXT).texts
    screen.act("show licks")
    assert which() == first
    assert screen.press("left") is False
    assert opened == [False]
    assert screen.picture(Sheet(), NEXT) is screen.picture(Sheet(), NEXT)


def test_another_player_has_other_progress(home: Path) -> None:
    with Journal.open(home, now=_now) as journal:
        journal.add_all(weeks_of_practice(3))
    shared = _house()
    screen = ProgressScreen(shared, now=_now)
    assert NEXT in [spot.does for spot in screen.picture(Sheet(), "").spots]
    shared.values["player"] = "someone"
    assert NOTHING_YET[0] in screen.picture(Sheet(), "").texts


def test_a_journal_that_was_mended_says_so_first(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Journal.open(home, now=_now) as journal:
        journal.add_all(weeks_of_practice(1))
    usual = Journal.open
    line = f"{home / 'journal.sqlite'} was damaged: a mended one is in its place; it is kept as {home / 'x'}"

    def mended(folder: Path, *, told: Callable[[str], None], **how: object) -> Journal:
        told(line)
        return usual(folder, told=told, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(Journal, "open", mended)
    screen = ProgressScreen(_house(), now=_now)
    picture = screen.picture(Sheet(), AGAIN)
    check_picture(picture)
    assert line.replace(" ", "") in _said(picture).replace(" ", "")
    assert [spot.does for spot in picture.spots] == [AGAIN, BACK]
    assert screen.press("down") is False
    screen.act(AGAIN)
    assert NEXT in [spot.does for spot in screen.picture(Sheet(), NEXT).spots]


def test_a_journal_that_cannot_be_read_is_told_and_tried_again(home: Path) -> None:
    file = home / "journal.sqlite"
    file.write_text("this is no journal, " * 99)
    screen = ProgressScreen(_house(), now=_now)
    picture = screen.picture(Sheet(), "")
    check_picture(picture)
    assert "journal.sqlite" in _said(picture)
    file.unlink()
    screen.act(AGAIN)
    assert NOTHING_YET[0] in screen.picture(Sheet(), "").texts
    assert SENTENCE not in screen.picture(Sheet(), "").texts
