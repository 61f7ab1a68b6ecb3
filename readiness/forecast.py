"""Trip -> what the air will do to this arrow: shift, band, causes, what a group can show, advice.

The forecast knows nothing of pages: SI numbers, outcomes as words. Air and gravity of each place come
first, then each case of each destination (coldest, warmest, typical), then each pin (readiness.pinshift).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness import groups, sighting
from readiness.calibration import PUBLISHED_REYNOLDS_LIMIT, Ballistics, ballistics_of, reynolds_number
from readiness.conditions import Conditions, conditions_of
from readiness.pinshift import FlightFromHome, PinForecast, pin_forecast
from readiness.sighting import Shooter

if TYPE_CHECKING:
    from readiness.groups import Spread
    from readiness.trip.model import Trip

DEFAULT_ARROWS = 12
NINE_IN_TEN = 0.9


class Case(NamedTuple):
    """One destination at one temperature."""

    conditions: Conditions
    pins: tuple[PinForecast, ...]

    @property
    def label(self) -> str:
        """coldest, warmest or typical."""
        return self.conditions.label


class Limit(NamedTuple):
    """A distance, [m], and the share of arrows in the zone there, [-], at both ends of the doubt of sigma (95 %)."""

    distance_m: float
    share_interval: tuple[float, float]


class Destination(NamedTuple):
    """One destination with its cases, and the shortest limit over them."""

    name: str
    gravity_m_s2: float
    cases: tuple[Case, ...]
    limit: Limit | None


class ArrowFacts(NamedTuple):
    """What the arrow is, beside the forecast: speed and drag with their source, FOC, energy, momentum."""

    ballistics: Ballistics
    foc: float | None
    kinetic_energy_j: float
    momentum_kg_m_s: float
    reynolds: float
    drag_extrapolated: bool


class Forecast(NamedTuple):
    """Everything computed about the flight of this arrow at home and there."""

    trip: str
    home_name: str
    home: Conditions
    arrow: ArrowFacts
    destinations: tuple[Destination, ...]
    limit_home: Limit | None
    limit_there: Limit | None
    arrows: int
    target_radius_m: float
    spreads: tuple[tuple[float, Spread], ...]

    @property
    def limit_home_m(self) -> float | None:
        """The limit at home, [m]."""
        return self.limit_home.distance_m if self.limit_home else None

    @property
    def limit_there_m(self) -> float | None:
        """The shortest limit over all places and cases there, [m]."""
        return self.limit_there.distance_m if self.limit_there else None

    @property
    def cases(self) -> tuple[tuple[str, Case], ...]:
        """Every case with the name of its place."""
        return tuple((d.name, case) for d in self.destinations for case in d.cases)

    def only(self, there: Destination) -> Forecast:
        """The same for one of its places alone."""
        return self._replace(destinations=(there,), limit_there=there.limit)


def forecast(trip: Trip, arrows: int = DEFAULT_ARROWS) -> Forecast:
    """Compute the forecast of a trip.

    Parameters
    ----------
    trip : the trip
    arrows : arrows that can be shot at camp before dark, [-], 2 to 200

    Returns
    -------
    Forecast

    """
    flight = flight_from_home(trip)
    home, ballistics = flight.home, flight.doubt
    spreads = recorded_spreads(trip)
    radius = 0.5 * trip.target_zone_m
    aims = [(flight.aims(d), groups.spread_at(d, spreads)) for d in trip.bow.sight.pins_m]
    destinations = []
    for place in trip.destinations:
        cases = [
            Case(there, tuple(pin_forecast(flight, aim, there, spread, radius, arrows) for aim, spread in aims))
            for there in conditions_of(place)
        ]
        limit = _shortest([_limit(flight, case.conditions, spreads, radius) for case in cases])
        destinations.append(Destination(place.name, cases[0].conditions.gravity_m_s2, tuple(cases), limit))
    return Forecast(
        trip=trip.name,
        home_name=trip.home.name,
        home=home,
        arrow=_arrow_facts(trip, ballistics, home),
        destinations=tuple(destinations),
        limit_home=_limit(flight, home, spreads, radius),
        limit_there=_shortest([destination.limit for destination in destinations]),
        arrows=arrows,
        target_radius_m=radius,
        spreads=spreads,
    )


def flight_from_home(trip: Trip) -> FlightFromHome:
    """The trip's arrow, and the air that it was aimed in."""
    home = conditions_of(trip.home)[0]
    ballistics = ballistics_of(trip.arrow, trip.bow.sight, trip.bow.peep_height_m, home.medium)
    return FlightFromHome(shooter_of(trip, ballistics), ballistics, home, trip.bow.sight.radius_m)


def shooter_of(trip: Trip, ballistics: Ballistics) -> Shooter:
    """What leaves the bow on this trip."""
    return Shooter(
        ballistics.speed_m_s,
        ballistics.drag_coefficient,
        trip.arrow.shaft_diameter_m,
        trip.arrow.mass_kg,
        trip.bow.peep_height_m,
    )


def recorded_spreads(trip: Trip) -> tuple[tuple[float, Spread], ...]:
    """The spread at each distance at which groups were recorded; several groups of one distance as one."""
    by_distance: dict[float, list[Spread]] = {}
    for group in trip.reference.groups:
        spread = groups.spread_of(group.measure, group.size_m, group.arrows)
        if spread is not None:
            by_distance.setdefault(group.distance_m, []).append(spread)
    return tuple((distance, groups.pooled(spreads)) for distance, spreads in sorted(by_distance.items()))


def _limit(
    flight: FlightFromHome, there: Conditions, spreads: tuple[tuple[float, Spread], ...], radius: float
) -> Limit | None:
    """The longest recorded distance at which nine arrows in ten land in the zone in this air."""
    longest = None
    for distance, spread in spreads:
        shift = sighting.shift_m(flight.shooter, flight.home.medium, there.medium, distance)
        if groups.share_inside(radius, spread.sigma_m, shift) >= NINE_IN_TEN:
            tight, wide = spread.interval_m()
            shares = groups.share_inside(radius, wide, shift), groups.share_inside(radius, tight, shift)
            longest = Limit(distance, shares)
    return longest


def _shortest(limits: list[Limit | None]) -> Limit | None:
    """The shortest of the limits; none at all where any place has none."""
    known = [limit for limit in limits if limit is not None]
    return min(known) if len(known) == len(limits) else None


def _arrow_facts(trip: Trip, ballistics: Ballistics, home: Conditions) -> ArrowFacts:
    arrow = trip.arrow
    reynolds = reynolds_number(
        ballistics.speed_m_s, arrow.shaft_diameter_m, home.air.density_kg_m3, home.air.temperature_c
    )
    from_papers = not arrow.speed_readings and arrow.drag_coefficient is None
    return ArrowFacts(
        ballistics=ballistics,
        foc=None if arrow.balance_point_m is None else sighting.foc_fraction(arrow.length_m, arrow.balance_point_m),
        kinetic_energy_j=sighting.kinetic_energy_j(arrow.mass_kg, ballistics.speed_m_s),
        momentum_kg_m_s=sighting.momentum_kg_m_s(arrow.mass_kg, ballistics.speed_m_s),
        reynolds=reynolds,
        drag_extrapolated=from_papers and reynolds > PUBLISHED_REYNOLDS_LIMIT,
    )
