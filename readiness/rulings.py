"""What a place requires, as its user copied it, against this trip: meets, does not meet, or cannot tell.

Limits are compared as exact fractions of what was written, so that "more than 8.1 g" and a head of 125 gr
are told apart. Nothing here is law: every answer carries the user's own source and the day it was read.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.problems import Fault
from readiness.topics import LOWER, TOPICS, Limit, age_notes, read_rule
from readiness.units import Quantity, exact, read_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from fractions import Fraction

    from readiness.trip.model import Requirement, Trip

MEETS, DOES_NOT_MEET, CANNOT_TELL = "meets", "does not meet", "cannot tell"
_WORST_FIRST = (DOES_NOT_MEET, CANNOT_TELL, MEETS)
_MOST_NOTICES = 3
RECHECK_BEFORE = timedelta(days=14)  # before the first day: time to change a head
# Heads and arrows sold by a nominal mass differ from it by about this much: common practice, no source.
NOMINAL_MASS_TOLERANCE_GR = 2


class Ruling(NamedTuple):
    """One requirement with its outcome and the reason; superseded when a newer copy of it decides."""

    requirement: Requirement
    outcome: str
    because: str
    recheck_by: date
    notes: tuple[str, ...]
    recheck_is_due: bool
    superseded: bool = False


def rulings(trip: Trip, today: date) -> tuple[Ruling, ...]:
    """Every requirement of a trip, judged: by topic, the strictest first, an older copy behind the newer one."""
    judged = [_ruling(trip, requirement, today) for requirement in trip.requirements]
    newest: dict[tuple[Any, ...], date] = {}
    for requirement in trip.requirements:
        key = _same_rule(requirement)
        newest[key] = max(requirement.read_on, newest.get(key, requirement.read_on))
    marked = [
        ruling._replace(superseded=ruling.requirement.read_on < newest[_same_rule(ruling.requirement)])
        for ruling in judged
    ]
    return tuple(sorted(marked, key=_strictest_first))


def worst(outcomes: Iterable[str]) -> str:
    """The outcome that decides.

    >>> worst(["meets", "cannot tell"])
    'cannot tell'
    """
    return min(outcomes, key=_WORST_FIRST.index)


def ruling_notices(judged: Iterable[Ruling]) -> Iterator[str]:
    """What must be known before anything else of the requirements: those not met, and those that nobody can tell.

    Many that cannot be told share one notice, which leaves their reasons to `readiness check`: a card is small.
    """
    deciding = [ruling for ruling in judged if not ruling.superseded]
    for ruling in deciding:
        if ruling.outcome == DOES_NOT_MEET:
            yield f"Does not meet {_named(ruling)} ({ruling.requirement.source}): {ruling.because}."
    untold = [ruling for ruling in deciding if ruling.outcome == CANNOT_TELL]
    if len(untold) > _MOST_NOTICES:
        listed = "; ".join(map(_named, untold))
        yield f"Not known whether the trip meets {len(untold)} rules: {listed}. readiness check says what would tell."
        return
    for ruling in untold:
        settles = " Add what is missing to the trip file." if "missing " in ruling.because else ""
        source = ruling.requirement.source
        yield f"Not known whether the trip meets {_named(ruling)} ({source}): {ruling.because}.{settles}"


def _named(ruling: Ruling) -> str:
    return f"{ruling.requirement.topic}, {ruling.requirement.rule}"


def _ruling(trip: Trip, requirement: Requirement, today: date) -> Ruling:
    limit = read_rule(requirement.topic, requirement.rule)
    if isinstance(limit, Fault):
        outcome, because = CANNOT_TELL, limit.message
    else:
        outcome, because = _judge(trip, requirement.topic, limit)
    return Ruling(
        requirement,
        outcome,
        because,
        trip.starts - RECHECK_BEFORE,
        tuple(age_notes(requirement.read_on, requirement.edition, trip.starts, today)),
        trip.starts - RECHECK_BEFORE <= today,
    )


def _same_rule(requirement: Requirement) -> tuple[Any, ...]:
    """What makes a later entry a copy of an earlier one: also what it compares, and how it is measured."""
    limit = read_rule(requirement.topic, requirement.rule)
    kind = (limit.comparison in LOWER, limit.value is None, limit.measured) if isinstance(limit, Limit) else ()
    return requirement.topic, requirement.place, requirement.applies_to, requirement.source, kind


def _strictest_first(ruling: Ruling) -> tuple[Any, ...]:
    requirement = ruling.requirement
    limit = read_rule(requirement.topic, requirement.rule)
    strength = 0.0
    if isinstance(limit, Limit) and limit.value is not None:
        strength = float(-limit.value if limit.comparison in LOWER else limit.value)
    strict = isinstance(limit, Limit) and limit.comparison not in ("more than", "less than")
    return list(TOPICS).index(requirement.topic), ruling.superseded, strength, strict, requirement.source


def _judge(trip: Trip, topic: str, limit: Limit) -> tuple[str, str]:
    if topic in ("head mass", "cutting width", "blade count", "fixed head", "mechanical head"):
        return _judge_heads(trip, topic, limit)
    if topic in ("lighted nock", "powered sight", "education", "document"):
        return _judge_declared(trip, topic, limit)
    if topic == "sight magnification":
        return _judge_magnification(trip, limit)
    return _judge_measure(trip, topic, limit)


def _judge_measure(trip: Trip, topic: str, limit: Limit) -> tuple[str, str]:
    written = trip.entered
    arrow_mass, draw = written.get("arrow.mass"), written.get("bow.draw_weight")
    sources = {
        "draw weight": (draw, "force", "bow.draw_weight"),
        "let-off": (written.get("bow.let_off"), "ratio", "bow.let_off"),
        "arrow mass": (arrow_mass, "mass", "arrow.mass"),
        "arrow length": (written.get("arrow.length"), "length", "arrow.length"),
    }
    if topic == "arrow mass per draw weight":
        mass, force = _exactly(arrow_mass, "mass"), _exactly(draw, "force")
        assert mass is not None
        assert force is not None
        return _compared(mass / force, limit, f"{arrow_mass} on {draw}", nominal=False)
    text, dimension, key = sources[topic]
    value = _exactly(text, dimension)
    if value is None:
        return CANNOT_TELL, f"missing {key}"
    outcome, because = _compared(value, limit, str(text), nominal=topic == "arrow mass")
    if topic == "arrow length":
        because += " from nock groove to end of shaft; ask whether the head counts"
    if topic == "draw weight":
        return _at_draw_length(trip, limit, outcome, f"{because} at the peak")
    return outcome, because


def _at_draw_length(trip: Trip, limit: Limit, outcome: str, because: str) -> tuple[str, str]:
    """The peak is reached within the archer's own draw; at another draw length it is another weight."""
    if not limit.measured[:1].isdigit():
        within = limit.measured == "at the archer's draw"
        return outcome, because + (", reached within the archer's draw" if within else "")
    wanted, own = _exactly(limit.measured, "length"), _exactly(trip.entered.get("bow.draw_length"), "length")
    if wanted is not None and wanted == own:
        return outcome, because
    yours = f"yours is {trip.entered['bow.draw_length']}: weigh the bow there"
    return CANNOT_TELL, f"{because}; it is measured at {limit.measured} of draw, and {yours}"


