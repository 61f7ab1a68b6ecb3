"""Known weaknesses of the packages that `readiness` needs to run, asked of the registry by pip-audit.

    .venv/bin/python tests/audit.py [pip-audit's own options, as -s osv]

Ends with 0 where every package was looked up and none has a known weakness, 1 where one has, 3 where one could not be
looked up. pip-audit alone ends with 0 and "No known vulnerabilities found" in that last case, too.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple

from licences import packages
from tabulate import tabulate

# The versions installed here, as they are: nothing is resolved or fetched anew.
AS_THEY_STAND = ("--no-deps", "--disable-pip", "--format", "json", "--progress-spinner", "off")
CLEAN, WEAK, CANNOT_TELL = 0, 1, 3
VERDICTS = {CLEAN: "clean", WEAK: "known weaknesses", CANNOT_TELL: "cannot tell: not every package was looked up"}


class Finding(NamedTuple):
    """One package: its name, version, and what the registry says of it."""

    name: str
    version: str
    said: str
    rank: int


def findings(report: dict[str, Any]) -> list[Finding]:
    """What pip-audit's JSON report says of each package; nothing at all about a package is "not looked up".

    >>> findings({"dependencies": [{"name": "a", "version": "1", "vulns": []}]})
    [Finding(name='a', version='1', said='nothing known', rank=0)]
    """
    found = []
    for package in report["dependencies"]:
        name, version = package["name"], package.get("version", "?")
        if "vulns" not in package:
            found.append(Finding(name, version, package.get("skip_reason", "not looked up"), CANNOT_TELL))
        elif known := [weakness["id"] for weakness in package["vulns"]]:
            found.append(Finding(name, version, ", ".join(known), WEAK))
        else:
            found.append(Finding(name, version, "nothing known", CLEAN))
    return sorted(found)


def verdict(found: list[Finding]) -> int:
    """The exit code: a known weakness outranks a package that could not be looked up; no package at all is no answer."""
    ranks = {one.rank for one in found}
    return WEAK if WEAK in ranks else CLEAN if ranks == {CLEAN} else CANNOT_TELL


def main() -> None:
    """Ask, print the table, end with the verdict."""
    if find_spec("pip_audit") is None:
        sys.exit('pip-audit is not installed: pip install -e ".[test]"')
    with tempfile.TemporaryDirectory() as folder:
        wanted = Path(folder, "requirements.txt")
        wanted.write_text("".join(f"{one.name}=={one.version}\n" for one in packages()), encoding="utf-8")
        ask = [sys.executable, "-m", "pip_audit", "-r", str(wanted), *AS_THEY_STAND, *sys.argv[1:]]
        done = subprocess.run(ask, capture_output=True, text=True, check=False)
    try:
        found = findings(json.loads(done.stdout))
    except json.JSONDecodeError:
        print("not looked up:", (done.stderr.strip().splitlines() or ["pip-audit said nothing"])[-1])
        sys.exit(CANNOT_TELL)
    rows = [one[:3] for one in found]
    print(tabulate(rows, headers=["package", "version", "known weaknesses"], disable_numparse=True))
    print(VERDICTS[verdict(found)])
    sys.exit(verdict(found))


if __name__ == "__main__":
    main()
