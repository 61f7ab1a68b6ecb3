"""Verdicts: the statistic against scipy and against chance itself, Holm, looks, and when a pass is a pass."""

import random
from math import hypot

import pytest
from scipy import stats

from readiness import groups
from readiness.arrival.judging import CANNOT_TELL, FAIL, PASS, judge
from readiness.groups import Spread, shift_shown_m
from readiness.quantiles import f2_tail, f_tail

YARD, INCH = 0.9144, 0.0254
BARE = (-0.3695, -0.4727)  # 7:15 at 0.6 in: 0.6 sin 217.5 deg, 0.6 cos 217.5 deg, less the rounding


@pytest.mark.parametrize(("f", "dof"), [(0.3, 4), (3.9, 11.5), (9.0, 30), (25.0, 1000)])
def test_the_tail_of_f_with_two_degrees_is_scipys(f, dof):
    """scipy.stats.f."""
    assert f2_tail(f, dof) == pytest.approx(stats.f.sf(f, 2, dof), rel=1e-10)


@pytest.mark.parametrize(("f", "one", "two"), [(0.5, 4, 18), (2.3, 10, 14.2), (6.0, 30, 60)])
def test_the_tail_of_f_is_scipys(f, one, two):
    """scipy.stats.f."""
    assert f_tail(f, one, two) == pytest.approx(stats.f.sf(f, one, two), rel=1e-9)


@pytest.mark.parametrize("dof", [4, 9.3, 18, 60])
@pytest.mark.parametrize("alpha", [0.05, 0.004, 0.0005])
def test_the_shift_that_is_shown_has_the_power_it_says(dof, alpha):
    """scipy.stats.ncf: non-central F with 2 and dof degrees of freedom, 80 %."""
    shift = shift_shown_m(Spread(1.0, dof), 0.7, alpha)
    critical = stats.f.isf(alpha, 2, dof)
    assert stats.ncf.sf(critical, 2, dof, shift**2 / 0.7) == pytest.approx(0.8, abs=0.003)


def test_the_bare_shaft_is_judged_against_its_own_baseline_by_the_circular_t2(at_camp, ring):
    """p by hand: |D|^2 / (2 s^2 (1/3 + 1/3 + 2/6)) in F(2, dof), s^2 pooled from home's and camp's squares."""
    camp = at_camp().shot(20, ring(0.0, 0.0)).shot(20, ring(1.0, -0.5), "bare")
    verdict = camp.verdict("bare shaft")
    home = groups.spread_of("extreme_spread", 2.1 * INCH, 10)
    squares = 2 * 3 * (0.4 * INCH) ** 2
    dof = home.dof + 8
    variance = (home.dof * home.sigma_m**2 + squares) / dof
    off = hypot(1.0 - verdict.expected[0] / INCH, -0.5 - verdict.expected[1] / INCH) * INCH
    assert verdict.expected[0] / INCH == pytest.approx(-0.365, abs=0.01)  # design: 0.37 in left, 0.48 in low
    assert verdict.expected[1] / INCH == pytest.approx(-0.476, abs=0.01)
    assert verdict.p_value == pytest.approx(stats.f.sf(off**2 / (2 * variance * 1.0), 2, dof), rel=1e-9)
    assert verdict.circle_m == pytest.approx((2 * variance * stats.f.isf(0.05, 2, dof)) ** 0.5, rel=1e-9)


def test_p_values_of_an_unmoved_bow_are_uniform(at_camp):
    """Kolmogorov-Smirnov over 200 archers whose home spread is itself a sample: the F distribution holds."""
    rng, found = random.Random(11), []
    plain = at_camp()
    shift = plain.shot(20, [(0, 0)]).camp.checks[1].expectation.forecast_m / INCH
    group = plain.trip.reference.groups[0]
    for _ in range(200):
        shots = [rng.gauss(0, 0.6) for _ in range(10)]
        sd = stats.tstd(shots) * INCH
        centre = [sum(rng.gauss(0, 0.6) for _ in range(10)) / 10 for _ in range(2)]
        recorded = group._replace(measure="vertical_sd", size_m=sd, right_m=centre[0] * INCH, up_m=centre[1] * INCH)
        camp = at_camp()
        camp.trip = plain.trip._replace(reference=plain.trip.reference._replace(groups=(recorded,)))
        camp.shot(20, [(rng.gauss(0, 0.6), shift + rng.gauss(0, 0.6)) for _ in range(4)])
        found.append(camp.verdict("near zero").p_value)
    assert stats.kstest(found, "uniform").pvalue > 0.01


def test_a_pass_needs_the_plans_arrows(at_camp, ring):
    """Two pairs in the middle of the circle cannot tell; the plan's three pass."""
    two = at_camp().shot(20, ring(0, 0, n=2)).shot(20, ring(*BARE, n=2), "bare").verdict("bare shaft")
    three = at_camp().shot(20, ring(0, 0)).shot(20, ring(*BARE), "bare").verdict("bare shaft")
    assert (two.outcome, two.needed) == (CANNOT_TELL, 3)
    assert three.outcome == PASS


def test_outside_its_circle_but_within_the_evenings_budget_is_cannot_tell(at_camp, ring):
    """One check of six outside its 95 % circle is no alarm; far outside is."""
    near = at_camp().shot(20, ring(0.1, 1.15)).verdict("near zero")
    assert near.off_m > near.circle_m
    assert near.outcome == CANNOT_TELL
    assert near.needed > 3
    assert at_camp().shot(20, ring(0.1, 2.5)).verdict("near zero").outcome == FAIL


