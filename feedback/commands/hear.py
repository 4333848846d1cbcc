"""`hear FILE`: every note in a recording."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING, Any

from feedback.commands.options import (
    add_instrument,
    add_json,
    add_key,
    add_tempo,
    chosen,
    ear_settings,
    seconds,
)
from feedback.errors import Usage

if TYPE_CHECKING:
    from feedback.grid import Grid
    from listener.files import Hearing
    from routines.lick import Lick

HELP = "every note in a recording"
EXAMPLE = "  sevenfall hear take.flac --json     note events of a take, as one JSON object"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `hear`."""
    parser.add_argument("file", help="WAV, FLAC, OGG or MP3; any rate, any number of channels")
    parser.add_argument("--lick", help="listen with this lick in mind: its id, or a .lick file")
    add_tempo(parser, help_text="of the lick; found from the take if left out")
    parser.add_argument(
        "--start",
        type=seconds,
        metavar="S",
        help="downbeat of bar 1 of the lick in seconds; found from the take if left out",
    )
    add_key(parser)
    add_instrument(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Listen to the file, print what was heard."""
    from feedback.report import heading, heard_json, notes_text, to_json

    hearing, lick, grid = _hearing(args)
    if args.json:
        found: dict[str, Any] = {
            "file": args.file,
            "sample_rate": hearing.sample_rate,
            "duration_sec": hearing.duration_sec,
            "tuning_cents": hearing.tuning_cents,
            "notes": [heard_json(note) for note in hearing.notes],
            "withdrawn": [heard_json(note) for note in hearing.withdrawn],
        }
        if lick is not None:
            found["doubtful"] = [heard_json(note) for note in hearing.doubtful]
            found["lick"] = lick.id
            found["start_sec"] = None if grid is None else grid.start_sec
            found["tempo_half_bpm"] = None if grid is None else grid.tempo_half_bpm
        print(to_json(found))
        return 0
    print(
        f"{args.file}: {hearing.duration_sec:.2f} s, {len(hearing.notes)} notes, "
        f"tuned {hearing.tuning_cents:+.0f} cents"
    )
    if lick is not None and grid is not None:
        print(f"heard with {heading(lick, grid.tempo_half_bpm)} in mind, bar 1 at {grid.start_sec:.3f} s")
    elif lick is not None:
        print(f'no pass through "{lick.title}" was found: heard without it')
    if hearing.notes:
        print(notes_text(hearing.notes))
    return 0


def _hearing(args: argparse.Namespace) -> tuple[Hearing, Lick | None, Grid | None]:
    """What is heard: blind, or with a lick in mind that lies somewhere, or nowhere."""
    ear = ear_settings(args.instrument)
    if args.lick is None:
        if args.tempo is not None or args.start is not None:
            raise Usage("--tempo and --start say where a lick lies: give --lick as well")
        if args.key is not None:
            raise Usage("--key is of a lick: give --lick as well")
        from listener.ear import Ear
        from listener.files import hear_file

        return hear_file(args.file, ear=partial(Ear, settings=ear)), None, None
    from feedback.judges.limits import Limits
    from feedback.takes import hear_take

    lick = chosen(args)
    hearing, grid = hear_take(
        args.file, lick, Limits(), tempo_half_bpm=args.tempo, start_sec=args.start, ear=ear
    )
    return hearing, lick, grid
