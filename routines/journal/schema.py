"""The journal's tables, and the steps by which an older journal is brought up to them.

The problem: a journal is kept for years, and the program changes. Each journal knows its version, 0 is an
empty file; step k brings version k to k + 1. A step is one transaction, and before it the whole journal is
copied into the backups: where a step fails the journal stays what it was, and the copy is there besides.

Conventions: a step is never changed after it has been shipped. Days are text as "2026-11-29", months as
"2026-11". In totals whole numbers are added only, so that they do not depend on the order of the passes:
milliseconds (lasted), thousandths of one (lean, spread), millionths (bounce).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from routines.journal.backups import back_up, before_version
from routines.journal.connecting import transaction
from routines.journal.errors import JournalTrouble

Step = Callable[[sqlite3.Connection], None]

APPLICATION = 0x53564E46
"""What says that an SQLite file is a journal."""

TEMPO_SUMS = (
    "passes", "clean", "unclean", "unclear", "lasted_ms", "notes", "landed",
    "lean_us", "lean_passes", "bounce_ppm", "bounce_passes", "spread_us", "spread_passes",
)  # fmt: skip
GUIDE_SUMS = (
    "asked", "unclear", "sounded", "landed", "swallowed",
    "due", "resolved", "ahead", "late", "octave", "hanging", "unclear_falls", "as_asked",
)  # fmt: skip


def _whole(names: Sequence[str]) -> str:
    return ", ".join(f"{name} INTEGER NOT NULL" for name in names)


_WHOSE = "player INTEGER NOT NULL REFERENCES players, item INTEGER NOT NULL REFERENCES items"
_TONE = "chord TEXT NOT NULL, next_chord TEXT NOT NULL, voice TEXT NOT NULL"
_WITHIN = "first_day TEXT NOT NULL, last_day TEXT NOT NULL"

_FIRST = (
    "CREATE TABLE players (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE)",
    "CREATE TABLE items (id INTEGER PRIMARY KEY, lick TEXT NOT NULL, key TEXT NOT NULL, unit TEXT NOT NULL, "
    "UNIQUE (lick, key, unit))",
    "CREATE TABLE titles (player INTEGER NOT NULL REFERENCES players, lick TEXT NOT NULL, "
    "title TEXT NOT NULL, PRIMARY KEY (player, lick)) WITHOUT ROWID",
    f"CREATE TABLE passes (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, {_WHOSE}, day TEXT NOT NULL, "
    "moment_us INTEGER NOT NULL, ended_at TEXT NOT NULL, sitting TEXT NOT NULL, source TEXT NOT NULL, "
    "lasted_sec REAL, title TEXT NOT NULL, routine TEXT NOT NULL, heard INTEGER NOT NULL, moved_ms REAL, "
    "click TEXT NOT NULL, window TEXT NOT NULL, verdicts BLOB NOT NULL)",
    "CREATE INDEX passes_by_day ON passes (day, moment_us, player, item, heard)",
    f"CREATE TABLE tempo_days ({_WHOSE}, day TEXT NOT NULL, tempo_half_bpm REAL NOT NULL, "
    f"{_whole(TEMPO_SUMS)}, PRIMARY KEY (player, item, day, tempo_half_bpm)) WITHOUT ROWID",
    f"CREATE TABLE item_months ({_WHOSE}, month TEXT NOT NULL, {_WITHIN}, {_whole(TEMPO_SUMS)}, "
    "PRIMARY KEY (player, item, month)) WITHOUT ROWID",
    f"CREATE TABLE guide_days ({_WHOSE}, day TEXT NOT NULL, {_TONE}, {_whole(GUIDE_SUMS)}, "
    "PRIMARY KEY (player, item, day, chord, next_chord, voice)) WITHOUT ROWID",
    f"CREATE TABLE guide_months ({_WHOSE}, month TEXT NOT NULL, {_TONE}, {_WITHIN}, {_whole(GUIDE_SUMS)}, "
    "PRIMARY KEY (player, item, month, chord, next_chord, voice)) WITHOUT ROWID",
    f"CREATE TABLE level_days ({_WHOSE}, day TEXT NOT NULL, home_half_bpm REAL, edge_half_bpm REAL, "
    "reach_half_bpm REAL, PRIMARY KEY (player, item, day)) WITHOUT ROWID",
)


def _first(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    for statement in _FIRST:
        connection.execute(statement)


STEPS: tuple[Step, ...] = (_first,)
"""Step k brings version k to k + 1."""


def version_of(connection: sqlite3.Connection, file: Path, steps: Sequence[Step] = STEPS) -> int:
    """The version of a journal.

    Returns
    -------
    int
        0 to the newest; 0 is an empty file.

    Raises
    ------
    JournalTrouble
        If the file is no journal, or of a newer version than this program knows.
    """
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    application = int(connection.execute("PRAGMA application_id").fetchone()[0])
    tables = int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
    if application != (APPLICATION if version else 0) or bool(version) != bool(tables):
        raise JournalTrouble(file, "is no journal: move it away, or restore a backup")
    if version > len(steps):
        raise JournalTrouble(
            file,
            f"is of version {version}, made by a newer program; this one knows {len(steps)}: bring it up",
        )
    return version


def bring_up(
    connection: sqlite3.Connection, file: Path, *, now: datetime, steps: Sequence[Step] = STEPS
) -> int:
    """Bring a journal up to the newest version, with a backup before each step but the first.

    Parameters
    ----------
    connection : sqlite3.Connection
        That may write; nobody else may have the file open where it is older.
    file : Path
        Its own; backups go beside it.
    now : datetime
    steps : sequence of Step

    Returns
    -------
    int
        The version that it had.

    Raises
    ------
    JournalTrouble
        If it is none, or a newer one, or a step fails: then it is what it was before that step.
    """
    was = version_of(connection, file, steps)
    for version, step in enumerate(steps[was:], start=was):
        kept = before_version(file.parent, version + 1, now) if version else None
        if kept is not None:
            back_up(connection, kept)
        try:
            with transaction(connection):
                step(connection)
                connection.execute(f"PRAGMA user_version = {version + 1}")
        except (sqlite3.Error, ValueError, LookupError) as error:
            copy = f"; a copy of it is {kept}" if kept else ""
            said = " ".join(str(error).split())
            raise JournalTrouble(
                file, f"could not be brought to version {version + 1} ({said}): it is as it was{copy}"
            ) from error
    return was
