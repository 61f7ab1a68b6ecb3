"""A signal at many moments of every command that writes: it ends at once, says so, and leaves whole files alone.

Ctrl-C as a terminal does it: the signal goes to the whole group of processes, at moments spread over the length of an
undisturbed run, some before the program's first line; where Python itself is still starting up, and prints what it
likes, only files and orphans are looked at. Then Ctrl-C, an end by `kill` and a closed terminal at single calls to the
system, from the first file on that is written. After each, the command is typed again and has to go on.
"""

from __future__ import annotations

import os
import random
import re
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.faults import at_call, evening, sandbox
from tests.faults.kept import undisturbed, wrong_after
from tests.faults.processes import ROOT, left_running, run
from tests.faults.sandbox import ALL, DAY, Call
from tests.faults.surroundings import copied
from tests.faults.verdict import Row, row

if TYPE_CHECKING:
    import subprocess
    from collections.abc import Iterator

    from tests.faults.choice import Choice
    from tests.faults.kept import Undisturbed

INTERRUPTED = 130
# A line of a traceback that is ours: not one of the two files that Python imports before the first call.
_OURS = re.compile(rf'File "{re.escape(str(ROOT / "readiness"))}/(?!__(?:main|init)__\.py", line \d+, in <module>)')
_OF_SEVERAL = "roster, 2 jobs"
_WRITERS = {name: call for name, call in ALL.items() if call.writes} | evening.CALLS | {
    _OF_SEVERAL: Call((*ALL["roster"].words[:-1], "2"), ALL["roster"].writes)
}  # fmt: skip
_SIGNALS = {"Ctrl-C": signal.SIGINT, "kill": signal.SIGTERM, "closed terminal": signal.SIGHUP}


class _Stop(NamedTuple):
    """A command that is to be stopped: the folder that it is copied from, name, words, and its run that nothing stops."""

    good: Path
    name: str
    call: Call
    whole: Undisturbed

    def wrong_files(self, folder: Path, before: dict[str, str]) -> list[str]:
        """What it did to files that it should not have done, and what is wrong when it is typed again."""
        found = sandbox.wrong_files(folder, before, self.call, done=True)
        return [*found, *wrong_after(folder, self.call, self.whole)]


def rows(choice: Choice) -> Iterator[Row]:
    """Each writing command, stopped at so many moments; one row for each moment that went wrong, or one for all."""
    chance = random.Random(7)
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        chosen = list(_chosen(choice))
        if any(name in evening.CALLS for name, _, _ in chosen):
            evening.build(good)
        for name, clock, calls in chosen:
            with copied(good) as folder:
                stop = _Stop(good, name, _WRITERS[name], undisturbed(folder, _WRITERS[name]))
            for how in clock:
                parts = [(index + chance.random()) / choice.moments for index in range(choice.moments)]
                yield from _told([_at(stop, how, part * stop.whole.seconds) for part in parts], how, "moments")
            for how in calls:
                yield from _told(list(_at_calls(stop, how, choice.moments)), how, "calls")


def _chosen(choice: Choice) -> Iterator[tuple[str, list[str], list[str]]]:
    """Each command that is to be tried, with how it is stopped by the clock, and how at calls to the system."""
    for number, name in enumerate(_WRITERS):
        several = name == _OF_SEVERAL  # its workers write, and the counter of calls is not in them
        by_clock, at_calls = (list(_SIGNALS), []) if several else (["Ctrl-C"], list(_SIGNALS))
        clock = [how for how in by_clock if choice.takes(number, f"{how}: {name}")]
        calls = [how for how in at_calls if choice.takes(number, f"{how} at a call: {name}")]
        if clock or calls:
            yield name, clock, calls


def _told(found: list[Row], how: str, of: str) -> Iterator[Row]:
    """The rows that went wrong, or one for all of them, with how many were stopped."""
    wrong = [one for one in found if one.wrong]
    yield from wrong
    if not wrong:
        stopped = sum(one.ran.code == _code(how) for one in found)
        yield found[-1]._replace(fault=f"{how} at {len(found)} {of}, {stopped} of them in time")


def _at(stop: _Stop, how: str, moment: float) -> Row:
    """A signal to the whole group of processes, so many seconds after the start."""
    number = _SIGNALS[how]
    with copied(stop.good) as folder:
        before = sandbox.state(folder)
        groups: list[int] = []

        def interrupt(process: subprocess.Popen[bytes]) -> None:
            groups.append(process.pid)
            time.sleep(moment)
            os.killpg(process.pid, number)  # one that has ended is there until it is waited for

        ran = run((*stop.call.words, *DAY), folder, act=interrupt)
        err = ran.err.decode("utf-8", "replace")
        starting = ("Traceback" in err or ran.code in (-number, 1)) and not _OURS.search(err)
        codes = {0, 1, _code(how)} | ({-number} if starting else set())
        orphans = [f"process {number} was left running" for number in _orphans(groups[0])]
        found = row(f"{how} after {moment:.3f} s", stop.name, ran, codes, (*stop.wrong_files(folder, before), *orphans))
        if starting:
            return found._replace(wrong=tuple(wrong for wrong in found.wrong if "traceback" not in wrong))
        return found


def _orphans(group: int) -> list[str]:
    """What still runs of a group a second after its leader has ended."""
    until = time.monotonic() + 1.0
    while (left := left_running(group)) and time.monotonic() < until:
        time.sleep(0.02)
    return left


def _at_calls(stop: _Stop, how: str, moments: int) -> Iterator[Row]:
    """A signal at calls that are spread over all that there are."""
    program = (sys.executable, at_call.__file__)
    with copied(stop.good) as folder:
        counted = int(run((*stop.call.words, *DAY), folder, program=(*program, "0", "0")).err.split()[-1])
    for at in sorted({1 + round(index * (counted - 1) / max(1, moments - 1)) for index in range(moments)}):
        with copied(stop.good) as folder:
            before = sandbox.state(folder)
            ran = run((*stop.call.words, *DAY), folder, program=(*program, str(at), str(int(_SIGNALS[how]))))
            wrong = stop.wrong_files(folder, before)
            if ran.code == INTERRUPTED and b"Interrupted." not in ran.err:
                wrong.append("it does not say that it was interrupted")
            yield row(f"{how} at call {at} of {counted}", stop.name, ran, {0, 1, _code(how)}, wrong)


def _code(how: str) -> int:
    """The exit code of a command that was stopped: our own for Ctrl-C, else the system's."""
    return INTERRUPTED if how == "Ctrl-C" else -_SIGNALS[how]
