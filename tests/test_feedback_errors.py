"""Every error is one line and one exit code."""

from __future__ import annotations

import subprocess
import sys

from feedback.errors import CannotDo, Usage, exit_code, one_line
from listener.errors import BadSound, LibraryMissing
from routines.errors import BadLickText, BadRoutine
from tests.in_turn import in_turn


@in_turn(
    ("error", "code"),
    [
        (Usage("x"), 2),
        (BadRoutine("x"), 2),
        (BadLickText("a.lick", 3, 4, "x"), 2),
        (BadSound("x"), 2),
        (CannotDo("x"), 1),
        (LibraryMissing("x"), 1),
        (FileNotFoundError(2, "No such file", "take.wav"), 1),
        (KeyboardInterrupt(), 130),
        (ValueError("a fault of the program"), None),
        (ZeroDivisionError(), None),
    ],
)
def test_exit_codes(error: BaseException, code: int | None) -> None:
    assert exit_code(error) == code


def test_one_line_names_the_file() -> None:
    missing = FileNotFoundError(2, "No such file or directory", "take.wav")
    assert one_line(missing) == "take.wav: no such file or directory"
    assert one_line(BadLickText("a.lick", 3, 4, "no\n  such fret")) == "a.lick:3:4: no such fret"
    assert one_line(BadLickText("a.lick", 0, 0, "no tab")) == "a.lick: no tab"


def test_a_reader_that_leaves_early_is_no_error() -> None:
    code = "import sys; from feedback.__main__ import main; sys.exit(main(['licks']))"
    run = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert run.stdout is not None
    run.stdout.close()
    assert run.wait() == 0
    assert run.stderr is not None
    assert run.stderr.read() == b""
    run.stderr.close()


def test_standard_error_is_kept_for_our_lines_however_often_it_is_asked() -> None:
    code = (
        "import os; from feedback.errors import own_standard_error, tell; "
        "own_standard_error(); own_standard_error(); os.write(2, b'a library'); tell('ours')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == "ours\n"
