"""The next group that would tell most: over the causes while they are open, over the far pins once they are not.

For each group that may be shot, the gain is what its result is expected to take off the doubt: of the causes, the
mutual information between cause and result (each hypothesis predicts the new middle as a normal; the integral is
Gauss-Hermite); of the far pins, the variance that goes. The fewest arrows that bring nine tenths of the best gain win.

What may be shot is bounded: never beyond the longest recorded distance of that kind or what the archer allows, never
a bare shaft beyond its reference distance, never a broadhead before the bare shaft passes, near before far, nearer than
where an arrow missed the butt, and never where a likely cause would put the arrows off the butt.
"""

from __future__ import annotations

from math import exp, hypot, log, pi, sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.causes import AIR, FLIGHT, NOTHING, OTHER, SIDEWAYS, UNCHANGED_NAME, VERTICAL, hypotheses_of
from readiness.arrival.cells import Cell, cell_of
from readiness.arrival.evening import Group
from readiness.arrival.evidence import Pattern, log_evidence, pattern_of, predicted
from readiness.arrival.gates import LIKELY
from readiness.arrival.judging import PASS
from readiness.arrival.resight import corrections_sd
from readiness.groups import SAME_DISTANCE_M
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.arrival.causes import Diagnosis
    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening
    from readiness.arrival.evidence import Hypothesis
    from readiness.arrival.judging import Judgement

COUNTS = (3, 4, 6, 8, 12)
SETTLED = 0.9  # a cause this likely is no longer asked about
GOOD_ENOUGH = 0.9  # of the best gain, with fewer arrows
LEAST_GAIN = 0.01  # of the doubt that there is
CLOSE_M = from_unit(7, "length", "yd")  # the first bare shaft after travel: 5 to 10 yd, common practice, no source
BUTT_M = 0.3  # from the aiming point: half of a butt 2 ft (0.6 m) wide, an assumption
LIKELY_ENOUGH = 0.05  # a hypothesis this likely must not put the arrows off the butt
_NODES = ((-sqrt(3.0), 1 / 6), (0.0, 2 / 3), (sqrt(3.0), 1 / 6))  # Gauss-Hermite of a standard normal, three points
_LEAST_WEIGHT = 0.003

# A cause, its weight, and the mean and variance of the new middle, right and up.
_Prediction = tuple[str, float, tuple[float, float, float, float]]


class Allowed(NamedTuple):
    """What the archer allows: arrows still to be shot, and the longest distance, [m]; None where nothing is said."""

    arrows: int = 12
    longest_m: float | None = None


class NextGroup(NamedTuple):
    """A group worth shooting. about is causes, pins, close or again: what it is for. gain is a share of the doubt."""

    distance_m: float
    kind: str
    arrows: int
    head: str | None
    about: str
    gain: float


def next_group(
    camp: AtPlace, evening: Evening, judgement: Judgement, diagnosis: Diagnosis, allowed: Allowed, *, close: str
) -> NextGroup | None:
    """The group that would shrink the doubt most; None where none that may be shot would.

    Parameters
    ----------
    camp, evening, judgement, diagnosis : the evening so far
    allowed : what the archer allows
    close : whether a bare shaft passed from close up after the travel: done, failed or open

    """
    if close == "failed":  # no farther group, until it passes
        within = allowed.arrows >= 2 and (allowed.longest_m is None or allowed.longest_m >= CLOSE_M)
        return NextGroup(CLOSE_M, "bare", 1, None, "close", 0.0) if within else None
    choices = [c for c in _choices(camp, evening, judgement, allowed) if _cost(c) <= allowed.arrows]
    if not choices:
        return None
    pattern = pattern_of(camp, evening)
    if pattern is None or not evening.group("fletched", camp.trip.bow.sight.pins_m[0]):
        first = min(choices, key=lambda c: (c.distance_m, c.kind != "fletched", -min(c.arrows, 3)))
        return first._replace(about="causes")
    settled = diagnosis.leading.probability >= SETTLED
    on_the_butt = _on_the_butt(camp, pattern, choices)
    leading = diagnosis.leading
    by_wind = leading.name == OTHER and leading.probability > LIKELY and bool(pattern.sideways())
    if by_wind or (settled and not _is_unchanged(diagnosis)):
        return _again(leading.name, on_the_butt, close=close, by_wind=by_wind)
    choices = on_the_butt
    if settled:
        rated = [c._replace(about="pins", gain=_pin_gain(camp, evening, c)) for c in choices if c.kind == "fletched"]
    else:
        rated = list(_rated_by_causes(camp, pattern, choices))
    best = max((c.gain for c in rated), default=0.0)
    if best < LEAST_GAIN:
        return None
    found = min((c for c in rated if c.gain >= GOOD_ENOUGH * best), key=lambda c: (_cost(c), -c.gain))
    return found if close == "done" else _close_first(found)


