"""What moved: a posterior over causes from the pattern of an evening's groups.

Each cause says where the middles of the groups would lie if it were the one: a slipped sight or peep moves every
group in step with distance, a change of speed as speed does, a moved rest or nock the bare shaft, and so on. Each has
a size that is not known; sizes are normal, in a few scales, so that small and large ones both have their chance. With
everything normal, the evidence for a cause is a closed form, averaged over the doubt of the archer's own spread.

The model has the doubts that judging has: of the home zero at each distance, of the bare-shaft and broadhead
baselines, of the forecast, of the camp's groups. The share of each cause before a shot is fired (PRIORS) is a
judgement: common practice, no source. tests/benchmarks/camps.py measures how well the stated probabilities come true.

When no cause of the list predicts the pattern, `other` does: it lets every group move on its own, or all of them
sideways with the square of the distance, as wind and cant do, or has two faults at once.
"""

from __future__ import annotations

from itertools import combinations
from math import comb, exp, log, sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.evidence import SEEN, Hypothesis, Pattern, likeliest_size, log_evidence, pattern_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from readiness.arrival.cells import Cell
    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening
    from readiness.linear import Vector

NOTHING, AIR, SIGHT, SPEED = "nothing", "air", "sight", "speed"
VERTICAL, SIDEWAYS, FLIGHT = "vertical tune", "sideways tune", "broadhead flight"
BAD_ARROW, SPREAD, OTHER = "bad arrow", "spread", "other"
NAMES: Mapping[str, str] = {
    NOTHING: "nothing moved",
    AIR: "the air",
    SIGHT: "sight or peep moved",
    SPEED: "arrow speed changed",
    VERTICAL: "rest or nock height moved",
    SIDEWAYS: "rest, cable or grip moved sideways",
    FLIGHT: "broadhead flight",
    BAD_ARROW: "one bad arrow",
    SPREAD: "groups wider than at home",
    OTHER: "something else: wind, cant, two faults at once",
}
CAUSES = tuple(NAMES)

# Before a shot is fired; the bow unchanged (nothing, or air) has what is left. Common practice, no source.
PRIORS: Mapping[str, float] = {
    SIGHT: 0.10,
    SPEED: 0.05,
    VERTICAL: 0.05,
    SIDEWAYS: 0.05,
    FLIGHT: 0.04,
    BAD_ARROW: 0.04,
    SPREAD: 0.04,
    OTHER: 0.03,
}
UNCHANGED = 1.0 - sum(PRIORS.values())
UNCHANGED_NAME = "unchanged"  # of the hypothesis that is then called nothing or air

# One standard deviation of a cause's size, in scales: of equal weight, but for speed, where large is rare. Angles in
# [rad], speed in [m/s].
ANGLES = (0.0015, 0.005, 0.015)  # 1 1/2 milliradian is about 1 in at 20 yd, 3 in at 60 yd
SPEEDS_M_S = {1.5: 0.5, 5.0: 0.4, 16.0: 0.1}
GROWTHS = (1.4, 1.8, 2.4, 3.2)  # times as wide as at home
COUPLED = 0.5  # of a moved rest's effect on the bare shaft: how much of it may show in the other groups
FEWEST_DOF = 4  # of what is known of the archer's spread; with less, nothing can be told
FEWEST_ARROWS = 3  # with a place, in groups that can be compared


class Cause(NamedTuple):
    """One cause with its probability, [-], and what it would be: size in its own unit (None where it has none).

    sizes are right and up: angles in [rad] (sight, tunes, heads, arrow), [m/s] up (speed), times as wide (spread).
    arrow is the number of the arrow that is suspected.
    """

    name: str
    probability: float
    sizes: tuple[float, float] | None = None
    arrow: int | None = None


class Diagnosis(NamedTuple):
    """The causes, the likeliest first; and how far the evening's arrows let them be told at all.

    told is False where nothing is known of the archer's spread, or no group can be compared: the probabilities are
    then those from before the first shot.
    """

    causes: tuple[Cause, ...]
    told: bool
    air_seen: bool

    @property
    def leading(self) -> Cause:
        """The likeliest cause."""
        return self.causes[0]

    def probability(self, name: str) -> float:
        """The probability of a cause by its name, [-]."""
        return next(cause.probability for cause in self.causes if cause.name == name)


