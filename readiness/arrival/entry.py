"""What was typed for the log -> the records to write, or every fault of it at once."""

from __future__ import annotations

import re
import secrets
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness import __version__
from readiness.arrival.answers import reading_of
from readiness.arrival.lines import log_schema
from readiness.arrival.log import setup_hash, unknown_name
from readiness.arrival.records import KINDS
from readiness.arrival.shots import read_shots
from readiness.problems import Fault, Problem, closest, excerpt
from readiness.trip.quantities import quantity_fault, read_si

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from readiness.arrival.records import Log
    from readiness.plan import Step
    from readiness.trip.model import Trip


class Typed(NamedTuple):
    """The options of one call, as typed; each is named like its option."""

    at: str | None = None
    distance: str | None = None
    kind: str | None = None
    shots: str | None = None
    unit: str | None = None
    head: str | None = None
    cold: bool = False
    temperature: str | None = None
    step: tuple[str, ...] = ()
    value: tuple[str, ...] = ()
    changed: str | None = None
    time: str | None = None


class Entered(NamedTuple):
    """The records to write (none where there is an error), the problems, and the steps whose answer is a failure."""

    entries: tuple[dict[str, Any], ...]
    problems: tuple[Problem, ...]
    failed: tuple[Step, ...] = ()


def entered(typed: Typed, trip: Trip, log: Log, steps: Mapping[str, Step], now: datetime) -> Entered:
    """The records of one call.

    Parameters
    ----------
    typed : its options
    trip : the trip
    log : what stands in its log: the last place is taken where none is typed
    steps : the steps of its plan, by id
    now : the moment that is recorded unless one is typed

    """
    asked = _Asked()
    stamp = {
        "time": asked.take("--time", moment(typed.time, now)),
        "version": __version__,
        "setup": setup_hash(trip),
        "at": asked.take("--at", place_named(typed.at, trip, log)),
    }
    made: list[dict[str, Any]] = []
    if typed.changed is not None:
        made.append({"record": "change", "what": asked.take("--changed", _written(typed.changed))})
    answers = list(_answers(typed, steps, asked))
    made += [{"record": "step", "step": step.id, "value": value} for step, value in answers]
    if typed.shots is not None:
        made.append(_shot_set(typed, trip, asked))
    else:
        asked.refuse_without_shots(typed)
    failed = tuple(step for step, value in answers if reading_of(value, step.expect) == "fail")
    entries = tuple(_headed(record, stamp) for record in made)
    return Entered(() if asked.is_refused else entries, tuple(asked.problems), failed)


def place_named(name: str | None, trip: Trip, log: Log) -> str | Fault:
    """The destination meant: by name, else where the last record was made, else the only one there is."""
    names = [place.name for place in trip.destinations]
    if name is not None:
        meant = next((known for known in names if known.casefold() == " ".join(name.split()).casefold()), None)
        return meant or unknown_name(name, names)
    if log.last_place in names:
        return str(log.last_place)
    listed = " or ".join(f'--at "{known}"' for known in names)
    return (
        names[0]
        if len(names) == 1
        else Fault("missing-place", "where was it? the trip has several places", f"add {listed}")
    )


def moment(text: str | None, now: datetime) -> str | Fault:
    """The time of a record, to the second with its offset: what was typed, in the offset of now if it names none.

    >>> moment("17:05", datetime.fromisoformat("2027-09-11T08:00:00+02:00"))
    '2027-09-11T17:05:00+02:00'
    """
    if text is None:
        return now.replace(microsecond=0).isoformat()
    try:
        when = datetime.fromisoformat(f"{now.date()}T{text.strip()}" if text.strip()[2:3] == ":" else text.strip())
        when = when.replace(microsecond=0, tzinfo=when.tzinfo or now.tzinfo)
        if not 1990 <= when.year <= 2200 or when.utcoffset() is None or when.utcoffset().seconds % 60:  # type: ignore[union-attr]
            raise ValueError
    except ValueError:
        return Fault("bad-time", f"{excerpt(text)!r} is no time", "write it as in 2027-09-11T17:05, or 17:05")
    return when.isoformat()


