"""The evidence for each cause in a sentence or two."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from readiness.arrival.causes import (
    AIR,
    BAD_ARROW,
    FLIGHT,
    NOTHING,
    OTHER,
    SIDEWAYS,
    SIGHT,
    SPEED,
    SPREAD,
    VERTICAL,
    Cause,
    growth_seen,
)
from readiness.showing import shown, where

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.arrival.assessment import Assessment
    from readiness.arrival.cells import Cell
    from readiness.arrival.evidence import Pattern
    from readiness.units import UnitSystem


def evidence(assessment: Assessment, cause: Cause, units: UnitSystem) -> str:
    """Why a cause has the probability that it has."""
    pattern = assessment.pattern
    if pattern is None or not assessment.diagnosis.told:
        return "Cannot tell: too little was shot that can be compared."
    return _WORDS[cause.name](assessment, pattern, cause, units)


def _nothing(assessment: Assessment, pattern: Pattern, _: Cause, units: UnitSystem) -> str:
    if assessment.diagnosis.air_seen:
        return "The groups are off home's zeros as the forecast said: see air."
    far = _far(pattern)
    at = shown(far.distance_m, "distance", units)
    return f"Farthest group, {at}: {_off(far, units)} from where the forecast puts it."


def _air(assessment: Assessment, pattern: Pattern, _: Cause, units: UnitSystem) -> str:
    parts = []
    for cell in pattern.aimed:
        if cell.kind == "fletched":
            seen, by_air = cell.up_m + cell.forecast_m, where(0.0, cell.forecast_m, units)
            share = ""
            if by_air != "no offset" and abs(seen) > abs(cell.forecast_m) and seen * cell.forecast_m > 0.0:
                share = f", {100 * cell.forecast_m / seen:.0f} % of it"
            at = shown(cell.distance_m, "distance", units)
            parts.append(f"{at}: {where(0.0, seen, units)} seen, {by_air} by the air{share}")
    told = "" if assessment.diagnosis.air_seen else " These arrows cannot show it apart from no shift at all."
    return f"{'; '.join(parts)}.{told}" if parts else "No fletched group was shot at a recorded distance."


def _sight(assessment: Assessment, pattern: Pattern, cause: Cause, units: UnitSystem) -> str:
    right, up = cause.sizes or (0.0, 0.0)
    near, far = _near(pattern), _far(pattern)
    ends = ", ".join(
        f"{where(right * d, up * d, units)} at {shown(d, 'distance', units)}"
        for d in dict.fromkeys((near.distance_m, far.distance_m))
    )
    return f"Every group in step with distance would be {ends}{_slip(assessment, up, units)}.{_growth(pattern)}"


def _slip(assessment: Assessment, up: float, units: UnitSystem) -> str:
    """What has to have slipped for it, at the sight: a peep too high or a pin too low sends arrows high."""
    slip = shown(abs(up) * assessment.plan.trip.bow.sight.radius_m, "fine", units)
    if not up or slip.startswith(("0.00 ", "0.0 ")):
        return ""
    peep, pin = ("high", "low") if up > 0 else ("low", "high")
    return f"; a peep {slip} too {peep} does that, or a pin {slip} too {pin}"


def _speed(_: Assessment, pattern: Pattern, cause: Cause, units: UnitSystem) -> str:
    change = (cause.sizes or (0.0, 0.0))[1]
    far = _far(pattern)
    word = "faster" if change > 0 else "slower"
    return (
        f"{shown(abs(change), 'small speed', units)} {word} would be {where(0.0, change * far.m_per_m_s, units)} at "
        f"{shown(far.distance_m, 'distance', units)}, growing with the square of distance.{_growth(pattern)}"
    )


def _growth(pattern: Pattern) -> str:
    """How the height grew from the nearest to the farthest fletched group, beside what each cause would do."""
    fletched = [cell for cell in pattern.aimed if cell.kind == "fletched"]
    if len(fletched) < 2 or abs(fletched[0].up_m) < 2.0 * _sd(fletched[0]):
        return ""
    ratio = fletched[-1].distance_m / fletched[0].distance_m
    return (
        f" Height grew {fletched[-1].up_m / fletched[0].up_m:.1f} times from nearest to farthest; a sight would grow "
        f"it {_times(ratio)} times, speed {_times(ratio**2)}, air {_times(ratio**3)}."
    )


def _times(ratio: float) -> str:
    return f"{ratio:.2g}" if ratio < 10.0 else f"{ratio:.0f}"


def _sd(cell: Cell) -> float:
    return cell.sigma_m * float((1.0 / cell.group.arrows + cell.zero_variance) ** 0.5)


def _bare(pattern: Pattern) -> Cell | None:
    return next((cell for cell in pattern.cells if cell.kind == "bare"), None)


def _vertical(assessment: Assessment, pattern: Pattern, _: Cause, units: UnitSystem) -> str:
    moved = _bare_moved(assessment)
    if _bare(pattern) is None or moved is None:
        return _NO_PAIR
    hint = ""
    if moved[1]:
        hint = " Higher fits a rest above or a nock below its mark, lower the reverse (common practice, no source)."
    return f"Bare shaft against its baseline: {where(0.0, moved[1], units)}.{hint}"


_NO_PAIR = "No bare shaft was shot beside fletched arrows at its reference distance."


def _sideways(assessment: Assessment, pattern: Pattern, _: Cause, units: UnitSystem) -> str:
    moved = _bare_moved(assessment)
    if _bare(pattern) is None or moved is None:
        return _NO_PAIR
    seen = where(moved[0], 0.0, units)
    if seen == "no offset":
        return "Bare shaft against its baseline: no offset sideways."
    side = "right" if moved[0] > 0 else "left"
    hand = assessment.plan.trip.hand
    if hand is None:
        rest = f"the same way as a rest moved {side}; toward the riser or away depends on the hand, missing hunter.hand"
    else:
        # The arrow rests on the side of the riser away from the release hand: left of it for a right-handed archer.
        away = side == ("left" if hand == "right" else "right")
        rest = f"as a rest moved {'away from' if away else 'toward'} the riser would, for a {hand}-handed archer"
    return (
        f"Bare shaft against its baseline: {seen}, {rest}; cable guard and grip come next (common practice, no source)."
    )


def _bare_moved(assessment: Assessment) -> tuple[float, float] | None:
    for verdict in assessment.judgement.verdicts:
        if verdict.check.name == "bare shaft":
            return verdict.observed[0] - verdict.expected[0], verdict.observed[1] - verdict.expected[1]
    return None


def _flight(assessment: Assessment, _: Pattern, __: Cause, units: UnitSystem) -> str:
    parts = [
        f"{v.check.head}, {shown(v.check.distance_m, 'distance', units)}: "
        f"{where(v.observed[0] - v.expected[0], v.observed[1] - v.expected[1], units)} of its baseline"
        for v in assessment.judgement.verdicts
        if v.check.name == "broadhead"
    ]
    return f"{'; '.join(parts)}." if parts else "No head was shot beside field points at a recorded distance."


def _bad_arrow(_: Assessment, pattern: Pattern, cause: Cause, units: UnitSystem) -> str:
    if not pattern.suspects() or cause.arrow is None:
        return "Needs arrow numbers, each arrow shot twice or more: log shots as right,up@number."
    right, up = cause.sizes or (0.0, 0.0)
    far = _far(pattern).distance_m
    place = where(right * far, up * far, units)
    return f"Arrow {cause.arrow} is the likeliest: {place} of the others at {shown(far, 'distance', units)}."


def _spread(_: Assessment, pattern: Pattern, __: Cause, ___: UnitSystem) -> str:
    if not pattern.has_home:
        return "No group was recorded at home, so nobody can tell whether they grew."
    return (
        f"The evening's groups are {growth_seen(pattern):.1f} times as wide as home's. Arrows cannot tell a tired or "
        "cold archer from a loose part, a mixed set or wind that comes and goes."
    )


def _other(assessment: Assessment, pattern: Pattern, cause: Cause, units: UnitSystem) -> str:
    worst = max(pattern.aimed, key=lambda cell: hypot(cell.right_m, cell.up_m) / cell.sigma_m)
    if cause is not assessment.diagnosis.leading:
        return "Possible as long as no cause stands out; farther or more arrows part them."
    at = shown(worst.distance_m, "distance", units)
    wind = (
        "Wind or a canted bow grows sideways with the square of distance: shoot again from the other side of the wind, "
        "bubble in the middle; then look for two faults."
    )
    return (
        f"No single cause of the list explains the groups; {worst.kind} at {at} is {_off(worst, units)}. "
        f"{wind if pattern.sideways() else 'It is height alone, which no side wind does: look for two faults at once.'}"
    )


def _off(cell: Cell, units: UnitSystem) -> str:
    return where(cell.right_m, cell.up_m, units)


def _near(pattern: Pattern) -> Cell:
    return min(pattern.aimed, key=lambda cell: cell.distance_m)


def _far(pattern: Pattern) -> Cell:
    return max(pattern.aimed, key=lambda cell: (cell.distance_m, cell.kind == "fletched"))


_WORDS: dict[str, Callable[[Assessment, Pattern, Cause, UnitSystem], str]] = {
    NOTHING: _nothing,
    AIR: _air,
    SIGHT: _sight,
    SPEED: _speed,
    VERTICAL: _vertical,
    SIDEWAYS: _sideways,
    FLIGHT: _flight,
    BAD_ARROW: _bad_arrow,
    SPREAD: _spread,
    OTHER: _other,
}
