"""What the arrows must show: places, tolerances and numbers of arrows, against formulas and against chance.

A tolerance is the 95 % radius of a difference of two means with sigma known to some degrees of freedom:
sigma sqrt(2 F(0.95; 2, dof) (variance factor)). F is scipy's here.
"""

from math import cos, hypot, radians, sin, sqrt

import numpy as np
import pytest
from scipy import stats

from readiness.forecast import forecast
from readiness.groups import spread_of
from readiness.trip.model import BareShaft
from readiness.verification import ASSUMED_COUNT, OWN_GROUPS, verification_of

INCH, YARD = 0.0254, 0.9144
# Vertical deviations make sigma and its degrees of freedom (n - 1) plain: 0.5 in at 20 yd, 1.2 at 40, 2.4 at 60.
SIGMA = {20: 0.5, 40: 1.2, 60: 2.4}
DOF = {20: 9, 40: 9, 60: 5}
PLAIN_GROUPS = (
    ("arrows: 10, extreme_spread: 2.1 in", "arrows: 10, vertical_sd: 0.5 in"),
    ("arrows: 10, extreme_spread: 4.6 in", "arrows: 10, vertical_sd: 1.2 in"),
    ("arrows: 6, mean_radius: 2.6 in", "arrows: 6, vertical_sd: 2.4 in"),
)
BARE = '  bare_shaft: {distance: 20 yd, clock: "7:15", offset: 0.6 in, pairs: 6}\n'


def radius_in(yards, factor, sigma=None, dof=None):
    """The 95 % radius in inches, by scipy."""
    sigma, dof = sigma or SIGMA[yards], dof or DOF[yards]
    return sigma * sqrt(2 * stats.f.ppf(0.95, 2, dof) * factor)


def fewest(circle, wanted, most):
    """The fewest arrows, from 3, whose circle is no wider than wanted, or the most allowed."""
    return next((n for n in range(3, most + 1) if circle(n) <= wanted), most)


@pytest.fixture(scope="module")
def checks_of(a_trip):
    """A function: the forecast and the checks of the first sample with plain groups and further changes."""

    def of(*changes, groups=PLAIN_GROUPS):
        trip = a_trip("high-basin", *groups, *changes)
        future = forecast(trip, 12)
        return future, verification_of(trip, future)

    return of


def window_in(future, pin):
    """Middle and half-width in inches of one pin's band over every place and case."""
    pins = [case.pins[pin] for _, case in future.cases]
    low, high = min(p.shift_low_m for p in pins) / INCH, max(p.shift_high_m for p in pins) / INCH
    return (low + high) / 2, (high - low) / 2


@pytest.mark.parametrize(("pairs", "told"), [(6, "pairs: 6"), (3, "pairs: 3"), (12, "pairs: 12")])
def test_the_bare_shaft_tolerance_is_the_circle_of_two_differences(checks_of, pairs, told):
    """Four means are compared, two then and two now: the factor is 2/n + 2/n0."""
    bare = checks_of(("pairs: 6", told))[1].bare_shaft
    n = fewest(lambda n: radius_in(20, 2 / n + 2 / pairs), 2.0, 8)
    assert bare.arrows == n
    assert bare.tolerance_m / INCH == pytest.approx(radius_in(20, 2 / n + 2 / pairs), rel=1e-6)
    assert (bare.basis, bare.baseline_assumed) == (OWN_GROUPS, False)


def test_the_bare_shaft_is_expected_where_its_clock_and_offset_say(checks_of):
    """7:15 at 0.6 in is 0.37 in left and 0.48 in low: an hour hand, 30 degrees an hour."""
    bare = checks_of()[1].bare_shaft
    assert (bare.right_m / INCH, bare.up_m / INCH) == pytest.approx((-0.365, -0.476), abs=0.001)
    assert bare.distance_m == pytest.approx(20 * YARD)


