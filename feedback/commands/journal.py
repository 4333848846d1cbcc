"""`sevenfall journal export|import|restore FILE`: the journal as a file, and back.

An export holds every pass with all its verdicts; importing merges, restoring replaces. What is in the way of
an export is written over only where nothing is lost by it.
"""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from feedback.commands.options import add_json, player
from feedback.errors import CannotDo, Usage, tell
from feedback.remembered import local_now

if TYPE_CHECKING:
    from routines.journal.errors import UnreadPass
    from routines.journal.exports import Tally
    from routines.journal.journal import Journal

HELP = "all that you have played, written to a file, taken in from one, or restored"
EXAMPLE = """\
  sevenfall journal export passes.json              every pass with all its verdicts
  sevenfall journal export passes.csv --player Ann  only Ann's, for a spreadsheet
  sevenfall journal import passes.json              merge: what is there already stays as it is
  sevenfall journal restore passes.json             replace: the present journal is kept beside

An export is written over only by one that holds all its passes; any other file is left alone. A pass that
cannot be read any more is told, all others are written, and the exit code is 1. In CSV a cell that begins
with = + - @ (a negative number, too) has an apostrophe in front; import takes it off again."""

_NAMED = 10
"""So many players, or passes that cannot be read, are named; the others are counted."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument("what", choices=_ACTS, metavar="export|import|restore", help="what is to be done")
    parser.add_argument(
        "file",
        metavar="FILE",
        type=Path,
        help="x.json or x.csv; restore also takes a backup of the journal, x.sqlite",
    )
    parser.add_argument(
        "--player",
        type=player,
        metavar="NAME",
        help="export only this player's passes; import all of them as this player's (not for restore)",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Export, import or restore.

    Returns
    -------
    int
        0; 1 where a pass could not be read and is not in the export.

    Raises
    ------
    Usage, routines.errors.BadRoutine
        If the file's name or what it holds cannot be taken, or there is no such player.
    OSError
        If there is no journal to export, a file cannot be read or written, the file that is to be written
        must not be lost, or another window has the journal open that is to be replaced.
    """
    lines, found = _ACTS[args.what](args.file, args.player)
    told = {"file": str(args.file), **found}
    print(json.dumps(told, ensure_ascii=False) if args.json else "\n".join(lines))
    return 1 if found.get("unread") else 0


class _Unread:
    """Passes that cannot be read, each told in a line as long as they are few."""

    def __init__(self, journal: Path) -> None:
        self.journal, self.many = journal, 0

    def __call__(self, error: UnreadPass) -> None:
        self.many += 1
        if self.many <= _NAMED:
            tell(f"{self.journal}: {error}, it is not in the export")

    def end(self) -> None:
        """Tell how many more there were."""
        if self.many > _NAMED:
            tell(f"{self.journal}: {_passes(self.many - _NAMED)} more cannot be read")


def _export(path: Path, player: str | None) -> tuple[list[str], dict[str, Any]]:
    from feedback.writing import beside
    from routines.journal.exporting import LostPasses, ending_of, ids_in, none_lost, write_export
    from routines.journal.texts import BadJournalFile

    ending = ending_of(path)
    written: list[Tally] = []
    with _journal(writes=False) as journal:
        _check_player(journal, player)
        unread = _Unread(journal.file)
        try:
            there = ids_in(path) if path.exists() else set()
        except BadJournalFile as error:
            raise CannotDo(f"{path}: is there already and is no whole export, it is left as it is") from error
        try:
            records = none_lost(journal.passes(player=player, unread=unread), there)
            beside(path, lambda part: written.append(write_export(records, part, ending)))
        except LostPasses as lost:
            what = f"{path}: holds {_passes(lost.args[0])} that would be lost, it is left as it is"
            raise CannotDo(f"{what}: import it first, or name another file") from lost
        finally:
            unread.end()
    return [f"Written: {path}, {_told(written[0])}."], {**_json(written[0]), "unread": unread.many}


def _import(path: Path, player: str | None) -> tuple[list[str], dict[str, Any]]:
    from routines.journal.importing import check, take_in

    held = check(path, player)
    added = 0
    if held.passes:
        with _journal(writes=True) as journal:
            added = take_in(journal, path, player)
    already = held.passes - added
    line = f"Imported: {path}, {_told(held)}"
    if already:
        line += f"; {_passes(added) if added else 'none'} new, {already:,} there already"
        line += ", which stay whose they are" if player is not None else ""
    return [line + "."], {**_json(held), "added": added, "already": already}


def _restore(path: Path, player: str | None) -> tuple[list[str], dict[str, Any]]:
    from feedback.settings import home
    from routines.journal.restoring import restore

    if player is not None:
        raise Usage("--player is for export and import: restore replaces the journal of all players")
    before = _counted()
    done = restore(home(), path, now=local_now)
    lines = [f"Restored: {path}, {_told(done.held)}."]
    if done.kept is not None:
        gone = sorted(before.keys() - done.held.players)
        if gone:
            lines.append(f"Not in it: {_passes(sum(before[name] for name in gone))} of {_whose(gone)}.")
        lines.append(f"Kept beside: {done.kept}, the journal as it was before; back to it with")
        lines.append(f"  sevenfall journal restore {shlex.quote(str(done.kept))}")
    return lines, {**_json(done.held), "kept": None if done.kept is None else str(done.kept)}


_ACTS: dict[str, Callable[[Path, str | None], tuple[list[str], dict[str, Any]]]] = {
    "export": _export,
    "import": _import,
    "restore": _restore,
}


def _counted() -> dict[str, int]:
    """Whose passes are in the journal, and how many; nothing where it cannot be asked any more."""
    try:
        with _journal(writes=False) as journal:
            return {name: journal.count(name) for name in journal.players()}
    except OSError:
        return {}


def _journal(*, writes: bool) -> Journal:
    from feedback.settings import home
    from routines.journal.journal import Journal

    return Journal.open(home(), now=local_now, writes=writes, told=tell)


def _check_player(journal: Journal, player: str | None) -> None:
    if not journal.count():
        raise CannotDo("there is no journal yet: it begins with the first pass that you play")
    if player is not None and not journal.count(player):
        raise Usage(
            f"--player {player}: there are no passes of that name, but of {_listed(journal.players())}"
        )


def _listed(names: list[str]) -> str:
    return ", ".join(_printable(name) for name in names)


def _printable(name: str) -> str:
    return name if name.isprintable() else repr(name)


def _told(tally: Tally) -> str:
    if not tally.passes:
        return "no passes"
    days = tally.first_day if tally.first_day == tally.last_day else f"{tally.first_day} to {tally.last_day}"
    return f"{_passes(tally.passes)} of {_whose(sorted(tally.players))}, {days}"


def _whose(players: list[str]) -> str:
    *names, last = (_printable(name) for name in players[:_NAMED])
    if len(players) > _NAMED:
        names, last = [*names, last], f"{len(players) - _NAMED} more"
    return f"{', '.join(names)} and {last}" if names else last


def _passes(many: int) -> str:
    return f"{many:,} {'pass' if many == 1 else 'passes'}"


def _json(tally: Tally) -> dict[str, Any]:
    return {
        "passes": tally.passes,
        "players": sorted(tally.players),
        "first_day": tally.first_day or None,
        "last_day": tally.last_day or None,
    }
