"""Sights: the aim, the shift in other air, what to move; FOC, energy and momentum."""

from math import atan, degrees, hypot, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from readiness import sighting
from readiness.air import moist_air_density_kg_m3, standard_pressure_pa, standard_temperature_k
from readiness.flight import drag_constant_per_m, fly, fly_in_wind
from readiness.sighting import (
    Medium,
    Shooter,
    aim_slope,
    equivalent_distance_m,
    foc_fraction,
    height_m,
    kinetic_energy_j,
    momentum_kg_m_s,
    shift_m,
    sight_move_m,
)

G = 9.80665
YARD, FOOT, INCH, GRAIN = 0.9144, 0.3048, 0.0254, 64.79891e-6


def arrow(grains, inches, drag, fps, peep_m=0.0):
    """A shooter from the numbers that archers use."""
    return Shooter(fps * FOOT, drag, inches * INCH, grains * GRAIN, peep_m)


A = arrow(400, 0.246, 2.0, 280)
B = arrow(500, 0.204, 1.8, 265)
C = arrow(350, 0.300, 2.6, 300)
SEA = Medium(1.225, G)


def dry(celsius=15.0, pascal=101325.0, humidity=0.0):
    """Air by CIPM-2007, which tests/test_air.py proves."""
    return Medium(moist_air_density_kg_m3(pascal, celsius, humidity), G)


def standard(feet):
    """Dry air of the standard atmosphere."""
    z = feet * FOOT
    return dry(standard_temperature_k(z) - 273.15, standard_pressure_pa(z))


def height_by_scipy(shooter, density, slope, distance):
    """Height over the line of sight by scipy DOP853."""
    k = density * shooter.drag_coefficient * pi * shooter.shaft_diameter_m**2 / (8 * shooter.mass_kg)

    def rates(_x, s):
        return [s[1], -G / s[2] ** 2, -k * s[2] * sqrt(1 + s[1] ** 2)]

    start = [-shooter.peep_height_m, slope, shooter.speed_m_s / hypot(1.0, slope)]
    return solve_ivp(rates, (0.0, distance), start, method="DOP853", rtol=1e-13, atol=1e-13).y[0, -1]


SHIFTS_CM = [
    # arrow, density at home, density there, cm at 20, 40, 60, 80 yd, launch degrees: scipy DOP853 at 1e-13
    (A, 1.225, 0.96287, (0.087, 0.715, 2.473, 6.015), 2.235273),
    (A, 1.225, 0.904637, (0.106, 0.872, 3.017, 7.333), 2.235273),
    (A, 1.2, 0.9, (0.100, 0.816, 2.823, 6.858), 2.232787),
    (B, 1.225, 0.96287, (0.048, 0.386, 1.319, 3.169), 2.428717),
    (B, 1.225, 0.904637, (0.058, 0.471, 1.611, 3.869), 2.428717),
    (B, 1.2, 0.9, (0.054, 0.441, 1.507, 3.620), 2.427396),
    (C, 1.225, 0.96287, (0.173, 1.458, 5.197, 13.026), 2.081627),
    (C, 1.225, 0.904637, (0.211, 1.777, 6.325, 15.829), 2.081627),
    (C, 1.2, 0.9, (0.197, 1.661, 5.909, 14.779), 2.076352),
]


@pytest.mark.parametrize(("shooter", "home", "there", "shifts_cm", "launch_deg"), SHIFTS_CM)
def test_the_shift_is_that_of_an_independent_integrator(shooter, home, there, shifts_cm, launch_deg):
    """Pin shift and launch angle agree with the table to the printed digits."""
    found = [shift_m(shooter, Medium(home, G), Medium(there, G), y * YARD) * 100 for y in (20, 40, 60, 80)]
    assert found == pytest.approx(shifts_cm, abs=6e-4)
    slope = aim_slope(shooter, Medium(home, G), 60 * YARD)
    assert degrees(atan(slope)) == pytest.approx(launch_deg, abs=1e-6)


