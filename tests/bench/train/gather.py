"""Many takes drawn, looked at and laid side by side, by several processes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from tests.bench.train.features import examples
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


def gathered(seeds: Sequence[int], *, aside: bool, notes_folder: Path | None, workers: int) -> Gathered:
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

    Returns
    -------
    Gathered
        In the order of the seeds, whatever the number of workers.
    """
    jobs = [(seed, aside, notes_folder) for seed in seeds]
    if workers < 2:
        return _laid(map(_one, jobs))
    with get_context("spawn").Pool(workers) as pool:
        return _laid(pool.imap(_one, jobs, chunksize=4))


_Row = tuple[Part, np.ndarray, np.ndarray, np.ndarray]


def _one(job: tuple[int, bool, Path | None]) -> _Row:
    seed, aside, folder = job
    take = drawn(seed, aside=aside, notes_folder=folder)
    found = examples(take)
    part = Part(
        seed=seed,
        kind=take.kind,
        nps=take.nps,
        begin=0,
        end=len(found.views),
        onset_sec=found.onset_sec,
        notes=take.notes,
    )
    return part, found.views, found.facts, found.labels


def _laid(rows: Iterable[_Row]) -> Gathered:
    parts: list[Part] = []
    columns: tuple[list[np.ndarray], list[np.ndarray], list[np.ndarray]] = ([], [], [])
    at = 0
    for part, *arrays in rows:
        parts.append(replace(part, begin=at, end=at + part.end))
        at = parts[-1].end
        for column, array in zip(columns, arrays, strict=True):
            column.append(array)
    views, facts, labels = (np.concatenate(column) for column in columns)
    return Gathered(views=views, facts=facts, labels=labels, parts=tuple(parts))
