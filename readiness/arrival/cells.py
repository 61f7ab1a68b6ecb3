"""The groups of an evening, each less what the trip's records and the forecast expect of it."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness import groups, sighting
from readiness.arrival.checks import is_set_for
from readiness.forecast import flight_from_home
from readiness.groups import SAME_DISTANCE_M, Spread
from readiness.pinshift import BAND_SIGMAS
from readiness.verification import ASSUMED_COUNT, zero_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening, Group
    from readiness.verification import Expectation


_NO_ZERO = 1e4  # in sigma^2: where the sight has no setting, only what stands side by side says anything


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

    @property
    def is_set(self) -> bool:
        """Whether the sight has a setting for the distance; else only a pair says something, by its difference."""
        return self.zero_variance < _NO_ZERO


class Cells(NamedTuple):
    """The cells of an evening; dof is how well the archer's sigma is known, has_home whether home's groups say it."""

    cells: tuple[Cell, ...]
    dof: float
    has_home: bool


def cells_of(camp: AtPlace, evening: Evening) -> Cells | None:
    """The groups that can be compared with something; None where there are none, or no spread is known.

    Nor can anything be compared once the sight was moved on purpose: the recorded zeros are those of another setting.
    """
    if evening.sight_moved:
        return None
    shot = [group for group in evening.groups if group.arrows and _is_held(camp, evening, group)]
    spreads = {group.distance_m: _spread(camp, group.distance_m, shot) for group in shot}
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
    return Cells(cells, min(spreads[cell.distance_m].dof for cell in cells), has_home)  # type: ignore[union-attr]


def _is_held(camp: AtPlace, evening: Evening, group: Group) -> bool:
    """Whether something is expected of a group. Where the sight has no setting that is its pair's baseline alone."""
    if is_set_for(camp.trip, group.distance_m):
        return True
    near = [g for g in evening.groups if g.arrows and abs(g.distance_m - group.distance_m) < SAME_DISTANCE_M]
    has_baseline = any(_baseline(camp, one) for one in near if one.kind != "fletched")
    return has_baseline and any(one.kind == "fletched" for one in near)


def _spread(camp: AtPlace, distance_m: float, shot: Sequence[Group]) -> Spread | None:
    """The archer's spread by home's groups; beyond the farthest of them theirs grown in step with the distance.

    Groups may grow faster than that, so where the camp's own are wider there they are pooled with it.
    """
    grown = spread_or_farthest(camp.forecast.spreads, distance_m)
    if grown is None or groups.spread_at(distance_m, camp.forecast.spreads):
        return grown
    near = [group for group in shot if abs(group.distance_m - distance_m) < SAME_DISTANCE_M]
    dof, squares = sum(group.dof for group in near), sum(group.squares_m2 for group in near)
    wider = dof > 0 and squares > dof * grown.sigma_m**2
    return groups.pooled((grown, Spread(sqrt(squares / dof), dof))) if wider else grown


def spread_or_farthest(known: Sequence[tuple[float, Spread]], distance_m: float) -> Spread | None:
    """The spread at a distance; beyond the farthest recorded group that group's, grown in step with the distance.

    >>> spread_or_farthest([(20.0, Spread(0.02, 18))], 30.0)
    Spread(sigma_m=0.03, dof=18)
    """
    spread = groups.spread_at(distance_m, known)
    if spread is None and known:
        farthest, last = known[-1]
        return Spread(last.sigma_m * distance_m / farthest, last.dof)
    return spread


def _cell(camp: AtPlace, group: Group, spread: Spread | None) -> Cell | None:
    """A group less what is expected of it; None for a bare shaft or head without a baseline at this distance."""
    assert spread is not None
    zero = zero_at("zero", camp.trip, camp.forecast, group.distance_m)
    is_set = is_set_for(camp.trip, group.distance_m)
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
        zero_variance=(zero.baseline_variance or 1.0 / ASSUMED_COUNT) if is_set else _NO_ZERO,
        own_variance=own,
        forecast_m=zero.forecast_m,
        forecast_sd_m=zero.slack_m / BAND_SIGMAS,
        m_per_m_s=m_per_m_s(camp, group.distance_m),
        group=group,
    )


def cell_of(camp: AtPlace, group: Group) -> Cell | None:
    """A group that is not shot yet, as the causes would see it; None where nothing could be held against it."""
    spread = spread_or_farthest(camp.forecast.spreads, group.distance_m)
    return _cell(camp, group, spread) if spread else None


def _baseline(camp: AtPlace, group: Group) -> Expectation | None:
    name = "bare shaft" if group.kind == "bare" else "broadhead"
    for check in camp.checks:
        same = check.name == name and check.head == group.head
        if same and abs(check.distance_m - group.distance_m) < SAME_DISTANCE_M:
            return check.expectation
    return None


def m_per_m_s(camp: AtPlace, distance_m: float) -> float:
    """What one metre per second of launch speed does to the height at a distance, [m per m/s]."""
    flight = flight_from_home(camp.trip)
    there = camp.forecast.cases[0][1].conditions.medium
    aim = sighting.aim_slope(flight.shooter, flight.home.medium, distance_m)
    faster = flight.shooter._replace(speed_m_s=flight.shooter.speed_m_s + 1.0)
    height = sighting.height_m
    return height(faster, there, aim, distance_m) - height(flight.shooter, there, aim, distance_m)