@pytest.mark.parametrize(
    ("drag", "shifts_cm"),
    # Arrow A with another drag coefficient, 1.225 -> 0.96287 kg/m3: scipy DOP853
    [
        (1.3, (0.056, 0.457, 1.568, 3.780)),
        (1.6, (0.069, 0.566, 1.950, 4.720)),
        (2.0, (0.087, 0.715, 2.473, 6.015)),
        (2.6, (0.114, 0.943, 3.286, 8.052)),
    ],
)
def test_the_shift_grows_about_in_proportion_to_drag(drag, shifts_cm):
    """With the sight set by shooting, the drag coefficient enters the shift only about in proportion."""
    shooter = A._replace(drag_coefficient=drag)
    found = [shift_m(shooter, SEA, Medium(0.96287, G), y * YARD) * 100 for y in (20, 40, 60, 80)]
    assert found == pytest.approx(shifts_cm, abs=6e-4)


@pytest.mark.parametrize(
    ("there", "shift_cm"),
    # Arrow A at 60 yd, sight set in dry air of 15 C and 1013.25 hPa: scipy DOP853 with CIPM-2007
    [
        (standard(5000), 1.604),
        (standard(8000), 2.474),
        (standard(10000), 3.018),
        (dry(30.0), 0.578),
        (dry(-10.0), -1.117),
        (dry(16.0), 0.041),
        (dry(pascal=101425.0), -0.0115),
        (dry(humidity=1.0), 0.074),
    ],
)
def test_each_cause_moves_the_impact_as_listed(there, shift_cm):
    """Elevation, warmth, pressure and humidity each shift arrow A as the integrator says."""
    assert shift_m(A, dry(), there, 60 * YARD) * 100 == pytest.approx(shift_cm, abs=1.1e-3)


def test_humidity_matters_more_in_the_heat():
    """At 30 C, humidity from 0 to 100 % is worth 0.174 cm at 60 yd (scipy DOP853 with CIPM-2007)."""
    dry_cm, wet_cm = (shift_m(A, dry(), dry(30.0, humidity=h), 60 * YARD) * 100 for h in (0.0, 1.0))
    assert wet_cm - dry_cm == pytest.approx(0.174, abs=1.1e-3)


@pytest.mark.parametrize(
    ("change", "shift_cm"),
    # Arrow A, the aim for 60 yd kept: scipy DOP853
    [
        ({"speed_m_s": 281 * FOOT}, 1.522),
        ({"speed_m_s": 279 * FOOT}, -1.538),
        ({"drag_coefficient": 1.5}, 2.887),
        ({"drag_coefficient": 2.6}, -3.542),
    ],
)
def test_another_arrow_with_the_same_aim_lands_elsewhere(change, shift_cm):
    """One foot per second, or another drag, moves the impact as the integrator says."""
    slope = aim_slope(A, dry(), 60 * YARD)
    assert height_m(A._replace(**change), dry(), slope, 60 * YARD) * 100 == pytest.approx(shift_cm, abs=1.1e-3)


@pytest.mark.parametrize("yards", [3, 20, 60, 100])
@pytest.mark.parametrize("shooter", [A, B._replace(peep_height_m=0.11), arrow(445, 0.232, 1.95, 180, 0.1)])
def test_the_aim_puts_the_arrow_on_the_line(shooter, yards):
    """An independent integrator finds the aimed arrow on the line of sight, to a micrometre."""
    slope = aim_slope(shooter, SEA, yards * YARD)
    assert height_by_scipy(shooter, 1.225, slope, yards * YARD) == pytest.approx(0.0, abs=1e-6)


def test_a_slow_arrow_far_out_is_aimed_as_exactly():
    """120 ft/s at 100 yd needs a launch of 35 degrees; the aim is as exact as for any other distance."""
    slow = arrow(350, 0.360, 2.6, 120, 0.1)
    slope = aim_slope(slow, SEA, 100 * YARD)
    assert height_m(slow, SEA, slope, 100 * YARD) == pytest.approx(0.0, abs=1e-8)


densities = st.floats(0.7, 1.4)
yards_drawn = st.floats(20.0, 80.0)


@given(densities, yards_drawn)
def test_the_same_air_shifts_nothing(density, yards):
    """At home the sight is right."""
    assert shift_m(A, Medium(density, G), Medium(density, G), yards * YARD) == pytest.approx(0.0, abs=1e-8)


