"""The flight against exact solutions and an independent integrator (scipy DOP853)."""

from itertools import product
from math import asinh, atan, cos, degrees, exp, expm1, factorial, hypot, pi, radians, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from readiness.flight import drag_constant_per_m, flat_fire_slope, fly, fly_in_wind

G = 9.80665
YARD, FOOT, INCH, GRAIN = 0.9144, 0.3048, 0.0254, 64.79891e-6
SPEED = 280 * FOOT  # arrow A of the tables: 400 gr, 0.246 in, CD 2.0, 280 ft/s


def k_of_arrow_a(density):
    """rho CD pi d^2 / (8 m), written out."""
    return density * 2.0 * pi * (0.246 * INCH) ** 2 / (8 * 400 * GRAIN)


def by_scipy(speed, slope, distance, k, g=G, tail=0.0, cross=0.0, tilt=0.0):
    """Height, drift, time, and the speeds along, up and right, at a distance: scipy DOP853 at 1e-13."""

    def rates(_x, s):
        along, up, right = s[3], s[4], s[5]
        drag = k * sqrt((along - tail) ** 2 + up**2 + (right - cross) ** 2)
        pull = (
            -g * sin(tilt) - drag * (along - tail),
            -g * cos(tilt) - drag * up,
            -drag * (right - cross),
        )
        return [up / along, right / along, 1 / along, *(a / along for a in pull)]

    level = speed / hypot(1.0, slope)
    start = [0.0, 0.0, 0.0, level, level * slope, 0.0]
    return solve_ivp(rates, (0.0, distance), start, method="DOP853", rtol=1e-13, atol=1e-13).y[:, -1]


def flat_fire_drop(speed, distance, k, g=G):
    """Drop of flat fire, exact where the slope stays small (McCoy, Modern Exterior Ballistics, chapter 5)."""
    if k == 0.0:
        return g * distance**2 / (2 * speed**2)
    return g / (4 * k**2 * speed**2) * (expm1(2 * k * distance) - 2 * k * distance)


@pytest.mark.parametrize(
    ("density", "yards", "time", "height", "speed", "angle"),
    # Arrow A, launched level: scipy 1.17.1 DOP853 at 1e-13
    [
        (1.225, 20, 0.2171508, -0.2291843, 83.138139, -1.448547),
        (1.225, 30, 0.3279041, -0.5202922, 82.077488, -2.201522),
        (1.225, 40, 0.4401360, -0.9333025, 81.045259, -2.973941),
        (1.225, 50, 0.5538671, -1.4714927, 80.041643, -3.766008),
        (1.225, 60, 0.6691187, -2.1382308, 79.066847, -4.577894),
        (1.225, 80, 0.9042718, -3.8712961, 77.204587, -6.261655),
        (1.225, 100, 1.1457797, -6.1613849, 75.460319, -8.025907),
        (0.96287, 20, 0.2165334, -0.2283126, 83.610728, -1.440294),
        (0.96287, 30, 0.3265039, -0.5173147, 82.777831, -2.182669),
        (0.96287, 40, 0.4376267, -0.9261595, 81.967675, -2.939925),
        (0.96287, 50, 0.5499146, -1.4573724, 81.180451, -3.712083),
        (0.96287, 60, 0.6633807, -2.1135337, 80.416354, -4.499137),
        (0.96287, 80, 0.8939022, -3.8113090, 78.958333, -6.117786),
        (0.96287, 100, 1.1293048, -6.0412981, 77.595211, -7.795296),
    ],
)
def test_a_level_shot_lands_where_the_table_says(density, yards, time, height, speed, angle):
    """Height, speed, angle and time agree with the integrator's table to its digits."""
    found = fly(SPEED, 0.0, yards * YARD, k_of_arrow_a(density), G)
    assert found.height_m == pytest.approx(height, abs=1e-6)
    assert found.speed_m_s == pytest.approx(speed, rel=1e-7)
    assert degrees(atan(found.slope)) == pytest.approx(angle, abs=2e-6)
    assert fly_in_wind(SPEED, 0.0, yards * YARD, k_of_arrow_a(density), G).time_s == pytest.approx(time, abs=1e-7)


