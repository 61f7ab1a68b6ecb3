"""Hostile input and faults for every command, as a table: what each ended with, and what is wrong with that.

    .venv/bin/python tests/faults/run.py                       # everything
    .venv/bin/python tests/faults/run.py reading --only trip   # one part, and of it the faults with these letters
    .venv/bin/python tests/faults/run.py --every 9             # every ninth fault, as the tests do

Each command runs as a process of its own and must end with the right exit code and a message that says what to type,
within 2 s of a processor and 200 MB, with no file lost, torn or left behind. Ends with 1 where one does not.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tabulate import tabulate

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.faults import interrupts, reading, surroundings, together, typed
from tests.faults.choice import Choice

PARTS = {
    "reading": reading.rows,
    "surroundings": surroundings.rows,
    "typed": typed.rows,
    "interrupts": interrupts.rows,
    "together": together.rows,
}


def main() -> None:
    """Run the parts that were named, and print their table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], help="all if left out")
    parser.add_argument("--only", default="", help="letters that a fault has in its name")
    parser.add_argument("--failed", action="store_true", help="show failures alone")
    parser.add_argument("--every", type=int, default=1, help="take every so many of the faults")
    parser.add_argument("--moments", type=int, default=12, help="of Ctrl-C, for each command that writes")
    asked = parser.parse_args()
    choice = Choice(asked.only, asked.every, asked.moments)
    rows = [row for part in asked.parts or PARTS for row in PARTS[part](choice)]
    failed = [row for row in rows if row.wrong]
    print(tabulate([row.cells for row in (failed if asked.failed else rows)],
                   headers=["fault", "command", "code", "s", "MB", "", "first line, or what is wrong"],
                   disable_numparse=True))  # fmt: skip
    if rows:
        print(f"{len(rows)} runs of {len({row.fault for row in rows})} faults; {len(failed)} failed; slowest "
              f"{max(row.ran.seconds for row in rows):.2f} s, largest {max(row.ran.megabytes for row in rows):.0f} MB")  # fmt: skip
    sys.exit(1 if failed or not rows else 0)


if __name__ == "__main__":
    main()