@given(densities, yards_drawn, st.floats(-0.1, 0.1))
def test_up_and_down_again_cancel_to_first_order(density, yards, change):
    """Setting the sight there and shooting at home misses by the opposite, but for the square of the change."""
    home, there = Medium(density, G), Medium(density * (1 + change), G)
    up, down = shift_m(A, home, there, yards * YARD), shift_m(A, there, home, yards * YARD)
    assert abs(up + down) <= 0.5 * abs(change) * abs(up) + 1e-8


@given(densities, densities, st.sampled_from([A, B, C]))
def test_density_alone_never_moves_an_arrow_sideways(home, there, shooter):
    """Without wind the drift is zero in any air."""
    slope = aim_slope(shooter, Medium(home, G), 60 * YARD)
    k = drag_constant_per_m(shooter.drag_coefficient, shooter.shaft_diameter_m, shooter.mass_kg, there)
    assert fly_in_wind(shooter.speed_m_s, slope, 60 * YARD, k, G).drift_m == 0.0


@given(densities, st.floats(0.6, 0.98), st.floats(10.0, 40.0), st.sampled_from([A, B, C]))
def test_the_shift_grows_about_eight_times_when_the_distance_doubles(density, ratio, yards, shooter):
    """The shift goes with about the third power of the distance."""
    home, there = Medium(density, G), Medium(density * ratio, G)
    near, far = (shift_m(shooter, home, there, y * YARD) for y in (yards, 2 * yards))
    assert 6.5 < far / near < 9.5


@given(st.floats(-10.0, 30.0), st.floats(0.5, 20.0), yards_drawn)
def test_warmer_air_lands_higher(celsius, step, yards):
    """With the sight as set, warmer air lands higher."""
    assert shift_m(A, dry(celsius), dry(celsius + step), yards * YARD) > 0.0


@given(st.floats(0.0, 9000.0), st.floats(100.0, 4000.0), yards_drawn)
def test_higher_country_lands_higher(feet, climb, yards):
    """With the sight as set, the standard air of a higher place lands higher."""
    assert shift_m(A, standard(feet), standard(feet + climb), yards * YARD) > 0.0


@pytest.mark.parametrize("shooter", [A, B, C._replace(peep_height_m=0.11)])
@pytest.mark.parametrize(("yards", "density"), [(40, 0.9), (60, 0.96287), (80, 1.3)])
def test_the_equivalent_distance_is_where_the_arrow_meets_the_line(shooter, yards, density):
    """scipy's root of scipy's trajectory is the distance at which a setting is dead on there."""
    slope = aim_slope(shooter, SEA, yards * YARD)
    expected = brentq(lambda x: height_by_scipy(shooter, density, slope, x), 0.8 * yards * YARD, 1.3 * yards * YARD)
    found = equivalent_distance_m(shooter, Medium(density, G), slope, yards * YARD)
    assert found == pytest.approx(expected, abs=2e-5)
    assert (found > yards * YARD) == (density < 1.225)


def test_an_arrow_that_runs_along_the_line_has_no_equivalent_distance():
    """Where the path just touches the line at its top, the question has no answer."""
    peep = 0.114
    top = 90.0 * sqrt(2 * peep / G)  # exact without air; this arrow hardly feels it over 14 m
    shooter = Shooter(90.0, 0.5, 0.005, 0.03, peep)
    assert equivalent_distance_m(shooter, SEA, aim_slope(shooter, SEA, top), top) is None


@pytest.mark.parametrize(("share", "found"), [(0.52, True), (0.5025, True), (0.4975, False), (0.48, False)])
def test_a_setting_that_is_dead_on_at_under_half_its_distance_is_no_longer_near_it(share, found):
    """The aim for a known distance, offered as that of another one: named from half of it on, None below."""
    distance = 100 * YARD
    slope = aim_slope(B, SEA, share * distance)
    expected = pytest.approx(share * distance, abs=1e-6) if found else None
    assert equivalent_distance_m(B, SEA, slope, distance) == expected


