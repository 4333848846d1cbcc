"""Windows killed while they store passes, and several that store at once: no finished pass is lost."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

from routines.journal.comparing import wrong_totals
from routines.journal.journal import Journal
from tests.bench.journal_kills import CHILD, killed
from tests.journal_child import plain_pass
from tests.passes import AT

KILLS = 3
WINDOWS = 3
EACH = 40


def test_a_window_that_is_killed_loses_no_pass(tmp_path: Path) -> None:
    rng = random.Random(9)
    for number in range(KILLS):
        found = killed(tmp_path, number, rng, lambda: AT)
        assert found.well, found
        assert found.told > 0
        assert found.lines == ()


def test_several_windows_store_at_once(tmp_path: Path) -> None:
    def started(name: str) -> subprocess.Popen[str]:
        words = [sys.executable, str(CHILD), str(tmp_path), name, str(EACH)]
        return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    windows = [started(f"w{n}") for n in range(WINDOWS)]
    with Journal.open(tmp_path, now=lambda: AT) as journal:
        mine = [plain_pass("mine", n) for n in range(EACH)]
        for record in mine:
            assert journal.add(record)
            assert len(journal.tempo_days("Ann")) > 0
        for window in windows:
            told, wrong = window.communicate(timeout=60)
            assert (window.returncode, wrong, len(told.splitlines())) == (0, "", EACH + 1)
        names = ("mine", *(f"w{n}" for n in range(WINDOWS)))
        wanted = [plain_pass(name, n) for name in names for n in range(EACH)]
        assert sorted(journal.passes(), key=lambda r: r.id) == sorted(wanted, key=lambda r: r.id)
        assert sum(day.passes for day in journal.tempo_days("Ann")) == len(wanted)
        assert wrong_totals(journal._connection) == []
