"""How PortAudio is loaded, started anew and left: what is said where it is not installed, that a start that
failed is no end, and that leaving neither hangs nor speaks."""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import sys
import threading
from collections.abc import Callable
from types import SimpleNamespace

import pytest

from listener import device
from listener.device import devices, open_stream, renew_library
from listener.devices import Asked
from listener.errors import DeviceTrouble, LibraryMissing
from tests.portaudio import SoundDevice


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> SoundDevice:
    library = SoundDevice()
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    return library


def test_started_anew_the_library_is_ended_first(library: SoundDevice) -> None:
    calls: list[str] = []
    library._terminate = lambda: calls.append("end")  # type: ignore[method-assign]
    library._initialize = lambda: calls.append("start")  # type: ignore[method-assign]
    renew_library()
    assert calls == ["end", "start"]


def test_a_library_that_could_not_be_started_anew_is_started_the_next_time(library: SoundDevice) -> None:
    library.broken = True
    for _ in range(2):
        with pytest.raises(DeviceTrouble) as caught:
            renew_library()
        assert str(caught.value) == "the sound system cannot be started: Error initializing PortAudio"
    library.broken = False
    renew_library()
    assert library.started == 1


class Found(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Has `import sounddevice` find a library, or fail as it does where PortAudio is not installed."""

    def __init__(self, library: SoundDevice | None) -> None:
        self.library, self.loaded = library, 0

    def find_spec(self, name: str, *_: object) -> importlib.machinery.ModuleSpec | None:
        return importlib.machinery.ModuleSpec(name, self) if name == "sounddevice" else None

    def create_module(self, _: object) -> SoundDevice:
        if self.library is None:
            raise OSError("PortAudio library not found")
        self.loaded += 1
        return self.library

    def exec_module(self, _: object) -> None:
        """There is nothing to run."""


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> Callable[[SoundDevice | None], Found]:
    """Has the library be loaded by the next call."""

    def finds(library: SoundDevice | None) -> Found:
        finder = Found(library)
        monkeypatch.setitem(sys.modules, "sounddevice", SoundDevice())  # so that it is put back whatever was
        monkeypatch.delitem(sys.modules, "sounddevice")
        monkeypatch.setattr(sys, "meta_path", [finder, *sys.meta_path])
        return finder

    return finds


@pytest.mark.parametrize("call", [devices, renew_library, lambda: open_stream(Asked())])
def test_without_portaudio_what_to_install_is_said(
    found: Callable[[SoundDevice | None], Found], call: Callable[[], object]
) -> None:
    found(None)
    for _ in range(2):
        with pytest.raises(LibraryMissing, match=r"sudo apt install libportaudio2.*dnf install.*pacman -S"):
            call()


def test_the_library_is_loaded_once_and_its_own_way_out_is_replaced(
    found: Callable[[SoundDevice | None], Found], monkeypatch: pytest.MonkeyPatch
) -> None:
    library = SoundDevice()
    library._exit_handler = object()  # type: ignore[attr-defined]
    ways_out: list[object] = [library._exit_handler]
    register = SimpleNamespace(
        unregister=ways_out.remove, register=lambda way, *given: ways_out.append((way, *given))
    )
    monkeypatch.setattr(device, "atexit", register)
    finder = found(library)
    assert [len(devices()), len(devices())] == [3, 3]
    assert finder.loaded == 1
    assert ways_out == [(device._leave, library)]


def test_leaving_ends_portaudio_and_a_failure_stays_silent(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    failures: list[object] = []
    monkeypatch.setattr(threading, "excepthook", failures.append)
    device._leave(library)
    assert library.started == 0
    device._leave(library)  # refused: there is nothing to end
    assert failures == []


def test_leaving_does_not_wait_for_a_library_that_hangs(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    let_go = threading.Event()
    monkeypatch.setattr(device, "_LEAVING_SEC", 0.01)
    monkeypatch.setattr(library, "_terminate", lambda: let_go.wait(60.0))
    before = set(threading.enumerate())
    device._leave(library)
    hanging = set(threading.enumerate()) - before
    assert [thread.daemon for thread in hanging] == [True]
    let_go.set()
    for thread in hanging:
        thread.join(30.0)


def test_leaving_where_no_thread_starts_any_more_is_silent(
    library: SoundDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: threading.Thread) -> None:
        raise RuntimeError("can't create new thread at interpreter shutdown")

    monkeypatch.setattr(threading.Thread, "start", refuse)
    device._leave(library)
    assert library.started == 1
