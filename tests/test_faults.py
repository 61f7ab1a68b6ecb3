"""A part of `tests/faults/run.py`, the table of hostile input and faults; the whole of it takes minutes."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.skipif(sys.platform == "win32", reason="limits, signals and odd files of another kind")
@pytest.mark.parametrize(
    "words",
    [
        ["reading", "--every", "17"],
        ["surroundings", "--every", "9"],
        ["surroundings", "--only", "standard output"],
        ["interrupts", "--only", "Ctrl-C: ", "--moments", "1", "--every", "2"],
        ["interrupts", "--only", "Ctrl-C: roster --collect", "--moments", "1"],
        ["interrupts", "--only", "at a call: new", "--moments", "2"],
        ["together", "--only", "of one", "--moments", "1"],
    ],
    ids=" ".join,
)
def test_each_fault_is_told_and_nothing_is_lost(words):
    """The right exit code, a message that says what to type, 2 s, 200 MB, every file whole; the program says which not."""
    command = [sys.executable, "tests/faults/run.py", "--failed", *words]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 failed" in done.stdout
