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

from readiness.arrival.cells import cells_of
from readiness.arrival.evening import squares_m2
from readiness.linear import Matrix, Vector, cholesky, dot, forward, log_determinant, solve
from readiness.quantiles import chi2_quantile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.arrival.cells import Cell
    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening
    from readiness.arrival.records import Shot

SEEN = 1.96  # standard errors
_SIGMAS = 9  # values of sigma that its doubt is averaged over
_FEWEST_SHOTS_OF_A_SUSPECT = 2


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

    @property
    def arrows(self) -> int:
        """Arrows with a place in the groups of which something is expected, [-]."""
        return sum(cell.group.arrows for cell in self.cells if cell.is_set or cell.kind != "fletched")

    @property
    def aimed(self) -> tuple[Cell, ...]:
        """The groups at distances that the sight has a setting for; all of them where there is none such."""
        return tuple(cell for cell in self.cells if cell.is_set) or self.cells

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

    def sideways(self) -> float:
        """How far the groups stand to the right for each metre of distance, [-]; 0 where chance may do that."""
        size, error = self.fitted([cell.distance_m for cell in self.cells], [cell.right_m for cell in self.cells])
        return size if abs(size) >= SEEN * error else 0.0

    def suspects(self) -> tuple[int, ...]:
        """The numbers of arrows that were shot twice or more."""
        numbers = [shot.arrow for cell in self.cells for shot in cell.group.shots if shot.arrow is not None]
        often = {n for n in numbers if numbers.count(n) >= _FEWEST_SHOTS_OF_A_SUSPECT}
        return tuple(sorted(often)) if self.has_home and len(set(numbers)) > 1 else ()


def pattern_of(camp: AtPlace, evening: Evening) -> Pattern | None:
    """The groups that can be compared with something; None where there are none, or no spread is known."""
    found = cells_of(camp, evening)
    return None if found is None else Pattern(found.cells, found.dof, has_home=found.has_home)


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
    scatter = [hypothesis.growth**2 / cell.group.arrows if cell.group.arrows else 0.0 for cell in cells]
    base = [[_between(a, b, scatter[i] if i == j else 0.0) for j, b in enumerate(cells)] for i, a in enumerate(cells)]
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


def _between(one: Cell, two: Cell, scatter: float) -> float:
    """Covariance of two middles on one axis for sigma as estimated, forecast and causes left out, [m2].

    scatter is the variance of the shots' own middle where both are the same middle, in sigma^2, [-]
    """
    shared = one.zero_variance if one.distance_m == two.distance_m else 0.0
    shared += one.own_variance if one is two else 0.0
    return (shared + scatter) * one.sigma_m * two.sigma_m


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
    return _between(part.cell, other.cell, growth**2 / len(part.shots) if part is other else 0.0)


@lru_cache(maxsize=256)
def _sigmas(dof: float) -> tuple[float, ...]:
    """Equally likely values of sigma in units of its estimate from dof degrees of freedom."""
    return tuple(sqrt(dof / chi2_quantile((i + 0.5) / _SIGMAS, dof)) for i in range(_SIGMAS))


def _sums(lower: Matrix, values: Sequence[float], columns: Sequence[Vector]) -> _Sums:
    y = forward(lower, values)
    u = [forward(lower, column) for column in columns]
    gram = [[dot(a, b) for b in u] for a in u]
    return _Sums(len(y), log_determinant(lower), dot(y, y), [dot(a, y) for a in u], gram)
