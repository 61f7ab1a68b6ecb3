"""Groups of arrows against scipy.stats, published tables, closed forms and seeded simulations."""

from math import log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq

from readiness.groups import (
    Spread,
    arrows_to_see,
    circle_m,
    pooled,
    share_inside,
    shift_shown_m,
    smallest_shift_seen_m,
    spread_at,
    spread_of,
)


def groups_of(arrows, count=20000, seed=0):
    """Simulated groups of a circular normal with sigma 1: numpy, seeded; shape (count, arrows, 2)."""
    return np.random.default_rng(20240611 + arrows + 1000 * seed).standard_normal((count, arrows, 2))


def measured(measure, shots):
    """The size of simulated groups, as an archer measures it."""
    if measure == "vertical_sd":
        return shots[:, :, 1].std(axis=1, ddof=1)
    if measure == "mean_radius":
        return np.linalg.norm(shots - shots.mean(axis=1, keepdims=True), axis=2).mean(axis=1)
    first, second = np.triu_indices(shots.shape[1], 1)
    return np.linalg.norm(shots[:, first] - shots[:, second], axis=2).max(axis=1)


def exact_power(arrows, shift, alpha=0.05):
    """Chance that a two-sided t test of one group sees a shift in sigmas: scipy's non-central t."""
    critical = stats.t.ppf(1 - alpha / 2, arrows - 1)
    off = shift * sqrt(arrows)
    return stats.nct.sf(critical, arrows - 1, off) + stats.nct.cdf(-critical, arrows - 1, off)


@pytest.mark.parametrize("shift", [0.25, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0, 1.25, 1.5, 1.75, 2.0, 2.1, 2.5, 3.0])
@pytest.mark.parametrize("power", [0.8, 0.9])
def test_arrows_to_see_is_within_one_of_the_exact_power(shift, power):
    """The smallest group with that power by scipy's non-central t, give or take one arrow."""
    exact = next(n for n in range(2, 400) if exact_power(n, shift) >= power)
    assert abs(arrows_to_see(shift, 1.0, power) - exact) <= 1


@pytest.mark.parametrize(("shift", "arrows"), [(1.0, 10), (1.5, 6), (2.0, 5)])
def test_arrows_to_see_against_a_fixed_point(shift, arrows):
    """statsmodels, exact non-central t, 80 % power at 5 % two-sided: 9.938, 5.686 and 4.221 arrows."""
    assert arrows_to_see(shift, 1.0) == pytest.approx(arrows, abs=1)
    assert arrows_to_see(-shift, 1.0) == arrows_to_see(shift, 1.0)


@pytest.mark.parametrize(
    ("beta", "arrows"),
    # NIST/SEMATECH e-Handbook 7.2.2.2, two-sided, alpha 0.05, shift of 1.0 sigma, sigma known
    [(0.01, 19), (0.05, 13), (0.10, 11), (0.20, 8), (0.50, 4)],
)
def test_not_knowing_sigma_costs_one_to_three_arrows(beta, arrows):
    """The handbook's table takes sigma as known; a bow whose sigma is not known needs a little more."""
    assert 1 <= arrows_to_see(1.0, 1.0, 1 - beta) - arrows <= 3


def test_no_shift_and_a_tiny_shift_cannot_be_seen():
    """Nothing shows a shift of zero, nor one that needs more than 200 arrows."""
    assert arrows_to_see(0.0, 1.0) is None
    assert arrows_to_see(0.05, 1.0) is None
    assert arrows_to_see(50.0, 1.0) == 3  # two arrows say nothing about a spread


def test_two_hundred_arrows_are_the_most_that_are_named():
    """The formula of the handbook with scipy's t: 200 arrows see this shift, a hair less needs 201 and gets None."""
    shift = (stats.t.ppf(0.975, 199) + stats.t.ppf(0.8, 199)) / sqrt(200)
    assert arrows_to_see(shift * 1.0001, 1.0) == 200
    assert arrows_to_see(shift * 0.9999, 1.0) is None


