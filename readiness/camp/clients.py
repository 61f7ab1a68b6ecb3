"""Who the clients of a camp are: the files of its folder, or the rows of its table. Nothing outside is ever read."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from readiness.camp.table import MAX_TABLE_BYTES, Dialect, read_table
from readiness.documents import MAX_BYTES, Document, read_document
from readiness.files import sha256_of
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.camp.model import Camp

MAX_CLIENTS = 100_000


class Client(NamedTuple):
    """One client as a source of text: a file that is read when it is needed, or a row that has been read."""

    name: str  # for messages, as a user would write it
    stem: str
    path: Path | None = None
    row: Document | None = None
    problem: Problem | None = None
    table: Path | None = None  # that the row stands in


class Clients(NamedTuple):
    """The clients of a camp in the order of their names or rows, or what is wrong with all; how a table is written."""

    clients: tuple[Client, ...]
    problems: tuple[Problem, ...]
    dialect: Dialect = Dialect()


def clients_of(camp: Camp, folder: Path) -> Clients:
    """The clients that a camp file in a folder names."""
    path = ("clients",)
    if camp.clients is None:
        fault = Fault("missing-key", "clients is missing here", "add clients: clients, a folder beside this file")
        return Clients((), (camp.document.problem((), fault),))
    found = inside(folder, camp.clients)
    if isinstance(found, Fault):
        return Clients((), (camp.document.problem(path, found),))
    if found.is_dir():
        return _of_folder(camp, found)
    data = read_regular(found, MAX_TABLE_BYTES)
    if isinstance(data, Fault):
        return Clients((), (camp.document.problem(path, data),))
    if found.suffix.casefold() not in (".csv", ".tsv", ".txt"):
        fault = Fault("not-csv", f"{camp.clients} is neither a folder nor a table", "name a folder, or a .csv file")
        return Clients((), (camp.document.problem(path, fault),))
    table = read_table(data, str(found))
    rows = (Client(f"{found}:{row.row}", f"row-{row.row}", None, row, row.overfull(), found) for row in table.rows)
    return _some(camp, tuple(rows), table.problems)._replace(dialect=table.dialect)


def _of_folder(camp: Camp, folder: Path) -> Clients:
    try:
        names = sorted(entry.name for entry in os.scandir(folder) if entry.name.endswith((".yaml", ".yml")))
    except OSError as error:
        return Clients((), (camp.document.problem(("clients",), _unreadable(error)),))
    made = (Client(str(folder / name), Path(name).stem, folder / name) for name in names if not name.startswith("."))
    return _some(camp, tuple(made), ())


def _some(camp: Camp, clients: tuple[Client, ...], problems: Sequence[Problem]) -> Clients:
    if not clients and not problems:
        fault = Fault("no-clients", "there is no client here", "put a .yaml file, or a row, for each client")
        return Clients((), (camp.document.problem(("clients",), fault),))
    if len(clients) > MAX_CLIENTS:
        fault = Fault("too-large", f"more than {MAX_CLIENTS:,} clients", "part them into several camps")
        return Clients((), (camp.document.problem(("clients",), fault),))
    return Clients(clients, tuple(problems))


def inside(folder: Path, written: str) -> Path | Fault:
    """A path inside a folder, links followed; a Fault where it leads out or is not there."""
    try:
        home, found = folder.resolve(strict=True), (folder / written).resolve(strict=True)
    except (OSError, ValueError, RuntimeError) as error:
        return (
            _unreadable(error)
            if not isinstance(error, FileNotFoundError)
            else Fault("unreadable", f"there is no {written} beside this file", "check the name")
        )
    if not found.is_relative_to(home):
        hint = "put the files themselves into the folder of the camp file"
        return Fault("outside-folder", f"{written} leads out of the folder of the camp file", hint)
    return folder / written


def read_regular(path: Path, limit: int) -> bytes | Fault:
    """The bytes of a regular file; a link, a pipe, a folder or a device is refused, and so is a file over a limit."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        if path.is_symlink():
            return Fault("unreadable", "this is a link, so it was not read", "put the file itself here")
        handle = os.open(path, flags)
        with os.fdopen(handle, "rb") as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode):
                return Fault("unreadable", "this is no regular file, so it was not read", "put the file itself here")
            if status.st_size > limit:
                return Fault("too-large", f"over {limit:,} bytes, so it was not read", "a client is a few pages")
            return file.read(limit + 1)[: limit + 1]
    except (OSError, ValueError) as error:
        return _unreadable(error)


def fingerprint_of(client: Client) -> str:
    """What a client's text is, as a hash; empty where it cannot be read."""
    if client.row is not None:
        return sha256_of(client.row.text.encode("utf-8"))
    data = b"" if client.path is None else read_regular(client.path, MAX_BYTES)
    return sha256_of(data) if isinstance(data, bytes) else ""


def document_of(client: Client) -> tuple[Document | None, tuple[Problem, ...], str]:
    """A client's document, what is wrong with its text, and the hash of it."""
    if client.problem is not None:
        return None, (client.problem,), fingerprint_of(client)
    if client.row is not None:
        return client.row, (), fingerprint_of(client)
    assert client.path is not None
    data = read_regular(client.path, MAX_BYTES)
    if isinstance(data, Fault):
        return None, (data.at(client.name, 0, 0),), ""
    try:
        document, problems = read_document(data.decode("utf-8-sig"), client.name)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        fault = Fault("not-utf8", "this is not UTF-8 text from here on", "save the file as UTF-8")
        return None, (fault.at(client.name, line, 1),), sha256_of(data)
    return document, problems, sha256_of(data)


def id_of(document: Document | None) -> str | None:
    """The id that a client's document says, whatever else is wrong with it."""
    return _of_hunter(document, "id")


def name_of(document: Document | None) -> str | None:
    """The name that a client's document says, or else the id."""
    return _of_hunter(document, "name") or id_of(document)


def _of_hunter(document: Document | None, key: str) -> str | None:
    hunter = document.data.get("hunter") if document is not None and isinstance(document.data, dict) else None
    found = hunter.get(key) if isinstance(hunter, dict) else None
    return found if isinstance(found, str) and found.strip() else None


def _unreadable(error: Exception) -> Fault:
    reason = getattr(error, "strerror", None) or str(error)
    return Fault("unreadable", f"cannot be read: {reason}", "check the path and its rights")
