"""Trip + forecast + rules -> Plan: every step with its outcome, cautions, the answer, where it came from."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness import __version__
from readiness.answer import answers
from readiness.forecast import forecast
from readiness.packing import packing_list, wanted
from readiness.problems import Fault
from readiness.rules.facts import PLACEHOLDERS, describing, show_fact
from readiness.rules.known import known_facts
from readiness.rules.when import APPLIES, CANNOT_TELL, DOES_NOT_APPLY, Verdict, evaluate
from readiness.rulings import ruling_notices, rulings
from readiness.showing import shown
from readiness.stages import KEYS as STAGES
from readiness.verification import verification_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from readiness.answer import Answer
    from readiness.forecast import Forecast
    from readiness.packing import PackingList
    from readiness.problems import Problem
    from readiness.rules.packs import Caution, Item, Pack, Rule
    from readiness.rulings import Ruling
    from readiness.trip.model import Trip
    from readiness.units import UnitSystem
    from readiness.verification import Verification

PLACEHOLDER = re.compile(r"\{([a-z0-9_]+)\}")


class Step(NamedTuple):
    """One step of the plan: a rule with its text filled in, its outcome and the reason for it."""

    id: str
    stage: str
    block: str
    title: str
    do: str
    expect: str
    if_not: str
    stop: bool
    outcome: str
    reason: str
    basis: str
    source: str
    mode: str
    closing: str
    pack: str


class PlanCaution(NamedTuple):
    """One caution of the plan; it stands before the steps it names, or before its stages."""

    id: str
    stages: tuple[str, ...]
    before: tuple[str, ...]
    text: str
    outcome: str
    reason: str
    basis: str
    source: str

    @property
    def is_shown(self) -> bool:
        """A caution that may concern the trip is shown: only one that surely does not is left out."""
        return self.outcome != DOES_NOT_APPLY


class Plan(NamedTuple):
    """Everything a page needs; nothing is computed after this."""

    trip: Trip
    forecast: Forecast
    checks: Verification
    steps: tuple[Step, ...]
    cautions: tuple[PlanCaution, ...]
    answers: tuple[Answer, ...]
    rulings: tuple[Ruling, ...]
    notices: tuple[str, ...]
    packing: PackingList
    packs: tuple[tuple[str, str], ...]
    trip_sha256: str
    today: date
    units: UnitSystem
    causes: tuple[tuple[str, tuple[str, ...]], ...] = ()  # what camp's arrows point to -> ids of steps, in order
    marks: tuple[str, ...] = ()  # ids of the steps that put the bow back to its marks
    version: str = __version__
    camp_words: tuple[str, ...] = ()  # of one camp's clients: what the camp says on every paper

    @property
    def stop_steps(self) -> tuple[Step, ...]:
        """The steps that must be solved before a shot."""
        return tuple(step for step in self.steps if step.stop and step.outcome == APPLIES)

    @property
    def raised_stops(self) -> tuple[Step, ...]:
        """The stop steps that something in this trip raises, such as an arrow too light: they stand from now on."""
        return tuple(step for step in self.stop_steps if step.reason != "always")

    @property
    def usual_stops(self) -> tuple[Step, ...]:
        """The stop steps that every trip has."""
        return tuple(step for step in self.stop_steps if step.reason == "always")

    @property
    def before_shooting(self) -> tuple[Step, ...]:
        """The stop steps to be answered before the first arrow at a camp: what the trip raises, then the arrival's."""
        return (*self.raised_stops, *(step for step in self.usual_stops if step.stage == "arrival"))

    def steps_of(self, stage: str, outcome: str = APPLIES) -> tuple[Step, ...]:
        """The steps of a stage with an outcome."""
        return tuple(step for step in self.steps if step.stage == stage and step.outcome == outcome)

    def cautions_before_stage(self, stage: str) -> tuple[PlanCaution, ...]:
        """The cautions that stand before a stage as a whole."""
        return tuple(c for c in self.cautions if stage in c.stages and not c.before and c.is_shown)

    def cautions_before_step(self, step_id: str) -> tuple[PlanCaution, ...]:
        """The cautions that stand directly before a step."""
        return tuple(c for c in self.cautions if step_id in c.before and c.is_shown)


