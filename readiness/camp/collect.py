"""Files that clients sent back -> records in their logs. Each file is taken whole or not at all, and left as it is.

What a file says is checked against the client's own trip. That someone made it up on purpose cannot be found out:
nothing in it is signed.
"""

from __future__ import annotations

import os
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.log import parsed_lines, setup_hash
from readiness.arrival.merge import take_in_bytes
from readiness.arrival.records import Form
from readiness.arrival.storage import MAX_LOG_BYTES
from readiness.camp.clients import document_of, read_regular
from readiness.camp.merge import load_client
from readiness.camp.returned import log_in, logs_of
from readiness.filenames import folder_key, safe_name
from readiness.problems import Fault, Problem, has_errors

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from readiness.arrival.log import Entry
    from readiness.camp.clients import Client
    from readiness.camp.making import Setting

NO_PROOF = (
    "Ids, set-ups, places and values were checked. Whether someone made a file up on purpose cannot be told: nothing "
    "in it is signed."
)
_MOST_TOLD = 10  # mistakes of one file
_MOST_OWNERS = 3  # clients of one set-up


class Collected(NamedTuple):
    """One file that was taken in: whose it is, how many records are new, and how many were there already."""

    file: str
    client: str
    new: int
    known: int


class Collection(NamedTuple):
    """The files that were taken in, for each that was refused why, and what was passed over for its name."""

    taken: tuple[Collected, ...]
    problems: tuple[Problem, ...]
    passed_over: tuple[str, ...] = ()


def collect(inbox: Path, setting: Setting, clients: Sequence[Client], ids: Sequence[str | None]) -> Collection:
    """Take every `.jsonl` file of a folder into the log of its client.

    Parameters
    ----------
    inbox : the folder; nothing in it is changed, folders in it are not looked into
    setting : camp and day
    clients : the clients of the camp
    ids : the id of each, or None where their file says none

    """
    book = _Book(setting, clients, ids, logs_of(clients, ids), [])
    taken: list[Collected] = []
    problems: list[Problem] = []
    logs, others = _names(inbox)
    for name in logs:
        found = _take(inbox / name, name, book)
        if isinstance(found, Collected):
            taken.append(found)
        else:
            problems += _shortened(found, str(inbox / name))
    return Collection(tuple(taken), tuple(problems), others)


class _Book(NamedTuple):
    """Who the clients are, and where their logs stand."""

    setting: Setting
    clients: Sequence[Client]
    ids: Sequence[str | None]
    logs: Sequence[Path | None]
    setups: list[tuple[str, str]]  # filled when first asked for


def _names(inbox: Path) -> tuple[list[str], tuple[str, ...]]:
    """The names of the logs in a folder, and of everything else; a folder's ends with a slash."""
    with os.scandir(inbox) as entries:
        found = sorted((entry.name, entry.is_dir(follow_symlinks=False)) for entry in entries)
    logs = [name for name, is_folder in found if not is_folder and _is_log(name)]
    others = (f"{name}/" if is_folder else name for name, is_folder in found if is_folder or not _is_log(name))
    return logs, tuple(others)


def _is_log(name: str) -> bool:
    return name.casefold().endswith(".jsonl") and not name.startswith(".")


def _take(path: Path, name: str, book: _Book) -> Collected | Sequence[Problem]:
    """One file into its client's log, or why not."""
    data = read_regular(path, MAX_LOG_BYTES)
    if isinstance(data, Fault):
        hint = "a log is far smaller; ask for it anew" if data.code == "too-large" else data.hint
        return [data._replace(hint=hint).at(str(path), 0, 0)]
    entries, problems = parsed_lines(data, str(path))
    if problems:
        return [problem._replace(severity="error") for problem in problems]  # half a file is no file
    index = _whose(entries, path, name, book)
    if isinstance(index, Problem):
        return [index]
    odd = tuple(_of_tomorrow(entries, str(path), book.setting.today))
    return odd or _into_log(data, path, index, book)


