"""The camp log of a trip: read into records, what stands told from what was undone, and appended to."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.arrival.lines import read_line, to_line
from readiness.arrival.records import Change, Form, Log, Record, Shot, ShotSet, Stamp, StepAnswer
from readiness.arrival.storage import append_lines, read_bytes, torn_path
from readiness.files import sha256_of
from readiness.problems import Fault, Problem, closest
from readiness.trip.quantities import read_si
from readiness.units import ZERO_CELSIUS_K, from_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from readiness.trip.model import Trip

_SET_UP = ("home", "bow", "arrow", "heads", "reference")
_MOST_BAD_LINES = 200


class Entry(NamedTuple):
    """One line of the log that could be read: its data, its record (None: it takes another back), whether it stands."""

    data: Mapping[str, Any]
    record: Record | None
    line: int
    stands: bool = True

    @property
    def id(self) -> str:
        """Its id."""
        return str(self.data["id"])


class LogFile(NamedTuple):
    """A log as it was read: every readable line in order, every problem, and the bytes."""

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]
    data: bytes = b""

    @property
    def log(self) -> Log:
        """The records that stand."""
        return Log(tuple(entry.record for entry in self.entries if entry.record and entry.stands))


def log_path(trip_file: str | Path) -> Path:
    """Where the log of a trip file stands.

    >>> log_path("hunts/trip.yaml").as_posix()
    'hunts/trip.log.jsonl'
    """
    return Path(trip_file).with_suffix(".log.jsonl")


def setup_hash(trip: Trip) -> str:
    """The set-up of a trip as 16 hexadecimal digits: home, bow, arrow, heads and reference as they were entered."""
    data: dict[str, Any] = {}
    for path, value in trip.entered.items():
        if path.split(".")[0].split("[")[0] in _SET_UP:
            _put(data, _steps(path), value)
    canonical = json.dumps(_listed(data), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return sha256_of(canonical.encode("utf-8"))[:16]


def read_log(path: Path, trip: Trip | None = None) -> tuple[Log, tuple[Problem, ...]]:
    """The records of a log that stand, those of every set-up, and every problem of the file.

    Parameters
    ----------
    path : the log; one that is not there is empty
    trip : if given, places and heads that it does not know are warnings

    Returns
    -------
    the log, and the problems by line: an error where a line was left out, else a warning. `of_setup` tells the
    records of one set-up from the others

    """
    found = read_log_file(path)
    return found.log, (*found.problems, *(strangers(found.entries, str(path), trip) if trip else ()))


def of_setup(log: Log, setup: str) -> tuple[Log, Log]:
    """The records shot with a set-up, by its hash, and those shot with any other: they are never judged together."""
    own = tuple(record for record in log.records if record.stamp.setup == setup)
    return Log(own), Log(tuple(record for record in log.records if record.stamp.setup != setup))


def read_log_file(path: Path) -> LogFile:
    """Every line of a log; no data can make it raise."""
    data = read_bytes(path)
    return LogFile((), (data,)) if isinstance(data, Problem) else read_lines(data, str(path))


def read_lines(data: bytes, name: str) -> LogFile:
    r"""Every line of a log, from its bytes.

    >>> read_lines(b'\n{"record": ', "trip.log.jsonl").problems[0].code
    'torn-line'
    """
    entries, problems = parsed_lines(data, name)
    entries, more = standing(entries, name)
    told = sorted({*problems, *more}, key=lambda problem: (problem.line, problem))
    return LogFile(tuple(entries), tuple(told), data)


def parsed_lines(data: bytes, name: str) -> tuple[list[Entry], list[Problem]]:
    """Every readable line by itself, whatever the others say."""
    entries: list[Entry] = []
    problems: list[Problem] = []
    lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    bad = 0
    for number, raw in enumerate(lines, 1):
        if not raw.strip():
            continue
        found, wrong = read_line(raw, name, number)
        if found is None and number == len(lines):
            wrong = (_torn(name, number),)
        elif found is None:
            bad += 1
        problems.extend(wrong)
        if found is not None:
            entries.append(Entry(found, _record(found), number))
        if bad >= _MOST_BAD_LINES:
            problems.append(_given_up(name, number))
            break
    return entries, problems


def append(path: Path, entries: Iterable[Mapping[str, Any]]) -> tuple[Problem, ...]:
    """Append records, all or none, as one write; on return without an error they are on the disk.

    Parameters
    ----------
    path : the log; it is made where there is none
    entries : the data of each record, with the keys of the log's schema

    Returns
    -------
    problems: an error means that nothing was written, a warning that a torn line was set aside first

    """
    lines = [to_line(entry) for entry in entries]
    wrong = [problem for line in lines for problem in read_line(line.encode("utf-8")[:-1], "the new record")[1]]
    if wrong or not lines:
        return tuple(wrong)
    return append_lines(path, "".join(lines), lambda tail: read_line(tail, str(path))[0] is not None)


def append_chosen(
    path: Path, seen: LogFile, choose: Callable[[LogFile], Iterable[Mapping[str, Any]]]
) -> tuple[Problem, ...]:
    """Append what a function makes of the log, so that nothing comes between its look and the writing.

    Parameters
    ----------
    path : the log
    seen : the log as it was read before: not read again where it has stayed as it was
    choose : gives the data of the records, already checked, or none

    """

    def text(now: bytes) -> str:
        log = seen if now == seen.data else read_lines(now, str(path))
        return "".join(map(to_line, choose(log)))

    return append_lines(path, text, lambda tail: read_line(tail, str(path))[0] is not None)


def _steps(path: str) -> list[str | int]:
    """A dotted path as steps: `heads[1].mass` is heads, 1, mass. The archer's own marks may hold any sign."""
    marks = "reference.marks."
    if path.startswith(marks):
        return ["reference", "marks", path.removeprefix(marks)]
    steps: list[str | int] = []
    for part in path.split("."):
        key, *numbers = part.split("[")
        steps += [key, *(int(number.rstrip("]")) for number in numbers)]
    return steps


