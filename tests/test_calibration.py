"""Speed and drag from readings, from what is stated and from sight marks, against independent fits."""

from functools import lru_cache
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares

from readiness.calibration import (
    Ballistics,
    ballistics_of,
    drag_from_readings,
    reynolds_number,
    sharpened_by_marks,
)
from readiness.flight import drag_constant_per_m, fly
from readiness.sighting import Medium, Shooter, aim_slope
from readiness.trip.model import Arrow, Mark, Sight, SpeedReading

G = 9.80665
YARD, FOOT, INCH, GRAIN = 0.9144, 0.3048, 0.0254, 64.79891e-6
MASS, DIAMETER, PEEP, RADIUS = 445 * GRAIN, 0.232 * INCH, 4.3 * INCH, 34 * INCH
HOME = Medium(1.19, G)
K_OF_UNIT_DRAG = HOME.density_kg_m3 * pi * DIAMETER**2 / (8 * MASS)
PRIOR = Ballistics(276 * FOOT, 1.95, (2 * FOOT) ** 2, 0.325**2, 0.0, "before")
MARK_SD = 0.3e-3


def flown(speed, drag, slopes, distances):
    """Heights and speeds of arrows launched at these slopes, each at its own distance: scipy DOP853."""
    distances, n = np.asarray(distances), len(distances)

    def rates(_share, s):
        slope, level = s[n : 2 * n], s[2 * n :]
        bend, slowing = -G / level**2, -drag * K_OF_UNIT_DRAG * level * np.sqrt(1 + slope**2)
        return np.concatenate([distances * slope, distances * bend, distances * slowing])

    start = np.concatenate([np.zeros(n), slopes, speed / np.sqrt(1 + np.square(slopes))])
    end = solve_ivp(rates, (0.0, 1.0), start, method="DOP853", rtol=1e-11, atol=1e-11).y[:, -1]
    return end[:n], end[2 * n :] * np.sqrt(1 + end[n : 2 * n] ** 2)


def aimed(speed, drag, distances, rise):
    """The launch slopes that bring arrows this far above the launch at their distances, by scipy alone."""
    distances = np.asarray(distances)
    slopes = rise / distances + G * distances / (2 * speed**2)
    for _ in range(6):
        slopes = slopes - (flown(speed, drag, slopes, distances)[0] - rise) / distances
    return slopes


def scale_positions(speed, drag, distances):
    """Where the pin stands on the scale for each distance."""
    return RADIUS * aimed(speed, drag, distances, PEEP)


def marks_at(yards, sign, speed=275 * FOOT, drag=1.7, rng=None):
    """Marks of a true arrow, with a scale that begins somewhere, runs up or down, and reading errors."""
    distances, rng = np.asarray(yards) * YARD, rng or np.random.default_rng(8)
    readings = 0.05 + sign * scale_positions(speed, drag, distances)
    readings += rng.normal(0.0, MARK_SD, len(distances))
    return [Mark(float(x), float(r)) for x, r in zip(distances, readings, strict=True)]


def sharpened(marks):
    """The prior, sharpened by marks."""
    shooter = Shooter(PRIOR.speed_m_s, PRIOR.drag_coefficient, DIAMETER, MASS, PEEP)
    return sharpened_by_marks(PRIOR, shooter, HOME, marks, RADIUS, MARK_SD)


@lru_cache
def fit_by_scipy(yards, sign):
    """Best speed, drag and zero with their covariance: scipy least squares over an own residual."""
    marks = marks_at(yards, sign)
    readings = np.array([mark.reading_m for mark in marks])

    def residual(x):
        misses = (readings - x[2] - sign * scale_positions(x[0], x[1], np.array(yards) * YARD)) / MARK_SD
        before = [
            (x[0] - PRIOR.speed_m_s) / PRIOR.speed_sd_m_s,
            (x[1] - PRIOR.drag_coefficient) / PRIOR.drag_sd,
        ]
        return np.concatenate([misses, before])

    fit = least_squares(residual, [84.0, 1.9, 0.0], x_scale=[0.5, 0.3, 0.01], diff_step=1e-5)
    return fit.x, np.linalg.inv(fit.jac.T @ fit.jac)


CASES = [((20, 40, 60), 1.0), ((20, 30, 40, 50, 60, 70, 80), -1.0), ((15, 25, 35, 55, 100), 1.0)]


@pytest.mark.parametrize(("yards", "sign"), CASES)
def test_marks_give_the_speed_and_drag_of_an_independent_fit(yards, sign):
    """Speed and drag are those of scipy's least squares, whichever way the scale runs."""
    found, (best, _) = sharpened(marks_at(yards, sign)), fit_by_scipy(yards, sign)
    assert found.speed_m_s == pytest.approx(best[0], abs=0.01 * PRIOR.speed_sd_m_s)
    assert found.drag_coefficient == pytest.approx(best[1], abs=0.01 * PRIOR.drag_sd)


