"""Quantiles of the normal, chi-squared, Student and F distributions, in plain floats.

Only what group statistics need. Each is proven against an independent library in tests/test_quantiles.py.
"""

from __future__ import annotations

from functools import lru_cache
from math import erfc, exp, lgamma, log, log1p, pi, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

_TINY = 1e-300


def normal_cdf(x: float) -> float:
    """Probability that a standard normal value is below x.

    >>> normal_cdf(0.0)
    0.5
    """
    return 0.5 * erfc(-x / sqrt(2.0))


@lru_cache(maxsize=64)
def normal_quantile(p: float) -> float:
    """The value below which a standard normal falls with probability p, [-], 1e-12 < p < 1 - 1e-12.

    >>> normal_quantile(0.975)  # any table: 1.960
    1.960
    """
    return _solve(normal_cdf, lambda x: exp(-0.5 * x * x) / sqrt(2.0 * pi), p, 0.0, -9.0, 9.0)


def gamma_cdf(shape: float, x: float) -> float:
    """Regularised lower incomplete gamma function P(shape, x), [-], shape > 0, x >= 0.

    Series below shape + 1, continued fraction above.

    >>> gamma_cdf(1.0, 1.0)  # 1 - 1/e
    0.6321
    """
    if x <= 0.0:
        return 0.0
    front = exp(shape * log(x) - x - lgamma(shape))
    if x < shape + 1.0:
        term = total = 1.0 / shape
        n = shape
        while term > total * 1e-16:
            n += 1.0
            term *= x / n
            total += term
        return front * total
    b = x + 1.0 - shape
    c, d = 1.0 / _TINY, 1.0 / b
    fraction = d
    for i in range(1, 500):
        a = -i * (i - shape)
        b += 2.0
        d = 1.0 / (a * d + b or _TINY)
        c = b + a / c or _TINY
        fraction *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return 1.0 - front * fraction


def chi2_cdf(x: float, dof: float) -> float:
    """Probability that chi-squared with dof degrees of freedom is below x.

    >>> chi2_cdf(5.991, 2)  # any table: 0.95
    0.950
    """
    return gamma_cdf(0.5 * dof, 0.5 * x)


@lru_cache(maxsize=256)
def chi2_quantile(p: float, dof: float) -> float:
    """The value below which chi-squared falls with probability p; dof need not be whole.

    >>> chi2_quantile(0.95, 2)  # any table: 5.991
    5.991
    """
    half = 0.5 * dof
    scale = half * log(2.0) + lgamma(half)

    def density(x: float) -> float:
        return exp((half - 1.0) * log(x) - 0.5 * x - scale)

    # Wilson and Hilferty's cube is a good start where it is positive.
    start = dof * max(0.05, 1.0 - 2.0 / (9.0 * dof) + normal_quantile(p) * sqrt(2.0 / (9.0 * dof))) ** 3
    return _solve(lambda x: chi2_cdf(x, dof), density, p, start, 0.0, dof + 40.0 * sqrt(2.0 * dof) + 80.0)


def student_cdf(t: float, dof: float) -> float:
    """Probability that Student's t with dof degrees of freedom is below t.

    >>> student_cdf(2.228, 10)  # any table: 0.975
    0.975
    """
    if t * t < dof:  # near the middle the tail's digits would be lost in 1/2
        half = 0.5 * _beta_cdf(0.5, 0.5 * dof, t * t / (dof + t * t))
        return 0.5 + half if t > 0 else 0.5 - half
    tail = 0.5 * _beta_cdf(0.5 * dof, 0.5, dof / (dof + t * t))
    return 1.0 - tail if t > 0 else tail


@lru_cache(maxsize=1024)
def student_quantile(p: float, dof: float) -> float:
    """The value below which Student's t falls with probability p.

    >>> student_quantile(0.975, 10)  # any table: 2.228
    2.228
    """
    scale = lgamma(0.5 * (dof + 1.0)) - lgamma(0.5 * dof) - 0.5 * log(dof * pi)

    def density(t: float) -> float:
        return exp(scale - 0.5 * (dof + 1.0) * log1p(t * t / dof))

    # Fisher's expansion in 1/dof (Abramowitz and Stegun 26.7.5) is a start that needs a step or two.
    z = normal_quantile(p)
    z2 = z * z
    start = z + z / dof * (
        (z2 + 1.0) / 4.0
        + ((5.0 * z2 + 16.0) * z2 + 3.0) / (96.0 * dof)
        + (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / (384.0 * dof**2)
        + ((((79.0 * z2 + 776.0) * z2 + 1482.0) * z2 - 1920.0) * z2 - 945.0) / (92160.0 * dof**3)
    )
    return _solve(lambda t: student_cdf(t, dof), density, p, start, -1e5, 1e5)


def f2_quantile(p: float, dof: float) -> float:
    """The value below which F with 2 and dof degrees of freedom falls with probability p: a closed form.

    >>> f2_quantile(0.95, 10)  # any table: 4.10
    4.10
    """
    return 0.5 * dof * (float((1.0 - p) ** (-2.0 / dof)) - 1.0)


def f2_tail(f: float, dof: float) -> float:
    """Probability that F with 2 and dof degrees of freedom is above f: a closed form.

    >>> f2_tail(4.10, 10)  # any table: 0.05
    0.0500
    """
    return float((1.0 + 2.0 * f / dof) ** (-0.5 * dof))


def f_tail(f: float, dof1: float, dof2: float) -> float:
    """Probability that F with dof1 and dof2 degrees of freedom is above f, [-].

    >>> f_tail(3.326, 5, 10)  # any table: 0.05
    0.0500
    """
    return _beta_cdf(0.5 * dof2, 0.5 * dof1, dof2 / (dof2 + dof1 * f))


def _beta_cdf(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b), by its continued fraction."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_cdf(b, a, 1.0 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0))
    fraction = d
    for m in range(1, 500):
        step = 1.0
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 / (1.0 + numerator * d or _TINY)
            c = 1.0 + numerator / c or _TINY
            step = c * d
            fraction *= step
        if abs(step - 1.0) < 1e-15:
            break
    return front * fraction


def _solve(
    cdf: Callable[[float], float],
    density: Callable[[float], float],
    p: float,
    start: float,
    low: float,
    high: float,
) -> float:
    """Where a rising function reaches p: Newton's steps, halving where one would leave the bracket."""
    x = start
    for _ in range(200):
        miss = cdf(x) - p
        low, high = (low, x) if miss > 0.0 else (x, high)
        slope = density(x)
        following = x - miss / slope if slope > 0.0 else low
        if abs(following - x) <= 1e-12 * (1.0 + abs(x)):
            return following
        x = following if low < following < high else 0.5 * (low + high)
    return x
