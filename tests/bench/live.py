"""The live path: the round trip and its course, what was lost, the delay from strike to line, processor use.

    python -m tests.bench live [--minutes 10] [--work 8] [--latency 0.05] [--device IN[/OUT]]

On a software sound card of its own (PulseAudio), a simulated player plays along with the click, turn after
turn, while the program listens; the card also lets the microphone hear the click, 20 dB down, so that the
click's own way tells the true round trip (and the card's loopback, some 26 ms, constant). With --device the
sound devices of this machine are used instead, you play, and the way of the click is told where it is heard.
--work lets the main thread work for so many milliseconds of each sixtieth of a second, as a picture would.

Delay: from the onset of a note, as it was judged, to the session's knowing of it, and to the line about a
seven's fall. Stages: what the ear must hear before it says so (blocks included); the sound card, from the
microphone to the callback; the wait for the analysis thread; its work; the wait for the session. A line waits
besides until the fall has settled, is judged, and is written.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from typing import Any

import numpy as np

from feedback import settings
from feedback.clicking import strokes
from feedback.errors import CannotDo, Usage, own_standard_error
from feedback.player import render
from feedback.practice import Practice
from feedback.practice_events import CountIn, Fell, Kept, Passed, SoundLost
from feedback.practice_report import event_lines
from feedback.practice_request import PracticeRequest
from feedback.session import TurnPlan, after_count_in
from feedback.sound.click import sound as stroke_sound
from feedback.soundcard import asked_stream, microphone
from feedback.sources import simulated_turn
from listener.live import Live
from listener.run import Heard
from routines.library import load
from tests.bench.cost import ONE_THREAD

HELP = "the live path on a software sound card: round trip, losses, delay by stage, processor use"

LICK, TEMPO = "the-edgers-nod", 80.0
LOOP_GAIN = 0.1
FARTHEST_SEC = 0.3
"""So far behind its stroke the click is looked for in the microphone."""

CLEAR = 6.0
"""The click is heard where its correlation stands so many times over the median around it."""

_HERE = "SEVENFALL_BENCH_LIVE_HERE"
_FRAME_SEC = 1 / 60
_STAGES = ("ear", "sound card", "wait for analysis", "analysis", "wait for session", "all")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `live` takes."""
    parser.add_argument("--minutes", type=float, default=10.0, help="how long (default 10)")
    parser.add_argument("--work", type=float, default=8.0, metavar="MS", help="of each frame (default 8)")
    parser.add_argument("--latency", default="0.05", help="low, high or seconds (default 0.05)")
    parser.add_argument("--device", metavar="IN[/OUT]", help="devices of this machine; you play")


def run(args: argparse.Namespace) -> int:
    """Run the program in a process of its own, play along with it, print the tables."""
    if not 0.0 < args.minutes <= 24 * 60 or not 0.0 <= args.work < 1e3 * _FRAME_SEC:
        raise Usage(f"minutes {args.minutes:g}, work {args.work:g} ms: up to 1440, 0 to 16 are accepted")
    if _HERE in os.environ:
        return _listen(args)
    words = [sys.executable, "-m", "tests.bench", "live", "--minutes", str(args.minutes)]
    words += ["--work", str(args.work), "--latency", args.latency, "--device"]
    if args.device:
        _show(_told([*words, args.device], dict(os.environ), None))
        return 0
    from tests.injector import Injector
    from tests.soundcard import SoundCard, missing

    if reason := missing():
        raise CannotDo(f"no software sound card: {reason}")
    with SoundCard() as card, Injector(card) as injector:
        card.loopback(LOOP_GAIN)
        _show(_told([*words, "live"], card.env, injector))
    return 0


def _told(words: list[str], env: dict[str, str], injector: Any) -> dict[str, Any]:
    """Play along with each count-in that the other process tells; what it found in the end."""
    env = {**env, **ONE_THREAD, _HERE: "1"}
    plan = after_count_in(load(LICK), TEMPO)
    sound = render(simulated_turn(plan, mistakes=((),) * plan.passes, seed=1), seed=1)
    line = ""
    with subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        for line in process.stdout:
            if injector is not None and line.startswith("count-in "):
                _, at, trip, card = line.split()
                injector.lay(sound, float(at) + float(trip) - float(card))
    if process.returncode != 0:
        raise CannotDo("the live process ended by itself; what it said stands above")
    found: dict[str, Any] = json.loads(line)
    return found