def _judge_heads(trip: Trip, topic: str, limit: Limit) -> tuple[str, str]:
    heads = [(index, head) for index, head in enumerate(trip.heads) if head.is_hunting]
    if not heads:
        return CANNOT_TELL, "missing a hunting head in heads"
    each = [(head.name, *_judge_head(trip, index, topic, limit)) for index, head in heads]
    return worst(outcome for _, outcome, _ in each), "; ".join(f"{name}: {because}" for name, _, because in each)


def _judge_head(trip: Trip, index: int, topic: str, limit: Limit) -> tuple[str, str]:
    head, key = trip.heads[index], f"heads[{index}]"
    if topic in ("fixed head", "mechanical head"):
        is_that = head.kind == ("mechanical" if topic == "mechanical head" else "fixed blade")
        return (MEETS if is_that == (limit.comparison == "required") else DOES_NOT_MEET), f"it is {head.kind}"
    if topic == "blade count":
        from fractions import Fraction

        if head.blades is None:
            return CANNOT_TELL, "missing blades"
        return _compared(Fraction(head.blades), limit, f"{head.blades} blades", nominal=False)
    if topic == "head mass":
        text = trip.entered[f"{key}.mass"]
        value = _exactly(text, "mass")
        assert value is not None
        return _compared(value, limit, str(text), nominal=True)
    return _judge_width(trip, key, limit, mechanical=head.kind == "mechanical")


