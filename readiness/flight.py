"""The flight of an arrow as a point mass with quadratic drag, in still air or in wind.

The path is integrated over the distance down-range, not over time: speed, slope and height change little
and smoothly from yard to yard, so a classical fourth-order Runge-Kutta step can be several metres long.
Plain floats; the sizes of error are proven in tests/test_flight.py against closed forms and against an
independent integrator.

What the model leaves out: lift, spin, the bending of the shaft as it leaves the bow, and any change of the
drag coefficient with speed or attitude.
"""

from __future__ import annotations

from math import ceil, cos, expm1, hypot, pi, sin, sqrt
from typing import NamedTuple

from readiness.air import STANDARD_GRAVITY_M_S2


class Arrival(NamedTuple):
    """An arrow where it passes a distance: height above the launch point [m], slope [-], speed [m/s]."""

    height_m: float
    slope: float
    speed_m_s: float


class WindArrival(NamedTuple):
    """The same in wind, with the sideways drift, right positive [m], and the time of flight [s]."""

    height_m: float
    slope: float
    speed_m_s: float
    drift_m: float
    time_s: float


def drag_constant_per_m(
    drag_coefficient: float, shaft_diameter_m: float, mass_kg: float, density_kg_m3: float
) -> float:
    """The k in: deceleration = k v^2.

    Parameters
    ----------
    drag_coefficient : on the cross-section of the shaft, [-], 0.5 to 6
    shaft_diameter_m : outside diameter, [m]
    mass_kg : complete arrow, [kg]
    density_kg_m3 : air density, [kg/m3]

    Returns
    -------
    k = rho C A / (2 m), [1/m]

    Examples
    --------
    >>> drag_constant_per_m(2.0, 0.246 * 0.0254, 400 * 64.79891e-6, 1.225)
    0.001449225

    """
    area = pi * shaft_diameter_m * shaft_diameter_m / 4.0
    return density_kg_m3 * drag_coefficient * area / (2.0 * mass_kg)


def flat_fire_slope(speed_m_s: float, distance_m: float, k_per_m: float) -> float:
    """The launch slope that meets a level line at a distance, as long as the flight is flat.

    Within 3 % for launches under 5 degrees; it serves as a first guess and as a test of what is in reach.

    Parameters
    ----------
    speed_m_s : launch speed, [m/s]
    distance_m : distance, [m]
    k_per_m : drag constant, [1/m]

    Returns
    -------
    tangent of the launch angle, [-]. The drop is g/(4 k^2 v^2) [exp(2 k x) - 1 - 2 k x]; see R. L. McCoy,
    Modern Exterior Ballistics, chapter 5 (named from memory; checked against the integrator).

    Examples
    --------
    >>> flat_fire_slope(85.344, 54.864, 0.001449225)  # tan(2.235273 deg) by an independent integrator: 0.039033
    0.03897

    """
    x = 2.0 * k_per_m * distance_m
    growth = (expm1(x) - x) / (0.5 * x * x) if x > 1e-4 else 1.0 + x / 3.0
    return 0.5 * STANDARD_GRAVITY_M_S2 * distance_m / (speed_m_s * speed_m_s) * growth


def fly(
    speed_m_s: float,
    slope: float,
    distance_m: float,
    k_per_m: float,
    gravity_m_s2: float,
    steps: int | None = None,
) -> Arrival:
    """Fly an arrow through still air to a distance.

    Parameters
    ----------
    speed_m_s : launch speed, [m/s], above 20
    slope : tangent of the launch angle above level, [-], -1 to 1
    distance_m : level distance, [m], 0 to 200
    k_per_m : drag constant, [1/m], 0 to 0.02
    gravity_m_s2 : gravity, [m/s2]
    steps : Runge-Kutta steps, [-]; as many as needed for 1e-6 m when left out

    Returns
    -------
    Arrival at that distance

    Examples
    --------
    >>> fly(85.344, 0.0, 54.864, 0.001449225, 9.80665).height_m  # independent integrator: -2.1382308
    -2.13823

    """
    n = steps or _steps_needed(speed_m_s, distance_m, k_per_m, gravity_m_s2)
    h = distance_m / n
    half, sixth = 0.5 * h, h / 6.0
    # Over x the equations are  dy/dx = p,  dp/dx = -g/u^2,  du/dx = -k u sqrt(1+p^2)
    # with p the slope and u the level speed; only p and u feed back, y is a sum along the way.
    p, u = slope, speed_m_s / sqrt(1.0 + slope * slope)
    y = 0.0
    g, k = -gravity_m_s2, -k_per_m
    for _ in range(n):
        a1 = g / (u * u)
        b1 = k * u * sqrt(1.0 + p * p)
        p2, u2 = p + half * a1, u + half * b1
        a2 = g / (u2 * u2)
        b2 = k * u2 * sqrt(1.0 + p2 * p2)
        p3, u3 = p + half * a2, u + half * b2
        a3 = g / (u3 * u3)
        b3 = k * u3 * sqrt(1.0 + p3 * p3)
        p4, u4 = p + h * a3, u + h * b3
        y += sixth * (p + 2.0 * (p2 + p3) + p4)
        p += sixth * (a1 + 2.0 * (a2 + a3) + g / (u4 * u4))
        u += sixth * (b1 + 2.0 * (b2 + b3) + k * u4 * sqrt(1.0 + p4 * p4))
    return Arrival(y, p, u * sqrt(1.0 + p * p))