@given(st.integers(3, 150), st.floats(0.001, 0.2))
def test_the_smallest_shift_seen_turns_arrows_to_see_round(arrows, sigma):
    """At the smallest shift n arrows are enough; a little less needs more."""
    shift = smallest_shift_seen_m(arrows, sigma)
    assert arrows_to_see(shift * 1.0001, sigma) == arrows
    assert arrows_to_see(shift * 0.9999, sigma) == arrows + 1


@given(st.floats(0.3, 3.0), st.floats(1.01, 2.0))
def test_a_larger_shift_never_needs_more_arrows(shift, factor):
    """Twice the shift, fewer arrows; and it is the ratio to sigma that counts."""
    assert arrows_to_see(shift * factor, 1.0) <= arrows_to_see(shift, 1.0)
    assert arrows_to_see(shift * 0.05, 0.05) == pytest.approx(arrows_to_see(shift, 1.0), abs=1)


@pytest.mark.parametrize(
    ("arrows", "one_axis", "two_axes"),
    # sqrt(dof/chi2) at 95 %: n - 1 as published in the Boost.Math documentation, 2(n - 1) by scipy
    [
        (2, (0.4461, 31.9102), (0.5207, 6.2847)),
        (3, (0.5207, 6.2847), (0.5991, 2.8736)),
        (4, (0.5665, 3.7285), (0.6444, 2.2021)),
        (5, (0.5991, 2.8736), (0.6755, 1.9158)),
        (6, (0.6242, 2.4526), (0.6987, 1.7549)),
        (8, (0.6612, 2.0353), (0.7321, 1.5771)),
        (10, (0.6878, 1.8256), (0.7556, 1.4788)),
        (20, (0.7605, 1.4606), (0.8172, 1.2888)),
    ],
)
def test_the_interval_of_sigma_has_the_published_limits(arrows, one_axis, two_axes):
    """The multipliers of the spread agree to the four printed decimals."""
    assert Spread(1.0, arrows - 1).interval_m() == pytest.approx(one_axis, abs=5.1e-5)
    assert Spread(1.0, 2 * (arrows - 1)).interval_m() == pytest.approx(two_axes, abs=5.1e-5)


def test_the_interval_of_the_gear_data_is_the_published_one():
    """NIST 1.3.5.8, 100 gears, s 0.006278908: 0.00551 to 0.00729."""
    assert Spread(0.006278908, 99).interval_m() == pytest.approx((0.005512924, 0.007294052), abs=1e-9)


@pytest.mark.parametrize("measure", ["extreme_spread", "mean_radius", "vertical_sd"])
@pytest.mark.parametrize("arrows", [2, 3, 5, 7, 10, 20])
def test_a_measured_group_holds_the_true_sigma_19_times_in_20(measure, arrows):
    """Seeded simulation: the 95 % interval of each measure covers sigma 95 % of the time, within 1.5 %."""
    low, high = spread_of(measure, 1.0, arrows).interval_m()
    sizes = measured(measure, groups_of(arrows))
    assert np.mean((low * sizes < 1.0) & (high * sizes > 1.0)) == pytest.approx(0.95, abs=0.015)


@pytest.mark.parametrize(
    ("arrows", "mean"),
    # n = 2 is sqrt(pi); the others are a simulation of 6e6 to 8e7 groups each, standard error under 0.0003
    [
        (2, sqrt(pi)),
        (3, 2.4088),
        (4, 2.7936),
        (5, 3.0657),
        (6, 3.2755),
        (8, 3.5851),
        (10, 3.8117),
        (15, 4.1962),
        (20, 4.4515),
    ],
)
def test_an_extreme_spread_gives_sigma(arrows, mean):
    """A group as large as the mean extreme spread of sigma 1 is read as sigma 1."""
    assert spread_of("extreme_spread", mean, arrows).sigma_m == pytest.approx(1.0, abs=1e-3)


