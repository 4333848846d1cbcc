"""`sevenfall progress`: what practice has come to, of everything or of one lick, key or chord.

A word after it is looked up among what was ever practised: a key, a chord, or a lick by its id or title. An
empty journal is no error: one line says how to begin.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from feedback.commands.options import add_json, add_player
from feedback.errors import CannotDo, Usage, tell
from feedback.remembered import local_now
from feedback.settings import add_setting_flag
from routines.progress.progress import WEEKS, WEEKS_MOST

if TYPE_CHECKING:
    from routines.journal.journal import Journal
    from routines.progress.types import Progress

HELP = "what practice has come to: licks, keys, chords, and what got better this week"
EXAMPLE = """\
  sevenfall progress                           everything of the last twelve weeks
  sevenfall progress A7 --weeks 52             one chord (or key, or lick), of a year
  sevenfall progress -o progress.pdf           the same as pages: home and edge, minutes, chords
  sevenfall progress slab-wood-supper -o x.png one lick: what was played at which tempo, day by day"""

ENDINGS = (".png", ".pdf", ".csv", ".json")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument(
        "what",
        nargs="?",
        metavar="WHAT",
        help="a lick (id or title), a key such as A, or a chord such as A7, as they sound (default: all)",
    )
    add_player(parser)
    parser.add_argument(
        "--weeks", type=_weeks, default=WEEKS, metavar="N", help=f"how far to look back (default {WEEKS})"
    )
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        metavar="FILE",
        help=f"write it: {', '.join('x' + end for end in ENDINGS)}",
    )
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Tell progress.

    Returns
    -------
    int
        0, also where nothing was practised yet and no file is asked for.

    Raises
    ------
    Usage, routines.errors.BadRoutine
        If the file's ending is none, or what is asked for was never practised.
    OSError
        If the journal cannot be read, or the file not be written, also because there is nothing to write.
    """
    from feedback import settings
    from routines.journal.journal import Journal

    ending = _ending(args.output)
    player = args.player or str(settings.load(args.set)["player"])
    with Journal.open(settings.home(), now=local_now, writes=False, told=tell) as journal:
        if not journal.days(player) and (args.output is not None or not args.json):
            if args.output is not None:
                raise CannotDo(_nothing(journal, player))
            print(_nothing(journal, player))
            return 0
        found, of_lick = _asked(journal, player, args)
    if args.output is not None:
        _WRITERS[ending](found, args.output, of_lick)
    if args.json:
        from feedback.progress_json import as_json

        print(json.dumps(as_json(found), ensure_ascii=False, allow_nan=False))
    elif args.output is not None:
        of = f", {found.asked_for}" if found.asked_for else ""
        print(f"{args.output}: progress of {player}{of}, {found.first_day} to {found.today}")
    else:
        from feedback.progress_told import told

        print("\n".join(told(found)))
    return 0


def _asked(journal: Journal, player: str, args: argparse.Namespace) -> tuple[Progress, bool]:
    """The progress that is asked for, and whether that is of one lick."""
    from routines.progress.asked import Asked, asked_for
    from routines.progress.progress import progress

    today = local_now().date()
    asked = Asked()
    if args.what is not None:
        asked = asked_for(
            args.what,
            [one.item for one in journal.item_sums(player)],
            {row.chord for row in journal.guide_sums(player)},
            journal.titles(player),
        )
    found = progress(
        journal,
        player,
        today,
        lick=asked.lick,
        key=asked.key,
        chord=asked.chord,
        weeks=args.weeks,
        with_points=_ending(args.output) == ".pdf",
    )
    return found, asked.lick is not None


def _nothing(journal: Journal, player: str) -> str:
    others = [name for name in journal.players() if name != player]
    begin = "begin with sevenfall play slab-wood-supper --from mic"
    if not others:
        return f"Nothing is in the journal yet: {begin}."
    *first, last = (name if name.isprintable() else repr(name) for name in others)
    named = " and ".join(filter(None, (", ".join(first), last)))
    return f"Nothing is in the journal of {player} yet: {begin}; there are passes of {named}: --player NAME."


def _ending(output: Path | None) -> str:
    if output is None:
        return ""
    ending = output.suffix.lower()
    if ending not in ENDINGS:
        raise Usage(f"{output}: a file of progress ends in one of {' '.join(ENDINGS)}")
    return ending


def _text_to(path: Path, text: str) -> None:
    from feedback.writing import beside

    beside(path, lambda part: part.write_text(text, encoding="utf-8", newline=""))


def _csv(found: Progress, path: Path, of_lick: bool) -> None:
    from feedback.progress_json import as_csv

    _text_to(path, as_csv(found))


def _json(found: Progress, path: Path, of_lick: bool) -> None:
    from feedback.progress_json import as_json

    _text_to(path, json.dumps(as_json(found), ensure_ascii=False, allow_nan=False, indent=1) + "\n")


def _charts(found: Progress, path: Path, of_lick: bool) -> None:
    from feedback.progress_charts import write_charts

    write_charts(found, path, of_lick=of_lick)


_WRITERS: dict[str, Callable[[Progress, Path, bool], None]] = {
    ".png": _charts,
    ".pdf": _charts,
    ".csv": _csv,
    ".json": _json,
}


def _weeks(text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        value = 0
    if not 1 <= value <= WEEKS_MOST:
        raise argparse.ArgumentTypeError(f"{text!r}: give 1 to {WEEKS_MOST} weeks")
    return value