def diagnose(camp: AtPlace, evening: Evening) -> Diagnosis:
    """The posterior over causes.

    Parameters
    ----------
    camp : forecast and checks of the place
    evening : what was shot since the last change

    Returns
    -------
    Diagnosis; every cause of CAUSES stands in it once

    """
    pattern = pattern_of(camp, evening)
    if pattern is None or pattern.dof < FEWEST_DOF or pattern.arrows < FEWEST_ARROWS:
        prior = {UNCHANGED_NAME: UNCHANGED, **PRIORS}
        return Diagnosis(_ordered(prior, {}, air_seen=False), told=False, air_seen=False)
    hypotheses = list(hypotheses_of(pattern))
    logs = [log(h.prior) + log_evidence(pattern, h) for h in hypotheses]
    top = max(logs)
    weights = [exp(value - top) for value in logs]
    total = sum(weights)
    shares: dict[str, float] = {}
    best: dict[str, tuple[float, Hypothesis]] = {}
    for hypothesis, weight in zip(hypotheses, weights, strict=True):
        shares[hypothesis.cause] = shares.get(hypothesis.cause, 0.0) + weight / total
        if hypothesis.cause not in best or weight > best[hypothesis.cause][0]:
            best[hypothesis.cause] = (weight, hypothesis)
    sizes = {name: (likeliest_size(pattern, found), found.arrow) for name, (_, found) in best.items()}
    sizes[SPREAD] = (growth_seen(pattern),) * 2, None
    seen = is_air_seen(pattern)
    return Diagnosis(_ordered(shares, sizes, air_seen=seen), told=True, air_seen=seen)


def _ordered(
    shares: Mapping[str, float],
    sizes: Mapping[str, tuple[tuple[float, float] | None, int | None]],
    *,
    air_seen: bool,
) -> tuple[Cause, ...]:
    """Every cause, likeliest first. A bow unchanged is `air` where the air's shift is seen, else `nothing`."""
    named = {AIR if air_seen else NOTHING: shares[UNCHANGED_NAME]}
    causes = [Cause(name, named.get(name, shares.get(name, 0.0)), *sizes.get(name, (None, None))) for name in CAUSES]
    return tuple(sorted(causes, key=lambda cause: -cause.probability))


def is_air_seen(pattern: Pattern) -> bool:
    """Whether the groups show the forecast's shift: its size, fitted freely, stands out from zero."""
    shift = [cell.forecast_m for cell in pattern.cells]
    if not any(shift):
        return False
    found = pattern.fitted(shift, _from_home(pattern))
    return found[0] > SEEN * found[1]


def _from_home(pattern: Pattern) -> list[float]:
    """The groups up from where they landed at home: the forecast's part left in."""
    return [cell.up_m + cell.forecast_m for cell in pattern.cells]


def hypotheses_of(pattern: Pattern) -> Iterator[Hypothesis]:
    """Every cause in every scale of its size, with the weight it has before a shot is fired."""
    cells = pattern.cells
    reach = [cell.distance_m for cell in cells]
    yield Hypothesis(UNCHANGED_NAME, UNCHANGED)
    for angle in ANGLES:
        moved = [angle * d for d in reach]
        share = PRIORS[SIGHT] / len(ANGLES)
        yield Hypothesis(SIGHT, 0.4 * share, angle, up=(moved,))
        yield Hypothesis(SIGHT, 0.3 * share, angle, right=(moved,))
        yield Hypothesis(SIGHT, 0.3 * share, angle, right=(moved,), up=(moved,))
    for speed, share in SPEEDS_M_S.items():
        faster = [speed * cell.m_per_m_s for cell in cells]
        yield Hypothesis(SPEED, PRIORS[SPEED] * share, speed, up=(faster,))
    yield from _tunes(cells)
    yield from _heads(cells)
    yield from _bad_arrows(pattern)
    yield from _spreads(pattern)
    yield from _others(cells)


