"""The tuner measured: steady tones, single plucks on simulated and sampled banjos, talk, and string drift.

    python -m tests.bench tune                          everything, small
    python -m tests.bench tune --plucks 40 --of simulated

A pluck is judged by the last steady reading up to `JUDGED_SEC` after it, against the pitch that
`tests.bench.tune_reference` fits to 0.3 to 1.0 s; a steady tone against what it was made of. Columns: plucks;
median, 95 % and worst error in cents; of how many any reading was half a half step off or more, as an
octave is; how many were given to another string; when the first word came, median and worst, in ms; plucks
of which nothing was said, and of which nothing steady. Beside it aubio's yinfft, the median over the same
0.3 to 1.0 s: median and 95 % error of those within half a half step, and how many were not.

Of recorded rolls (`--takes FOLDER`) only the first word is judged: which pitch was plucked, beside strings
that ring as loud, four and more a second. Nothing is chosen by TimGM6mb or by the takes.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feedback.errors import Usage
from listener.tuner import Reading, Tuner, hz_of
from tests.bench.tune_drift import table as drift_table
from tests.bench.tune_reference import FROM_SEC, TO_SEC, reference_hz
from tests.bench.tune_rows import ROWS
from tests.bench.tune_sounds import LEAD_SEC, RATE, Pluck, sampled, simulated, steady, talk, thumps

HELP = "the tuner: errors in cents on tones, simulated and sampled banjos, beside aubio's"

JUDGED_SEC = 1.05
INSTRUMENTS = ("simulated", "fluid", "timgm6mb")
TONES = ("sine", "harmonics", "weak", "missing", "stiff")

_PLUCKED_NEAR_SEC = 0.06
_GROSS_CENTS = 50.0
_DRIFTS = (8.0, 10.0, 12.0, 15.0)
_HEAD = (
    f"{'':28} {'n':>4} {'median':>7} {'95 %':>6} {'worst':>6} {'off':>6} {'string':>6} {'first ms':>9} "
    f"{'none':>4} {'unst':>4} | aubio {'median':>6} {'95 %':>6} {'off':>4}"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One pluck."""

    cents: float | None
    gross: bool
    other_string: bool
    first_sec: float | None
    steady: bool
    aubio_cents: float


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `tune` takes."""
    parser.add_argument("--plucks", type=int, default=12, help="in each row (default 12)")
    parser.add_argument("--of", nargs="+", choices=INSTRUMENTS, default=INSTRUMENTS, help="instruments")
    parser.add_argument("--sittings", type=int, default=0, help="of the string drift's table (default none)")
    parser.add_argument("--takes", metavar="FOLDER", help="recorded rolls: FLAC with JSON")
    parser.add_argument("--rows", nargs="+", metavar="WORD", help="only rows whose name holds one of these")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if args.plucks < 1 or args.sittings < 0:
        raise Usage(f"{args.plucks} plucks, {args.sittings} sittings: 1 and more, 0 and more are accepted")
    for line in lines(args):
        print(line, flush=True)
    return 0


def lines(args: argparse.Namespace) -> Iterator[str]:
    """All tables, line by line."""
    if args.rows is None:
        yield f"steady tones, noise at -40 dB\n{_HEAD}"
        for kind in TONES:
            yield row(kind, [_tone(kind, seed) for seed in range(args.plucks)])
        yield from _nothing_played(args.plucks)
    for instrument in args.of:
        yield f"{instrument}\n{_HEAD}"
        every: list[Judged] = []
        for number, (name, drawn) in enumerate(ROWS.items()):
            if args.rows is None or any(word in name for word in args.rows):
                judged = _plucks(instrument, drawn, args.plucks, 1000 * number)
                every += judged
                yield row(name, judged)
        yield row("all", every)
    if args.takes:
        yield from _rolls(Path(args.takes))
    if args.sittings:
        yield "string drift, from a simulated player's passes"
        yield from drift_table(range(args.sittings), _DRIFTS)


def row(name: str, judged: Sequence[Judged]) -> str:
    """One row of a table."""
    off = np.abs([one.cents for one in judged if one.cents is not None])
    first = 1e3 * np.array([one.first_sec for one in judged if one.first_sec is not None])
    peer = np.abs([one.aubio_cents for one in judged])
    near = peer[peer <= _GROSS_CENTS]
    return (
        f"{name:28} {len(judged):4} {_part(off, 50):7.2f} {_part(off, 95):6.2f} {_part(off, 100):6.2f} "
        f"{sum(one.gross for one in judged):6} {sum(one.other_string for one in judged):6} "
        f"{_part(first, 50):4.0f} {_part(first, 100):4.0f} {sum(one.first_sec is None for one in judged):4} "
        f"{sum(one.first_sec is not None and not one.steady for one in judged):4} | "
        f"{'':5} {_part(near, 50):6.2f} {_part(near, 95):6.2f} {len(peer) - len(near):4}"
    )


def judged_by(
    readings: Sequence[Reading], onset_sec: float, true_hz: float, *, index: int | None, aubio_hz: float
) -> Judged:
    """Judge what a tuner said of a pluck.

    Parameters
    ----------
    readings : sequence of Reading
    onset_sec, true_hz : float
        Of the pluck.
    index : int or None
        Of the reference that it belongs to; None where it belongs to none.
    aubio_hz : float
    """
    mine = [one for one in readings if abs(one.plucked_sec - onset_sec) < _PLUCKED_NEAR_SEC]
    early = [one for one in mine if one.sec <= onset_sec + JUDGED_SEC]
    held = [one for one in early if one.steady]
    return Judged(
        cents=_cents(held[-1].hz, true_hz) if held else None,
        gross=any(abs(_cents(one.hz, true_hz)) > _GROSS_CENTS for one in mine),
        other_string=index is not None and any(one.nearest != index for one in mine),
        first_sec=mine[0].sec - onset_sec if mine else None,
        steady=bool(held),
        aubio_cents=_cents(aubio_hz, true_hz) if aubio_hz > 0.0 else np.inf,
    )


def _tone(kind: str, seed: int) -> Judged:
    rng = np.random.default_rng([814, seed])
    references = [67.0, 50.0, 55.0, 59.0, 62.0]
    midi = float(rng.choice([48.0, *references, 71.0, 74.0, 79.0]) + rng.uniform(-1.5, 1.5))
    sound = steady(hz_of(midi), seed, kind=kind)
    begun = [one for one in Tuner(RATE, references).feed(sound) if one.sec > LEAD_SEC]
    # a tone that was looked for steady begins where it was found
    told = [one for one in begun if one.plucked_sec > LEAD_SEC - 0.4]
    return judged_by(
        [_moved(one, LEAD_SEC) for one in told],
        LEAD_SEC,
        hz_of(midi),
        index=None,
        aubio_hz=aubio_of(sound, LEAD_SEC),
    )


def _moved(one: Reading, begun_sec: float) -> Reading:
    return replace(one, plucked_sec=begun_sec)


def _plucks(
    instrument: str, drawn: Callable[[np.random.Generator, bool], Pluck], many: int, seed: int
) -> list[Judged]:
    rng = np.random.default_rng([815, seed])
    plucks = [drawn(rng, instrument != "simulated") for _ in range(many)]
    if instrument == "simulated":
        sounds = [simulated(one, seed + k) for k, one in enumerate(plucks)]
    else:
        sounds = sampled(plucks, instrument, seed)
    found = []
    for pluck, made in zip(plucks, sounds, strict=True):
        sound, onset_sec = made.sound, made.onset_sec
        meant_hz = hz_of(pluck.midi + pluck.off_cents / 100.0)
        true_hz = reference_hz(made.clean, RATE, onset_sec, meant_hz) or meant_hz
        references = [pluck.neck.open_midi(string) for string in (5, 4, 3, 2, 1)]
        readings = Tuner(RATE, references).feed(sound)
        found.append(
            judged_by(
                readings,
                onset_sec,
                true_hz,
                index=None if pluck.fret else _nearest(references, pluck),
                aubio_hz=aubio_of(sound, onset_sec),
            )
        )
    return found


def _nearest(references: Sequence[int], pluck: Pluck) -> int | None:
    """The string's own index, where its pitch lies clearly nearest to it."""
    away = np.abs(np.array(references) - pluck.midi - pluck.off_cents / 100.0)
    own = 5 - pluck.string
    return own if int(away.argmin()) == own and np.sort(away)[1] - away[own] > 0.1 else None


