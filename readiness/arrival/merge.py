"""Records of another log file into this one: everything is checked before the first is written, and each once.

What is new is worked out again where the log has grown by the time it is this process's alone: two that take in one
file at the same moment would else write it twice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.arrival.log import Entry, append_chosen, parsed_lines, setup_hash, standing, strangers
from readiness.arrival.storage import read_bytes
from readiness.problems import Fault, Problem, has_errors

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from readiness.arrival.log import LogFile
    from readiness.trip.model import Trip


class Merged(NamedTuple):
    """The records that are new (none where anything is wrong), how many were there already, and every problem."""

    entries: tuple[Mapping[str, Any], ...]
    known: int
    problems: tuple[Problem, ...]


def take_in(other: Path, path: Path, into: LogFile, trip: Trip) -> Merged:
    """Write what another log file adds to a log.

    Parameters
    ----------
    other : the file that is taken in
    path : the log
    into : the log as it was read
    trip : its trip: every record must have been shot with this set-up, at its places

    """
    data = read_bytes(other)
    if isinstance(data, Problem):
        return Merged((), 0, (data,))
    return take_in_bytes(data, str(other), path, into, trip)


def take_in_bytes(data: bytes, name: str, path: Path, into: LogFile, trip: Trip) -> Merged:
    """The same of a file that has been read; name is what messages call it."""
    found = merged_bytes(data, name, into, trip)
    if not found.entries:
        return found

    def choose(log: LogFile) -> tuple[Mapping[str, Any], ...]:
        nonlocal found
        found = found if log is into else merged_bytes(data, name, log, trip)
        return found.entries

    problems = append_chosen(path, into, choose)
    return Merged(() if has_errors(problems) else found.entries, found.known, (*found.problems, *problems))


def merged_bytes(data: bytes, name: str, into: LogFile, trip: Trip) -> Merged:
    """What a file that has been read adds to a log; nothing is written."""
    if not data.strip():
        fault = Fault("unreadable", "there is no such file, or nothing in it", "check the path")
        return Merged((), 0, (fault.at(name, 0, 0),))
    found, problems = parsed_lines(data, name)
    problems = [problem._replace(severity="error") for problem in problems]  # half a file is no file
    new, known = _new(found, into, problems, name)
    problems += _other_setup(new, setup_hash(trip), name)
    problems += _other_client(new, trip.hunter_id, name)
    problems += [stranger._replace(severity="error") for stranger in strangers(new, name, trip)]
    problems += [odd for odd in standing((*into.entries, *new), name)[1] if odd.severity == "error"]
    problems.sort(key=lambda problem: (problem.line, problem))
    return Merged(() if has_errors(problems) else tuple(entry.data for entry in new), known, tuple(problems))


def _new(found: list[Entry], into: LogFile, problems: list[Problem], name: str) -> tuple[list[Entry], int]:
    """The records that the log does not have, each once, and how many it has; a second record of an id is an error."""
    have = {entry.id: entry.data for entry in into.entries}
    new: list[Entry] = []
    for entry in found:
        if entry.id not in have:
            have[entry.id] = entry.data
            new.append(entry)
        elif have[entry.id] != entry.data:
            fault = Fault("repeated-id", "this id stands for another record already", "log it anew by its own command")
            problems.append(fault.at(name, entry.line, 1))
    return new, len(found) - len(new)


def _other_setup(new: list[Entry], setup: str, name: str) -> Iterator[Problem]:
    others = [entry for entry in new if entry.data["setup"] != setup]
    if others:
        message = f"{len(others)} of {len(new)} new records were shot with another set-up than the trip file's"
        hint = "home, bow, arrow, heads and reference must be as they were when these arrows were shot"
        yield Fault("other-setup", message, hint).at(name, others[0].line, 1)


def _other_client(new: list[Entry], client: str | None, name: str) -> Iterator[Problem]:
    """Return forms that name somebody else than the trip does."""
    for entry in new:
        theirs = entry.data.get("client")
        if theirs is not None and theirs != client:
            message = f"this return form is of {theirs!r}, and the trip file's id is {client!r}"
            yield Fault("other-client", message, "take it into the log of that client").at(name, entry.line, 1)
