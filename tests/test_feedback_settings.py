"""Settings: flag before variable before file before default, and one line where they are wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from feedback.errors import Usage
from feedback.settings import SETTINGS, home, limits, load


def _home(tmp_path: Path, text: str | None = None) -> dict[str, str]:
    if text is not None:
        (tmp_path / "settings.json").write_text(text, encoding="utf-8")
    return {"SEVENFALL_HOME": str(tmp_path)}


def test_every_default_is_accepted_by_its_own_row() -> None:
    for name, row in SETTINGS.items():
        assert row.read(str(row.default)) == row.default, name


def test_precedence(tmp_path: Path) -> None:
    environ = _home(tmp_path)
    assert load([], environ)["spread_limit_ms"] == 25
    _home(tmp_path, json.dumps({"spread_limit_ms": 30, "window": "loose"}))
    assert load([], environ)["spread_limit_ms"] == 30
    environ["SEVENFALL_SPREAD_LIMIT_MS"] = "40"
    assert load([], environ)["spread_limit_ms"] == 40
    values = load(["spread_limit_ms=50", "spread_limit_ms=60"], environ)
    assert values["spread_limit_ms"] == 60
    assert values["window"] == "loose"


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "settings.json").write_text('{"window": "tight"}', encoding="utf-8-sig")
    assert load([], _home(tmp_path))["window"] == "tight"


def test_limits_follow_the_settings(tmp_path: Path) -> None:
    tight = limits(load(["window=tight", "sure=0.5"], _home(tmp_path)))
    assert (tight.window_eighths, tight.window_least_ms, tight.window_most_ms) == (0.15, 14, 27)
    assert tight.sure == 0.5


@pytest.mark.parametrize(
    ("eighth_sec", "window_ms"), [(0.05, 20.0), (0.125, 27.5), (0.5, 40.0), (20 / 220, 20.0)]
)
def test_window_is_a_share_of_an_eighth_between_bounds(
    tmp_path: Path, eighth_sec: float, window_ms: float
) -> None:
    assert limits(load([], _home(tmp_path))).window_sec(eighth_sec) == pytest.approx(window_ms / 1e3)


@pytest.mark.parametrize(
    ("flags", "text", "names"),
    [
        (["window"], None, "NAME=VALUE"),
        (["wndow=loose"], None, "window"),
        (["window=huge"], None, "usual, loose, tight"),
        (["sure=nan"], None, "0 to 1"),
        ([], "{", "settings.json:1"),
        ([], "[]", "one object"),
        ([], "[" * 100_000, "not JSON"),
        ([], '{"sure": ' + "9" * 5000 + "}", "not JSON"),
        ([], '{"colour": 1}', "no setting 'colour'"),
        ([], '{"sure": true}', "accepted: 0 to 1"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    tmp_path: Path, flags: list[str], text: str | None, names: str
) -> None:
    with pytest.raises(Usage) as told:
        load(flags, _home(tmp_path, text))
    assert names in str(told.value)
    assert "\n" not in str(told.value)


def test_home_falls_back_to_the_systems_place() -> None:
    assert home({}).name == "sevenfall"