@pytest.mark.parametrize(("sigma", "wanted"), [(0.3, 3), (0.5, 3), (0.7, None), (0.9, None), (2.0, 8)])
def test_the_number_of_pairs_is_the_fewest_that_reaches_two_inches_at_20_yd(checks_of, sigma, wanted):
    """A wide archer shoots more pairs, and at most eight."""
    bare = checks_of(groups=[(PLAIN_GROUPS[0][0], f"arrows: 10, vertical_sd: {sigma} in")])[1].bare_shaft
    n = fewest(lambda n: radius_in(20, 2 / n + 2 / 6, sigma), 2.0, 8)
    assert wanted in (None, n)
    assert bare.arrows == n
    assert bare.tolerance_m / INCH == pytest.approx(radius_in(20, 2 / n + 2 / 6, sigma), rel=1e-6)


def test_pairs_that_the_baseline_does_not_tell_are_three_and_it_says_so(checks_of):
    """Without a number the baseline counts as 3 pairs."""
    bare = checks_of((", pairs: 6", ""))[1].bare_shaft
    n = fewest(lambda n: radius_in(20, 2 / n + 2 / 3), 2.0, 8)
    assert ASSUMED_COUNT == 3
    assert bare.baseline_assumed
    assert bare.tolerance_m / INCH == pytest.approx(radius_in(20, 2 / n + 2 / 3), rel=1e-6)


@pytest.mark.parametrize(("name", "pin", "yards", "before", "right", "up"), [
    ("near_zero", 0, 20, 10, 0.1, 0.0),
    ("far_zero", 4, 60, 6, 0.0, -0.3),
])  # fmt: skip
def test_a_zero_is_its_own_middle_moved_by_the_forecast(checks_of, name, pin, yards, before, right, up):
    """The factor is 1/n + 1/n0; the forecast's middle and half-width come on top. Practice is 1 in at 20 yd."""
    future, checks = checks_of()
    zero, (shift, slack) = getattr(checks, name), window_in(future, pin)
    n = fewest(lambda n: radius_in(yards, 1 / n + 1 / before), yards / 20, 6)
    assert zero.arrows == n
    assert zero.tolerance_m / INCH == pytest.approx(radius_in(yards, 1 / n + 1 / before) + slack, rel=1e-6)
    assert (zero.right_m / INCH, zero.up_m / INCH) == pytest.approx((right, up + shift), rel=1e-6, abs=1e-9)
    assert zero.forecast_m / INCH == pytest.approx(shift, rel=1e-6)
    assert zero.distance_m == pytest.approx(yards * YARD)


def test_a_group_without_a_middle_leaves_the_zero_at_the_aiming_point_and_its_doubt_in(checks_of):
    """Nobody recorded where the sight truly hits, so it counts as set with three arrows: the factor is 1/n + 1/3."""
    future, checks = checks_of((", right: 0.1 in, up: 0.0 in}\n", "}\n"))
    shift, slack = window_in(future, 0)
    n = fewest(lambda n: radius_in(20, 1 / n + 1 / 3), 1.0, 6)
    assert checks.near_zero.right_m == 0.0
    assert not checks.near_zero.middle_recorded
    assert checks.near_zero.up_m / INCH == pytest.approx(shift, rel=1e-6)
    assert checks.near_zero.tolerance_m / INCH == pytest.approx(radius_in(20, 1 / n + 1 / 3) + slack, rel=1e-6)
    assert checks.near_zero.slack_m / INCH == pytest.approx(slack, rel=1e-6)


@pytest.mark.parametrize(("arrows", "before"), [("arrows: 6", 6), ("arrows: 12", 12)])
def test_three_of_each_head_are_shot_against_their_reference(checks_of, arrows, before):
    """The factor of broadheads is 2/3 + 2/n0, at each recorded distance."""
    changes = [(f"distance: {d} yd, arrows: 6, right", f"distance: {d} yd, {arrows}, right") for d in (20, 40)]
    near, far = checks_of(*changes)[1].broadheads
    assert [near.arrows, far.arrows] == [3, 3]
    assert near.tolerance_m / INCH == pytest.approx(radius_in(20, 2 / 3 + 2 / before), rel=1e-6)
    assert far.tolerance_m / INCH == pytest.approx(radius_in(40, 2 / 3 + 2 / before), rel=1e-6)
    assert (far.right_m / INCH, far.up_m / INCH) == pytest.approx((0.3, -0.5))
    assert {near.name, far.name} == {"hunting head"}


