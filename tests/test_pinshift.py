"""One pin in other air, each part against an independent integrator (scipy DOP853) that aims and flies on its own."""

from functools import cache
from itertools import pairwise
from math import hypot, pi, sqrt

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from readiness.air import Air, standard_pressure_pa, standard_temperature_k
from readiness.calibration import Ballistics
from readiness.conditions import Conditions
from readiness.groups import Spread
from readiness.pinshift import FlightFromHome, advice_for, pin_forecast, shift_sd_m
from readiness.sighting import Shooter

FPS, PEEP, DIAMETER, MASS, RADIUS = 0.3048, 0.109, 0.0059, 0.0288, 0.86
SPEED, DRAG, DISTANCE = 84.0, 1.95, 55.0
HOME = Conditions("typical", Air(99_000.0, 23.0, 0.55), 9.80, 0.0, 0.0, 190.0)
THERE = Conditions("coldest", Air(72_500.0, -6.0, 0.30), 9.795, 0.0, 0.0, 2650.0)
SURE = Ballistics(SPEED, DRAG, 1e-30, 1e-30, 0.0, "stated")
STEP = {"density_sd_kg_m3": 0.012, "gravity_sd_m_s2": 0.03}  # gravity far more than on Earth, so that it is seen


@cache
def height(slope, density, gravity, speed=SPEED, drag=DRAG):
    """Height over the line of sight at the distance: scipy DOP853 at 1e-12."""
    k = density * drag * pi * DIAMETER**2 / (8 * MASS)

    def rates(_x, s):
        return [s[1], -gravity / s[2] ** 2, -k * s[2] * sqrt(1 + s[1] ** 2)]

    start = [-PEEP, slope, speed / hypot(1.0, slope)]
    return solve_ivp(rates, (0.0, DISTANCE), start, method="DOP853", rtol=1e-12, atol=1e-12).y[0, -1]


@cache
def aim(density, gravity, speed=SPEED, drag=DRAG):
    """The slope that puts the arrow on the line there: scipy's root of scipy's flight."""
    return brentq(lambda slope: height(slope, density, gravity, speed, drag), 0.0, 0.2, xtol=1e-13)


def shift_by_scipy(home, there, *, speed=SPEED, drag=DRAG, aimed_speed=None, aimed_drag=None):
    """Aim in one medium, shoot in another; where told, the aim belongs to another arrow."""
    return height(aim(*home, aimed_speed or speed, aimed_drag or drag), *there, speed, drag)


H, T = tuple(HOME.medium), tuple(THERE.medium)
SHIFT = shift_by_scipy(H, T)


def flight(ballistics=SURE, home=HOME):
    """This arrow, aimed at home."""
    return FlightFromHome(Shooter(SPEED, DRAG, DIAMETER, MASS, PEEP), ballistics, home, RADIUS)


def sd_of(ballistics=SURE, home=HOME, there=THERE):
    """The deviation of the shift as the program adds it up."""
    trip = flight(ballistics, home)
    return shift_sd_m(trip, trip.aims(DISTANCE), there, SHIFT)


def test_without_a_doubt_there_is_no_band():
    """Nothing doubtful, nothing to add; the shift itself is scipy's."""
    pin = pin_forecast(flight(), flight().aims(DISTANCE), THERE, None, 0.1, 12)
    assert pin.shift_m == pytest.approx(SHIFT, abs=1e-7)
    assert (pin.shift_low_m, pin.shift_high_m) == pytest.approx((SHIFT, SHIFT), abs=5e-7)


@pytest.mark.parametrize("place", ["home", "there"])
@pytest.mark.parametrize("step", STEP)
def test_a_doubt_of_the_air_or_of_gravity_at_one_place_moves_the_shift_as_scipy_says(place, step):
    """At home it moves the aim, there the flight; each alone is the whole of the deviation."""
    doubtful = {"home": HOME, "there": THERE}[place]._replace(**{step: STEP[step]})
    off = list(doubtful.medium)
    off[0 if step.startswith("density") else 1] += STEP[step]
    found = sd_of(**{place: doubtful})
    expected = shift_by_scipy(off, T) if place == "home" else shift_by_scipy(H, off)
    assert found == pytest.approx(abs(expected - SHIFT), abs=2e-7)
    assert found > 1e-4