class _Watched:
    """A microphone of which is noted what came when, and whose session has a picture to draw.

    Stands in the place of `live.take`.
    """

    def __init__(self, live: Live, work_sec: float, block_sec: float) -> None:
        self._plain, self._work_sec, self._block_sec = live.take, work_sec, block_sec
        self.card_sec = 0.03
        self._due = time.monotonic()
        self._canvas = np.zeros((360, 640, 3), np.uint8)
        self.worked_sec = 0.0
        self.came: list[tuple[Heard, float]] = []
        live.take = self  # type: ignore[assignment, method-assign]

    def __call__(self, wait_sec: float) -> list[Any]:
        begun, used = time.monotonic(), time.thread_time()
        while time.monotonic() - begun < self._work_sec:
            self._canvas[::7] = self._canvas[::7] // 2 + 40
            sum(len(f"{k}:{k}") for k in range(60))
        self.worked_sec += time.thread_time() - used
        self._due = max(self._due + _FRAME_SEC, begun)
        time.sleep(max(0.0, self._due - time.monotonic()))
        items = self._plain(0.0 if self._work_sec else wait_sec)
        now = time.monotonic()
        heard = [item for item in items if isinstance(item, Heard)]
        if heard:
            late = _card_sec(heard[-1], self._block_sec)
            self.card_sec = late if late == late else self.card_sec
        self.came += [(item, now) for item in items if isinstance(item, Heard) and item.reports]
        return items


def _listen(args: argparse.Namespace) -> int:
    """Practise for so long; the last line that is printed is what was found."""
    own_standard_error()
    values = settings.load([f"latency={args.latency}", "bleed=in"])
    live = microphone(asked_stream(args.device, values), values, keep=True)
    watched = _Watched(live, args.work / 1e3, float(values["block"]) / 44100)
    request = PracticeRequest(lick=load(LICK), tempo_half_bpm=TEMPO, keep=True)
    live.start()
    begun, used = time.monotonic(), _used_sec()
    found: dict[str, list[Any]] = {"turns": [], "lines": [], "passes": [], "faults": []}
    plan: TurnPlan | None = None
    for event in Practice(request, live).events():
        for _ in event_lines(request, event):
            pass
        match event:
            case CountIn():
                plan = event.plan
                trip_sec = live.condition.round_trip_sec
                print(f"count-in {event.begins_sec:.4f} {trip_sec:.4f} {watched.card_sec:.4f}", flush=True)
                found["turns"].append([time.monotonic() - begun, 1e3 * trip_sec, None])
            case Fell():
                found["lines"].append(_line_ms(event, float(values["block"]) / 44100))
            case Passed(over=over):
                found["passes"].append([over.complete, over.heard, over.judged.outcome.clean, over.moved_ms])
            case Kept() if plan is not None:
                found["turns"][-1][2] = loop_ms(event.sound, event.rate, plan, request.click)
                if time.monotonic() - begun > 60.0 * args.minutes:
                    break
            case SoundLost(line=line):
                found["faults"].append(line)
    wall_sec, condition = time.monotonic() - begun, live.condition
    busy_sec = _used_sec() - used - watched.worked_sec
    live.stop()
    told = {
        **found,
        "stages": _stages(watched.came, condition.rate, condition.block),
        "wall_sec": wall_sec,
        "busy": busy_sec / wall_sec,
        "work": watched.worked_sec / wall_sec,
        "basis": condition.basis,
        "unsure_ms": 1e3 * condition.unsure_sec,
        "drift_ppm": condition.drift_ppm,
        "overflows": condition.overflows,
        "underflows": condition.underflows,
        "dropped": condition.dropped,
        "device": f"{condition.source}, {condition.rate} Hz, blocks of {condition.block}",
    }
    print(json.dumps(told), flush=True)
    return 0


def loop_ms(sound: np.ndarray, rate: int, plan: TurnPlan, click: str) -> float | None:
    """How long after its time the click of a count-in is heard in a take, round trip taken off.

    Parameters
    ----------
    sound : ndarray, shape (n,)
        Begins with the count-in.
    rate : int
    plan : TurnPlan
    click : str

    Returns
    -------
    float or None
        Milliseconds, the median of the count-in's beats; None where none of them stands out.
    """
    found = []
    reach = round(FARTHEST_SEC * rate)
    for stroke in strokes(plan, click):
        begin = round(stroke.sec * rate)
        if stroke.sec >= plan.first_start_sec - plan.bar_sec or stroke.sort == "soft":
            continue
        shape = stroke_sound(stroke.sort, rate)
        stretch = sound[begin : begin + reach + len(shape)]
        if len(stretch) < reach:
            continue
        likeness = np.abs(np.correlate(stretch, shape, "valid"))
        peak = int(likeness.argmax())
        if likeness[peak] > CLEAR * np.median(likeness):
            found.append(1e3 * peak / rate)
    return float(np.median(found)) if found else None


