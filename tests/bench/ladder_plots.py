"""Pictures of sittings: one for each kind of player, three sittings in each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from tests.bench.ladder import Job, sitting
from tests.bench.ladder_players import KINDS
from tests.bench.ladder_sittings import Played

EDGE = 84.0
STARTS = (0.5, 0.85, 1.5)

_MARKS = (
    ("clean", True, {"marker": "o", "color": "#1b5e8a"}),
    ("not clean", False, {"marker": "x", "color": "#c0392b"}),
    ("unclear", None, {"marker": "o", "facecolors": "none", "edgecolors": "#777777"}),
)


def leave_plots(folder: Path, seed: int) -> Iterator[Path]:
    """Leave a PNG a kind in a folder, which is made.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    folder.mkdir(parents=True, exist_ok=True)
    for name in KINDS:
        figure, rows = plt.subplots(len(STARTS), 1, figsize=(12.0, 11.0), layout="constrained")
        for axes, start in zip(rows, STARTS, strict=True):
            played, _, _ = sitting(Job(kind=name, edge_half_bpm=EDGE, start=start, seed=seed))
            _draw(axes, played, f"{name}, from {start:g} of the edge")
        rows[0].legend(loc="lower right", ncols=3, fontsize=9)
        rows[-1].set_xlabel("minutes")
        path = folder / f"ladder-{name.replace(' ', '-').replace('%', 'percent')}.png"
        figure.savefig(path, dpi=90)
        plt.close(figure)
        yield path


def _draw(axes: Any, played: Sequence[Played], title: str) -> None:
    minutes = [one.minutes for one in played]
    axes.plot(minutes, [one.edge_half_bpm for one in played], color="#2e7d32", lw=1.5, label="true edge")
    axes.fill_between(
        minutes,
        [0.94 * one.edge_half_bpm for one in played],
        [1.06 * one.edge_half_bpm for one in played],
        color="#2e7d32",
        alpha=0.12,
        lw=0,
        label="within 6 %",
    )
    axes.step(minutes, [one.seen.tempo_half_bpm for one in played], where="mid", color="#999999", lw=0.8)
    for name, clean, marks in _MARKS:
        these = [one for one in played if one.seen.clean is clean]
        axes.scatter(
            [one.minutes for one in these],
            [one.seen.tempo_half_bpm for one in these],
            s=26,
            zorder=3,
            label=name,
            **marks,
        )
    loop = [one for one in played if one.seen.unit == "change"]
    axes.scatter(
        [one.minutes for one in loop],
        [one.seen.tempo_half_bpm for one in loop],
        s=110,
        lw=0.8,
        marker="s",
        facecolors="none",
        edgecolors="#b8860b",
        label="the change alone",
    )
    axes.axvline(2.0, color="#bbbbbb", lw=0.8, ls=":")
    axes.set_title(title, loc="left", fontsize=11)
    axes.set_ylabel("half notes a minute")
    axes.grid(alpha=0.25)