def _tunes(cells: tuple[Cell, ...]) -> Iterator[Hypothesis]:
    """The bare shaft moved: alone, or with the heads and the fletched groups a little after it.

    Where no bare shaft was shot, the other groups alone may have followed. With no group that a cause could move,
    nothing speaks for it or against it: so with this one and those below.
    """
    for angle in ANGLES:
        bare = [angle * cell.distance_m if cell.kind == "bare" else 0.0 for cell in cells]
        heads = [COUPLED * angle * cell.distance_m if cell.kind == "broadhead" else 0.0 for cell in cells]
        all_of_it = [COUPLED * angle * cell.distance_m for cell in cells]
        for columns in ((bare,), (bare, heads, all_of_it)):
            moved = tuple(column for column in columns if any(column))
            yield Hypothesis(VERTICAL, 0.5 * PRIORS[VERTICAL] / len(ANGLES), angle, up=moved)
            yield Hypothesis(SIDEWAYS, 0.5 * PRIORS[SIDEWAYS] / len(ANGLES), angle, right=moved)


def _heads(cells: tuple[Cell, ...]) -> Iterator[Hypothesis]:
    """Each head moved on its own, from the field points."""
    heads = sorted({cell.head for cell in cells if cell.head is not None})
    if not heads:
        yield Hypothesis(FLIGHT, PRIORS[FLIGHT])
        return
    for angle in ANGLES:
        moved = tuple([angle * c.distance_m if c.head == head else 0.0 for c in cells] for head in heads)
        yield Hypothesis(FLIGHT, PRIORS[FLIGHT] / len(ANGLES), angle, right=moved, up=moved)


def _bad_arrows(pattern: Pattern) -> Iterator[Hypothesis]:
    """One numbered arrow, shot twice or more, lands apart from the others."""
    numbers = pattern.suspects()
    if not numbers:
        yield Hypothesis(BAD_ARROW, PRIORS[BAD_ARROW])
    for arrow in numbers:
        for angle in ANGLES:
            share = PRIORS[BAD_ARROW] / len(numbers) / len(ANGLES)
            yield Hypothesis(BAD_ARROW, share, angle, arrow=arrow)


def _spreads(pattern: Pattern) -> Iterator[Hypothesis]:
    """The camp's groups are wider than home's."""
    if not pattern.has_home:
        yield Hypothesis(SPREAD, PRIORS[SPREAD])
        return
    for growth in GROWTHS:
        yield Hypothesis(SPREAD, PRIORS[SPREAD] / len(GROWTHS), growth=growth)


def _others(cells: tuple[Cell, ...]) -> Iterator[Hypothesis]:
    """Every group moved on its own; all of them sideways with the square of the distance; or two faults at once."""
    far = max(cell.distance_m for cell in cells)
    share = PRIORS[OTHER] / 3.0 / len(ANGLES)
    for angle in ANGLES:
        own = tuple([angle * c.distance_m if c is cell else 0.0 for c in cells] for cell in cells)
        yield Hypothesis(OTHER, share, angle, right=own, up=own)
        square = [angle * cell.distance_m**2 / far for cell in cells]
        yield Hypothesis(OTHER, share, angle, right=(square,))
        faults = _faults(cells, angle)
        for one, two in combinations(faults, 2):
            right, up = (tuple(c for c in (a, b) if any(c)) for a, b in zip(one, two, strict=True))
            yield Hypothesis(OTHER, share / comb(len(faults), 2), angle, right=right, up=up)


def _faults(cells: tuple[Cell, ...], angle: float) -> tuple[tuple[Vector, Vector], ...]:
    """What sight, speed, tune and heads would move, right and up, each of one size."""
    none = [0.0] * len(cells)
    sight = [angle * cell.distance_m for cell in cells]
    far = max(cells, key=lambda cell: cell.distance_m)
    speed = [angle * far.distance_m * cell.m_per_m_s / far.m_per_m_s for cell in cells]
    bare, head = (
        [angle * cell.distance_m if cell.kind == kind else 0.0 for cell in cells] for kind in ("bare", "broadhead")
    )
    return (sight, sight), (none, speed), (bare, bare), (head, head)


def growth_seen(pattern: Pattern) -> float:
    """How many times as wide as at home the evening's groups are, [-]; 1 where no group was recorded at home."""
    view = pattern.view()
    return sqrt(view.squares / view.dof) if view.dof and pattern.has_home else 1.0
