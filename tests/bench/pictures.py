"""Pictures of all screens, as the window shows them: to be looked at, at full size and at a quarter.

    python -m tests.bench pictures FOLDER [--look night] [--size 960x720]

What is played is the simulated player's, so every run writes the same pictures.
"""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from feedback.checking_events import LevelFound
from feedback.checking_thread import CheckState
from feedback.errors import Usage
from feedback.performing import Asked
from feedback.screen.inks import LOOKS
from feedback.screen.marks import Picture, Sheet
from feedback.screen.neck.picture import neck_picture
from feedback.screen.neck.state import NeckState
from feedback.screen.stills import simulated_picture
from feedback.screen.views.check import check_picture
from feedback.screen.views.lick import KEY, LickState, lick_picture
from feedback.screen.views.licks import ListState, licks_picture
from feedback.screen.views.porch import PorchState, porch_picture
from feedback.screen.views.search import Search
from feedback.screen.views.settings import SettingsState, settings_picture
from feedback.screen.views.tune import tune_picture
from feedback.settings import SETTINGS
from feedback.trips import Trip
from feedback.tuning import Tuning, Word
from feedback.tuning_thread import TuneState
from routines.library import load
from routines.neck import Neck
from tests.bench.pictures_weeks import WEEKS

HELP = "writes pictures of all screens into a folder"

VALUES = {name: row.default for name, row in SETTINGS.items()}
EDGER, SUPPER = "the-edgers-nod", "slab-wood-supper"
FAULTS = ((), ("left-hanging",), ("seven-swallowed",), ("resolution-late",))

_SIZE = re.compile(r"(\d{3,5})x(\d{3,5})")
_NEVER = 1e6


def played(
    lick: str,
    at_sec: float,
    *,
    motion: str = "flowing",
    tempo: float = 88.0,
    loop: str | None = None,
    way: str = "",
    passes: int = len(FAULTS),
) -> Callable[[Sheet], Picture]:
    """What is seen of a turn of passes, four at most, each with another fault, at a moment of it."""
    asked = Asked(
        whole=load(lick),
        values=VALUES,
        source="sim",
        loop=loop,
        way=way,
        tempo_half_bpm=tempo,
        passes=passes,
        turns=1,
        mistakes=FAULTS[:passes] if loop is None else ((),) * passes,
        seed=7,
    )
    return lambda sheet: simulated_picture(asked, at_sec, {**VALUES, "motion": motion}, sheet)


def _page(lick: str, key: str = "", focus: str = KEY) -> Callable[[Sheet], Picture]:
    return lambda sheet: lick_picture(LickState(lick=load(lick), tempo_half_bpm=80.0, key=key), sheet, focus)


def _tune(word: Word, cents: float, warning: str = "", capo: int = 0) -> Callable[[Sheet], Picture]:
    neck = Neck(capo=capo)
    strings = list(Tuning(neck).strings)
    strings[0] = replace(strings[0], hz=392.0, cents=0.4, unsure_cents=0.3, steady=True, word="in tune")
    strings[1] = replace(strings[1], hz=147.0, cents=-0.9, unsure_cents=0.3, steady=True, word="in tune")
    now = replace(
        strings[2], hz=195.0, cents=cents, unsure_cents=0.5, steady=True, word=word, warning=warning
    )
    strings[2] = now
    state = TuneState(neck=neck, strings=tuple(strings), phase="listening", now=now, sounds=True)
    return lambda sheet: tune_picture(state, sheet, "again")


def _checked(state: CheckState) -> Callable[[Sheet], Picture]:
    return lambda sheet: check_picture(state, sheet, "again")


_FOUND = CheckState(
    step="done",
    devices="microphone USB Mic, output Headphones, 48000 Hz",
    noise_db=-71.0,
    trip=Trip(
        trip_sec=0.0412, unsure_sec=0.001, how="chirp", stamps_sec=0.0348, agreed=5, sent=5, bleed_db=-31.0
    ),
    level=LevelFound(peak_db=-9.0, clipped=0, notes=41, note_db=-27.0, noise_db=-71.0),
    stored="stored",
)