def test_a_doubt_of_speed_or_drag_moves_the_aim_with_it():
    """The same arrow flies at home and there, so most of it cancels; what is left is what scipy leaves."""
    by_speed = shift_by_scipy(H, T, speed=SPEED + 2.0) - SHIFT
    by_drag = shift_by_scipy(H, T, drag=DRAG + 0.3) - SHIFT
    assert sd_of(SURE._replace(speed_variance=4.0, drag_variance=1e-30)) == pytest.approx(abs(by_speed), abs=2e-7)
    assert sd_of(SURE._replace(speed_variance=1e-30, drag_variance=0.09)) == pytest.approx(abs(by_drag), abs=2e-7)
    for correlation in (-0.9, 0.0, 0.8):
        tied = SURE._replace(speed_variance=4.0, drag_variance=0.09, covariance=correlation * 0.6)
        expected = sqrt(by_speed**2 + by_drag**2 + 2 * correlation * by_speed * by_drag)
        assert sd_of(tied) == pytest.approx(expected, abs=3e-7)


def test_independent_doubts_add_as_squares():
    """All of them at once: Pythagoras over the parts, each by scipy."""
    home, there = HOME._replace(**STEP), THERE._replace(**STEP)
    parts = [
        shift_by_scipy((H[0] + 0.012, H[1]), T) - SHIFT,
        shift_by_scipy((H[0], H[1] + 0.03), T) - SHIFT,
        shift_by_scipy(H, (T[0] + 0.012, T[1])) - SHIFT,
        shift_by_scipy(H, (T[0], T[1] + 0.03)) - SHIFT,
        shift_by_scipy(H, T, speed=SPEED + 2.0) - SHIFT,
        shift_by_scipy(H, T, drag=DRAG + 0.3) - SHIFT,
    ]
    doubt = SURE._replace(speed_variance=4.0, drag_variance=0.09)
    sd = hypot(*parts)
    assert sd_of(doubt, home, there) == pytest.approx(sd, rel=1e-4)
    trip = flight(doubt, home)
    pin = pin_forecast(trip, trip.aims(DISTANCE), there, None, 0.1, 12)
    half = stats.norm.ppf(0.975) * sd
    assert (pin.shift_low_m, pin.shift_high_m) == pytest.approx((SHIFT - half, SHIFT + half), rel=1e-4)


def test_speed_and_drag_that_are_tied_against_each_other_never_give_less_than_nothing():
    """Perfectly tied parts may cancel; rounding below zero is no deviation of its own."""
    by_speed = shift_by_scipy(H, T, speed=SPEED + 2.0) - SHIFT
    by_drag = shift_by_scipy(H, T, drag=DRAG + 0.3) - SHIFT
    for share in (0.98, 0.99, 1.0, 1.01, 1.02):
        drag_sd = 0.3 * abs(by_speed / by_drag) * share
        tie = -1.0 if by_speed * by_drag > 0 else 1.0
        tied = SURE._replace(speed_variance=4.0, drag_variance=drag_sd**2, covariance=tie * 2.0 * drag_sd * 1.0001)
        assert 0.0 <= sd_of(tied) < 0.05 * abs(by_speed)


def test_the_advice_weighs_both_ends_of_the_band():
    """A band from a cheap low end to a costly high end asks for proof: neither end alone would."""
    doubt = SURE._replace(drag_variance=0.5)
    trip = flight(doubt)
    low, middle, high = (SHIFT + z * stats.norm.ppf(0.975) * sd_of(doubt) for z in (-1, 0, 1))
    sigma = 0.6 * middle
    radius = next(r * middle for r in np.linspace(0.5, 8, 400) if cost(low, sigma, r * middle) < 0.008 and cost(high, sigma, r * middle) > 0.012)  # fmt: skip
    assert advice_for((low, low), middle, sigma, radius, 200)[0] == "leave"
    assert advice_for((high, high), middle, sigma, radius, 200)[0] == "move"
    pin = pin_forecast(trip, trip.aims(DISTANCE), THERE, Spread(sigma, 9.0), radius, 200)
    assert pin.advice == "confirm"


def cost(shift, sigma, radius):
    """The share of arrows that a shift takes out of the zone: scipy.stats."""
    return stats.rayleigh.cdf(radius / sigma) - stats.rice.cdf(radius / sigma, abs(shift) / sigma)


def test_one_foot_per_second_is_flown_with_the_aim_as_it_is():
    """Another launch speed there, the sight as set at home: scipy's flight of both."""
    pin = pin_forecast(flight(), flight().aims(DISTANCE), THERE, None, 0.1, 12)
    faster = shift_by_scipy(H, T, speed=SPEED + FPS, aimed_speed=SPEED)
    assert pin.m_per_fps == pytest.approx(faster - SHIFT, abs=2e-7)


