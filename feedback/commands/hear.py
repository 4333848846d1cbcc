"""`hear FILE`: every note in a recording."""

from __future__ import annotations

import argparse
from typing import Any

from feedback.commands.options import add_json

HELP = "every note in a recording"
EXAMPLE = "  sevenfall hear take.flac --json     note events of a take, as one JSON object"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `hear`."""
    parser.add_argument("file", help="WAV, FLAC, OGG or MP3; any rate, any number of channels")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Listen to the file, print what was heard."""
    from feedback.report import heard_json, notes_text, to_json
    from listener.files import hear_file

    hearing = hear_file(args.file)
    if args.json:
        found: dict[str, Any] = {
            "file": args.file,
            "sample_rate": hearing.sample_rate,
            "duration_sec": hearing.duration_sec,
            "tuning_cents": hearing.tuning_cents,
            "notes": [heard_json(note) for note in hearing.notes],
            "withdrawn": [heard_json(note) for note in hearing.withdrawn],
        }
        print(to_json(found))
        return 0
    print(
        f"{args.file}: {hearing.duration_sec:.2f} s, {len(hearing.notes)} notes, "
        f"tuned {hearing.tuning_cents:+.0f} cents"
    )
    if hearing.notes:
        print(notes_text(hearing.notes))
    return 0