def _line_ms(event: Fell, block_sec: float) -> float:
    """From the onset of the note that was the fall, to now: the line about it is written."""
    outcome, item = event.seven.outcome, event.item
    start = event.origin_sec
    ends = [
        note.onset_sec + note.deviation_ms / 1e3
        for seven in outcome.sevenths
        for note in outcome.notes
        if seven.due
        and note.deviation_ms is not None
        and note.onset_sec is not None
        and note.heard_midi == seven.resolved_midi
        and note.index > seven.index
    ]
    struck = start + min(ends)
    card_sec = _card_sec(item, block_sec)
    return 1e3 * (item.now_sec - struck + card_sec + time.monotonic() - item.came_sec)


def _stages(came: list[tuple[Heard, float]], rate: int, block: int) -> dict[str, list[float]]:
    """Milliseconds of each stage, for each note when it was heard first."""
    found: dict[str, list[float]] = {stage: [] for stage in _STAGES}
    for item, drained_sec in came:
        for report in item.reports:
            if report.kind != "heard":
                continue
            parts = [
                item.now_sec - report.note.onset_sec,
                _card_sec(item, block / rate),
                item.taken_sec - item.came_sec,
                item.said_sec - item.taken_sec,
                drained_sec - item.said_sec,
            ]
            for stage, sec in zip(_STAGES, [*parts, sum(parts)], strict=True):
                found[stage].append(1e3 * sec)
    return found


def _card_sec(item: Heard, block_sec: float) -> float:
    """From the last frame's being taken in to the callback; not a number where the stamps make no sense."""
    wall = time.time() - time.monotonic()  # stamps may be by either clock
    late = [item.came_sec - item.adc_sec - block_sec + offset for offset in (0.0, wall)]
    return next((sec for sec in late if 0.0 <= sec < 1.0), float("nan"))


def _used_sec() -> float:
    return sum(os.times()[:2])


def _show(told: dict[str, Any]) -> None:
    passes = told["passes"]
    print(f"{told['device']}; {told['wall_sec'] / 60:.1f} min, {len(told['turns'])} turns")
    print(
        f"passes {len(passes)}, complete {sum(p[0] for p in passes)}, heard {sum(p[1] for p in passes)}, "
        f"clean {sum(p[2] is True for p in passes)}, round trip moved over 5 ms in "
        f"{sum(p[3] > 5.0 for p in passes)}"
    )
    print(
        f"overflows {told['overflows']}, gaps in the click {told['underflows']}, dropped {told['dropped']}; "
        f"drift {told['drift_ppm']} ppm"
    )
    for line in told["faults"]:
        print(f"sound lost: {line}")
    print(f"round trip by {told['basis']}, within {told['unsure_ms']:.1f} ms; its course, turn by turn:")
    print("  minute     round trip ms   click heard behind it, ms")
    for sec, trip, loop in told["turns"]:
        print(f"  {sec / 60:6.2f}     {trip:13.1f}   {'not heard' if loop is None else f'{loop:.1f}'}")
    loops = [loop for _, _, loop in told["turns"] if loop is not None]
    if loops:
        low, high = min(loops), max(loops)
        print(f"  what the clock missed of the true one: {high - low:.1f} ms from least to most")
    print("delay, ms              median     95 %     most    notes")
    for stage, values in told["stages"].items():
        _row(stage, values)
    _row("strike to line (fall)", told["lines"])
    print(
        f"processor: {100 * told['busy']:.1f} % of a core"
        + (f", besides {100 * told['work']:.1f} % for the picture" if told["work"] else "")
    )


def _row(name: str, values: list[float]) -> None:
    known = [value for value in values if value == value]
    if known:
        median, high = np.percentile(known, (50, 95))
        print(f"  {name:<20} {median:8.1f} {high:8.1f} {max(known):8.1f} {len(known):8d}")
    else:
        print(f"  {name:<20}    not known")
