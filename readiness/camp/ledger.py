"""What a roster has made, so that only what changed is made again and an interrupted run goes on where it was.

`manifest.jsonl` holds the finished run, a line for each client; while a run is under way, each client that is done
adds its line to `journal.jsonl`. A line that was cut off is not counted. The manifest is written whole or not at all.
"""

from __future__ import annotations

import json
import os
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, NamedTuple, Self

from readiness.camp.overview import Row, kept_once, row_from
from readiness.camp.papers import PAPERS
from readiness.filenames import safe_name
from readiness.files import part_of, replace_parts
from readiness.locking import locked
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

MANIFEST, JOURNAL, LOCK = "manifest.jsonl", "journal.jsonl", "roster.lock"
OVERVIEWS = ("overview.csv", "overview.html", "overview.pdf")
RESERVED = (MANIFEST, JOURNAL, LOCK, *OVERVIEWS)  # no client's folder may be called so


class MadeClient(NamedTuple):
    """One client as made: from which text (fingerprint), with what else (key), into which folder."""

    fingerprint: str
    key: str
    id: str | None
    folder: str
    row: Row
    problems: tuple[Problem, ...]
    files: dict[str, int]  # name -> bytes


class Ledger:
    """The manifest and the journal of one output folder; from `open` to the end of `with` no other run is at it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.entries: dict[str, MadeClient] = {}
        self.begun: set[str] = set()  # folders that an earlier run began
        self.changed = True  # whether the manifest has to be written anew
        self._held = ExitStack()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._held.close()

    def open(self) -> Fault | None:
        """Read what is there; a folder with files of someone else's, or that another run is at, is refused."""
        self.folder.mkdir(parents=True, exist_ok=True)
        ours = any((self.folder / name).is_file() for name in (MANIFEST, JOURNAL))
        if not ours and any(path.name != LOCK for path in self.folder.iterdir()):
            return Fault("exists", "there are files here that no roster made", "name a new folder, or an empty one")
        if not self._lock():
            hint = "let it end, then type the command again; or name another folder"
            return Fault("busy", "another roster is at work in this folder", hint)
        self._read(MANIFEST)
        self._read(JOURNAL)
        self.changed = not ours or (self.folder / JOURNAL).is_file()
        return None

    def _lock(self) -> bool:
        """Take the folder, or tell that another run has it. The lock goes with the process; its empty file stays."""
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
        handle = os.open(self.folder / LOCK, flags, 0o644)
        self._held.callback(os.close, handle)
        try:
            self._held.enter_context(locked(handle, 0.0))
        except TimeoutError:
            return False
        except OSError:  # a network drive that knows no locks: better without than not at all
            return True
        return True

    def follow(self, prints: Mapping[str, str]) -> None:
        """Find clients (source -> hash of their text) whose row of a table has moved, and name them by its new place.

        One who has problems is made again: those are told with the place where they were.
        """
        made = {entry.fingerprint: entry for entry in self.entries.values() if not entry.problems}
        moved = {
            source: made[text]._replace(row=made[text].row._replace(source=source))
            for source, text in prints.items()
            if text in made and (source not in self.entries or self.entries[source].fingerprint != text)
        }
        self.entries.update(moved)
        self.changed = self.changed or bool(moved)

    def begin(self, folders: Iterable[str]) -> None:
        """Note the folders of this run before the first paper, so that none is orphaned if the run is cut off."""
        self._end_cut_line()
        self._add({"begin": sorted({*folders, *self.begun})})

    def done(self, source: str, entry: MadeClient) -> None:
        """Note one finished client."""
        self.entries[source] = entry._replace(row=kept_once(entry.row))
        self._add({source: _data(entry)})

    def close(self, sources: Sequence[str]) -> None:
        """Write the manifest of exactly these clients, and end the journal."""
        if self.changed or set(sources) != set(self.entries):
            lines = (_line({source: _data(self.entries[source])}) for source in sources)
            replace_parts(self.folder / MANIFEST, lines)
        (self.folder / JOURNAL).unlink(missing_ok=True)

    def is_whole(self, entry: MadeClient) -> bool:
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

    def with_papers(self) -> frozenset[str]:
        """The folders in which papers of ours stand."""
        return frozenset(entry.folder for entry in self.entries.values() if entry.files)

    def _read(self, name: str) -> None:
        """Read the manifest or the journal: a line that is damaged or cut off is as if it were not there."""
        try:
            with (self.folder / name).open("rb") as file:
                for line in file:
                    self._read_line(line)
        except OSError:
            return

    def _read_line(self, line: bytes) -> None:
        try:
            said = json.loads(line)
            if "begin" in said:
                self.begun |= {str(name) for name in said["begin"] if safe_name(str(name)) == name}
            else:
                self._take(said)
        except (ValueError, KeyError, TypeError, AttributeError):
            return

    def _take(self, said: Mapping[str, Any]) -> None:
        for source, data in said.items():
            entry = _entry(data)
            if safe_name(entry.folder) == entry.folder and set(entry.files) <= set(PAPERS):  # a manifest is text, too
                self.entries[source] = entry

    def _end_cut_line(self) -> None:
        """After a line that a killed run did not finish, begin a new one."""
        with (self.folder / JOURNAL).open("ab") as file:
            file.write(b"\n" if file.tell() else b"")

    def _add(self, said: Mapping[str, Any]) -> None:
        self.changed = True
        with (self.folder / JOURNAL).open("ab") as file:
            file.write(_line(said))


def remove_papers(folder: Path) -> None:
    """Take the papers that we make out of a folder, and the folder if nothing else is in it."""
    if folder.is_symlink() or not folder.is_dir():
        return
    for name in PAPERS:
        (folder / name).unlink(missing_ok=True)
        part_of(folder / name).unlink(missing_ok=True)
    if not any(folder.iterdir()):
        folder.rmdir()


def _line(said: Mapping[str, Any]) -> bytes:
    return json.dumps(said).encode("ascii") + b"\n"


def _data(entry: MadeClient) -> dict[str, Any]:
    data = entry._asdict()
    return data | {"row": entry.row.as_dict(), "problems": [list(problem) for problem in entry.problems]}


def _entry(data: Mapping[str, Any]) -> MadeClient:
    problems = tuple(Problem(*problem) for problem in data["problems"])
    return MadeClient(**{**data, "row": row_from(data["row"]), "problems": problems})