def moment_now(today: date | None) -> datetime:
    """Now, with the offset of this place; on the day that stands for today."""
    now = datetime.now().astimezone()
    return now.replace(year=today.year, month=today.month, day=today.day) if today else now


def undo_entry(log_entries: Iterable[Any], typed_id: str, trip: Trip, time: str) -> dict[str, Any] | Fault:
    """The record that takes another back: the one whose id begins as typed, or the last that stands."""
    standing = [entry for entry in log_entries if entry.record and entry.stands]
    found = [entry for entry in log_entries if typed_id and entry.id.startswith(typed_id.lower())]
    if typed_id and len(found) != 1:
        message = f"no record has the id {typed_id!r}" if not found else f"several ids begin with {typed_id!r}"
        return Fault("unknown-id", message, "readiness log TRIP --list shows every id")
    if typed_id and found[0] not in standing:
        what = "was taken back before" if found[0].record else "is itself an undo, and stays"
        return Fault("not-undone", f"{found[0].id} {what}", "nothing was changed")
    if not standing:
        return Fault("nothing-to-undo", "no record stands in this log", "nothing was changed")
    undone = found[0] if typed_id else standing[-1]
    stamp = {"time": time, "version": __version__, "setup": setup_hash(trip), "at": undone.data["at"]}
    return _headed({"record": "undo", "undoes": undone.id}, stamp)


def quantity(text: str, key: str) -> str | Fault:
    """A distance or a temperature as the log takes it."""
    schema = log_schema()["properties"][key]
    return quantity_fault(text, schema["x-quantity"], schema["examples"]) or " ".join(text.split())


