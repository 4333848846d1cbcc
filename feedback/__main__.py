"""The command line: finds the command, runs it, and turns every error into one line and an exit code."""

from __future__ import annotations

import argparse
import importlib
import io
import logging
import os
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import NoReturn

from feedback import onscreen
from feedback.commands import COMMANDS
from feedback.errors import Usage, exit_code, one_line, tell

ABOUT = """\
Sevenfall listens to a five-string banjo and says whether the flat seven landed over its chord and
fell a half step onto the third of the next one.

"""

CAUTION = """\

Rest five minutes in thirty, add load slowly, never play through pain (see a clinician), and keep the
loudness down: a banjo is loud at the ear by itself.
"""


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are raised, so that they become one line."""

    def error(self, message: str) -> NoReturn:
        raise Usage(f"{self.prog}: {message} (see {self.prog} --help)")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        What stands after the program's name; `sys.argv[1:]` where left out.

    Returns
    -------
    int
        0 done, 1 could not be done, 2 what was given is wrong, 130 interrupted.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without flats still gets its report
    try:
        return _run(list(sys.argv[1:] if argv is None else argv))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or the interpreter complains at exit
        return 0
    except (Exception, KeyboardInterrupt) as error:
        code = exit_code(error)
        logging.getLogger("sevenfall").info("ended with %s", code, exc_info=True)
        if code is None:
            tell(f"sevenfall: a fault of the program, {type(error).__name__}: {one_line(error)} (--log FILE)")
            return 1
        tell("interrupted" if code == 130 else one_line(error))
        return code


def _run(argv: list[str]) -> int:
    if not argv and onscreen.has_display() and onscreen.opens():
        return _porch()
    if not argv or argv[0] in ("-h", "--help"):
        print(_help(), end="")
        return 0
    if argv[0] == "--version":
        from importlib.metadata import version

        print(f"sevenfall {version('sevenfall')}")
        return 0
    module = _command(argv[0])
    parser = _Parser(
        prog=f"sevenfall {argv[0]}",
        description=module.HELP,
        epilog=f"example:\n{module.EXAMPLE}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    module.add_arguments(parser)
    parser.add_argument("--log", metavar="FILE", help="write what happens inside, for bug reports, to FILE")
    try:
        args = parser.parse_args(argv[1:])
    except SystemExit as leaving:  # --help has printed itself
        return int(leaving.code or 0)
    if args.log:
        _log_to(args.log)
    logging.getLogger("sevenfall").info("%s", argv)
    return int(module.run(args))


def _porch() -> int:
    """The window, where nothing else is asked for."""
    onscreen.prepared()
    from feedback import settings

    house = onscreen.house_of(settings.load([]))
    onscreen.show(house, "porch")
    return onscreen.leave(house, 0)


def _command(name: str) -> ModuleType:
    if name not in COMMANDS:
        raise Usage(f"sevenfall: no command {name!r}; there are {', '.join(COMMANDS)} (see sevenfall --help)")
    return importlib.import_module(f"feedback.commands.{name}")


def _help() -> str:
    rows = [(name, importlib.import_module(f"feedback.commands.{name}").HELP) for name in COMMANDS]
    lines = ["  sevenfall            the window, where there is a display"]
    lines += [f"  sevenfall {name:<10} {text}" for name, text in rows]
    ending = "\n\n'sevenfall COMMAND --help' tells more of each, with an example.\n"
    return ABOUT + "\n".join(lines) + ending + CAUTION


def _log_to(path: str) -> None:
    """Send the program's log to a file, opened at once so that a bad path is told before anything starts."""
    handler = logging.FileHandler(path, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(name)s %(levelname)s %(message)s"))
    root = logging.getLogger()
    root.addHandler(handler)
    root.setLevel(logging.INFO)


if __name__ == "__main__":
    sys.exit(main())
