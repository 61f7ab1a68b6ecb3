"""Wind drift and slope tables of an arrow in the air of a destination, from its real trajectory.

Wind: full value, square to the line of sight. Slope: the level distance whose aim the sloped line of sight needs, both
in the air there. Nothing is told for a pin beyond the farthest recorded group.
"""

from __future__ import annotations

from math import cos, radians
from typing import TYPE_CHECKING, NamedTuple

from readiness.flight import fly_in_wind
from readiness.forecast import shooter_of
from readiness.groups import SAME_DISTANCE_M
from readiness.sighting import aim_slope, drag_of, equivalent_distance_m

if TYPE_CHECKING:
    from readiness.forecast import Case, Destination, Forecast
    from readiness.sighting import Medium, Shooter
    from readiness.trip.model import Trip

MPH_M_S = 1609.344 / 3600.0
WINDS_MPH = (5, 10, 15)
SLOPES_DEG = (10, 20, 30, 40)


class WindRow(NamedTuple):
    """One distance [m] and the drift [m] in each of WINDS_MPH, away from the wind."""

    distance_m: float
    drifts_m: tuple[float, ...]


class SlopeAim(NamedTuple):
    """The level distance to aim for, and how high the arrow lands if the slope is not thought of, [m].

    level_m is None so near that no level distance needs so low an aim: the arrow runs along the line of sight.
    """

    level_m: float | None
    miss_m: float


class SlopeRow(NamedTuple):
    """One distance along the line of sight [m] and the aim at each of SLOPES_DEG."""

    distance_m: float
    uphill: tuple[SlopeAim, ...]
    downhill: tuple[SlopeAim, ...]


class FieldTables(NamedTuple):
    """Both tables for one destination, in the densest air expected there; too_far_m are pins no group reaches."""

    place: str
    case: Case
    wind: tuple[WindRow, ...]
    slope: tuple[SlopeRow, ...]
    too_far_m: tuple[float, ...]


def field_tables(trip: Trip, forecast: Forecast) -> tuple[FieldTables, ...]:
    """Both tables for each destination of a trip."""
    shooter = shooter_of(trip, forecast.arrow.ballistics)
    farthest = forecast.spreads[-1][0] if forecast.spreads else 0.0
    pins = trip.bow.sight.pins_m
    proven = tuple(d for d in pins if d <= farthest + SAME_DISTANCE_M)
    return tuple(_tables_of(place, shooter, proven, pins[len(proven) :]) for place in forecast.destinations)


def _tables_of(
    place: Destination, shooter: Shooter, proven: tuple[float, ...], too_far: tuple[float, ...]
) -> FieldTables:
    case = max(place.cases, key=lambda case: case.conditions.air.density_kg_m3)
    medium = case.conditions.medium
    return FieldTables(
        place.name,
        case,
        tuple(WindRow(d, wind_drifts_m(shooter, medium, d)) for d in proven),
        tuple(slope_row(shooter, medium, d) for d in proven),
        too_far,
    )


def wind_drifts_m(shooter: Shooter, medium: Medium, distance_m: float) -> tuple[float, ...]:
    """Sideways drift in a full crosswind of each of WINDS_MPH, for an arrow aimed at a level distance.

    Parameters
    ----------
    shooter : what leaves the bow
    medium : what it flies through
    distance_m : distance, [m], 2 to 200

    Returns
    -------
    drifts, [m], away from the wind

    Examples
    --------
    >>> from readiness.sighting import Medium, Shooter
    >>> arrow, sea = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.1), Medium(1.225, 9.80665)
    >>> [round(drift, 3) for drift in wind_drifts_m(arrow, sea, 36.576)]  # solve_ivp, as the tests do
    [0.026, 0.052, 0.078]

    """
    slope = aim_slope(shooter, medium, distance_m)
    k = drag_of(shooter, medium)
    return tuple(
        fly_in_wind(shooter.speed_m_s, slope, distance_m, k, medium.gravity_m_s2, cross_wind_m_s=wind * MPH_M_S).drift_m
        for wind in WINDS_MPH
    )