def make_plan(
    trip: Trip,
    packs: Iterable[Pack],
    *,
    today: date,
    units: UnitSystem,
    arrows: int,
    trip_sha256: str,
) -> tuple[Plan, tuple[Problem, ...]]:
    """The plan of a trip, and a problem for each rule that could not be worked out.

    Parameters
    ----------
    trip : the trip
    packs : rule packs, in the order in which they speak
    today : the day that days_to_start counts from
    units : imperial or metric, for the text of steps
    arrows : arrows that can be shot at camp before dark, [-]
    trip_sha256 : fingerprint of the trip file, for the page

    """
    packs = tuple(packs)
    future = forecast(trip, arrows)
    checks = verification_of(trip, future)
    facts = known_facts(trip, future, checks, today)
    judged = rulings(trip, today)
    filler = _Filler(facts, units)
    steps: list[Step] = []
    cautions: list[PlanCaution] = []
    items: list[Item] = []
    problems: list[Problem] = []
    for pack in packs:
        for rule in pack.rules:
            _collect(steps, problems, pack, ("rules", rule.position), rule.id, lambda rule=rule: filler.step(rule))
        for caution in pack.cautions:
            _collect(
                cautions,
                problems,
                pack,
                ("cautions", caution.position),
                caution.id,
                lambda caution=caution: filler.caution(caution),
            )
        for item in pack.items:

            def probed(item: Item = item) -> Item:
                wanted(item, facts, units)
                return item

            _collect(items, problems, pack, ("items", item.position), item.id, probed)
    steps.sort(key=lambda step: STAGES.index(step.stage))  # stable: packs keep their order within a stage
    plan = Plan(
        trip=trip,
        forecast=future,
        checks=checks,
        steps=tuple(steps),
        cautions=tuple(cautions),
        answers=answers(future, units),
        rulings=judged,
        notices=tuple(_notices(trip, facts, judged, units)),
        packing=packing_list(trip, items, facts, units),
        packs=tuple((pack.name, pack.version) for pack in packs),
        trip_sha256=trip_sha256,
        today=today,
        units=units,
        causes=_causes(packs),
        marks=tuple(dict.fromkeys(step for pack in packs for step in pack.marks)),
    )
    return plan, tuple(problems)


def _causes(packs: Iterable[Pack]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Each cause with the steps that the packs lead to, in the order in which the packs speak."""
    found: dict[str, list[str]] = {}
    for pack in packs:
        for cause, steps in pack.causes:
            found.setdefault(cause, []).extend(steps)
    return tuple((cause, tuple(dict.fromkeys(steps))) for cause, steps in found.items())


def _notices(trip: Trip, facts: Mapping[str, Any], judged: Iterable[Ruling], units: UnitSystem) -> Iterable[str]:
    """What the reader must know before the first number: a stale reference, a rule not met or that nobody can tell."""
    if facts.get("reference_stale"):
        yield (
            "Something on the bow was changed after the reference was shot: what the arrows must show, and every "
            "tolerance, rests on a bow that is no more. Shoot the reference again."
        )
    for noted in trip.resighted:
        moves = "; ".join(
            f"{shown(m.distance_m, 'distance', units)} {shown(m.move_m, 'fine', units, sign=True)} ({m.advice})"
            for m in noted.moves
        )
        yield (
            f"A correction of the sight for {noted.place} was noted on {noted.on}: {moves}. Every pin shift on this "
            "page is for the sight as set at home."
        )
    yield from ruling_notices(judged)


def _collect(into: list[Any], problems: list[Problem], pack: Pack, path: tuple[str, int], name: str, make: Any) -> None:
    """Add what a rule gives; a rule that fails in any way becomes a problem that names it."""
    try:
        into.append(make())
    except Exception as error:  # noqa: BLE001  a pack is foreign data: whatever it breaks, the plan still prints
        fault = Fault(
            "rule-failed",
            f"{name} of pack {pack.name} could not be worked out ({type(error).__name__}), so it is left out",
            "readiness lint tells what is wrong with it",
        )
        problems.append(pack.document.problem(path, fault))


class _Filler:
    """Rules and cautions -> steps and cautions of this trip."""

    def __init__(self, facts: Mapping[str, Any], units: UnitSystem) -> None:
        self._facts, self._units = facts, units
        self._describe = describing(units)

    def step(self, rule: Rule) -> Step:
        texts = (rule.title, rule.do, rule.expect, rule.if_not)
        verdict = self._verdict(rule.when, texts)
        title, do, expect, if_not = map(self._fill, texts)
        return Step(
            rule.id, rule.stage, rule.block, title, do, expect, if_not, rule.stop,
            verdict.outcome, verdict.reason, rule.basis, rule.source, rule.mode, rule.closing, rule.pack,
        )  # fmt: skip

    def caution(self, caution: Caution) -> PlanCaution:
        verdict = self._verdict(caution.when, (caution.text,))
        return PlanCaution(
            caution.id, caution.stages, caution.before, self._fill(caution.text),
            verdict.outcome, verdict.reason, caution.basis, caution.source,
        )  # fmt: skip

    def _verdict(self, when: dict[str, Any] | None, texts: Iterable[str]) -> Verdict:
        """The condition's verdict; a step that applies but lacks a value for its text cannot be told."""
        verdict = evaluate(when, self._facts, self._describe)
        if verdict.outcome != APPLIES:
            return verdict
        named = [PLACEHOLDERS[name] for text in texts for name in PLACEHOLDER.findall(text)]
        missing = dict.fromkeys(fact.needs or fact.name for fact in named if fact.name not in self._facts)
        return Verdict(CANNOT_TELL, f"missing {', '.join(missing)}") if missing else verdict

    def _fill(self, text: str) -> str:
        return PLACEHOLDER.sub(self._value, text)

    def _value(self, match: re.Match[str]) -> str:
        fact = PLACEHOLDERS[match[1]]
        if fact.name not in self._facts:
            return "____"
        return show_fact(fact, self._facts[fact.name], self._units)
