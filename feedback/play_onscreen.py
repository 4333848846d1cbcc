"""`play` in the window, or heard: what its arguments ask for, and who plays there."""

from __future__ import annotations

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from feedback import onscreen
from feedback.printing import print_line

if TYPE_CHECKING:
    from feedback.performing import Asked
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
        source="sim" if simulated else "mic",
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
        device=_output(args.device) if simulated else args.device,
        instrument=args.instrument,
        mistakes=(tuple(args.mistake),) * args.passes,
        seed=1 if args.seed is None else args.seed,
        waits=simulated,
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


def in_terminal(asked: Asked) -> int:
    """One turn of the simulated player in the terminal, heard where there is a loudspeaker; the exit code."""
    from feedback.playing_simulated import in_terminal as played

    return played(replace(asked, turns=1, waits=False), partial(print, flush=True))


def _output(device: str | None) -> str | None:
    """What names an output alone, as one that leaves the microphone open: the player may take over later."""
    return device if device is None or "/" in device else f"/{device}"