def _close_first(choice: NextGroup) -> NextGroup:
    """After travel the first bare shaft is shot from close up."""
    if choice.kind != "bare":
        return choice
    return NextGroup(min(CLOSE_M, choice.distance_m), "bare", 1, None, "close", choice.gain)


_PROVES = {VERTICAL: "bare", SIDEWAYS: "bare", FLIGHT: "broadhead"}


def _again(cause: str, choices: Sequence[NextGroup], *, close: str, by_wind: bool) -> NextGroup | None:
    """The group that shows whether the cause is mended once it is put right: the nearest of the kind that showed it.

    What grows sideways as wind does shows most at the farthest.
    """
    kind = _PROVES.get(cause, "fletched")
    if not choices:
        return None
    fitting = [c for c in choices if c.kind == kind] or [c for c in choices if c.kind == "fletched"] or list(choices)
    way = -1 if by_wind else 1
    found = min(fitting, key=lambda c: (way * c.distance_m, c.arrows))._replace(about="again")
    return found if close == "done" else _close_first(found)


def _is_unchanged(diagnosis: Diagnosis) -> bool:
    return diagnosis.leading.name in (NOTHING, AIR)


def _cost(choice: NextGroup) -> int:
    """Arrows that it takes: a bare shaft or a head is shot by turns with a fletched field point."""
    return choice.arrows if choice.kind == "fletched" else 2 * choice.arrows


def _choices(camp: AtPlace, evening: Evening, judgement: Judgement, allowed: Allowed) -> Iterator[NextGroup]:
    reference = camp.trip.reference
    longest = allowed.longest_m if allowed.longest_m is not None else float("inf")
    if evening.outside:
        longest = min(longest, evening.outside[0].distance_m - SAME_DISTANCE_M)
    near = camp.trip.bow.sight.pins_m[0]
    recorded = [distance for distance, _ in camp.forecast.spreads]
    places: list[tuple[str, float, str | None]] = [("fletched", near, None)]
    if evening.group("fletched", near):
        reach = sorted({*camp.trip.bow.sight.pins_m, *recorded})
        places += [("fletched", d, None) for d in reach if near < d <= max(recorded, default=near)]
        if reference.bare_shaft:
            places.append(("bare", reference.bare_shaft.distance_m, None))
        if judgement.outcome_of("bare shaft") == PASS:
            places += [("broadhead", b.distance_m, b.head) for b in reference.broadheads]
    for kind, distance, head in places:
        if distance <= longest * (1.0 + 1e-9):
            for arrows in COUNTS:
                yield NextGroup(distance, kind, arrows, head, "", 0.0)


def _on_the_butt(camp: AtPlace, pattern: Pattern, choices: Sequence[NextGroup]) -> list[NextGroup]:
    """The choices that no likely hypothesis would put off the butt."""
    kept: dict[tuple[float, str, str | None], bool] = {}
    for choice in choices:
        key = choice.distance_m, choice.kind, choice.head
        if key not in kept:
            new = cell_of(camp, Group(*key, (), 0, 1))
            where = [] if new is None else list(_predictions(pattern, new))
            kept[key] = all(
                hypot(right, up) <= BUTT_M for _, weight, (right, _, up, _) in where if weight > LIKELY_ENOUGH
            )
    return [choice for choice in choices if kept[choice.distance_m, choice.kind, choice.head]]


