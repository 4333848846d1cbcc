"""Many takes drawn, looked at and laid side by side, by several processes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from tests.bench.train.features import Examples, examples
from tests.bench.train.takes import TrueNote, drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One take's share of `Gathered`: rows `begin` to `end`, when its strikes came, what was played."""

    seed: int
    kind: str
    nps: float
    begin: int
    end: int
    onset_sec: np.ndarray
    notes: tuple[TrueNote, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """Examples of many takes; arrays as in `tests.bench.train.features.Examples`."""

    views: np.ndarray
    facts: np.ndarray
    labels: np.ndarray
    parts: tuple[Part, ...]


def gathered(
    seeds: Sequence[int],
    *,
    aside: bool,
    notes_folder: Path | None,
    workers: int,
    looks: Sequence[str] = ("full",),
) -> list[Gathered]:
    """Draw the takes of these seeds and look at them.

    Parameters
    ----------
    seeds : sequence of int
    aside : bool
        From instruments that are never learnt.
    notes_folder : Path or None
        Where the library of single notes lies; None for simulated instruments only.
    workers : int
        Processes.
    looks : sequence of str
        Names in `listener.views.LOOKS`, the soonest first.

    Returns
    -------
    list of Gathered
        For each look, all of the same strikes; in the order of the seeds, whatever the number of workers.
    """
    jobs = [(seed, aside, notes_folder, tuple(looks)) for seed in seeds]
    if workers < 2:
        return _laid(map(_one, jobs))
    with get_context("spawn").Pool(workers) as pool:
        return _laid(pool.imap(_one, jobs, chunksize=4))


_Job = tuple[int, bool, Path | None, tuple[str, ...]]


def _one(job: _Job) -> tuple[Part, list[Examples]]:
    seed, aside, folder, looks = job
    take = drawn(seed, aside=aside, notes_folder=folder)
    found = examples(take, looks=looks)
    part = Part(
        seed=seed,
        kind=take.kind,
        nps=take.nps,
        begin=0,
        end=len(found[0].views),
        onset_sec=found[0].onset_sec,
        notes=take.notes,
    )
    return part, found


def _laid(rows: Iterable[tuple[Part, list[Examples]]]) -> list[Gathered]:
    parts: list[Part] = []
    columns: list[list[Examples]] = []
    at = 0
    for part, found in rows:
        parts.append(replace(part, begin=at, end=at + part.end))
        at = parts[-1].end
        columns.append(found)
    return [
        Gathered(
            views=np.concatenate([one.views for one in column]),
            facts=np.concatenate([one.facts for one in column]),
            labels=np.concatenate([one.labels for one in column]),
            parts=tuple(parts),
        )
        for column in zip(*columns, strict=True)
    ]
