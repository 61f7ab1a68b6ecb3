"""What a group of arrows says: its spread with its own doubt, shares inside a circle, what n arrows can show.

The model is the circular normal: the same standard deviation sigma on each axis, arrows independent. sigma
is always per axis.

Sources
-------
[1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.2.2, sample sizes for a shift of the mean.
[2] Extreme spreads of n arrows from a circular normal: a simulation of 6e6 to 8e7 groups for each n, with
    n = 2 exact (sqrt(pi)); its standard error is under 0.0003.
[3] Closed forms of the Rayleigh distribution.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, cos, erf, exp, log, pi, sin, sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness.quantiles import chi2_quantile, f2_quantile, normal_quantile, student_quantile

if TYPE_CHECKING:
    from collections.abc import Iterable

SAME_DISTANCE_M = 0.01  # distances closer than this are one
FEWEST_ARROWS, MOST_ARROWS = 3, 200  # of fewer than three no handbook table speaks [1]

# [2]: arrows -> (mean, standard deviation) of the extreme spread, in sigma.
_EXTREME_SPREAD = {
    2: (1.7724539, 0.9265028),
    3: (2.4088012, 0.8920),
    4: (2.7936, 0.8560),
    5: (3.0657, 0.8271),
    6: (3.2755, 0.8034),
    8: (3.5851, 0.7674),
    10: (3.8117, 0.7416),
    15: (4.1962, 0.6977),
    20: (4.4515, 0.6696),
}
LARGEST_EXTREME_SPREAD_GROUP = max(_EXTREME_SPREAD)


class Spread(NamedTuple):
    """A per-axis standard deviation, [m], and how well it is known: degrees of freedom, [-]."""

    sigma_m: float
    dof: float

    def interval_m(self, confidence: float = 0.95) -> tuple[float, float]:
        """The interval that holds the true sigma with this confidence, [m]."""
        tail = 0.5 * (1.0 - confidence)
        low = self.sigma_m * sqrt(self.dof / chi2_quantile(1.0 - tail, self.dof))
        return low, self.sigma_m * sqrt(self.dof / chi2_quantile(tail, self.dof))


def spread_of(measure: str, size_m: float, arrows: int) -> Spread | None:
    """The spread that a measured group shows.

    Parameters
    ----------
    measure : extreme_spread, mean_radius or vertical_sd, [text]
    size_m : the measured size, [m]
    arrows : arrows in the group, [-], 2 or more

    Returns
    -------
    Spread; None for an extreme spread of more than 20 arrows, which no table here covers. Sources [2], [3].

    Examples
    --------
    >>> spread_of("extreme_spread", 3.8117, 10).sigma_m
    1.0

    """
    if measure == "vertical_sd":
        return Spread(size_m, arrows - 1.0)
    if measure == "mean_radius":
        # Mean radius about the middle of the same arrows is short by sqrt((n-1)/n). [3]
        per_sigma = sqrt(pi / 2.0) * sqrt((arrows - 1.0) / arrows)
        return Spread(size_m / per_sigma, (arrows - 1.0) / (2.0 * (4.0 / pi - 1.0)))
    if arrows > LARGEST_EXTREME_SPREAD_GROUP:
        return None
    mean, sd = _extreme_spread_of(arrows)
    return Spread(size_m / mean, 0.5 * (mean / sd) ** 2)


def pooled(spreads: Iterable[Spread]) -> Spread:
    """Several groups of one distance as one spread: variances weighted by their degrees of freedom.

    >>> pooled([Spread(1.0, 4), Spread(2.0, 4)]).sigma_m  # sqrt(2.5)
    1.58
    """
    spreads = list(spreads)
    dof = sum(s.dof for s in spreads)
    return Spread(sqrt(sum(s.dof * s.sigma_m**2 for s in spreads) / dof), dof)


def spread_at(distance_m: float, known: Iterable[tuple[float, Spread]]) -> Spread | None:
    """The spread at a distance, from groups shot at others.

    sigma/distance is interpolated between recorded distances and constant nearer than the nearest. Nothing
    is said beyond the farthest.

    Parameters
    ----------
    distance_m : distance wanted, [m]
    known : (distance, [m]; spread) of each recorded distance

    Returns
    -------
    Spread, or None beyond the farthest

    Examples
    --------
    >>> spread_at(30.0, [(20.0, Spread(0.02, 18)), (40.0, Spread(0.06, 10))]).sigma_m
    0.0375

    """
    at = sorted(known, key=lambda entry: entry[0])
    if not at or distance_m > at[-1][0] * (1.0 + 1e-9):
        return None
    near = max((entry for entry in at if entry[0] <= distance_m), default=at[0], key=lambda entry: entry[0])
    far = min((entry for entry in at if entry[0] >= distance_m), default=at[-1], key=lambda entry: entry[0])
    if distance_m <= near[0] or far[0] == near[0]:
        return Spread(near[1].sigma_m * distance_m / near[0], near[1].dof)
    weight = (distance_m - near[0]) / (far[0] - near[0])
    per_metre = (1.0 - weight) * near[1].sigma_m / near[0] + weight * far[1].sigma_m / far[0]
    return Spread(per_metre * distance_m, min(near[1].dof, far[1].dof))


def share_inside(radius_m: float, sigma_m: float, shift_m: float = 0.0) -> float:
    """Share of arrows inside a circle whose middle is off the group's middle.

    The distance of an arrow from the circle's middle follows the Rice distribution; its integral is done
    here over horizontal strips.

    Parameters
    ----------
    radius_m : radius of the circle, [m]
    sigma_m : per-axis standard deviation, [m]
    shift_m : from the middle of the circle to the middle of the group, [m]

    Returns
    -------
    share, [-], 0 to 1

    Examples
    --------
    >>> share_inside(2.0, 1.0)  # 1 - exp(-2)
    0.8647

    """
    r, s = radius_m / sigma_m, abs(shift_m) / sigma_m
    if s == 0.0:
        return 1.0 - exp(-0.5 * r * r)
    low, high = max(-r, s - 9.0), min(r, s + 9.0)
    if low >= high:
        return 0.0
    # y = middle - half cos(angle) crowds the points to the ends, where the strips shorten fastest, and makes the
    # integrand one period of an even function of the angle: equal weights then reach 1e-12, Simpson's only 1e-7.
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    n = 64 if r < 40.0 else 256  # a tight group at the edge of the circle sees the strips shorten in few steps
    total = 0.0
    for i in range(1, n):
        angle = pi * i / n
        y = middle - half * cos(angle)
        strip = erf(sqrt(max(0.0, r * r - y * y)) / sqrt(2.0))
        total += exp(-0.5 * (y - s) ** 2) * strip * sin(angle)
    return min(1.0, total * pi / n * half / sqrt(2.0 * pi))


def arrows_to_see(shift_m: float, sigma_m: float, power: float = 0.8, alpha: float = 0.05) -> int | None:
    """Arrows in one group that show a shift of its mean against an exact zero.

    The smallest n with n >= [t(1-alpha/2, n-1) + t(power, n-1)]^2 (sigma/shift)^2: two-sided, sigma
    unknown. Source [1].

    Parameters
    ----------
    shift_m : shift to be seen, [m]
    sigma_m : per-axis standard deviation, [m]
    power : chance of seeing it, [-]
    alpha : chance of seeing one that is not there, [-]

    Returns
    -------
    arrows, [-], 3 to 200; None for more than 200

    Examples
    --------
    >>> arrows_to_see(1.0, 1.0)  # exact non-central t: 9.94
    10

    """
    if shift_m == 0.0:
        return None
    ratio2 = (sigma_m / shift_m) ** 2
    needed = (normal_quantile(1.0 - 0.5 * alpha) + normal_quantile(power)) ** 2 * ratio2
    if needed > MOST_ARROWS:
        return None
    for n in range(max(FEWEST_ARROWS, ceil(needed)), MOST_ARROWS + 1):
        if n >= _student_sum(n, power, alpha) ** 2 * ratio2:
            return n
    return None


def smallest_shift_seen_m(arrows: int, sigma_m: float, power: float = 0.8, alpha: float = 0.05) -> float:
    """The shift of its mean that a group of n arrows shows: arrows_to_see turned round, [m].

    >>> smallest_shift_seen_m(10, 1.0)
    0.995
    """
    return _student_sum(arrows, power, alpha) * sigma_m / sqrt(arrows)


def circle_m(spread: Spread, variance_factor: float, confidence: float = 0.95) -> float:
    """Radius around the expected point in which a difference of means falls by chance.

    With D the two-dimensional difference and sigma known to dof degrees of freedom,
    |D|^2 / (2 sigma^2 factor) follows F(2, dof): the circular form of Hotelling's T^2.

    Parameters
    ----------
    spread : per-axis sigma with its degrees of freedom
    variance_factor : variance of the difference on one axis in sigma^2, such as 1/3 + 1/6, [-]
    confidence : share of sound bows that pass, [-]

    Returns
    -------
    radius, [m]

    Examples
    --------
    >>> circle_m(Spread(1.0, 1e9), 1.0)  # 95 % radius of a circular normal: 2.4477
    2.4477

    """
    return spread.sigma_m * sqrt(2.0 * f2_quantile(confidence, spread.dof) * variance_factor)


def shift_shown_m(spread: Spread, variance_factor: float, alpha: float, power: float = 0.8) -> float:
    """The shift that a two-dimensional difference of means shows: circle_m's test with its power.

    Under a shift the statistic of circle_m is non-central F; its power is taken as the share of a circular normal
    outside the circle, averaged over the doubt of sigma.

    Parameters
    ----------
    spread : per-axis sigma with its degrees of freedom
    variance_factor : variance of the difference on one axis in sigma^2, [-]
    alpha : chance of seeing a shift that is not there, [-]
    power : chance of seeing this one, [-]

    Returns
    -------
    shift, [m]

    Examples
    --------
    >>> shift_shown_m(Spread(1.0, 1e9), 1.0, 0.05)  # non-central chi-squared, 2 dof: 9.634 = 3.104^2
    3.104

    """
    return spread.sigma_m * sqrt(variance_factor) * _shown_in_standard_errors(round(spread.dof, 3), alpha, power)


@lru_cache(maxsize=4096)
def _shown_in_standard_errors(dof: float, alpha: float, power: float) -> float:
    critical = sqrt(2.0 * f2_quantile(1.0 - alpha, dof))
    parts = 24 if dof < 2000 else 1
    circles = [critical * sqrt(chi2_quantile((i + 0.5) / parts, dof) / dof) for i in range(parts)]
    low, high = 0.0, 3.0 * critical + 6.0
    while high - low > 1e-5 * high:
        middle = 0.5 * (low + high)
        inside = sum(share_inside(circle, 1.0, middle) for circle in circles) / parts
        low, high = (middle, high) if 1.0 - inside < power else (low, middle)
    return high


def _student_sum(arrows: int, power: float, alpha: float) -> float:
    return student_quantile(1.0 - 0.5 * alpha, arrows - 1) + student_quantile(power, arrows - 1)


@lru_cache(maxsize=64)
def _extreme_spread_of(arrows: int) -> tuple[float, float]:
    """Mean and standard deviation in sigma, between the table's rows by the logarithm of n."""
    if arrows in _EXTREME_SPREAD:
        return _EXTREME_SPREAD[arrows]
    below = max(n for n in _EXTREME_SPREAD if n < arrows)
    above = min(n for n in _EXTREME_SPREAD if n > arrows)
    weight = (log(arrows) - log(below)) / (log(above) - log(below))
    (mean_low, sd_low), (mean_high, sd_high) = _EXTREME_SPREAD[below], _EXTREME_SPREAD[above]
    return (1 - weight) * mean_low + weight * mean_high, (1 - weight) * sd_low + weight * sd_high
