"""The live path on a software sound card: what is true of a file is true of a microphone, and stays true.

A take is played into the virtual microphone while the program plays its click and listens. What it says must
be what `judge` says of the very same take, and where each note lies must be within 5 ms of where it came in.
A software card on a busy machine loses frames now and then and says nothing: what the program kept of its
microphone shows it (`tests.arrivals`). Such a pass is held to nothing; when too many are, the test fails.
Then the sound server is killed, and a cable is pulled.
Skipped where PulseAudio is missing, with the reason.
"""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

import feedback
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from feedback.player import render
from feedback.playing import play_file
from feedback.practice_request import PracticeRequest
from feedback.session import TurnPlan, after_count_in
from feedback.sounding import turn_sound
from feedback.sources import simulated_turn
from feedback.takes import judge_take
from routines.library import load
from tests.arrivals import SAME_SEC, Arrival, arrivals, whole
from tests.bench.live import loop_ms
from tests.injector import Injector
from tests.soundcard import SoundCard, missing

pytestmark = [
    pytest.mark.live,
    pytest.mark.skipif(missing() is not None, reason=str(missing())),
    pytest.mark.timeout(150),
]

CHILD = Path(__file__).parent / "live_child.py"
LICK = "the-edgers-nod"
PLAY = [sys.executable, "-m", "feedback", "play", LICK, "--from", "mic", "--no-window"]
PLAY += ["--set", "latency=0.05", "--set", "rest_sec=0"]
INPUT_SEC = 0.03
"""About so long before a callback its sound was injected; how late it came in is measured."""

ATTEMPTS = 3
"""So often is a card that lost sound tried."""


_STARTED: list[subprocess.Popen[str]] = []


@pytest.fixture(autouse=True)
def _nothing_is_left_running() -> Iterator[None]:
    yield
    for process in _STARTED:
        process.kill()
        process.communicate()
    _STARTED.clear()


