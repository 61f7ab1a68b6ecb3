"""What came back from a client: their log, its newest return form, and what in that is worth a call."""

from __future__ import annotations

import os
from collections import Counter
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.arrival.log import LogFile, log_path, read_lines, setup_hash
from readiness.arrival.records import Form, Log
from readiness.arrival.storage import MAX_LOG_BYTES
from readiness.camp.clients import read_regular
from readiness.filenames import folder_key, safe_name
from readiness.files import sha256_of
from readiness.problems import Fault, Problem
from readiness.showing import shown
from readiness.trip.quantities import read_si
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from readiness.camp.clients import Client
    from readiness.trip.model import Trip
    from readiness.units import UnitSystem

_WEIGHT_OFF_N = from_unit(1, "force", "lb") * 1.000001  # what two scales differ by; common practice, no source


class Returned(NamedTuple):
    """The newest return form: its day, the distance verified in it as written, what is worth a call, and all it says.

    A distance that was verified with another set-up than the client has now is none for this one: it stands in
    verified_otherwise.
    """

    on: str = ""
    verified: str = ""
    verified_otherwise: str = ""
    calls: tuple[str, ...] = ()
    form: tuple[str, ...] = ()  # key: value, that of a group with a dot


def logs_of(clients: Sequence[Client], ids: Sequence[str | None]) -> tuple[Path | None, ...]:
    """Where each client's log stands: beside their file, or beside the table by their id; None where two share one."""
    paths = [_log_of(client, client_id) for client, client_id in zip(clients, ids, strict=True)]
    counted = Counter(folder_key(path.name) for path in paths if path is not None)
    return tuple(None if path is None or counted[folder_key(path.name)] > 1 else path for path in paths)


def unread_logs(clients: Sequence[Client], ids: Sequence[str | None]) -> Iterator[Problem]:
    """A warning for each log that is there and is not read, because it would be that of more than one client."""
    sharing: dict[str, list[tuple[Client, Path]]] = {}  # what their logs are called -> who
    for client, client_id in zip(clients, ids, strict=True):
        path = _log_of(client, client_id)
        if path is not None:
            sharing.setdefault(folder_key(path.name), []).append((client, path))
    for several in sharing.values():
        if len(several) > 1:
            names = " and ".join(client.name for client, _ in several[:2])
            more = f" and {len(several) - 2} more" if len(several) > 2 else ""
            message = f"this log is not read, and no form in it counts: it would be that of {names}{more}"
            fault = Fault("shared-log", message, "give each client an id, and a file name, of their own", "warning")
            yield from (fault.at(path, 0, 0) for path in sorted({str(path) for _, path in several if path.exists()}))


def _log_of(client: Client, client_id: str | None) -> Path | None:
    if client.path is not None:
        return log_path(client.path)
    if client.table is None or client_id is None:
        return None
    return client.table.with_name(f"{client.table.stem}.{safe_name(client_id)}.log.jsonl")


def log_print(path: Path | None) -> str:
    """What a log is, as a hash; empty where there is none."""
    if path is None or not os.path.lexists(path):
        return ""
    data = read_regular(path, MAX_LOG_BYTES)
    return sha256_of(data) if isinstance(data, bytes) else data.code


def log_in(path: Path | None) -> LogFile | Problem:
    """A client's log as it was read, or why it cannot be; a link is not followed."""
    if path is None or not os.path.lexists(path):
        return LogFile((), ())
    data = read_regular(path, MAX_LOG_BYTES)
    return data.at(str(path), 0, 0) if isinstance(data, Fault) else read_lines(data, str(path))


def returned_of(trip: Trip, log: Log) -> Returned:
    """The newest return form of a client's log against their trip; nothing where none came back."""
    forms = [record for record in log.records if isinstance(record, Form)]
    if not forms:
        return Returned()
    newest = max(enumerate(forms), key=lambda entry: (_moment(entry[1]), entry[0]))[1]
    verified, same = newest.values.get("verified_distance", ""), newest.stamp.setup == setup_hash(trip)
    return Returned(
        on=newest.stamp.time[:10],
        verified=verified if same else "",
        verified_otherwise="" if same else verified,
        calls=tuple(_calls(trip, newest, same=same)),
        form=tuple(_said(newest.values)),
    )


def _said(values: Mapping[str, Any], above: str = "") -> Iterator[str]:
    """Each value of a form behind its key."""
    for key, value in values.items():
        if isinstance(value, dict):
            yield from _said(value, f"{above}{key}.")
        else:
            yield f"{above}{key}: {value}"


def _moment(form: Form) -> float:
    """When a form was filled in, in seconds; the offset from UTC counts."""
    return datetime.fromisoformat(form.stamp.time).timestamp()


def _calls(trip: Trip, form: Form, *, same: bool) -> Iterator[str]:
    values, units = form.values, _units_of(trip)
    if not same:
        yield "the return form was filled in for another set-up than theirs of now, so nothing is verified"
    weight = values.get("draw_weight")
    if weight is not None and abs(read_si(weight, "force") - trip.bow.draw_weight_n) > _WEIGHT_OFF_N:
        yield f"draw weight {weight} in the return form, {trip.entered['bow.draw_weight']} as you have it"
    far, verified = max(trip.bow.sight.pins_m), values.get("verified_distance")
    if same and verified is not None and read_si(verified, "length") < far * (1 - 1e-9):
        yield f"verified to {verified}, and the farthest pin is {shown(far, 'distance', units)}"
    if values.get("second_release") == "no":
        yield "no second release"
    if values.get("education_number_seen") == "no":
        yield "education number not seen"


def _units_of(trip: Trip) -> UnitSystem:
    return "metric" if trip.units == "metric" else "imperial"