def _into_log(data: bytes, path: Path, index: int, book: _Book) -> Collected | Sequence[Problem]:
    client, own = book.clients[index], book.logs[index]
    if own is None:
        fault = Fault(
            "no-log", f"{client.name} has no log of their own", "give each client an id and a file name of their own"
        )
        return [fault.at(str(path), 1, 1)]
    document, _, _ = document_of(client)
    setting = book.setting
    trip = load_client(document, setting.camp.document, setting.told, setting.today).trip if document else None
    if trip is None:
        fault = Fault(
            "bad-client", f"{client.name} has mistakes, so nothing was added", "mend that file, collect again"
        )
        return [fault.at(str(path), 1, 1)]
    log = log_in(own)
    if isinstance(log, Problem):
        return [log]
    found = take_in_bytes(data, str(path), own, log, trip)
    if has_errors(found.problems):
        return [problem for problem in found.problems if problem.severity == "error"]
    return Collected(path.name, book.ids[index] or client.stem, len(found.entries), found.known)


def _whose(entries: Sequence[Entry], path: Path, name: str, book: _Book) -> int | Problem:
    """Which client a file is of: by the id in its return form, else by its own name."""
    said = {entry.data["client"]: entry.line for entry in entries if "client" in entry.data}
    if len(said) > 1:
        told = " and ".join(map(repr, list(said)[:2]))
        fault = Fault(
            "two-clients", f"return forms of {told} stand in one file", "ask each client for a file of theirs"
        )
        return fault.at(str(path), max(said.values()), 1)
    if said:
        ((wanted, line),) = said.items()
        found = [index for index, client_id in enumerate(book.ids) if client_id == wanted]
    else:
        wanted, line = name[: -len(".jsonl")], 1
        found = _named(wanted, book) or _named(wanted.removesuffix(".log"), book)
    if len(found) == 1:
        return found[0]
    return _not_one(wanted, found, entries, book).at(str(path), line, 1)


def _named(wanted: str, book: _Book) -> list[int]:
    """The clients whose id, or whose file's name where they have none, is a file's name."""
    keys = (
        folder_key(safe_name(client_id or client.stem))
        for client, client_id in zip(book.clients, book.ids, strict=True)
    )
    return [index for index, key in enumerate(keys) if key == folder_key(safe_name(wanted))]


def _not_one(wanted: str, found: Sequence[int], entries: Sequence[Entry], book: _Book) -> Fault:
    """Why nobody's log takes a file: an id of two clients, or of none. What an id is spelt like says nothing."""
    if found:
        names = " and ".join(book.clients[index].name for index in found[:2])
        return Fault("repeated-id", f"{wanted!r} is the id of {names}", "give each client an id of their own")
    setups = {entry.data.get("setup") for entry in entries}
    owners = [name for setup, name in _setups(book) if setup in setups]
    more = f" and {len(owners) - _MOST_OWNERS} more" if len(owners) > _MOST_OWNERS else ""
    names = f"{', '.join(owners[:_MOST_OWNERS])}{more}"
    hint = f"its set-up is that of {names}: ask whether they sent it" if owners else "ask who sent it"
    return Fault("unknown-id", f"no client of this camp has the id {wanted[:60]!r}", hint)


def _setups(book: _Book) -> Iterator[tuple[str, str]]:
    """Set-up and id of each client whose file is good; worked out once in a run, and only if asked."""
    setting = book.setting
    if not book.setups:
        for client, client_id in zip(book.clients, book.ids, strict=True):
            document, _, _ = document_of(client)
            trip = load_client(document, setting.camp.document, setting.told, setting.today).trip if document else None
            book.setups.append((setup_hash(trip) if trip else "", client_id or client.stem))
    yield from (found for found in book.setups if found[0])


def _of_tomorrow(entries: Sequence[Entry], name: str, today: date) -> Iterator[Problem]:
    """Return forms of a day yet to come, which no later form could replace; a time zone may be a day ahead."""
    last = (today + timedelta(days=1)).isoformat()
    for entry in entries:
        if isinstance(entry.record, Form) and entry.record.stamp.time[:10] > last:
            message = f"this return form is dated {entry.record.stamp.time[:10]}, and today is {today}"
            yield Fault("future-date", message, "set the phone's clock, and save the form anew").at(name, entry.line, 1)


def _shortened(problems: Sequence[Problem], name: str) -> Sequence[Problem]:
    if len(problems) <= _MOST_TOLD:
        return problems
    more = Fault("bad-log", f"{len(problems) - _MOST_TOLD} more mistakes stand in this file", "is it a log at all?")
    return [*problems[:_MOST_TOLD], more.at(name, problems[_MOST_TOLD].line, 1)]
