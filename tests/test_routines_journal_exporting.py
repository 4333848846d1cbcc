"""Exports of the journal: every pass comes back as it was; what is wrong with a file is told by its place."""

from __future__ import annotations

import csv
import json
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routines.journal import json_stream
from routines.journal.exporting import LostPasses, none_lost, write_export
from routines.journal.exports import ENDINGS, passes_of
from routines.journal.texts import BadJournalFile, marked, unmarked
from tests.passes import ODD_TEXTS, a_pass, odd_passes, told

THREE = [a_pass(1), a_pass(2, player="=Ben", days=1), replace(a_pass(3, days=3), title='Six\n"Spoons", cold')]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exports")
    for ending in ENDINGS:
        write_export(THREE, folder / f"three{ending}", ending)
    return folder


@settings(max_examples=30, deadline=None)
@given(st.lists(odd_passes(), min_size=1, max_size=3))
def test_any_passes_come_back_equal(folder: Path, records: list) -> None:
    for ending in ENDINGS:
        path = folder / f"any{ending}"
        write_export(records, path, ending)
        assert told(list(passes_of(path))) == told(records)


def test_what_was_written_is_counted(folder: Path) -> None:
    for ending in ENDINGS:
        tally = write_export(THREE, folder / f"counted{ending}", ending)
        assert (tally.passes, tally.players) == (3, {"Ann", "=Ben"})
        assert (tally.first_day, tally.last_day) == ("2026-11-29", "2026-12-02")


def test_json_says_what_it_is_and_has_a_pass_on_each_line(folder: Path) -> None:
    lines = (folder / "three.json").read_text(encoding="utf-8").splitlines()
    assert lines[0] == '{"format": "sevenfall-journal", "version": 1, "passes": ['
    assert [json.loads(line.rstrip(","))["id"] for line in lines[1:-1]] == [record.id for record in THREE]
    assert lines[-1] == "]}"
    first = json.loads(lines[1].rstrip(","))
    assert first["outcome"]["notes"][1]["deviation_ms"] == -7.25
    assert first["ended_at"] == "2026-11-29T19:30:25.000250+01:00"


