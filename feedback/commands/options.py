"""Arguments that several commands share, and how their text is read."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from feedback.errors import Usage
from routines.errors import BadRoutine
from routines.tempo import parse_tempo

FORMS = (8, 16)
"""Bars of the forms that `routines.traffic.WAYS` has."""

if TYPE_CHECKING:
    from listener.ear import EarSettings
    from routines.excerpt import Span
    from routines.lick import Lick


def add_tempo(parser: argparse.ArgumentParser, *, help_text: str) -> None:
    """`--tempo 96|192q`."""
    parser.add_argument("--tempo", type=tempo, metavar="T", help=help_text)


def add_json(parser: argparse.ArgumentParser) -> None:
    """`--json`."""
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")


def add_devices(parser: argparse._ActionsContainer, more: str = "") -> None:
    """`--device IN[/OUT]`, with more to be said of it."""
    parser.add_argument(
        "--device",
        metavar="IN[/OUT]",
        help=f"microphone and output, each a number or a part of its name; a wrong one lists them{more}",
    )


def add_player(parser: argparse._ActionsContainer, more: str = "") -> None:
    """`--player NAME`, with more to be said of it."""
    parser.add_argument(
        "--player", type=player, metavar="NAME", help=f"whose passes they are (default: --set player){more}"
    )


def player(text: str) -> str:
    """A player's name."""
    from routines.journal.players import player_name

    try:
        return player_name(text)
    except BadRoutine as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def add_no_window(parser: argparse.ArgumentParser) -> None:
    """`--no-window`."""
    parser.add_argument(
        "--no-window", action="store_true", help="stay in the terminal, as it does without a display"
    )


def add_instrument(parser: argparse.ArgumentParser) -> None:
    """`--instrument NAME`."""
    parser.add_argument(
        "--instrument", metavar="NAME", help="the banjo, by the name that soundcheck stored it under"
    )


def add_loop(parser: argparse.ArgumentParser) -> None:
    """`--loop BARS`."""
    parser.add_argument(
        "--loop",
        metavar="BARS",
        help="round and round: a bar (2), some bars (2-3), or change: the half bars before and after the "
        "fall of the seven (change2: of the second one)",
    )


def add_key(parser: argparse._ActionsContainer) -> None:
    """`--key K`."""
    parser.add_argument(
        "--key",
        metavar="K",
        help="in another key: under a capo where that is sensible, else fingered anew (sevenfall move tells)",
    )


def chosen(args: argparse.Namespace) -> Lick:
    """The lick that is named, in the key that is asked for; how it got there is told.

    Raises
    ------
    routines.errors.BadRoutine, BadLickText, OSError
        If there is no such lick or key, or its file cannot be read.
    """
    from routines.library import load

    lick = load(args.lick)
    if args.key is None:
        return lick
    from feedback.another_key import in_key

    taken = in_key(lick, args.key)
    if taken.words:
        teller(args)(f"{taken.lick.title}: {taken.words}")
    return taken.lick


def add_traffic(parser: argparse._ActionsContainer) -> None:
    """`--traffic` and `--form 8|16`."""
    parser.add_argument(
        "--traffic", action="store_true", help="in traffic: the lick between bars of plain roll"
    )
    parser.add_argument(
        "--form",
        type=int,
        choices=FORMS,
        help="in traffic, inside a form: the lick once in a plain form of so many bars",
    )


def way(args: argparse.Namespace) -> str:
    """How the lick is played in traffic: a row of `routines.traffic.WAYS`; empty where it is by itself.

    Raises
    ------
    Usage
        If two such ways are asked for at once.
    """
    given = [
        name
        for name, value in (
            ("--traffic", args.traffic),
            ("--form", args.form),
            ("--loop", getattr(args, "loop", None)),
        )
        if value
    ]
    if len(given) > 1:
        raise Usage(f"{' and '.join(given)}: give one of them")
    if args.traffic:
        return "traffic"
    return "" if args.form is None else f"form {args.form}"


def in_traffic(lick: Lick, args: argparse.Namespace) -> Lick:
    """The lick as `--traffic` or `--form` asks for it; the lick itself where neither is given.

    Raises
    ------
    Usage
        As `way`.
    routines.errors.BadRoutine
        If the lick has no place in such a form.
    """
    asked = way(args)
    if not asked:
        return lick
    from routines.traffic import around

    return around(lick, asked)


def looped(lick: Lick, bars: str | None) -> tuple[Lick, Span | None]:
    """The part of a lick that `--loop` asks for, and which that is; all of it where that is not given.

    Raises
    ------
    routines.errors.BadRoutine
        If there is no such part.
    """
    if bars is None:
        return lick, None
    from routines.excerpt import span_of

    span = span_of(bars, lick)
    return span.of(lick), span


def ear_settings(name: str | None) -> EarSettings | None:
    """How the ear is built that knows the named instrument; None where none is named.

    One line says where what was learnt of its sound does not go with this program.

    Raises
    ------
    Usage
        If no instrument of that name is known.
    """
    if name is None:
        return None
    from feedback import instruments
    from feedback.errors import tell

    profile = instruments.load(name)
    if profile.outgrown:
        tell(
            f"{name}: its sound was learnt by another version of this program, its tuning holds; "
            f"once more: {instruments.HOW}"
        )
    return profile.settings()


def teller(args: argparse.Namespace) -> Callable[[str], None]:
    """What prints a line at once; nothing is said where JSON is asked for, which stands alone."""
    return _nothing if args.json else partial(print, flush=True)


def _nothing(line: str) -> None:
    """Say nothing."""


def tempo(text: str) -> float:
    """A tempo in half notes a minute."""
    try:
        return parse_tempo(text)
    except BadRoutine as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def seconds(text: str) -> float:
    """A time in a take: 0 or more seconds."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0 <= value < math.inf:
        raise argparse.ArgumentTypeError(f"{text!r}: give seconds, 0 or more")
    return value


def seed(text: str) -> int:
    """A seed: a whole number, 0 or more."""
    try:
        value = int(text)
    except ValueError:
        value = -1
    if value < 0:
        raise argparse.ArgumentTypeError(f"{text!r}: give a whole number, 0 or more")
    return value
