"""`tune` and `soundcheck` on a screen of their own: what they end with."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from feedback import onscreen
from feedback.__main__ import main
from feedback.screen.staging import House

LINE = "USB Audio: unplugged; given up after 60 s"


@pytest.fixture
def window(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[str], None]:
    """In its place, what a screen leaves with the house."""
    monkeypatch.setenv("SEVENFALL_HOME", str(tmp_path))
    monkeypatch.setattr(onscreen, "wanted", lambda args: True)
    monkeypatch.setattr(onscreen, "prepared", lambda: None)

    def left_with(trouble: str) -> None:
        def show(house: House, *args: Any) -> None:
            house.trouble = trouble

        monkeypatch.setattr(onscreen, "show", show)

    return left_with


@pytest.mark.parametrize("command", ["tune", "soundcheck"])
def test_a_microphone_that_failed_is_told_and_is_no_success(
    command: str, window: Callable[[str], None], capsys: pytest.CaptureFixture[str]
) -> None:
    window(LINE)
    assert main([command]) == 1
    assert capsys.readouterr() == ("", f"{LINE}\n")
    assert main([command, "--screenshot", "a.png"]) == 0
    window("")
    assert main([command]) == 0
    assert capsys.readouterr() == ("", "")
