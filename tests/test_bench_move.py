"""The table over all moves: what it counts and how it names what was altered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from routines.library import all_licks, load
from routines.moving.answers import Alteration
from routines.moving.move import move
from tests.bench.__main__ import main
from tests.bench.move import KEYS, Row, altered, drawn, kind, remarks, table

SUPPER = load("slab-wood-supper")
IN_A = move(SUPPER, "A")


def test_a_few_licks_go_to_every_key(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["move", "--licks", "1", "--seed", "3", "--processes", "1"]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0] == "1 licks to 12 keys, without a capo"
    assert [line.split()[0] for line in out[2:15]] == [*KEYS, "all"]
    assert out[14].split()[1] == "12"
    assert any("ms each" in line for line in out)


def test_rows_count_what_they_say() -> None:
    slower = replace(IN_A, capo=None, fingering=replace(IN_A.fingering, exact=False, cost=4.0))
    stuck = replace(IN_A, fingering=replace(IN_A.fingering, playable=False, cost=1000.0))
    cost = IN_A.fingering.cost
    lines = list(table({"A": [Row(SUPPER, "A", one) for one in (IN_A, slower, stuck)]}))
    assert lines[1].split() == ["A", "3", "2", "2", "2", "1", "0", f"{(cost + 4.0) / 2:.2f}"]
    far = replace(IN_A, fingering=replace(IN_A.fingering, half_steps=-10))
    assert list(table({"A": [Row(SUPPER, "A", far)]}))[1].split()[6] == "1"
    assert lines[1].split()[1:] == lines[2].split()[1:]


@pytest.mark.parametrize(
    ("one", "name", "words"),
    [
        (Alteration(index=None, before="100", after="90", why="-"), "slower", "top 100 -> 90"),
        (Alteration(index=3, before="E4", after="left out", why="-"), "left out", "note 4 E4 -> left out"),
        (Alteration(index=0, before="E", after="E", why="another octave"), "another octave", "note 1 E -> E"),
        (Alteration(index=0, before="E4", after="G4", why="-"), "another note", "note 1 E4 -> G4"),
        (Alteration(index=0, before="E4", after="E4, picked", why="-"), "picked", "note 1 E4 -> E4, picked"),
    ],
)  # fmt: skip
def test_alterations_are_named(one: Alteration, name: str, words: str) -> None:
    fingering = replace(IN_A.fingering, exact=False, altered=(one,))
    assert kind(fingering) == name
    assert altered(fingering) == [words]
    said = list(remarks([Row(SUPPER, "A", replace(IN_A, fingering=fingering))]))
    assert f"as {name}: 1" in said
    assert f"  slab-wood-supper (G) to A, up a whole step: {words}" in said


def test_an_exact_one_and_a_stuck_one_are_told_apart() -> None:
    stuck = replace(IN_A.fingering, playable=False, troubles=("too far",))
    assert (kind(IN_A.fingering), kind(stuck)) == ("exact", "not playable")
    said = list(remarks([Row(SUPPER, "A", replace(IN_A, fingering=stuck))]))
    assert said[-1] == "  slab-wood-supper (G) to A, up a whole step: too far"


def test_licks_are_drawn_by_the_seed() -> None:
    licks = all_licks()
    assert drawn(licks, None, 0) == list(licks)
    assert drawn(licks, 5, 1) == drawn(licks, 5, 1)
    assert len({lick.id for lick in drawn(licks, 5, 1)}) == 5
    assert drawn(licks, 5, 1) != drawn(licks, 5, 2)


def test_several_processes_find_the_same(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(Path(__file__).parents[1])  # where the others find this module
    told = []
    for processes in ("1", "2"):
        assert main(["move", "--licks", "2", "--seed", "1", "--processes", processes]) == 0
        told.append([line for line in capsys.readouterr().out.splitlines() if "ms each" not in line])
    assert told[0] == told[1]


def test_no_licks_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["move", "--licks", "0"]) == 2
    assert main(["move", "--processes", "0"]) == 2
    assert capsys.readouterr().err.count("1 lick or process or more") == 2