@pytest.mark.parametrize(("slope", "found"), [(-0.0025, True), (-0.00201, True), (-0.00199, False), (-0.0001, False)])
def test_an_arrow_that_falls_two_in_a_thousand_meets_the_line_and_a_flatter_one_runs_along_it(slope, found):
    """The distance at which an aimed arrow arrives with that slope, by scipy's root: it is its own answer, or none."""
    shooter = B._replace(peep_height_m=0.11)
    k = drag_constant_per_m(shooter.drag_coefficient, shooter.shaft_diameter_m, shooter.mass_kg, 1.225)

    def arrives_with(distance):
        return fly(shooter.speed_m_s, aim_slope(shooter, SEA, distance), distance, k, G).slope - slope

    distance = brentq(arrives_with, 8.0, 30.0, xtol=1e-12)
    answer = equivalent_distance_m(shooter, SEA, aim_slope(shooter, SEA, distance), distance)
    assert answer == (pytest.approx(distance, abs=1e-4) if found else None)


def test_an_aim_takes_a_handful_of_flights(monkeypatch):
    """The search starts close and closes in quickly: four flights at most, aim or meeting, from 5 to 100 yd (counted)."""
    flights = []

    def counted(*args):
        flights.append(args)
        return fly(*args)

    monkeypatch.setattr(sighting, "fly", counted)
    for shooter in (A, B._replace(peep_height_m=0.11), C._replace(peep_height_m=0.11)):
        for yards in (5, 20, 60, 100):
            flights.clear()
            slope = aim_slope(shooter, SEA, yards * YARD)
            assert 2 <= len(flights) <= 4
            flights.clear()
            assert equivalent_distance_m(shooter, Medium(1.0, G), slope, yards * YARD) is not None
            assert 2 <= len(flights) <= 4


@pytest.mark.parametrize("shift", [0.025, -0.04])
def test_the_sight_moves_towards_the_shift(shift):
    """Follow the arrow: high arrows, pin up, by similar triangles (common practice, no source)."""
    move = sight_move_m(shift, 34 * INCH, 60 * YARD)
    assert move == pytest.approx(shift * 34 / (60 * 36))


@pytest.mark.parametrize(
    ("length", "balance", "foc"),
    [(28.5, 18.0, 0.13158), (28.0, 16.8, 0.10000)],  # ASTM F1435 balance, formula of common practice
)
def test_foc_is_that_of_the_examples(length, balance, foc):
    """Inches or metres, the share is that of the worked examples."""
    assert foc_fraction(length, balance) == pytest.approx(foc, abs=5e-6)
    assert foc_fraction(length * INCH, balance * INCH) == pytest.approx(foc, abs=5e-6)


def test_a_hunting_arrow_with_a_heavy_front_has_foc_near_17_percent():
    """200 gr in front of a 10.5 gr/in shaft of 28.5 in balance near 17 % (common practice, no source)."""
    length = 28.5
    parts = ((200.0, length), (10.5 * length, length / 2), (22.0, 1.5), (10.0, 0.0))  # grains, inches from nock
    balance = sum(mass * place for mass, place in parts) / sum(mass for mass, _ in parts)
    assert foc_fraction(length, balance) == pytest.approx(0.17, abs=0.015)


@pytest.mark.parametrize(
    ("grains", "fps", "foot_pounds", "joules", "pound_seconds", "newton_seconds"),
    # Evaluated apart from exact factors: 7000 gr to the pound, 9.80665 m/s2, 0.3048 m to the foot
    [
        (400, 280, 69.6213, 94.3938, 0.49730, 2.21208),
        (500, 265, 77.9521, 105.6889, 0.58832, 2.61697),
        (350, 300, 69.9321, 94.8152, 0.46621, 2.07382),
        (650, 180, 46.7546, 63.3908, 0.51950, 2.31083),
    ],
)
def test_energy_and_momentum_are_exact(grains, fps, foot_pounds, joules, pound_seconds, newton_seconds):
    """Joules and newton seconds, and the same in the old units, to the printed digits."""
    energy = kinetic_energy_j(grains * GRAIN, fps * FOOT)
    momentum = momentum_kg_m_s(grains * GRAIN, fps * FOOT)
    assert energy == pytest.approx(joules, abs=5.1e-5)
    assert energy / 1.3558179483314 == pytest.approx(foot_pounds, abs=5.1e-5)
    assert momentum == pytest.approx(newton_seconds, abs=5.1e-6)
    assert momentum / 4.4482216152605 == pytest.approx(pound_seconds, abs=5.1e-6)