class _Asked:
    """Collects what is wrong with the options of a call."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    @property
    def is_refused(self) -> bool:
        return any(problem.severity == "error" for problem in self.problems)

    def take(self, option: str, value: str | Fault) -> str:
        """A value that is right; a fault is put down under its option."""
        if isinstance(value, Fault):
            self.problems.append(value.at(option, 0, 0))
            return ""
        return value

    def refuse_without_shots(self, typed: Typed) -> None:
        """What only describes arrows says nothing without them."""
        for option in ("distance", "kind", "unit", "head", "cold", "temperature"):
            if getattr(typed, option):
                fault = Fault(
                    "without-shots", "this belongs to arrows, and there are none", 'add --shots "right,up; ..."'
                )
                self.take(f"--{option}", fault)


def _headed(record: dict[str, Any], stamp: Mapping[str, str]) -> dict[str, Any]:
    rest = {key: value for key, value in record.items() if key != "record"}
    return {"record": record["record"], "id": secrets.token_hex(6), **stamp, **rest}


def _written(text: str) -> str | Fault:
    plain = " ".join(text.split())
    if not plain or len(plain) > 400:
        return Fault("bad-size", "this is empty or over 400 characters", "write a few words")
    if not plain.isprintable():
        return Fault("bad-text", "this holds a character that no file should", "write letters, digits and signs")
    return plain


def _answers(typed: Typed, steps: Mapping[str, Step], asked: _Asked) -> Iterable[tuple[Step, str]]:
    """Each step with its answer; what cannot be read as pass or fail is told."""
    if len(typed.step) != len(typed.value):
        message = f"there are {len(typed.step)} --step and {len(typed.value)} --value"
        asked.take(
            "--step", Fault("one-of-two", message, 'write them in pairs: --step ARR-010 --value "pass: no crack"')
        )
    for name, text in zip(typed.step, typed.value, strict=False):
        step = steps.get(name.strip().upper())
        if step is None:
            asked.take("--step", _unknown_step(name, steps))
            continue
        value = asked.take("--value", _written(text))
        if value and reading_of(value, step.expect) == "cannot tell":
            asked.problems.append(unread(step, value))
        yield step, value


def unread(step: Step, value: str) -> Problem:
    """That an answer is written down, and counts as none."""
    message = f"{step.id}: {value!r} says neither pass nor fail, so the step counts as unanswered"
    return Fault("cannot-tell", message, f'wanted is: {step.expect} Begin with "pass:" or "fail:"', "warning").at(
        "--value", 0, 0
    )


def _unknown_step(name: str, steps: Mapping[str, Step]) -> Fault:
    meant = _step_meant(name, steps)
    hint = f"did you mean {meant} ({steps[meant].title})?" if meant else "readiness plan shows every id"
    return Fault("unknown-step", f"the plan has no step {excerpt(name)!r}", hint)


def _step_meant(name: str, steps: Iterable[str]) -> str | None:
    """The one step that has this number, under these letters or, where no step has them, under like ones.

    Another number is never offered: it would be another check, passed by a tired man who takes the offer.
    """
    parts = [(known, match) for known in steps if (match := _STEP_ID.fullmatch(known))]
    typed = _STEP_ID.fullmatch(name.strip().upper())
    if typed is None:
        return None
    letters = {match[1] for _, match in parts}
    like = {typed[1]} if typed[1] in letters else {one for one in letters if closest(typed[1].lower(), [one.lower()])}
    found = [known for known, match in parts if match[1] in like and int(match[2]) == int(typed[2])]
    return found[0] if len(found) == 1 else None


_STEP_ID = re.compile(r"([A-Z]+)[\s_.-]*([0-9]{1,9})")


def _shot_set(typed: Typed, trip: Trip, asked: _Asked) -> dict[str, Any]:
    unit, kind = typed.unit or unit_of(trip), typed.kind or "fletched"
    if typed.distance is None:
        fault = Fault("missing-distance", "how far was it?", 'add --distance "20 yd"')
        distance = asked.take("--distance", fault)
    else:
        distance = asked.take("--distance", quantity(typed.distance, "distance"))
    record: dict[str, Any] = {"record": "shots", "distance": distance, "kind": kind}
    head = head_named(typed.head, kind, trip)
    if head is not None:
        record["head"] = asked.take("--head", head)
    if typed.cold:
        record["cold"] = True
    record["unit"] = unit
    if typed.temperature is not None:
        record["temperature"] = asked.take("--temperature", quantity(typed.temperature, "temperature"))
    record["shots"], wrong = read_shots(typed.shots or "", unit)
    asked.problems += wrong
    reference = trip.reference.bare_shaft
    if kind == "bare" and distance and reference and read_si(distance, "length") > reference.distance_m * 1.0001:
        far = Fault(
            "far-bare-shaft",
            f"a bare shaft at {distance} is beyond the distance of its reference: nothing says where it should land",
            "shoot it at the distance of the reference; a bare shaft can leave the line",
            "warning",
        )
        asked.problems.append(far.at("--distance", 0, 0))
    return record


def unit_of(trip: Trip) -> str:
    """The unit in which the trip's archer measures on the butt."""
    return "in" if trip.units == "imperial" else "cm"


def head_named(name: str | None, kind: str, trip: Trip) -> str | Fault | None:
    """The hunting head of a set of broadheads; None where none belongs to it."""
    assert kind in KINDS
    names = [head.name for head in trip.hunting_heads]
    if kind != "broadhead":
        fault = Fault(
            "not-for-this-kind", f"a {kind} arrow has no head to name", "add --kind broadhead, or leave it out"
        )
        return fault if name is not None else None
    if name is not None:
        meant = next((known for known in names if known.casefold() == " ".join(name.split()).casefold()), None)
        return meant or unknown_name(name, names)
    if len(names) == 1:
        return names[0]
    if not names:
        return Fault("missing-head", "the trip has no hunting head", "add it to the trip's heads")
    listed = " or ".join(f'--head "{known}"' for known in names)
    return Fault("missing-head", "which head was it? the trip has several", f"add {listed}")
