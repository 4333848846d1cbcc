"""`play` in the window, or heard: what its arguments ask for, and who plays there."""

from __future__ import annotations

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from feedback import onscreen
from feedback.errors import INTERRUPTED, exit_code, leave_at_once, one_line, tell
from feedback.printing import print_line

if TYPE_CHECKING:
    from feedback.performing import Asked
    from feedback.playing_live import LivePlay
    from routines.lick import Lick


def asked_of(args: argparse.Namespace, whole: Lick, typed: str) -> Asked:
    """What the arguments of `play` ask for; `typed` are the flags that an offered command keeps."""
    from feedback import settings
    from feedback.commands.options import way
    from feedback.performing import Asked

    simulated = args.source == "sim"
    return Asked(
        whole=whole,
        values=settings.load(args.set),
        source=args.source if args.source in ("mic", "sim") else "file",
        loop=args.loop,
        way=way(args),
        tempo_half_bpm=args.tempo,
        passes=args.passes,
        turns=args.turns,
        click=args.click or "halves",
        backing=args.backing,
        model=args.model,
        hear_last=args.hear_last,
        keep=None if args.keep is None else Path(args.keep),
        typed=typed,
        device=output_of(args.device) if simulated else args.device,
        instrument=args.instrument,
        mistakes=(tuple(args.mistake),) * args.passes,
        seed=1 if args.seed is None else args.seed,
        start_sec=args.start,
        waits=simulated,
        player=args.player,
    )


def live(args: argparse.Namespace, asked: Asked) -> int:
    """Practise at a microphone in the window, while the terminal tells it, too; the exit code."""
    from feedback.performing import performing
    from feedback.playing_live import LivePlay
    from feedback.screen.screens.play_along import Playing

    asked = replace(asked, waits=asked.turns is None)
    house = onscreen.house_of(dict(asked.values), asked.device)
    backstage = performing(asked, print_line)
    onscreen.show(house, "play along", Playing(asked=asked, backstage=backstage), args)
    works = [one.work for one in house.begun]
    unstored = sum(work.unstored for work in works if isinstance(work, LivePlay))
    return onscreen.leave(house, onscreen.practised(house, args) or min(1, unstored))


def simulated(args: argparse.Namespace, asked: Asked) -> int:
    """The simulated player's turns in the window, or a picture of them; the exit code."""
    onscreen.prepared()
    from feedback.performing import performing
    from feedback.screen.screens.play_along import Playing

    house = onscreen.house_of(dict(asked.values), asked.device)
    if args.screenshot is not None:
        onscreen.write_simulated(asked, house, args)
        return 0
    backstage = performing(asked, print_line)
    onscreen.show(house, "play along", Playing(asked=asked, backstage=backstage))
    return onscreen.leave(house, onscreen.practised(house, args))


def live_in_terminal(args: argparse.Namespace, asked: Asked) -> int:
    """Practise at a microphone in the terminal; the exit code."""
    from feedback.accompanying import accompanied
    from feedback.commands.options import teller
    from feedback.performing import live_work
    from feedback.wishes import Wishes

    wishes = Wishes()
    request, company = accompanied(asked, wishes)
    return _ended(args, live_work(asked, request, wishes, teller(args), company))


def in_terminal(asked: Asked, *, as_json: bool = False) -> int:
    """The simulated player in the terminal: one turn, or a warm-up; the exit code.

    It is heard where there is a loudspeaker, and silent where JSON is asked for.
    """
    from feedback import simulated_in_terminal

    asked = replace(asked, turns=None if asked.warm_up else 1, waits=False)
    if as_json:
        return simulated_in_terminal.as_json(asked)
    return simulated_in_terminal.in_terminal(asked, partial(print, flush=True))


def _ended(args: argparse.Namespace, playing: LivePlay) -> int:
    """Run it, and tell how it ended: the exit code."""
    from listener.errors import WrongDevice

    code = 0
    try:
        playing.run()
        code = INTERRUPTED if playing.ended == "interrupted" else min(1, playing.unstored)
    except BrokenPipeError:
        raise
    except (OSError, WrongDevice) as error:
        code = exit_code(error) or 1
        tell(one_line(error))
    finally:
        if args.json and (playing.played or code == INTERRUPTED):
            print(playing.json())
    if code == INTERRUPTED:
        tell("interrupted")
    if playing.hung:
        leave_at_once(code)
    return code


def output_of(device: str | None) -> str | None:
    """What names an output alone, as one that leaves the microphone open: the player may take over later."""
    return device if device is None or "/" in device else f"/{device}"
