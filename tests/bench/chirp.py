"""The round trip by sweeps: how near the truth, how deep in the noise, and how often where there is none.

    python -m tests.bench chirp [--times 20]

Every row is five sweeps in each of so many rooms, by turns at 44.1 and 48 kHz, the true delay anywhere from 3
to 500 ms. An error is found less true, in milliseconds; "together" is what the five say together.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feedback.errors import Usage
from listener.chirp import CLEAR_DB, SENT, Arrival, Measured, chirp, combined, found
from listener.pressing import pressed
from tests.bench.returns import NOISES, SPEAKERS, Return

HELP = "the round trip by sweeps: how near, how deep in the noise, how often where there is none"

RATES = (44_100, 48_000)
_TOLERANCE_MS = 1.0
_DELAYS_SEC = (0.003, 0.5)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `chirp` takes."""
    parser.add_argument("--times", type=int, default=20, help="rooms a row (default 20)")


def run(args: argparse.Namespace) -> int:
    """Print the tables."""
    if args.times < 1:
        raise Usage(f"--times {args.times}: 1 and more are accepted")
    print(f"{'one sweep of five':44s} found   median    95 %   worst  over 1 ms     together  unsure   worst")
    for name, row in rows():
        _show(name, row, args.times)
    print(f"\n{'where it does not come back':32s} over the noise, dB: 50 %   99 %   most   said to come back")
    for noise in NOISES:
        _show_none(noise, args.times)
    return 0


def rows() -> list[tuple[str, Return]]:
    """What is measured."""
    plain = Return()
    made = [(f"no room, {name}", replace(plain, speaker=name, rt60_sec=0.0)) for name in SPEAKERS]
    for rt60_sec in (0.2, 0.4, 0.6):
        for direct_db in (6.0, 0.0, -6.0):
            room = replace(plain, rt60_sec=rt60_sec, direct_db=direct_db)
            made.append((f"room {rt60_sec:g} s, straight way {direct_db:+g} dB", room))
    for over_db in (-5.0, -10.0, -15.0, -20.0):
        buried = replace(plain, noise="pink", over_noise_db=over_db)
        made.append((f"pink noise, {over_db:+g} dB", buried))
        made.append(
            (f"white, straight way -6 dB, {over_db:+g} dB", replace(buried, noise="white", direct_db=-6))
        )
    for noise in ("talk", "banjo", "hum", "fan", "claps", "whistle"):
        for over_db in (0.0, -10.0):
            over = replace(plain, speaker="phone", direct_db=-3.0, noise=noise, over_noise_db=over_db)
            made.append((f"{noise}, {over_db:+g} dB, phone", over))
    made += [(f"driven {clip_db:g} dB too far", replace(plain, clip_db=clip_db)) for clip_db in (3.0, 10.0)]
    return made


def sweeps(row: Return, seed: int) -> tuple[list[Arrival | None], float]:
    """What is found of five sweeps in one room, and the true delay in seconds."""
    rate = RATES[seed % len(RATES)]
    delay_sec = float(np.random.default_rng(seed).uniform(*_DELAYS_SEC))
    sent = chirp(rate)
    quiet = replace(
        row, noise="white", noise_db=-200.0, over_noise_db=row.over_noise_db + row.noise_db + 200.0
    )
    back = quiet.taken(sent, rate, delay_sec, np.random.default_rng(seed))
    silent = replace(row, over_noise_db=-np.inf)
    noises = [silent.taken(sent, rate, 0.0, np.random.default_rng([seed, number])) for number in range(SENT)]
    return [found(back + noise, sent, rate) for noise in noises], delay_sec


def _show(name: str, row: Return, times: int) -> None:
    alone: list[Arrival | None] = []
    alone_ms: list[float] = []
    together: list[Measured] = []
    together_ms: list[float] = []
    for seed in range(times):
        came, delay_sec = sweeps(row, seed)
        alone += came
        alone_ms += [1e3 * (one.delay_sec - delay_sec) for one in came if one is not None]
        measured = combined(came)
        if measured is not None:
            together.append(measured)
            together_ms.append(1e3 * (measured.delay_sec - delay_sec))
    unsure = np.median([1e3 * one.unsure_sec for one in together]) if together else np.nan
    print(
        f"{name:44s} {100.0 * len(alone_ms) / len(alone):4.0f} %  {_errors(alone_ms)}   "
        f"{len(together):4d} of {times}   {unsure:5.2f}  {np.max(np.abs(together_ms), initial=0.0):6.2f}",
        flush=True,
    )


def _errors(errors_ms: Sequence[float]) -> str:
    if not errors_ms:
        return "     -       -       -         -"
    size = np.abs(errors_ms)
    beyond = int(np.sum(size > _TOLERANCE_MS))
    return (
        f"{np.median(errors_ms):+6.3f}  {np.quantile(size, 0.95):6.3f}  {size.max():6.2f}  "
        f"{beyond:3d} of {len(errors_ms)}"
    )


def _show_none(noise: str, times: int) -> None:
    row = Return(noise=noise, noise_db=-35.0, over_noise_db=-np.inf)
    said, together, most = 0, 0, []
    for seed in range(times):
        rate = RATES[seed % len(RATES)]
        sent = chirp(rate)
        rngs = [np.random.default_rng([seed, number, 1]) for number in range(SENT)]
        taken = [row.taken(sent, rate, 0.0, rng) for rng in rngs]
        most += [highest_db(one, sent, rate) for one in taken]
        came = [found(one, sent, rate) for one in taken]
        said += sum(one is not None for one in came)
        together += combined(came) is not None
    half, late = np.quantile(most, (0.5, 0.99))
    print(
        f"{noise:32s} {half:24.1f} {late:6.1f} {max(most):6.1f}   {said} of {len(most)} "
        f"from {CLEAR_DB:g} dB on; together {together} of {times}",
        flush=True,
    )


def highest_db(taken: np.ndarray, sent: np.ndarray, rate: int) -> float:
    """How far the greatest peak of a recording stands over the noise, whether it is one or not."""
    lags = len(taken) - len(sent) + 1
    power, noise = pressed(taken.astype(np.float64), sent.astype(np.float64), rate, lags)
    return 10.0 * float(np.log10(np.max(power / noise)))