def _pin_gain(camp: AtPlace, evening: Evening, choice: NextGroup) -> float:
    """The share of the pins' summed standard deviations that the group would take away."""
    group = Group(choice.distance_m, "fletched", None, (), 0, 1)
    before = corrections_sd(camp, evening)
    after = corrections_sd(camp, evening, (group, choice.arrows))
    return 1.0 - sum(after) / sum(before)


def _rated_by_causes(camp: AtPlace, pattern: Pattern, choices: Sequence[NextGroup]) -> Iterator[NextGroup]:
    """Each choice with the share of the causes' entropy that it is expected to take away."""
    cells: dict[tuple[float, str, str | None], tuple[float, list[_Prediction]]] = {}
    for choice in choices:
        key = choice.distance_m, choice.kind, choice.head
        if key not in cells:
            new = cell_of(camp, Group(*key, (), 0, 1))
            if new is not None:
                cells[key] = new.sigma_m, list(_predictions(pattern, new))
        if key in cells:
            sigma, predictions = cells[key]
            gain = _information(predictions, sigma**2 / choice.arrows)
            yield choice._replace(about="causes", gain=gain)


def _predictions(pattern: Pattern, new: Cell) -> Iterator[_Prediction]:
    """Of each likely hypothesis: cause, weight, and where it puts the new group's true middle (see evidence)."""
    wider = Pattern((*pattern.cells, new), pattern.dof, has_home=pattern.has_home)
    pairs = [(h, log(h.prior) + log_evidence(pattern, _shortened(h))) for h in hypotheses_of(wider) if h.arrow is None]
    top = max(value for _, value in pairs)
    total = sum(exp(value - top) for _, value in pairs)
    for hypothesis, value in pairs:
        weight = exp(value - top) / total
        if weight > _LEAST_WEIGHT:
            yield hypothesis.cause, weight, predicted(pattern, new, hypothesis)


def _shortened(hypothesis: Hypothesis) -> Hypothesis:
    """A hypothesis about the groups shot so far, from one that also speaks of the next."""
    return hypothesis._replace(
        right=tuple(column[:-1] for column in hypothesis.right), up=tuple(column[:-1] for column in hypothesis.up)
    )


def _information(predictions: Sequence[_Prediction], noise: float) -> float:
    """The share of the entropy over causes that a result is expected to take away."""
    total = sum(weight for _, weight, _ in predictions)
    before = _entropy([(cause, weight / total) for cause, weight, _ in predictions])
    if before < 1e-9:
        return 0.0
    after = 0.0
    for _, weight, (right, right_var, up, up_var) in predictions:
        for x, wx in _NODES:
            for y, wy in _NODES:
                at = right + x * sqrt(right_var + noise), up + y * sqrt(up_var + noise)
                after += weight / total * wx * wy * _entropy(_after(predictions, at, noise))
    return max(0.0, 1.0 - after / before)


def _after(predictions: Sequence[_Prediction], at: tuple[float, float], noise: float) -> list[tuple[str, float]]:
    """The weights after a result."""
    seen = [
        (cause, weight * _density(at[0] - p[0], p[1] + noise) * _density(at[1] - p[2], p[3] + noise))
        for cause, weight, p in predictions
    ]
    total = sum(weight for _, weight in seen)
    return [(cause, weight / total) for cause, weight in seen] if total > 0.0 else [(UNCHANGED_NAME, 1.0)]


def _density(miss: float, variance: float) -> float:
    return exp(-0.5 * miss * miss / variance) / sqrt(2.0 * pi * variance)


def _entropy(weights: Sequence[tuple[str, float]]) -> float:
    shares: dict[str, float] = {}
    for cause, weight in weights:
        shares[cause] = shares.get(cause, 0.0) + weight
    return -sum(share * log(share) for share in shares.values() if share > 0.0)
