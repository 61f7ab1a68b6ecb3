"""The checks of a place: what the trip's records let the arrows there be held against.

They are those of the plan (readiness.verification), worked out for this one place, and for the temperature measured
there where one was logged; and one more for each other distance at which fletched arrows were shot.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.evening import evening_of
from readiness.arrival.records import Log
from readiness.forecast import forecast
from readiness.groups import SAME_DISTANCE_M
from readiness.verification import Expectation, verification_of, zero_at

if TYPE_CHECKING:
    from readiness.arrival.evening import Evening
    from readiness.forecast import Forecast
    from readiness.trip.model import Place, Trip

MEASURED_TEMPERATURE_SD_C = 1.0  # of a temperature read at camp: an assumption, printed


class Check(NamedTuple):
    """One check: its expectation, and what has to be shot for it."""

    name: str  # bare shaft, near zero, far zero, zero, broadhead, first cold arrow
    expectation: Expectation
    head: str | None = None

    @property
    def distance_m(self) -> float:
        """Where it is shot, [m]."""
        return self.expectation.distance_m

    @property
    def is_pair(self) -> bool:
        """Whether a second group is held against the fletched one."""
        return self.name in ("bare shaft", "broadhead")


class AtPlace(NamedTuple):
    """The trip seen from one place: its forecast there, and its checks."""

    trip: Trip
    forecast: Forecast
    checks: tuple[Check, ...]


def at_place(trip: Trip, evening: Evening) -> AtPlace:
    """The forecast and the checks of the place where the evening was shot."""
    place = next(place for place in trip.destinations if place.name == evening.place)
    if evening.temperature_c is not None:
        place = place._replace(
            temperatures_c=(evening.temperature_c,), temperature_uncertainty_c=MEASURED_TEMPERATURE_SD_C
        )
    return _at_place(trip, place, forecast(trip._replace(destinations=(place,))), evening)


def places_as_planned(trip: Trip, future: Forecast) -> list[AtPlace]:
    """Every place before anything is logged there, from the trip's own forecast."""
    return [
        _at_place(trip, place, future.only(there), evening_of(Log(), place.name))
        for place, there in zip(trip.destinations, future.destinations, strict=True)
    ]


def _at_place(trip: Trip, place: Place, local: Forecast, evening: Evening) -> AtPlace:
    there = trip._replace(destinations=(place,))
    return AtPlace(there, local, tuple(_checks(there, local, evening)))


def _checks(trip: Trip, local: Forecast, evening: Evening) -> list[Check]:
    plan = verification_of(trip, local)
    found = [Check("bare shaft", plan.bare_shaft)] if plan.bare_shaft else []
    heads = [Check("broadhead", head, head.name) for head in plan.broadheads]
    if evening.sight_moved:  # zeros recorded with the sight as it was say nothing about the sight as it is
        return [*found, *heads]
    zeros = [plan.near_zero, *([plan.far_zero] if plan.far_zero else [])]
    found += [Check(zero.name, zero) for zero in zeros]
    for group in evening.groups:
        known = any(abs(zero.distance_m - group.distance_m) < SAME_DISTANCE_M for zero in zeros)
        if group.kind == "fletched" and not known and is_set_for(trip, group.distance_m):
            zeros.append(zero_at("zero", trip, local, group.distance_m))
            found.append(Check("zero", zeros[-1]))
    found += heads
    found += [Check("first cold arrow", cold) for cold in plan.cold_first]
    return found


def is_set_for(trip: Trip, distance_m: float) -> bool:
    """Whether the sight has a setting for a distance: elsewhere the arrow is not on the line, and nothing is judged."""
    pins = trip.bow.sight.pins_m
    if trip.bow.sight.kind == "slider" and pins[0] <= distance_m <= pins[-1]:
        return True
    known = (*pins, *(group.distance_m for group in trip.reference.groups))
    return any(abs(distance_m - known_m) < SAME_DISTANCE_M for known_m in known)
