"""Progress as pages: what stands on them, how many there are, and that drawing leaves nothing behind."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from feedback import progress_ink
from feedback.progress_charts import pages_of, write_charts
from feedback.progress_ink import day_ticks, drawing, short
from feedback.progress_lick_page import lick_page
from feedback.progress_page import whole_page
from routines.progress.types import Progress, TempoPoint, WeekMinutes
from tests.progressed import EMPTY, FEW, TODAY, YEARS, lick, stale

if TYPE_CHECKING:
    from matplotlib.figure import Figure

POINTS = (
    TempoPoint(day="2026-11-20", tempo_half_bpm=70.0, passes=4, clean=4, unclean=0),
    TempoPoint(day="2026-11-21", tempo_half_bpm=80.0, passes=4, clean=2, unclean=1),
    TempoPoint(day="2026-11-22", tempo_half_bpm=90.0, passes=4, clean=0, unclean=4),
    TempoPoint(day="2026-11-23", tempo_half_bpm=60.0, passes=4, clean=0, unclean=0),
)
PLAYED = replace(
    FEW,
    items=(replace(FEW.items[0], points=POINTS), *FEW.items[1:]),
    weeks=tuple(
        WeekMinutes(first_day=(TODAY - timedelta(days=7 * k + 6)).isoformat(), minutes=10.0 * k, passes=k)
        for k in range(11, -1, -1)
    ),
)


def texts(page: Figure) -> list[str]:
    from matplotlib.text import Text

    return [text.get_text() for text in page.findobj(Text) if text.get_text()]


def test_the_page_of_everything_names_what_it_shows() -> None:
    with drawing():
        found = texts(whole_page(PLAYED, "white"))
    for wanted in (
        "Progress", "6 Sep 2026 to 29 Nov 2026", "Slab Wood Supper in G", "in hand, top 110", "edge 82",
        "home 74", "in hand, top 110, home and edge not known yet", "110", "seven C", "31 of 36",
        "resolved,\nwent on",
    ):  # fmt: skip
        assert wanted in found, wanted
    assert any(FEW.sentence[:40] in text for text in found)
    assert not any(text.startswith("Trimmer's") for text in found)  # parts of licks have no room here


def test_a_page_is_titled_by_what_is_asked_and_a_player_is_named_beside() -> None:
    span = "6 Sep 2026 to 29 Nov 2026"
    none = replace(FEW, items=(), keys=(), chords=())
    for changed, title in (
        ({}, "Progress"),
        ({"asked_kind": "key", "asked_for": "G"}, "Progress in G"),
        ({"asked_kind": "chord", "asked_for": "D7"}, "Progress over D7"),
        ({"asked_kind": "lick", "asked_for": "tally-stick"}, "tally-stick"),
    ):
        with drawing():
            page = whole_page(replace(none, **changed), "white")  # type: ignore[arg-type]
        assert [text.get_text() for text in page.texts[:2]] == [title, span]
    with drawing():
        found = texts(whole_page(replace(none, player="Bo"), "white"))
        page = lick_page(
            replace(PLAYED, player="Bartholomew Featherstone the Younger"),
            replace(FEW.items[0], title="Long Title " * 9),
            "white",
        )
        named, who = (text.get_window_extent() for text in page.texts[:2])
    assert {"Progress", f"Bo, {span}"} <= set(found)
    assert named.x1 < who.x0


def test_old_levels_say_of_which_day_they_are() -> None:
    old = replace(FEW, items=(stale(lick(days=(40, 6))),))
    with drawing():
        assert "in hand, top 110, as of 23 Nov" in texts(whole_page(old, "white"))
        assert any(
            "home and edge as of 23 Nov" in text for text in texts(lick_page(old, old.items[0], "white"))
        )


def test_the_page_of_a_lick_shows_tempos_by_shape() -> None:
    with drawing():
        page = lick_page(PLAYED, PLAYED.items[0], "white")
        found = texts(page)
        lines = {line.get_label(): line for line in page.axes[0].lines}
    assert {"Slab Wood Supper in G", "edge 82", "home 74", "top 110", "every pass clean"} <= set(found)
    drawn = {
        name: (list(lines[name].get_ydata()), lines[name].get_marker(), lines[name].get_markerfacecolor())
        for name in ("every pass clean", "some clean", "none clean")
    }
    assert [tempos for tempos, _, _ in drawn.values()] == [[70.0], [80.0], [90.0]]
    assert len({(mark, fill == "none") for _, mark, fill in drawn.values()}) == 3


@pytest.mark.parametrize("name", ["x.png", "x.pdf"])
def test_files_are_whole_and_quiet(
    name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str], recwarn: pytest.WarningsRecorder
) -> None:
    odd = replace(PLAYED, player="🪕 $x$ _{", items=(replace(PLAYED.items[0], title="$\\frac$ 5% 世"),))
    pages = write_charts(odd, tmp_path / name)
    made = (tmp_path / name).read_bytes()
    assert (tmp_path / name).exists()
    assert [path.name for path in tmp_path.iterdir()] == [name]
    if name == "x.pdf":
        assert pages == len(re.findall(rb"/Type /Page\b", made)) == 2
    else:
        assert made.startswith(b"\x89PNG")
        assert pages == 1
    assert capfd.readouterr() == ("", "")
    assert not recwarn.list


@pytest.mark.parametrize("found", [EMPTY, YEARS, replace(FEW, items=FEW.items[3:])])
def test_the_least_and_the_most_can_be_drawn(found: Progress) -> None:
    with drawing():
        page = whole_page(found, "white")
        page.draw_without_rendering()
        inside = page.bbox
        for text in page.texts:
            extent = text.get_window_extent()
            assert inside.x0 <= extent.x0
            assert extent.x1 <= inside.x1, text.get_text()
        for item in found.items[:1]:
            lick_page(found, item, "white").draw_without_rendering()


def test_a_lick_asked_for_has_its_own_pages_only() -> None:
    with drawing():
        pages = pages_of(replace(PLAYED, items=PLAYED.items[1:3]), "white", of_lick=True)
        nothing = pages_of(replace(PLAYED, items=()), "white", of_lick=True)
    assert ["The Edger's Nod in D" in texts(page) for page in pages] == [True, False]
    assert ["Progress" in texts(page) for page in nothing] == [True]


def test_days_are_named_sparingly_and_end_today() -> None:
    first = date(2026, 9, 7)
    for days, most in ((0, 2), (6, 3), (83, 3), (83, 9), (3650, 3), (7300, 9)):
        last = first + timedelta(days=days)
        ticks = day_ticks(first, last, most)
        assert 1 <= len(ticks) <= most
        assert ticks[-1] == last
        assert ticks[0] >= first
        assert len(ticks) > 1 or days == 0
    assert short("a long title", 8) == "a long…"
    assert short("short", 8) == "short"


def test_where_the_home_cannot_be_written_caches_go_to_a_folder_of_the_moment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("MPLCONFIGDIR", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", "")
    monkeypatch.setenv("XDG_CONFIG_HOME", "")
    with drawing():
        assert "MPLCONFIGDIR" not in os.environ
    monkeypatch.setattr(progress_ink.os, "access", lambda *_: False)
    with drawing():
        folder = Path(os.environ["MPLCONFIGDIR"])
        assert folder.is_dir()
        assert tmp_path not in folder.parents
    monkeypatch.delenv("MPLCONFIGDIR")
    assert not list(tmp_path.iterdir())
