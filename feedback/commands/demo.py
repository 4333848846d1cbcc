"""`demo`: the main job from sound to verdict, with the simulated player; no microphone, no screen needed.

With a display it opens the window and plays itself there (heard, where there is a loudspeaker), prints the
same report, and closes.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from feedback import onscreen
from feedback.commands.options import add_json, seed
from feedback.errors import leave_at_once
from feedback.nexttempo import EASED
from feedback.printing import print_line

if TYPE_CHECKING:
    from feedback.performing import Asked
    from routines.lick import Lick

HELP = "the main job with a simulated player: no microphone needed; reports and ends by itself"
EXAMPLE = "  sevenfall demo     a faithful pass, then one with two mistakes, heard and judged"

DEMO_LICK = "the-edgers-nod"
DEMO_MISTAKES = (), ("left-hanging", "filler-wrong")
"""What goes wrong in each pass: nothing, then two things, one of them at the resolution."""

_STORY = """\
Wednesday, the sawmill hall, half an hour before the jam. Our simulated player goes twice through
"{title}", and the second time does two things wrong. What follows was heard from the sound.
"""

_OF_SOUND = ("heard", "click_db", "model_db", "latency", "block", "rate")

STAYS_SEC = 6.0
"""So long the window stays after the turn."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `demo`."""
    parser.add_argument("--seed", type=seed, default=7, metavar="N", help="another banjo hand (default 7)")
    onscreen.add_window(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Play, listen, judge, report."""
    from routines.library import load
    from routines.tab_writer import write_systems

    lick = load(DEMO_LICK)
    on_screen = onscreen.wanted(args)
    if args.screenshot is not None:
        return _picture(args, lick)
    if not args.json:
        print(_STORY.format(title=lick.title), flush=True)
        print(write_systems(lick), flush=True)
    told, hung = _window(args, lick) if on_screen else (_text(args, lick), False)
    if told:
        from feedback.practice_report import REST

        print(f"\nWhat the player really did the second time: {_confession()}.\n\n{REST}")
    if hung:
        leave_at_once(0)
    return 0


def _text(args: argparse.Namespace, lick: Lick) -> bool:
    """Play and tell; whether there is anything to confess then."""
    from feedback.playing import TurnRequest, play_simulated, turn_json, turn_lines

    request = TurnRequest(
        lick=lick, tempo_half_bpm=EASED * lick.top_tempo_half_bpm, mistakes=DEMO_MISTAKES, seed=args.seed
    )
    if args.json:
        print(turn_json(request, list(play_simulated(request))))
        return False
    for line in turn_lines(request, play_simulated(request)):
        print(line, flush=True)
    return True


def _asked(args: argparse.Namespace, lick: Lick) -> Asked:
    """What is played: judged by the defaults whatever the settings are, so it says the same everywhere.

    How it is heard goes by the settings.
    """
    from feedback.performing import Asked
    from feedback.settings import SETTINGS, load

    of_sound = {name: value for name, value in load([]).items() if name in _OF_SOUND}
    return Asked(
        whole=lick,
        values={name: row.default for name, row in SETTINGS.items()} | of_sound,
        source="sim",
        tempo_half_bpm=EASED * lick.top_tempo_half_bpm,
        passes=len(DEMO_MISTAKES),
        turns=1,
        mistakes=DEMO_MISTAKES,
        seed=args.seed,
    )


def _picture(args: argparse.Namespace, lick: Lick) -> int:
    from feedback import settings

    onscreen.write_simulated(_asked(args, lick), onscreen.house_of(settings.load([])), args)
    return 0


def _window(args: argparse.Namespace, lick: Lick) -> tuple[bool, bool]:
    """Play and tell, in the window as well; whether all of it was played, and whether the sound hangs."""
    onscreen.prepared()
    from feedback import settings
    from feedback.performing import performing
    from feedback.screen.screens.play_along import Playing

    asked = _asked(args, lick)
    house = onscreen.house_of(settings.load([]))
    backstage = performing(asked, print_line)
    onscreen.show(house, "play along", Playing(asked=asked, backstage=backstage, closes_sec=STAYS_SEC))
    if backstage.fault is not None:
        raise backstage.fault
    done = backstage.state.done
    return len(done) == len(DEMO_MISTAKES) and all(over.complete for over in done), house.hung


def _confession() -> str:
    """What went wrong by design, to hold the ear to."""
    from feedback.mistakes import MISTAKES

    return "; ".join(MISTAKES[name].about for name in DEMO_MISTAKES[-1])
