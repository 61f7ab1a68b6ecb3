"""Each recorded reference against what was shot: pass, fail or cannot tell.

The test is the circular form of Hotelling's T2: with D the difference between what was shot and what was expected,
and sigma known to dof degrees of freedom, |D|^2 / (2 sigma^2 factor) follows F(2, dof) for a bow that did not
change. sigma comes from the groups recorded at home and the groups shot at camp, pooled; where the camp's are wider
than chance allows (1 in 100), from the camp's alone.

One evening has one error budget: 5 % over all its checks and all looks at them. The p-value of a check that was
added to k times is taken times 2^k (so that the looks spend 1/2 + 1/4 + ... of its share), and the checks of the
place, shot or not, share the budget by Holm's method.

pass needs two things: the middle inside the circle that holds an unmoved bow 95 times in 100, and as many arrows as
the plan asks for; or three, where their circle is no wider than the figure of common practice. Groups wider than chance
allows pass only in a circle no wider than the plan's. One arrow alone fails nothing but the first cold arrow.
"""

from __future__ import annotations

from math import copysign, hypot
from typing import TYPE_CHECKING, NamedTuple

from readiness import groups
from readiness.groups import FEWEST_ARROWS, SAME_DISTANCE_M, Spread
from readiness.quantiles import f2_tail, f_tail

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.arrival.checks import AtPlace, Check
    from readiness.arrival.evening import Evening, Group

PASS, FAIL, CANNOT_TELL = "pass", "fail", "cannot tell"
ERROR_BUDGET = 0.05
WIDER_THAN_CHANCE = 0.01
MOST_MORE = 60  # arrows of which it is said that they would settle a check

FEWEST_TO_FAIL = 2  # arrows of each kind: one arrow may be a bad shot
TOO_FEW, OFF_CIRCLE, OUTSIDE, NO_SPREAD = (
    "too few arrows",
    "outside its circle",
    "outside the butt",
    "no group recorded",
)
TOO_WIDE = "groups too wide"


class Verdict(NamedTuple):
    """One check judged. Lengths in [m], right and up positive.

    observed and expected are from the aiming point, or of the second group from the fletched one; off_m is their
    distance beyond what the forecast's doubt allows; circle_m is the circle of these arrows with that doubt; shown_m
    is the shift that they show 8 times in 10; needed is how many arrows in all (or pairs) would settle it, where any
    number would.
    """

    check: Check
    outcome: str
    observed: tuple[float, float]
    expected: tuple[float, float]
    off_m: float
    arrows: int
    circle_m: float | None = None
    shown_m: float | None = None
    p_value: float | None = None
    p_spent: float | None = None
    reason: str = ""
    outside: int = 0
    needed: int | None = None
    wider: bool = False


class Judgement(NamedTuple):
    """The verdicts of an evening, and the checks that were not shot, each with what is missing."""

    verdicts: tuple[Verdict, ...]
    not_shot: tuple[tuple[Check, str], ...]

    def outcome_of(self, name: str) -> str | None:
        """The outcome of a check by its name; None where it was not shot."""
        return next((v.outcome for v in self.verdicts if v.check.name == name), None)


class _Compared(NamedTuple):
    """The groups that a check compares: the one judged, and the fletched one for a pair."""

    judged: Group
    fletched: Group | None

    @property
    def parts(self) -> tuple[Group, ...]:
        return (self.judged, self.fletched) if self.fletched else (self.judged,)

    @property
    def arrows(self) -> int:
        return min(group.arrows for group in self.parts)

    @property
    def looks(self) -> int:
        return max(group.sets for group in self.parts)

    @property
    def outside(self) -> int:
        return sum(group.outside for group in self.parts)


def judge(camp: AtPlace, evening: Evening) -> Judgement:
    """Judge every check of a place by the arrows that were shot there.

    Parameters
    ----------
    camp : forecast and checks of the place
    evening : what was shot since the last change

    Returns
    -------
    Judgement

    """
    verdicts, missing = [], []
    for check in camp.checks:
        found = _groups_of(check, evening)
        if isinstance(found, str):
            missing.append((check, found))
        else:
            verdicts.append(_measured(check, found, camp, evening))
    return Judgement(_within_budget(verdicts, len(camp.checks)), tuple(missing))


def unjudged(camp: AtPlace, evening: Evening) -> tuple[Group, ...]:
    """The groups that no check of the place speaks of: nothing is recorded for them at their distance."""

    def is_held(group: Group) -> bool:
        at = [c for c in camp.checks if abs(c.distance_m - group.distance_m) < SAME_DISTANCE_M]
        if group.kind == "fletched":
            return bool(at)
        return any(
            c.is_pair and (c.name == "bare shaft") == (group.kind == "bare") and c.head == group.head for c in at
        )

    return tuple(group for group in evening.groups if group.arrows and not is_held(group))


