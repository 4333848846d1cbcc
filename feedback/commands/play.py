"""`play LICK --from mic|sim|FILE`: turns of passes, judged pass by pass, then one sentence."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from feedback import onscreen, play_onscreen
from feedback.clicking import CLICKS, click_kind
from feedback.commands.options import (
    add_devices,
    add_instrument,
    add_json,
    add_key,
    add_loop,
    add_player,
    add_tempo,
    add_traffic,
    chosen,
    ear_settings,
    in_traffic,
    looped,
    seconds,
    seed,
)
from feedback.errors import Usage, tell
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    from feedback.playing import TurnRequest
    from feedback.practice_events import Trouble
    from feedback.session import PassOver

HELP = "play along and get scored: with the microphone, the simulated player, or a recording"
EXAMPLE = """\
  sevenfall play slab-wood-supper --from mic --tempo 80
  sevenfall play slab-wood-supper --from sim --tempo 80 --mistake seven-swallowed"""

_MOST_PASSES = 64
_SPEEDS = ("full", "half")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `play`."""
    parser.add_argument("lick", help="its id (see sevenfall licks), or a .lick file")
    parser.add_argument(
        "--from",
        dest="source",
        default="sim",
        metavar="mic|sim|FILE",
        help="the microphone, the simulated player (default), or a recording",
    )
    add_tempo(
        parser,
        help_text="half notes a minute, or quarters with a q: it stays there (default: as the tempo ladder "
        "says at the microphone, else four fifths of its top)",
    )
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
    parser.add_argument("--seed", type=seed, metavar="N", help="of the simulated player (default 1)")
    add_instrument(parser)
    add_loop(parser)
    add_key(parser)
    add_traffic(parser)
    add_player(parser, "; the simulated player and recordings are remembered only where it is given")
    live = parser.add_argument_group("with the microphone")
    add_devices(live, more=" (with --from sim the output alone)")
    live.add_argument(
        "--turns", type=seed, metavar="N", help="at most so many turns (default: until you stop)"
    )
    kinds = "; ".join(f"{name}: {kind.words}" for name, kind in CLICKS.items())
    live.add_argument("--click", metavar="KIND", help=f"{kinds} (default: halves)")
    live.add_argument(
        "--backing", action="store_true", help="bass and chop play along (level: --set backing_db)"
    )
    live.add_argument(
        "--model",
        action="store_true",
        help="the lick itself sounds along (--set model_db); through a loudspeaker it cannot be judged then",
    )
    live.add_argument(
        "--hear-last",
        choices=_SPEEDS,
        help="after each turn hear your last pass, and the lick as it is written after it",
    )
    live.add_argument(
        "--keep",
        metavar="FOLDER",
        help="store each turn's sound there, FLAC with JSON; nothing else is recorded",
    )
    onscreen.add_window(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Follow the turn, print it."""
    from feedback import settings
    from feedback.accompanying import accompanied
    from feedback.playing import TurnRequest, turn_json, turn_lines
    from feedback.remembering import remembering
    from feedback.session import REST_BARS
    from feedback.wishes import Wishes

    if not 1 <= args.passes <= _MOST_PASSES:
        raise Usage(f"--passes {args.passes}: give 1 to {_MOST_PASSES}")
    if args.source == "mic":
        return _with_microphone(args)
    for flag in ("turns", "click", "keep", "hear_last", "backing", "model"):
        if getattr(args, flag) not in (None, False):
            raise Usage(f"--{flag.replace('_', '-')} is for --from mic")
    if args.device is not None and args.source != "sim":
        raise Usage("--device is for --from mic and --from sim")
    if args.loop is not None and args.source != "sim":
        raise Usage("--loop is for --from mic and --from sim")
    if args.source == "sim" and args.instrument is not None:
        raise Usage("--instrument is for recordings: the simulated player brings its own banjo")
    if args.source != "sim" and args.mistake:
        raise Usage("--mistake is for --from sim: a recording is played already")
    whole = chosen(args)
    lick, span = looped(in_traffic(whole, args), args.loop)
    on_screen = onscreen.wanted(args)
    if args.source == "sim" and on_screen:
        return play_onscreen.simulated(args, play_onscreen.asked_of(args, whole, kept_flags(args)))
    if args.screenshot is not None:
        raise Usage("--screenshot is for --from mic and --from sim")
    if args.source == "sim" and not args.json:
        return play_onscreen.in_terminal(play_onscreen.asked_of(args, whole, kept_flags(args)))
    asked = play_onscreen.asked_of(args, whole, "")
    climbed = accompanied(asked, Wishes())[0] if args.source == "sim" else asked.request
    request = TurnRequest(
        lick=lick,
        tempo_half_bpm=climbed.tempo_half_bpm,
        mistakes=(tuple(args.mistake),) * args.passes,
        seed=1 if args.seed is None else args.seed,
        limits=settings.limits(settings.load(args.set)),
        rest_bars=0 if span is not None or args.form is not None else REST_BARS,
    )
    request, passes = _passes(args, request)
    troubles: list[Trouble] = []
    passes = remembering(asked, None if args.source == "sim" else args.source, passes, troubles.append)
    if args.json:
        print(turn_json(request, list(passes)))
    else:
        for line in turn_lines(request, passes):
            print(line, flush=True)
    for trouble in troubles:
        if trouble.line:
            tell(trouble.line)
    return min(1, sum(trouble.lost for trouble in troubles))


def kept_flags(args: argparse.Namespace) -> str:
    """Flags that an offered loop of the same lick keeps: devices, sound, settings."""
    words = []
    for flag in ("device", "instrument", "click", "hear_last", "player"):
        if getattr(args, flag) is not None:
            words += [f"--{flag.replace('_', '-')}", getattr(args, flag)]
    words += [
        f"--{flag.replace('_', '-')}" for flag in ("backing", "model", "no_window") if getattr(args, flag)
    ]
    words += [word for setting in args.set for word in ("--set", setting)]
    return shlex.join(words)


def _with_microphone(args: argparse.Namespace) -> int:
    """Practise until the turns are over, nobody plays, or the player has had enough."""
    for flag in ("mistake", "start", "seed"):
        if getattr(args, flag) not in (None, []):
            raise Usage(f"--{flag} is not for --from mic")
    if args.keep == "":
        raise Usage("--keep: give a folder")
    if args.turns == 0:
        raise Usage("--turns 0: give 1 or more")
    click_kind(args.click or "halves")
    on_screen = onscreen.wanted(args)
    onscreen.prepared()
    asked = play_onscreen.asked_of(args, chosen(args), kept_flags(args))
    return play_onscreen.live(args, asked) if on_screen else play_onscreen.live_in_terminal(args, asked)


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
        rest_bars=request.rest_bars,
    )
    return request, play_file(args.source, plan, request.limits, settings=ear)
