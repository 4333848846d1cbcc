"""A take heard twice, by the blind ear and by one that is told what to expect: rolls, rows, takes of folders.

Conventions: what the informed ear is told follows from the truth and a seed (`tests.bench.asking`), never
from what either ear heard. Each function does the work of one take and can be sent to another process.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from listener.expecting import Expectation
from listener.files import Hearing
from tests.bench.asking import DRONE_MIDI, asked_of, asked_of_nobody
from tests.bench.cases import general_seed, roll
from tests.bench.counts import Count
from tests.bench.hearers import heard_in_file, hearing
from tests.bench.note_scores import Played
from tests.bench.passages import Passage
from tests.bench.rows import FIRST_SEED, ROWS, Score
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take
from tests.bench.workers import work_sec

EARS = ("blind", "informed")


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoEars:
    """One take.

    Attributes
    ----------
    nps : float
    truth : tuple of Played
    hearings : tuple of Hearing
        Of the blind ear and of the informed one, as `EARS`.
    scores : tuple of Score
        The same way.
    took_sec : float
        Of one processor, for making the sound and hearing it twice.
    """

    nps: float
    truth: tuple[Played, ...]
    hearings: tuple[Hearing, ...]
    scores: tuple[Score, ...]
    took_sec: float


def heard_roll(job: tuple[str, int, float], as_played: bool = False) -> TwoEars:
    """Random rolls: an instrument of `SOUNDS`, which seed, from 0, and eighths a second of `GENERAL_NPS`."""
    sound, number, nps = job
    begun = work_sec()
    seed = general_seed(number, nps)
    passage = roll(seed, nps=nps)
    return _heard(SOUNDS[sound].take(passage), passage, seed, begun, as_played=as_played)


def heard_row(job: tuple[str, str, int], as_played: bool = False) -> TwoEars:
    """A row of `ROWS` on an instrument of `SOUNDS`, and which seed, from 0."""
    name, sound, number = job
    begun = work_sec()
    row, seed = ROWS[name], FIRST_SEED + number
    passage = row.play(seed)
    take = row.change(SOUNDS[sound].take(passage), seed)
    in_file = row.listen is heard_in_file
    return _heard(take, passage, seed, begun, in_file=in_file, counts=row.counts, as_played=as_played)


def heard_take(job: tuple[Take, int], as_played: bool = False) -> TwoEars:
    """A take of a folder, and the seed of what is asked for."""
    take, seed = job
    return _heard(take, None, seed, work_sec(), as_played=as_played)


def _heard(
    take: Take,
    passage: Passage | None,
    seed: int,
    begun: float,
    *,
    in_file: bool = False,
    counts: Iterable[Count] = (),
    as_played: bool = False,
) -> TwoEars:
    asked = _expectations(take, passage, seed, as_played=as_played)
    hearings = tuple(hearing(take, told, in_file=in_file) for told in ((), asked))
    return TwoEars(
        nps=take.nps,
        truth=take.truth,
        hearings=hearings,
        scores=tuple(Score.of(take, one.notes, counts) for one in hearings),
        took_sec=work_sec() - begun,
    )


def _expectations(
    take: Take, passage: Passage | None, seed: int, *, as_played: bool
) -> Sequence[Expectation]:
    if not take.truth:
        return asked_of_nobody(seed, len(take.sound) / take.rate)
    drone = DRONE_MIDI if passage is None else passage.performance.open_midi[5]
    return asked_of(take.truth, nps=take.nps, seed=seed, drone_midi=drone, as_played=as_played)