def spread_there(camp: AtPlace, evening: Evening, distance_m: float) -> tuple[Spread | None, bool]:
    """The archer's spread at a distance on this evening, and whether the camp's groups are wider than chance allows.

    Home and camp pooled; the camp's alone where it is wider, or where no group was recorded at home. None where
    neither says anything.
    """
    home = groups.spread_at(distance_m, camp.forecast.spreads)
    near = [g for g in evening.groups if abs(g.distance_m - distance_m) < SAME_DISTANCE_M]
    dof = sum(g.dof for g in near)
    if dof == 0:
        return home, False
    here = Spread((sum(g.squares_m2 for g in near) / dof) ** 0.5, dof)
    if home is None:
        return (here if here.sigma_m > 0.0 else None), False
    if f_tail((here.sigma_m / home.sigma_m) ** 2, dof, home.dof) < WIDER_THAN_CHANCE:
        return here, True
    return groups.pooled((home, here)), False


def _groups_of(check: Check, evening: Evening) -> _Compared | str:
    """What the check compares, or what has to be shot first."""
    if check.name == "first cold arrow":
        cold = evening.cold_at(check.distance_m)
        return _Compared(cold, None) if cold and cold.arrows else "the first arrow of a day"
    fletched = evening.group("fletched", check.distance_m)
    if not check.is_pair:
        return _Compared(fletched, None) if fletched and fletched.arrows else _lost(fletched, "fletched arrows")
    kind = "bare" if check.name == "bare shaft" else "broadhead"
    second = evening.group(kind, check.distance_m, check.head)
    if second is None or not second.arrows:
        return _lost(second, "a bare shaft" if kind == "bare" else "this head")
    if fletched is None or not fletched.arrows:
        return _lost(fletched, "fletched arrows beside it")
    return _Compared(second, fletched)


def _lost(group: Group | None, missing: str) -> str:
    return "an arrow in the butt: all missed it" if group and group.outside else missing


def _measured(check: Check, shot: _Compared, camp: AtPlace, evening: Evening) -> Verdict:
    """The verdict before the budget is shared: its p-value as spent, and cannot tell or pass."""
    base, judged = check.expectation, shot.judged
    origin = (shot.fletched.right_m, shot.fletched.up_m) if shot.fletched else (0.0, 0.0)
    observed = judged.right_m - origin[0], judged.up_m - origin[1]
    right, up = observed[0] - base.right_m, observed[1] - base.up_m
    off = hypot(right, copysign(max(0.0, abs(up) - base.slack_m), up))
    verdict = Verdict(check, CANNOT_TELL, observed, (base.right_m, base.up_m), off, shot.arrows, outside=shot.outside)
    spread, wider = spread_there(camp, evening, check.distance_m)
    if spread is None:
        return verdict._replace(reason=NO_SPREAD)
    factor = sum(1.0 / group.arrows for group in shot.parts) + base.baseline_variance
    p = f2_tail(off**2 / (2.0 * spread.sigma_m**2 * factor), spread.dof)
    p_spent = min(1.0, p * 2.0**shot.looks)
    alpha = ERROR_BUDGET / len(camp.checks) / 2.0**shot.looks
    verdict = verdict._replace(
        circle_m=groups.circle_m(spread, factor) + base.slack_m,
        shown_m=groups.shift_shown_m(spread, factor, alpha) + base.slack_m,
        p_value=p,
        p_spent=p_spent,
        wider=wider,
    )
    enough = _is_enough(check, spread, factor, shot.arrows)
    if off > groups.circle_m(spread, factor):
        return verdict._replace(reason=OFF_CIRCLE, needed=_needed(check, spread, shot, off, 0.5 * alpha))
    if shot.outside:
        return verdict._replace(reason=OUTSIDE)
    if not enough:
        return verdict._replace(reason=TOO_FEW, needed=_needed(check, spread, shot, None, alpha))
    if wider and groups.circle_m(spread, factor) > max(base.circle_m, base.wanted_m):
        return verdict._replace(reason=TOO_WIDE)
    return verdict._replace(outcome=PASS)


def _within_budget(verdicts: Iterable[Verdict], checks: int) -> tuple[Verdict, ...]:
    """Holm's step-down over all checks of the place: the smallest p-value first, until one is kept."""
    judged = list(verdicts)
    ranked = sorted((v.p_spent, i) for i, v in enumerate(judged) if v.p_spent is not None)
    for rank, (p_spent, i) in enumerate(ranked):
        if p_spent > ERROR_BUDGET / (checks - rank):
            break
        if judged[i].arrows < FEWEST_TO_FAIL and judged[i].check.name != "first cold arrow":
            continue
        judged[i] = judged[i]._replace(outcome=FAIL, reason="", needed=None)
    return tuple(judged)


def _is_enough(check: Check, spread: Spread, factor: float, arrows: int) -> bool:
    base = check.expectation
    planned = (2.0 if check.is_pair else 1.0) / base.arrows + base.baseline_variance
    tight = arrows >= FEWEST_ARROWS and groups.circle_m(spread, factor) <= base.wanted_m
    return tight or factor <= planned * (1.0 + 1e-9)


def _needed(check: Check, spread: Spread, shot: _Compared, off_m: float | None, alpha: float) -> int | None:
    """Arrows in all (of each kind, for a pair) that settle the check: that show off_m, or are enough for a pass."""
    each = 2.0 if check.is_pair else 1.0
    for n in range(shot.arrows + 1, shot.arrows + MOST_MORE):
        factor = each / n + check.expectation.baseline_variance
        if off_m is None:
            if _is_enough(check, spread, factor, n):
                return n
        elif groups.shift_shown_m(spread, factor, alpha) <= off_m:
            return n
    return None
