"""Records of another log file into this one: everything is checked before the first is written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.arrival.log import Entry, parsed_lines, setup_hash, standing, strangers
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


def merged(other: Path, into: LogFile, trip: Trip) -> Merged:
    """What another log file adds to a log.

    Parameters
    ----------
    other : the file that is taken in
    into : the log as it was read
    trip : its trip: every record must have been shot with this set-up, at its places

    """
    name = str(other)
    data = read_bytes(other)
    if not isinstance(data, Problem) and not data.strip():
        data = Fault("unreadable", "there is no such file, or nothing in it", "check the path").at(name, 0, 0)
    if isinstance(data, Problem):
        return Merged((), 0, (data,))
    found, problems = parsed_lines(data, name)
    problems = [problem._replace(severity="error") for problem in problems]  # half a file is no file
    new, known = _new(found, into, problems, name)
    problems += _other_setup(new, setup_hash(trip), name)
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
