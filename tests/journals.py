"""A journal's tables for tests: in no file, and all that is in them."""

from __future__ import annotations

import sqlite3
from dataclasses import replace

from routines.journal.connecting import in_memory
from routines.journal.records import PassRecord
from routines.journal.schema import STEPS


def empty() -> sqlite3.Connection:
    """A journal's tables in no file."""
    connection = in_memory()
    for step in STEPS:
        step(connection)
    return connection


def all_rows(connection: sqlite3.Connection) -> dict[str, list[tuple]]:
    tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    return {name: connection.execute(f"SELECT * FROM {name}").fetchall() for (name,) in tables}


def totals(connection: sqlite3.Connection) -> dict[str, list[tuple]]:
    """All totals, by the names of players and licks instead of the journal's own numbers."""
    named = "(SELECT name FROM players WHERE id = player), (SELECT lick FROM items WHERE id = item)"
    tables = ("tempo_days", "item_months", "guide_days", "guide_months", "level_days")
    found = {}
    for table in tables:
        rows = connection.execute(f"SELECT {named}, * FROM {table}").fetchall()
        found[table] = sorted([(player, lick, *rest) for player, lick, _, _, *rest in rows], key=str)
    return found


def clean(record: PassRecord, value: bool | None, tempo_half_bpm: float = 96.0) -> PassRecord:
    return replace(record, outcome=replace(record.outcome, clean=value, tempo_half_bpm=tempo_half_bpm))
