"""`play LICK --from sim|FILE`: a turn of passes, judged pass by pass, then one sentence."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from feedback.commands.options import add_instrument, add_json, add_tempo, ear_settings, seconds, seed
from feedback.errors import Usage
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    from feedback.playing import TurnRequest
    from feedback.session import PassOver

HELP = "a turn of passes through a lick, from the simulated player or a recording"
EXAMPLE = "  sevenfall play slab-wood-supper --from sim --tempo 80 --mistake seven-swallowed"

_EASED = 0.8
_MOST_PASSES = 64


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `play`."""
    parser.add_argument("lick", help="its id (see sevenfall licks), or a .lick file")
    parser.add_argument(
        "--from",
        dest="source",
        default="sim",
        metavar="sim|FILE",
        help="the simulated player (default), or a recording; the microphone is not built yet",
    )
    add_tempo(parser, help_text="half notes a minute, or quarters with a q (default: four fifths of its top)")
    parser.add_argument(
        "--start",
        type=seconds,
        metavar="S",
        help="of a recording: downbeat of bar 1 of the first pass; passes are then looked for a rest bar "
        "apart. Left out, each pass is found from the take",
    )
    parser.add_argument("--passes", type=seed, default=4, metavar="N", help="passes in the turn (default 4)")
    parser.add_argument(
        "--mistake",
        action="append",
        default=[],
        metavar="NAME",
        help="of the simulated player: what it does wrong in every pass; a wrong name lists them",
    )
    parser.add_argument(
        "--seed", type=seed, default=1, metavar="N", help="of the simulated player (default 1)"
    )
    add_instrument(parser)
    parser.add_argument(
        "--no-window", action="store_true", help="stay in the terminal, as it does without a display"
    )
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Follow the turn, print it."""
    from feedback import settings
    from feedback.playing import TurnRequest, turn_json, turn_lines
    from routines.library import load

    if args.source == "mic":
        raise Usage("--from mic: the microphone is not built yet; give sim or a recording")
    if not 1 <= args.passes <= _MOST_PASSES:
        raise Usage(f"--passes {args.passes}: give 1 to {_MOST_PASSES}")
    if args.source == "sim" and args.instrument is not None:
        raise Usage("--instrument is for recordings: the simulated player brings its own banjo")
    if args.source != "sim" and args.mistake:
        raise Usage("--mistake is for --from sim: a recording is played already")
    lick = load(args.lick)
    request = TurnRequest(
        lick=lick,
        tempo_half_bpm=args.tempo or round(_EASED * lick.top_tempo_half_bpm),
        mistakes=(tuple(args.mistake),) * args.passes,
        seed=args.seed,
        limits=settings.limits(settings.load(args.set)),
    )
    request, passes = _passes(args, request)
    if args.json:
        print(turn_json(request, list(passes)))
        return 0
    for line in turn_lines(request, passes):
        print(line, flush=True)
    return 0


def _passes(args: argparse.Namespace, request: TurnRequest) -> tuple[TurnRequest, Iterator[PassOver]]:
    """The turn's passes as they end, and the request with the tempo that was found."""
    from feedback.playing import play_file, play_simulated
    from feedback.session import TurnPlan
    from feedback.takes import judge_turn

    if args.source == "sim":
        return request, play_simulated(request)
    ear = ear_settings(args.instrument)
    if args.start is None:
        found = judge_turn(
            args.source,
            request.lick,
            request.limits,
            passes=args.passes,
            tempo_half_bpm=args.tempo,
            ear=ear,
        )
        tempo = found[0].judged.outcome.tempo_half_bpm
        return replace(request, tempo_half_bpm=tempo), iter(found)
    plan = TurnPlan(
        lick=request.lick,
        tempo_half_bpm=request.tempo_half_bpm,
        first_start_sec=args.start,
        passes=args.passes,
    )
    return request, play_file(args.source, plan, request.limits, settings=ear)