def test_one_cold_arrow_is_judged_by_the_mean_of_the_logged_ones(checks_of):
    """The factor is 1 + 1/k: one arrow's own spread and the mean's; the forecast comes on top."""
    future, checks = checks_of()
    (cold,), (shift, slack) = checks.cold_first, window_in(future, 2)
    assert cold.arrows == 1
    assert (cold.right_m / INCH, cold.up_m / INCH) == pytest.approx((0.0, -1.0 / 3 + shift), rel=1e-6, abs=1e-9)
    assert cold.tolerance_m / INCH == pytest.approx(radius_in(40, 1 + 1 / 3) + slack, rel=1e-6)


def test_between_the_pins_the_forecast_goes_with_the_cube_from_the_nearest_pin(checks_of):
    """A cold arrow logged at 43 yd: the 40 yd pin's window times (43/40) cubed, 1.2423."""
    future, checks = checks_of(
        *[(f"distance: 40 yd, right: {r} in", f"distance: 43 yd, right: {r} in") for r in (0.4, -0.6, 0.2)]
    )
    (cold,), (shift, _) = checks.cold_first, window_in(future, 2)
    assert cold.distance_m == pytest.approx(43 * YARD)
    assert cold.forecast_m / INCH == pytest.approx(1.2423 * shift, rel=1e-4)
    assert cold.up_m / INCH == pytest.approx(-1.0 / 3 + 1.2423 * shift, rel=1e-4)


@pytest.mark.parametrize("gone", ["bare_shaft", "broadheads", "cold_first"])
def test_what_was_not_recorded_is_not_checked(checks_of, without, gone):
    """Without a reference there is nothing to come back to."""
    following = {"bare_shaft": "  broadheads:", "broadheads": "  cold_first:", "cold_first": "  groups:"}[gone]
    checks = checks_of(without("high-basin", f"  {gone}:", following))[1]
    assert not getattr(checks, gone)
    assert checks.near_zero.arrows >= 3


def test_without_groups_common_practice_stands_in_and_says_so(checks_of, without):
    """Bare shaft 2 in at 20 yd, zero 1 in at 20 yd, broadhead 2 in at 40 yd: common practice, no source."""
    future, checks = checks_of(without("high-basin", "  groups:", "  marks:"), groups=())
    assert checks.bare_shaft.tolerance_m / INCH == pytest.approx(2.0)
    assert checks.near_zero.tolerance_m / INCH == pytest.approx(1.0 + window_in(future, 0)[1])
    assert [b.tolerance_m / INCH for b in checks.broadheads] == pytest.approx([1.0, 2.0])
    assert checks.far_zero is None
    for check in (checks.bare_shaft, checks.near_zero, *checks.broadheads):
        assert check.basis.startswith("common practice, no source")
    assert checks.cold_first[0].tolerance_m / INCH == pytest.approx(4.0)  # half the 8 in target zone
    assert "half the target zone" in checks.cold_first[0].basis


def test_the_far_zero_is_the_farthest_pin_that_a_group_reaches(checks_of):
    """Beyond the farthest recorded group nothing is expected."""
    shorter = ("    - {distance: 60 yd, arrows: 6, vertical_sd: 2.4 in, right: 0.0 in, up: -0.3 in}\n", "")
    assert checks_of(shorter)[1].far_zero.distance_m == pytest.approx(40 * YARD)
    (cold,) = checks_of(shorter, *[("distance: 40 yd, right", "distance: 50 yd, right")] * 3)[1].cold_first
    assert "half the target zone" in cold.basis


