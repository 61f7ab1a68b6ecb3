"""The correction of every pin from the forecast and the shots together: weighted least squares with priors.

What is not known is one vector: the sight's offset (an angle), the change of launch speed since home, the drag of the
arrow, the density of the air there, and the zero that each pin was left with at home. Each has a prior from the trip:
the offset the figure of common practice for a zero, speed, drag and density their stated doubts, each zero the group
recorded at its distance. The middles of the fletched groups at camp are weighed by their spread. All of it is linear
within the doubts, so that one solution of the normal equations gives every pin with its band.

The result is a correction to be made only when the marks are right and the bare shaft is at its baseline
(readiness.arrival.gates).
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness import groups, sighting
from readiness.arrival.cells import spread_or_farthest
from readiness.arrival.checks import is_set_for
from readiness.forecast import flight_from_home
from readiness.linear import Matrix, Vector, cholesky, dot, inverse, solve
from readiness.pinshift import BAND_SIGMAS, COST_THAT_MATTERS
from readiness.quantiles import student_quantile
from readiness.verification import ASSUMED_COUNT, recorded_middle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening, Group
    from readiness.conditions import Conditions
    from readiness.groups import Spread
    from readiness.trip.model import Trip

# One standard deviation of the sight's offset: 1 in at 20 yd. Common practice, no source.
OFFSET_SD_RAD = 1.0 / 720.0
LEAVE, CONFIRM, MOVE, CANNOT_TELL = "leave", "confirm", "move", "cannot tell"


class Correction(NamedTuple):
    """One pin: where its arrows land there with the sight as it is, and how far to move it. Lengths in [m].

    shift_m is from the aiming point, up positive; move_m is at the pin, in the direction of the shift; low and high
    are the ends of the 95 % band. reading_m is the sight scale's old mark, new_reading_m the corrected one.
    """

    distance_m: float
    shift_m: float
    shift_low_m: float
    shift_high_m: float
    move_m: float
    move_low_m: float
    move_high_m: float
    advice: str
    forecast_m: float
    reading_m: float | None = None
    new_reading_m: float | None = None


class _Distance(NamedTuple):
    """What is known of one distance before a shot: zero at home, air's shift, and what each doubt does there."""

    distance_m: float
    zero_m: float
    zero_sd_m: float
    forecast_m: float
    columns: tuple[float, ...]  # offset, speed, drag and density there, each one standard deviation off


def corrections(camp: AtPlace, evening: Evening) -> tuple[Correction, ...]:
    """The correction of every pin, by the forecast and the evening's fletched groups.

    Parameters
    ----------
    camp : forecast and checks of the place
    evening : what was shot since the last change

    Returns
    -------
    one Correction a pin or sight mark, near to far

    """
    fit = _fit(camp, evening)
    longest = max((group.distance_m for group in _fletched(camp.trip, evening)), default=0.0)
    shifts, sds = _as_one_scale(fit) if camp.trip.bow.sight.kind == "slider" else (fit.shifts, fit.sds)
    found = tuple(
        _correction(camp, at, (shift, shift - fit.t * sd, shift + fit.t * sd), longest)
        for at, shift, sd in zip(fit.wanted, shifts, sds, strict=True)
    )
    return _as_one_advice(found) if camp.trip.bow.sight.kind == "slider" else found


