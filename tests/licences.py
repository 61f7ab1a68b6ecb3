"""Every package that `readiness` needs to run, with its version and licence.

    .venv/bin/python tests/licences.py

Ends with 1 where a licence is not one of those that ask for no more than to be named, or where the tables of
DEVELOPERS.md say something else. Versions are those installed here: they are printed, not written down.
"""

from __future__ import annotations

import re
import sys
from importlib.metadata import Distribution, distribution
from pathlib import Path
from typing import NamedTuple

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from tabulate import tabulate

ROOT = Path(__file__).resolve().parents[1]
PERMISSIVE = {"MIT", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0", "PSF-2.0", "ISC"}
# How older metadata, before PEP 639, wrote the same.
_SPDX = {
    "MIT License": "MIT", "The MIT License": "MIT", "BSD": "BSD-3-Clause", "BSD License": "BSD-3-Clause",
    "Apache License 2.0": "Apache-2.0", "Apache 2.0": "Apache-2.0", "Apache Software License": "Apache-2.0",
    "Python Software Foundation License": "PSF-2.0",
}  # fmt: skip


class Package(NamedTuple):
    """One package as it is installed: its name, version, licence, and which of ours needs it."""

    name: str
    version: str
    licence: str
    needed_by: str


def packages() -> list[Package]:
    """What `readiness` needs at run time, transitively, by name; markers are those of this machine."""
    found: dict[str, Package] = {}
    waiting = [("readiness", name) for name in _needs(distribution("readiness"))]
    while waiting:
        needed_by, name = waiting.pop(0)
        if name not in found:
            installed = distribution(name)
            found[name] = Package(name, installed.version, licence_of(installed), needed_by)
            waiting += [(name, below) for below in _needs(installed)]
    return sorted(found.values())


def licence_of(installed: Distribution) -> str:
    """The licence by its SPDX name, where the metadata tell it; else what they say."""
    said = installed.metadata.get_all("License-Expression") or installed.metadata.get_all("License") or []
    listed = [
        line.rpartition(" :: ")[2] for line in installed.metadata.get_all("Classifier") or [] if "License ::" in line
    ]
    for text in (*said, *listed):
        name = _SPDX.get(text.strip(), text.strip())
        if name in PERMISSIVE:
            return name
    return next(iter((*said, *listed)), "not said").partition("\n")[0]


def written() -> dict[str, str]:
    """Name -> licence, out of the two tables in DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.partition("\n## Dependencies\n")[2].partition("\n## ")[0]
    direct = re.findall(r"^\| ([\w-]+) \| [\d.]+ \| ([\w.-]+) \|", part, re.MULTILINE)
    below = re.findall(r"^\| ([\w-]+) \| ([A-Z][\w.-]+) \|", part, re.MULTILINE)
    return {str(canonicalize_name(name)): licence for name, licence in (*direct, *below)}


def mistakes(installed: list[Package], said: dict[str, str]) -> list[str]:
    """Licences that ask for more, and what DEVELOPERS.md does not say, or says otherwise."""
    found = [f"{one.name}: {one.licence} is not among {', '.join(sorted(PERMISSIVE))}"
             for one in installed if one.licence not in PERMISSIVE]  # fmt: skip
    found += [f"{one.name}: DEVELOPERS.md says {said.get(one.name, 'nothing')}, the package {one.licence}"
              for one in installed if said.get(one.name) != one.licence]  # fmt: skip
    names = {one.name for one in installed}
    return found + [
        f"{name}: in DEVELOPERS.md, and nothing needs it" for name in sorted(said.keys() - names - CONDITIONAL)
    ]


CONDITIONAL = {"typing-extensions", "colorama"}  # needed on older Pythons alone, on Windows alone


def _needs(installed: Distribution) -> list[str]:
    wanted = map(Requirement, installed.requires or ())
    return [str(canonicalize_name(one.name)) for one in wanted if not one.marker or one.marker.evaluate({"extra": ""})]


def main() -> None:
    """Print the table, and what is wrong with it."""
    installed = packages()
    print(tabulate(installed, headers=["package", "version", "licence", "needed by"], disable_numparse=True))
    wrong = mistakes(installed, written())
    print(*wrong, sep="\n")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