@pytest.mark.parametrize(("yards", "sign"), CASES)
def test_marks_leave_the_doubt_of_an_independent_fit(yards, sign):
    """Variances and covariance are those of scipy's Jacobian, within 2 %."""
    found, (_, covariance) = sharpened(marks_at(yards, sign)), fit_by_scipy(yards, sign)
    assert found.speed_variance == pytest.approx(covariance[0, 0], rel=0.02)
    assert found.drag_variance == pytest.approx(covariance[1, 1], rel=0.02)
    assert found.covariance == pytest.approx(covariance[0, 1], rel=0.02)


def test_a_scale_that_runs_down_tells_the_same():
    """Readings that fall with distance give what the same readings turned round give."""
    up = marks_at((20, 40, 60, 80), 1.0)
    down = [Mark(mark.distance_m, 0.2 - mark.reading_m) for mark in up]
    a, b = sharpened(up), sharpened(down)
    assert b.speed_m_s == pytest.approx(a.speed_m_s, abs=1e-5)
    assert b.drag_coefficient == pytest.approx(a.drag_coefficient, abs=1e-5)
    assert b.correlation == pytest.approx(a.correlation, abs=1e-5)


def test_marks_alone_do_not_tell_speed_from_drag():
    """A faster arrow with more drag fits the same marks: the two stay tied, and a note says so."""
    found = sharpened(marks_at((20, 30, 40, 50, 60, 70, 80), 1.0))
    assert found.correlation > 0.4
    assert f"{found.correlation:+.2f}" in found.note
    assert "7 sight marks" in found.drag_source


@settings(max_examples=20)
@given(
    st.lists(st.integers(15, 90), min_size=3, max_size=7, unique=True),
    st.sampled_from([1.0, -1.0]),
    st.integers(0, 99),
)
def test_marks_never_widen_the_doubt(yards, sign, seed):
    """Whatever the marks say, speed and drag are known no worse than before."""
    found = sharpened(marks_at(tuple(sorted(yards)), sign, rng=np.random.default_rng(seed)))
    assert found.speed_sd_m_s <= PRIOR.speed_sd_m_s * (1 + 1e-12)
    assert found.drag_sd <= PRIOR.drag_sd * (1 + 1e-12)
    assert abs(found.correlation) < 1.0


def test_sound_marks_are_left_out_one_time_in_a_hundred():
    """Seeded simulation of arrows and readings within their doubt: all but about 1 % of the marks are used."""
    rng, left_out = np.random.default_rng(17), 0
    for _ in range(400):
        speed, drag = rng.normal(PRIOR.speed_m_s, PRIOR.speed_sd_m_s), rng.normal(1.95, PRIOR.drag_sd)
        left_out += bool(sharpened(marks_at((20, 35, 50, 65), 1.0, speed, drag, rng)).warning)
    assert 0 < left_out < 13  # 4 expected; 13 or more has a chance of 3 in 10 000


@pytest.mark.parametrize(("shrink", "slip_m"), [(0.5, 0.0), (2.54, 0.0), (1.0, 0.01)])
def test_marks_that_do_not_fit_are_left_out_and_named(shrink, slip_m):
    """A wrong unit of the scale or one mark off by a centimetre: what was known before stays, with a warning."""
    marks = [Mark(m.distance_m, m.reading_m * shrink) for m in marks_at((20, 40, 60, 80), 1.0)]
    marks[2] = Mark(marks[2].distance_m, marks[2].reading_m + slip_m)
    found = sharpened(marks)
    assert "left out" in found.warning
    assert (found.speed_m_s, found.drag_coefficient) == (PRIOR.speed_m_s, PRIOR.drag_coefficient)
    assert (found.speed_sd_m_s, found.drag_sd) == (PRIOR.speed_sd_m_s, PRIOR.drag_sd)
    assert sharpened(marks_at((20, 40, 60, 80), 1.0)).warning == ""


@pytest.mark.parametrize("drag", [1.3, 1.95, 2.6, 4.0])
@pytest.mark.parametrize("yards", [(1, 40), (2, 20, 40), (5, 15, 30, 60)])
def test_drag_is_recovered_from_the_speeds_of_an_independent_integrator(drag, yards):
    """Speeds of scipy's trajectories, each aimed at its distance, give the drag back within 1 %."""
    distances = np.array([y * YARD for y in yards])
    _, speeds = flown(276 * FOOT, drag, aimed(276 * FOOT, drag, distances, 0.0), distances)
    found, _ = drag_from_readings(
        [(float(x), float(v)) for x, v in zip(distances, speeds, strict=True)], 0.5, K_OF_UNIT_DRAG
    )
    assert found == pytest.approx(drag, rel=0.01)


