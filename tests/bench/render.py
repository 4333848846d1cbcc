"""Render a lick with named mistakes, or random rolls: sound, truth (JSON) and MIDI, side by side.

    python -m tests.bench render the-edgers-nod --mistake left-hanging --tempo 96 --seed 3 -o take.flac
    python -m tests.bench render --rolls 8 --font fluid -o rolls.flac
    python -m tests.bench render --take --seed 100017 -o take.flac      what the listener learns from

The truth has the names of takes with known notes (`nps`, `rate`, `notes`), and what was asked for. Of a
choke, and of a slide that begins with a stroke, `midi` is the pitch that was struck, which is what an ear
names first; `to_midi` is the one that was reached. Of a take to learn from, `counts` says whether a note is
asked for; it has no MIDI.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import mido
import numpy as np

from feedback.mistakes import MISTAKES
from feedback.performance import perform
from feedback.played import Performance, PlayedNote
from feedback.player import RATES, render
from feedback.sound.banjo import Banjo
from feedback.sound.room import limited
from feedback.writing import beside
from routines import library
from routines.errors import BadRoutine
from routines.lick import quarter_sec
from routines.tempo import parse_tempo
from tests.bench.fluid import FONTS, font_path, through_font, with_noise
from tests.bench.midi import midi_file
from tests.bench.rolls import random_rolls

HELP = "sound, truth and MIDI of a lick with named mistakes"

SIMULATED = "sim"
SUFFIXES = (".flac", ".wav", ".ogg")

_NOISE_DBFS = -66.0
_NPS_MOST = 16.0
_START_SEC = 0.5


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `render` takes."""
    parser.add_argument("lick", nargs="?", metavar="LICK", help="name of a lick, or a .lick file")
    parser.add_argument("--rolls", type=float, metavar="NPS", help="random rolls instead, eighths a second")
    parser.add_argument("--bars", type=int, default=4, help="how many bars of rolls (default 4)")
    parser.add_argument(
        "--mistake",
        action="append",
        default=[],
        metavar="NAME",
        help=f"may be repeated: {', '.join(MISTAKES)}",
    )
    parser.add_argument(
        "--font", default=SIMULATED, metavar="F",
        help=f"{SIMULATED} (the simulated player), {', '.join(FONTS)}, or a .sf2 file (default {SIMULATED})",
    )  # fmt: skip
    parser.add_argument("--tempo", default="96", metavar="T", help="half notes a minute, or quarters: 192q")
    parser.add_argument("--seed", type=int, default=0, metavar="S", help="0 or more (default 0)")
    parser.add_argument(
        "--start", type=float, help="downbeat of bar 1, seconds (default 0.5, or as the pickup needs)"
    )
    parser.add_argument("--rate", type=int, default=44_100, help="samples a second (default 44100)")
    parser.add_argument("--vary", action="store_true", help="draw another instrument by the seed (sim only)")
    parser.add_argument("--take", action="store_true", help="a take to learn from instead, by its seed")
    parser.add_argument("--aside", action="store_true", help="such a take on an instrument kept aside")
    parser.add_argument(
        "--notes", metavar="FOLDER", help="the font's notes for it (else simulated ones only)"
    )
    parser.add_argument(
        "-o", "--output", required=True, metavar="x.flac", help="x.json and x.mid come beside it"
    )


def run(args: argparse.Namespace) -> int:
    """Render and write."""
    if args.take:
        return _learnt_from(args)
    performance = _performance(args)
    sound, performance, file = _sounded(args, performance)
    told = truth(performance, rate=args.rate, sound=args.font)
    _write(Path(args.output), told, sound, args.rate, file)
    return 0


def truth(performance: Performance, *, rate: int, sound: str) -> dict[str, Any]:
    """Return the truth of a take as plain data.

    Parameters
    ----------
    performance : Performance
    rate : int
    sound : str
        What it was rendered with.
    """
    return {
        "nps": performance.tempo_half_bpm / 15.0,
        "rate": rate,
        "lick": performance.lick_id,
        "tempo_half_bpm": performance.tempo_half_bpm,
        "start_sec": performance.start_sec,
        "mistakes": list(performance.mistakes),
        "seed": performance.seed,
        "sound": sound,
        "notes": [_note_truth(note) for note in performance.notes],
    }