def _judge_width(trip: Trip, key: str, limit: Limit, *, mechanical: bool) -> tuple[str, str]:
    """A fixed head has one width; a mechanical one is measured as the rule says, or both ways where it is silent."""
    texts = {
        "open": trip.entered.get(f"{key}.cutting_width"),
        "closed": trip.entered.get(f"{key}.cutting_width_closed"),
    }
    if not mechanical:
        texts = {"": texts["open"]}
    elif limit.measured:
        texts = {limit.measured: texts[limit.measured]}
    found = []
    for state, text in texts.items():
        value = _exactly(text, "length")
        if value is None:
            found.append((CANNOT_TELL, f"missing cutting_width{'_closed' if state == 'closed' else ''}"))
        else:
            outcome, because = _compared(value, limit, str(text), nominal=False)
            found.append((outcome, f"{because} {state}".strip()))
    outcomes = {outcome for outcome, _ in found}
    told = "; ".join(because for _, because in found)
    if len(outcomes) == 1:
        return outcomes.pop(), told
    return (
        CANNOT_TELL,
        f"{told}; the rule does not say whether it is measured open or closed: ask, and write it into the rule",
    )


def _judge_declared(trip: Trip, topic: str, limit: Limit) -> tuple[str, str]:
    declared = dict(trip.declared).get(topic)
    if declared is None:
        return CANNOT_TELL, f"missing declared: {topic}"
    has_it = declared is True or declared == "yes"
    return (
        MEETS if has_it == (limit.comparison == "required") else DOES_NOT_MEET
    ), f"declared: {'yes' if has_it else 'no'}"


def _judge_magnification(trip: Trip, limit: Limit) -> tuple[str, str]:
    from fractions import Fraction

    declared = dict(trip.declared).get("sight magnification")
    if declared is None:
        return CANNOT_TELL, "missing declared: sight magnification"
    value = Fraction(str(declared))
    if limit.comparison == "not allowed":
        return (MEETS if value <= 1 else DOES_NOT_MEET), f"declared: {declared}"
    return _compared(value, limit, f"declared {declared}", nominal=False)


def _exactly(text: Any, dimension: str) -> Fraction | None:
    found = read_quantity(text, dimension) if isinstance(text, str) else None
    return exact(found, dimension) if isinstance(found, Quantity) else None


def _compared(value: Fraction, limit: Limit, written: str, *, nominal: bool) -> tuple[str, str]:
    assert limit.value is not None
    holds = {
        "at least": value >= limit.value,
        "more than": value > limit.value,
        "at most": value <= limit.value,
        "less than": value < limit.value,
    }[limit.comparison]
    because = f"{written} is {'' if holds else 'not '}{limit.comparison} {limit.written}"
    if nominal:
        grains = abs(value - limit.value) * 7000 / exact(Quantity(0.0, "1", "lb"), "mass")
        if grains <= NOMINAL_MASS_TOLERANCE_GR:
            unsettled = "weigh it to be sure" if holds else "weigh it, the nominal mass does not settle it"
            because += f", by {float(grains):.3g} gr: {unsettled}"
    return (MEETS if holds else DOES_NOT_MEET), because
