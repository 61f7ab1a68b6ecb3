"""The roster as it grows: from 100 to 1,000 clients, again with nothing changed, and against one command a client.

    .venv/bin/python tests/benchmarks/bench_roster.py [--rounds 3] [--small 100] [--large 1000]

Prints one table with the goal beside each figure and exits with 1 if a goal is missed. Clients are those of the sample
camp, in turns, each with a speed and an arrow mass of their own. Each figure is the fastest of several alternating rounds; beside growth in time stands growth in
processor time, which other work on the machine disturbs less.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
import sysconfig
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from figures import Figure, show

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_trips" / "larkspur-forks"
READINESS = str(Path(sysconfig.get_path("scripts")) / "readiness")
DAY = ("--date", "2027-09-04")
LOOPED = 12  # clients of the shell loop


class Run(NamedTuple):
    """One run: seconds on the clock, seconds of processors, largest resident memory of one process in KB."""

    wall: float
    cpu: float
    peak: float


def environment() -> dict[str, str]:
    """Ours, with compiled bytecode allowed, as on any user's machine."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def write_camp(folder: Path, number: int) -> Path:
    """A camp of so many clients."""
    texts = [path.read_text(encoding="utf-8") for path in sorted((SAMPLE / "clients").glob("*.yaml"))]
    (folder / "clients").mkdir(parents=True)
    shutil.copy(SAMPLE / "camp.yaml", folder)
    rng = random.Random(number)
    for index in range(number):
        text = re.sub(r"id: lf\d+", f"id: c{index:06}", texts[index % len(texts)])
        text = re.sub(r"\b(\d+) (fps|gr)\b", lambda m: f"{int(m[1]) * rng.uniform(0.998, 1.002):.1f} {m[2]}", text)
        (folder / "clients" / f"c{index:06}.yaml").write_text(text, encoding="utf-8")
    return folder / "camp.yaml"


def roster(camp: Path, out: Path) -> Run:
    """One run of the command, its children counted."""
    command = [READINESS, "roster", str(camp), "-o", str(out), *DAY]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment())
    _, status, usage = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(status) == 1, command
    return Run(time.perf_counter() - start, usage.ru_utime + usage.ru_stime, usage.ru_maxrss)


def loop(camp: Path, number: int) -> float:
    """Seconds for one paper of each client, the card, by one command a client, on a full trip."""
    out = str(camp.parent / "card.pdf")
    trip = str(ROOT / "sample_trips" / "high-basin.yaml")
    start = time.perf_counter()
    for _ in range(number):
        command = [READINESS, "card", trip, "-o", out, *DAY]
        subprocess.run(command, stdout=subprocess.DEVNULL, env=environment(), check=False)
    return time.perf_counter() - start


def best(runs: list[Run]) -> Run:
    """The least of each figure."""
    return Run(*map(min, zip(*runs, strict=True)))


def measure(rounds: int, small: int, large: int) -> tuple[dict[str, Run], float]:
    """First and second runs of both sizes, in turns; and seconds a client of the shell loop."""
    found: dict[str, list[Run]] = {"small": [], "large": [], "again": []}
    looped = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        camps = {size: write_camp(folder / size, number) for size, number in (("small", small), ("large", large))}
        roster(camps["small"], folder / "warm")
        for turn in range(rounds):
            for size, camp in camps.items():
                found[size].append(roster(camp, folder / f"{size}-{turn}"))
            found["again"].append(roster(camps["large"], folder / f"large-{turn}"))
            looped.append(loop(camps["small"], LOOPED) / LOOPED)
            shutil.rmtree(folder / f"large-{turn}")
    return {name: best(runs) for name, runs in found.items()}, min(looped)


def figures(rounds: int, small: int, large: int) -> list[Figure]:
    """Everything that this script measures."""
    runs, looped = measure(rounds, small, large)
    for name, run in runs.items():
        print(f"  {name}: {run.wall:.2f} s, {run.cpu:.2f} s of processors, {run.peak / 1024:.1f} MB in one process")
    rate, grown = large / runs["large"].wall, large / small
    print(f"  {rate:.0f} clients a second; one `readiness card` a client: {1 / looped:.1f} clients a second")
    first, last, again = runs["small"], runs["large"], runs["again"]
    return [
        Figure("clients a second, all papers / `readiness card` in a loop", rate * looped, least=20),
        Figure(f"roster: time, {large} / {small} clients", last.wall / first.wall, most=1.05 * grown),
        Figure("processor time, the same", last.cpu / first.cpu, most=1.05 * grown),
        Figure("peak memory, the same", last.peak / first.peak, most=1.2),
        Figure(f"again with nothing changed / first, {large} clients", again.wall / last.wall, most=0.05),
    ]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--small", type=int, default=100)
    parser.add_argument("--large", type=int, default=1000)
    given = parser.parse_args()
    return show(figures(given.rounds, given.small, given.large))


if __name__ == "__main__":
    sys.exit(main())
