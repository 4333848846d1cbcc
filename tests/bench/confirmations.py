"""False confirmations: what was asked for and not played, and whether an ear says that it was.

Performances with slips (`tests.bench.unplayed`) are dealt out as the verdicts bench deals its own: tempos lie
in equal steps from `TEMPO_SHARES[0]` to `TEMPO_SHARES[1]` of a lick's top tempo, licks take turns, and a slip
that a lick has no place for goes to the one whose turn is next. One performance in ten has one slip, the
others two.

Conventions: *false* is a standing note at an asked pitch, within half an eighth of its due time (a last
seven: up to `tests.bench.unplayed.LAST_EIGHTHS` after it), that no played note of that pitch within 50 ms
explains. *Withdrawn* and *doubtful* are the same of what was said early and taken back, and of what was
called doubtful; one slip may be more than one of these. *Instead* says whether a note that was played in the
place of another was heard at the pitch that was played. *Confirmed* are the faithful notes of the same
performances that were heard, at their pitch within 50 ms.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from feedback.errors import Usage
from feedback.expect import expectations
from feedback.played import as_heard
from listener.files import Hearing
from listener.notes import NoteEvent
from routines.errors import BadRoutine
from routines.library import all_licks, load
from tests.bench.hearers import hearing
from tests.bench.note_scores import TOLERANCE_SEC, matched
from tests.bench.performances import TEMPO_SHARES
from tests.bench.reliability import Sure, sures
from tests.bench.renders import RATE, Renders
from tests.bench.takes import Take
from tests.bench.unplayed import LEFT_OUT, ONE_OF_A_PINCH, REPLACED, Slip, altered, pinches
from tests.bench.workers import work_sec

_ALONE_EVERY = 10
_AFTER_SEC = 0.7  # so long after the last stroke the ears listen on
_SEEDS = 2**31

Note = tuple[float, int]
"""Onset in seconds and half step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One performance: what `tests.bench.unplayed.altered` takes, and what `tests.bench.renders` does."""

    lick: str
    tempo_half_bpm: float
    sound: str
    seed: int
    kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What one ear said of one slip.

    Attributes
    ----------
    false, withdrawn, doubtful : tuple of NoteEvent
        What it said of the asked note.
    instead : bool or None
        Whether it heard what was played in its place; None where that was nothing.
    """

    false: tuple[NoteEvent, ...]
    withdrawn: tuple[NoteEvent, ...]
    doubtful: tuple[NoteEvent, ...]
    instead: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """What became of one performance.

    Attributes
    ----------
    planned : Planned
    slips : tuple of Slip
    ringing : tuple of tuple of int
        For each slip the pitches of the strings that ring already when its note is due.
    claims : tuple of tuple of Claim
        Of the blind ear and of the informed one, for each slip.
    faithful : int
    confirmed : tuple of int
        How many of them each ear heard.
    sures : tuple of tuple of Sure
        Of each ear.
    took_sec : float
        Of one processor.
    """

    planned: Planned
    slips: tuple[Slip, ...]
    ringing: tuple[tuple[int, ...], ...]
    claims: tuple[tuple[Claim, ...], ...]
    faithful: int
    confirmed: tuple[int, ...]
    sures: tuple[tuple[Sure, ...], ...]
    took_sec: float


def plan(count: int, *, sound: str, seed: int = 0) -> tuple[Planned, ...]:
    """Deal out performances on one sound.

    Parameters
    ----------
    count : int
        Notes that are left out; as many are replaced, each kind of replacement having its share (to one).
    sound : str
        What `tests.bench.renders` takes; what is dealt on it does not depend on other sounds.
    seed : int

    Returns
    -------
    tuple of Planned

    Raises
    ------
    Usage
        If `count` is below 1.
    """
    if count < 1:
        raise Usage(f"{count} omissions: 1 and more are accepted")
    rng = np.random.default_rng([seed, zlib.crc32(sound.encode())])
    every, left = divmod(count, len(REPLACED))
    deck = [LEFT_OUT] * count
    deck += [kind for place, kind in enumerate(REPLACED) for _ in range(every + (place < left))]
    bundles = list(_bundles([deck[k] for k in rng.permutation(len(deck))]))
    low, high = TEMPO_SHARES
    shares = low + (high - low) * (rng.permutation(len(bundles)) + rng.random(len(bundles))) / len(bundles)
    turns = {lick.id: 0 for lick in all_licks()}
    found: list[Planned] = []
    for kinds, share in zip(bundles, shares.tolist(), strict=True):
        whole = _dealt(kinds, share, sound, turns, rng)
        # where no lick has room for two, each gets a performance of its own
        parts = [whole] if whole else [_dealt((kind,), share, sound, turns, rng) for kind in kinds]
        found += [part for part in parts if part is not None]
    return tuple(found)


