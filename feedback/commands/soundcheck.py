"""`soundcheck`: devices, noise, round trip, level; and with a name, a listener that knows this banjo."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from feedback import onscreen
from feedback.at_microphone import told_trouble, worked_with
from feedback.commands.options import add_json, seed, teller
from feedback.errors import Usage, own_standard_error
from feedback.onethread import one_thread
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    from routines.neck import Neck

HELP = "check devices, level and round trip, and get to know this banjo from half a minute of single notes"
EXAMPLE = """\
  sevenfall soundcheck                             with the microphone and the output that you practise with
  sevenfall soundcheck --instrument old-five       the same, then learn how this banjo sounds
  sevenfall soundcheck --from notes.wav --instrument old-five"""

_MICROPHONE = "mic"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `soundcheck`."""
    parser.add_argument(
        "--from",
        dest="source",
        default=_MICROPHONE,
        metavar="mic|FILE",
        help="the microphone (default), or a recording of the notes that are asked for",
    )
    parser.add_argument(
        "--instrument", metavar="NAME", help="store what was found under this name; the last check counts"
    )
    parser.add_argument("--tuning", default="gDGBD", metavar="T", help="of the banjo (default gDGBD)")
    parser.add_argument(
        "--capo", type=seed, default=0, metavar="N", help="fret of the capo (default 0, none)"
    )
    parser.add_argument("--notes", action="store_true", help="only say which notes are asked for")
    parser.add_argument("--devices", action="store_true", help="only list the sound devices")
    parser.add_argument(
        "--device",
        metavar="IN[/OUT]",
        help="microphone and output, each a number or a part of its name; what was checked last is used from "
        "then on",
    )
    onscreen.add_window(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Say what to play, list devices, or check."""
    from feedback import instruments
    from feedback.report import to_json
    from feedback.soundcheck import asked_json, asked_places, to_play
    from routines.neck import Neck

    neck = Neck(tuning=args.tuning, capo=args.capo)
    asked_places(neck)
    name = None if args.instrument is None else instruments.named(args.instrument)
    if args.devices:
        return _devices(args)
    if args.notes:
        print(to_json({"asked": asked_json(neck)}) if args.json else "\n".join(to_play(neck)))
        return 0
    on_screen = onscreen.wanted(args)
    if args.source == _MICROPHONE and on_screen and name is None:
        return _in_window(args)
    if args.screenshot is not None:
        raise Usage("--screenshot is for a check with the microphone and without --instrument")
    if args.source == _MICROPHONE:
        return _with_microphone(args, neck, name)
    if args.device is not None:
        raise Usage("--device is for --from mic")
    return _with_file(args, neck, name)


def _in_window(args: argparse.Namespace) -> int:
    """The same on a screen of its own; a banjo is got to know in the terminal."""
    onscreen.prepared()
    from feedback import pairs, settings

    pairs.prepare()
    house = onscreen.house_of(settings.load(args.set), args.device)
    onscreen.show(house, "sound check", None, args)
    trouble = house.trouble if args.screenshot is None else ""
    return onscreen.leave(house, told_trouble(trouble))


def _with_file(args: argparse.Namespace, neck: Neck, name: str | None) -> int:
    from feedback import instruments
    from feedback.checked import as_json, told
    from feedback.report import to_json
    from feedback.soundcheck import check

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


def _devices(args: argparse.Namespace) -> int:
    own_standard_error()
    from feedback import settings
    from feedback.checking_report import device_lines
    from feedback.report import to_json
    from feedback.soundcard import asked_stream
    from listener.device import devices, pair_for

    listed = devices()
    source, sink = pair_for(asked_stream(args.device, settings.load(args.set)))
    taken = source.name, sink.name
    if args.json:
        rows = [
            {
                "number": device.number,
                "name": device.name,
                "system": device.system,
                "inputs": device.inputs,
                "outputs": device.outputs,
                "sample_rate": device.rate,
            }
            for device in listed
        ]
        print(to_json({"devices": rows, "microphone": taken[0], "output": taken[1]}))
        return 0
    for line in device_lines(listed, taken):
        print(line)
    return 0


def _with_microphone(args: argparse.Namespace, neck: Neck, name: str | None) -> int:
    one_thread()
    own_standard_error()
    from feedback import pairs, settings
    from feedback.checking_live import LiveCheck
    from feedback.checking_report import taken_line
    from feedback.report import to_json
    from feedback.soundcard import asked_stream, taking

    values = settings.load(args.set)
    pairs.prepare()
    asked = asked_stream(args.device, values)
    source = taking(asked)
    say = teller(args)

    def check() -> None:
        stream = source.stream
        say(taken_line(stream.source, stream.sink, stream.rate))
        checking = LiveCheck(
            source=source,
            asked=asked,
            neck=neck,
            instrument=name,
            say=say,
            click_db=float(values["click_db"]),
        )
        try:
            checking.run()
        finally:
            if args.json and checking.found:
                print(to_json(checking.found))

    return worked_with(source, check)