def _as_one_scale(fit: _Fit) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The shifts, and their standard deviations, of the one angle by which the whole sight is off.

    A slider has one pointer, a housing one screw: each moves every distance by the same angle, weighed by its doubt.
    """
    weights = [(at.distance_m / sd) ** 2 for at, sd in zip(fit.wanted, fit.sds, strict=True)]
    total = sum(weights)
    per_metre = [w / total / at.distance_m for w, at in zip(weights, fit.wanted, strict=True)]
    angle = dot(per_metre, fit.shifts)
    sd = sqrt(dot(per_metre, [dot(row, per_metre) for row in fit.covariance]))
    return tuple(angle * at.distance_m for at in fit.wanted), tuple(sd * at.distance_m for at in fit.wanted)


def housing_move_m(camp: AtPlace, evening: Evening) -> tuple[float, float, float]:
    """The one move of sight or housing that fits all pins best, and the ends of its 95 % band, up positive, [m].

    A sight or peep that moved left the pins their spacing: one move mends them all, and pin by pin would tear it.
    """
    fit = _fit(camp, evening)
    shifts, sds = _as_one_scale(fit)
    far, shift, half = fit.wanted[-1].distance_m, shifts[-1], fit.t * sds[-1]
    radius = camp.trip.bow.sight.radius_m
    low, middle, high = (sighting.sight_move_m(end, radius, far) for end in (shift - half, shift, shift + half))
    return middle, low, high


def _as_one_advice(found: tuple[Correction, ...]) -> tuple[Correction, ...]:
    """One pointer gets one advice: that of the farthest distance of which something can be told."""
    told = [one.advice for one in found if one.advice != CANNOT_TELL]
    return tuple(one if one.advice == CANNOT_TELL else one._replace(advice=told[-1]) for one in found)


def corrections_sd(camp: AtPlace, evening: Evening, more: tuple[Group, int] | None = None) -> tuple[float, ...]:
    """One standard deviation of every pin's correction, [m]; with so many more arrows in a group, if one is given."""
    return _fit(camp, evening, more).sds


class _Fit(NamedTuple):
    """The solution: each pin's distance, its shift and one standard deviation, and the t of a 95 % band."""

    wanted: tuple[_Distance, ...]
    shifts: tuple[float, ...]
    sds: tuple[float, ...]
    t: float
    covariance: Matrix  # of the pins' shifts, [m2]


def _fletched(trip: Trip, evening: Evening) -> list[Group]:
    shot = [group for group in evening.groups if group.kind == "fletched" and group.arrows]
    return [group for group in shot if is_set_for(trip, group.distance_m)]


def _fit(camp: AtPlace, evening: Evening, more: tuple[Group, int] | None = None) -> _Fit:
    shot, sight = _fletched(camp.trip, evening), camp.trip.bow.sight
    wanted = sorted({round(d, 6): d for d in (*sight.pins_m, *(mark.distance_m for mark in sight.marks))}.values())
    extra = [more[0].distance_m] if more else []
    at = {d: known(camp, d) for d in (*wanted, *(group.distance_m for group in shot), *extra)}
    spreads = {d: spread_or_farthest(camp.forecast.spreads, d) for d in at}
    distances = list(at.values())
    seen = [(g.distance_m, g.up_m, _variance(spreads[g.distance_m], g, g.arrows)) for g in shot]
    if more:
        seen.append((more[0].distance_m, 0.0, _variance(spreads[more[0].distance_m], more[0], more[1])))
    found, covariance = _solved(distances, seen)
    rows = [_row(distances, at[d]) for d in wanted]
    spread_out = [[dot(c, row) for c in covariance] for row in rows]
    between = [[dot(one, two) for two in spread_out] for one in rows]
    return _Fit(
        tuple(at[d] for d in wanted),
        tuple(at[d].forecast_m + at[d].zero_m + dot(row, found) for d, row in zip(wanted, rows, strict=True)),
        tuple(sqrt(row[i]) for i, row in enumerate(between)),
        student_quantile(0.975, min((spread.dof for spread in spreads.values() if spread), default=1e9)),
        between,
    )


def _variance(spread: Spread | None, group: Group, arrows: int) -> float:
    """Of a group's middle, [m2]; by its own arrows where no group was recorded at home."""
    sigma2 = spread.sigma_m**2 if spread else group.squares_m2 / max(1, group.dof)
    return (sigma2 or (OFFSET_SD_RAD * group.distance_m) ** 2) / arrows


