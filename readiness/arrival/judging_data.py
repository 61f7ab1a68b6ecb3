"""What judging needs to know of a trip before an arrow is shot: the checks of each place as plain numbers.

A page that judges by itself (readiness.render.handout) takes these and closed forms only; readiness.arrival.judging
stays the one that decides, and a test holds the page's arithmetic against it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness import groups
from readiness.arrival.checks import Check, is_set_for, places_as_planned
from readiness.arrival.judging import ERROR_BUDGET, FEWEST_TO_FAIL, MOST_MORE, WIDER_THAN_CHANCE
from readiness.arrival.verdict_words import check_name
from readiness.groups import FEWEST_ARROWS, SAME_DISTANCE_M
from readiness.units import from_unit, to_unit
from readiness.verification import zero_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from readiness.arrival.checks import AtPlace
    from readiness.plan import Plan
    from readiness.trip.model import Trip
    from readiness.units import UnitSystem

# For the first bare shaft after travel: 5 to 10, in the archer's unit; common practice, no source.
CLOSE_UP_M = {"imperial": tuple(from_unit(yards, "length", "yd") for yards in (5, 10)), "metric": (5.0, 10.0)}
RULES: Mapping[str, float] = {
    "budget": ERROR_BUDGET,
    "wider": WIDER_THAN_CHANCE,
    "confidence": 0.95,
    "most_more": MOST_MORE,
    "fewest": FEWEST_ARROWS,
    "fewest_to_fail": FEWEST_TO_FAIL,
}


def judging_data(plan: Plan) -> list[dict[str, Any]]:
    """For each destination its checks, and the zeros that arrows at other known distances would add.

    Parameters
    ----------
    plan : the trip's plan

    Returns
    -------
    a list with keys name, checks, zeros; lengths in [m], spreads as sigma [m] and degrees of freedom

    """
    places = []
    for place, camp in zip(plan.trip.destinations, places_as_planned(plan.trip, plan.forecast), strict=True):
        known = [check.distance_m for check in camp.checks if check.name in ("near zero", "far zero")]
        others = [
            distance
            for distance in known_distances(plan.trip, plan.units)
            if is_set_for(plan.trip, distance) and all(abs(distance - zero) >= SAME_DISTANCE_M for zero in known)
        ]
        zeros = [Check("zero", zero_at("zero", camp.trip, camp.forecast, d)) for d in others]
        places.append(
            {
                "name": place.name,
                "checks": [_check(check, camp, plan.units) for check in camp.checks],
                "zeros": [_check(check, camp, plan.units) for check in zeros],
            }
        )
    return places


def known_distances(trip: Trip, units: UnitSystem) -> list[float]:
    """Every distance that the trip speaks of, near to far, and two close ones for the first bare shaft, [m]."""
    reference = trip.reference
    bare = [reference.bare_shaft.distance_m] if reference.bare_shaft else []
    recorded = [
        *(group.distance_m for group in reference.groups),
        *(head.distance_m for head in reference.broadheads),
        *(cold.distance_m for cold in reference.cold_first),
    ]
    told = (*trip.bow.sight.pins_m, *recorded, *bare)
    return _apart(sorted((*told, *CLOSE_UP_M[units])))


def distance_text(distance_m: float, units: UnitSystem) -> str:
    """A distance as the camp log writes it: exact to a millimetre, so that it is found again.

    >>> distance_text(18.288, "imperial"), distance_text(18.288, "metric")
    ('20 yd', '18.288 m')
    """
    unit = "yd" if units == "imperial" else "m"
    return f"{round(to_unit(distance_m, 'length', unit), 3):g} {unit}"


def _apart(distances: Iterable[float]) -> list[float]:
    """Sorted distances without those that judging takes for the same."""
    kept: list[float] = []
    for distance in distances:
        if not kept or distance - kept[-1] >= SAME_DISTANCE_M:
            kept.append(distance)
    return kept


def _check(check: Check, camp: AtPlace, units: UnitSystem) -> dict[str, Any]:
    base = check.expectation
    spread = groups.spread_at(base.distance_m, camp.forecast.spreads)
    return {
        "name": check.name,
        "label": check_name(check, units),
        "head": check.head,
        "distance": base.distance_m,
        "pair": check.is_pair,
        "right": base.right_m,
        "up": base.up_m,
        "slack": base.slack_m,
        "arrows": base.arrows,
        "variance": base.baseline_variance,
        "wanted": base.wanted_m,
        "tolerance": base.tolerance_m,
        "plan_circle": base.circle_m,
        "home": None if spread is None else [spread.sigma_m, spread.dof],
    }
