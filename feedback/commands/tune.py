"""`tune`: which string, which way, until all five are in tune; from the microphone or a recording."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from feedback import onscreen
from feedback.at_microphone import told_trouble, worked_with
from feedback.commands.options import add_devices, add_json, seed, teller
from feedback.errors import Usage, own_standard_error
from feedback.onethread import one_thread
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    from routines.neck import FifthString, Neck

HELP = "tune up: which string, which way, until all five are there; or check the twelfth fret"
EXAMPLE = """\
  sevenfall tune
  sevenfall tune --capo 2            open A: the G tuning under a capo, the fifth string at a
  sevenfall tune --twelfth           where the bridge has to go"""

_MICROPHONE = "mic"
_HOW = ("peg", "spike")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `tune`."""
    parser.add_argument("--tuning", default="gDGBD", metavar="T", help="of the banjo (default gDGBD)")
    parser.add_argument(
        "--capo", type=seed, default=0, metavar="N", help="fret of the capo (default 0, none)"
    )
    parser.add_argument(
        "--fifth",
        nargs="+",
        metavar="NOTE",
        help="the open fifth string, a note or a MIDI number, then peg or spike: --fifth a spike "
        "(default: as the tuning has it, under a capo raised with the others)",
    )
    parser.add_argument(
        "--twelfth", action="store_true", help="each string open, then at the twelfth fret: is it an octave?"
    )
    parser.add_argument(
        "--from",
        dest="source",
        default=_MICROPHONE,
        metavar="mic|FILE",
        help="the microphone (default), or a recording of single strings",
    )
    add_devices(parser)
    onscreen.add_window(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Tune, and say how it stands."""
    from routines.neck import Neck

    neck = Neck(tuning=args.tuning, capo=args.capo)
    if args.fifth is not None:
        neck = Neck(tuning=args.tuning, capo=args.capo, fifth=fifth_string(args.fifth, neck))
    on_screen = onscreen.wanted(args)
    if args.source == _MICROPHONE:
        return _in_window(args, neck) if on_screen else _with_microphone(args, neck)
    if args.screenshot is not None:
        raise Usage("--screenshot is for --from mic")
    if args.device is not None:
        raise Usage("--device is for --from mic")
    return _from_file(args, neck)


def fifth_string(words: list[str], neck: Neck) -> FifthString:
    """Read `--fifth NOTE|MIDI [peg|spike]`.

    Parameters
    ----------
    words : list of str
        As they were typed.
    neck : Neck
        With the fifth string as the tuning and the capo have it.

    Raises
    ------
    Usage
        If they are anything else. What cannot be is refused by `Neck`.
    """
    from routines.errors import BadRoutine
    from routines.neck import OPEN_TUNINGS, FifthString
    from routines.pitch import Tone

    text, how = words[0], words[1] if len(words) > 1 else ""
    tuned = OPEN_TUNINGS[neck.tuning][0]
    if text.isascii() and text.isdigit():
        midi = int(text)
    else:
        try:
            tone = Tone.parse(text[:1].upper() + text[1:], most=1)
        except BadRoutine as error:
            raise Usage(f"--fifth {text}: {error}, or a MIDI number") from error
        midi = tuned + (tone.pitch_class - tuned + 5) % 12 - 5  # down by a fourth at most, by its peg
    if len(words) > 2 or how not in ("", *_HOW):
        raise Usage(f"--fifth {' '.join(words)}: give a note, then {' or '.join(_HOW)}: --fifth a spike")
    if midi == tuned:
        return FifthString(midi, "plain")
    return FifthString(midi, "peg" if how == "peg" or (not how and midi < tuned) else "spike")


def _from_file(args: argparse.Namespace, neck: Neck) -> int:
    """Read a recording and print a table."""
    from feedback.report import to_json
    from feedback.tuning import beforehand
    from feedback.tuning_live import tune_file
    from feedback.tuning_report import ALL_IN_TUNE, heading, string_line, tuning_json

    found = tune_file(args.source, neck, twelfth=args.twelfth)
    stopped = found.twelfth.found if found.twelfth is not None else None
    if args.json:
        print(to_json(tuning_json(found.tuning, stopped, file=args.source)))
        return 0
    print("\n".join([heading(neck), *beforehand(neck), *map(string_line, found.tuning.strings)]))
    if found.tuning.done:
        print(ALL_IN_TUNE)
    for one in stopped or ():
        print(f"  {one.text}")
    if found.twelfth is not None and found.twelfth.asked is not None:
        print(f"next would have been {found.twelfth.prompt}: that was not heard")
    return 0


def _in_window(args: argparse.Namespace, neck: Neck) -> int:
    """The same on a screen of its own."""
    onscreen.prepared()
    from feedback import settings

    house = onscreen.house_of(settings.load(args.set), args.device)
    onscreen.show(house, "tune", {"neck": neck, "twelfth": args.twelfth}, args)
    trouble = house.trouble if args.screenshot is None else ""
    return onscreen.leave(house, told_trouble(trouble))


def _with_microphone(args: argparse.Namespace, neck: Neck) -> int:
    """Follow the player until all is in tune, nobody plays, or it is interrupted."""
    one_thread()
    own_standard_error()
    from feedback import settings
    from feedback.report import to_json
    from feedback.soundcard import asked_stream, taking
    from feedback.tuning import beforehand
    from feedback.tuning_live import LiveTune
    from feedback.tuning_report import PLUCK, heading, tuning_json

    source = taking(asked_stream(args.device, settings.load(args.set)))
    say = teller(args)

    def tune() -> None:
        pluck = [] if args.twelfth else [f"{PLUCK}, or with Ctrl-C."]
        for line in (heading(neck), *beforehand(neck), *pluck):
            say(line)
        live = LiveTune(source, neck, twelfth=args.twelfth, say=say)
        try:
            live.run()
        finally:
            if args.json:
                check = live.found.twelfth
                stopped = None if check is None else check.found
                print(to_json(tuning_json(live.found.tuning, stopped, file=None, ended=live.ended)))

    return worked_with(source, tune)
