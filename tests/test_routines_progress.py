"""Progress out of a journal: what is counted where, how far licks have come, and what is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.journal.journal import Journal
from routines.journal.records import Item, PassRecord
from routines.library import all_licks
from routines.progress.asked import Asked, asked_for
from routines.progress.how_far import JAM_SHARE, family_of, how_far, top_tempo
from routines.progress.names import goes_to, guide_tone, item_name, unit_words, warm_up_of, whole_title
from routines.progress.progress import progress
from routines.progress.types import FEWEST_TO_RATE, GuideCounts, Progress
from tests.practice_weeks import TODAY, a_pass, seven, weeks_of_practice
from tests.progressed import lick as a_lick
from tests.progressed import stale

SUPPER, IN_A = Item("slab-wood-supper", "G"), Item("slab-wood-supper-in-a", "A")


@contextmanager
def kept(folder: Path, records: Sequence[PassRecord]) -> Iterator[Journal]:
    with Journal.open(folder, now=lambda: datetime(2026, 11, 29, 20, tzinfo=UTC)) as journal:
        journal.add_all(records)
        yield journal


def told(folder: Path, records: Sequence[PassRecord], **asked: object) -> Progress:
    with kept(folder, records) as journal:
        return progress(journal, "me", TODAY, **asked)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def weeks(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Journal]:
    with kept(tmp_path_factory.mktemp("weeks"), list(weeks_of_practice(3))) as journal:
        yield journal


def test_an_empty_journal_has_nothing_to_tell(tmp_path: Path) -> None:
    found = told(tmp_path, [])
    assert (found.passes_all, found.minutes_all, found.began) == (0, 0.0, "")
    assert (found.items, found.keys, found.chords) == ((), (), ())
    assert found.sentence == "It cannot tell yet what got better: nothing was played in the last seven days."
    assert (found.first_day, found.today, len(found.weeks)) == ("2026-09-07", "2026-11-29", 12)


def test_each_pass_is_counted_where_it_belongs(tmp_path: Path) -> None:
    records = [
        a_pass(1, SUPPER, sevens=(seven(), seven(swallowed=True, resolution="late"))),
        a_pass(2, SUPPER, clean=False, sevens=(seven(sounded=False), seven(sounded=None))),
        a_pass(3, SUPPER, clean=None, thirds=(seven(resolution="hanging"),)),
        a_pass(4, IN_A, days_ago=6, sevens=(seven("E7", "A"),)),
        a_pass(5, IN_A, days_ago=7, sevens=(seven("E7", "A", resolution="ahead"),)),
        a_pass(6, IN_A, days_ago=84, sevens=(seven("E7", "A"),)),
        a_pass(7, Item("warm-up/held-sevens/D7", "G", ""), sevens=(seven(),)),
        a_pass(8, SUPPER, player="Ann"),
    ]
    found = told(tmp_path, records)
    assert (found.passes_week, found.passes_span, found.passes_all) == (5, 6, 7)
    assert found.minutes_week == pytest.approx(50 / 60)
    assert found.began == "2026-09-06"
    assert [week.first_day for week in found.weeks[-2:]] == ["2026-11-16", "2026-11-23"]
    assert [week.passes for week in found.weeks[-2:]] == [1, 5]
    supper, in_a = found.items
    assert (supper.item, supper.passes, supper.clean, supper.unclean, supper.last_day) == (
        SUPPER, 3, 1, 1, "2026-11-29",
    )  # fmt: skip
    assert supper.guides == GuideCounts(
        asked=4, unclear=1, sounded=2, landed=1, swallowed=1, due=2, resolved=1, late=1
    )
    assert (supper.guides.told, supper.guides.falls_told) == (3, 2)
    assert (supper.thirds.hanging, supper.top_half_bpm, supper.how_far) == (1, 100.0, "new to you")
    assert (in_a.passes, in_a.top_half_bpm, in_a.guides.ahead) == (2, 100.0, 1)
    assert [(one.name, one.passes) for one in found.warm_ups] == [("held-sevens", 1)]
    assert [(one.key, one.licks, one.passes, one.guides.asked) for one in found.keys] == [
        ("G", 1, 3, 4),
        ("A", 1, 2, 2),
    ]
    assert [(one.chord, one.voice, one.tone, one.falls_to, one.guides.asked) for one in found.chords] == [
        ("D7", "seven", "C", ("G: B",), 5),
        ("D7", "third", "F#", ("G: G",), 1),
        ("E7", "seven", "D", ("A: C#",), 2),
    ]


def test_parts_stand_behind_their_lick_and_the_most_practised_comes_first(tmp_path: Path) -> None:
    other, part = Item("tally-stick", "G"), Item("slab-wood-supper", "G", "change")
    records = [a_pass(n, SUPPER if n == 0 else part if n < 4 else other) for n in range(7)]
    assert [one.item for one in told(tmp_path, records).items] == [SUPPER, part, other]


def test_home_and_edge_are_those_of_the_end(weeks: Journal) -> None:
    found = progress(weeks, "me", TODAY)
    for item in found.items:
        if item.item.unit:
            assert item.how_far == ""
            continue
        assert item.levels[0].day >= found.first_day
        assert [day.day for day in item.levels] == sorted(day.day for day in item.levels)
        known = [day for day in item.levels if day.home_half_bpm is not None]
        assert item.home_half_bpm == known[-1].home_half_bpm
        assert item.how_far in ("in hand", "jam-ready")
    share = next(key.home_share for key in found.keys if key.key == "D")
    supper = next(item for item in found.items if item.item == Item("slab-wood-supper", "D"))
    assert share == supper.home_half_bpm / supper.top_half_bpm  # type: ignore[operator]


def test_an_edge_stays_known_while_one_plays_below_it(tmp_path: Path) -> None:
    tries = ((20, 80.0, True), (21, 86.0, True), (22, 92.0, False), (23, 83.0, True), (24, 89.0, False))
    at_the_edge = [
        a_pass(n, SUPPER, days_ago=ago, tempo=tempo, clean=clean or n < 1)
        for ago, tempo, clean in tries
        for n in range(8)
    ]
    known = told(tmp_path / "known", at_the_edge).items[0]
    assert known.edge_half_bpm is not None
    slow = [a_pass(n, SUPPER, days_ago=0, tempo=40.0) for n in range(40)]
    later = told(tmp_path / "later", [*at_the_edge, *slow]).items[0]
    assert later.edge_half_bpm is not None
    assert later.how_far == "in hand"


def test_levels_are_as_old_as_the_last_day_that_told_any() -> None:
    fresh = a_lick(days=(9, 3))
    assert (fresh.levels_told, fresh.levels_as_of) == (fresh.levels, "")
    old = stale(fresh)
    assert (old.levels_told, old.levels_as_of, old.last_day) == (fresh.levels, "2026-11-26", "2026-11-29")
    assert stale(a_lick(days=())).levels_as_of == ""


def test_asked_of_a_lick_a_key_or_a_chord_only_that_is_told(weeks: Journal) -> None:
    whole = progress(weeks, "me", TODAY)
    lick = progress(weeks, "me", TODAY, lick="slab-wood-supper")
    assert {one.item.lick for one in lick.items} == {"slab-wood-supper"}
    assert lick.items[0].points
    assert not whole.items[0].points
    assert sum(point.passes for point in lick.items[0].points) == lick.items[0].passes
    key = progress(weeks, "me", TODAY, key="D")
    assert [one.key for one in key.keys] == ["D"]
    assert key.passes_all == lick.passes_all
    chord = progress(weeks, "me", TODAY, chord="A7")
    assert {one.chord for one in chord.chords} == {"A7"}
    assert chord.items == tuple(one for one in whole.items if one.item.key == "D")
    assert (chord.asked_for, whole.asked_for) == ("A7", "")
    assert [one.asked_kind for one in (whole, lick, key, chord)] == ["", "lick", "key", "chord"]


def test_of_a_lick_with_two_chords_only_what_is_asked_for_is_told(tmp_path: Path) -> None:
    record = a_pass(1, SUPPER, sevens=(seven(), seven("A7", "D"), seven("A7", "D")))
    found = told(tmp_path, [record], chord="A7")
    assert [(one.chord, one.guides.asked) for one in found.chords] == [("A7", 2)]
    assert found.items[0].guides.asked == 2


def test_a_longer_span_has_all_of_a_shorter_one(weeks: Journal) -> None:
    spans = [progress(weeks, "me", TODAY, weeks=n) for n in (1, 2, 52)]
    assert spans[0].passes_span == spans[0].passes_week
    assert spans[0].passes_span < spans[1].passes_span < spans[2].passes_span == spans[2].passes_all
    assert len({found.sentence for found in spans}) == 1
    assert sum(week.passes for week in spans[2].weeks) == spans[2].passes_all
    assert len(spans[2].weeks) == 3  # practice began three weeks ago


@pytest.mark.parametrize(
    ("began", "asked", "told_weeks"),
    [(0, 12, 2), (13, 12, 2), (14, 12, 3), (200, 12, 12), (0, 1, 1), (200, 99, 29)],
)
def test_the_span_begins_where_the_journal_does(
    began: int, asked: int, told_weeks: int, tmp_path: Path
) -> None:
    found = told(tmp_path, [a_pass(1, SUPPER), a_pass(2, SUPPER, days_ago=began)], weeks=asked)
    assert found.first_day == (TODAY - timedelta(days=7 * told_weeks - 1)).isoformat()
    assert len(found.weeks) == min(told_weeks, 26)
    assert found.weeks[0].first_day == max(found.first_day, (TODAY - timedelta(days=7 * 26 - 1)).isoformat())


def test_a_key_in_which_only_a_warm_up_was_played_is_none(tmp_path: Path) -> None:
    steps = [a_pass(n, Item("warm-up/held-sevens/gb", "Gb"), sevens=(seven(),)) for n in range(4)]
    found = told(tmp_path, [*steps, a_pass(9, SUPPER)])
    assert [(key.key, key.passes) for key in found.keys] == [("G", 1)]
    assert [(one.name, one.passes) for one in found.warm_ups] == [("held-sevens", 4)]
    assert [(one.chord, one.guides.asked) for one in found.chords] == [("D7", 4)]


@pytest.mark.parametrize(
    ("clean", "home", "edge", "top", "come"),
    [
        (2, 90.0, 95.0, 100.0, "new to you"),
        (3, None, None, 100.0, "new to you"),
        (3, 84.9, 95.0, 100.0, "in hand"),
        (3, 85.0, 95.0, 100.0, "jam-ready"),
        (3, 85.0, 95.0, None, "in hand"),
    ],
)
def test_how_far(clean: int, home: float | None, edge: float | None, top: float | None, come: str) -> None:
    assert JAM_SHARE == 0.85
    assert how_far(clean=clean, home_half_bpm=home, edge_half_bpm=edge, top_half_bpm=top) == come


def test_top_tempos_are_those_of_the_library_in_every_key() -> None:
    for at, lick in enumerate(all_licks()):
        assert top_tempo(lick.id) == lick.top_tempo_half_bpm
        assert at % 10 or top_tempo(f"{lick.id}-in-f-sharp") == lick.top_tempo_half_bpm
    for name in ("no-such-lick", "warm-up/held/x", "../licks/tally-stick", "", "Tally Stick", "x" * 300):
        assert top_tempo(name) is None
    assert family_of("mud-in-the-road-in-a") == "mud-in-the-road"


def test_names() -> None:
    assert item_name(SUPPER, "Slab Wood Supper") == "Slab Wood Supper in G"
    assert item_name(IN_A, "Slab Wood Supper in A") == "Slab Wood Supper in A"
    units = {
        "change": "the change", "change2": "the second change", "2": "bar 2", "2-3": "bars 2-3",
        "traffic": "in traffic", "form 8": "in a form of 8", "": "", "change12": "change 12",
    }  # fmt: skip
    assert {unit: unit_words(unit) for unit in units} == units
    assert item_name(Item("x", "B", "2-3"), "X") == "X in B, bars 2-3"
    assert item_name(Item("x", "B", "change"), "X, the change") == "X in B, the change"
    parts = ("the change", "change 2", "in traffic", "in a form of 16", "bar 2", "bars 2-3")
    assert {whole_title(f"Barber Chair, November, {part}") for part in parts} == {"Barber Chair, November"}
    assert whole_title("X, the changer") == "X, the changer"
    assert (warm_up_of("warm-up/held/D7"), warm_up_of("tally-stick")) == ("held", "")
    assert (guide_tone("C7", "seven"), guide_tone("D7", "third"), guide_tone("?", "seven")) == (
        "Bb", "F#", "the seven",
    )  # fmt: skip
    assert (goes_to("D7", "G", "seven"), goes_to("D7", "G7", "third"), goes_to("D7", "C", "seven")) == (
        "B", "F", "",
    )  # fmt: skip
    assert goes_to("D7", "", "seven") == ""


def test_what_is_asked_for_is_found_by_any_of_its_names() -> None:
    items = [SUPPER, IN_A, Item("warm-up/held/D7", "Bb")]
    titles = {"slab-wood-supper": "Slab Wood Supper, the change"}
    for typed, meant in {
        "G": Asked(key="G"), "g": Asked(key="G"), "bb": Asked(key="Bb"), "B♭": Asked(key="Bb"),
        "D7": Asked(chord="D7"), "d7": Asked(chord="D7"), "slab-wood-supper": Asked(lick="slab-wood-supper"),
        "slab  wood supper": Asked(lick="slab-wood-supper"), "Slab-Wood-Supper-in-A": Asked(lick=IN_A.lick),
    }.items():  # fmt: skip
        assert asked_for(typed, items, ["D7", "A7"], titles) == meant
    assert Asked(lick="slab-wood-supper").fits(IN_A)
    assert not Asked(lick=IN_A.lick).fits(SUPPER)
    with pytest.raises(BadRoutine) as caught:
        asked_for("E", items, ["D7", "A7"], titles)
    assert str(caught.value) == (
        "nothing practised that is called 'E': keys A Bb G; chords A7 D7; licks slab-wood-supper, "
        "slab-wood-supper-in-a"
    )


@given(st.integers(0, 50), st.integers(0, 50), st.integers(0, 50))
def test_a_rate_needs_enough_to_be_told(asked: int, unclear: int, landed: int) -> None:
    unclear, landed = min(unclear, asked), min(landed, asked - min(unclear, asked))
    counts = GuideCounts(asked=asked, unclear=unclear, landed=landed)
    if asked - unclear < FEWEST_TO_RATE:
        assert counts.landed_rate is None
    else:
        assert counts.landed_rate == landed / (asked - unclear)
    assert counts.resolved_rate is None
