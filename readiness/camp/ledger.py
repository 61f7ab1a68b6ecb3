"""What a roster has made, so that only what changed is made again and an interrupted run goes on where it was.

`manifest.json` holds the finished run; while one is under way, each client that is done adds a line to
`manifest.journal`. A line that was cut off is not counted. The manifest is written whole or not at all.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.camp.folders import safe_name
from readiness.camp.overview import Row, row_from
from readiness.camp.papers import PAPERS
from readiness.files import part_of, replace_bytes
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

MANIFEST, JOURNAL = "manifest.json", "manifest.journal"
OVERVIEWS = ("overview.csv", "overview.html", "overview.pdf")
RESERVED = (MANIFEST, JOURNAL, *OVERVIEWS)  # no client's folder may be called so


class Entry(NamedTuple):
    """One client as made: from which text (fingerprint), with what else (key), into which folder."""

    fingerprint: str
    key: str
    id: str | None
    folder: str
    row: Row
    problems: tuple[Problem, ...]
    files: dict[str, int]  # name -> bytes


class Ledger:
    """The manifest and the journal of one output folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.entries: dict[str, Entry] = {}
        self.begun: set[str] = set()  # folders that an earlier run began

    def open(self) -> Fault | None:
        """Read what is there; a folder with files of someone else's is refused."""
        self.folder.mkdir(parents=True, exist_ok=True)
        ours = any((self.folder / name).is_file() for name in (MANIFEST, JOURNAL))
        if not ours and any(self.folder.iterdir()):
            return Fault("exists", "there are files here that no roster made", "name a new folder, or an empty one")
        try:
            known = json.loads((self.folder / MANIFEST).read_text(encoding="utf-8"))["clients"]
            self._take({source: known[source] for source in known})
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            self.entries = {}  # gone or damaged: everything is made again
        self._read_journal()
        return None

    def begin(self, folders: Iterable[str]) -> None:
        """Note the folders of this run before the first paper, so that none is orphaned if the run is cut off."""
        self._add({"begin": sorted({*folders, *self.begun})})

    def done(self, source: str, entry: Entry) -> None:
        """Note one finished client."""
        self.entries[source] = entry
        self._add({source: _data(entry)})

    def close(self, sources: Iterable[str], common: Mapping[str, Any]) -> None:
        """Write the manifest of exactly these clients, and end the journal."""
        clients = {source: _data(self.entries[source]) for source in sources}
        text = json.dumps({"format": 1, **common, "clients": clients}, ensure_ascii=False, indent=1)
        replace_bytes(self.folder / MANIFEST, text.encode("utf-8") + b"\n")
        (self.folder / JOURNAL).unlink(missing_ok=True)

    def is_whole(self, entry: Entry) -> bool:
        """Whether the papers of an entry are all there in full length."""
        folder = self.folder / entry.folder
        try:
            return all((folder / name).stat().st_size == size for name, size in entry.files.items())
        except OSError:
            return False

    def clear(self, wanted: Mapping[str, str]) -> None:
        """Take away papers that we made for clients (source -> folder) who are gone, moved, or have a bad file now."""
        kept = {entry.folder for source, entry in self.entries.items() if wanted.get(source) == entry.folder}
        old = {entry.folder for entry in self.entries.values()} | self.begun
        for folder in sorted(old - kept - set(wanted.values())):
            remove_papers(self.folder / folder)

    def _read_journal(self) -> None:
        try:
            lines = (self.folder / JOURNAL).read_bytes().split(b"\n")
        except OSError:
            return
        for line in lines[:-1]:  # the last is empty, or was cut off
            try:
                said = json.loads(line)
                if "begin" in said:
                    self.begun |= {str(name) for name in said["begin"] if safe_name(str(name)) == name}
                else:
                    self._take(said)
            except (ValueError, KeyError, TypeError, AttributeError):
                continue

    def _take(self, said: Mapping[str, Any]) -> None:
        for source, data in said.items():
            entry = _entry(data)
            if safe_name(entry.folder) == entry.folder and set(entry.files) <= set(PAPERS):  # a manifest is text, too
                self.entries[source] = entry

    def _add(self, said: Mapping[str, Any]) -> None:
        with (self.folder / JOURNAL).open("ab") as file:
            file.write(json.dumps(said, ensure_ascii=False).encode("utf-8") + b"\n")


def remove_papers(folder: Path) -> None:
    """Take the papers that we make out of a folder, and the folder if nothing else is in it."""
    if folder.is_symlink() or not folder.is_dir():
        return
    for name in PAPERS:
        (folder / name).unlink(missing_ok=True)
        part_of(folder / name).unlink(missing_ok=True)
    if not any(folder.iterdir()):
        folder.rmdir()


def _data(entry: Entry) -> dict[str, Any]:
    data = entry._asdict()
    return data | {"row": entry.row.as_dict(), "problems": [list(problem) for problem in entry.problems]}


def _entry(data: Mapping[str, Any]) -> Entry:
    problems = tuple(Problem(*problem) for problem in data["problems"])
    return Entry(**{**data, "row": row_from(data["row"]), "problems": problems})
