"""What stands between a trip and "ready": the reasons for which `check` ends with 1."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.packing import MISSING, PACKED
from readiness.rulings import MEETS
from readiness.trip.equipment_checks import grains_per_pound, too_light

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.packing import PackingList
    from readiness.rulings import Ruling
    from readiness.trip.gaps import Gap
    from readiness.trip.model import Trip


class Readiness(NamedTuple):
    """What `check` tells of a trip: what must be settled, how its requirements stand, what is left out."""

    trip: Trip
    waiting: tuple[str, ...]
    rulings: tuple[Ruling, ...]
    packing: PackingList
    gaps: tuple[Gap, ...]


def readiness_of(trip: Trip, rulings: tuple[Ruling, ...], packing: PackingList, gaps: tuple[Gap, ...]) -> Readiness:
    """Everything that must be settled first, in words, beside what it comes from."""
    waiting = (*_equipment(trip), *_requirements(rulings), *_gear(packing))
    return Readiness(trip, waiting, rulings, packing, gaps)


def _equipment(trip: Trip) -> Iterator[str]:
    mass, draw = trip.arrow.mass_kg, trip.bow.draw_weight_n
    if too_light(mass, draw):
        yield (
            f"STOP: {grains_per_pound(mass, draw):.1f} grains of arrow for each pound of draw weight. "
            "Do not shoot it before the bow's maker says that it is enough."
        )


def _requirements(rulings: tuple[Ruling, ...]) -> Iterator[str]:
    for ruling in rulings:
        if ruling.outcome != MEETS and not ruling.superseded:
            yield f"{ruling.requirement.topic}, {ruling.requirement.rule}: {ruling.outcome}"


def _gear(packing: PackingList) -> Iterator[str]:
    if packing.compared:
        for row in packing.rows:
            if row.outcome != PACKED:
                short = f", {row.have} of {row.need}" if row.outcome == MISSING else ""
                yield f"{row.item}: {row.outcome}{short}"
        for own in packing.own:
            if own.warning:
                yield f"{own.line.item}: {own.warning}"
        for case in packing.cases:
            if case.outcome == "over":
                yield f"{case.item}: {case.reason}"
