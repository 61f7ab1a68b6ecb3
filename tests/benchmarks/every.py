"""Every benchmark of the project in one table, the goal beside each figure.

    .venv/bin/python tests/benchmarks/every.py [--evenings 600] [--rounds 15] [--clients 1000]

Exits with 1 if a goal is missed. With the figures as they stand here it takes about half an hour on two cores, which
should have nothing else to do; `--evenings 40 --rounds 5 --clients 100` shows in a few minutes that all of it runs.
"""

from __future__ import annotations

import argparse
import sys

import bench
import bench_roster
import camps
from figures import show


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--evenings", type=int, default=600, help="of each kind of simulated evening")
    parser.add_argument("--rounds", type=int, default=15, help="of each process that is timed")
    parser.add_argument("--clients", type=int, default=1000, help="of the large camp; the small one has a tenth")
    given = parser.parse_args()
    found = [
        *bench.figures(given.rounds),
        *bench_roster.figures(max(1, given.rounds // 5), given.clients // 10, given.clients),
        *camps.figures(given.evenings, 1),
    ]
    return show(found)


if __name__ == "__main__":
    sys.exit(main())