@pytest.mark.parametrize(("density", "k"), [(1.225, 0.001449225), (0.96287, 0.001139115)])
def test_the_drag_constant_is_that_of_its_definition(density, k):
    """k = rho CD A/(2 m), worked out apart to seven digits."""
    assert drag_constant_per_m(2.0, 0.246 * INCH, 400 * GRAIN, density) == pytest.approx(k, abs=5e-10)


@pytest.mark.parametrize("fps", [130, 170, 220, 280, 340, 410])
def test_height_is_exact_to_a_micrometre_over_the_claimed_range(fps):
    """5 to 200 yd and k to 0.008 per m, while the arrow falls less steeply than 1 in 2: scipy agrees to 1e-6 m."""
    errors = []
    for yards, k in product((5, 20, 40, 60, 100, 150, 175, 200), (0.0, 0.00001, 0.0003, 0.001, 0.0025, 0.005, 0.008)):
        speed, distance = fps * FOOT, yards * YARD
        slope = flat_fire_drop(speed, distance, k) / distance
        if slope > 0.5:
            continue
        height, _, _, along, up, _ = by_scipy(speed, slope, distance, k)
        if up / along > -0.5:
            errors.append(abs(fly(speed, slope, distance, k, G).height_m - height))
            errors.append(abs(fly_in_wind(speed, slope, distance, k, G).height_m - height))
    assert len(errors) >= 48
    print(f"{fps} ft/s: {len(errors)} flights, worst {max(errors):.1e} m")
    assert max(errors) < 1e-6


@pytest.mark.parametrize(
    ("fps", "k", "tail", "cross", "tilt_deg"),
    [
        (280, 0.00145, 5.0, -3.0, 0.0),
        (280, 0.00145, -8.0, 4.0, 25.0),
        (200, 0.0008, 0.0, 10.0, -30.0),
        (340, 0.004, 6.0, 6.0, 45.0),
        (170, 0.0015, 0.0, 0.0, 60.0),
    ],
)
def test_wind_and_hill_agree_with_an_independent_integrator(fps, k, tail, cross, tilt_deg):
    """At 100 yd height and drift are within 1e-6 m of scipy, time within 1e-7 s."""
    speed, slope, tilt = fps * FOOT, 0.04, radians(tilt_deg)
    found = fly_in_wind(speed, slope, 100 * YARD, k, G, tail_wind_m_s=tail, cross_wind_m_s=cross, ground_slope_rad=tilt)
    height, drift, time, along, up, right = by_scipy(speed, slope, 100 * YARD, k, G, tail, cross, tilt)
    assert found.height_m == pytest.approx(height, abs=1e-6)
    assert found.drift_m == pytest.approx(drift, abs=1e-6)
    assert found.time_s == pytest.approx(time, abs=1e-7)
    assert found.slope == pytest.approx(up / along, abs=1e-7)
    assert found.speed_m_s == pytest.approx(hypot(along, up, right), abs=1e-5)


@pytest.mark.parametrize("slope", [0.0, 0.3, -0.2])
@pytest.mark.parametrize("k", [0.0, 0.0005, 0.002, 0.008])
def test_without_gravity_an_arrow_coasts_in_a_straight_line(slope, k):
    """Exact: v = v0 exp(-k s) along a straight path s (Taylor, Classical Mechanics, section 2.4)."""
    path = 60.0 * hypot(1.0, slope)
    found = fly(80.0, slope, 60.0, k, 0.0)
    assert found.height_m == pytest.approx(60.0 * slope, abs=1e-9)
    assert found.speed_m_s == pytest.approx(80.0 * exp(-k * path), rel=2e-7)
    time = path / 80.0 if k == 0.0 else expm1(k * path) / (k * 80.0)
    assert fly_in_wind(80.0, slope, 60.0, k, 0.0).time_s == pytest.approx(time, rel=1e-7)


@pytest.mark.parametrize(("slope", "distance"), [(0.2, 50.0), (-0.3, 80.0), (0.05, 100.0)])
def test_without_air_an_arrow_follows_a_parabola(slope, distance):
    """Exact: y = x p - g x^2 (1 + p^2)/(2 v^2)."""
    exact = distance * slope - G * distance**2 * (1 + slope**2) / (2 * 70.0**2)
    assert fly(70.0, slope, distance, 0.0, G).height_m == pytest.approx(exact, abs=1e-10)