def test_an_extreme_spread_of_two_arrows_scatters_as_the_closed_form_says():
    """Two arrows are a Rayleigh distance apart: mean sqrt(pi), variance 4 - pi, by scipy.stats.rayleigh too."""
    found, pair = spread_of("extreme_spread", sqrt(pi), 2), stats.rayleigh(scale=sqrt(2))
    assert found == pytest.approx((1.0, 0.5 * pi / (4 - pi)), rel=1e-6)
    assert found.dof == pytest.approx(0.5 * (pair.mean() / pair.std()) ** 2, rel=1e-6)


@pytest.mark.parametrize("arrows", [3, 4, 5, 6, 8, 10, 15, 20])
def test_an_extreme_spread_scatters_as_the_table_says(arrows):
    """Seeded simulation of 200,000 groups: the degrees of freedom carry its scatter within half a per cent."""
    sizes = np.concatenate([measured("extreme_spread", groups_of(arrows, seed=seed)) for seed in range(10)])
    found = spread_of("extreme_spread", 1.0, arrows)
    assert 1 / sqrt(2 * found.dof) == pytest.approx(sizes.std() / sizes.mean(), rel=0.005)


@pytest.mark.parametrize("arrows", [2, 3, 6, 20])
def test_a_mean_radius_has_the_freedom_of_independent_radii(arrows):
    """scipy.stats.rayleigh: 1/(2 dof) is the squared variation of the mean of n - 1 independent radii."""
    variation = stats.rayleigh.std() / stats.rayleigh.mean() / sqrt(arrows - 1)
    assert spread_of("mean_radius", 1.0, arrows).dof == pytest.approx(0.5 / variation**2)


@pytest.mark.parametrize("arrows", [7, 9, 12, 17])
def test_an_extreme_spread_between_the_table_rows_gives_sigma(arrows):
    """Seeded simulation: the interpolated mean is right within 1 %, its scatter within 3 %."""
    sizes = measured("extreme_spread", groups_of(arrows))
    found = spread_of("extreme_spread", float(sizes.mean()), arrows)
    assert found.sigma_m == pytest.approx(1.0, abs=0.01)
    assert 1 / sqrt(2 * found.dof) == pytest.approx(sizes.std() / sizes.mean(), rel=0.03)


@pytest.mark.parametrize(
    ("arrows", "mean"),
    # Closed form sqrt(pi/2) sqrt((n - 1)/n): mean radius about the sample centre
    [(3, 1.023327), (4, 1.085402), (5, 1.120998), (6, 1.144114), (10, 1.188998)],
)
def test_a_mean_radius_gives_sigma(arrows, mean):
    """The mean radius about the middle of the same arrows is read as sigma 1; a simulation agrees."""
    assert spread_of("mean_radius", mean, arrows).sigma_m == pytest.approx(1.0, abs=1e-6)
    assert measured("mean_radius", groups_of(arrows)).mean() == pytest.approx(mean, rel=0.01)


def test_a_vertical_deviation_is_sigma_itself():
    """A standard deviation of n heights has n - 1 degrees of freedom."""
    assert spread_of("vertical_sd", 0.03, 9) == Spread(0.03, 8)


def test_an_extreme_spread_of_too_many_arrows_is_not_read():
    """No table here covers more than 20 arrows; the other measures have no such limit."""
    assert spread_of("extreme_spread", 0.1, 20) is not None
    assert spread_of("extreme_spread", 0.1, 21) is None
    assert spread_of("mean_radius", 0.1, 200) is not None


@pytest.mark.parametrize(
    ("radius", "share"),
    # Closed forms of the Rayleigh distribution
    [
        (1, 0.3934693),
        (2, 0.8646647),
        (3, 0.9888910),
        (sqrt(2 * log(2)), 0.5),
        (2.1459660, 0.9),
        (2.4477468, 0.95),
        (3.0348543, 0.99),
    ],
)
def test_a_centred_circle_holds_the_rayleigh_share(radius, share):
    """One, two and three sigma, the median and the usual radii hold what the closed form says."""
    assert share_inside(radius * 0.02, 0.02) == pytest.approx(share, abs=1e-7)


