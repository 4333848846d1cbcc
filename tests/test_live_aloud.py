"""The simulated player over a software sound card: what its ear gets is what the loudspeaker gives.

Skipped where PulseAudio is missing, with the reason.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import feedback
from feedback.player import render
from feedback.practice_request import PracticeRequest
from feedback.session import after_count_in
from feedback.sounding import aloud_sound
from feedback.sources import SIMULATED_RATE, simulated_turn
from routines.library import load
from tests.soundcard import SoundCard, missing

pytestmark = [
    pytest.mark.live,
    pytest.mark.skipif(missing() is not None, reason=str(missing())),
    pytest.mark.timeout(60),
]

LICK = load("slab-wood-supper")
TEMPO = 200.0
PLAY = [sys.executable, "-m", "feedback", "play", LICK.id, "--from", "sim", "--no-window", "--device", "spk"]
PLAY += ["--tempo", f"{TEMPO:g}", "--passes", "1", "--set", "heard=on", "--set", "latency=0.05"]
LASTS_SEC = 6.0
ATTEMPTS = 3


def test_the_seven_is_heard_where_it_was_played(tmp_path: Path) -> None:
    plan = after_count_in(LICK, TEMPO, passes=1)
    played = simulated_turn(plan, mistakes=((),), seed=1)
    sound = render(played, rate=SIMULATED_RATE, seed=1)
    request = PracticeRequest(lick=LICK, tempo_half_bpm=TEMPO)
    expected = aloud_sound(request, plan, sound, SIMULATED_RATE, SIMULATED_RATE, first=True)
    seven = LICK.sevenths[0].note
    begin = round(played.notes[seven].onset_sec * SIMULATED_RATE)
    due = expected[begin : begin + round(0.25 * SIMULATED_RATE)]
    for _ in range(ATTEMPTS):  # a card that has nothing to play for a moment tears the sound
        recorded = _recorded(tmp_path)
        at = int(np.argmax(np.correlate(recorded, due[:2048], "valid")))
        found = recorded[at : at + len(due)]
        if len(found) == len(due) and np.corrcoef(found, due)[0, 1] > 0.99:
            break
    else:
        pytest.fail(f"the seven was not heard in {ATTEMPTS} turns")
    assert np.abs(found).max() == pytest.approx(np.abs(due).max(), rel=0.05)
    midi = played.notes[seven].midi
    assert max(range(midi - 2, midi + 3), key=lambda other: _power(found, other)) == midi
    assert not recorded[: at - begin - SIMULATED_RATE // 100].any()  # nothing before its count-in


def _recorded(folder: Path) -> np.ndarray:
    """What the loudspeaker gave of one run of the program."""
    with SoundCard(SIMULATED_RATE) as card:
        path = str(Path(str(feedback.__file__)).parents[1])
        env = {**card.env, "SEVENFALL_HOME": str(folder), "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": path}
        process = subprocess.Popen(
            PLAY, env=env, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        try:
            sound = card.record(None, LASTS_SEC)
            out, errors = process.communicate(timeout=20)
        finally:
            process.kill()
    assert (process.returncode, errors) == (0, "")
    assert "pass 1: C landed" in out
    return sound[:, 0]


def _power(sound: np.ndarray, midi: int) -> float:
    """How much of a pitch is in a sound, its first two partials together."""
    hz = 440.0 * 2.0 ** ((midi - 69) / 12.0)
    sec = np.arange(len(sound)) / SIMULATED_RATE
    turned = [np.exp(-2j * np.pi * partial * hz * sec) for partial in (1, 2)]
    return float(sum(abs(np.dot(sound * np.hanning(len(sound)), one)) for one in turned))
