"""Wind drift and slope tables, against an integration of our own writing by scipy and against the lag rule."""

from math import atan, cos, hypot, radians, sin, tan

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from readiness.fieldtables import (
    SLOPES_DEG,
    WINDS_MPH,
    field_tables,
    level_distance_m,
    slope_aim,
    slope_row,
    wind_drifts_m,
)
from readiness.forecast import forecast
from readiness.sighting import Medium, Shooter

MPH = 0.44704  # exact: 1609.344 m / 3600 s
ARROW = Shooter(85.344, 2.0, 0.0062484, 0.025919564, 0.1)
HEAVY = Shooter(76.0, 1.7, 0.0058, 0.0324, 0.11)
SEA, HIGH = Medium(1.225, 9.80665), Medium(0.93, 9.795)


def _landing(shooter, medium, launch_rad, distance, *, ground=0.0, cross=0.0):
    """(height over the line of sight, drift) at a distance along the line: solve_ivp over time, world axes."""
    area = 3.141592653589793 * shooter.shaft_diameter_m**2 / 4
    k = medium.density_kg_m3 * shooter.drag_coefficient * area / (2 * shooter.mass_kg)
    angle = ground + launch_rad

    def rates(_t, s):
        vx, vy, vz = s[3:]
        rz = vz - cross
        v = (vx * vx + vy * vy + rz * rz) ** 0.5
        return [vx, vy, vz, -k * v * vx, -k * v * vy - medium.gravity_m_s2, -k * v * rz]

    def reached(_t, s):
        return s[0] * cos(ground) + s[1] * sin(ground) - distance

    reached.terminal = True
    v0 = shooter.speed_m_s
    start = [0, 0, 0, v0 * cos(angle), v0 * sin(angle), 0]
    flight = solve_ivp(rates, (0, 10), start, method="DOP853", rtol=1e-11, atol=1e-12, events=reached)
    x, y, z = flight.y_events[0][0][:3]
    return -x * sin(ground) + y * cos(ground) - shooter.peep_height_m, z, float(flight.t_events[0][0])


def _aim(shooter, medium, distance, ground=0.0):
    return brentq(lambda a: _landing(shooter, medium, a, distance, ground=ground)[0], -0.1, 0.3, xtol=1e-13)


@pytest.mark.parametrize("shooter", [ARROW, HEAVY])
@pytest.mark.parametrize("medium", [SEA, HIGH])
@pytest.mark.parametrize("distance", [18.288, 54.864, 91.44])
def test_drift_is_that_of_an_independent_integration(shooter, medium, distance):
    """Each drift agrees with solve_ivp in three dimensions within a tenth of a millimetre."""
    aim = _aim(shooter, medium, distance)
    for wind, drift in zip(WINDS_MPH, wind_drifts_m(shooter, medium, distance), strict=True):
        assert drift == pytest.approx(_landing(shooter, medium, aim, distance, cross=wind * MPH)[1], abs=1e-4)


@pytest.mark.parametrize("distance", [18.288, 36.576, 54.864])
def test_drift_keeps_to_the_lag_rule(distance):
    """Drift is wind times the time the arrow loses to drag (Didion's lag rule), within 2 %."""
    aim = _aim(ARROW, SEA, distance)
    time = _landing(ARROW, SEA, aim, distance)[2]
    lag = time - distance / (ARROW.speed_m_s * cos(aim))
    for wind, drift in zip(WINDS_MPH, wind_drifts_m(ARROW, SEA, distance), strict=True):
        assert drift == pytest.approx(wind * MPH * lag, rel=0.02)


@pytest.mark.parametrize("degrees", [-40, -20, 10, 30, 40])
@pytest.mark.parametrize("distance", [27.432, 54.864])
def test_the_aim_on_a_slope_hits(degrees, distance):
    """The launch slope found for a slope is the root that scipy finds."""
    found = atan(slope_aim(ARROW, HIGH, distance, radians(degrees)))
    assert found == pytest.approx(_aim(ARROW, HIGH, distance, radians(degrees)), abs=2e-7)


