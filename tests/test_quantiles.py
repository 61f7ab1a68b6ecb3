"""Quantiles against scipy.stats, and against what handbooks print."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from readiness.quantiles import (
    chi2_cdf,
    chi2_quantile,
    f2_quantile,
    gamma_cdf,
    normal_cdf,
    normal_quantile,
    student_cdf,
    student_quantile,
)

PROBABILITIES = [1e-6, 0.001, 0.025, 0.2, 0.5, 0.8, 0.95, 0.975, 0.9999]
DOFS = [1, 1.4, 2, 3, 4.7, 10, 18.3, 60, 199, 1000]

probabilities = st.floats(0.0005, 0.9995)
dofs = st.floats(1.0, 400.0)


@pytest.mark.parametrize("p", PROBABILITIES)
def test_normal_quantiles_are_those_of_scipy(p):
    """scipy.stats.norm to 1e-10."""
    assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("x", [-8.0, -3.0, -0.5, 0.0, 1.0, 4.0])
def test_normal_probabilities_are_those_of_scipy(x):
    """scipy.stats.norm to 1e-12, far tail included."""
    assert normal_cdf(x) == pytest.approx(stats.norm.cdf(x), rel=1e-12)


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("p", PROBABILITIES)
def test_chi_squared_and_student_quantiles_are_those_of_scipy(p, dof):
    """scipy.stats.chi2 and t to 1e-9 (near zero to 1e-10 and 1e-6); degrees of freedom need not be whole."""
    assert chi2_quantile(p, dof) == pytest.approx(stats.chi2.ppf(p, dof), rel=1e-9, abs=1e-10)
    near_median = 1e-6 if p == 0.5 else 0.0
    if abs(stats.t.ppf(p, dof)) < 1e5:
        assert student_quantile(p, dof) == pytest.approx(stats.t.ppf(p, dof), rel=1e-9, abs=near_median)


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("p", [0.01, 0.5, 0.9, 0.95, 0.99])
def test_f_quantiles_are_those_of_scipy(p, dof):
    """scipy.stats.f with 2 and dof degrees of freedom to 1e-9."""
    assert f2_quantile(p, dof) == pytest.approx(stats.f.ppf(p, 2, dof), rel=1e-9)


@given(st.floats(0.5, 200.0), st.floats(0.0, 3.0))
def test_the_incomplete_gamma_function_is_that_of_scipy(shape, ratio):
    """scipy.stats.gamma to 1e-10, on both sides of the switch from series to fraction."""
    assert gamma_cdf(shape, shape * ratio) == pytest.approx(stats.gamma.cdf(shape * ratio, shape), rel=1e-9, abs=1e-12)


@given(probabilities, dofs)
def test_a_quantile_is_where_the_probability_is_reached(p, dof):
    """scipy's distribution function at our quantile gives the probability back."""
    assert stats.chi2.cdf(chi2_quantile(p, dof), dof) == pytest.approx(p, rel=1e-8)
    assert stats.t.cdf(student_quantile(p, dof), dof) == pytest.approx(p, rel=1e-8, abs=1e-6)


@given(dofs, st.floats(-50.0, 50.0), st.floats(0.0, 600.0))
def test_probabilities_are_those_of_scipy(dof, t, x):
    """scipy.stats.t (to 1e-9, near zero to 3e-7) and chi2 (to 1e-9) at any point."""
    assert student_cdf(t, dof) == pytest.approx(stats.t.cdf(t, dof), rel=1e-9, abs=3e-7)
    assert chi2_cdf(x, dof) == pytest.approx(stats.chi2.cdf(x, dof), rel=1e-9, abs=1e-12)


@given(probabilities, dofs)
def test_student_is_symmetric(p, dof):
    """The quantile of p is that of 1 - p with the other sign."""
    assert student_quantile(1 - p, dof) == pytest.approx(-student_quantile(p, dof), rel=1e-7, abs=1e-6)


@given(probabilities, st.floats(0.0001, 0.0004), dofs)
def test_quantiles_rise_with_probability(p, step, dof):
    """A larger probability has a larger quantile, whatever the distribution."""
    assert normal_quantile(p + step) > normal_quantile(p)
    assert chi2_quantile(p + step, dof) > chi2_quantile(p, dof)
    assert student_quantile(p + step, dof) > student_quantile(p, dof)
    assert f2_quantile(p + step, dof) > f2_quantile(p, dof)


@pytest.mark.parametrize(
    ("quantile", "printed"),
    # NIST/SEMATECH e-Handbook 7.2.2.2, the example of a one-sided test: alpha 0.05, beta 0.10
    [
        (normal_quantile(0.95), 1.645),
        (normal_quantile(0.90), 1.282),
        (student_quantile(0.95, 8), 1.860),
        (student_quantile(0.90, 8), 1.397),
    ],
)
def test_quantiles_are_those_that_the_handbook_prints(quantile, printed):
    """The handbook's numbers to three decimals."""
    assert quantile == pytest.approx(printed, abs=5.1e-4)


def test_the_handbook_needs_nine_arrows_by_z_and_eleven_by_t():
    """NIST/SEMATECH 7.2.2.2: a shift of one sigma, one-sided, needs 8.567 -> 9, then 10.6 -> 11 and stays."""
    by_z = (normal_quantile(0.95) + normal_quantile(0.90)) ** 2
    by_t = (student_quantile(0.95, 8) + student_quantile(0.90, 8)) ** 2
    again = (student_quantile(0.95, 10) + student_quantile(0.90, 10)) ** 2
    assert by_z == pytest.approx(8.567, abs=0.005)
    assert by_t == pytest.approx(10.6, abs=0.05)
    assert 10 < again <= 11


def test_the_critical_t_of_the_fuel_example_is_the_published_one():
    """NIST 1.3.5.3, two samples of cars with 326 degrees of freedom: 1.96727 at 5 % two-sided."""
    assert student_quantile(0.975, 326) == pytest.approx(1.96727, abs=5.1e-6)
