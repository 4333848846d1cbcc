"""Measures: `python -m tests.bench NAME` runs `tests.bench.NAME`, a row each, as the commands do."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence

from feedback.errors import exit_code, one_line

BENCHES = (
    "notes",
    "verdicts",
    "render",
    "cost",
    "paths",
    "starts",
    "learn",
    "weigh",
    "informed",
    "banjos",
    "live",
    "bleed",
    "chirp",
    "tune",
    "screen",
    "pictures",
    "repertoire",
    "move",
    "ladder",
    "journal",
    "killed",
    "better",
    "fortnight",
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one bench: it prints tables, never a verdict on the code; an error is one line."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # figures are for one core
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    rows = parser.add_subparsers(dest="name", required=True, metavar="NAME")
    given = list(sys.argv[1:] if argv is None else argv)
    # One bench must not need what another imports.
    asked = given[:1] if given and given[0] in BENCHES else BENCHES
    modules = {name: importlib.import_module(f"tests.bench.{name}") for name in asked}
    for name, module in modules.items():
        module.add_arguments(rows.add_parser(name, help=module.HELP, description=module.__doc__))
    args = parser.parse_args(argv)
    try:
        return int(modules[args.name].run(args))
    except (OSError, ValueError) as error:
        code = exit_code(error)
        if code is None:
            raise
        print(one_line(error), file=sys.stderr)
        return code


if __name__ == "__main__":
    sys.exit(main())
