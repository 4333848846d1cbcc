"""`python -m tests.bench weigh`: what it refuses, what it needs, and what it writes; without PyTorch."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from feedback.errors import CannotDo
from listener.views import LOOKS
from tests.bench import learn, weigh
from tests.bench.__main__ import main
from tests.bench.train.weighing import Rows

TRUSTING = "tests.bench.train.trusting"


def _complaint(words: Sequence[str], code: int, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["weigh", *words]) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    return told.err


class _Bench:
    """What `weigh` calls, put in its place: nothing is drawn, recorded or learnt."""

    def __init__(self) -> None:
        self.built: list[Path] = []
        self.drawn: list[tuple[range, int, int]] = []
        self.seeds: list[int] = []

    def build(self, folder: Path) -> None:
        self.built.append(folder)

    def gathered(
        self, seeds: range, *, notes_folder: Path | None, ways: int, workers: int
    ) -> dict[str, Rows]:
        assert notes_folder == self.built[-1]
        self.drawn.append((seeds, ways, workers))
        begun = np.array([True, False, False])
        return {look: Rows(seen=np.full((3, 2), number), begun=begun) for number, look in enumerate(LOOKS)}

    def trusted(self, rows: Rows, *, seed: int) -> tuple[dict[str, np.ndarray], float]:
        self.seeds.append(seed)
        return {"say_bias": rows.seen[:1, 0].astype(np.float32)}, 0.123456789


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> _Bench:
    made = _Bench()
    monkeypatch.setitem(sys.modules, TRUSTING, SimpleNamespace(trusted=made.trusted))
    monkeypatch.setattr(weigh, "build", made.build)
    monkeypatch.setattr(weigh, "gathered", made.gathered)
    return made


@pytest.mark.parametrize("option", ["--takes", "--ways", "--workers"])
@pytest.mark.parametrize("count", ["0", "-3"])
def test_counts_begin_at_one(
    option: str, count: str, tmp_path: Path, bench: _Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    told = _complaint(["-o", str(tmp_path / "x.npz"), option, count], 2, capsys)
    assert option in told
    assert "1 and more" in told
    assert (bench.built, list(tmp_path.iterdir())) == ([], [])


@pytest.mark.parametrize("words", [[], ["-o", "x.npz", "--takes", "many"], ["-o", "x.npz", "--tales", "3"]])
def test_what_cannot_be_read_ends_with_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["weigh", *words])
    assert caught.value.code == 2
    assert "error: " in capsys.readouterr().err.splitlines()[-1]


@pytest.mark.parametrize("name", ["x.json", "x", "no-such-folder/x.npz"])
def test_an_output_of_another_name_or_nowhere_is_refused(
    name: str, tmp_path: Path, bench: _Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    told = _complaint(["-o", str(tmp_path / name)], 2, capsys)
    assert str(tmp_path / name) in told
    assert ".npz" in told
    assert (bench.built, bench.drawn, list(tmp_path.iterdir())) == ([], [], [])


def test_without_pytorch_it_says_what_to_install_before_anything_is_drawn(
    tmp_path: Path, bench: _Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delitem(sys.modules, TRUSTING)
    monkeypatch.setitem(sys.modules, "torch", None)
    assert "pip install torch" in _complaint(["-o", str(tmp_path / "x.npz")], 1, capsys)
    assert (bench.built, bench.drawn, list(tmp_path.iterdir())) == ([], [], [])


def test_where_a_font_is_missing_it_says_so(
    tmp_path: Path, bench: _Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(folder: Path) -> None:
        raise CannotDo("FluidSynth is needed")

    monkeypatch.setattr(weigh, "build", missing)
    assert _complaint(["-o", str(tmp_path / "x.npz")], 1, capsys) == "FluidSynth is needed\n"
    assert bench.drawn == []


def test_help_needs_no_pytorch(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setitem(sys.modules, "torch", None)
    monkeypatch.setitem(sys.modules, TRUSTING, None)
    with pytest.raises(SystemExit) as caught:
        main(["weigh", "--help"])
    assert caught.value.code == 0
    assert "--ways" in capsys.readouterr().out


def test_it_writes_each_look_s_weigher_under_its_name_and_what_they_were_made_of(
    tmp_path: Path, bench: _Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "trial.npz"
    words = ["--takes", "5", "--ways", "3", "--workers", "1", "--seed", "4", "--commit", "abc"]
    assert main(["weigh", "-o", str(out), *words]) == 0
    assert bench.built == [tmp_path / "font-notes"]
    assert bench.drawn == [(range(weigh.WEIGH_SEED, weigh.WEIGH_SEED + 5), 3, 1)]
    assert bench.seeds == [4, 4, 4]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["trial.json", "trial.npz"]
    with np.load(out, allow_pickle=False) as arrays:
        assert {name: arrays[name].tolist() for name in arrays} == {
            "early_say_bias": [0.0],
            "middle_say_bias": [1.0],
            "full_say_bias": [2.0],
        }
        assert all(arrays[name].dtype == np.float32 for name in arrays)
    told = json.loads(out.with_suffix(".json").read_text(encoding="utf-8"))
    assert told == {
        "made_by": "python -m tests.bench weigh --takes 5 --ways 3 --seed 4",
        "commit": "abc",
        "takes": [weigh.WEIGH_SEED, 5],
        "figures": {look: {"pitches": 3, "begun": 1, "loss": 0.12346} for look in LOOKS},
        "numpy": np.__version__,
    }
    printed = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in printed] == [*LOOKS, "written:"]


def test_notes_may_be_kept_elsewhere(tmp_path: Path, bench: _Bench) -> None:
    words = ["-o", str(tmp_path / "x.npz"), "--takes", "1", "--notes", str(tmp_path / "kept")]
    assert main(["weigh", *words]) == 0
    assert bench.built == [tmp_path / "kept"]


def test_trust_is_not_learnt_from_takes_that_the_networks_learnt_from_or_were_tried_on() -> None:
    told: dict[str, argparse.Namespace] = {}
    for name, module in (("learn", learn), ("weigh", weigh)):
        parser = argparse.ArgumentParser()
        module.add_arguments(parser)
        told[name] = parser.parse_args(["-o", "x.npz"])
    weighed = set(range(weigh.WEIGH_SEED, weigh.WEIGH_SEED + told["weigh"].takes))
    assert told["weigh"].takes >= 1000
    for first, count in (
        (learn.LEARN_SEED, told["learn"].takes),
        (learn.NEAR_SEED, told["learn"].near),
        (learn.FAR_SEED, told["learn"].far),
    ):
        assert not weighed & set(range(first, first + count))
