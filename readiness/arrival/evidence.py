"""The likelihood behind the causes: the middles and the squares of an evening's groups, all of it normal.

The middles of all groups, less what the trip's records and the forecast expect, have the covariance

    sigma^2 (home + growth^2 camp) + forecast + U U'

on each axis, the two axes apart: home is the doubt of the recorded zeros and baselines, camp that of the groups shot
here, both in units of the archer's sigma; forecast is the doubt of the air's shift (vertical only); the columns of U
are where a cause of size one standard deviation moves each group. The squares of the arrows about their middles have
chi-squared. sigma itself is averaged over: a few values, equally likely by what is known of it.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, log, sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness import groups, sighting
from readiness.arrival.checks import is_set_for
from readiness.arrival.evening import squares_m2
from readiness.forecast import flight_from_home
from readiness.groups import Spread
from readiness.linear import Matrix, Vector, cholesky, dot, forward, log_determinant, solve
from readiness.pinshift import BAND_SIGMAS
from readiness.quantiles import chi2_quantile
from readiness.verification import ASSUMED_COUNT, zero_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.arrival.checks import Camp
    from readiness.arrival.evening import Evening, Group
    from readiness.arrival.records import Shot
    from readiness.verification import Expectation

_SIGMAS = 9  # values of sigma that its doubt is averaged over
_FEWEST_SHOTS_OF_A_SUSPECT = 2


class Cell(NamedTuple):
    """One group against what was expected of it. Lengths in [m]; variances on one axis in sigma^2 of its distance."""

    distance_m: float
    kind: str
    head: str | None
    sigma_m: float
    right_m: float  # observed less expected
    up_m: float
    zero_variance: float  # of the home zero at this distance, shared by every group there
    own_variance: float  # of the baseline of a bare shaft or head
    forecast_m: float
    forecast_sd_m: float
    m_per_m_s: float
    group: Group


class Hypothesis(NamedTuple):
    """A cause in one scale: where one standard deviation of its size moves each group, a column a degree of freedom.

    size is that standard deviation in the cause's own unit. With an arrow, it is an angle of that arrow's shots alone.
    """

    cause: str
    prior: float
    size: float = 1.0
    right: tuple[Vector, ...] = ()
    up: tuple[Vector, ...] = ()
    growth: float = 1.0
    arrow: int | None = None


class _Sums(NamedTuple):
    """What an axis of a pattern needs for any sigma: dimension, log determinant, y'A-1y, U'A-1y, U'A-1U."""

    size: int
    log_determinant: float
    square: float
    cross: Vector
    gram: Matrix

    def log_density(self, sigma: float) -> float:
        """Log density of the middles, the constant left out, for sigma in units of its estimate."""
        variance = sigma * sigma
        total = self.size * log(variance) + self.log_determinant + self.square / variance
        if self.cross:
            inner = [[g / variance + (i == j) for j, g in enumerate(row)] for i, row in enumerate(self.gram)]
            lower = cholesky(inner)
            half = forward(lower, [c / variance for c in self.cross])
            total += log_determinant(lower) - dot(half, half)
        return -0.5 * total

    def likeliest(self) -> Vector:
        """The likeliest coefficients of the columns, in standard deviations, for sigma as estimated."""
        inner = [[g + (i == j) for j, g in enumerate(row)] for i, row in enumerate(self.gram)]
        return solve(cholesky(inner), self.cross)


class _Part(NamedTuple):
    """Some shots of one group: all of them, or those of the suspected arrow and the others apart."""

    cell: Cell
    shots: tuple[Shot, ...]
    suspect: bool


class View(NamedTuple):
    """A pattern in parts: the middles, the Cholesky factor of their covariance, the squares within the parts.

    constant is what taking groups apart changes of the log density: n shots about a common middle have that of their
    middle times n^(-1/2) (2 pi sigma^2)^(-(n-1)/2) on each axis; the factors of 2 pi cancel.
    """

    parts: tuple[_Part, ...]
    lower: Matrix
    right: Vector
    up: Vector
    squares: float
    dof: int
    constant: float

    @property
    def forecast_sd(self) -> tuple[Vector, ...]:
        """The doubt of the forecast as a column, if there is any."""
        doubt = [part.cell.forecast_sd_m for part in self.parts]
        return (doubt,) if any(doubt) else ()

    def columns(self, hypothesis: Hypothesis) -> tuple[tuple[Vector, ...], tuple[Vector, ...]]:
        """Where the hypothesis moves the parts, right and up."""
        if hypothesis.arrow is None:
            return hypothesis.right, hypothesis.up
        moved = [hypothesis.size * part.cell.distance_m if part.suspect else 0.0 for part in self.parts]
        return (moved,), (moved,)


