"""`warmup [NAME]`: a few minutes that play, judge and rise by themselves, and one remark at the end."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from feedback import onscreen, play_onscreen
from feedback.commands.options import (
    add_devices,
    add_instrument,
    add_json,
    add_player,
    add_tempo,
    seed,
)
from feedback.errors import Usage
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    from feedback.performing import Asked

HELP = "warm up: a few minutes that play, judge and rise by themselves"
EXAMPLE = """\
  sevenfall warmup --from mic                 the next one: the open strings first, each day
  sevenfall warmup held-sevens --from mic     rolls on held sevenths; a wrong name lists them all"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `warmup`."""
    parser.add_argument("name", nargs="?", help="which one (default: the one whose turn it is)")
    parser.add_argument(
        "--from",
        dest="source",
        default="sim",
        choices=("mic", "sim"),
        help="the microphone, or the simulated player (default)",
    )
    add_tempo(
        parser,
        help_text="half notes a minute to begin with, or quarters with a q (default: three fifths of what "
        "your hands can do, as far as that is known)",
    )
    parser.add_argument("--seed", type=seed, default=1, metavar="N", help="of the simulated player")
    add_instrument(parser)
    add_player(parser, "; the simulated player is remembered only where it is given")
    add_devices(parser, more=" (with --from sim the output alone)")
    parser.add_argument(
        "--keep", metavar="FOLDER", help="store each turn's sound there, FLAC with JSON; microphone only"
    )
    onscreen.add_window(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Play it to its end."""
    if args.keep is not None and (args.source == "sim" or not args.keep):
        raise Usage("--keep is for --from mic, and names a folder")
    if args.source == "sim" and args.instrument is not None:
        raise Usage("--instrument is for --from mic: the simulated player brings its own banjo")
    asked = _asked(args)
    on_screen = onscreen.wanted(args)
    if args.source == "mic":
        onscreen.prepared()
        return play_onscreen.live(args, asked) if on_screen else play_onscreen.live_in_terminal(args, asked)
    if on_screen:
        return play_onscreen.simulated(args, asked)
    return play_onscreen.in_terminal(asked, as_json=args.json)


def _asked(args: argparse.Namespace) -> Asked:
    """What is asked for, by its first step."""
    from feedback import settings
    from feedback.performing import Asked
    from feedback.remembered import local_now, remembered_of
    from feedback.warmup_choice import choice_for
    from routines.warmups.steps import Step
    from routines.warmups.table import warm_up

    def asked(step: Step, name: str) -> Asked:
        return Asked(
            whole=step.lick,
            values=settings.load(args.set),
            source=args.source,
            tempo_half_bpm=args.tempo,
            passes=step.passes,
            keep=None if args.keep is None else Path(args.keep),
            device=play_onscreen.output_of(args.device) if args.source == "sim" else args.device,
            instrument=args.instrument,
            seed=args.seed,
            player=args.player,
            warm_up=name,
        )

    if args.name is not None:
        return asked(warm_up(args.name).steps(0)[0], args.name)
    about = remembered_of(settings.load(args.set), args.source, args.player)
    name = choice_for(about, local_now())
    return asked(warm_up(name).steps(0)[0], name)