def test_no_cell_begins_like_a_formula_and_each_row_has_every_field(folder: Path) -> None:
    with (folder / "three.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["last"] for row in rows] == ["false", "false", "true"]
    assert rows[0]["moved_ms"] == "'-0.125"
    assert rows[1]["player"] == "'=Ben"
    assert rows[0]["outcome.start_sec"] == ""
    assert rows[0]["outcome.timing.spread_ms"] == "9.0"
    assert json.loads(rows[0]["outcome.notes"])[0]["midi"] == 67
    assert all(cell[:1] not in tuple("=+-@\t\r\n") for row in rows for cell in row.values() if cell)


@given(st.text("'=+-@\t\r\nx", max_size=5) | st.sampled_from(ODD_TEXTS))
def test_a_mark_is_taken_off_again_and_only_a_mark(text: str) -> None:
    assert unmarked(marked(text)) == text
    assert marked(text)[:1] not in tuple("=+-@\t\r\n") or not text
    if marked(text) == text:
        assert unmarked(text) == text


def test_an_export_that_other_tools_laid_out_anew_is_read(folder: Path) -> None:
    tree = json.loads((folder / "three.json").read_text(encoding="utf-8"))
    pretty, one_line, sorted_keys = folder / "pretty.json", folder / "line.json", folder / "sorted.json"
    pretty.write_text(json.dumps(tree, indent=4), encoding="utf-8")
    one_line.write_text(json.dumps(tree, separators=(",", ":")), encoding="utf-8-sig")
    sorted_keys.write_text(
        json.dumps(tree, sort_keys=True, indent="\t").replace("\n", "\r\n"), encoding="utf-8"
    )
    for path in (pretty, one_line, sorted_keys):
        assert told(list(passes_of(path))) == told(THREE)
    rows = list(csv.reader((folder / "three.csv").open(encoding="utf-8", newline="")))
    quoted = folder / "quoted.csv"
    with quoted.open(
        "w", encoding="utf-8-sig", newline=""
    ) as file:  # as spreadsheets write, columns turned round
        csv.writer(file, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows(
            [cell.replace("true", "TRUE") if len(cell) < 6 else cell for cell in row[::-1]] for row in rows
        )
    assert told(list(passes_of(quoted))) == told(THREE)


def test_an_export_cut_anywhere_is_refused(folder: Path) -> None:
    for ending in ENDINGS:
        whole = (folder / f"three{ending}").read_bytes()
        cut = folder / f"cut{ending}"
        ends = len(whole.rstrip())
        edges = {at + more for at, byte in enumerate(whole) if byte in b"\n,}]" for more in (0, 1)}
        places = sorted({*range(0, ends, 97), *list(edges)[::11], *range(ends - 12, ends)})
        for place in places:
            if place >= ends:
                continue
            cut.write_bytes(whole[:place])
            with pytest.raises(BadJournalFile) as caught:
                list(passes_of(cut))
            assert str(caught.value).startswith(str(cut))
            assert "\n" not in str(caught.value)


def _with(change: Callable[[dict], Any]) -> Callable[[dict], Any]:
    return lambda tree: change(tree["passes"][1])


FAULTS: dict[str, Callable[[dict], Any]] = {
    "pass 2, source: 'phone' is none of mic, sim, file": _with(lambda one: one.update(source="phone")),
    "pass 2, id: '' is no text of at least one sign": _with(lambda one: one.update(id="")),
    "pass 2, id: is missing": _with(lambda one: one.pop("id")),
    "pass 2, 'mood': is no field": _with(lambda one: one.update(mood=1)),
    "pass 2, ended_at: '2026-11-29T19:30:00' is no moment with": _with(
        lambda one: one.update(ended_at="2026-11-29T19:30:00")
    ),
    "pass 2, ended_at: '0001-01-01T00:00:00+00:00' is no moment": _with(
        lambda one: one.update(ended_at="0001-01-01T00:00:00+00:00")
    ),
    "pass 2, outcome.timing.spread_ms: 1e+300 is no number from -1e+09 to 1e+09": _with(
        lambda one: one["outcome"]["timing"].update(spread_ms=1e300)
    ),
    "pass 2, heard: 1 is neither true nor false": _with(lambda one: one.update(heard=1)),
    "pass 2, item: 'x' is no object with lick, key, unit": _with(lambda one: one.update(item="x")),
    "pass 2, outcome.tempo_half_bpm: -96 is no number from 1 to 1000": _with(
        lambda one: one["outcome"].update(tempo_half_bpm=-96)
    ),
    "pass 2, outcome.notes[1].verdict: 'landd' is none of landed, early": _with(
        lambda one: one["outcome"]["notes"][1].update(verdict="landd")
    ),
    "pass 2, outcome.notes[0].midi: 67.5 is no whole number from 0": _with(
        lambda one: one["outcome"]["notes"][0].update(midi=67.5)
    ),
    "pass 2, outcome.notes: null is no list": _with(lambda one: one["outcome"].update(notes=None)),
    "pass 2, outcome.timing.tempo_course[1]: a list is no list of 2": _with(
        lambda one: one["outcome"]["timing"]["tempo_course"][1].append(1)
    ),
    "pass 2, moved_ms: a number of more digits": _with(lambda one: one.update(moved_ms=10**400)),
    "pass 2, lasted_sec: true is no number": _with(lambda one: one.update(lasted_sec=True)),
    "... has 251 signs, at most 250": _with(lambda one: one["item"].update(lick="x" * 251)),
    "... has 501 signs, at most 500 are accepted": _with(lambda one: one.update(title="x" * 501)),
    "... has 201 signs, at most 200 are accepted": _with(
        lambda one: one["outcome"]["sevenths"][0].update(chord="x" * 201)
    ),
    "pass 2, player: 'a\\x00b' is no player's name: 1 to": _with(lambda one: one.update(player="a\0b")),
    "pass 2, title: '\\ud800' holds half a sign": _with(lambda one: one.update(title="\ud800")),
    "no export of a journal: format 'judge', not": lambda tree: tree.update(format="judge"),
    "version 2 is newer than this program, which reads 1": lambda tree: tree.update(version=2),
    "version '1' is none": lambda tree: tree.update(version="1"),
    "no export of a journal: 'format' is missing": lambda tree: tree.pop("format"),
    "no whole export of a journal: 'passes' is missing": lambda tree: tree.pop("passes"),
    "'more' is no part; there are format, version, passes": lambda tree: tree.update(more=1),
    "'passes' has to be a list": lambda tree: tree.update(passes={}),
}


@pytest.mark.parametrize("said", FAULTS)
def test_a_fault_in_json_is_told_by_its_place(folder: Path, said: str) -> None:
    tree = json.loads((folder / "three.json").read_text(encoding="utf-8"))
    FAULTS[said](tree)
    path = folder / "fault.json"
    path.write_text(json.dumps(tree, indent=1), encoding="utf-8")
    with pytest.raises(BadJournalFile) as caught:
        list(passes_of(path))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_text_that_is_no_json_is_told_by_its_line(folder: Path) -> None:
    lines = [line.rstrip(",") for line in (folder / "three.json").read_text(encoding="utf-8").splitlines()]
    head = lines[0]
    path = folder / "text.json"
    for text, said in (
        ("", ":1: the file is empty"),
        ("  \n\n", ":3: the file is empty"),
        ("[]", ":1: an object { } was expected"),
        ("dear diary", ":1: an object { } was expected"),
        (f"{head}\n{lines[1]}\n{lines[2]}\n]}}", ":3: pass 1: ',' or ']' was expected"),
        (f"{head}\n{lines[1]},\nNaN]}}", ":3: pass 2: NaN is no number in JSON"),
        (f"{head}\n{lines[1]},\n{{'id': 1}}]}}", ":3: pass 2: expecting property name"),
        (f"{head}\n{'[' * 100_000}", ":2: pass 1: nested too deeply"),
        (f"{head}]}}\nmore", ":2: something follows after the end"),
        (f'{head}], "passes": []}}', ":1: 'passes' is there twice"),
        (f"{head}], version: 1}}", ":1: a name in double quotes was expected"),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(BadJournalFile) as caught:
            list(passes_of(path))
        assert str(caught.value).startswith(f"{path}{said}")
    path.write_bytes((folder / "three.json").read_bytes().replace(b"Wet", b"W\xe9t"))
    with pytest.raises(BadJournalFile, match="no text in UTF-8: byte 0xe9"):
        list(passes_of(path))


def test_a_fault_in_csv_is_told_by_its_line_and_column(folder: Path) -> None:
    whole = (folder / "three.csv").read_bytes().decode()
    path = folder / "fault.csv"
    for old, new, said in (
        ("sim", "phone", ":2: pass 1, source: 'phone' is none of mic, sim, file"),
        ("96.0", "ninety", ":2: pass 1, outcome.tempo_half_bpm: 'ninety' is no number from 1 to 1000"),
        ("'-0.125", "nan", ":2: pass 1, moved_ms: NaN is no number"),
        ('"[{""index"":0', '"[{""index"":x', ':2: pass 1, outcome.notes: \'[{"index":x'),
        (
            '""verdict"":""landed""',
            '""verdict"":""x""',
            ":2: pass 1, outcome.notes[0].verdict: 'x' is none of",
        ),
        ("sevenfall-journal,1", "judge,1", ":2: no export of a journal: format 'judge'"),
        ("sevenfall-journal,1", "sevenfall-journal,2", ":2: version 2 is newer"),
        ("sevenfall-journal,1", "sevenfall-journal,", ":2: version '' is none"),
        ("outcome.clean", "clean", ":1: no whole export of a journal: column 'outcome.clean' is missing"),
        ("\r\n", ",more\r\n", ":1: column 'more' is no field of a pass"),
        ("id,", "id,id,", ":1: no whole export of a journal: column 'id' is there twice"),
        ("false\r\n", "false,1\r\n", ":2: pass 1 has 35 cells, not 34"),
        ("false\r\n", "perhaps\r\n", ":2: pass 1, last: 'perhaps' is neither"),
        ("true\r\n", "false\r\n", ":4: cut short: no row says true in its column 'last'"),
        ('"Six', '"Six"s', ":4: no CSV as it should be"),
    ):
        assert old in whole
        path.write_bytes(whole.replace(old, new, 1 if old != "true\r\n" else -1).encode())
        with pytest.raises(BadJournalFile) as caught:
            list(passes_of(path))
        assert str(caught.value).startswith(f"{path}{said}"), str(caught.value)
    path.write_bytes(b"")
    with pytest.raises(BadJournalFile, match="the file is empty"):
        list(passes_of(path))


def test_json_is_the_same_in_pieces_of_any_size(monkeypatch: pytest.MonkeyPatch) -> None:
    text = '{ "a": 1234567, "b": "x\\u00e9y", "long": [12, -3.25e2, {"c": [true]}, null] , "d": {}}\n'
    told_of = []
    for size in range(1, len(text) + 2):
        monkeypatch.setattr(json_stream, "_CHUNK", size)
        told_of.append(
            [(one.key, one.value, one.number) for one in json_stream.pieces(StringIO(text), "long")]
        )
    assert told_of == [told_of[0]] * (len(text) + 1)
    assert [value for _, value, _ in told_of[0]] == [
        1234567,
        "xéy",
        None,
        12,
        -325.0,
        {"c": [True]},
        None,
        {},
    ]
    assert [number for *_, number in told_of[0]] == [0, 0, 0, 1, 2, 3, 4, 0]


def test_what_never_ends_is_not_read_to_the_end(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(json_stream, "_CHUNK", 100)
    monkeypatch.setattr(json_stream, "_LONGEST", 5000)
    assert list(passes_of(folder / "three.json")) == THREE
    path = folder / "endless.json"
    head = (folder / "three.json").read_text(encoding="utf-8").splitlines()[0]
    path.write_text(f'{head}\n"{"x" * 20_000}', encoding="utf-8")
    with pytest.raises(BadJournalFile, match=":2: pass 1: longer than any pass"):
        list(passes_of(path))


def test_passes_become_another_players(folder: Path) -> None:
    got = list(passes_of(folder / "three.csv", "Cy"))
    assert got == [replace(record, player="Cy") for record in THREE]


def test_nothing_that_is_there_gets_lost_unseen() -> None:
    assert list(none_lost(THREE, {THREE[2].id})) == THREE
    with pytest.raises(LostPasses) as caught:
        list(none_lost(THREE, {THREE[0].id, "another", "a third"}))
    assert caught.value.args == (2,)


def test_a_long_export_is_written_and_read_in_little_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(json_stream, "_CHUNK", 1 << 12)
    for ending in ENDINGS:
        path = tmp_path / f"long{ending}"
        tracemalloc.start()
        write_export((a_pass(number) for number in range(250)), path, ending)
        assert sum(1 for _ in passes_of(path)) == 250
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert most < path.stat().st_size
