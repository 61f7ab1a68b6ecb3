"""What a command that was stopped has to leave: logs with all or none of the new records, and a command that goes on."""

from __future__ import annotations

import re
import time
from typing import TYPE_CHECKING, NamedTuple

from tests.faults import sandbox
from tests.faults.processes import run
from tests.faults.sandbox import DAY

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.faults.sandbox import Call

_LOG = ".log.jsonl"


class Undisturbed(NamedTuple):
    """A run that nothing stopped: what its logs held before and after, all files after it, and its seconds."""

    before: dict[str, bytes]
    after: dict[str, bytes]
    files: dict[str, str]
    seconds: float


def undisturbed(folder: Path, call: Call) -> Undisturbed:
    """Run a command in a folder to its end."""
    before, began = _logs(folder, call), time.monotonic()
    ran = run((*call.words, *DAY), folder, stdin=call.stdin)
    seconds = time.monotonic() - began
    assert ran.code in (0, 1), ran.err
    return Undisturbed(before, _logs(folder, call), sandbox.state(folder), seconds)


def wrong_after(folder: Path, call: Call, whole: Undisturbed) -> list[str]:
    """What is not as it should be in the folder of a command that was stopped; the command is run again there."""
    return [*_wrong_logs(folder, call, whole), *_wrong_again(folder, call, whole)]


def _logs(folder: Path, call: Call) -> dict[str, bytes]:
    """Each log that a command may write; empty where there is none yet."""
    paths = [folder / name for name in call.writes if name.endswith(_LOG)]
    return {str(path.relative_to(folder)): path.read_bytes() if path.exists() else b"" for path in paths}


def _wrong_logs(folder: Path, call: Call, whole: Undisturbed) -> Iterator[str]:
    for name, data in _logs(folder, call).items():
        old, new = whole.before[name], whole.after[name]
        added = data.removeprefix(old).count(b"\n")
        if not data.startswith(old) or not (data == old or added == new.removeprefix(old).count(b"\n")):
            yield f"{name} has {added} new lines, or lost some"
        trip = name.replace(_LOG, ".yaml")
        listed = None if name.startswith("camp/") else run(("log", trip, "--list", *DAY), folder)
        if listed and (listed.code or listed.err):
            yield f"{name} is not read: {listed.first}"


def _wrong_again(folder: Path, call: Call, whole: Undisturbed) -> Iterator[str]:
    """Typed once more, it ends with the files of an undisturbed run, or says that they are there."""
    if call.words[0] == "log" and "--import" not in call.words:
        return  # typed once more it is one set more
    ran = run((*call.words, *DAY), folder, stdin=call.stdin)
    there = ran.code == 2 and b"error[exists]" in ran.err
    if ran.code not in (0, 1) and not there:
        yield f"typed again: exit code {ran.code}: {ran.first}"
    now = sandbox.state(folder)
    for name in sorted(now.keys() | whole.files.keys()):
        if not _same(folder, name, now, whole):
            yield f"typed again: {name} is not as after an undisturbed run"


def _same(folder: Path, name: str, now: dict[str, str], whole: Undisturbed) -> bool:
    if name.endswith(_LOG) and name in whole.after:
        data = (folder / name).read_bytes() if name in now else b""
        return sorted(data.splitlines()) == sorted(whole.after[name].splitlines())
    if name.endswith(".part") or not re.search(r"\.(?:ics|pdf)$", name):
        return now.get(name) == whole.files.get(name)
    return name in now and name in whole.files
