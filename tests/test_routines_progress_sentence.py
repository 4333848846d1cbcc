"""What got better this week: said where it is so, and not where it is chance, easier, or too little."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from routines.journal.records import GuideDay, Item, TempoDay
from routines.progress.level_looks import MOST_LICKS, level_looks
from routines.progress.looks import Look
from routines.progress.sentence import NEAR, RARE, best, better_this_week, compared_days
from routines.progress.timing_looks import bounce_words, timing_looks
from tests.practice_weeks import TODAY

LICK = Item("wet-rope", "G")


def tempo_days(
    *, week: float = 80.0, before: float = 80.0, item: Item = LICK, seed: int = 1, **of_week: float
) -> list[TempoDay]:
    """Twelve passes on each of five weeks' days; what is named otherwise for the last seven."""
    chance = random.Random(seed)
    rows = []
    for ago in range(35):
        usual = {"lean_ms": -25.0, "bounce": 0.57, "spread_ms": 24.0, "clean": 10.0}
        told = usual | (of_week if ago < 7 else {})
        rows.append(
            TempoDay(
                day=(TODAY - timedelta(days=ago)).isoformat(),
                item=item,
                tempo_half_bpm=week if ago < 7 else before,
                passes=12,
                clean=round(told["clean"]),
                unclean=12 - round(told["clean"]),
                unclear=0,
                seconds=120.0,
                notes=100,
                landed=90,
                lean_ms=told["lean_ms"] + chance.gauss(0, 3),
                lean_passes=12,
                bounce=told["bounce"] + chance.gauss(0, 0.005),
                bounce_passes=12,
                spread_ms=told["spread_ms"] * (1 + chance.gauss(0, 0.06)),
                spread_passes=12,
            )
        )
    return rows


def guide_days(chord: str = "D7", *, item: Item = LICK, seed: int = 1, **of_week: float) -> list[GuideDay]:
    """Ten sevens on each day, each day with its own luck; shares of the last seven days as named."""
    chance = random.Random(seed)
    rows = []
    for ago in range(35):
        shares = {"sounded": 0.9, "landed": 0.7, "swallowed": 0.1, "resolved": 0.6}
        shares |= of_week if ago < 7 else {}
        hit = {name: sum(chance.random() < share for _ in range(10)) for name, share in shares.items()}
        rows.append(
            GuideDay(
                day=(TODAY - timedelta(days=ago)).isoformat(),
                item=item,
                chord=chord,
                next_chord="G",
                voice="seven",
                asked=11,
                unclear=1,
                due=11,
                unclear_falls=1,
                ahead=0,
                late=0,
                octave=0,
                hanging=10 - hit["resolved"],
                as_asked=hit["resolved"],
                **hit,
            )
        )
    return rows


def said(tempos: list[TempoDay], guides: list[GuideDay] | None = None, today: date = TODAY) -> str:
    return better_this_week(tempos, guides or [], {"wet-rope": "Wet Rope"}, today)


def test_the_days_that_are_compared() -> None:
    assert compared_days(date(2026, 11, 29)) == ("2026-10-26", "2026-11-23", "2026-11-29")


def test_what_resolved_more_often_is_said_with_its_counts() -> None:
    guides = [
        replace(row, due=9, resolved=min(row.resolved, 8), hanging=8 - min(row.resolved, 8))
        for row in guide_days(resolved=0.97)
    ]
    week = sum(row.resolved for row in guides[:7])
    before = sum(row.resolved for row in guides[7:])
    sentence = said(tempo_days(), guides)
    assert sentence == (
        f"C over D7 resolved {week} of 56 times this week, {before} of 224 in the four weeks before."
    )
    older = [replace(row, day=f"2026-09-{at:02}", resolved=8) for at, row in enumerate(guides[7:], start=1)]
    assert said(tempo_days(), [*guides, *older]) == sentence


def test_more_that_landed_is_said() -> None:
    assert said(tempo_days(), guide_days(landed=1.0)).startswith(
        "C over D7 landed 70 of 70 times this week, "
    )


def test_a_little_better_is_not_worth_saying() -> None:
    guides = [replace(row, swallowed=0 if at < 7 else at % 2) for at, row in enumerate(guide_days())]
    assert said(tempo_days(), guides).startswith("It cannot tell yet what got better")
    much = {"asked": 4000, "unclear": 0, "due": 4000, "unclear_falls": 0}
    much |= {"sounded": 3600, "swallowed": 400, "resolved": 2400}
    for points, worth in ((300, False), (600, True)):
        sure = [
            replace(row, **much, landed=2800 + points * (at < 7) + at % 3) for at, row in enumerate(guides)
        ]
        assert ("landed" in said(tempo_days(), sure)) is worth


def test_fewer_swallowed_is_better() -> None:
    guides = [replace(row, swallowed=0 if at < 7 else 4) for at, row in enumerate(guide_days())]
    assert said(tempo_days(), guides) == (
        "C over D7 was swallowed by the roll 0 of 70 times this week, 112 of 280 in the four weeks before."
    )


