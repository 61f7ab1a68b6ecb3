"""Sights and sight lines: the aim that a distance needs, where that aim lands in other air, what to move.

The arrow starts peep_height below a level line of sight and is aimed so that it meets the line at the
distance. Heights are from the line of sight, up positive.
"""

from __future__ import annotations

from typing import NamedTuple

from readiness.flight import drag_constant_per_m, flat_fire_slope, fly

_MOST_FLIGHTS = 30  # of a search that needs four; one that needs more has no answer


class Shooter(NamedTuple):
    """What leaves the bow: speed [m/s], drag coefficient [-], shaft diameter [m], mass [kg], peep height [m]."""

    speed_m_s: float
    drag_coefficient: float
    shaft_diameter_m: float
    mass_kg: float
    peep_height_m: float


class Medium(NamedTuple):
    """What it flies through: air density [kg/m3] and gravity [m/s2]."""

    density_kg_m3: float
    gravity_m_s2: float


def drag_of(shooter: Shooter, medium: Medium) -> float:
    """The drag constant of an arrow in what it flies through, [1/m].

    >>> drag_of(Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.0), Medium(1.225, 9.80665))
    0.00144923
    """
    return drag_constant_per_m(
        shooter.drag_coefficient, shooter.shaft_diameter_m, shooter.mass_kg, medium.density_kg_m3
    )


def aim_slope(shooter: Shooter, medium: Medium, distance_m: float) -> float:
    """The launch slope that puts the arrow on the line of sight at a distance.

    Parameters
    ----------
    shooter : what leaves the bow
    medium : what it flies through
    distance_m : where arrow and line meet, [m], 2 to 200

    Returns
    -------
    tangent of the launch angle above the line of sight, [-], exact to 1e-8 m at the distance for launches up to
    about 25 degrees; the trip file refuses distances that need more (readiness.trip.equipment_checks)

    Examples
    --------
    >>> arrow = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.0)
    >>> aim_slope(arrow, Medium(1.225, 9.80665), 54.864)  # independent integrator: tan(2.235273 deg)
    0.039033

    """
    k = drag_of(shooter, medium)
    v, g, d = shooter.speed_m_s, medium.gravity_m_s2, distance_m
    slope = shooter.peep_height_m / d + flat_fire_slope(v, d, k)
    lift = d  # change of height with slope: the distance, for a flat shot; then as the last two flights show
    miss = fly(v, slope, d, k, g).height_m - shooter.peep_height_m
    for _ in range(_MOST_FLIGHTS):
        if abs(miss) < 1e-8:
            break
        step = -miss / lift
        slope += step
        before, miss = miss, fly(v, slope, d, k, g).height_m - shooter.peep_height_m
        lift = (miss - before) / step
    return slope


def height_m(shooter: Shooter, medium: Medium, slope: float, distance_m: float) -> float:
    """Height of an arrow over the line of sight at a distance, up positive.

    Parameters
    ----------
    shooter : what leaves the bow
    medium : what it flies through
    slope : launch slope, [-]
    distance_m : distance, [m]

    Returns
    -------
    height, [m]

    Examples
    --------
    >>> arrow = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.0)
    >>> height_m(arrow, Medium(1.225, 9.80665), 0.0, 54.864)  # independent integrator: -2.1382308
    -2.13823

    """
    arrival = fly(shooter.speed_m_s, slope, distance_m, drag_of(shooter, medium), medium.gravity_m_s2)
    return arrival.height_m - shooter.peep_height_m


def shift_m(shooter: Shooter, home: Medium, there: Medium, distance_m: float) -> float:
    """How far over the line the arrow lands there with the sight as set at home, up positive.

    Parameters
    ----------
    shooter : what leaves the bow
    home : air and gravity where the sight was set
    there : air and gravity where it is shot
    distance_m : distance, [m]

    Returns
    -------
    shift, [m]

    Examples
    --------
    >>> arrow = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.0)
    >>> g = 9.80665
    >>> shift_m(arrow, Medium(1.225, g), Medium(0.96287, g), 54.864)  # independent integrator: 0.02473
    0.02473

    """
    return height_m(shooter, there, aim_slope(shooter, home, distance_m), distance_m)


def equivalent_distance_m(shooter: Shooter, there: Medium, slope: float, distance_m: float) -> float | None:
    """Where a sight setting is dead on: the distance near distance_m at which arrow and line meet.

    Parameters
    ----------
    shooter : what leaves the bow
    there : what it flies through
    slope : launch slope of the setting, [-]
    distance_m : the distance the setting was made for, [m]

    Returns
    -------
    distance, [m]; None where the arrow runs along the line and the question has no answer

    Examples
    --------
    >>> arrow, sea = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.0), Medium(1.225, 9.80665)
    >>> equivalent_distance_m(arrow, sea, aim_slope(arrow, sea, 54.864), 54.864)
    54.864

    """
    k, x = drag_of(shooter, there), distance_m
    for _ in range(_MOST_FLIGHTS):
        arrival = fly(shooter.speed_m_s, slope, x, k, there.gravity_m_s2)
        if abs(arrival.slope) < 2e-3:
            return None
        step = (arrival.height_m - shooter.peep_height_m) / arrival.slope
        x -= step
        if not 0.5 * distance_m < x < 2.0 * distance_m:
            return None
        if abs(step) < 1e-7:
            return x
    return None


def sight_move_m(shift_at_target_m: float, sight_radius_m: float, distance_m: float) -> float:
    """How far to move the sight so that a shift is taken off: in the direction of the shift.

    Parameters
    ----------
    shift_at_target_m : where the arrows land from the aiming point, [m]
    sight_radius_m : peep to pin, [m]
    distance_m : distance shot, [m]

    Returns
    -------
    move of the pin, [m]; up positive

    Examples
    --------
    >>> sight_move_m(1.0, 34 * 0.0254, 36.576)
    0.02361

    """
    return shift_at_target_m * sight_radius_m / distance_m


def foc_fraction(length_m: float, balance_point_m: float) -> float:
    """How far forward of its middle an arrow balances, as a share of its length.

    Parameters
    ----------
    length_m : nock groove to end of shaft, [m]
    balance_point_m : nock groove to balance point, with head, [m]

    Returns
    -------
    share, [-]; 0.13 is 13 % FOC. Method: balance on an edge, ASTM F1435; the formula is common practice.

    Examples
    --------
    >>> foc_fraction(28.0, 16.8)
    0.1

    """
    return (balance_point_m - 0.5 * length_m) / length_m


def kinetic_energy_j(mass_kg: float, speed_m_s: float) -> float:
    """Kinetic energy.

    Parameters
    ----------
    mass_kg : mass, [kg]
    speed_m_s : speed, [m/s]

    Returns
    -------
    energy, [J]

    Examples
    --------
    >>> kinetic_energy_j(400 * 64.79891e-6, 280 * 0.3048)
    94.39

    """
    return 0.5 * mass_kg * speed_m_s * speed_m_s


def momentum_kg_m_s(mass_kg: float, speed_m_s: float) -> float:
    """Momentum.

    Parameters
    ----------
    mass_kg : mass, [kg]
    speed_m_s : speed, [m/s]

    Returns
    -------
    momentum, [kg m/s]

    Examples
    --------
    >>> momentum_kg_m_s(400 * 64.79891e-6, 280 * 0.3048)
    2.212

    """
    return mass_kg * speed_m_s
