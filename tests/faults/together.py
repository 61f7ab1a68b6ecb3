"""Two commands at the same time at the same files: each ends with its own code, and what both write is whole and once."""

from __future__ import annotations

import json
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults import evening, sandbox
from tests.faults.processes import READINESS, environment, run
from tests.faults.sandbox import ALL, DAY, SHOTS
from tests.faults.surroundings import copied
from tests.faults.verdict import Row, row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tests.faults.choice import Choice

_LOG = ("log", "trip.yaml", *SHOTS)
_TAKE_IN = evening.CALLS["log --import"].words
_COLLECT = evening.CALLS["roster --collect"].words
_WRITE = evening.CALLS["assess --write"].words
_NEW = ("new", "out/new.yaml", "--defaults")


def rows(choice: Choice) -> Iterator[Row]:
    """Each pair of commands, or each eight, as often as a quarter of the moments that were asked for."""
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        evening.build(good)
        for name, make in _CASES.items():
            if choice.only in f"at once: {name}":
                for _ in range(max(1, choice.moments // 4)):
                    with copied(good) as folder:
                        yield from (found._replace(fault=name) for found in make(folder))


def _eight_logs(folder: Path) -> Iterator[Row]:
    """No line is lost, and none is on another."""
    ends = _ended(folder, [_LOG] * 8)
    yield _listed(folder, "log", ends, 8 * [0], 9)


def _two_imports(folder: Path) -> Iterator[Row]:
    ends = _ended(folder, [_TAKE_IN] * 3)
    yield _listed(folder, "log --import", ends, [0, 0, 0], 16)


def _import_and_log(folder: Path) -> Iterator[Row]:
    ends = _ended(folder, [_TAKE_IN, _LOG, _TAKE_IN, _LOG])
    yield _listed(folder, "log --import, log", ends, [0, 0, 0, 0], 18)


def _two_new(folder: Path) -> Iterator[Row]:
    """One is told that it wrote the file, and its file stands there; every other that there is one."""
    homes = [("--date", f"2027-0{number}-01") for number in range(1, 5)]
    processes = [_start((*_NEW, *day), folder) for day in homes]
    ends = sorted(process.wait(60) for process in processes)
    wrong = [] if ends == [0, 2, 2, 2] else [f"exit codes {ends}, not one 0"]
    (mine,) = [day for day, process in zip(homes, processes, strict=True) if process.returncode == 0][:1] or [homes[0]]
    run(("new", "out/same.yaml", "--defaults", *mine), folder)
    text, same = ((folder / "out" / name).read_text("utf-8") for name in ("new.yaml", "same.yaml"))
    wrong += [] if text.replace("new.yaml", "same.yaml") == same else ["the file is not that of the one who won"]
    again = run((*_NEW, *DAY), folder)
    wrong += [] if b"error[exists]" in again.err else [f"typed again: {again.first}"]
    yield row("", "new", again, {2}, [*wrong, *_left(folder)])


def _two_writes(folder: Path) -> Iterator[Row]:
    ends = sorted(_ended(folder, [_WRITE] * 2))
    wrong = [] if ends == [1, 2] else [f"exit codes {ends}, not 1 and 2"]
    yield row("", "assess --write", run((*_WRITE, *DAY), folder), {2}, [*wrong, *_left(folder)])


def _write_while_logging(folder: Path) -> Iterator[Row]:
    """The copy is made of a log that grows: of whole records, whichever were there."""
    ends = _ended(folder, [("log", "shot.yaml", *SHOTS), _WRITE, ("log", "shot.yaml", *SHOTS)])
    wrong = [] if (ends[0], ends[2]) == (0, 0) and ends[1] in (0, 1) else [f"exit codes {ends}"]
    copy = folder / evening.CALLS["assess --write"].writes[0]
    checked = run(("check", copy.name, *DAY), folder)
    wrong += [] if copy.exists() and b"error[" not in checked.err else [f"the copy: {checked.first}"]
    yield row(
        "", "assess --write, log", run(("log", "shot.yaml", "--list", *DAY), folder), {0}, [*wrong, *_left(folder)]
    )


def _two_collects(folder: Path) -> Iterator[Row]:
    """Into one folder: one works, the other is refused; into two, each file is taken in once."""
    ends = sorted(_ended(folder, [_COLLECT] * 2))
    wrong = [] if ends in ([1, 2], [1, 1]) else [f"exit codes {ends}, not 1 and 2"]  # 1: the first had ended by then
    yield row(
        "", "roster --collect", run((*_COLLECT, *DAY), folder), {1}, [*wrong, *_collected(folder), *_left(folder)]
    )


def _collects_into_two(folder: Path) -> Iterator[Row]:
    other = tuple(word.replace("envelopes", "second") for word in _COLLECT)
    ends = sorted(_ended(folder, [_COLLECT, other]))
    wrong = [] if ends == [1, 1] else [f"exit codes {ends}, not twice 1"]
    yield row(
        "", "roster --collect", run((*_COLLECT, *DAY), folder), {1}, [*wrong, *_collected(folder), *_left(folder)]
    )


def _second_roster(folder: Path) -> Iterator[Row]:
    """A second run into a folder is refused; a killed one leaves no lock."""
    words = (*ALL["roster"].words, *DAY)
    first = _start(words, folder)
    while not (folder / "out" / "envelopes" / "journal.jsonl").exists() and first.poll() is None:
        time.sleep(0.002)
    first.send_signal(signal.SIGSTOP)
    before = sandbox.state(folder)
    ran = run(words, folder)
    yield row("", "roster", ran, {2},
              sandbox.wrong_files(folder, before, ALL["roster"]._replace(writes=()), done=False))  # fmt: skip
    first.kill()
    first.wait(60)
    yield row("", "roster after a kill", run(words, folder), {0, 1})


_CASES: dict[str, Callable[[Path], Iterator[Row]]] = {
    "eight log": _eight_logs,
    "three imports of one file": _two_imports,
    "two imports, two log": _import_and_log,
    "four new of one name": _two_new,
    "two assess --write": _two_writes,
    "assess --write while log writes": _write_while_logging,
    "two collects into one folder": _two_collects,
    "two collects into two folders": _collects_into_two,
    "a second roster at the same folder": _second_roster,
}


def _ended(folder: Path, commands: Sequence[tuple[str, ...]]) -> list[int]:
    """The exit codes of commands that were started at once."""
    processes = [_start((*words, *DAY), folder) for words in commands]
    return [process.wait(60) for process in processes]


def _listed(folder: Path, name: str, ends: list[int], codes: list[int], lines: int) -> Row:
    """The list of a log that must have so many lines, each of them once, and nothing to warn of."""
    found = _ids(folder / "trip.log.jsonl")
    wrong = [] if ends == codes else [f"exit codes {ends}, not {codes}"]
    wrong += (
        [] if len(found) == len(set(found)) == lines else [f"{len(found)} lines, {len(set(found))} ids, not {lines}"]
    )
    ran = run(("log", "trip.yaml", "--list", *DAY), folder)
    return row("", name, ran, {0}, [*wrong, *([f"a warning: {ran.first}"] if ran.err else []), *_left(folder)])


def _collected(folder: Path) -> list[str]:
    counted = {name: _ids(folder / "camp" / "clients" / f"{name}.log.jsonl") for name in ("asa", "birte")}
    return [
        f"{len(counted[name])} lines of {name}, {len(set(counted[name]))} ids, not {number}"
        for name, number in (("asa", 40), ("birte", 3))
        if not len(counted[name]) == len(set(counted[name])) == number
    ]


def _ids(log: Path) -> list[str]:
    return [json.loads(line)["id"] for line in log.read_bytes().splitlines()]


def _left(folder: Path) -> list[str]:
    return [f"{path.name} was left behind" for path in folder.rglob("*.part")]


def _start(words: tuple[str, ...], folder: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen([READINESS, *words], cwd=folder, env=environment(), stdin=subprocess.DEVNULL,
                            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
