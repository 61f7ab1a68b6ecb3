"""One row of the overview for each client: how ready, what is missing, how far proven, what to do first."""

from __future__ import annotations

from sys import intern
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.readying import readiness_of
from readiness.showing import shown
from readiness.trip.gaps import gaps_of
from readiness.units import to_unit

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from readiness.plan import Plan
    from readiness.problems import Problem

BAD_FILE, NOT_READY, CANNOT_TELL, READY = "bad file", "not ready", "cannot tell", "ready"
STATUSES = (BAD_FILE, NOT_READY, CANNOT_TELL, READY)  # worst first
_ADVICE = ("cannot tell", "move", "confirm", "leave")  # most careful first
# What leaves readiness open where nothing is known to be wrong: a gap of the file, or a warning about its reference.
_OPEN_GAPS = ("gear", "reference.groups", "reference.bare_shaft")
_OPEN_WARNINGS = ("stale-reference", "undated-reference", "trip-past")


class Row(NamedTuple):
    """One client. Texts are as a page shows them; limit_there_yd is for machines."""

    status: str
    client: str
    id: str
    folder: str
    source: str
    waiting: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    limit_there_yd: float | None = None
    limit: str = ""
    far_pin: str = ""
    far_advice: str = ""
    updated: str = ""
    errors: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The row as JSON gives it."""
        return {key: list(value) if isinstance(value, tuple) else value for key, value in self._asdict().items()}


def row_from(data: dict[str, Any]) -> Row:
    """The row of what `as_dict` gave."""
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in data.items()}
    return kept_once(Row(**values))


def kept_once(row: Row) -> Row:
    """The same row. Clients lack the same things, so each text is kept once for all of them."""
    return Row._make(map(_kept_once, row))


def _kept_once(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_kept_once, value))
    return intern(value) if isinstance(value, str) else value


def row_of(plan: Plan, problems: Iterable[Problem], source: str, stem: str) -> Row:
    """The row of a client whose plan could be made; its folder is set by who knows the others."""
    trip = plan.trip
    found = readiness_of(trip, plan.rulings, plan.packing, gaps_of(trip))
    doubts = (
        *(f"cannot tell {gap.costs}: missing {gap.missing}" for gap in found.gaps if gap.missing in _OPEN_GAPS),
        *(problem.message for problem in problems if problem.code in _OPEN_WARNINGS),
    )
    limit = plan.forecast.limit_there_m
    far = max((pins.distance_m for _, case in plan.forecast.cases for pins in case.pins[-1:]), default=0.0)
    advice = [case.pins[-1].advice for _, case in plan.forecast.cases]
    return Row(
        status=NOT_READY if found.waiting else CANNOT_TELL if doubts else READY,
        client=trip.hunter_name or trip.hunter_id or stem,
        id=trip.hunter_id or "",
        folder="",
        source=source,
        waiting=found.waiting,
        stops=tuple(f"{step.title}: {step.reason}" for step in plan.stop_steps if step.reason != "always"),
        doubts=doubts,
        limit_there_yd=None if limit is None else round(to_unit(limit, "length", "yd"), 1),
        limit="cannot tell" if limit is None else shown(limit, "distance", plan.units),
        far_pin=shown(far, "distance", plan.units),
        far_advice=min(advice, key=_ADVICE.index),
        updated=_newest(plan),
    )


def bad_row(problems: Iterable[Problem], source: str, name: str, number: str | None) -> Row:
    """The row of a client whose file has errors; name is the best that is known."""
    from readiness.problems import show

    errors = tuple(show(problem).splitlines()[0] for problem in problems if problem.severity == "error")
    return Row(BAD_FILE, name, number or "", "", source, errors=errors)


def worst_first(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Rows in the order in which they need someone."""
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                STATUSES.index(row.status),
                -len(row.stops),
                -len(row.waiting),
                -len(row.doubts),
                row.client.casefold(),
                row.source,
            ),
        )
    )


def counted(rows: Iterable[Row]) -> tuple[tuple[str, int], ...]:
    """How many clients have each status, worst first."""
    statuses = [row.status for row in rows]
    return tuple((status, statuses.count(status)) for status in STATUSES)


def _newest(plan: Plan) -> str:
    """The newest day of the client's own records: of their reference, or of a change to the bow."""
    trip = plan.trip
    days: list[date] = [change.on for change in trip.changes]
    days += [trip.reference.shot_on] if trip.reference.shot_on else []
    return str(max(days)) if days else ""
