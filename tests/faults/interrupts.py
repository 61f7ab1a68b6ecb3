"""Ctrl-C at many moments of every command that writes: it ends at once, says so, and leaves whole files alone.

As a terminal does it, the signal goes to the whole group of processes. Moments are spread over the length of an
undisturbed run, some before the program's first line; where Python itself is still starting up, and prints what it
likes, only files and orphans are looked at.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults import sandbox
from tests.faults.processes import READINESS, ROOT, environment, left_running, run
from tests.faults.sandbox import ALL, DAY, Call
from tests.faults.surroundings import copied
from tests.faults.verdict import Row, row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.faults.choice import Choice

INTERRUPTED = 130
# A line of a traceback that is ours: not one of the two files that Python imports before the first call.
_OURS = re.compile(rf'File "{re.escape(str(ROOT / "readiness"))}/(?!__(?:main|init)__\.py", line \d+, in <module>)')
_WRITERS = {name: call for name, call in ALL.items() if call.writes} | {
    "roster, 2 jobs": Call((*ALL["roster"].words[:-1], "2"), ALL["roster"].writes)
}


def rows(choice: Choice) -> Iterator[Row]:
    """Each writing command, interrupted at so many moments; one row for each moment that went wrong, or one for all."""
    chance = random.Random(7)
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        for name, call in _WRITERS.items():
            if choice.only in f"Ctrl-C: {name}":
                yield from _of(good, name, call, choice.moments, chance)
        if choice.only in "two at once":
            yield from _two_at_once(good)


def _of(good: Path, name: str, call: Call, moments: int, chance: random.Random) -> Iterator[Row]:
    with copied(good) as folder:
        began = time.monotonic()
        run((*call.words, *DAY), folder)
        length = time.monotonic() - began
    found = [_at(good, name, call, (index + chance.random()) / moments * length) for index in range(moments)]
    interrupted = sum(one.ran.code == INTERRUPTED for one in found)
    wrong = [one for one in found if one.wrong]
    yield from wrong
    if not wrong:
        yield found[-1]._replace(fault=f"Ctrl-C at {moments} moments, {interrupted} of them in time")


def _at(good: Path, name: str, call: Call, moment: float) -> Row:
    with copied(good) as folder:
        before = sandbox.state(folder)
        groups: list[int] = []

        def interrupt(process: subprocess.Popen[bytes]) -> None:
            groups.append(process.pid)
            time.sleep(moment)
            os.killpg(process.pid, signal.SIGINT)  # one that has ended is there until it is waited for

        ran = run((*call.words, *DAY), folder, act=interrupt)
        err = ran.err.decode("utf-8", "replace")
        starting = ("Traceback" in err or ran.code in (-signal.SIGINT, 1)) and not _OURS.search(err)
        codes = {0, 1, INTERRUPTED} | ({-signal.SIGINT} if starting else set())
        files = sandbox.wrong_files(folder, before, call, done=True)
        orphans = [f"process {number} was left running" for number in _orphans(groups[0])]
        found = row(f"Ctrl-C after {moment:.3f} s", name, ran, codes, (*files, *orphans))
        if starting:
            return found._replace(wrong=tuple(wrong for wrong in found.wrong if "traceback" not in wrong))
        return found


def _orphans(group: int) -> list[str]:
    """What still runs of a group a second after its leader has ended."""
    until = time.monotonic() + 1.0
    while (left := left_running(group)) and time.monotonic() < until:
        time.sleep(0.02)
    return left


def _two_at_once(good: Path) -> Iterator[Row]:
    """Eight `log` commands on one file lose no line; a second `roster` into a folder is refused, a killed one no lock."""
    with copied(good) as folder:
        words = (*sandbox.OF_A_TRIP["log"].words, *DAY)
        eight = [_start(words, folder) for _ in range(8)]
        ends = [process.wait(60) for process in eight]
        lines = (folder / "trip.log.jsonl").read_bytes().count(b"\n")
        ran = run(("log", "trip.yaml", "--list", *DAY), folder)
        wrong = [] if (lines, set(ends)) == (9, {0}) else [f"{lines} lines of 9; exit codes {ends}"]
        yield row("eight at once", "log", ran, {0}, wrong)
    with copied(good) as folder:
        words = (*ALL["roster"].words, *DAY)
        first = _start(words, folder)
        while not (folder / "out" / "envelopes" / "journal.jsonl").exists() and first.poll() is None:
            time.sleep(0.002)
        first.send_signal(signal.SIGSTOP)
        before = sandbox.state(folder)
        ran = run(words, folder)
        yield row("a second at the same folder", "roster", ran, {2},
                  sandbox.wrong_files(folder, before, ALL["roster"]._replace(writes=()), done=False))  # fmt: skip
        first.kill()
        first.wait(60)
        yield row("after the first was killed", "roster", run(words, folder), {0, 1})


def _start(words: tuple[str, ...], folder: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen([READINESS, *words], cwd=folder, env=environment(), stdin=subprocess.DEVNULL,
                            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