def test_the_same_arrows_looked_at_twice_have_half_the_budget(at_camp, ring):
    """2^k: one set of six against two sets of three."""
    shots = ring(0.1, 1.0, n=6)
    once = at_camp().shot(20, shots).verdict("near zero")
    twice = at_camp().shot(20, shots[:3]).shot(20, shots[3:]).verdict("near zero")
    assert twice.p_value == pytest.approx(once.p_value)
    assert (once.p_spent / once.p_value, twice.p_spent / twice.p_value) == (2.0, 4.0)
    assert twice.shown_m > once.shown_m


def test_holm_shares_the_budget_over_the_checks_of_the_place_shot_or_not(at_camp, ring):
    """Six checks: the smallest p-value needs 0.05/6, whoever else was shot; statsmodels' rule worked by hand."""
    camp = at_camp().shot(20, ring(0.1, 0.0)).shot(20, ring(0.3, 1.0), "bare")
    for up in (1.0, 1.2, 1.4, 1.6, 1.8, 2.0):
        camp.records[0] = at_camp().shot(20, ring(0.1, up)).records[0]
        judged = judge(camp.camp, camp.evening).verdicts
        spent = sorted(v.p_spent for v in judged)
        checks = len(camp.camp.checks)
        wanted = 0
        for rank, p in enumerate(spent):
            if p > 0.05 / (checks - rank):
                break
            wanted += 1
        assert sum(v.outcome == FAIL for v in judged) == wanted
    assert checks == 6


def test_an_arrow_outside_the_butt_lets_nothing_pass(at_camp, ring):
    """The others fit, and one has no place: find it first."""
    verdict = at_camp().shot(20, [*ring(0.1, 0.0), None]).verdict("near zero")
    assert (verdict.outcome, verdict.outside) == (CANNOT_TELL, 1)
    assert at_camp().shot(20, [*ring(0.1, 4.0), None]).verdict("near zero").outcome == FAIL


def test_the_airs_part_is_taken_off_the_far_zero(at_camp, ring):
    """Where the forecast puts the arrows, nothing is off; where home's zero was, the air's part is."""
    camp = at_camp().shot(60, ring(0.0, 0.0, n=6))
    expectation = next(c for c in camp.camp.checks if c.name == "far zero").expectation
    assert 0.4 < expectation.forecast_m / INCH < 1.1  # reference table: 0.43 to 1.4 in at 60 yd for such a climb
    on = at_camp().shot(60, ring(0.0, expectation.up_m / INCH, n=6)).verdict("far zero")
    assert on.off_m == pytest.approx(0.0, abs=1e-9)
    assert camp.verdict("far zero").off_m == pytest.approx(expectation.up_m - expectation.slack_m, rel=1e-6)


def test_groups_much_wider_than_home_count_with_their_own_width(at_camp, ring):
    """Else a tired archer's scatter would read as a moved bow."""
    wide = at_camp().shot(20, ring(1.2, 1.2, size=4.0, n=5)).verdict("near zero")
    assert wide.wider
    assert (wide.outcome, wide.reason) == (CANNOT_TELL, "groups too wide")  # so wide a circle would hold anything


def test_without_any_group_at_home_the_camps_own_width_is_used(at_camp, without, ring):
    """And one arrow alone cannot tell."""
    no_groups = without("high-basin", "  groups:\n", "  marks:")
    assert at_camp(no_groups).shot(20, ring(0, 0, n=5)).verdict("near zero").p_value is not None
    lone = at_camp(no_groups).shot(20, [(0, 0)]).verdict("near zero")
    assert (lone.outcome, lone.reason) == (CANNOT_TELL, "no group recorded")


def test_a_distance_that_the_sight_is_not_set_for_is_not_judged(at_camp, ring):
    """At 7 yd with the 20 yd pin the arrow is not on the line."""
    camp = at_camp().shot(7, ring(0, -2)).shot(30, ring(0, 0))
    assert sorted(round(c.distance_m / YARD) for c in camp.camp.checks if "zero" in c.name) == [20, 30, 60]


def test_one_arrow_alone_fails_nothing(at_camp):
    """It may be a bad shot."""
    verdict = at_camp().shot(20, [(0.0, 9.0)]).verdict("near zero")
    assert verdict.p_spent < 0.001
    assert verdict.outcome == CANNOT_TELL


def test_after_the_sight_was_moved_on_purpose_no_zero_is_judged(at_camp, ring):
    """The recorded zeros are those of the sight as it was; bare shaft and heads still hold."""
    camp = at_camp().changed("60 yd pin moved up").shot(20, ring(0, 0)).shot(20, ring(*BARE), "bare")
    assert [v.check.name for v in judge(camp.camp, camp.evening).verdicts] == ["bare shaft"]
    assert not camp.causes().told


def test_where_all_arrows_missed_the_butt_it_is_said(at_camp):
    """Not that none was shot."""
    camp = at_camp().shot(20, [None, None])
    missing = {check.name: what for check, what in judge(camp.camp, camp.evening).not_shot}
    assert missing["near zero"] == "an arrow in the butt: all missed it"


def test_what_was_not_shot_is_named(at_camp, ring):
    """With what is missing for it."""
    camp = at_camp().shot(20, ring(0, 0), "bare")
    missing = {check.name: what for check, what in judge(camp.camp, camp.evening).not_shot}
    assert missing["bare shaft"] == "fletched arrows beside it"
    assert missing["near zero"] == "fletched arrows"
