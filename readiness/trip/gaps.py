"""What a trip file leaves out, and what it would have allowed: the honest "cannot tell" of `check`."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.trip.model import Trip


class Gap(NamedTuple):
    """A key that is not there, and what cannot be told without it."""

    missing: str
    costs: str


def gaps_of(trip: Trip) -> tuple[Gap, ...]:
    """Everything optional that the trip file leaves out, what matters most first."""
    return (*_reference_gaps(trip), *_bow_gaps(trip), *_place_gaps(trip), *_trip_gaps(trip))


def _reference_gaps(trip: Trip) -> Iterator[Gap]:
    reference = trip.reference
    if reference.bare_shaft is None:
        yield Gap("reference.bare_shaft", "whether the bow, not the sight, moved on the way")
    elif reference.bare_shaft.pairs is None:
        yield Gap("reference.bare_shaft.pairs", "how sure the bare-shaft baseline is: 3 pairs are assumed")
    far = trip.bow.sight.pins_m[-1]
    if not reference.groups:
        yield Gap("reference.groups", "what your groups can show: no share in the zone, no advice, no limit")
    elif max(group.distance_m for group in reference.groups) < far * (1 - 1e-9):
        yield Gap("reference.groups at the farthest pin", "advice for the pins beyond your farthest recorded group")
    proven = {base.head for base in reference.broadheads}
    for head in trip.hunting_heads:
        if head.name not in proven:
            yield Gap(
                f"reference.broadheads for {head.name}",
                "whether it still flies as it did against field points",
            )
    if not trip.hunting_heads:
        yield Gap("a hunting head in heads", "anything about broadheads")
    if not trip.field_points:
        yield Gap("a field point in heads", "whether the hunting heads weigh what the practice points weigh")
    if not reference.cold_first:
        yield Gap("reference.cold_first", "where your first arrow of a day should land")
    if not reference.marks:
        yield Gap("reference.marks", "the values to put the bow back to")
    if reference.shot_on is None:
        yield Gap("reference.shot_on", "whether the reference is newer than the last change")


def _bow_gaps(trip: Trip) -> Iterator[Gap]:
    arrow = trip.arrow
    if arrow.drag_coefficient is None and not arrow.speed_readings:
        yield Gap("arrow.speed_readings", "the drag of your own arrow: a wide published band stands in")
    if arrow.balance_point_m is None:
        yield Gap("arrow.balance_point", "FOC")
    if trip.bow.brace_height_m is None:
        yield Gap("bow.brace_height", "the brace height to compare at camp")
    if trip.bow.axle_to_axle_m is None:
        yield Gap("bow.axle_to_axle", "the axle-to-axle length to compare at camp")
    if trip.hand is None:
        yield Gap("hunter.hand", "which way sideways signs point: right- and left-handed mirror each other")


def _place_gaps(trip: Trip) -> Iterator[Gap]:
    for place in (trip.home, *trip.destinations):
        if not place.temperatures_c:
            yield Gap(f"temperature of {place.name}", "its real air: the standard atmosphere stands in")
        if place.latitude_deg is None:
            yield Gap(f"latitude of {place.name}", "its exact gravity: 45 deg stands in")


def _trip_gaps(trip: Trip) -> Iterator[Gap]:
    if trip.hazards is None:
        yield Gap("trip.hazards", "which cautions concern you: all are shown")
    if trip.nearest_shop_s is None:
        yield Gap("trip.nearest_shop", "how many spares the place asks for")
    if trip.gear is None:
        yield Gap("gear", "what is missing from your bags, or in the wrong one")
    if not trip.requirements:
        yield Gap("requirements", "whether your gear meets what the place asks: copy them from the agency")
