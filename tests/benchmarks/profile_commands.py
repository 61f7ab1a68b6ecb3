"""Where the time of each command goes: Python itself, imports, and our own work, with the functions that take most.

    .venv/bin/python tests/benchmarks/profile_commands.py [--rounds 5]

Whole processes are timed in turns and the fastest round counts. Modules are those beyond a Python that imports the
four libraries that nearly every command needs. The functions come from one more run under cProfile, by their own time.
"""

from __future__ import annotations

import argparse
import json
import os
import pstats
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from tabulate import tabulate

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = str(ROOT / "readiness")
LIBRARIES = "import click, yaml, jsonschema, tabulate"
DAY = ("--date", "2027-08-25")
COMMANDS = {
    "new": ("new", "new.yaml", "--force", "--defaults"),
    "check": ("check", "trip.yaml", *DAY),
    "plan": ("plan", "trip.yaml", *DAY),
    "pins": ("pins", "trip.yaml", *DAY),
    "pack": ("pack", "trip.yaml", *DAY),
    "card": ("card", "trip.yaml", "-o", "card.pdf", *DAY),
    "handout": ("handout", "trip.yaml", "-o", "handout.html", *DAY),
    "calendar": ("calendar", "trip.yaml", "-o", "trip.ics", *DAY),
    "log": ("log", "trip.yaml", "--at", "Trailhead camp", "--changed", "peep turned back"),
    "assess": ("assess", "trip.yaml", *DAY),
    "roster": ("roster", "camp/camp.yaml", "-o", "out", "--jobs", "1", "--date", "2027-09-04"),
    "render-one": ("render-one", "--date", "2027-09-04"),
    "lint": ("lint",),
    "schema": ("schema", "trip"),
}
# The child: run the command, then write the modules that it has loaded, or its profile, to a file beside it.
MODULES = (
    "import atexit, json, sys; atexit.register(lambda: json.dump(sorted(sys.modules), open('modules.json', 'w'))); "
)
# Imports alone, with the same short ways in and out as our own start (readiness/__main__.py).
IMPORT = "import gc, os; gc.disable()\nfrom importlib import import_module\nfor name in {!r}: import_module(name)\nos._exit(0)"
CALL = "sys.argv = ['readiness', *json.loads({0!r})]; from readiness.cli import run; run()"


class Spent(NamedTuple):
    """One command: whole process, the part of it that only imports, and what else it loads."""

    whole_ms: float
    imports_ms: float
    modules: int
    functions: str


def environment() -> dict[str, str]:
    """Ours, with compiled bytecode allowed, as on any user's machine."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def milliseconds(command: list[str], folder: Path, fed: bytes = b"") -> float:
    start = time.perf_counter()
    done = subprocess.run(command, cwd=folder, input=fed, capture_output=True, env=environment(), check=False)
    assert done.returncode in (0, 1), (command, done.stderr)
    return 1000 * (time.perf_counter() - start)


def loaded(arguments: tuple[str, ...], folder: Path, fed: bytes) -> list[str]:
    """The modules that a command has loaded at its end."""
    code = MODULES + CALL.format(json.dumps(arguments))
    subprocess.run([sys.executable, "-c", code], cwd=folder, input=fed, capture_output=True, check=False)
    return json.loads((folder / "modules.json").read_text(encoding="utf-8"))


def heaviest(arguments: tuple[str, ...], folder: Path, fed: bytes) -> str:
    """The functions of ours that take most time of their own, with their share of the profiled run."""
    code = f"import json, sys; {CALL.format(json.dumps(arguments))}"
    (folder / "child.py").write_text(code, encoding="utf-8")
    command = [sys.executable, "-m", "cProfile", "-o", "profile.out", "child.py"]
    subprocess.run(command, cwd=folder, input=fed, capture_output=True, check=False)
    stats = pstats.Stats(str(folder / "profile.out")).stats
    whole = sum(own for _, _, own, _, _ in stats.values())
    ours = [(own / whole, f"{Path(file).stem}.{name}") for (file, _, name), (_, _, own, _, _) in stats.items()
            if file.startswith(PACKAGE) and not name.startswith("<")]  # fmt: skip
    return ", ".join(f"{name} {share:.0%}" for share, name in sorted(ours, reverse=True)[:2])


def prepare(folder: Path) -> bytes:
    """The files that the commands work on; what render-one reads."""
    samples = ROOT / "sample_trips"
    shutil.copy(samples / "high-basin.yaml", folder / "trip.yaml")
    shutil.copytree(samples / "larkspur-forks", folder / "camp")
    camp = (folder / "camp" / "camp.yaml").read_text(encoding="utf-8")
    client = (folder / "camp" / "clients" / "asa.yaml").read_text(encoding="utf-8")
    return json.dumps({"camp": camp, "client": client}).encode() + b"\n"


def measure(rounds: int, folder: Path) -> dict[str, Spent]:
    fed = prepare(folder)
    python = [sys.executable, "-m", "readiness"]
    base = json.loads(
        subprocess.run(
            [sys.executable, "-c", f"{LIBRARIES}, json, sys; print(json.dumps(list(sys.modules)))"],
            check=True,
            capture_output=True,
        ).stdout
    )
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    imports: dict[str, list[float]] = {name: [] for name in COMMANDS}
    modules = {name: loaded(arguments, folder, fed) for name, arguments in COMMANDS.items()}
    for _ in range(rounds):
        for name, arguments in COMMANDS.items():
            shutil.rmtree(folder / "out", ignore_errors=True)
            times[name].append(milliseconds([*python, *arguments], folder, fed))
            names = [module for module in modules[name] if module != "__main__" and "cython" not in module]
            imports[name].append(milliseconds([sys.executable, "-c", IMPORT.format(names)], folder))
    return {
        name: Spent(min(times[name]), min(imports[name]), len(set(modules[name]) - set(base)), heaviest(arguments, folder, fed))
        for name, arguments in COMMANDS.items()
    }  # fmt: skip


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as name:
        spent = measure(rounds, Path(name))
        bare = min(milliseconds([sys.executable, "-c", "pass"], Path(name)) for _ in range(rounds))
        four = min(milliseconds([sys.executable, "-c", LIBRARIES], Path(name)) for _ in range(rounds))
    print(f"Python alone {bare:.0f} ms, with click, yaml, jsonschema and tabulate {four:.0f} ms\n")
    rows = [
        (name, f"{of.whole_ms:.0f}", f"{of.imports_ms:.0f}", f"{of.whole_ms - of.imports_ms:.0f}", of.modules, of.functions)
        for name, of in spent.items()
    ]  # fmt: skip
    headers = ("command", "ms", "imports", "work", "modules beyond", "most of its own time, under cProfile")
    print(tabulate(rows, headers, colalign=("left", "right", "right", "right", "right", "left"), disable_numparse=True))
    return 0


if __name__ == "__main__":
    sys.exit(main())