def _put(data: dict[str | int, Any] | dict[str, Any], steps: list[str | int], value: Any) -> None:
    """Set a value deep inside; a list is a mapping of its indices until all of it is there."""
    here: Any = data
    for step in steps[:-1]:
        here = here.setdefault(step, {})
    here[steps[-1]] = value


def _listed(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    if value and all(isinstance(key, int) for key in value):
        return [_listed(value[key]) for key in sorted(value)]
    return {key: _listed(below) for key, below in value.items()}


def _record(data: Mapping[str, Any]) -> Record | None:
    """The record of checked data; None for one that takes another back."""
    stamp = Stamp(*(data[key] for key in Stamp._fields))
    if data["record"] == "change":
        return Change(stamp, data["what"])
    if data["record"] == "step":
        return StepAnswer(stamp, data["step"], data["value"])
    if data["record"] == "undo":
        return None
    if data["record"] == "form":
        return Form(stamp, data.get("client"), data["values"])
    warmth = data.get("temperature")
    return ShotSet(
        stamp,
        read_si(data["distance"], "length"),
        data["kind"],
        tuple(_shot(shot, data["unit"]) for shot in data["shots"]),
        data.get("head"),
        data.get("cold", False),
        None if warmth is None else read_si(warmth, "temperature") - ZERO_CELSIUS_K,
    )


def _shot(data: Mapping[str, Any], unit: str) -> Shot:
    arrow = int(data["arrow"]) if "arrow" in data else None
    if "outside" in data:
        return Shot(0.0, 0.0, arrow, outside=True)
    right, up = (from_unit(data[key], "length", unit) for key in ("right", "up"))
    return Shot(right, up, arrow)


def standing(entries: Iterable[Entry], name: str) -> tuple[list[Entry], list[Problem]]:
    """Each id once, and what was taken back marked; with what is odd about it."""
    kept: dict[str, Entry] = {}
    problems: list[Problem] = []
    for entry in entries:
        fault = _repeated(entry, kept) if entry.id in kept else None
        undone = kept.get(entry.data.get("undoes", ""))
        if fault is None and entry.record is None:
            fault = _undo_fault(entry, undone)
        if fault:
            problems.append(fault.at(name, entry.line, 1))
        if entry.id in kept or (fault and fault.severity == "error"):
            continue
        kept[entry.id] = entry
        if entry.record is None and undone:
            kept[undone.id] = undone._replace(stands=False)
    return list(kept.values()), problems


def _repeated(entry: Entry, kept: Mapping[str, Entry]) -> Fault:
    first = kept[entry.id]
    if first.data == entry.data:
        return Fault("repeated-id", f"this is line {first.line} once more; it counts once", "", "warning")
    return Fault("repeated-id", f"line {first.line} has this id already, so this one is left out", "give it another id")


def _undo_fault(entry: Entry, undone: Entry | None) -> Fault | None:
    if undone is None:
        return Fault(
            "unknown-id", f"no line before this one has the id {entry.data['undoes']}", "nothing was taken back"
        )
    if undone.record is None:
        return Fault("not-undone", "an undo cannot be taken back", "log the record again instead")
    if not undone.stands:
        return Fault("not-undone", f"{undone.id} was taken back before; it stays so", "", "warning")
    return None


def _torn(name: str, line: int) -> Problem:
    return Fault(
        "torn-line",
        "the last line was cut off while it was written, so it does not count",
        f"it was never acknowledged; the next record moves it to {torn_path(Path(name)).name}",
        "warning",
    ).at(name, line, 1)


def _given_up(name: str, line: int) -> Problem:
    message = f"{_MOST_BAD_LINES} lines are wrong, so nothing is read from here on"
    return Fault("bad-log", message, "this may be no camp log: look at it").at(name, line, 1)


def strangers(entries: Iterable[Entry], name: str, trip: Trip) -> Iterable[Problem]:
    """A warning for each place and head of a standing record that the trip does not know."""
    known = {"at": [place.name for place in trip.destinations], "head": [head.name for head in trip.hunting_heads]}
    for entry in entries:
        for key, names in known.items():
            found = entry.data.get(key)
            if found is not None and found not in names and entry.record and entry.stands:
                fault = unknown_name(found, names)._replace(severity="warning")
                yield fault.at(name, entry.line, 1)


def unknown_name(name: str, names: list[str]) -> Fault:
    """A name that the trip does not have, with the one that was meant.

    >>> unknown_name("Marsh hat", ["Marsh hut", "Ridge"]).hint
    'did you mean Marsh hut?'
    """
    by_small = {known.casefold(): known for known in names}
    close = closest(name.casefold(), by_small)
    hint = f"did you mean {by_small[close]}?" if close else f"the trip has {', '.join(names) or 'none'}"
    return Fault("unknown-name", f"the trip has no {name!r}", hint)