def _steps_needed(speed_m_s: float, distance_m: float, k_per_m: float, gravity_m_s2: float) -> int:
    """Runge-Kutta steps that keep the height within 1e-6 m: an envelope fitted to measured errors.

    It holds for an arrow aimed at that distance, 5 to 200 yd, launch 130 to 410 fps, k up to 0.008 per m,
    as long as the arrow is not falling steeply (tests/test_flight.py walks that range).
    """
    bend = gravity_m_s2 * distance_m / (speed_m_s * speed_m_s)
    return max(5, ceil(23.0 * float((k_per_m * distance_m) ** 0.7) * (1.0 + 12.0 * bend * bend)))


def fly_in_wind(
    speed_m_s: float,
    slope: float,
    distance_m: float,
    k_per_m: float,
    gravity_m_s2: float,
    *,
    tail_wind_m_s: float = 0.0,
    cross_wind_m_s: float = 0.0,
    ground_slope_rad: float = 0.0,
    steps: int | None = None,
) -> WindArrival:
    """Fly an arrow through wind, along a line of sight that may point up or down hill.

    Distance and height are measured along and square to the line of sight.

    Parameters
    ----------
    speed_m_s : launch speed, [m/s], above 20
    slope : tangent of the launch angle above the line of sight, [-], -1 to 1
    distance_m : distance along the line of sight, [m], 0 to 200
    k_per_m : drag constant, [1/m], 0 to 0.02
    gravity_m_s2 : gravity, [m/s2]
    tail_wind_m_s : wind along the line of sight, from behind positive, [m/s]
    cross_wind_m_s : wind square to it, blowing to the right positive, [m/s]
    ground_slope_rad : the line of sight above level, [rad], -1.5 to 1.5
    steps : Runge-Kutta steps, [-]; as many as needed for 1e-6 m when left out

    Returns
    -------
    WindArrival at that distance

    Examples
    --------
    >>> fly_in_wind(85.344, 0.0, 54.864, 0.001449225, 9.80665, cross_wind_m_s=2.0).drift_m  # lag rule: 0.0525
    0.0525

    """
    n = steps or 2 * _steps_needed(speed_m_s, distance_m, k_per_m, gravity_m_s2)
    h = distance_m / n
    g_along, g_square = -gravity_m_s2 * sin(ground_slope_rad), -gravity_m_s2 * cos(ground_slope_rad)

    def rates(s: tuple[float, ...]) -> tuple[float, ...]:
        """Change per metre of (height, drift, time, speed along, up, right)."""
        u, v, w = s[3], s[4], s[5]
        ru, rw = u - tail_wind_m_s, w - cross_wind_m_s
        drag = k_per_m * sqrt(ru * ru + v * v + rw * rw)
        return (
            v / u,
            w / u,
            1.0 / u,
            (g_along - drag * ru) / u,
            (g_square - drag * v) / u,
            -drag * rw / u,
        )

    level = speed_m_s / hypot(1.0, slope)
    state: tuple[float, ...] = (0.0, 0.0, 0.0, level, level * slope, 0.0)
    for _ in range(n):
        r1 = rates(state)
        r2 = rates(tuple(s + 0.5 * h * r for s, r in zip(state, r1, strict=True)))
        r3 = rates(tuple(s + 0.5 * h * r for s, r in zip(state, r2, strict=True)))
        r4 = rates(tuple(s + h * r for s, r in zip(state, r3, strict=True)))
        state = tuple(
            s + h / 6.0 * (a + 2.0 * (b + c) + d) for s, a, b, c, d in zip(state, r1, r2, r3, r4, strict=True)
        )
    height, drift, time, u, v, w = state
    return WindArrival(height, v / u, sqrt(u * u + v * v + w * w), drift, time)
