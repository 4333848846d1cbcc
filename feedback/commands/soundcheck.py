"""`soundcheck --from FILE --instrument NAME`: how a banjo sounds here, and a listener that knows it."""

from __future__ import annotations

import argparse

from feedback.commands.options import add_json, seed
from feedback.errors import Usage

HELP = "check sound and tuning from half a minute of single notes, and get to know this banjo"
EXAMPLE = "  sevenfall soundcheck --from notes.wav --instrument old-five     without --from: what to play"

_MICROPHONE = "mic"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `soundcheck`."""
    parser.add_argument(
        "--from",
        dest="source",
        metavar="FILE",
        help="a recording of the notes that are asked for; the microphone is not built yet",
    )
    parser.add_argument(
        "--instrument", metavar="NAME", help="store what was found under this name; the last check counts"
    )
    parser.add_argument("--tuning", default="gDGBD", metavar="T", help="of the banjo (default gDGBD)")
    parser.add_argument(
        "--capo", type=seed, default=0, metavar="N", help="fret of the capo (default 0, none)"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Say what to play, or listen to it, report, store."""
    from feedback import instruments
    from feedback.soundcheck import as_json, check, to_play, told
    from routines.neck import Neck

    neck = Neck(tuning=args.tuning, capo=args.capo)
    name = None if args.instrument is None else instruments.named(args.instrument)
    if args.source in (None, _MICROPHONE):
        if not args.json:
            print("\n".join(to_play(neck)))
        raise Usage(
            "soundcheck: the microphone is not built yet; record these notes, then give the file: --from FILE"
        )
    from feedback.report import to_json

    checked = check(args.source, neck)
    profile = checked.acquaintance.profile
    stored = str(instruments.save(name, profile)) if name is not None and profile is not None else None
    if args.json:
        print(to_json(as_json(checked, name, stored)))
        return 0
    print("\n".join(told(checked, name, stored)))
    return 0