def test_the_numbers_of_a_pin_stand_where_they_belong():
    """Distance, sight move by similar triangles, sigma as given, shares by scipy.stats, arrows by the handbook's formula."""
    pin = pin_forecast(flight(), flight().aims(DISTANCE), THERE, Spread(0.02, 9.0), 0.05, 200)
    assert (pin.distance_m, pin.sigma_m) == (DISTANCE, 0.02)
    assert pin.sight_move_m == pytest.approx(SHIFT * RADIUS / DISTANCE, rel=1e-5)
    assert pin.in_zone_home == pytest.approx(stats.rayleigh.cdf(0.05 / 0.02))
    assert pin.in_zone_there == pytest.approx(stats.rice.cdf(0.05 / 0.02, abs(SHIFT) / 0.02), abs=1e-5)
    n = pin.arrows_to_see
    assert n == min(m for m in range(3, 201) if m >= (student(m) * 0.02 / SHIFT) ** 2)
    assert pin.equivalent_distance_m > DISTANCE
    low = THERE._replace(air=HOME.air._replace(temperature_c=-30.0))
    assert pin_forecast(flight(), flight().aims(DISTANCE), low, None, 0.05, 12).equivalent_distance_m < DISTANCE


def student(arrows, power=0.8):
    """t(0.975) + t(power) of n arrows by scipy: NIST/SEMATECH e-Handbook 7.2.2.2."""
    return stats.t.ppf(0.975, arrows - 1) + stats.t.ppf(power, arrows - 1)


def test_each_cause_is_what_its_own_step_of_air_changes():
    """Elevation, temperature, humidity, pressure, gravity: one after the other, each state of the air flown by scipy."""
    climb = standard_pressure_pa(2650.0) / standard_pressure_pa(190.0)
    lapse = standard_temperature_k(2650.0) - standard_temperature_k(190.0)
    states = [
        HOME.air,
        Air(99_000.0 * climb, 23.0 + lapse, 0.55),
        Air(99_000.0 * climb, -6.0, 0.55),
        Air(99_000.0 * climb, -6.0, 0.30),
        THERE.air,
    ]
    heights = [shift_by_scipy(H, (state.density_kg_m3, H[1])) for state in states] + [SHIFT]
    pin = pin_forecast(flight(), flight().aims(DISTANCE), THERE, None, 0.1, 12)
    expected = [after - before for before, after in pairwise(heights)]
    assert list(pin.because) == pytest.approx(expected, abs=3e-7)
    assert min(abs(part) for part in expected) > 3e-6


def shift_that_costs(loss, sigma=0.05, radius=0.1):
    """The shift that takes this share of arrows out of the zone: scipy's root of scipy.stats.rice."""
    return brentq(lambda shift: cost(shift, sigma, radius) - loss, 1e-6, radius)


@pytest.mark.parametrize("sign", [1, -1])
def test_one_arrow_in_a_hundred_is_what_counts(sign):
    """The far end must cost that much to be worth a look, the near end to be worth a wrench; 200 arrows show it."""
    under, over, seen = (sign * shift_that_costs(loss) for loss in (0.00995, 0.01005, 0.05))
    assert advice_for(tuple(sorted((0.0, under))), seen, 0.05, 0.1, 200)[0] == "leave"
    assert advice_for(tuple(sorted((0.0, over))), seen, 0.05, 0.1, 200)[0] == "confirm"
    assert advice_for(tuple(sorted((under, 2 * seen))), seen, 0.05, 0.1, 200)[0] == "confirm"
    assert advice_for(tuple(sorted((over, 2 * seen))), seen, 0.05, 0.1, 200)[0] == "move"


def test_as_many_arrows_as_are_needed_are_enough():
    """One less does not show the shift, and then it is left alone; the number is told in any case."""
    shift = 0.07
    needed = min(n for n in range(3, 201) if n >= (student(n) * 0.05 / shift) ** 2)
    assert advice_for((0.06, 0.08), shift, 0.05, 0.1, needed) == ("move", needed)
    assert advice_for((0.06, 0.08), shift, 0.05, 0.1, needed - 1) == ("leave", needed)
    assert advice_for((0.0, 0.08), shift, 0.05, 0.1, needed) == ("confirm", needed)
    assert advice_for((0.06, 0.08), 1e-4, 0.05, 0.1, 200) == ("leave", None)
    assert advice_for((0.06, 0.08), shift, None, 0.1, needed) == ("cannot tell", None)