@pytest.mark.parametrize("distance", [20.0, 60.0, 100.0, 150.0, 200.0])
def test_the_hodograph_invariant_holds(distance):
    """Euler and Bernoulli: g/(k v^2 cos^2) + tan sec + asinh tan stays 7.2005871 (v0 80, 45 deg, k 0.000625)."""
    found = fly(80.0, 1.0, distance, 0.000625, 9.81)
    level2 = found.speed_m_s**2 / (1 + found.slope**2)
    p = found.slope
    assert 9.81 / (0.000625 * level2) + p * hypot(1.0, p) + asinh(p) == pytest.approx(7.2005871, abs=1e-5)


@pytest.mark.parametrize(
    ("speed", "distance", "time", "apex_distance", "apex_height"),
    # 45 deg, k 0.000625, g 9.81: scipy DOP853 at 1e-13
    [
        (80.0, 501.166826, 10.693154, 264.383115, 140.523566),
        (40.0, 151.211474, 5.648242, 76.855985, 39.128735),
    ],
)
def test_a_full_flight_comes_down_at_its_range(speed, distance, time, apex_distance, apex_height):
    """Thrown at 45 degrees, the height is 0 again at the range, and the slope 0 at the top."""
    end = fly_in_wind(speed, 1.0, distance, 0.000625, 9.81, steps=2000)
    assert end.height_m == pytest.approx(0.0, abs=1e-5)
    assert end.time_s == pytest.approx(time, abs=1e-6)
    assert fly(speed, 1.0, distance, 0.000625, 9.81, steps=2000).height_m == pytest.approx(0.0, abs=1e-5)
    top = fly(speed, 1.0, apex_distance, 0.000625, 9.81, steps=2000)
    assert top.height_m == pytest.approx(apex_height, abs=1e-6)
    assert top.slope == pytest.approx(0.0, abs=1e-7)


def test_a_full_flight_ends_at_the_impact_angle():
    """The 80 m/s flight comes down with 62.870628 m/s at -51.582394 degrees (scipy DOP853)."""
    end = fly(80.0, 1.0, 501.166826, 0.000625, 9.81, steps=2000)
    assert end.speed_m_s == pytest.approx(62.870628, abs=1e-6)
    assert degrees(atan(end.slope)) == pytest.approx(-51.582394, abs=1e-5)


@pytest.mark.parametrize(("yards", "allowed"), [(20, 1.5e-7), (60, 3.6e-5), (100, 5.3e-4)])
def test_flat_fire_is_near_the_full_flight(yards, allowed):
    """The closed drop of flat fire is off by the published size of its error and no more."""
    k = k_of_arrow_a(1.225)
    found = -fly(SPEED, 0.0, yards * YARD, k, G).height_m
    assert 0.5 * allowed < found - flat_fire_drop(SPEED, yards * YARD, k) < allowed


@pytest.mark.parametrize("k", [0.0, 1e-9, 4e-7, 9e-7, 9.2e-7, 1e-6, 1e-4, 0.00145, 0.008])
def test_the_slope_of_flat_fire_follows_its_series_from_no_drag_on(k):
    """Exact: g d/(2 v^2) times the sum of 2 x^n/(n + 2)! with x = 2 k d, summed term by term, to 2e-9."""
    distance, x = 54.864, 2 * k * 54.864
    series = sum(2 * x**n / factorial(n + 2) for n in range(30))
    expected = G * distance / (2 * SPEED**2) * series
    assert flat_fire_slope(SPEED, distance, k) == pytest.approx(expected, rel=2e-9)


