"""Measures: `python -m tests.bench NAME` runs `tests.bench.NAME`, a row each, as the commands do."""

from __future__ import annotations

import argparse
import importlib
import os
import sys

BENCHES = ("notes", "verdicts", "render", "cost")


def main() -> int:
    """Run one bench; prints tables, never a verdict on the code."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # figures are for one core
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    rows = parser.add_subparsers(dest="name", required=True, metavar="NAME")
    modules = {name: importlib.import_module(f"tests.bench.{name}") for name in BENCHES}
    for name, module in modules.items():
        module.add_arguments(rows.add_parser(name, help=module.HELP, description=module.__doc__))
    args = parser.parse_args()
    return int(modules[args.name].run(args))


if __name__ == "__main__":
    sys.exit(main())
