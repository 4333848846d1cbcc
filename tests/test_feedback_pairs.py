"""What sound checks found: kept for each pair, never in the way of playing, never at the cost of another."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from feedback import pairs
from feedback.errors import CannotDo
from feedback.pairs import MOST, VERSION, PairCheck, find, last_pair, load, path, save
from tests.in_turn import in_turn

CHECK = PairCheck(
    source="Inbuilt microphone",
    sink="Lautsprecher – groß",
    rate=48000,
    block=256,
    latency="low",
    extra_sec=0.0071,
    trip_sec=0.0412,
    unsure_sec=0.0003,
    how="chirp",
    checked="2031-05-06",
    noise_db=-58.5,
    bleed_db=-21.0,
)


@pytest.fixture
def environ(tmp_path: Path) -> dict[str, str]:
    pairs._tell_once.cache_clear()
    return {"SEVENFALL_HOME": str(tmp_path / "home")}


def written(environ: dict[str, str], text: str | bytes) -> Path:
    file = path(environ)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_without_a_file_nothing_is_known_and_nothing_told(environ, capsys):
    assert (load(environ), last_pair(environ)) == ({}, None)
    assert find("a", "b", 48000, 256, "low", environ) is None
    assert capsys.readouterr().err == ""
    assert not path(environ).parent.exists()


@pytest.mark.parametrize(
    "check",
    [
        CHECK,
        replace(CHECK, latency=0.05, extra_sec=None, bleed_db=None, how="played", unsure_sec=0.027),
        replace(CHECK, how="stamps", trip_sec=None, extra_sec=None, noise_db=None),
        replace(CHECK, extra_sec=-0.001, checked="2031-05-06T07:08:09+02:00"),
    ],
)
def test_what_is_kept_is_found_again(check: PairCheck, environ):
    assert save(check, environ) == path(environ)
    assert find(check.source, check.sink, check.rate, check.block, check.latency, environ) == check
    assert load(environ) == {check.key: check}


@pytest.mark.parametrize(
    "other",
    [{"source": "x"}, {"sink": "x"}, {"rate": 44100}, {"block": 128}, {"latency": "high"}, {"latency": 0.01}],
)
def test_what_was_opened_otherwise_is_another_pair(other, environ):
    save(CHECK, environ)
    another = replace(CHECK, trip_sec=0.5, **other)
    assert find(*another.key, environ) is None
    save(another, environ)
    assert (find(*CHECK.key, environ), find(*another.key, environ)) == (CHECK, another)


def test_a_pair_checked_anew_replaces_itself_alone_and_is_the_last(environ):
    second = replace(CHECK, source="Interface")
    save(CHECK, environ)
    save(second, environ)
    assert last_pair(environ) == ("Interface", CHECK.sink)
    anew = replace(CHECK, trip_sec=0.039)
    save(anew, environ)
    assert list(load(environ).values()) == [second, anew]
    assert len(json.loads(path(environ).read_text())["pairs"]) == 2
    assert last_pair(environ) == (CHECK.source, CHECK.sink)


def test_of_too_many_the_oldest_go(environ):
    for number in range(MOST + 3):
        save(replace(CHECK, source=f"m{number}"), environ)
    assert [check.source for check in load(environ).values()] == [f"m{n}" for n in range(3, MOST + 3)]


DAMAGED = {
    "no text": b"\xff\xfe\x00",
    "half": '{"version": 1, "pairs": [',
    "deep": "[" * 100_000,
    "a list": "[]",
    "no version": '{"pairs": []}',
    "no list": '{"version": 1, "pairs": {}}',
    "empty": "",
}


@pytest.mark.parametrize("kind", DAMAGED)
def test_a_damaged_file_is_told_once_and_put_aside_when_something_is_kept(kind: str, environ, capsys):
    file = written(environ, DAMAGED[kind])
    before = file.read_bytes()
    assert (load(environ), last_pair(environ)) == ({}, None)
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert told.startswith(f"{file}: ")
    assert file.read_bytes() == before
    save(CHECK, environ)
    assert load(environ) == {CHECK.key: CHECK}
    aside = file.with_name("sound.damaged.json")
    assert aside.read_bytes() == before
    file.write_text("again")
    save(CHECK, environ)
    assert (aside.read_bytes(), file.with_name("sound.damaged2.json").read_text()) == (before, "again")


def test_a_later_version_s_file_is_left_as_it_is(environ, capsys):
    file = written(environ, json.dumps({"version": VERSION + 1, "pairs": "otherwise"}))
    before = file.read_bytes()
    assert load(environ) == {}
    assert f"of version {VERSION + 1}" in capsys.readouterr().err
    with pytest.raises(CannotDo, match=f"up to {VERSION} is understood"):
        save(CHECK, environ)
    assert file.read_bytes() == before


def test_an_entry_that_is_not_understood_is_left_out_told_and_stays(environ, capsys):
    save(CHECK, environ)
    found = json.loads(path(environ).read_text())
    odd = [{"source": "x"}, 7, {**found["pairs"][0], "source": "y", "trip_sec": "soon"}]
    written(environ, json.dumps({**found, "more": 5, "pairs": odd + found["pairs"]}))
    assert load(environ) == {CHECK.key: CHECK}
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 3
    assert "pair 1 is left out: no sink" in told[0]
    assert "pair 3 is left out: trip_sec is 'soon'; accepted: 0 to 3" in told[2]
    second = replace(CHECK, source="Interface")
    save(second, environ)
    kept = json.loads(path(environ).read_text())
    assert kept["more"] == 5
    assert kept["pairs"][:3] == odd
    assert load(environ) == {CHECK.key: CHECK, second.key: second}


def test_a_file_that_cannot_be_read_does_not_stop_playing(environ, capsys):
    path(environ).mkdir(parents=True)
    assert load(environ) == {}
    assert capsys.readouterr().err.startswith(f"{path(environ)}: ")
    with pytest.raises(OSError, match="irectory"):
        save(CHECK, environ)


@in_turn(
    ("name", "value"),
    [
        ("source", ""),
        ("sink", None),
        ("rate", 0),
        ("rate", 48000.0),
        ("block", True),
        ("latency", "soon"),
        ("latency", -0.1),
        ("extra_sec", float("nan")),
        ("trip_sec", -0.001),
        ("trip_sec", True),
        ("unsure_sec", None),
        ("how", "guess"),
        ("checked", "yesterday"),
        ("checked", 20310506),
        ("noise_db", float("inf")),
        ("bleed_db", "loud"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(name: str, value):
    with pytest.raises(ValueError, match=f"^{name} is "):
        replace(CHECK, **{name: value})