def slope_row(shooter: Shooter, medium: Medium, distance_m: float) -> SlopeRow:
    """The level distances to aim for at one distance along the line of sight, up and down each of SLOPES_DEG."""
    uphill, downhill = (
        tuple(_slope_aim_of(shooter, medium, distance_m, sign * radians(slope)) for slope in SLOPES_DEG)
        for sign in (1.0, -1.0)
    )
    return SlopeRow(distance_m, uphill, downhill)


def _slope_aim_of(shooter: Shooter, medium: Medium, distance_m: float, slope_rad: float) -> SlopeAim:
    level_aim = aim_slope(shooter, medium, distance_m)
    miss = _over_line_m(shooter, medium, level_aim, distance_m, slope_rad)
    return SlopeAim(level_distance_m(shooter, medium, distance_m, slope_rad), miss)


def level_distance_m(shooter: Shooter, medium: Medium, distance_m: float, slope_rad: float) -> float | None:
    """The level distance that needs the same aim as a target up or down a slope.

    Parameters
    ----------
    shooter : what leaves the bow
    medium : what it flies through
    distance_m : distance along the line of sight, [m], 2 to 200
    slope_rad : line of sight above level, [rad], -1.2 to 1.2

    Returns
    -------
    level distance, [m]; None where the arrow runs along the line of sight, so that no single distance answers

    Examples
    --------
    >>> from readiness.sighting import Medium, Shooter
    >>> arrow, sea = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.1), Medium(1.225, 9.80665)
    >>> level_distance_m(arrow, sea, 36.576, 0.0)
    36.576
    >>> level_distance_m(arrow, sea, 36.576, 0.523599)  # up 30 deg; solve_ivp, as the tests do
    31.58

    """
    slope = slope_aim(shooter, medium, distance_m, slope_rad)
    level = equivalent_distance_m(shooter, medium, slope, distance_m)
    if level is None:
        level = equivalent_distance_m(shooter, medium, slope, distance_m * cos(slope_rad))
    return None if level is None or level > distance_m * 1.0001 else level


def slope_aim(shooter: Shooter, medium: Medium, distance_m: float, slope_rad: float) -> float:
    """The launch slope, over the line of sight, that hits a target up or down a slope.

    Parameters
    ----------
    shooter : what leaves the bow
    medium : what it flies through
    distance_m : distance along the line of sight, [m], 2 to 200
    slope_rad : line of sight above level, [rad], -1.2 to 1.2

    Returns
    -------
    tangent of the launch angle above the line of sight, [-], exact to 1e-8 m at the target

    Examples
    --------
    >>> from readiness.sighting import Medium, Shooter
    >>> arrow, sea = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.1), Medium(1.225, 9.80665)
    >>> abs(slope_aim(arrow, sea, 36.576, 0.0) - aim_slope(arrow, sea, 36.576)) < 1e-7
    True

    """
    slope, lift = aim_slope(shooter, medium, distance_m), distance_m
    off = _over_line_m(shooter, medium, slope, distance_m, slope_rad)
    for _ in range(30):
        if abs(off) < 1e-8:
            break
        step = -off / lift
        slope += step
        before, off = off, _over_line_m(shooter, medium, slope, distance_m, slope_rad)
        lift = (off - before) / step
    return slope


def _over_line_m(shooter: Shooter, medium: Medium, slope: float, distance_m: float, slope_rad: float) -> float:
    """How far over the line of sight the arrow passes the target."""
    k, g = drag_of(shooter, medium), medium.gravity_m_s2
    arrival = fly_in_wind(shooter.speed_m_s, slope, distance_m, k, g, ground_slope_rad=slope_rad)
    return arrival.height_m - shooter.peep_height_m
