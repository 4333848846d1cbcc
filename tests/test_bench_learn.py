"""`python -m tests.bench learn`: what it refuses, what it needs, and what it writes; without PyTorch."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from feedback.errors import CannotDo
from listener.network import LOW_PITCH, PITCHES
from tests.bench import learn
from tests.bench.__main__ import main
from tests.bench.train.gather import Gathered, Part
from tests.bench.train.takes import TrueNote


def _complaint(words: Sequence[str], code: int, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["learn", *words]) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    return told.err


@dataclass(frozen=True, kw_only=True)
class _Recipe:
    seed: int = 0
    epochs: int = 20
    blind: tuple[int, ...] = (3,)


@dataclass(frozen=True)
class _Net:
    """Stands for a network that was learnt; its weights tell its seed."""

    seed: int

    def arrays(self) -> dict[str, np.ndarray]:
        return {"say_bias": np.array([self.seed], np.float32)}


class _Bench:
    """What `learn` calls, put in its place: nothing is drawn, recorded or learnt."""

    def __init__(self) -> None:
        self.built: list[Path] = []
        self.drawn: list[tuple[range, bool, int]] = []
        self.recipes: list[_Recipe] = []
        self.aloud: list[bool] = []

    def build(self, folder: Path) -> None:
        self.built.append(folder)

    def gathered(
        self, seeds: range, *, aside: bool, notes_folder: Path | None, workers: int, looks: Sequence[str]
    ) -> list[Gathered]:
        assert notes_folder == self.built[-1]
        self.drawn.append((seeds, aside, workers))
        note = {"arrive_sec": None, "to_midi": None, "level_db": 0.0, "counts": True}
        parts = tuple(
            Part(
                seed=seed,
                kind="aside" if aside else "plain",
                nps=8.0,
                begin=number,
                end=number + 1,
                onset_sec=np.array([1.0]),
                notes=(TrueNote(onset_sec=1.0, midi=62, how="pick", **note),),  # type: ignore[arg-type]
            )
            for number, seed in enumerate(seeds)
        )
        rows = np.zeros((len(parts), 1), np.uint8)
        return [Gathered(views=rows, facts=rows, labels=rows, parts=parts) for _ in looks]

    def learnt(self, examples: Gathered, recipe: _Recipe, *, say: bool) -> _Net:
        assert [part.seed for part in examples.parts] == list(self.drawn[0][0])
        self.recipes.append(recipe)
        self.aloud.append(say)
        return _Net(recipe.seed)

    def confidences(self, net: _Net, examples: Gathered, blind: tuple[int, ...]) -> np.ndarray:
        assert blind == _Recipe.blind
        sure = np.zeros((len(examples.parts), PITCHES), np.float32)
        sure[:, 62 - LOW_PITCH] = 0.75
        sure[:, 70 - LOW_PITCH] = 0.45 + 0.1 * net.seed  # a stray one
        return sure


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> _Bench:
    made = _Bench()
    torch = SimpleNamespace(__version__="none", cuda=SimpleNamespace(is_available=lambda: False))
    recipes = {"early": _Recipe(epochs=7), "full": _Recipe()}
    learning = SimpleNamespace(RECIPES=recipes, learnt=made.learnt, confidences=made.confidences)
    monkeypatch.setitem(sys.modules, "torch", torch)
    monkeypatch.setitem(sys.modules, "tests.bench.train.learning", learning)
    monkeypatch.setattr(learn, "build", made.build)
    monkeypatch.setattr(learn, "gathered", made.gathered)
    return made


@pytest.mark.parametrize("option", ["--takes", "--near", "--far", "--repeat", "--workers"])
@pytest.mark.parametrize("count", ["0", "-3"])
def test_counts_begin_at_one(
    option: str,
    count: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setitem(sys.modules, "torch", None)
    told = _complaint(["-o", str(tmp_path / "x.npz"), option, count], 2, capsys)
    assert option in told
    assert "1 and more" in told
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words", [[], ["-o"], ["-o", "x.npz", "--takes", "many"], ["-o", "x.npz", "--tales", "3"]]
)
def test_what_cannot_be_read_ends_with_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["learn", *words])
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


def test_without_pytorch_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "torch", None)
    assert "pip install torch" in _complaint(["-o", str(tmp_path / "x.npz")], 1, capsys)
    assert list(tmp_path.iterdir()) == []


def test_where_a_font_is_missing_it_says_so(
    tmp_path: Path, bench: _Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(folder: Path) -> None:
        raise CannotDo("FluidSynth is needed")

    monkeypatch.setattr(learn, "build", missing)
    assert _complaint(["-o", str(tmp_path / "x.npz")], 1, capsys) == "FluidSynth is needed\n"
    assert bench.drawn == []


@pytest.mark.parametrize("words", [["learn", "--help"], ["--help"]])
def test_help_needs_no_pytorch(words: list[str]) -> None:
    code = (
        "import sys; sys.modules['torch'] = None; from tests.bench.__main__ import main; main(sys.argv[1:])"
    )
    root = Path(learn.__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", code, *words], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "learn" in done.stdout
    assert ("--repeat" in done.stdout) == (words[0] == "learn")


def test_it_writes_the_first_training_and_what_it_was_made_of(
    tmp_path: Path, bench: _Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "trial.npz"
    words = ["-o", str(out), "--takes", "5", "--near", "3", "--far", "2", "--workers", "1", "--commit", "abc"]
    assert main(["learn", *words, "--seed", "1", "--repeat", "2", "--epochs", "4"]) == 0
    assert bench.built == [tmp_path / "font-notes"]
    assert bench.drawn == [
        (range(learn.LEARN_SEED, learn.LEARN_SEED + 5), False, 1),
        (range(learn.NEAR_SEED, learn.NEAR_SEED + 3), False, 1),
        (range(learn.FAR_SEED, learn.FAR_SEED + 2), True, 1),
    ]
    assert bench.recipes == [_Recipe(seed=1, epochs=4), _Recipe(seed=2, epochs=4)]
    assert bench.aloud == [True, False]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["trial.json", "trial.npz"]
    with np.load(out, allow_pickle=False) as arrays:
        assert {name: float(np.squeeze(arrays[name])) for name in arrays} == {
            "say_bias": 1.0,  # the first one
            "least_confidence": pytest.approx(0.6),  # its stray note is at 0.55
        }
        assert all(arrays[name].dtype == np.float32 for name in arrays)
    told = json.loads(out.with_suffix(".json").read_text(encoding="utf-8"))
    assert "--takes 5 " in told["made_by"]
    assert "--seed 1" in told["made_by"]
    assert told["commit"] == "abc"
    assert told["takes"] == {"learn": [100_000, 5], "near": [50_000, 3], "far": [60_000, 2]}
    assert (told["notes"], told["strikes"]) == (5, 5)
    assert told["recipe"] == {"seed": 1, "epochs": 4, "blind": [3]}
    assert [(row["seed"], row["least_confidence"]) for row in told["figures"]] == [(1, 0.6), (2, 0.7)]
    right = {"P": 1.0, "R": 1.0, "F": 1.0, "F25": 1.0, "single": 1.0}
    assert all(row[name] == right for row in told["figures"] for name in ("near", "far"))
    assert all(sound["sound"] and sound["licence"] for sound in told["sounds"])
    assert (told["numpy"], told["torch"], told["device"]) == (np.__version__, "none", "cpu")
    printed = capsys.readouterr().out
    assert printed.startswith("5 takes, 5 notes, 5 strikes")
    assert "near plain" in " ".join(printed.split())
    assert "far aside" in " ".join(printed.split())


def test_notes_may_be_kept_elsewhere_and_epochs_left_to_the_recipe(tmp_path: Path, bench: _Bench) -> None:
    words = ["-o", str(tmp_path / "x.npz"), "--takes", "1", "--near", "1", "--far", "1"]
    assert main(["learn", *words, "--notes", str(tmp_path / "kept")]) == 0
    assert bench.built == [tmp_path / "kept"]
    assert bench.recipes == [_Recipe(seed=0, epochs=20)]


def test_takes_that_are_tried_were_not_learnt() -> None:
    parser = argparse.ArgumentParser()
    learn.add_arguments(parser)
    args = parser.parse_args(["-o", "x.npz"])
    learning = range(learn.LEARN_SEED, learn.LEARN_SEED + args.takes)
    assert not set(learning) & set(range(learn.NEAR_SEED, learn.NEAR_SEED + args.near))


def test_each_look_is_learnt_by_its_own_recipe_and_written_under_its_own_name(
    tmp_path: Path, bench: _Bench
) -> None:
    out = tmp_path / "x.npz"
    words = ["--takes", "2", "--near", "1", "--far", "1", "--look", "early", "full"]
    assert main(["learn", "-o", str(out), *words]) == 0
    assert [recipe.epochs for recipe in bench.recipes] == [7, 20]
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "x-early.json", "x-early.npz", "x.json", "x.npz",
    ]  # fmt: skip
    told = json.loads((tmp_path / "x-early.json").read_text(encoding="utf-8"))
    assert told["look"] == "early"
    assert "--look early full" in told["made_by"]