def aubio_of(sound: np.ndarray, onset_sec: float) -> float:
    """aubio's yinfft, the median over `FROM_SEC` to `TO_SEC`; 0 where it says nothing."""
    import aubio

    pitch = aubio.pitch("yinfft", 4096, 512, RATE)
    span = sound[round((onset_sec + FROM_SEC) * RATE) : round((onset_sec + TO_SEC) * RATE)]
    said = [
        float(pitch(np.ascontiguousarray(span[begin : begin + 512], np.float32))[0])
        for begin in range(0, len(span) - 511, 512)
    ]
    said = [hz for hz in said[8:] if hz > 0.0]  # the first ones read what was before
    return float(np.median(said)) if said else 0.0


def _nothing_played(many: int) -> Iterator[str]:
    """Words where nothing was played."""
    sounds: Mapping[str, Callable[[int], np.ndarray]] = {"talk": talk, "thumps of a hand": thumps}
    for name, made in sounds.items():
        said = held = 0
        seconds = 0.0
        for seed in range(max(1, many // 3)):
            sound = made(seed)
            readings = Tuner(RATE, [67, 50, 55, 59, 62]).feed(sound)
            said += len({one.plucked_sec for one in readings})
            held += len({one.plucked_sec for one in readings if one.steady})
            seconds += len(sound) / RATE
        yield f"{name}: in {seconds:.0f} s {said} notes said, {held} of them steady"


def _rolls(folder: Path) -> Iterator[str]:
    """The first word on notes of recorded rolls."""
    import soundfile

    for path in sorted(folder.glob("*.json")):
        about = json.loads(path.read_text(encoding="utf-8"))
        sound, rate = soundfile.read(path.with_suffix(".flac"), dtype="float32")
        readings = Tuner(rate, [67, 50, 55, 59, 62]).feed(sound)
        notes = about["notes"]
        right = wrong = octave = 0
        for plucked in sorted({one.plucked_sec for one in readings}):
            first = next(one for one in readings if one.plucked_sec == plucked)
            off = [
                100.0 * (first.midi - note["midi"]) for note in notes if abs(note["onset"] - plucked) < 0.08
            ]
            if any(abs(cents) < _GROSS_CENTS for cents in off):
                right += 1
            else:
                wrong += 1
                octave += any(abs(abs(cents) - 1200.0) < _GROSS_CENTS for cents in off)
        words = f"first words {right} right, {wrong} wrong ({octave} by an octave)"
        yield f"{path.stem}: {len(notes)} notes, {words}"


def _cents(hz: float, of_hz: float) -> float:
    return 1200.0 * float(np.log2(hz / of_hz))


def _part(values: np.ndarray, percent: float) -> float:
    return float(np.percentile(values, percent)) if len(values) else np.nan