@pytest.mark.parametrize("k", [0.0005, 0.00145, 0.004])
def test_straight_up_and_straight_down_follow_the_closed_forms(k):
    """Exact: v^2 = (v0^2 + vt^2) exp(-2 k x) - vt^2 going up; falling, its mirror with vt^2 = g/k."""
    vt2, start, distance = G / k, 80.0, 60.0
    up = fly_in_wind(start, 0.0, distance, k, G, ground_slope_rad=pi / 2)
    down = fly_in_wind(start, 0.0, distance, k, G, ground_slope_rad=-pi / 2)
    shrink = exp(-2 * k * distance)
    assert up.speed_m_s == pytest.approx(sqrt((start**2 + vt2) * shrink - vt2), rel=1e-7)
    assert down.speed_m_s == pytest.approx(sqrt(vt2 - (vt2 - start**2) * shrink), rel=1e-7)
    assert up.height_m == pytest.approx(0.0, abs=1e-12)
    # time: t = (vt/g) [atan(v0/vt) - atan(v/vt)] going up
    vt = sqrt(vt2)
    assert up.time_s == pytest.approx(vt / G * (atan(start / vt) - atan(up.speed_m_s / vt)), rel=1e-7)


@pytest.mark.parametrize(
    ("wind", "yards", "drift_cm"),
    [(2, 20, 0.573), (2, 40, 2.314), (2, 60, 5.254), (5, 60, 13.154)],  # scipy DOP853, arrow A, 1.225 kg/m3
)
def test_a_cross_wind_drifts_as_listed_and_as_the_lag_rule_says(wind, yards, drift_cm):
    """Drift agrees with the integrator, and within 0.3 % with Didion's rule z = w (t - x/v0)."""
    found = fly_in_wind(SPEED, 0.0, yards * YARD, k_of_arrow_a(1.225), G, cross_wind_m_s=wind)
    other = fly_in_wind(SPEED, 0.0, yards * YARD, k_of_arrow_a(1.225), G, cross_wind_m_s=-wind)
    assert found.drift_m * 100 == pytest.approx(drift_cm, abs=6e-4)
    assert found.drift_m == pytest.approx(wind * (found.time_s - yards * YARD / SPEED), rel=3e-3)
    assert other.drift_m == pytest.approx(-found.drift_m, rel=1e-12)


@pytest.mark.parametrize(("tail", "height"), [(-2.0, -2.145286), (2.0, -2.131420), (0.0, -2.138231)])
def test_head_wind_lands_low_and_tail_wind_high(tail, height):
    """Arrow A at 60 yd in 2 m/s from ahead and behind (scipy DOP853)."""
    found = fly_in_wind(SPEED, 0.0, 60 * YARD, k_of_arrow_a(1.225), G, tail_wind_m_s=tail)
    assert found.height_m == pytest.approx(height, abs=1e-6)


speeds = st.floats(45.0, 120.0)
slopes = st.floats(-0.1, 0.1)
distances = st.floats(5.0, 60.0)
drags = st.floats(0.0003, 0.005)


@given(speeds, slopes, distances, drags)
def test_in_still_air_both_functions_agree(speed, slope, distance, k):
    """Without wind and hill the two integrators give one arrival."""
    plain, windy = fly(speed, slope, distance, k, G), fly_in_wind(speed, slope, distance, k, G)
    assert windy.height_m == pytest.approx(plain.height_m, abs=1e-6)
    assert windy.speed_m_s == pytest.approx(plain.speed_m_s, abs=1e-5)
    assert windy.drift_m == 0.0


@given(speeds, slopes, distances, drags, st.floats(1.01, 2.0))
def test_more_drag_never_lands_higher(speed, slope, distance, k, factor):
    """At one launch, more drag never raises the impact and always costs speed."""
    light, heavy = fly(speed, slope, distance, k, G), fly(speed, slope, distance, k * factor, G)
    assert heavy.height_m <= light.height_m + 1e-6
    assert heavy.speed_m_s < light.speed_m_s


@given(speeds, slopes, distances, drags, st.floats(1.01, 1.5))
def test_a_faster_arrow_lands_higher(speed, slope, distance, k, factor):
    """At one slope, a faster arrow lands higher."""
    assert fly(speed * factor, slope, distance, k, G).height_m > fly(speed, slope, distance, k, G).height_m


@given(speeds, distances, drags, st.floats(5.0, 60.0))
def test_down_hill_lands_high(speed, distance, k, tilt_deg):
    """Square to the line of sight only g cos(tilt) pulls, and the rest speeds the arrow up: it lands high."""
    level = fly_in_wind(speed, 0.0, distance, k, G).height_m
    hill = fly_in_wind(speed, 0.0, distance, k, G, ground_slope_rad=-radians(tilt_deg)).height_m
    assert hill > level
