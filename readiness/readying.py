"""What stands between a trip and "ready": the reasons for which `check` ends with 1."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.packing import MISSING, PACKED
from readiness.rulings import CANNOT_TELL, DOES_NOT_MEET, ruling_notices
from readiness.trip.equipment_checks import grains_per_pound, too_light

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.packing import PackingList
    from readiness.plan import Plan
    from readiness.rulings import Ruling
    from readiness.trip.gaps import Gap
    from readiness.trip.model import Trip


class Readiness(NamedTuple):
    """What `check` tells of a trip: what must be settled, how its requirements stand, what is left out.

    unsafe, unmet, untold and unpacked are what waiting is made of: equipment that must not be shot, requirements not
    met, requirements that cannot be told, and gear that is missing, in a wrong bag or over a limit.
    """

    trip: Trip
    unsafe: tuple[str, ...]
    unmet: tuple[str, ...]
    untold: tuple[str, ...]
    unpacked: tuple[str, ...]
    rulings: tuple[Ruling, ...]
    packing: PackingList
    gaps: tuple[Gap, ...]
    doubts: tuple[str, ...] = ()  # what the plan raises beside these

    @property
    def waiting(self) -> tuple[str, ...]:
        """Everything that must be settled first, the gravest first."""
        return (*self.unsafe, *self.unmet, *self.untold, *self.unpacked)


def readiness_of(trip: Trip, rulings: tuple[Ruling, ...], packing: PackingList, gaps: tuple[Gap, ...]) -> Readiness:
    """Everything that must be settled first, in words, beside what it comes from."""
    return Readiness(
        trip=trip,
        unsafe=tuple(_equipment(trip)),
        unmet=tuple(_requirements(rulings, DOES_NOT_MEET)),
        untold=tuple(_requirements(rulings, CANNOT_TELL)),
        unpacked=tuple(_gear(packing)),
        rulings=rulings,
        packing=packing,
        gaps=gaps,
    )


def doubts_of(plan: Plan) -> tuple[str, ...]:
    """What the plan raises beside its requirements: stop steps of this trip, notices, values that do not fit."""
    told = set(ruling_notices(plan.rulings))
    stops = (f"STOP {step.id}: {step.title}. {step.expect} ({step.reason})" for step in plan.raised_stops)
    notices = (notice for notice in plan.notices if notice not in told)
    return tuple(filter(None, (*stops, *notices, plan.forecast.arrow.ballistics.warning)))


def _equipment(trip: Trip) -> Iterator[str]:
    mass, draw = trip.arrow.mass_kg, trip.bow.draw_weight_n
    if too_light(mass, draw):
        yield (
            f"STOP: {grains_per_pound(mass, draw):.1f} grains of arrow for each pound of draw weight. "
            "Do not shoot it before the bow's maker says that it is enough."
        )


def _requirements(rulings: tuple[Ruling, ...], outcome: str) -> Iterator[str]:
    for ruling in rulings:
        if ruling.outcome == outcome and not ruling.superseded:
            yield f"{ruling.requirement.topic}, {ruling.requirement.rule}: {ruling.outcome}"


def _gear(packing: PackingList) -> Iterator[str]:
    if packing.compared:
        for row in packing.rows:
            if row.outcome != PACKED:
                short = f", have {row.have}, need {row.need}" if row.outcome == MISSING else ""
                yield f"{row.item}: {row.outcome}{short}"
        for own in packing.own:
            if own.warning:
                yield f"{own.line.item}: {own.warning}"
        for case in packing.cases:
            if case.outcome == "over":
                yield f"{case.item}: {case.reason}"
