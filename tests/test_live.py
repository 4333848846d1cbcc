"""The live path on a software sound card: what is true of a file is true of a microphone, and stays true.

A take is played into the virtual microphone while the program plays its click and listens. What it says must
be what `judge` says of the very same take, and where notes lie must agree within 5 ms after one offset is
taken off: when the take began is not known better. Then the sound server is killed, and a cable is pulled.
Skipped where PulseAudio is missing, with the reason.
"""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

import feedback
from feedback.judges.limits import Limits
from feedback.player import render
from feedback.session import after_count_in
from feedback.sources import simulated_turn
from feedback.takes import judge_take
from routines.library import load
from tests.injector import Injector
from tests.soundcard import SoundCard, missing

pytestmark = [
    pytest.mark.skipif(missing() is not None, reason=str(missing())),
    pytest.mark.timeout(150),
]

CHILD = Path(__file__).parent / "live_child.py"
LICK = "the-edgers-nod"
PLAY = [sys.executable, "-m", "feedback", "play", LICK, "--from", "mic", "--no-window"]
PLAY += ["--set", "latency=0.05"]
INPUT_SEC = 0.03
"""About so long before a callback its sound was injected; the rest is taken off as an offset."""


def _start(card: SoundCard, command: Sequence[str], folder: Path) -> subprocess.Popen[str]:
    env = {**card.env, "SEVENFALL_HOME": str(folder), "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": _path()}
    return subprocess.Popen(
        command, env=env, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def _path() -> str:
    """Where the very package lies that is under test, installed or not."""
    return str(Path(str(feedback.__file__)).parents[1])


def _count_ins(log: Path, number: int, process: subprocess.Popen[str], wait_sec: float = 30.0) -> list[float]:
    """When each count-in would be heard by the microphone, by the monotonic clock, once there are so many."""
    until = time.monotonic() + wait_sec
    found: list[float] = []
    while len(found) < number:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < until
        time.sleep(0.01)
        text = log.read_text(encoding="utf-8") if log.exists() else ""
        lines = re.findall(r"count-in of turn \d+ at ([\d.]+) .*round trip ([\d.]+) s", text)
        found = [float(at) + float(trip) for at, trip in lines]
    return found


def _same_verdicts(found: dict[str, Any], take: Path, tempo: float, starts: Sequence[float]) -> float:
    """Hold the passes of a live run against what `judge` says of the take; gives the offset in seconds."""
    offsets = []
    assert len(found["passes"]) == len(starts)
    for live, start in zip(found["passes"], starts, strict=True):
        judged = judge_take(take, load(LICK), Limits(), tempo_half_bpm=tempo, start_sec=start)
        assert live["complete"], live
        told = [(n["index"], n["verdict"], n["heard_midi"]) for n in live["notes"]]
        assert told == [(n.index, n.verdict, n.heard_midi) for n in judged.outcome.notes]
        for kind in ("sevenths", "thirds"):
            said = [(s["sounded"], s["landed"], s["swallowed"], s["resolution"]) for s in live[kind]]
            judges = [(s.sounded, s.landed, s.swallowed, s.resolution) for s in getattr(judged.outcome, kind)]
            assert said == judges
        assert len(live["extras"]) == len(judged.outcome.extras)
        assert live["clean"] == judged.outcome.clean
        offsets += [
            a["deviation_ms"] - b.deviation_ms
            for a, b in zip(live["notes"], judged.outcome.notes, strict=True)
            if b.deviation_ms is not None
        ]
    middle = float(np.median(offsets))
    assert max(abs(offset - middle) for offset in offsets) < 5.0
    return middle / 1e3


def test_a_minute_with_a_picture_to_draw(tmp_path: Path) -> None:
    tempo, passes = 60.0, 10
    plan = after_count_in(load(LICK), tempo, passes=passes)
    mistakes = ((), ("left-hanging",), ("seven-swallowed",), ("filler-wrong",), ("resolution-late",)) * 2
    played = simulated_turn(plan, mistakes=mistakes, seed=3)
    take = tmp_path / "take.wav"
    sound = render(played, seed=3)
    soundfile.write(take, sound, 44100, subtype="FLOAT")
    log = tmp_path / "log.txt"
    child = [sys.executable, str(CHILD), LICK, str(tempo), str(passes), str(log), "8"]
    with SoundCard() as card, Injector(card) as injector:
        process = _start(card, child, tmp_path)
        injector.lay(sound, _count_ins(log, 1, process)[0] - INPUT_SEC)
        out, errors = process.communicate(timeout=100)
    assert process.returncode == 0, errors
    found = json.loads(out)
    assert found["sound"]["overflows"] == found["sound"]["dropped"] == 0
    assert found["faults"] == []
    assert plan.end_sec > 60.0
    assert abs(_same_verdicts(found, take, tempo, plan.starts_sec)) < 0.15
    resolutions = [one["sevenths"][-1]["resolution"] for one in found["passes"]]
    assert {"resolved", "hanging", "late"} <= set(resolutions)


def test_at_48_khz_and_kept(tmp_path: Path) -> None:
    tempo = 100.0
    plan = after_count_in(load(LICK), tempo, passes=1)
    sound = render(simulated_turn(plan, mistakes=(("left-hanging",),), seed=5), rate=48000, seed=5)
    take = tmp_path / "take.wav"
    soundfile.write(take, sound, 48000, subtype="FLOAT")
    log, kept = tmp_path / "log.txt", tmp_path / "kept"
    command = [*PLAY, "--tempo", "100", "--passes", "1", "--turns", "1", "--json", "--log", str(log)]
    command += ["--set", "rate=48000", "--keep", str(kept), "--device", "live"]
    with SoundCard(rate=48000) as card, Injector(card) as injector:
        process = _start(card, command, tmp_path)
        injector.lay(sound, _count_ins(log, 1, process)[0] - INPUT_SEC)
        out, errors = process.communicate(timeout=60)
    assert (process.returncode, errors) == (0, "")
    found = json.loads(out)
    assert found["sound"]["sample_rate"] == 48000
    _same_verdicts(found, take, tempo, plan.starts_sec)
    # The kept sound lies on the click's clock: judged as a file, it gives the very same pass.
    (flac,) = kept.glob("*.flac")
    beside = json.loads(flac.with_suffix(".json").read_text(encoding="utf-8"))
    assert found["takes"] == [str(flac)]
    again = judge_take(
        flac, load(LICK), Limits(), tempo_half_bpm=tempo, start_sec=beside["passes"][0]["start_sec"]
    )
    told = [(n["verdict"], n["heard_midi"]) for n in beside["passes"][0]["notes"]]
    assert told == [(n.verdict, n.heard_midi) for n in again.outcome.notes]
    for note, other in zip(beside["passes"][0]["notes"], again.outcome.notes, strict=True):
        if other.deviation_ms is not None:
            assert abs(note["deviation_ms"] - other.deviation_ms) < 1.0


def test_server_killed_and_restarted_then_a_cable_pulled(tmp_path: Path) -> None:
    tempo = 150.0
    lick = load(LICK)
    plan = after_count_in(lick, tempo, passes=2)
    sound = render(simulated_turn(plan, mistakes=((), ()), seed=2), seed=2)
    log = tmp_path / "log.txt"
    command = [*PLAY, "--tempo", "150", "--passes", "4", "--log", str(log), "--json"]
    with SoundCard() as card:
        injector = Injector(card)
        process = _start(card, command, tmp_path)
        assert process.stderr is not None
        at_sec = _count_ins(log, 1, process)[0]
        injector.lay(sound, at_sec - INPUT_SEC)
        second_pass = plan.starts_sec[0] + (lick.bars + plan.rest_bars) * plan.bar_sec
        time.sleep(max(0.0, at_sec + second_pass + 0.5 * plan.bar_sec - time.monotonic()))
        card.kill()
        killed_sec = time.monotonic()
        assert "sound lost: " in process.stderr.readline()  # it stands still, or it was ended: both occur
        assert time.monotonic() - killed_sec < 1.5
        injector.stop()
        card.restart()
        injector = Injector(card)
        assert "back" in process.stderr.readline()
        at_sec = _count_ins(log, 2, process)[1]
        injector.lay(sound, at_sec - INPUT_SEC)
        time.sleep(max(0.0, at_sec + second_pass + 0.5 * plan.bar_sec - time.monotonic()))
        card.unplug("inj")
        pulled_sec = time.monotonic()
        assert "only zeros" in process.stderr.readline()
        assert time.monotonic() - pulled_sec < 1.6
        injector.stop()
        card.plug("inj")
        injector = Injector(card)
        assert "back" in process.stderr.readline()
        _count_ins(log, 3, process)
        process.send_signal(signal.SIGINT)
        out, errors = process.communicate(timeout=20)
        injector.stop()
    assert (process.returncode, errors) == (130, "interrupted\n")
    found = json.loads(out)
    told = [(one["pass"], one["complete"]) for one in found["passes"]]
    assert told == [(1, True), (2, False), (2, True), (3, False)]
    for whole in (found["passes"][0], found["passes"][2]):
        assert [seven["resolution"] for seven in whole["sevenths"]] == ["resolved"]
        assert sum(note["verdict"] == "landed" for note in whole["notes"]) >= len(whole["notes"]) - 1
    for broken in (found["passes"][1], found["passes"][3]):
        assert {note["verdict"] for note in broken["notes"]} <= {"landed", "unclear"}
        assert broken["clean"] is None
    assert len(found["faults"]) == 4


def test_no_device_is_one_line(tmp_path: Path) -> None:
    with SoundCard() as card:
        card.kill()
        process = _start(card, PLAY, tmp_path)
        out, errors = process.communicate(timeout=30)
    assert process.returncode == 1
    assert out == ""
    assert len(errors.splitlines()) == 1
    assert "device" in errors
