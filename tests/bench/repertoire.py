"""The checker's table: every lick with its figures and faults, copies, and the variety of the set.

    python -m tests.bench repertoire [FOLDER]

Reads the licks of the program, or the lick texts of a folder; those are compared with the program's as well.
Prints a line a lick, every fault and every advice in words, pairs that are copies and the nearest that are
not, the figures of variety with their limits, and counts beside what the repertoire is to hold.

A line: id | key, capo | kind, use | hand, top | bars | the changes | last seven: string/fret and eighth in
its bar, where it resolves | roll of its bar | fingers of its bar | ending | onsets after the fall | what the
hands cost | faults.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from feedback.errors import Usage
from routines.checker.hands import played
from routines.checker.lick import ADVICE, FAULTS, Fault, advice, faults
from routines.checker.places import bar_of, eighth_of, last_seven, onsets_after_the_fall
from routines.errors import BadLickText
from routines.library import all_licks, changes_of, load
from routines.lick import Lick
from tests.bench.repertoire_copies import COPY, likenesses, nearest
from tests.bench.repertoire_counts import COUNTS, counts, falls_short
from tests.bench.repertoire_figures import (
    FIGURES,
    OFF_LEAST,
    beyond_limits,
    counted,
    ending,
    off_share,
    seven_fingers,
    seven_roll,
)

HELP = "licks checked: faults, copies, variety"

_NEAREST_SHOWN = 10
_VALUES_SHOWN = 8


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `repertoire` takes."""
    parser.add_argument("folder", nargs="?", metavar="FOLDER", help="lick texts instead of the program's")
    parser.add_argument("--no-advice", action="store_true", help="faults only")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    own, unread = read_folder(Path(args.folder)) if args.folder else (all_licks(), ())
    for words in unread:
        print(f"not read: {words}")
    if not own:
        raise Usage(f"{args.folder}: no lick was read; accepted is a folder with texts named *.lick")
    found, rows = {}, []
    for lick in own:
        found[lick.id] = faults(lick)
        rows.append(row(lick, len(found[lick.id])))
    _show_table(rows)
    _show_words("faults", found)
    if not args.no_advice:
        _show_words("advice", {lick.id: advice(lick) for lick in own})
    _show_excused()
    _show_copies(own, [lick for lick in all_licks() if args.folder and lick.id not in found])
    _show_variety([lick for lick in own if lick.kind == "lick"])
    return 0


def read_folder(folder: Path) -> tuple[tuple[Lick, ...], tuple[str, ...]]:
    """Read the lick texts of a folder; return the licks, and in words what could not be read.

    Raises
    ------
    OSError
        If the folder cannot be read.
    """
    licks, unread = [], []
    for file in sorted(path for path in folder.iterdir() if path.suffix == ".lick"):
        try:
            licks.append(load(str(file)))
        except BadLickText as error:
            unread.append(str(error))
    return tuple(licks), tuple(unread)


def row(lick: Lick, fault_count: int) -> tuple[str, ...]:
    """The cells of a lick's line."""
    after = onsets_after_the_fall(lick)
    return (
        lick.id,
        f"{lick.key}{f' capo {lick.neck.capo}' if lick.neck.capo else ''}",
        lick.use or lick.kind,
        f"{lick.hand} {lick.top_tempo_half_bpm:g}",
        f"{lick.bars}{f'+{2 * lick.pickup_quarters:g}e' if lick.pickup_quarters else ''}",
        " ".join(changes_of(lick)) or "-",
        _seven(lick),
        seven_roll(lick),
        seven_fingers(lick),
        ending(lick),
        "-" if after is None else str(after),
        f"{played(lick).cost:.1f}",
        str(fault_count or ""),
    )


_TITLES = (
    "lick", "key", "use", "hand", "bars", "change", "last seven", "roll", "fingers", "ending",
    "after", "cost", "faults",
)  # fmt: skip


def _seven(lick: Lick) -> str:
    ask = last_seven(lick)
    if ask is None:
        return "none"
    note = lick.notes[ask.note]
    told = f"{note.string}/{note.fret} {_place(lick, note.onset_quarters)}"
    if ask.place_quarters is None:
        return f"{told} colour"
    return f"{told} to {_place(lick, ask.place_quarters)}{' octave' if ask.how == 'octave' else ''}"


def _place(lick: Lick, onset_quarters: float) -> str:
    return f"b{bar_of(lick, onset_quarters)}e{eighth_of(lick, onset_quarters):g}"


def _show_table(rows: Sequence[Sequence[str]]) -> None:
    lines = [_TITLES, *rows]
    widths = [max(len(cells[column]) for cells in lines) for column in range(len(_TITLES))]
    for cells in lines:
        print("  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip())


def _show_words(title: str, found: dict[str, tuple[Fault, ...]]) -> None:
    print(f"\n{title}: {sum(map(len, found.values()))} in {sum(map(bool, found.values()))} of {len(found)}")
    for name, words in found.items():
        for fault in words:
            print(f"  {name}: [{fault.check}] {fault.words}")


def _show_excused() -> None:
    print("\nexcused by the tables of the checker:")
    for check in (*FAULTS, *ADVICE):
        if excused := (*check.excused_kinds, *check.excused_uses):
            print(f"  {check.name}: {', '.join(excused)}")


def _show_copies(own: Sequence[Lick], others: Sequence[Lick]) -> None:
    licks = [*own, *others]
    pairs = [pair for pair in nearest(licks, likenesses(licks)) if pair.one < len(own)]
    for lick in own:
        for other in licks:
            if lick.id != other.id and (lick.title == other.title or lick.trains == other.trains):
                print(f"\n{lick.id} has title or what it trains from {other.id}")
    many = sum(pair.likeness >= COPY for pair in pairs)
    print(f"\ncopies (likeness {COPY:.2f} and more): {many}; the nearest of {len(pairs)} pairs:")
    for pair in pairs[: max(many, _NEAREST_SHOWN)]:
        said = "  COPY" if pair.likeness >= COPY else ""
        print(f"  {pair.likeness:.2f}  {licks[pair.one].id}  {licks[pair.other].id}{said}")


def _show_variety(licks: Sequence[Lick]) -> None:
    if not licks:
        return
    print(f"\nvariety of {len(licks)} licks (rolls and drills left out)")
    for figure in FIGURES:
        values = counted(figure, licks).most_common(_VALUES_SHOWN)
        told = ", ".join(f"{value} {many / len(licks):.0%}" for value, many in values)
        each = "each roll" if figure.unbound else "each"
        print(f"  {figure.name} ({each} at most {figure.most:.0%}): {told}")
    print(f"  resolved other than on e1: {off_share(licks):.0%} (at least {OFF_LEAST:.0%})")
    print("  beyond the limits: " + ("; ".join(beyond_limits(licks)) or "none"))
    print("\ncounts")
    for name in COUNTS:
        print(
            f"  {name}: " + ", ".join(f"{value} {many}" for value, many in counts(name, licks).most_common())
        )
    print("  the repertoire still wants: " + ("; ".join(falls_short(licks)) or "nothing"))
