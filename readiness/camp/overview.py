"""One row of the overview for each client: how ready, what is missing, how far proven, what to do first."""

from __future__ import annotations

from sys import intern
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.answer import CARE
from readiness.camp.returned import Returned
from readiness.packing import plain
from readiness.readying import readiness_of
from readiness.showing import shown
from readiness.trip.gaps import gaps_of
from readiness.units import to_unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from readiness.camp.model import Bring
    from readiness.plan import Plan
    from readiness.problems import Problem
    from readiness.trip.model import Trip

BAD_FILE, NOT_READY, CANNOT_TELL, READY = "bad file", "not ready", "cannot tell", "ready"
STATUSES = (BAD_FILE, NOT_READY, CANNOT_TELL, READY)  # worst first
# What leaves readiness open where nothing is known to be wrong: a warning about the reference, or a gap of the file,
# each in words to the outfitter, who looks for what to ask the client.
_OPEN_GAPS = {
    "gear": "gear is not filled in: cannot tell what is missing, or in a wrong bag",
    "reference.groups": "reference.groups is not filled in: cannot tell what their groups show; no advice, no limit",
    "reference.bare_shaft": "reference.bare_shaft is not filled in: cannot tell whether the bow or the sight moved",
}
_OPEN_WARNINGS = ("stale-reference", "undated-reference", "old-reference", "trip-past")
MOST_ERRORS = 100  # of one file in the overview; the screen has all

NOTHING = Returned()
NO_PAPERS = "no papers until this is mended; those of an earlier run were taken away"


class Row(NamedTuple):
    """One client. Texts are as a page shows them; limit_there_yd is for machines.

    hints has what to type for each of errors. verified_otherwise was verified with another set-up than they have now.
    """

    status: str
    client: str
    id: str
    folder: str
    source: str
    unsafe: tuple[str, ...] = ()  # equipment that must not be shot
    unmet: tuple[str, ...] = ()  # requirements not met
    untold: tuple[str, ...] = ()  # requirements that cannot be told
    unpacked: tuple[str, ...] = ()  # missing, in a wrong bag, over a limit
    stops: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    limit_there_yd: float | None = None
    limit: str = ""
    far_pin: str = ""
    far_advice: str = ""
    updated: str = ""
    errors: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()
    returned: str = ""
    verified: str = ""
    verified_otherwise: str = ""
    calls: tuple[str, ...] = ()
    recommended: tuple[str, ...] = ()  # by the camp, and not in their gear
    form: tuple[str, ...] = ()  # the newest return form, key: value

    @property
    def waiting(self) -> tuple[str, ...]:
        """Everything that must be settled, the gravest first."""
        return (*self.unsafe, *self.unmet, *self.untold, *self.unpacked)

    @property
    def mark(self) -> str:
        """What tells this client from one of the same name: the folder, or the id where there is no folder."""
        return self.folder or self.id

    def as_dict(self) -> dict[str, Any]:
        """The row as the manifest keeps it."""
        return {key: list(value) if isinstance(value, tuple) else value for key, value in self._asdict().items()}

    def for_machines(self) -> dict[str, Any]:
        """The row as JSON gives it: with everything that must be settled in one list, too, and the form by its keys."""
        form = {key: value for key, _, value in (said.partition(": ") for said in self.form)}
        return {**self.as_dict(), "form": form, "waiting": list(self.waiting)}


def row_from(data: dict[str, Any]) -> Row:
    """The row of what `as_dict` gave; KeyError where a field is missing."""
    values = (data[key] for key in Row._fields)
    return kept_once(Row._make(tuple(value) if isinstance(value, list) else value for value in values))


def kept_once(row: Row) -> Row:
    """The same row. Clients lack the same things, so each text is kept once for all of them."""
    return Row._make(map(_kept_once, row))


def _kept_once(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_kept_once, value))
    return intern(value) if isinstance(value, str) else value


