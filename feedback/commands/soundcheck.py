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
    from feedback.checked import as_json, told
    from feedback.report import to_json
    from feedback.soundcheck import asked_json, check, to_play
    from routines.neck import Neck

    neck = Neck(tuning=args.tuning, capo=args.capo)
    name = None if args.instrument is None else instruments.named(args.instrument)
    if args.source == _MICROPHONE or (args.source is None and name is not None):
        raise Usage(
            "soundcheck: the microphone is not built yet; record the notes that sevenfall soundcheck asks "
            "for, then give the file: --from FILE"
        )
    if args.source is None:
        print(to_json({"asked": asked_json(neck)}) if args.json else "\n".join(to_play(neck)))
        return 0
    checked = check(args.source, neck)
    profile, stored, trouble = checked.acquaintance.profile, None, None
    if name is not None and profile is not None:
        try:
            stored = str(instruments.save(name, profile))
        except OSError as error:
            trouble = error  # what was found is told all the same
    if args.json:
        print(to_json(as_json(checked, name, stored)))
    else:
        print("\n".join(told(checked, name, stored)))
    if trouble is not None:
        raise trouble
    return 0