def known(camp: AtPlace, distance_m: float) -> _Distance:
    """What is known of one distance before a shot there."""
    flight = flight_from_home(camp.trip)
    aim, height = flight.aims(distance_m), sighting.height_m
    cases = [case.conditions for _, case in camp.forecast.cases]
    shifts = [height(flight.shooter, there.medium, aim.slope, distance_m) for there in cases]
    middle, half = 0.5 * (min(shifts) + max(shifts)), 0.5 * (max(shifts) - min(shifts))
    there = cases[0].medium
    base = shifts[0]
    faster = height(flight.faster, there, aim.slope, distance_m) - base
    draggier = height(flight.draggier, there, aim.draggier, distance_m) - base
    denser = height(flight.shooter, _denser(cases[0]), aim.slope, distance_m) - base
    air = sqrt(
        denser**2 + (height(flight.shooter, there, aim.denser, distance_m) - base) ** 2 + (half / BAND_SIGMAS) ** 2
    )
    _, up, arrows = recorded_middle(camp.trip, distance_m)
    spread = spread_or_farthest(camp.forecast.spreads, distance_m)
    sigma = spread.sigma_m if spread else OFFSET_SD_RAD * distance_m
    return _Distance(
        distance_m,
        up,
        sigma / sqrt(arrows or ASSUMED_COUNT),
        middle,
        (OFFSET_SD_RAD * distance_m, faster, draggier, air),
    )


def _denser(there: Conditions) -> sighting.Medium:
    return there.medium._replace(density_kg_m3=there.air.density_kg_m3 + there.density_sd_kg_m3)


def _solved(distances: Sequence[_Distance], shots: Sequence[tuple[float, float, float]]) -> tuple[Vector, Matrix]:
    """The unknowns that fit the groups best, and their covariance.

    The unknowns are the four doubts in standard deviations, then what each distance's zero is off its record.
    """
    size = len(distances[0].columns) + len(distances)
    precision = [[0.0] * size for _ in range(size)]
    pull = [0.0] * size
    for i in range(size):
        own = i - len(distances[0].columns)
        precision[i][i] = 1.0 if own < 0 else 1.0 / distances[own].zero_sd_m ** 2
    for distance, up, variance in shots:
        at = next(one for one in distances if one.distance_m == distance)
        row, miss = _row(distances, at), up - at.forecast_m - at.zero_m
        for i, a in enumerate(row):
            pull[i] += a * miss / variance
            for j, b in enumerate(row):
                precision[i][j] += a * b / variance
    lower = cholesky(precision)
    return solve(lower, pull), inverse(lower)


def _row(distances: Sequence[_Distance], at: _Distance) -> Vector:
    """How each unknown moves the arrows at a distance."""
    return [*at.columns, *(1.0 if one is at else 0.0 for one in distances)]


def _correction(camp: AtPlace, at: _Distance, band: tuple[float, float, float], longest_shot_m: float) -> Correction:
    sight, d = camp.trip.bow.sight, at.distance_m
    move, move_low, move_high = (sighting.sight_move_m(shift, sight.radius_m, d) for shift in band)
    reading = next((mark.reading_m for mark in sight.marks if abs(mark.distance_m - d) < 1e-6), None)
    rising = bool(sight.marks) and sight.marks[-1].reading_m > sight.marks[0].reading_m
    sigma = groups.spread_at(d, camp.forecast.spreads)
    told = sigma is not None and d <= longest_shot_m * (1.0 + 1e-9)
    return Correction(
        d,
        *band,
        move,
        move_low,
        move_high,
        advice_of(band, sigma.sigma_m, 0.5 * camp.trip.target_zone_m) if told and sigma else CANNOT_TELL,
        at.forecast_m,
        reading,
        # A scale that grows with distance grows downward: a pin that goes up reads less.
        None if reading is None else reading - move if rising else reading + move,
    )


def advice_of(band: tuple[float, float, float], sigma_m: float, radius_m: float) -> str:
    """leave, confirm or move, from what the shift costs at the two ends of its band.

    Parameters
    ----------
    band : the shift, and the low and the high end of its band, [m]
    sigma_m : per-axis spread at that distance, [m]
    radius_m : radius of the target zone, [m]

    Examples
    --------
    >>> advice_of((0.10, 0.08, 0.12), 0.05, 0.1), advice_of((0.01, -0.02, 0.04), 0.05, 0.1)
    ('move', 'leave')

    """
    centred = groups.share_inside(radius_m, sigma_m)
    costs = sorted(centred - groups.share_inside(radius_m, sigma_m, end) for end in band[1:])
    if band[1] <= 0.0 <= band[2] or costs[1] < COST_THAT_MATTERS:
        return LEAVE
    return MOVE if costs[0] >= COST_THAT_MATTERS else CONFIRM
