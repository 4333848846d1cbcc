"""Notes heard against notes played, per tempo: our ear, and a peer beside it.

    python -m tests.bench notes                      own renders
    python -m tests.bench notes --takes FOLDER       takes (sound and JSON side by side), or a folder of such

Own renders are random rolls by the simulated player on instruments drawn at random, and through the free
sound font where FluidSynth and the font are installed. The peer is aubio: onsets by spectral flux (frames of
1024 every 256), one pitch each by yinfft over the 2048 samples that follow.

Columns: notes, precision, recall, F within 50 and 25 ms; recall by kind; onset error and delay of picked
notes in milliseconds (median, 95 %). The figures are those of a scorer that pairs by general assignment.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feedback.errors import CannotDo, Usage, one_line
from feedback.played import Performance
from listener.errors import BadSound
from listener.notes import NoteEvent, standing
from tests.bench.note_scores import Played, Tally

HELP = "notes heard against notes played, beside a peer"

RATE = 44100
OWN_NPS = (4.0, 6.0, 8.0, 10.0, 11.0)
OWN_BARS = 4
SUFFIXES = (".flac", ".wav", ".ogg", ".mp3")
_NOISE_DBFS = -62.0
_FIRST_SEED = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """A sound and what was played in it; `nps` is eighths a second."""

    nps: float
    truth: tuple[Played, ...]
    sound: np.ndarray
    rate: int


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `notes` takes."""
    parser.add_argument(
        "--takes", metavar="FOLDER", help="takes with known notes, or a folder of such folders"
    )
    parser.add_argument(
        "--seeds", type=int, default=2, help="own renders for each tempo and sound (default 2)"
    )


def run(args: argparse.Namespace) -> int:
    """Print a table for each folder or sound."""
    groups = taken(Path(args.takes)) if args.takes else rendered(args.seeds)
    for name, takes in groups:
        print(name)
        for line in table(takes):
            print(f"  {line}")
    return 0


def table(takes: Sequence[Take]) -> Iterator[str]:
    """Lines for our ear by tempo, for all, and for the peer."""
    ours: dict[float, Tally] = {}
    peer = Tally()
    for take in takes:
        ours.setdefault(take.nps, Tally()).add(take.truth, heard(take))
        peer.add(take.truth, heard_by_peer(take))
    for nps in sorted(ours):
        yield f"{nps:4g}/s {ours[nps].row()}"
    yield f"all    {Tally().merged(ours.values()).row()}"
    yield f"aubio  {peer.row()}"


def heard(take: Take) -> list[NoteEvent]:
    """What our ear hears in a take, as `hear` would; native rates only."""
    from listener.ear import Ear

    ear = Ear(take.rate)
    notes, _ = standing(ear.feed(take.sound) + ear.flush())
    return notes


def heard_by_peer(take: Take) -> list[NoteEvent]:
    """What aubio hears: an onset, and the pitch of the window that follows it."""
    import aubio

    hop, window = 256, 2048
    onsets = aubio.onset("specflux", 1024, hop, take.rate)
    pitches = aubio.pitch("yinfft", window, hop, take.rate)
    pitches.set_unit("midi")
    events: list[NoteEvent] = []
    waiting: list[int] = []
    for begin in range(0, len(take.sound) - hop + 1, hop):
        block = take.sound[begin : begin + hop]
        pitch = float(pitches(block)[0])
        if onsets(block)[0]:
            waiting.append(int(onsets.get_last()))
        while waiting and waiting[0] + window <= begin + hop:
            onset = waiting.pop(0)
            if pitch > 0.0:
                events.append(_peer_event(onset / take.rate, pitch, (begin + hop) / take.rate))
    return events


def _peer_event(onset_sec: float, pitch: float, heard_sec: float) -> NoteEvent:
    midi = round(pitch)
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=100.0 * (pitch - midi),
        level_db=0.0,
        confidence=1.0,
        heard_sec=heard_sec,
        settled_sec=heard_sec,
    )


def taken(folder: Path) -> Iterator[tuple[str, list[Take]]]:
    """Takes of a folder, or of each folder in it that has any.

    Raises
    ------
    NotADirectoryError, CannotDo, BadSound
        If there is no such folder, no take in it, or a take at another rate than the ear's.
    """
    if not folder.is_dir():
        raise NotADirectoryError(20, "no such folder", str(folder))
    folders = [inner for inner in (folder, *sorted(folder.iterdir())) if inner.is_dir() and _truths(inner)]
    if not folders:
        raise CannotDo(f"{folder}: no takes; sound and JSON side by side are expected")
    for inner in folders:
        yield inner.name, [_read(truth) for truth in _truths(inner)]


def _truths(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.json") if _sound_of(path) is not None)


def _sound_of(truth: Path) -> Path | None:
    return next((path for path in map(truth.with_suffix, SUFFIXES) if path.exists()), None)


def _read(truth: Path) -> Take:
    from listener.ear import RATES
    from listener.files import SoundFile

    try:
        told = json.loads(truth.read_text(encoding="utf-8"))
        notes = tuple(Played(onset_sec=r["onset"], midi=r["midi"], how=r["how"]) for r in told["notes"])
        nps = float(told["nps"])
    except (ValueError, KeyError, TypeError) as error:
        raise Usage(f"{truth}: not the truth of a take ({type(error).__name__}: {error})") from error
    with SoundFile(_sound_of(truth) or truth) as sound:
        if sound.sample_rate not in RATES:
            raise BadSound(f"{truth}: {sound.sample_rate} Hz; takes at {' or '.join(map(str, RATES))} Hz")
        samples = np.concatenate(list(sound.blocks()))
        rate = sound.sample_rate
    return Take(nps=nps, truth=notes, sound=samples, rate=rate)


def rendered(seeds: int) -> Iterator[tuple[str, list[Take]]]:
    """Own renders: the simulated player, and the sound font where it is installed."""
    yield "simulated player", [_simulated(*row) for row in _rows(seeds)]
    try:
        yield "sound font", [_through_font(*row) for row in _rows(seeds)]
    except CannotDo as error:
        print(one_line(error))


def _rows(seeds: int) -> list[tuple[int, float]]:
    each = [(place, nps) for place, nps in enumerate(OWN_NPS) for _ in range(seeds)]
    return [(_FIRST_SEED + number, nps) for number, (_, nps) in enumerate(each)]


def _simulated(seed: int, nps: float) -> Take:
    from feedback.player import render
    from feedback.sound.banjo import Banjo
    from tests.bench.rolls import random_rolls

    performance = random_rolls(seed, nps, bars=OWN_BARS)
    banjo = Banjo().varied(np.random.default_rng(seed))
    return _take(nps, performance, render(performance, rate=RATE, seed=seed, instrument=banjo))


def _through_font(seed: int, nps: float) -> Take:
    from tests.bench.fluid import font_path, through_font, with_noise
    from tests.bench.rolls import random_rolls

    performance = random_rolls(seed, nps, bars=OWN_BARS)
    sound, performance, _ = through_font(performance, font=font_path("fluid"), rate=RATE)
    return _take(nps, performance, with_noise(sound, _NOISE_DBFS, np.random.default_rng(seed)))


def _take(nps: float, performance: Performance, sound: np.ndarray) -> Take:
    truth = (
        Played(onset_sec=note.onset_sec, midi=note.struck_midi, how=note.how) for note in performance.notes
    )
    return Take(nps=nps, truth=tuple(truth), sound=sound.astype(np.float32), rate=RATE)