def claimed(planned: Planned, *, renders: Renders) -> Claimed:
    """Make one performance into sound, and let both ears hear it.

    Raises
    ------
    CannotDo
        If FluidSynth or the font is missing.
    """
    begun = work_sec()
    made = altered(
        load(planned.lick),
        tempo_half_bpm=planned.tempo_half_bpm,
        seed=planned.seed,
        kinds=planned.kinds,
    )
    sound, played, _ = renders.sounded(made.performance, planned.sound)
    sound = sound[: round((max(note.onset_sec for note in played.notes) + _AFTER_SEC) * RATE)]
    take = Take(nps=planned.tempo_half_bpm / 15.0, truth=(), sound=sound, rate=RATE)
    hearings = [hearing(take, told) for told in ((), expectations(made.grid))]
    truth = [(event.onset_sec, event.midi) for event in as_heard(played)]
    reached = [(note.arrive_sec, note.midi) for note in played.notes if note.arrive_sec is not None]
    instead = {slip.target: _answers(slip, truth) for slip in made.slips if slip.played is not None}
    hits = [{place for place, _ in matched(truth, _notes(one.notes), TOLERANCE_SEC)} for one in hearings]
    half_sec = 0.5 * made.grid.eighth_sec
    return Claimed(
        planned=planned,
        slips=made.slips,
        ringing=tuple(
            tuple(
                sorted(
                    note.midi
                    for note in played.notes
                    if note.onset_sec < slip.due_sec - half_sec < note.onset_sec + note.duration_sec
                )
            )
            for slip in made.slips
        ),
        claims=tuple(
            tuple(
                _claim(slip, one, truth, half_sec, instead.get(slip.target, -1) in hit) for slip in made.slips
            )
            for one, hit in zip(hearings, hits, strict=True)
        ),
        faithful=len(truth) - len(instead),
        confirmed=tuple(len(hit - set(instead.values())) for hit in hits),
        sures=tuple(tuple(sures(truth, one, besides=reached)) for one in hearings),
        took_sec=work_sec() - begun,
    )


def unexplained(
    slip: Slip, events: Sequence[NoteEvent], truth: Sequence[Note], before_sec: float
) -> tuple[NoteEvent, ...]:
    """Events that say that an asked note came, and that no played note explains.

    Parameters
    ----------
    slip : Slip
    events : sequence of NoteEvent
    truth : sequence of (float, int)
        What was played.
    before_sec : float
        How long before its due time an event is about the asked note.
    """
    return tuple(
        event
        for event in events
        if event.midi in slip.asked
        and slip.due_sec - before_sec <= event.onset_sec <= slip.until_sec
        and not any(midi == event.midi and abs(sec - event.onset_sec) <= TOLERANCE_SEC for sec, midi in truth)
    )


def _claim(slip: Slip, heard: Hearing, truth: Sequence[Note], before_sec: float, instead: bool) -> Claim:
    said = (heard.notes, heard.withdrawn, heard.doubtful)
    false, withdrawn, doubtful = (unexplained(slip, events, truth, before_sec) for events in said)
    return Claim(
        false=false,
        withdrawn=withdrawn,
        doubtful=doubtful,
        instead=None if slip.played is None else instead,
    )


def _answers(slip: Slip, truth: Sequence[Note]) -> int:
    """Place of the note that was played instead."""
    assert slip.played is not None
    midi, sec = slip.played.midi, slip.played.sounds_sec
    same = [place for place, (_, other) in enumerate(truth) if other == midi]
    return min(same, key=lambda place: abs(truth[place][0] - sec))


def _notes(events: Sequence[NoteEvent]) -> list[Note]:
    return [(event.onset_sec, event.midi) for event in events]


def _bundles(deck: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Slips of each performance: one in every tenth, else two."""
    place = turn = 0
    while place < len(deck):
        many = 1 if turn % _ALONE_EVERY == 0 else 2
        yield tuple(deck[place : place + many])
        place, turn = place + many, turn + 1


def _dealt(
    kinds: tuple[str, ...],
    share: float,
    sound: str,
    turns: dict[str, int],
    rng: np.random.Generator,
) -> Planned | None:
    """The performance with these slips, by the lick whose turn it is; None where none has room for them."""
    draws = dict(zip(turns, rng.random(len(turns)).tolist(), strict=True))
    for name in sorted(turns, key=lambda name: (turns[name], draws[name])):
        lick, seed = load(name), int(rng.integers(_SEEDS))
        tempo = round(share * lick.top_tempo_half_bpm, 1)
        if kinds.count(ONE_OF_A_PINCH) > pinches(lick):
            continue
        try:
            altered(lick, tempo_half_bpm=tempo, seed=seed, kinds=kinds)
        except BadRoutine:
            continue
        turns[name] += 1
        return Planned(lick=name, tempo_half_bpm=tempo, sound=sound, seed=seed, kinds=kinds)
    return None