def test_what_is_played_slower_is_not_better() -> None:
    guides = guide_days(resolved=0.97)
    assert "D7 resolved" in said(tempo_days(week=79.0), guides)
    assert "D7 resolved" not in said(tempo_days(week=76.0), guides)


def test_what_is_played_only_this_week_is_not_compared() -> None:
    other = Item("new-rope", "G")
    guides = guide_days() + [replace(row, item=other) for row in guide_days(resolved=1.0)[:7]]
    tempos = tempo_days() + [replace(row, item=other) for row in tempo_days()[:7]]
    assert "cannot tell" in said(tempos, guides)
    sure = [*guide_days(resolved=1.0), *(replace(row, item=other) for row in guide_days(resolved=0.0)[:7])]
    assert said(tempos, sure).endswith(" before, in what was played in both.")


def test_an_edge_that_rose_is_said_with_both_tempos() -> None:
    clean = {True: (12, 11, 10, 6), False: (11, 7, 2, 0)}
    rows = [
        replace(row, tempo_half_bpm=tempo, clean=number, unclean=12 - number)
        for row in tempo_days()
        for tempo, number in zip((72.0, 80.0, 88.0, 96.0), clean[row.day >= "2026-11-23"], strict=True)
    ]
    sentence = said(rows)
    assert sentence.startswith("Wet Rope in G has its edge at ")
    now, before = (float(word) for word in sentence.split() if word.isdecimal())
    assert now > 1.04 * before


def test_closer_nearer_evener() -> None:
    assert said(tempo_days(spread_ms=15.0)).startswith(
        "The notes lay closer to their places: spread 15 ms this"
    )
    assert "nearer to the click: " in said(tempo_days(lean_ms=-3.0))
    assert "ahead of it in the four weeks before" in said(tempo_days(lean_ms=-3.0))
    assert "The roll ran evener: 52:48 this week, 57:43 " in said(tempo_days(bounce=0.52))
    assert bounce_words(0.56) == "56:44"


def test_timing_at_other_tempos_is_not_compared() -> None:
    assert "closer" not in said(tempo_days(spread_ms=15.0, week=100.0))


@pytest.mark.parametrize(
    "much", [{"lean_ms": -19.0}, {"bounce": 0.555}, {"spread_ms": 23.0}, {"bounce": 0.44}]
)
def test_what_is_too_little_or_turned_round_is_not_said(much: dict[str, float]) -> None:
    assert said(tempo_days(**much)).startswith(("It cannot tell", "Nothing got better"))


def test_worse_all_over_is_never_praised() -> None:
    worse = tempo_days(spread_ms=40.0, lean_ms=-60.0, bounce=0.65, clean=2)
    sentence = said(worse, guide_days(sounded=0.4, landed=0.2, swallowed=0.6, resolved=0.1))
    assert sentence.startswith("Nothing got better this week that it can tell: it compared ")


def test_where_nothing_stands_out_the_nearest_is_told_as_what_it_is() -> None:
    guides = [replace(row, landed=row.landed - row.landed % 3) for row in guide_days(landed=0.83, seed=4)]
    sentence = said(tempo_days(), guides)
    week, before = (sum(row.landed for row in part) for part in (guides[:7], guides[7:]))
    compared = "It cannot tell yet what got better, of 7 things compared. Nearest: "
    nearest = f"C over D7 landed {week} of 70 times this week and {before} of 280 in the four weeks before"
    plenty = f"{compared}{nearest}; that may be chance yet."
    assert sentence == f"{plenty[:-1]}; more passes tell more."
    assert said([replace(row, passes=15) for row in tempo_days()], guides) == plenty


def look(chance: float, words: str, *, weight: float = 1.0, worth: bool = True, better: bool = True) -> Look:
    return Look(chance=chance, better=better, worth=worth, sentence=f"{words}!", nearest=words, weight=weight)


def test_looks_share_the_risk_by_their_weights() -> None:
    others = [look(0.9, "other", better=False) for _ in range(5)]
    for weight in (1.0, 3.0):
        least = RARE * weight / (5.0 + weight)
        assert best([*others, look(0.99 * least, "x", weight=weight)], plenty=True) == "x!"
        assert "Nearest: x; that" in best([*others, look(1.01 * least, "x", weight=weight)], plenty=True)
    heavy, light = look(0.003, "heavy", weight=3.0), look(0.002, "light")
    assert best([heavy, light], plenty=True) == "heavy!"
    for no_nearer in (look(1.01 * NEAR, "x"), look(0.1, "x", worth=False)):
        assert best([*others, no_nearer], plenty=True) == (
            "It cannot tell yet what got better: it compared 6 things with the four weeks before, and what "
            "differs may be chance."
        )