@pytest.mark.parametrize("radius", [0.01, 0.3, 1.0, 2.0, 5.0, 12.0, 30.0, 45.0])
@pytest.mark.parametrize("beside", [-1.0, -0.1, 0.0, 0.1, 1.0, 3.0])
def test_a_circle_off_the_middle_holds_the_rice_share(radius, beside):
    """scipy.stats.rice to 1e-12, with the group's middle inside, on and outside the edge of the circle."""
    shift = max(0.0, radius + beside * min(radius, 3.0))
    expected = stats.rice.cdf(radius, shift) if shift else -np.expm1(-radius * radius / 2)
    assert share_inside(0.1 * radius, 0.1, 0.1 * shift) == pytest.approx(expected, abs=1e-12)
    assert share_inside(0.1 * radius, 0.1, -0.1 * shift) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("shift", "share"), [(0.0, 1.0), (0.05, 1.0), (0.09, 1.0), (0.11, 0.0), (50.0, 0.0)])
def test_a_tiny_sigma_is_all_in_or_all_out(shift, share):
    """With hardly any spread every arrow lands where the group is, inside the circle or not."""
    for sigma in (1e-4, 1e-7, 1e-9):
        assert share_inside(0.1, sigma, shift) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("ratio", [100.0, 300.0, 1000.0])
def test_a_tiny_sigma_on_the_edge_is_half_in(ratio):
    """On the edge of a circle of many sigmas scipy.stats.rice agrees as well as anywhere."""
    assert share_inside(ratio, 1.0, ratio) == pytest.approx(stats.rice.cdf(ratio, ratio), abs=1e-12)


def test_no_share_is_ever_more_than_all():
    """A sum of many terms may round past 1; a share may not."""
    shares = [share_inside(radius / 7, 1.0, shift) for shift in (1e-6, 0.1, 1.0, 3.0) for radius in range(60, 400)]
    assert max(shares) == 1.0


@given(st.floats(0.1, 8.0), st.floats(0.0, 8.0), st.floats(0.01, 1.0))
def test_a_larger_circle_or_a_smaller_shift_holds_more(radius, shift, step):
    """The share is between 0 and 1, grows with the circle and shrinks with the shift."""
    share = share_inside(radius, 1.0, shift)
    assert 0.0 <= share <= 1.0
    assert share_inside(radius + step, 1.0, shift) >= share - 1e-9
    assert share_inside(radius, 1.0, shift + step) <= share + 1e-9


@pytest.mark.parametrize("dof", [1.8, 4.0, 10.0, 22.1, 60.0])
@pytest.mark.parametrize("factor", [1 / 3, 0.5, 1 / 3 + 1 / 6, 1.2])
def test_the_circle_is_that_of_the_f_distribution(dof, factor):
    """scipy.stats.f: radius sigma sqrt(2 F factor)."""
    for confidence in (0.9, 0.95, 0.99):
        expected = 0.03 * sqrt(2 * stats.f.ppf(confidence, 2, dof) * factor)
        assert circle_m(Spread(0.03, dof), factor, confidence) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("dof", [4, 10, 18])
def test_a_sound_bow_falls_outside_the_circle_one_time_in_twenty(dof):
    """Seeded simulation with an estimated sigma: 95 % of differences of means fall inside, within 1 %."""
    rng = np.random.default_rng(7 + dof)
    sigmas = np.sqrt(rng.chisquare(dof, 40000) / dof)
    differences = sqrt(1 / 3 + 1 / 6) * np.linalg.norm(rng.standard_normal((40000, 2)), axis=1)
    radius = circle_m(Spread(1.0, dof), 1 / 3 + 1 / 6)
    assert np.mean(differences < radius * sigmas) == pytest.approx(0.95, abs=0.01)


