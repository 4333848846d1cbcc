"""Lines beside a window: said at once, and where nobody reads them the program goes on and ends well."""

from __future__ import annotations

import subprocess
import sys

import pytest

from feedback.printing import print_line


def test_a_line_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    print_line("all five are in tune")
    assert capsys.readouterr().out == "all five are in tune\n"


def test_where_it_is_closed_nothing_happens(monkeypatch: pytest.MonkeyPatch) -> None:
    with open("/dev/null", "w") as stream:
        pass
    monkeypatch.setattr(sys, "stdout", stream)
    print_line("heard by nobody")
    monkeypatch.setattr(sys, "stdout", None)
    print_line("heard by nobody")


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break in another way")
def test_nobody_reads_any_more_and_it_ends_in_silence() -> None:
    code = "; ".join(
        [
            "import sys, time",
            "from feedback.printing import print_line",
            "print_line('one')",
            "sys.stdin.readline()",
            "print_line('two')",
            "print_line('three')",
            "print('four, which waits to be written until the end')",
            "sys.exit(7)",
        ]
    )
    child = subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert child.stdin
    assert child.stdout
    assert child.stderr
    assert child.stdout.readline() == "one\n"
    child.stdout.close()
    child.stdin.write("\n")
    child.stdin.close()
    assert child.stderr.read() == ""
    assert child.wait(60) == 7
    child.stderr.close()