@pytest.mark.parametrize("yards", [(0, 40), (3, 20, 40, 60)])
def test_the_doubt_of_the_drag_is_that_of_a_simulation(yards):
    """Seeded simulation of reading errors: the scatter of the drag is the stated one, within 5 %."""
    distances = np.array([y * YARD for y in yards])
    exact = 276 * FOOT * np.exp(-1.95 * K_OF_UNIT_DRAG * distances)
    rng = np.random.default_rng(11)
    found = [
        drag_from_readings(
            list(zip(distances, exact + rng.normal(0.0, 0.4, len(yards)), strict=True)), 0.4, K_OF_UNIT_DRAG
        )[0]
        for _ in range(4000)
    ]
    _, stated = drag_from_readings(list(zip(distances, exact, strict=True)), 0.4, K_OF_UNIT_DRAG)
    assert np.std(found) == pytest.approx(stated, rel=0.05)
    assert np.mean(found) == pytest.approx(1.95, abs=4 * stated / 4000**0.5)


def an_arrow(**more):
    """The arrow of these tests, as a trip file gives it."""
    return Arrow(mass_kg=MASS, speed_m_s=276 * FOOT, shaft_diameter_m=DIAMETER, length_m=28.5 * INCH, **more)


NO_MARKS = Sight("fixed pins", RADIUS, (20 * YARD,))


def test_readings_come_before_what_is_stated_and_that_before_papers():
    """The best source of the drag wins, and is named."""
    readings = (SpeedReading(0.0, 84.0), SpeedReading(36.576, 80.0))
    measured = ballistics_of(an_arrow(speed_readings=readings, drag_coefficient=1.7), NO_MARKS, PEEP, HOME)
    stated = ballistics_of(an_arrow(drag_coefficient=1.7), NO_MARKS, PEEP, HOME)
    published = ballistics_of(an_arrow(), NO_MARKS, PEEP, HOME)
    assert "measured" in measured.drag_source
    assert measured.drag_coefficient == pytest.approx(np.log(84 / 80) / 36.576 / K_OF_UNIT_DRAG)
    assert (stated.drag_coefficient, stated.drag_sd) == pytest.approx((1.7, 0.17))
    # Laminar 1.3 to turbulent 2.6: Miyazaki and others, KAKENHI 18K03943 (2020); two deviations either side
    assert (published.drag_coefficient, published.drag_sd) == pytest.approx((1.95, 0.325))
    assert "published" in published.drag_source


def test_two_marks_change_nothing_and_three_do():
    """Fewer than three marks cannot tell speed, drag and the scale's zero."""
    marks = tuple(marks_at((20, 40, 60), 1.0))
    two, three = (Sight("slider", RADIUS, (20 * YARD,), marks[:n]) for n in (2, 3))
    assert ballistics_of(an_arrow(), two, PEEP, HOME) == ballistics_of(an_arrow(), NO_MARKS, PEEP, HOME)
    assert "3 sight marks" in ballistics_of(an_arrow(), three, PEEP, HOME).drag_source


@pytest.mark.parametrize(
    ("speed", "diameter", "reynolds"),
    # By diameter in the air of ISO 2533 at sea level (nu 1.46072e-5 m2/s), three digits
    [(60.0, 0.0055, 2.26e4), (56.4, 0.0055, 2.12e4), (85.3, 0.00625, 3.65e4), (91.4, 0.00762, 4.77e4)],
)
def test_reynolds_numbers_are_those_worked_out_apart(speed, diameter, reynolds):
    """Shafts at the speeds of the papers and of hunting bows."""
    assert reynolds_number(speed, diameter, 1.225, 15.0) == pytest.approx(reynolds, rel=2.5e-3)


@pytest.mark.parametrize(
    ("kelvin", "density", "viscosity"),
    # ISO 2533:1975 tables: kinematic viscosity at Z = 0, 1000 and 2000 m
    [(288.15, 1.225, 1.4607e-5), (281.651, 1.11166, 1.5813e-5), (275.154, 1.00655, 1.7147e-5)],
)
def test_viscosity_is_that_of_the_iso_tables(kelvin, density, viscosity):
    """A Reynolds number of one metre per second and one metre is the inverse of the table's viscosity."""
    assert 1 / reynolds_number(1.0, 1.0, density, kelvin - 273.15) == pytest.approx(viscosity, rel=4e-5)


@pytest.mark.parametrize("grams", [18, 20])
def test_the_published_loss_of_speed_is_of_the_right_size(grams):
    """Proceedings 49(1) (2020) 56: about 8 % from 56.4 m/s; CD 1.56; mass and 70 m are assumed here."""
    shooter, air = Shooter(56.4, 1.56, 0.0055, grams * 1e-3, 0.0), Medium(1.2, G)
    k = drag_constant_per_m(1.56, 0.0055, grams * 1e-3, 1.2)
    end = fly(56.4, aim_slope(shooter, air, 70.0), 70.0, k, G)
    assert 1 - end.speed_m_s / 56.4 == pytest.approx(0.08, abs=0.01)