class Pattern:
    """The evening's groups as the causes see them; dof is how well the archer's sigma is known."""

    def __init__(self, cells: tuple[Cell, ...], dof: float, *, has_home: bool) -> None:
        """Without home groups, sigma is that of these very groups."""
        self.cells, self.dof, self.has_home = cells, dof, has_home
        self._views: dict[tuple[int | None, float], View] = {}

    def view(self, arrow: int | None = None, growth: float = 1.0) -> View:
        """The pattern with the shots of one arrow apart, the camp's groups so many times as wide as home's."""
        key = arrow, growth
        if key not in self._views:
            self._views[key] = _view(self.cells, arrow, growth)
        return self._views[key]

    def fitted(self, shape: Vector, values: Vector) -> tuple[float, float]:
        """How much of a shape is in some values, by weighted least squares, and one standard error of it, [-]."""
        lower = self.view().lower
        a, b = forward(lower, shape), forward(lower, values)
        weight = dot(a, a)
        return dot(a, b) / weight, 1.0 / sqrt(weight)

    def suspects(self) -> tuple[int, ...]:
        """The numbers of arrows that were shot twice or more."""
        numbers = [shot.arrow for cell in self.cells for shot in cell.group.shots if shot.arrow is not None]
        often = {n for n in numbers if numbers.count(n) >= _FEWEST_SHOTS_OF_A_SUSPECT}
        return tuple(sorted(often)) if self.has_home and len(set(numbers)) > 1 else ()


def pattern_of(camp: Camp, evening: Evening) -> Pattern | None:
    """The groups that can be compared with something; None where there are none, or no spread is known."""
    shot = [group for group in evening.groups if group.arrows and is_set_for(camp.trip, group.distance_m)]
    spreads = {group.distance_m: groups.spread_at(group.distance_m, camp.forecast.spreads) for group in shot}
    known = [group for group in shot if spreads[group.distance_m] is not None]
    has_home = bool(known)
    if not has_home:
        dof = sum(group.dof for group in shot)
        if dof == 0:
            return None
        per_metre = sqrt(sum(group.squares_m2 / group.distance_m**2 for group in shot) / dof)
        if per_metre == 0.0:
            return None
        spreads = {d: Spread(per_metre * d, dof) for d in spreads}
        known = shot
    cells = tuple(filter(None, (_cell(camp, group, spreads[group.distance_m]) for group in known)))
    if not cells:
        return None
    return Pattern(cells, min(spreads[cell.distance_m].dof for cell in cells), has_home=has_home)  # type: ignore[union-attr]


def _cell(camp: Camp, group: Group, spread: Spread | None) -> Cell | None:
    """A group less what is expected of it; None for a bare shaft or head without a baseline at this distance."""
    assert spread is not None
    zero = zero_at("zero", camp.trip, camp.forecast, group.distance_m)
    right, up, own = zero.right_m, zero.up_m, 0.0
    if group.kind != "fletched":
        base = _baseline(camp, group)
        if base is None:
            return None
        right, up, own = right + base.right_m, up + base.up_m, base.baseline_variance
    return Cell(
        distance_m=group.distance_m,
        kind=group.kind,
        head=group.head,
        sigma_m=spread.sigma_m,
        right_m=group.right_m - right if group.shots else 0.0,
        up_m=group.up_m - up if group.shots else 0.0,
        zero_variance=zero.baseline_variance or 1.0 / ASSUMED_COUNT,
        own_variance=own,
        forecast_m=zero.forecast_m,
        forecast_sd_m=zero.slack_m / BAND_SIGMAS,
        m_per_m_s=m_per_m_s(camp, group.distance_m),
        group=group,
    )


def cell_of(camp: Camp, group: Group) -> Cell | None:
    """A group that is not shot yet, as the causes would see it; None where nothing could be held against it."""
    spread = groups.spread_at(group.distance_m, camp.forecast.spreads)
    return _cell(camp, group, spread) if spread else None


def _baseline(camp: Camp, group: Group) -> Expectation | None:
    name = "bare shaft" if group.kind == "bare" else "broadhead"
    for check in camp.checks:
        same = check.name == name and check.head == group.head
        if same and abs(check.distance_m - group.distance_m) < 0.01:
            return check.expectation
    return None


def m_per_m_s(camp: Camp, distance_m: float) -> float:
    """What one metre per second of launch speed does to the height at a distance, [m per m/s]."""
    flight = flight_from_home(camp.trip)
    there = camp.forecast.cases[0][1].conditions.medium
    aim = sighting.aim_slope(flight.shooter, flight.home.medium, distance_m)
    faster = flight.shooter._replace(speed_m_s=flight.shooter.speed_m_s + 1.0)
    height = sighting.height_m
    return height(faster, there, aim, distance_m) - height(flight.shooter, there, aim, distance_m)


def log_evidence(pattern: Pattern, hypothesis: Hypothesis) -> float:
    """How well a hypothesis predicts the evening: log of the density of all its shots, a constant left out."""
    view = pattern.view(hypothesis.arrow, hypothesis.growth)
    right, up = view.columns(hypothesis)
    across, along = _sums(view.lower, view.right, right), _sums(view.lower, view.up, (*up, *view.forecast_sd))
    logs = []
    for sigma in _sigmas(round(pattern.dof, 3)):
        wide = sigma * hypothesis.growth
        value = across.log_density(sigma) + along.log_density(sigma)
        if pattern.has_home:  # without home groups, sigma is known from these very squares
            value += -view.dof * log(wide) - 0.5 * view.squares / wide**2
        logs.append(value)
    top = max(logs)
    return view.constant + top + log(sum(exp(value - top) for value in logs) / len(logs))


