"""The house itself: what is shipped, who imports whom, what is loaded when, and what CI runs."""

from __future__ import annotations

import ast
import json
import re
import shutil
import subprocess
import sys
import zipfile
from functools import cache
from importlib.metadata import distribution
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = ("listener", "routines", "feedback")
MAY_IMPORT = {"listener": {"listener"}, "routines": {"routines"}, "feedback": set(PACKAGES)}
HEAVY = {"aubio", "sounddevice", "soundfile", "soxr", "pygame", "mido", "scipy", "matplotlib", "numpy"}


def _tracked() -> list[str]:
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("needs a git checkout")
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return listed.stdout.splitlines()


@cache
def _imports(path: Path) -> frozenset[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add((node.module or "").split(".")[0])
    return frozenset(names)


@pytest.mark.parametrize("package", PACKAGES)
def test_imports_go_one_way(package: str) -> None:
    files = list((ROOT / package).rglob("*.py"))
    assert files
    for path in files:
        ours = _imports(path) & {*PACKAGES, "tests"}
        assert ours <= MAY_IMPORT[package], f"{path} imports {ours - MAY_IMPORT[package]}"


def test_hardware_and_screen_are_imported_in_one_place_each() -> None:
    for path in (p for package in PACKAGES for p in (ROOT / package).rglob("*.py")):
        names = _imports(path)
        if "sounddevice" in names:
            assert path == ROOT / "listener" / "device.py"
        if "pygame" in names:
            assert path.is_relative_to(ROOT / "feedback" / "screen")


def test_light_commands_load_nothing_heavy() -> None:
    asked = (
        [],
        ["--help"],
        ["licks"],
        ["licks", "--json"],
        ["chord", "D7", "--json"],
        ["licks", "tally-stick"],
        ["chord", "--key", "G"],
        ["move", "tally-stick", "--to", "E"],
        ["progress"],
        ["journal", "--help"],
        ["warmup", "--help"],
    )
    code = (
        "import sys; from feedback.__main__ import main\n"
        "for words in sys.argv[1:]:\n"
        "    code = main(words.split()); print('\\n#', code, *sys.modules)"
    )
    words = [" ".join(one) for one in asked]
    run = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, check=True)
    after = [line.split()[1:] for line in run.stdout.splitlines() if line.startswith("# ")]
    assert len(after) == len(asked)
    for one, (left, *modules) in zip(asked, after, strict=True):
        loaded = {name.split(".")[0] for name in modules}
        assert (left, loaded & HEAVY) == ("0", set()), one
        assert "feedback" in loaded


def test_the_porch_opens_without_what_listens_and_judges() -> None:
    """Its first frame has a second; the ladder's tempo on it is asked of the journal alone."""
    code = (
        "import sys, time\n"
        "from feedback.screen.marks import Sheet\n"
        "from feedback.screen.screens import entered\n"
        "from feedback.screen.staging import House\n"
        "from feedback.settings import load\n"
        "porch = entered('porch', House(values=load([]), clock=time.monotonic))\n"
        "porch.picture(Sheet(), '')\n"
        "print(*sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(run.stdout.split())
    assert not {name.split(".")[0] for name in loaded} & HEAVY
    assert "feedback.session" not in loaded
    assert "routines.journal.journal" in loaded


def test_wheel_holds_what_git_holds(tmp_path: Path) -> None:
    tracked = [name for name in _tracked() if name.split("/")[0] in PACKAGES]
    for name in [*_tracked()]:
        if (ROOT / name).exists():
            (tmp_path / "src" / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, tmp_path / "src" / name)
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path / "out")]
    done = subprocess.run([*build, str(tmp_path / "src")], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = (tmp_path / "out").glob("*.whl")
    with zipfile.ZipFile(wheel) as held:
        names = [name for name in held.namelist() if ".dist-info/" not in name]
    assert sorted(names) == sorted(name for name in tracked if (ROOT / name).exists())


def test_the_installed_package_is_the_one_under_test() -> None:
    found = distribution("sevenfall").read_text("direct_url.json")
    if found and json.loads(found).get("dir_info", {}).get("editable"):
        pytest.skip("installed in editable mode")
    import feedback

    assert not Path(str(feedback.__file__)).is_relative_to(ROOT / "feedback")


def test_ci_runs_the_command_that_the_readme_gives() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = next(line.strip() for line in readme.splitlines() if "pytest" in line and "pip install" in line)
    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_top_level_is_fixed() -> None:
    kept = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "tests", *PACKAGES}
    top = {name.split("/")[0] for name in _tracked()}
    assert {name for name in top if not name.startswith(".")} <= kept


def test_rooms_are_small() -> None:
    crowded = {
        str(path.relative_to(ROOT)): lines
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 300
    }
    assert not crowded


def test_no_path_of_one_machine_in_the_code() -> None:
    for path in [p for d in (*PACKAGES, "tests") for p in (ROOT / d).rglob("*.py")]:
        assert not re.search(r"[\"']/(?:work|home)/", path.read_text(encoding="utf-8")), path