@pytest.mark.parametrize(
    ("much", "nearest"),
    [
        ({"spread_ms": 15.0}, "spread, 15 ms this week and 24 in the four weeks before"),
        ({"lean_ms": -3.0}, "the lean, 3 ms ahead of the click this week and 26 ms ahead of it in the four "),
        ({"bounce": 0.52}, "the roll, 52:48 this week and 57:43 in the four weeks before"),
    ],
)
def test_timing_has_few_words_too(much: dict[str, float], nearest: str) -> None:
    looks = list(timing_looks(tempo_days(**much), "2026-11-23"))
    assert min(looks, key=lambda look: look.chance).nearest.startswith(nearest)


def climbing(item: Item, gain: float, ago: range) -> list[TempoDay]:
    """Passes about an edge of 85, and of one that is higher by `gain` in the last seven days."""
    rows = []
    for row in tempo_days(item=item):
        days_ago = (TODAY - date.fromisoformat(row.day)).days
        for tempo, clean in zip((0.9, 1.0, 1.06, 1.14), (12, 10, 6, 1), strict=True):
            rise = gain if days_ago < 7 else 0.0
            half_bpm = round(85.0 * tempo * (1.0 + rise), 1)
            if days_ago in ago:
                rows.append(replace(row, tempo_half_bpm=half_bpm, clean=clean, unclean=12 - clean))
    return rows


def test_all_licks_together_tell_more_than_each_and_days_of_their_own_more_than_shared_ones() -> None:
    items = [Item(f"lick-{at}", "G") for at in range(6)]

    def together(days: list[range]) -> tuple[float, float, str]:
        rows = [row for item, ago in zip(items, days, strict=True) for row in climbing(item, 0.08, ago)]
        *ones, last = level_looks(rows, {}, "2026-11-23")
        return min(one.chance for one in ones), last.chance, last.sentence

    alone, shared, sentence = together([range(0, 35, 2)] * 6)
    _, apart, _ = together([range(at % 2, 35, 2) for at in range(6)])
    assert apart < shared < alone
    assert sentence == (
        "The edge rose in 6 of 6 licks, by 8 % over all of them, this week against the four weeks before."
    )


def test_of_many_licks_those_practised_most_are_looked_at() -> None:
    rows = []
    for at in range(MOST_LICKS + 3):
        few = climbing(Item(f"lick-{at:02}", "G", "change" if at == 3 else ""), 0.08, range(0, 35, 3))
        rows += [replace(row, clean=row.clean * (at + 1), unclean=row.unclean * (at + 1)) for row in few]
    *ones, together = level_looks(rows, {}, "2026-11-23")
    assert all(" in G" in one.nearest and ", its edge at 9" in one.nearest for one in ones)
    assert sorted(one.sentence[:7] for one in ones) == [f"lick-{at:02}" for at in range(3, MOST_LICKS + 3)]
    assert f"of {MOST_LICKS + 3} licks and parts, by 8 %" in together.sentence


def test_what_is_missing_is_named() -> None:
    cannot = "It cannot tell yet what got better: "
    rows = tempo_days()
    assert said([]) == f"{cannot}nothing was played in the last seven days."
    assert said(rows[7:]) == f"{cannot}nothing was played in the last seven days."
    assert said(rows[:7]) == f"{cannot}there is nothing from the four weeks before this one to compare with."
    assert said(rows[:1] + rows[7:9]) == (
        f"{cannot}this week has 1 day of practice, and it takes at least 3; the four weeks before this one "
        "have 2 days of practice, and it takes at least 5."
    )
    assert said([*rows[:5], *rows[7:8]]) == (
        f"{cannot}the four weeks before this one have 1 day of practice, and it takes at least 5."
    )
    assert said([*rows[:2], *rows[7:12]]) == (
        f"{cannot}this week has 2 days of practice, and it takes at least 3."
    )
    few = [
        replace(row, passes=1, clean=1, unclean=0, spread_passes=0, lean_passes=0, bounce_passes=0)
        for row in rows
    ]
    assert said([row for at, row in enumerate(few) if at in (0, 2, 4, 10, 12, 14, 16, 18)]) == (
        f"{cannot}nothing was played often enough, at the same tempos, both this week and before it."
    )


def test_a_third_went_on_and_a_seven_resolved() -> None:
    thirds = [replace(row, voice="third") for row in guide_days(resolved=1.0)]
    assert said(tempo_days(), thirds).startswith("F# over D7 went on 70 of 70 times this week, ")


def test_days_outside_are_left_out() -> None:
    later = TODAY + timedelta(days=40)
    assert said(tempo_days(), today=later).endswith("nothing was played in the last seven days.")


def test_a_player_who_does_not_change_is_seldom_praised() -> None:
    praised = 0
    for seed in range(30):
        guides = [*guide_days("D7", seed=seed), *guide_days("A7", seed=seed + 500)]
        praised += not said(tempo_days(seed=seed), guides).startswith(("It cannot", "Nothing"))
    assert praised <= 3  # one in twenty is 1 or 2; tests.bench.better measures it
