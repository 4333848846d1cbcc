"""A window of its own that stores passes, for tests that kill it, or run several at once.

    python tests/journal_child.py FOLDER NAME MANY

Opens the journal of FOLDER, says so, and stores MANY passes whose ids begin with NAME, 0 for passes without
end; after each it says its id. Whatever is told when it is killed was stored.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from routines.journal.journal import Journal
from routines.journal.records import Item, PassRecord
from routines.outcome import NoteVerdict, PassOutcome, SeventhVerdict, Timing

OPEN = "open"
_DAY = datetime(2026, 11, 29, 18, tzinfo=UTC)


def plain_pass(name: str, number: int) -> PassRecord:
    """A pass of eight notes and one seven, every second one clean, at one of three tempos."""
    note = NoteVerdict(
        index=0,
        onset_sec=1.25,
        midi=60,
        string=2,
        fret=1,
        role="seven",
        core=True,
        verdict="landed",
        heard_midi=60,
        deviation_ms=-3.125 * (number % 7),
        rest_ms=0.5,
    )
    seven = SeventhVerdict(
        index=0,
        chord="D7",
        next_chord="G",
        midi=60,
        sounded=True,
        landed=number % 2 == 0,
        swallowed=False,
        due=True,
        due_midi=59,
        resolution="resolved" if number % 3 else "hanging",
        resolved_midi=59,
        resolution_ms=1.0,
        as_asked=True,
    )
    return PassRecord(
        id=f"{name}/{number}",
        sitting=name,
        player="Ann",
        source="sim",
        ended_at=_DAY + timedelta(hours=number // 8, seconds=10 * number),
        lasted_sec=8.5,
        item=Item(f"lick-{number % 2}", "G"),
        title=f"Lick {number % 2}",
        outcome=PassOutcome(
            lick=f"lick-{number % 2}",
            key="G",
            tempo_half_bpm=80.0 + 2.0 * (number % 3),
            start_sec=1.0,
            start_found=False,
            clean=number % 2 == 0,
            notes=(note,) * 8,
            extras=(),
            sevenths=(seven,),
            thirds=(),
            timing=Timing(
                lean_ms=-3.125 * (number % 7),
                bounce=0.5 + 0.01 * (number % 5),
                spread_ms=None,
                drift_percent=None,
                hurry_at_change_ms=None,
            ),
        ),
    )


def main(folder: str, name: str, many: str) -> None:
    """Store passes."""
    with Journal.open(Path(folder), now=lambda: _DAY) as journal:
        print(OPEN, flush=True)
        for number in count() if many == "0" else range(int(many)):
            record = plain_pass(name, number)
            journal.add(record)
            print(record.id, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