def _note_truth(note: PlayedNote) -> dict[str, Any]:
    row = {
        "onset": round(note.sounds_sec, 6),
        "midi": note.struck_midi,
        "string": note.string,
        "fret": note.fret,
        "how": note.how,
        "level_db": round(note.level_db, 3),
    }
    if note.midi != note.struck_midi and note.arrive_sec is not None:
        row |= {"to_midi": note.midi, "arrive": round(note.arrive_sec, 6)}
    return row


def _learnt_from(args: argparse.Namespace) -> int:
    """Write a take to learn from, and its truth."""
    from dataclasses import asdict

    from tests.bench.train.fontnotes import build
    from tests.bench.train.takes import drawn

    if args.lick is not None or args.rolls is not None:
        raise BadRoutine("give one of a LICK, --rolls NPS and --take")
    _checked(args)
    folder = Path(args.notes) if args.notes else None
    if folder is not None:
        build(folder)
    take = drawn(args.seed, aside=args.aside, notes_folder=folder)
    told = {
        "nps": round(take.nps, 3),
        "rate": take.rate,
        "seed": take.seed,
        "sound": take.kind,
        "tuning_cents": round(take.tuning_cents, 2),
        "notes": [
            {"onset": round(note.onset_sec, 6)}
            | {name: value for name, value in asdict(note).items() if name != "onset_sec"}
            for note in take.notes
        ],
    }
    _write(Path(args.output), told, take.sound, take.rate, None)
    return 0


def _checked(args: argparse.Namespace) -> None:
    if args.seed < 0:
        raise BadRoutine(f"seed {args.seed}: accepted is 0 or more")
    if Path(args.output).suffix.lower() not in SUFFIXES:
        raise BadRoutine(f"{args.output}: accepted endings are {' '.join(SUFFIXES)}")


def _performance(args: argparse.Namespace) -> Performance:
    if (args.lick is None) == (args.rolls is None):
        raise BadRoutine("give either a LICK or --rolls NPS")
    _checked(args)
    if args.rolls is not None:
        if not 0.0 < args.rolls <= _NPS_MOST or args.bars < 1:
            raise BadRoutine(
                f"{args.bars} bars of {args.rolls:g} eighths a second: accepted are 1 bar and more, "
                f"above 0 to {_NPS_MOST:g}"
            )
        return random_rolls(args.seed, args.rolls, bars=args.bars)
    lick = library.load(args.lick)
    tempo = parse_tempo(args.tempo)
    least = lick.pickup_quarters * quarter_sec(tempo) + 0.1
    start = max(_START_SEC, least) if args.start is None else args.start
    if not least <= start < np.inf:
        raise BadRoutine(f"start {start:g}: {lick.id} at this tempo accepts {least:.2f} seconds and more")
    return perform(lick, tempo_half_bpm=tempo, mistakes=args.mistake, seed=args.seed, start_sec=start)


def _sounded(
    args: argparse.Namespace, performance: Performance
) -> tuple[np.ndarray, Performance, mido.MidiFile]:
    if not RATES[0] <= args.rate <= RATES[1]:
        raise BadRoutine(f"rate {args.rate}: accepted are {RATES[0]} to {RATES[1]} samples a second")
    if args.font == SIMULATED:
        banjo = Banjo().varied(np.random.default_rng(args.seed)) if args.vary else Banjo()
        sound = render(performance, rate=args.rate, seed=args.seed, instrument=banjo)
        return sound, performance, midi_file(performance.notes)
    sound, performance, file = through_font(performance, font=font_path(args.font), rate=args.rate)
    return limited(with_noise(sound, _NOISE_DBFS, np.random.default_rng(args.seed))), performance, file


def _write(out: Path, told: dict[str, Any], sound: np.ndarray, rate: int, file: mido.MidiFile | None) -> None:
    import soundfile

    beside(out, lambda path: soundfile.write(path, sound, rate))
    beside(out.with_suffix(".json"), lambda path: path.write_text(json.dumps(told, indent=1) + "\n"))
    if file is not None:
        beside(out.with_suffix(".mid"), lambda path: file.save(path))
