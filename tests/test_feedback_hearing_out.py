"""A lick heard beside the window: begun and ended without waiting, and its trouble in one line."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import numpy as np
import pytest

from feedback import hearing_out
from feedback.hearing_out import ENDING, OVER, SOUNDING, STARTING, HearingOut
from feedback.modelling import model
from feedback.setting_rows import SETTINGS
from listener.device import MISSING
from listener.errors import LibraryMissing
from routines.library import load

RATE = 8_000
SUPPER = load("slab-wood-supper")
VALUES = {name: row.default for name, row in SETTINGS.items()}
SOON_SEC = 10.0


class Output:
    """Stands for `listener.speaking.Speaker`: its time goes on by itself, as fast as it is asked."""

    def __init__(self, *, wrong: Exception | None = None, stands: bool = False, hung: bool = False) -> None:
        self._wrong, self._stands, self.hung = wrong, stands, hung
        self._sec = 0.0
        self.let = threading.Event()
        self.let.set()
        self.rate = RATE
        self.laid: list[tuple[np.ndarray, float]] = []
        self.calls: list[str] = []

    def start(self) -> None:
        self.calls.append("start")
        self.let.wait(SOON_SEC)
        if self._wrong is not None:
            raise self._wrong

    def stop(self) -> None:
        self.calls.append("stop")

    @property
    def now_sec(self) -> float:
        if not self._stands:
            self._sec += 0.5
        return self._sec

    def play(self, sound: np.ndarray, at_sec: float) -> None:
        self.laid.append((sound, at_sec))


def heard(output: Output, made: Callable[[int], np.ndarray] | None = None) -> HearingOut:
    return HearingOut(
        SUPPER,
        80.0,
        VALUES,
        "7",
        opened=lambda device, values: output,
        made=made or (lambda rate: np.ones(rate, np.float32)),
    )


@pytest.fixture(autouse=True)
def _nothing_left_behind() -> Iterator[None]:
    yield
    end = time.monotonic() + SOON_SEC
    while any(thread.name == "hearing" for thread in threading.enumerate()):
        assert time.monotonic() < end, "the thread goes on"
        time.sleep(0.005)


def until(hearing: HearingOut, *states: str) -> str:
    end = time.monotonic() + SOON_SEC
    while hearing.state not in states:
        assert time.monotonic() < end, hearing.state
        time.sleep(0.002)
    return hearing.state


def test_it_is_played_to_its_end_and_given_back() -> None:
    output = Output()
    hearing = heard(output)
    assert hearing.state == STARTING
    hearing.start()
    until(hearing, OVER)
    assert not hearing.goes_on
    assert output.calls == ["start", "stop"]
    assert [len(sound) for sound, _ in output.laid] == [RATE]


def test_stop_ends_it_while_it_sounds_without_waiting_for_its_end() -> None:
    output = Output(stands=True)  # it would sound for ever
    hearing = heard(output)
    hearing.start()
    until(hearing, SOUNDING)
    hearing.stop()
    assert hearing.state in (ENDING, OVER)
    until(hearing, OVER)
    assert output.calls == ["start", "stop"]


def test_stop_does_not_wait_for_an_output_that_does_not_open() -> None:
    output = Output()
    output.let.clear()
    hearing = heard(output)
    hearing.start()
    hearing.stop()
    assert hearing.state == ENDING
    assert hearing.goes_on
    assert hearing.ended(0.01) is False  # so the program must not wait for it either
    output.let.set()
    until(hearing, OVER)
    assert output.laid == []  # what was stopped before it began is not heard
    assert hearing.ended(SOON_SEC) is True


def test_what_hangs_in_the_library_is_told() -> None:
    hearing = heard(Output(hung=True))
    hearing.start()
    until(hearing, OVER)
    assert hearing.hung
    assert hearing.ended(SOON_SEC) is False


def test_without_the_library_one_line_says_what_to_install() -> None:
    output = Output(wrong=LibraryMissing(MISSING))
    hearing = heard(output)
    hearing.start()
    assert until(hearing, MISSING) == MISSING
    assert not hearing.goes_on
    assert output.calls == ["start", "stop"]
    hearing.stop()
    assert hearing.state == MISSING  # what went wrong stays to be read


def test_a_fault_of_the_program_is_a_line_and_is_logged(caplog: pytest.LogCaptureFixture) -> None:
    def broken(rate: int) -> np.ndarray:
        raise ZeroDivisionError

    hearing = heard(Output(), broken)
    hearing.start()
    until(hearing, "ZeroDivisionError")
    assert "hearing a lick" in caplog.text


def test_what_sounds_is_the_model_twice_with_a_bar_between(monkeypatch: pytest.MonkeyPatch) -> None:
    output = Output()
    asked: list[tuple[object, object]] = []

    def opened(device: object, values: object) -> Output:
        asked.append((device, values))
        return output

    monkeypatch.setattr(hearing_out, "_speaker", opened)
    hearing = HearingOut(SUPPER, 80.0, VALUES | {"model_db": -30.0}, "7")
    hearing.start()
    until(hearing, OVER)
    assert asked[0][0] == "7"
    expected = model(SUPPER, tempo_half_bpm=80.0, rate=RATE, rounds=2, rest_bars=1, level_db=-30.0)
    np.testing.assert_array_equal(output.laid[0][0], expected)


def test_settings_that_are_changed_later_do_not_reach_it() -> None:
    values = dict(VALUES)
    seen: list[float] = []

    def opened(device: object, given: dict[str, str | float]) -> Output:
        seen.append(float(given["model_db"]))
        return Output()

    hearing = HearingOut(SUPPER, 80.0, values, opened=opened, made=lambda rate: np.zeros(10, np.float32))
    values["model_db"] = -6.0
    hearing.start()
    until(hearing, OVER)
    assert seen == [VALUES["model_db"]]
