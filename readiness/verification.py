"""What the arrows must show on arrival: expected place, tolerance and number of arrows for each check.

Everything follows from this trip and this archer's own recorded groups. A tolerance is the circle in which
an unmoved bow's result falls 95 times in 100, with the doubt of both the baseline and the new group and of
sigma itself (groups.circle_m). Where no group says how wide the archer shoots, a figure of common practice
stands in and says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness import groups
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from readiness.forecast import Forecast
    from readiness.groups import Spread
    from readiness.trip.model import Trip

# Common practice, no source: a bare shaft within about 2 in of its own baseline at 20 yd, a group middle
# within 1 in at 20 yd, a broadhead within 2 in at 40 yd. Each grows in step with the distance.
_BARE_SHAFT_PRACTICE = from_unit(2, "length", "in") / from_unit(20, "length", "yd")
_ZERO_PRACTICE = from_unit(1, "length", "in") / from_unit(20, "length", "yd")
_BROADHEAD_PRACTICE = from_unit(2, "length", "in") / from_unit(40, "length", "yd")
ASSUMED_COUNT = 3  # pairs or arrows of a baseline that does not say how many
_FEWEST, _MOST_PAIRS, _MOST_ZERO = 3, 8, 6
OWN_GROUPS = "your own groups"
PRACTICE = "common practice, no source"
ZONE = "half the target zone"


class Expectation(NamedTuple):
    """One check: shoot so many arrows at this distance; the middle must land here, within the tolerance.

    right_m and up_m are from the aiming point (zeros, cold first) or from the other group of the pair
    (bare shaft from fletched, broadhead from field point). tolerance_m is a radius; basis says where it
    comes from; forecast_m is the part of up_m that the air explains.
    """

    name: str
    distance_m: float
    arrows: int
    right_m: float
    up_m: float
    tolerance_m: float
    basis: str
    forecast_m: float = 0.0
    baseline_assumed: bool = False
    middle_recorded: bool = True
    slack_m: float = 0.0  # the part of the tolerance that is the forecast's doubt
    baseline_variance: float = 0.0  # of the baseline's middle on one axis, in sigma^2
    wanted_m: float = 0.0  # the figure that a circle should reach

    @property
    def circle_m(self) -> float:
        """The tolerance without the forecast's doubt, [m]."""
        return self.tolerance_m - self.slack_m


class Verification(NamedTuple):
    """Every check that the trip's records allow."""

    bare_shaft: Expectation | None
    near_zero: Expectation
    far_zero: Expectation | None
    broadheads: tuple[Expectation, ...]
    cold_first: tuple[Expectation, ...]

    @property
    def arrows(self) -> int:
        """Arrows that all of it takes on the butt: pairs and heads count twice, and a first pair close up."""
        bare = 2 * self.bare_shaft.arrows + 2 if self.bare_shaft else 0
        zeros = self.near_zero.arrows + (self.far_zero.arrows if self.far_zero else 0)
        return bare + zeros + sum(2 * check.arrows for check in self.broadheads)


def verification_of(trip: Trip, forecast: Forecast) -> Verification:
    """The checks of a trip, near to far."""
    near = trip.bow.sight.pins_m[0]
    proven = [d for d in trip.bow.sight.pins_m if groups.spread_at(d, forecast.spreads)]
    far = max(proven, default=None)
    return Verification(
        bare_shaft=_bare_shaft(trip, forecast),
        near_zero=zero_at("near zero", trip, forecast, near),
        far_zero=None if far is None or far <= near else zero_at("far zero", trip, forecast, far),
        broadheads=tuple(_broadheads(trip, forecast)),
        cold_first=tuple(_cold_first(trip, forecast)),
    )


def _bare_shaft(trip: Trip, forecast: Forecast) -> Expectation | None:
    base = trip.reference.bare_shaft
    if base is None:
        return None
    spread = groups.spread_at(base.distance_m, forecast.spreads)
    before = base.pairs or ASSUMED_COUNT
    wanted = _BARE_SHAFT_PRACTICE * base.distance_m
    # Each mean of a pair of groups has the variance 1/n, then and now.
    pairs, tolerance = _fewest_within(spread, lambda n: 2.0 / n + 2.0 / before, wanted, _MOST_PAIRS)
    return Expectation(
        "bare shaft",
        base.distance_m,
        pairs,
        base.right_m,
        base.up_m,
        tolerance,
        OWN_GROUPS if spread else PRACTICE,
        baseline_assumed=base.pairs is None,
        baseline_variance=2.0 / before,
        wanted_m=wanted,
    )