@pytest.mark.parametrize("dof", [1.83, 2.0, 2.45, 4.0, 10.0, 30.0, 300.0, 1e5])
@pytest.mark.parametrize(("factor", "alpha", "power"), [(1 / 3 + 1 / 6, 0.05, 0.8), (1.2, 0.01, 0.9)])
def test_the_shift_that_is_shown_is_that_of_the_non_central_f_distribution(dof, factor, alpha, power):
    """scipy.stats.ncf: |D|^2 / (2 sigma^2 factor) is non-central F(2, dof); ours is within 0.4 per cent."""
    critical = stats.f.ppf(1 - alpha, 2, dof)
    shown = brentq(lambda nc: stats.ncf.sf(critical, 2, dof, nc) - power, 0.1, 900)
    assert shift_shown_m(Spread(0.03, dof), factor, alpha, power) == pytest.approx(
        0.03 * sqrt(factor * shown), rel=4e-3
    )


def test_pooling_weighs_variances_by_their_degrees_of_freedom():
    """(4 x 1 + 12 x 4)/16 = 3.25, worked out by hand; one group pools to itself."""
    assert pooled([Spread(1.0, 4), Spread(2.0, 12)]) == Spread(pytest.approx(sqrt(3.25)), 16)
    assert pooled([Spread(0.02, 5.5)]) == Spread(pytest.approx(0.02), 5.5)


KNOWN = [(40.0, Spread(0.06, 10)), (20.0, Spread(0.02, 18)), (60.0, Spread(0.12, 5))]


@pytest.mark.parametrize(
    ("distance", "sigma", "dof"),
    # sigma per metre: 0.001 at 20 m, 0.0015 at 40 m, 0.002 at 60 m
    [(10.0, 0.01, 18), (20.0, 0.02, 18), (30.0, 0.0375, 10), (40.0, 0.06, 10), (55.0, 0.103125, 5), (60.0, 0.12, 5)],
)
def test_the_spread_between_distances_is_interpolated_per_metre(distance, sigma, dof):
    """sigma over distance is interpolated, constant nearer than the nearest, with the lesser freedom."""
    found = spread_at(distance, KNOWN)
    assert found.sigma_m == pytest.approx(sigma)
    assert found.dof == dof


def test_the_order_of_the_records_and_of_their_sizes_counts_for_nothing():
    """Worked out by hand: a tight group far out and wide ones near; a single record speaks for all nearer distances."""
    records = [(40.0, Spread(0.03, 7)), (20.0, Spread(0.05, 18)), (30.0, Spread(0.04, 9))]
    for order in (records, records[::-1], sorted(records)):
        assert spread_at(10.0, order) == pytest.approx((0.025, 18))
        assert spread_at(25.0, order) == pytest.approx((25 * 0.5 * (0.05 / 20 + 0.04 / 30), 9))
        assert spread_at(30.0, order) == pytest.approx((0.04, 9))
        assert spread_at(36.0, order) == pytest.approx((36 * (0.4 * 0.04 / 30 + 0.6 * 0.03 / 40), 7))
        assert spread_at(40.0, order) == pytest.approx((0.03, 7))
    assert spread_at(20.0, [(20.0, Spread(0.05, 18))]) == Spread(0.05, 18)
    assert spread_at(5.0, [(20.0, Spread(0.05, 18))]) == pytest.approx((0.0125, 18))


def test_a_distance_that_is_the_farthest_but_for_rounding_is_not_beyond_it():
    """60 yd in metres may differ in its last digit from the group's 60 yd."""
    assert spread_at(60.0 * (1 + 5e-10), KNOWN) == pytest.approx((0.12, 5))
    assert spread_at(60.0 * (1 + 2e-9), KNOWN) is None


def test_nothing_is_said_beyond_the_farthest_group():
    """Beyond the farthest recorded distance, or with no record at all, there is no spread."""
    assert spread_at(60.1, KNOWN) is None
    assert spread_at(20.0, []) is None