def _start(card: SoundCard, command: Sequence[str], folder: Path) -> subprocess.Popen[str]:
    env = {**card.env, "SEVENFALL_HOME": str(folder), "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": _path()}
    process = subprocess.Popen(
        command, env=env, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    _STARTED.append(process)
    return process


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


def _attempts(folder: Path, most: int = ATTEMPTS) -> Iterator[Path]:
    """A folder for each attempt."""
    for number in range(most):
        (folder / str(number)).mkdir()
        yield folder / str(number)


def _kept(folder: Path) -> tuple[Path, np.ndarray, int, dict[str, Any]]:
    """The one take that the program kept: its file, its sound, the rate, and what stands beside it."""
    (flac,) = folder.glob("*.flac")
    sound, rate = soundfile.read(flac, dtype="float32")
    return flac, sound, rate, json.loads(flac.with_suffix(".json").read_text(encoding="utf-8"))


def _came_in(sound: np.ndarray, kept: Path, plan: TurnPlan) -> list[list[Arrival]]:
    """How each note of each pass came in, by what the program kept of its microphone."""
    _, heard, rate, beside = _kept(kept)
    found = []
    for grid, told in zip(plan.grids(Limits()), beside["passes"], strict=True):
        places = [grid.due_sec(note.onset_quarters) for note in grid.lick.notes]
        found.append(arrivals(sound, heard, rate, places, told["start_sec"] - grid.start_sec))
    return found


def _same_verdicts(
    found: dict[str, Any], offline: Sequence[Judged], came: Sequence[Sequence[Arrival]]
) -> tuple[int, int]:
    """Hold passes of a live run against what is said of the file; gives how many came in whole, and unsure.

    Where the card lost sound (a pass did not come in whole) a pass is held to nothing. Where the program says
    that it was not sure (underruns, a gap in the click), a pass may have unclear notes and no other verdict.
    """
    came_whole = unsure = 0
    for live, judged, pieces in zip(found["passes"], offline, came, strict=True):
        assert live["complete"], live
        if not whole(pieces):
            continue
        came_whole += 1
        pairs = list(zip(live["notes"], judged.outcome.notes, strict=True))
        if any(a["verdict"] == "unclear" != b.verdict for a, b in pairs):
            unsure += 1
            for a, b in pairs:
                assert a["verdict"] in (b.verdict, "unclear")
                assert a["heard_midi"] in (b.heard_midi, None)
            continue
        told = [(n["index"], n["verdict"], n["heard_midi"]) for n in live["notes"]]
        assert told == [(n.index, n.verdict, n.heard_midi) for n in judged.outcome.notes]
        for kind in ("sevenths", "thirds"):
            said = [(s["sounded"], s["landed"], s["swallowed"], s["resolution"]) for s in live[kind]]
            judges = [(s.sounded, s.landed, s.swallowed, s.resolution) for s in getattr(judged.outcome, kind)]
            assert said == judges
        assert len(live["extras"]) == len(judged.outcome.extras)
        assert live["clean"] == judged.outcome.clean
        # A note far under its neighbours, and what is slurred from it, has no onset that is known to 5 ms.
        notes = load(LICK).notes
        swallowed = {seven["index"] for seven in live["sevenths"] if seven["swallowed"]}
        swallowed |= {index + 1 for index in swallowed if not notes[index + 1].picked}
        for a, b in pairs:
            if b.deviation_ms is not None and a["index"] not in swallowed:
                late_ms = 1e3 * pieces[a["index"]].late_sec
                assert abs(a["deviation_ms"] - b.deviation_ms - late_ms) < 5.0, (live["pass"], a["index"])
    return came_whole, unsure


def test_at_48_khz_and_kept(tmp_path: Path) -> None:
    tempo = 120.0
    plan = after_count_in(load(LICK), tempo, passes=1)
    sound = render(simulated_turn(plan, mistakes=(("left-hanging",),), seed=5), rate=48000, seed=5)
    take = tmp_path / "take.wav"
    soundfile.write(take, sound, 48000, subtype="FLOAT")
    (start,) = plan.starts_sec
    judged = judge_take(take, load(LICK), Limits(), tempo_half_bpm=tempo, start_sec=start)
    for folder in _attempts(tmp_path):
        found = _at_48_khz(folder, sound, plan)
        if found is None:
            continue
        came_whole, _ = _same_verdicts(found, [judged], _came_in(sound, folder / "kept", plan))
        _kept_says_the_same(folder / "kept", found, plan)
        if came_whole:
            return
    pytest.fail(f"the card lost sound {ATTEMPTS} times of {ATTEMPTS}")


def _at_48_khz(folder: Path, sound: np.ndarray, plan: TurnPlan) -> dict[str, Any] | None:
    """One turn on a card of 48 kHz, a take kept; None where the card ended the stream."""
    log = folder / "log.txt"
    command = [*PLAY, "--tempo", "120", "--passes", "1", "--turns", "1", "--json", "--log", str(log)]
    command += ["--set", "rate=48000", "--keep", str(folder / "kept"), "--device", "live"]
    with SoundCard(rate=48000) as card, Injector(card) as injector:
        card.loopback(0.05)
        process = _start(card, [*command, "--set", "bleed=in"], folder)
        injector.lay(sound, _count_ins(log, 1, process)[0] - INPUT_SEC)
        out, errors = process.communicate(timeout=60)
    found = _unless_lost(process.returncode, out, errors)
    assert found is None or found["sound"]["sample_rate"] == 48000
    return found


def _unless_lost(code: int, out: str, errors: str) -> dict[str, Any] | None:
    """What a run said; None where the card ended its stream. Nothing else may have been wrong."""
    assert code == 0, errors
    found: dict[str, Any] = json.loads(out)
    if any("sound lost: " in fault for fault in found["faults"]):
        return None
    assert (errors, found["faults"]) == ("", [])
    return found


def _kept_says_the_same(kept: Path, found: dict[str, Any], plan: TurnPlan) -> None:
    """The kept sound lies on the click's clock: judged as a file, it gives the very same pass."""
    # The click comes back by the loopback, some 26 ms later than the round trip that was taken off; this
    # microphone's stamps wander by up to 14 ms. A round trip of 0, or taken off twice, is 50 ms off and more.
    flac, sound, rate, beside = _kept(kept)
    way_ms = loop_ms(sound, rate, plan, "halves")
    assert way_ms is not None
    assert 5.0 < way_ms < 50.0
    assert found["takes"] == [str(flac)]
    (one,) = beside["passes"]
    again = judge_take(
        flac, load(LICK), Limits(), tempo_half_bpm=plan.tempo_half_bpm, start_sec=one["start_sec"]
    )
    told = [(n["verdict"], n["heard_midi"]) for n in one["notes"]]
    assert told == [(n.verdict, n.heard_midi) for n in again.outcome.notes]
    for note, other in zip(one["notes"], again.outcome.notes, strict=True):
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
        for _ in range(10):
            process.send_signal(signal.SIGINT)
            with suppress(subprocess.TimeoutExpired):
                out, errors = process.communicate(timeout=2.0)
                break
        else:
            pytest.fail("it cannot be interrupted")
        injector.stop()
    # The plugged stream may be ended once more by the system before it stays.
    assert (process.returncode, errors.splitlines()[-1]) == (130, "interrupted")
    found = json.loads(out)
    told = [(one["pass"], one["complete"]) for one in found["passes"]]
    assert told == [(1, True), (2, False), (2, True), (3, False)]
    for full in (found["passes"][0], found["passes"][2]):
        assert [seven["resolution"] for seven in full["sevenths"]] == ["resolved"]
        assert sum(note["verdict"] == "landed" for note in full["notes"]) >= len(full["notes"]) - 1
    for broken in (found["passes"][1], found["passes"][3]):
        assert not {note["verdict"] for note in broken["notes"]} & {"missed", "wrong"}
        assert broken["clean"] is None
    assert len(found["faults"]) >= 4


def test_no_device_is_one_line(tmp_path: Path) -> None:
    with SoundCard() as card:
        card.kill()
        process = _start(card, PLAY, tmp_path)
        out, errors = process.communicate(timeout=30)
    assert process.returncode == 1
    assert out == ""
    assert len(errors.splitlines()) == 1
    assert "device" in errors


@pytest.mark.timeout(240)
def test_a_minute_with_a_picture_to_draw(tmp_path: Path) -> None:
    plan = after_count_in(load(LICK), 62.0, passes=10)
    assert plan.end_sec > 60.0
    mistakes = ((), ("left-hanging",), ("seven-swallowed",), ("filler-wrong",), ("resolution-late",)) * 2
    sound = render(simulated_turn(plan, mistakes=mistakes, seed=3), seed=3)
    take = tmp_path / "take.wav"
    soundfile.write(take, sound, 44100, subtype="FLOAT")
    offline: list[Judged] = []
    for folder in _attempts(tmp_path, 2):
        log, kept = folder / "log.txt", folder / "kept"
        kept.mkdir()
        child = [sys.executable, str(CHILD), LICK, "62", "10", str(log), "8", str(kept)]
        with SoundCard() as card, Injector(card) as injector:
            process = _start(card, child, folder)
            injector.lay(sound, _count_ins(log, 1, process)[0] - INPUT_SEC)
            # while it plays
            offline = offline or [over.judged for over in play_file(take, plan, Limits())]
            out, errors = process.communicate(timeout=100)
        found = _unless_lost(process.returncode, out, errors)
        if found is None:
            continue
        assert found["sound"]["overflows"] == found["sound"]["dropped"] == 0
        came = _came_in(sound, kept, plan)
        came_whole, unsure = _same_verdicts(found, offline, came)
        lates = np.array([np.median([one.late_sec for one in pieces]) for pieces in came if whole(pieces)])
        steps = np.sum(np.abs(np.diff(lates)) >= 0.005)
        if came_whole >= 6 and unsure <= 3 and steps <= 2:  # one way, but for a step of the card or two
            break
    else:
        pytest.fail("the card lost too much, twice")
    resolutions = [one["sevenths"][-1]["resolution"] for one in found["passes"]]
    assert {"resolved", "hanging", "late"} <= set(resolutions)
    assert any(seven["swallowed"] for one in found["passes"] for seven in one["sevenths"])


def test_a_round_trip_that_a_sound_check_finds_is_the_true_one_within_a_millisecond(tmp_path: Path) -> None:
    for _ in range(ATTEMPTS):
        with SoundCard() as card:
            card.hum(-66.0)
            card.loopback(0.3)
            process = _start(card, [sys.executable, str(CHILD.with_name("sweep_child.py"))], tmp_path)
            out, errors = process.communicate(timeout=60)
        assert (process.returncode, errors) == (0, "")
        found = json.loads(out)
        # The truth: bursts of noise, played before and after the sweeps, found by what they look like.
        before, after = found["bursts_ms"]
        if abs(before - after) < 1.0:  # else the cable itself moved
            break
    else:
        pytest.fail(f"the cable moved {ATTEMPTS} times of {ATTEMPTS}")
    assert found["how"] == "chirp"
    assert abs(found["trip_ms"] - (before + after) / 2.0) < 1.0
    assert found["unsure_ms"] < 1.5
    assert found["trip_ms"] - found["stamps_ms"] > 5.0  # the loopback's way, which no stamp knows of


def test_backing_out_of_a_loudspeaker_leaves_the_verdicts_and_lies_in_time_to_the_sample(
    tmp_path: Path,
) -> None:
    tempo = 140.0
    lick = load(LICK)
    plan = after_count_in(lick, tempo, passes=2)
    mistakes = ((), ("left-hanging",))
    sound = render(simulated_turn(plan, mistakes=mistakes, seed=6), seed=6)
    take = tmp_path / "take.wav"
    soundfile.write(take, sound, 44100, subtype="FLOAT")
    request = PracticeRequest(lick=lick, tempo_half_bpm=tempo, click_db=-14.0, backing=True, backing_db=-14.0)
    asked, _ = turn_sound(request, plan, 44100, first=True)
    for folder in _attempts(tmp_path):
        found, played = _with_backing(folder, sound, plan)
        if found is None:
            continue
        shares, places = _found_in(played, asked, round(plan.first_start_sec * 44100))
        came = _came_in(sound, folder / "kept", plan)
        # So much of the backing is left in the first pass that likeness says little; places say enough.
        lates = np.array([one.late_sec for pieces in came for one in pieces])
        assert len(places) == 1 or shares < 1.0
        if shares >= 0.3 and np.sum(np.abs(lates - np.median(lates)) <= SAME_SEC) >= len(lates) - 3:
            break
    assert found is not None, "the card ended the stream"
    assert shares >= 0.3  # the card loses some frames now and then, with no flag
    assert found["backing"]
    assert found["sound"]["bleed_db"] > -15.0
    # At such a bleed, and with what the card loses, two of the 24 notes may be told otherwise.
    pairs = [
        (n["verdict"], m.verdict)
        for one, over in zip(found["passes"], play_file(take, plan, Limits()), strict=True)
        for n, m in zip(one["notes"], over.judged.outcome.notes, strict=True)
    ]
    assert sum(live != offline for live, offline in pairs) <= 2, pairs
    assert sum(len(one["extras"]) for one in found["passes"]) <= 1


def _with_backing(
    folder: Path, sound: np.ndarray, plan: TurnPlan
) -> tuple[dict[str, Any] | None, np.ndarray]:
    """A turn with backing out of a loudspeaker: what was said (None: stream ended), and what was played."""
    log = folder / "log.txt"
    command = [*PLAY, "--tempo", "140", "--passes", "2", "--turns", "1", "--json", "--log", str(log)]
    command += ["--backing", "--set", "click_db=-14", "--set", "backing_db=-14"]
    command += ["--keep", str(folder / "kept")]
    with SoundCard() as card, Injector(card) as injector:
        card.loopback(1.0)
        process = _start(card, command, folder)
        at_sec = _count_ins(log, 1, process)[0]
        injector.lay(sound, at_sec - INPUT_SEC)
        played = card.record(None, plan.end_sec + 1.0)[:, 0]
        out, errors = process.communicate(timeout=60)
    return _unless_lost(process.returncode, out, errors), played


def _found_in(played: np.ndarray, asked: np.ndarray, begin: int) -> tuple[float, set[int]]:
    """Which share of the half seconds of a sound, from a place on, was played to the sample; how late."""
    half, near, size = 22050, 11025, 1 << 20
    likeness = np.fft.irfft(np.fft.rfft(played, size) * np.fft.rfft(asked[begin:], size).conj(), size)
    late = int(likeness.argmax()) - begin
    pieces = range(begin, len(asked) - half, half)
    places = []
    for first in pieces:
        piece, around = asked[first : first + half], played[first + late - near :][: half + 2 * near]
        at = int(np.correlate(around, piece, "valid").argmax())
        if float(np.abs(around[at : at + half] - piece).max()) < 1e-3:
            places.append(late + at - near)
    return len(places) / len(pieces), set(places)
