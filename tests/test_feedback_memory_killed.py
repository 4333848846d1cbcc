"""Killed in the middle of a pass: no finished pass is lost."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from routines.journal.journal import Journal
from routines.journal.totals import tempo_day_of

TIMES = 20
CHILD = Path(__file__).with_name("killed_child.py")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")
def test_killed_in_the_middle_of_a_pass_no_finished_pass_is_lost(tmp_path: Path) -> None:
    run = [sys.executable, str(CHILD), str(tmp_path), str(TIMES), "7"]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(run, capture_output=True, text=True, env=env, check=False)
    assert done.returncode == 0, done.stderr
    said = [int(line.split()[0]) for line in done.stdout.splitlines()]
    assert len(said) == TIMES
    told: list[str] = []
    with Journal.open(tmp_path, now=lambda: datetime.now().astimezone(), told=told.append) as journal:
        passes = list(journal.passes(player="killed"))
        practices: dict[str, int] = {}
        for one in passes:
            practices[one.id.split("/")[0]] = practices.get(one.id.split("/")[0], 0) + 1
        assert journal.count() == len(passes)
        totals = journal.tempo_days("killed")
    stored = list(practices.values())
    assert len(stored) == TIMES
    assert all(
        0 <= there - heard <= 1 for heard, there in zip(said, stored, strict=True)
    )  # said once it is there
    assert sum(total.passes for total in totals) == len(passes)
    assert sum(total.notes for total in totals) == sum(tempo_day_of(one).notes for one in passes)
    assert told == []  # nothing had to be mended