def likeliest_size(pattern: Pattern, hypothesis: Hypothesis) -> tuple[float, float]:
    """The likeliest size of a hypothesis, right and up, in its own unit; 0 on an axis that it does not move."""
    view = pattern.view(hypothesis.arrow, hypothesis.growth)
    right, up = view.columns(hypothesis)
    return tuple(  # type: ignore[return-value]
        hypothesis.size * _sums(view.lower, values, (*columns, *doubt)).likeliest()[0] if columns else 0.0
        for values, columns, doubt in ((view.right, right, ()), (view.up, up, view.forecast_sd))
    )


def predicted(pattern: Pattern, new: Cell, hypothesis: Hypothesis) -> tuple[float, float, float, float]:
    """Where a hypothesis about the shot groups and a new one puts the new one's middle, less what is expected of it.

    Returns
    -------
    mean and variance on the right axis, mean and variance up, [m], [m2]; the new group's own scatter left out

    """
    cells = (*pattern.cells, new)
    base = [[_shared(one, two, hypothesis.growth) for two in cells] for one in cells]
    found: list[float] = []
    right, up = [cell.right_m for cell in pattern.cells], [cell.up_m for cell in pattern.cells]
    for values, columns, doubt in ((right, hypothesis.right, ()), (up, hypothesis.up, _doubt(cells))):
        full = [
            [b + sum(c[i] * c[j] for c in (*columns, *doubt)) for j, b in enumerate(row)] for i, row in enumerate(base)
        ]
        lower = cholesky([row[:-1] for row in full[:-1]])
        half = forward(lower, full[-1][:-1])
        found += [dot(half, forward(lower, values)), max(1e-12, full[-1][-1] - dot(half, half))]
    return found[0], found[1], found[2], found[3]


def _doubt(cells: Sequence[Cell]) -> tuple[Vector, ...]:
    return ([cell.forecast_sd_m for cell in cells],)


def _shared(one: Cell, two: Cell, growth: float) -> float:
    """Covariance of the middles of two whole groups on one axis, a group without shots taken as without scatter."""
    shared = one.zero_variance if one.distance_m == two.distance_m else 0.0
    shared += one.own_variance if one is two else 0.0
    shared += growth**2 / one.group.arrows if one is two and one.group.arrows else 0.0
    return shared * one.sigma_m * two.sigma_m


def _view(cells: tuple[Cell, ...], arrow: int | None, growth: float) -> View:
    parts = [
        _Part(cell, shots, suspect)
        for cell in cells
        for suspect in (True, False)
        if (shots := tuple(shot for shot in cell.group.shots if (arrow is not None and shot.arrow == arrow) == suspect))
    ]
    weight = [_log_weight(part.cell, len(part.shots)) for part in parts]
    whole = [_log_weight(cell, cell.group.arrows) for cell in cells]
    return View(
        tuple(parts),
        cholesky([[_covariance(part, other, growth) for other in parts] for part in parts]),
        [p.cell.right_m + sum(s.right_m for s in p.shots) / len(p.shots) - p.cell.group.right_m for p in parts],
        [p.cell.up_m + sum(s.up_m for s in p.shots) / len(p.shots) - p.cell.group.up_m for p in parts],
        sum(squares_m2(part.shots) / part.cell.sigma_m**2 for part in parts),
        sum(2 * (len(part.shots) - 1) for part in parts),
        sum(weight) - sum(whole),
    )


def _log_weight(cell: Cell, shots: int) -> float:
    return -log(shots) - 2.0 * (shots - 1) * log(cell.sigma_m)


def _covariance(part: _Part, other: _Part, growth: float) -> float:
    """Of two middles on one axis for sigma as estimated, forecast and causes left out, [m2]."""
    one, two = part.cell, other.cell
    shared = one.zero_variance if one.distance_m == two.distance_m else 0.0
    shared += one.own_variance if one is two else 0.0
    shared += growth**2 / len(part.shots) if part is other else 0.0
    return shared * one.sigma_m * two.sigma_m


@lru_cache(maxsize=256)
def _sigmas(dof: float) -> tuple[float, ...]:
    """Equally likely values of sigma in units of its estimate from dof degrees of freedom."""
    return tuple(sqrt(dof / chi2_quantile((i + 0.5) / _SIGMAS, dof)) for i in range(_SIGMAS))


def _sums(lower: Matrix, values: Sequence[float], columns: Sequence[Vector]) -> _Sums:
    y = forward(lower, values)
    u = [forward(lower, column) for column in columns]
    gram = [[dot(a, b) for b in u] for a in u]
    return _Sums(len(y), log_determinant(lower), dot(y, y), [dot(a, y) for a in u], gram)
