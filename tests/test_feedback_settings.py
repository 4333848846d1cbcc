"""Settings: flag before variable before file before default, and one line where they are wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedback.errors import Usage
from feedback.setting_kinds import as_text
from feedback.settings import SETTINGS, home, limits, load, store


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
        (["pedal_next=Enter"], None, "page up, page down"),
        (["pedal_choose=b"], None, "f1 to f12 but f11"),
        (["pedal_choose=F11"], None, "f1 to f12 but f11"),
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


def test_what_is_stored_is_read_again_and_all_else_stays(tmp_path: Path) -> None:
    environ = _home(tmp_path, json.dumps({"window": "loose", "of_tomorrow": [1, 2]}))
    store({"click_db": "-30", "block": "512", "look": "night"}, environ)
    kept = json.loads((tmp_path / "settings.json").read_text(encoding="utf-8"))
    assert kept == {
        "window": "loose",
        "of_tomorrow": [1, 2],
        "click_db": -30.0,
        "block": 512,
        "look": "night",
    }
    assert [path.name for path in tmp_path.iterdir()] == ["settings.json"]


def test_the_first_thing_stored_makes_the_folder(tmp_path: Path) -> None:
    environ = {"SEVENFALL_HOME": str(tmp_path / "deep" / "down")}
    store({"window": "tight", "pedal_next": "Page  Down"}, environ)
    values = load([], environ)
    assert (values["window"], values["pedal_next"]) == ("tight", "page down")


def test_every_default_can_be_stored_and_loaded(tmp_path: Path) -> None:
    environ = _home(tmp_path)
    store({name: as_text(row.default) for name, row in SETTINGS.items()}, environ)
    assert load([], environ) == {name: row.default for name, row in SETTINGS.items()}


@pytest.mark.parametrize("text", ["{", "[]", '{"sure": true}', '{"window": "huge"}', "[" * 100_000])
def test_a_broken_file_is_left_alone_and_told_as_when_it_is_loaded(tmp_path: Path, text: str) -> None:
    environ = _home(tmp_path, text)
    with pytest.raises(Usage) as at_load:
        load([], environ)
    with pytest.raises(Usage) as at_store:
        store({"look": "night"}, environ)
    assert str(at_store.value) == str(at_load.value)
    assert (tmp_path / "settings.json").read_text(encoding="utf-8") == text


@pytest.mark.parametrize(("name", "text"), [("look", "neon"), ("colour", "red"), ("click_db", "nan")])
def test_what_is_not_accepted_is_not_stored(tmp_path: Path, name: str, text: str) -> None:
    environ = _home(tmp_path, '{"window": "loose"}')
    with pytest.raises(Usage):
        store({"rest_sec": "5", name: text}, environ)
    assert (tmp_path / "settings.json").read_text(encoding="utf-8") == '{"window": "loose"}'


def test_where_it_cannot_be_written_the_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "settings.json").mkdir()
    with pytest.raises(OSError, match="settings"):
        store({"look": "night"}, _home(tmp_path))
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(OSError, match="file"):
        store({"look": "night"}, {"SEVENFALL_HOME": str(tmp_path / "file" / "deep")})


@given(st.sampled_from(sorted(SETTINGS)), st.lists(st.sampled_from([-1, 1]), max_size=60))
def test_every_step_leads_to_an_accepted_value(name: str, steps: list[int]) -> None:
    row = SETTINGS[name]
    value = row.default
    for by in steps:
        value = row.next_to(value, by)
        assert row.read(as_text(value)) == value


def test_choices_go_round_numbers_end_and_what_has_both_begins_with_its_choice() -> None:
    look, click, trip, rate = (SETTINGS[name] for name in ("look", "click_db", "round_trip_ms", "rate"))
    assert [look.next_to("paper", 1), look.next_to("night", 1), look.next_to("paper", -1)] == [
        "night",
        "paper",
        "night",
    ]
    assert [click.next_to(-24.0, 1), click.next_to(-7.0, 1), click.next_to(-6.0, 1)] == [-22.0, -6.0, -6.0]
    assert [click.next_to(-24.0, -1), click.next_to(-60.0, -1)] == [-26.0, -60.0]
    assert [trip.next_to("unknown", 1), trip.next_to("unknown", -1)] == [1.0, "unknown"]
    assert [trip.next_to(1.0, -1), trip.next_to(1.5, -1), trip.next_to(1000.0, 1)] == ["unknown", 1.0, 1000.0]
    assert [rate.next_to("device", 1), rate.next_to(44100, 1), rate.next_to(48000, 1)] == [
        44100,
        48000,
        "device",
    ]
    assert SETTINGS["latency"].next_to(0.05, 1) == "low"  # none of the choices: their first one
    assert SETTINGS["pedal_next"].next_to("home", 1) == "home"


def test_every_choice_is_accepted_and_every_stepped_row_has_its_range() -> None:
    for name, row in SETTINGS.items():
        assert all(as_text(row.read(choice)) == choice for choice in row.choices), name
        if row.step is not None:
            assert row.least is not None, name
            assert row.most is not None, name
            assert row.read(as_text(row.least)) == row.least, name
            assert row.read(as_text(row.most)) == row.most, name


def test_settings_load_no_numpy() -> None:
    code = (
        "import sys, feedback.settings; print(sorted({'numpy', 'pygame', 'platformdirs'} & set(sys.modules)))"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