TABLE: Mapping[str, Callable[[Sheet], Picture]] = {
    "porch": lambda sheet: porch_picture(
        PorchState(lick=load(SUPPER), tempo_half_bpm=80.0), sheet, "open play along"
    ),
    "licks": lambda sheet: licks_picture(ListState(), sheet, ""),
    "licks-narrowed": lambda sheet: licks_picture(
        ListState(search=Search(hand="quick", technique="pull", typed="ch")), sheet, "filter hand"
    ),
    "lick": _page(SUPPER, focus="play along"),
    "lick-under-a-capo": _page(SUPPER, "A"),
    "lick-fingered-anew": _page(SUPPER, "C"),
    "lick-long": _page("guide-tone-pinches", focus="play along"),
    "lane-count-in": played(EDGER, 2.2),
    "lane-before-the-fall": played(EDGER, 4.15),
    "lane-resolved": played(EDGER, 4.75),
    "lane-left-hanging": played(EDGER, 8.9),
    "lane-rest": played(EDGER, 10.4),
    "lane-stepped": played(EDGER, 4.15, motion="stepped"),
    "lane-fast": played("half-an-inch-of-kerf", 6.0, tempo=120.0),
    "lane-capo": played("cant-hook-shuffle", 6.5),
    "lane-loop": played(SUPPER, 6.0, loop="change"),
    "lane-in-traffic": played(EDGER, 7.0, way="traffic", passes=1),
    "lane-in-a-form": played(EDGER, 12.0, way="form 8", passes=1),
    "lane-waltz": played("log-deck-waltz", 7.0),
    "lane-kick-off": played("first-log-up", 4.4),
    "after-a-turn": played(EDGER, _NEVER),
    "after-a-turn-pinches": played("guide-tone-pinches", _NEVER),
    "tune-flat": _tune("up", -14.0),
    "tune-in-tune": _tune("in tune", 0.6),
    "tune-warned": _tune(
        "up",
        -190.0,
        "strings break: string 3 would go up by 190 cents: is the capo on, at fret 2?",
        capo=2,
    ),
    "sound-check-still": _checked(
        CheckState(step="still", at_sec=1.2, step_sec=3.0, level_db=-58.0, devices=_FOUND.devices)
    ),
    "sound-check-loud": _checked(
        replace(_FOUND, step="play", at_sec=5.0, step_sec=8.0, level_db=-11.0, loudest_db=-9.0, level=None)
    ),
    "sound-check-done": _checked(_FOUND),
    "neck-D7": lambda sheet: neck_picture(NeckState(symbol="D7"), sheet),
    "neck-B7-capo-4": lambda sheet: neck_picture(NeckState(symbol="B7", capo=4), sheet),
    "neck-E7-left-handed": lambda sheet: neck_picture(NeckState(symbol="E7", left_handed=True), sheet),
    **WEEKS,
    "settings": lambda sheet: settings_picture(SettingsState(values=VALUES), sheet, "set source"),
}
"""Name of a picture to what draws it."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the bench."""
    parser.add_argument("folder", metavar="FOLDER", help="is made if it is not there")
    parser.add_argument("--look", choices=tuple(LOOKS), default="paper")
    parser.add_argument("--size", default="1280x720", metavar="WxH", help="in pixels (default 1280x720)")
    parser.add_argument("--only", default="", metavar="TEXT", help="only those whose name has it")


def run(args: argparse.Namespace) -> int:
    """Write them; names that no picture has are refused."""
    size = _SIZE.fullmatch(args.size)
    if size is None:
        raise Usage(f"--size {args.size}: give width and height in pixels, such as 1280x720")
    if not any(args.only in name for name in TABLE):
        raise Usage(f"--only {args.only}: no picture has that in its name; there are {', '.join(TABLE)}")
    os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
    from feedback.screen.files import write_png

    folder = Path(args.folder)
    folder.mkdir(exist_ok=True)
    for name, picture in pictures(Sheet.of(int(size[1]), int(size[2])), args.only):
        path = folder / f"{name}.png"
        write_png(picture, path, look=args.look)
        print(path)
    return 0


def pictures(sheet: Sheet, only: str = "") -> Iterator[tuple[str, Picture]]:
    """All pictures with their names, or those that have something in their name."""
    for name, draw in TABLE.items():
        if only in name:
            yield name, draw(sheet)