def zero_at(name: str, trip: Trip, forecast: Forecast, distance_m: float) -> Expectation:
    """The check of a zero: where the middle of fletched arrows must land from the aiming point, air's part included."""
    spread = groups.spread_at(distance_m, forecast.spreads)
    right, up, before = recorded_middle(trip, distance_m)
    shift, slack = _forecast_window(forecast, distance_m)
    doubt = 1.0 / (before or ASSUMED_COUNT)  # a zero that no group recorded was set with a few arrows
    wanted = _ZERO_PRACTICE * distance_m
    arrows, tolerance = _fewest_within(spread, lambda n: 1.0 / n + doubt, wanted, _MOST_ZERO)
    return Expectation(
        name,
        distance_m,
        arrows,
        right,
        up + shift,
        tolerance + slack,
        OWN_GROUPS if spread else PRACTICE,
        forecast_m=shift,
        middle_recorded=before > 0,
        slack_m=slack,
        baseline_variance=doubt,
        wanted_m=wanted,
    )


def _broadheads(trip: Trip, forecast: Forecast) -> Iterable[Expectation]:
    for base in sorted(trip.reference.broadheads, key=lambda b: (b.head, b.distance_m)):
        spread = groups.spread_at(base.distance_m, forecast.spreads)
        before = base.arrows or ASSUMED_COUNT
        wanted = tolerance = _BROADHEAD_PRACTICE * base.distance_m
        if spread:
            tolerance = groups.circle_m(spread, 2.0 / _FEWEST + 2.0 / before)
        yield Expectation(
            base.head,
            base.distance_m,
            _FEWEST,
            base.right_m,
            base.up_m,
            tolerance,
            OWN_GROUPS if spread else PRACTICE,
            baseline_assumed=base.arrows is None,
            baseline_variance=2.0 / before,
            wanted_m=wanted,
        )


def _cold_first(trip: Trip, forecast: Forecast) -> Iterable[Expectation]:
    by_distance: dict[float, list[tuple[float, float]]] = {}
    for cold in trip.reference.cold_first:
        by_distance.setdefault(cold.distance_m, []).append((cold.right_m, cold.up_m))
    for distance, shots in sorted(by_distance.items()):
        n = len(shots)
        spread = groups.spread_at(distance, forecast.spreads)
        shift, slack = _forecast_window(forecast, distance)
        tolerance = groups.circle_m(spread, 1.0 + 1.0 / n) + slack if spread else 0.5 * trip.target_zone_m
        yield Expectation(
            "cold first",
            distance,
            1,
            sum(right for right, _ in shots) / n,
            sum(up for _, up in shots) / n + shift,
            tolerance,
            OWN_GROUPS if spread else ZONE,
            forecast_m=shift,
            slack_m=slack if spread else 0.0,
            baseline_variance=1.0 / n,
            wanted_m=0.5 * trip.target_zone_m,
        )


def _fewest_within(
    spread: Spread | None, factor: Callable[[int], float], wanted_m: float, most: int
) -> tuple[int, float]:
    """The fewest arrows whose circle is no wider than wanted, or the most allowed; and that circle."""
    if spread is None:
        return min(most, 5), wanted_m
    for n in range(_FEWEST, most + 1):
        radius = groups.circle_m(spread, factor(n))
        if radius <= wanted_m:
            break
    return n, radius


def recorded_middle(trip: Trip, distance_m: float) -> tuple[float, float, int]:
    """Middle of the groups recorded at a distance, from the aiming point, and its arrows; 0 if none says."""
    middles = [g for g in trip.reference.groups if g.right_m is not None]
    at = [g for g in middles if abs(g.distance_m - distance_m) < groups.SAME_DISTANCE_M]
    arrows = sum(g.arrows for g in at)
    if not arrows:
        return 0.0, 0.0, 0
    right = sum(g.arrows * (g.right_m or 0.0) for g in at) / arrows
    up = sum(g.arrows * (g.up_m or 0.0) for g in at) / arrows
    return right, up, arrows


def _forecast_window(forecast: Forecast, distance_m: float) -> tuple[float, float]:
    """Middle and half-width of the shift over every place and case, bands included, at a distance.

    Between pins it goes with the cube of the distance from the nearest pin, as thinner air does.
    """
    lows, highs = [], []
    for _, case in forecast.cases:
        pin = min(case.pins, key=lambda p: abs(p.distance_m - distance_m))
        growth = (distance_m / pin.distance_m) ** 3
        lows.append(pin.shift_low_m * growth)
        highs.append(pin.shift_high_m * growth)
    return 0.5 * (min(lows) + max(highs)), 0.5 * (max(highs) - min(lows))