def row_of(
    plan: Plan,
    problems: Iterable[Problem],
    source: str,
    stem: str,
    came: Returned = NOTHING,
    bring: Iterable[Bring] = (),
) -> Row:
    """The row of a client whose plan could be made; its folder is set by who knows the others.

    Parameters
    ----------
    plan : the client's plan
    problems : what was told of their file
    source : their file or row, [text]
    stem : what they are called where the file says neither name nor id, [text]
    came : what came back from them
    bring : what the camp asks them to bring

    """
    trip = plan.trip
    found = readiness_of(trip, plan.rulings, plan.packing, gaps_of(trip))
    doubts = (
        *(_OPEN_GAPS[gap.missing] for gap in found.gaps if gap.missing in _OPEN_GAPS),
        *(problem.message for problem in problems if problem.code in _OPEN_WARNINGS),
    )
    stops = tuple(f"{step.title}: {step.reason}" for step in plan.raised_stops)
    limit = plan.forecast.limit_there_m
    far = max((pins.distance_m for _, case in plan.forecast.cases for pins in case.pins[-1:]), default=0.0)
    advice = [case.pins[-1].advice for _, case in plan.forecast.cases]
    return Row(
        status=NOT_READY if found.waiting or stops else CANNOT_TELL if doubts else READY,
        client=trip.hunter_name or trip.hunter_id or stem,
        id=trip.hunter_id or "",
        folder="",
        source=source,
        unsafe=found.unsafe,
        unmet=found.unmet,
        untold=found.untold,
        unpacked=found.unpacked,
        stops=stops,
        doubts=doubts,
        limit_there_yd=None if limit is None else round(to_unit(limit, "length", "yd"), 1),
        limit="cannot tell" if limit is None else shown(limit, "distance", plan.units),
        far_pin=shown(far, "distance", plan.units),
        far_advice=min(advice, key=CARE.index),
        updated=_newest(plan),
        returned=came.on,
        verified=came.verified,
        verified_otherwise=came.verified_otherwise,
        calls=came.calls,
        recommended=tuple(_left_out(trip, bring)),
        form=came.form,
    )


def _left_out(trip: Trip, bring: Iterable[Bring]) -> Iterator[str]:
    """What the camp recommends and the gear does not list; nothing where no gear is listed."""
    packed = None if trip.gear is None else {plain(line.item) for line in trip.gear}
    if packed is not None:
        yield from (one.item for one in bring if not one.required and plain(one.item) not in packed)


def bad_row(problems: Iterable[Problem], source: str, name: str, client_id: str | None) -> Row:
    """The row of a client whose file has errors; name is the best that is known."""
    from readiness.problems import show

    errors = [problem for problem in problems if problem.severity == "error"]
    told = tuple(show(problem).splitlines()[0] for problem in errors[:MOST_ERRORS])
    hints = tuple(error.hint for error in errors[:MOST_ERRORS])
    if len(errors) > MOST_ERRORS:
        told, hints = (*told, f"and {len(errors) - MOST_ERRORS:,} more mistakes in this file"), (*hints, "")
    return Row(BAD_FILE, name, client_id or "", "", source, errors=told, hints=hints)


def worst_first(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Rows in the order in which they need someone; the order of the kinds stands in the README."""
    return tuple(sorted(rows, key=_need))


def _need(row: Row) -> tuple[Any, ...]:
    kinds = (row.errors, row.stops, row.unsafe, row.unmet, row.untold, row.unpacked, row.doubts, row.calls)
    return (
        STATUSES.index(row.status),
        *(-len(entries) for entries in (*kinds, row.recommended)),
        row.client.casefold(),
        row.source,
    )


def pressing(row: Row) -> tuple[str, ...]:
    """What a client has to hear, the gravest first, but for the gear."""
    mistakes = [f"{error} (hint: {hint})" if hint else error for error, hint in zip(row.errors, row.hints, strict=True)]
    return (
        *mistakes[:1],
        *((NO_PAPERS,) if row.status == BAD_FILE else ()),  # second, so that no long list of mistakes hides it
        *mistakes[1:],
        *(f"STOP now. {stop}" for stop in row.stops),
        *row.unsafe,
        *row.unmet,
        *row.untold,
        *(f"Worth a call: {call}" for call in row.calls),
        *row.doubts,
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
