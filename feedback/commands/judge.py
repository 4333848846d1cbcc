"""`judge FILE --lick LICK`: what became of each note, each seven and its fall, in a recorded pass."""

from __future__ import annotations

import argparse

from feedback.commands.options import (
    add_instrument,
    add_json,
    add_key,
    add_tempo,
    add_traffic,
    chosen,
    ear_settings,
    in_traffic,
    seconds,
)
from feedback.settings import add_setting_flag

HELP = "judge a recorded pass of a lick: did the flat seven land, and where did it go"
EXAMPLE = "  sevenfall judge take.flac --lick LICK --tempo 96     the start is found from the take"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `judge`."""
    parser.add_argument("file", help="WAV, FLAC, OGG or MP3")
    parser.add_argument("--lick", required=True, help="its id (see sevenfall licks), or a .lick file")
    add_tempo(parser, help_text="half notes a minute, or quarters with a q; found from the take if left out")
    parser.add_argument(
        "--start",
        type=seconds,
        metavar="S",
        help="downbeat of bar 1 in seconds; found from the take if left out",
    )
    add_key(parser)
    add_traffic(parser)
    add_instrument(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Listen, find the start where it is not given, judge, report."""
    from feedback import settings
    from feedback.advice import sentence
    from feedback.report import heading, outcome_json, pass_text, to_json
    from feedback.takes import judge_take

    limits = settings.limits(settings.load(args.set))
    lick = in_traffic(chosen(args), args)
    judged = judge_take(
        args.file,
        lick,
        limits,
        tempo_half_bpm=args.tempo,
        start_sec=args.start,
        ear=ear_settings(args.instrument),
    )
    said = sentence(lick, [judged], limits)
    if args.json:
        print(to_json(outcome_json(judged.outcome, said)))
        return 0
    print(heading(lick, judged.outcome.tempo_half_bpm))
    if judged.outcome.start_sec is not None:
        how = "found from the take" if judged.outcome.start_found else "as given"
        print(f"  bar 1 at {judged.outcome.start_sec:.3f} s, {how}")
    print(pass_text(lick, judged.outcome, lean_unsure_ms=limits.lean_unsure_ms))
    print(said)
    return 0
