"""String drift between passes: how noisy the cents of open notes are, false words, and drifts that are found.

A simulated player plays a lick again and again on a banjo drawn for each seed; the ear hears it blind. From a
pass in the middle on, one string is off by so many cents more. Verdicts are those of the truth: every note
landed where it was played, so that only the ear's cents are measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from feedback.drifting import Drifted, StringDrift
from feedback.performance import perform
from feedback.played import Performance
from feedback.sound.banjo import Banjo, Manner
from feedback.sound.room import Room, added, limited
from feedback.sound.strings import strings_sound, sympathetic_impulse
from listener.ear import Ear
from listener.notes import Report
from routines.library import load
from routines.lick import Lick
from routines.outcome import NoteVerdict, PassOutcome, Timing
from tests.bench.fluid import with_noise

LICKS = ("alternating-thumb-roll", "slab-wood-supper")
TEMPO = 84.0
PASSES = 32
DRIFTS_FROM = 8
_RATE = 44_100
_START_SEC = 0.5
_TAIL_SEC = 1.0
_TAKEN = Timing(lean_ms=None, bounce=None, spread_ms=None, drift_percent=None, hurry_at_change_ms=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One sitting: what was said after which pass; of each string, cents of its notes against their place."""

    said: tuple[tuple[int, Drifted], ...]
    rests: dict[int, list[float]]


def sat(
    seed: int, *, string: int = 0, cents: float = 0.0, passes: int = PASSES, lick_id: str | None = None
) -> Sitting:
    """Play, hear and watch one sitting.

    Parameters
    ----------
    seed : int
    string : int
        That drifts; 0 for none.
    cents : float
        By so much, at once.
    passes : int
    lick_id : str, optional
        By default one of `LICKS`, in turn.
    """
    lick = load(lick_id or LICKS[seed % len(LICKS)])
    rng = np.random.default_rng([811, seed])
    banjo = Banjo().varied(rng)
    usual = rng.uniform(-4.0, 4.0, 5)
    watch, ear = StringDrift(lick), Ear(_RATE)
    said: list[tuple[int, Drifted]] = []
    values: dict[tuple[int, int], list[float]] = {}
    begun_sec = 0.0
    for number in range(passes):
        off = usual.copy()
        if string and number >= DRIFTS_FROM:
            off[string - 1] += cents
        played = perform(lick, tempo_half_bpm=TEMPO, seed=100 * seed + number, start_sec=_START_SEC)
        sound = _sound(played, banjo, Manner(string_cents=tuple(off)), rng)
        reports = ear.feed(sound)
        watch.feed(reports)
        outcome = _landed(lick, played, begun_sec)
        _note(values, outcome, reports)
        said += [(number, one) for one in watch.over(outcome)]
        begun_sec += len(sound) / _RATE
    rests: dict[int, list[float]] = {}
    for (_, at), found in values.items():
        rests.setdefault(at, []).extend(np.array(found) - np.median(found))
    return Sitting(said=tuple(said), rests=rests)


def table(seeds: Sequence[int], drifts: Sequence[float]) -> Iterator[str]:
    """Lines: the noise, false words without drift, then for each drift what was found and how soon."""
    still = [sat(seed) for seed in seeds]
    for string in range(5, 0, -1):
        rests = np.abs(np.concatenate([np.array(one.rests.get(string, [])) for one in still]))
        if len(rests):
            spread, most = 1.48 * np.median(rests), np.percentile(rests, 95)
            yield f"  string {string}: {len(rests)} open notes, spread {spread:.1f} cents, 95 % {most:.1f}"
    false = sum(len(one.said) for one in still)
    yield f"  no drift: {false} false words in {len(still) * PASSES} passes of {len(still)} banjos"
    for cents in drifts:
        yield _found(seeds, cents)


def _found(seeds: Sequence[int], cents: float) -> str:
    """How often a drift is found, how soon, and what else is said."""
    late: list[int] = []
    size: list[float] = []
    others = 0
    for seed in seeds:
        string, way = _drifting(seed), 1 if seed % 2 else -1
        said = sat(seed, string=string, cents=way * cents).said
        mine = [(at, one) for at, one in said if one.string == string and at >= DRIFTS_FROM]
        others += len(said) - len(mine)
        late += [at - DRIFTS_FROM + 1 for at, _ in mine[:1]]
        size += [way * one.cents for _, one in mine[:1]]
    soon, told = (float(np.median(some)) if some else np.nan for some in (late, size))
    return (
        f"  drift {cents:4.0f}: found {len(late)} of {len(seeds)}, after {soon:.0f} passes "
        f"(most {max(late, default=0)}), told as {told:.1f}; other strings named {others}"
    )


def _drifting(seed: int) -> int:
    """A string that the sitting's lick plays open, another one for each seed."""
    lick = load(LICKS[seed % len(LICKS)])
    strings = sorted({note.string for note in lick.notes if note.fret == 0})
    return strings[seed // len(LICKS) % len(strings)]


def _sound(played: Performance, banjo: Banjo, manner: Manner, rng: np.random.Generator) -> np.ndarray:
    samples = round((max(note.onset_sec for note in played.notes) + _TAIL_SEC) * _RATE)
    dry = strings_sound(played.notes, rate=_RATE, samples=samples, banjo=banjo, rng=rng, manner=manner)
    fade = round(0.05 * _RATE)
    dry[samples - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)
    ringing = added(dry, sympathetic_impulse(list(played.open_midi.values()), _RATE, banjo))
    room = Room()
    return limited(with_noise(added(ringing, room.impulse(_RATE, rng)), room.noise_dbfs, rng))


def _landed(lick: Lick, played: Performance, begun_sec: float) -> PassOutcome:
    """The truth: every note landed where it was played."""
    left = list(played.notes)
    verdicts = []
    for index, target in enumerate(lick.notes):
        note = next((n for n in left if n.string == target.string and n.midi == target.midi), None)
        if note is None:
            continue
        left.remove(note)
        verdicts.append(
            NoteVerdict(
                index=index, onset_sec=begun_sec + note.sounds_sec, midi=target.midi, string=target.string,
                fret=target.fret, role=target.role, core=target.core, verdict="landed",
                heard_midi=target.midi, deviation_ms=0.0, rest_ms=0.0,
            )
        )  # fmt: skip
    return PassOutcome(
        lick=lick.id, key=lick.key, tempo_half_bpm=played.tempo_half_bpm, start_sec=begun_sec + _START_SEC,
        start_found=False, clean=True, notes=tuple(verdicts), extras=(), sevenths=(), thirds=(),
        timing=_TAKEN,
    )  # fmt: skip


def _note(
    values: dict[tuple[int, int], list[float]], outcome: PassOutcome, reports: Sequence[Report]
) -> None:
    events = [said.note for said in reports if said.kind == "settled"]
    for verdict in outcome.notes:
        assert verdict.onset_sec is not None
        near = [e for e in events if e.midi == verdict.midi and abs(e.onset_sec - verdict.onset_sec) < 0.02]
        if near and verdict.fret == 0:
            values.setdefault((verdict.index, verdict.string), []).append(near[0].cents)