def evenings(a_trip, measure, size, moved_in=0.0, count=4000, sigma_in=0.55):
    """How often an evening's bare shaft passes: groups, baseline and camp pairs drawn at random, seeded.

    On each evening the archer's sigma is estimated anew from ten arrows, the baseline is the mean of six
    pairs, and as many pairs as the plan asks for are shot at camp.
    """
    rng = np.random.default_rng(20270825)
    trip = a_trip()
    future = forecast(trip, 12)
    sigma, passed = sigma_in * INCH, 0
    for _ in range(count):
        known = spread_of(measure, size(rng.normal(0.0, sigma, (10, 2))), 10)
        baseline = rng.normal(0.0, sigma, (6, 2)).mean(axis=0) - rng.normal(0.0, sigma, (6, 2)).mean(axis=0)
        base = BareShaft(20 * YARD, "7:15", hypot(*baseline), *map(float, baseline), pairs=6)
        check = verification_of(
            trip._replace(reference=trip.reference._replace(bare_shaft=base)),
            future._replace(spreads=((20 * YARD, known),)),
        ).bare_shaft
        fletched, bare = rng.normal(0.0, sigma, (2, check.arrows, 2)).mean(axis=1)
        off = bare - fletched + np.array([moved_in * INCH, 0.0]) - np.array([check.right_m, check.up_m])
        passed += hypot(*off) <= check.tolerance_m
    return passed / count


def _extreme_spread(shots):
    return float(np.linalg.norm(shots[:, None] - shots[None, :], axis=2).max())


def _mean_radius(shots):
    return float(np.linalg.norm(shots - shots.mean(axis=0), axis=1).mean())


def _vertical_sd(shots):
    return float(shots[:, 1].std(ddof=1))


@pytest.mark.parametrize("size", [_extreme_spread, _mean_radius, _vertical_sd])
def test_a_bow_that_did_not_move_passes_on_about_95_evenings_in_100(a_trip, size):
    """Whatever the archer measured the ten arrows by, the doubt of that sigma is in the circle."""
    assert 0.93 <= evenings(a_trip, size.__name__[1:], size) <= 0.97


def test_a_bow_whose_bare_shaft_moved_3_in_at_20_yd_fails(a_trip):
    """At least 95 evenings in 100 find it, for an archer of 0.55 in deviation at 20 yd."""
    assert evenings(a_trip, "extreme_spread", _extreme_spread, moved_in=3.0) <= 0.05


TYPICAL = [(offset, minutes) for offset in (0.5, 0.6, 0.75) for minutes in (0, 15, 30)]


def at_clock(offset, hours):
    """Right and up of a place on the clock face, inches."""
    return offset * sin(radians(30 * hours)), offset * cos(radians(30 * hours))


def test_typical_bare_shafts_pass_for_one_another_without_groups(checks_of, without):
    """Common practice, no source: right-helical vanes put a bare shaft at 20 yd 0.5 to 0.75 in out, 7:00 to 7:30."""
    no_groups = without("high-basin", "  groups:", "  marks:")
    places = [at_clock(offset, 7 + minutes / 60) for offset, minutes in TYPICAL]
    for (offset, minutes), place in zip(TYPICAL, places, strict=True):
        bare = f'  bare_shaft: {{distance: 20 yd, clock: "7:{minutes:02}", offset: {offset} in, pairs: 6}}\n'
        check = checks_of(no_groups, (BARE, bare), groups=())[1].bare_shaft
        expected = (check.right_m / INCH, check.up_m / INCH)
        assert expected == pytest.approx(place, abs=1e-6)
        assert max(hypot(p[0] - expected[0], p[1] - expected[1]) for p in places) < check.tolerance_m / INCH < 2.5


def test_the_typical_place_is_told_as_typical_only(a_plan, without):
    """It stands in the step that records the first reference, as no wanted value, and in no step that judges one."""
    plan, _ = a_plan("high-basin", without("high-basin", "  bare_shaft:", "  broadheads:"))
    telling = {step.id for step in plan.steps if "7:00 to 7:30" in f"{step.do} {step.expect} {step.if_not}"}
    assert telling == {"BAS-160"}
    words = next(step.expect for step in plan.steps if step.id == "BAS-160")
    assert "Typical" in words
    assert "common practice, not what yours must show" in words