@pytest.mark.parametrize("degrees", [-40, -10, 20, 40])
@pytest.mark.parametrize("distance", [36.576, 54.864, 73.152])
def test_the_level_distance_has_the_same_aim(degrees, distance):
    """Shot level at the distance told, the arrow aimed for the slope hits: by the independent integration."""
    level = level_distance_m(ARROW, HIGH, distance, radians(degrees))
    aim = _aim(ARROW, HIGH, distance, radians(degrees))
    assert _landing(ARROW, HIGH, aim, level)[0] == pytest.approx(0.0, abs=2e-5)
    assert level < distance


@pytest.mark.parametrize("degrees", [-30, 30])
def test_the_miss_without_a_thought_of_the_slope(degrees):
    """How high the level aim lands on the slope is what the independent integration gives."""
    distance = 54.864
    row = slope_row(ARROW, SEA, distance)
    told = (row.uphill if degrees > 0 else row.downhill)[SLOPES_DEG.index(abs(degrees))].miss_m
    assert told == pytest.approx(
        _landing(ARROW, SEA, _aim(ARROW, SEA, distance), distance, ground=radians(degrees))[0], abs=1e-4
    )


def test_in_a_vacuum_the_level_distance_is_the_closed_form():
    """Without air and with the eye at the arrow: sin(2a) of the level aim equals that of Gauss's oblique range."""
    bare = Shooter(85.0, 1e-9, 0.006, 0.026, 0.0)
    distance, slope = 50.0, radians(30)
    aim = slope_aim(bare, SEA, distance, slope)
    a = atan(aim)
    # Oblique range R = 2 v^2 cos(a+s) sin(a) / (g cos^2 s), textbook projectile motion.
    reach = 2 * 85.0**2 * cos(a + slope) * sin(a) / (9.80665 * cos(slope) ** 2)
    assert reach == pytest.approx(distance, abs=1e-4)
    level = 85.0**2 * sin(2 * a) / 9.80665
    assert level_distance_m(bare, SEA, distance, slope) == pytest.approx(level, abs=1e-3)


def test_so_near_that_no_level_distance_answers():
    """Inside the distance with the lowest aim of all, a slope needs a lower aim than any level distance: None."""
    # The flat-fire aim h/x + g x/(2 v^2) is lowest at x = v sqrt(2 h/g): 12.2 m for this arrow.
    nearest = ARROW.speed_m_s * (2 * ARROW.peep_height_m / 9.80665) ** 0.5
    assert level_distance_m(ARROW, SEA, nearest, radians(30)) is None
    lowest = min(tan(_aim(ARROW, SEA, d)) for d in (11.0, 11.6, 12.2, 12.8, 13.4))
    assert slope_aim(ARROW, SEA, nearest, radians(30)) < lowest


def test_pins_beyond_the_farthest_group_get_no_row(a_trip):
    """The table ends where the groups end, and says which pins it leaves out."""
    trip = a_trip("high-basin", ("- {distance: 60 yd, arrows: 6, mean_radius: 2.6 in, right: 0.0 in, up: -0.3 in}", ""))
    (first, _) = field_tables(trip, forecast(trip))
    assert [round(row.distance_m / 0.9144) for row in first.wind] == [20, 30, 40]
    assert [round(d / 0.9144) for d in first.too_far_m] == [50, 60]


def test_the_densest_air_of_a_place_is_taken(a_trip):
    """Drift is told for the coldest case, where it is greatest."""
    trip = a_trip("high-basin")
    made = field_tables(trip, forecast(trip))
    assert [table.case.label for table in made] == ["coldest", "coldest"]
    assert hypot(*(row.drifts_m[1] for row in made[0].wind)) > hypot(*(row.drifts_m[1] for row in made[1].wind))
