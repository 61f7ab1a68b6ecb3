"""The assessment of an evening -> the elements of its page, and the JSON that is promised to users."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.arrival.answer_words import headline
from readiness.arrival.cause_words import evidence
from readiness.arrival.causes import AIR, NAMES
from readiness.arrival.changes import is_known, taken_for
from readiness.arrival.gates import before_bare_shaft
from readiness.arrival.judging import unjudged
from readiness.arrival.next_words import ADVICE_WORDS, next_text, resight_text, why
from readiness.arrival.resight import CANNOT_TELL
from readiness.arrival.verdict_words import BUDGET_WORDS, check_name, verdict_text
from readiness.render.elements import Heading, Listing, Paragraph, Table, Warned
from readiness.render.pages import warned
from readiness.showing import shown, where
from readiness.units import to_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.arrival.assessment import Assessment
    from readiness.arrival.causes import Cause
    from readiness.arrival.evening import Group
    from readiness.arrival.judging import Verdict
    from readiness.render.elements import Element, Page
    from readiness.units import UnitSystem

_FEWEST_SHOWN = 0.02  # a cause less likely than this stands only in the JSON, unless it leads


def assessment_page(assessment: Assessment) -> Page:
    """What the evening's arrows mean: the answer, the checks, the causes, the sight, the next group."""
    units = assessment.plan.units
    page: list[Element] = [
        Heading(f"{assessment.plan.trip.name}: what the arrows say at {assessment.evening.place}", 1)
    ]
    answer, no_shot = headline(assessment), assessment.gates.no_shot
    page.append(Warned(no_shot, "stop steps") if no_shot else Paragraph(answer))
    if no_shot and answer != no_shot:
        page.append(Paragraph(answer))
    page += [Heading("What was shot"), _groups(assessment, units), *_notes(assessment)]
    page += [Heading("Against the reference"), *_verdicts(assessment, units)]
    page += [Heading("What moved"), *_causes(assessment, units)]
    page += [Heading("The sight"), *_sight(assessment, units)]
    page += [Heading("Next"), *_next(assessment, units)]
    return tuple(page)


def _groups(assessment: Assessment, units: UnitSystem) -> Table:
    rows = [
        (
            shown(group.distance_m, "distance", units),
            _kind(group),
            f"{group.arrows}{f' and {group.outside} outside' if group.outside else ''}",
            where(group.right_m, group.up_m, units) if group.arrows else "none has a place",
            _sigma(group, units),
        )
        for group in (*assessment.evening.groups, *assessment.evening.cold)
    ]
    return Table(("at", "kind", "arrows", "middle, from the aiming point", "sigma"), tuple(rows), right=(0, 4))


def _kind(group: Group) -> str:
    return group.head or group.kind


def _sigma(group: Group, units: UnitSystem) -> str:
    sigma = sigma_m(group)
    return "" if sigma is None else shown(sigma, "offset", units)


def sigma_m(group: Group) -> float | None:
    """The group's own spread on one axis, [m]; None for fewer than two arrows."""
    return float((group.squares_m2 / group.dof) ** 0.5) if group.dof else None


def _notes(assessment: Assessment) -> Iterator[Element]:
    evening, notes = assessment.evening, []
    if evening.changes:
        notes.append(f"Since the last change ({evening.changes[-1]}); what was shot before it is judged no more.")
        notes += [taken_for(evening.changes[-1])] if not is_known(evening.changes[-1]) else []
    if assessment.left_out:
        notes.append(f"{assessment.left_out} records were shot with another set-up and are left out.")
    if evening.temperature_c is None:
        notes.append("No temperature was logged: the forecast covers the whole range of the trip file.")
    for group in unjudged(assessment.camp, evening):
        at = shown(group.distance_m, "distance", assessment.plan.units)
        notes.append(
            f"{_kind(group).capitalize()} at {at}: judged against nothing, for nothing is recorded for it there."
        )
    if evening.twice:
        notes.append(
            "Two sets are the same to the last digit. If one was logged twice, take it back: readiness log --undo."
        )
    if notes:
        yield Listing(tuple(notes))


def _verdicts(assessment: Assessment, units: UnitSystem) -> Iterator[Element]:
    judgement, checks = assessment.judgement, len(assessment.camp.checks)
    if judgement.verdicts:
        yield Listing(
            tuple(
                f"{verdict.outcome.upper()}: {check_name(verdict.check, units)}. {verdict_text(verdict, checks, units)}"
                for verdict in judgement.verdicts
            )
        )
    if judgement.not_shot:
        missing = (f"{check_name(check, units)} (missing {what})" for check, what in judgement.not_shot)
        yield Paragraph(f"Not shot, so not known: {'; '.join(missing)}.")
    yield Paragraph(BUDGET_WORDS)


def _causes(assessment: Assessment, units: UnitSystem) -> Iterator[Element]:
    if not assessment.diagnosis.told:
        yield Paragraph("Cannot tell: too little was shot here that can be held against a group recorded at home.")
        return
    likely = [c for c in assessment.diagnosis.causes if c.probability >= _FEWEST_SHOWN]
    air = [c for c in assessment.diagnosis.causes if c.name == AIR and c not in likely]  # its part is always told
    rows = tuple((f"{100 * c.probability:.0f} %", NAMES[c.name]) for c in likely)
    yield Table(("chance", "cause"), rows, right=(0,))
    yield Listing(tuple(f"{NAMES[c.name]}: {evidence(assessment, c, units)}" for c in (*likely, *air)))
    steps = steps_of(assessment, assessment.diagnosis.leading)
    if steps:
        by_id = {step.id: step for step in assessment.plan.steps}
        yield Paragraph("Look in this order:")
        yield Listing(
            tuple(f"{'STOP ' if by_id[i].stop else ''}{by_id[i].title} ({i}): {by_id[i].expect}" for i in steps)
        )


def steps_of(assessment: Assessment, cause: Cause) -> list[str]:
    """The ids of the steps that a cause leads to, as far as the plan has them."""
    known = {step.id for step in assessment.plan.steps}
    return [step for step in dict(assessment.plan.causes).get(cause.name, ()) if step in known]


def _sight(assessment: Assessment, units: UnitSystem) -> Iterator[Element]:
    yield Paragraph(resight_text(assessment))
    if assessment.resight:
        has_scale = any(one.reading_m is not None for one in assessment.resight)
        rows = []
        for one in assessment.resight:
            band = f"{_fine(one.move_low_m, units)} to {_fine(one.move_high_m, units)}"
            row = [
                shown(one.distance_m, "distance", units),
                where(0.0, one.shift_m, units),
                _fine(one.move_m, units),
                band,
            ]
            if has_scale:
                row += [_reading(one.reading_m), _reading(one.new_reading_m)]
            with_it = assessment.housing_m is not None and one.advice != CANNOT_TELL
            rows.append((*row, "with the whole housing" if with_it else ADVICE_WORDS[one.advice]))
        scale = ("old mark, mm", "new mark, mm") if has_scale else ()
        yield Table(("pin", "lands", "move pin, up +", "95 % band", *scale, "advice"), tuple(rows), right=(0, 2))


def _fine(value: float, units: UnitSystem) -> str:
    return shown(value, "fine", units, sign=True)


def _reading(value: float | None) -> str:
    return "" if value is None else f"{1000.0 * value:.2f}"


def _next(assessment: Assessment, units: UnitSystem) -> Iterator[Element]:
    if assessment.next and assessment.next.kind == "bare":
        yield from map(warned, before_bare_shaft(assessment.plan))
    yield Paragraph(next_text(assessment, units))


def assessment_data(assessment: Assessment) -> dict[str, Any]:
    """The assessment with the promised keys."""
    units, found = assessment.plan.units, assessment.next
    return {
        "trip": assessment.plan.trip.name,
        "at": assessment.evening.place,
        "answer": headline(assessment),
        "groups": [_group_data(assessment, group) for group in (*assessment.evening.groups, *assessment.evening.cold)],
        "verdicts": [_verdict_data(assessment, verdict, units) for verdict in assessment.judgement.verdicts],
        "not_shot": [
            {"check": check_name(check, units), "missing": what} for check, what in assessment.judgement.not_shot
        ],
        "causes": [
            {
                "cause": cause.name,
                "probability": cause.probability,
                "evidence": evidence(assessment, cause, units),
                "steps": steps_of(assessment, cause),
            }
            for cause in assessment.diagnosis.causes
        ],
        "resight": [
            {
                "distance_yd": _yards(one.distance_m),
                "shift_in": _inches(one.shift_m),
                "move_in": _inches(one.move_m),
                "low_in": _inches(one.move_low_m),
                "high_in": _inches(one.move_high_m),
                "old_reading_mm": None if one.reading_m is None else 1000.0 * one.reading_m,
                "new_reading_mm": None if one.new_reading_m is None else 1000.0 * one.new_reading_m,
                "advice": one.advice,
            }
            for one in assessment.resight
        ],
        "housing_in": None if assessment.housing_m is None else [_inches(value) for value in assessment.housing_m],
        "resight_why": resight_text(assessment),
        "next": None
        if found is None
        else {
            "distance_yd": _yards(found.distance_m),
            "kind": found.kind,
            "arrows": found.arrows,
            "head": found.head,
            "why": why(assessment, found),
        },
        "next_why": next_text(assessment, units),
        "left_out": assessment.left_out,
    }


def _group_data(assessment: Assessment, group: Group) -> dict[str, Any]:
    sigma = sigma_m(group)
    return {
        "at": assessment.evening.place,
        "distance_yd": _yards(group.distance_m),
        "kind": group.kind,
        "head": group.head,
        "cold": group in assessment.evening.cold,
        "arrows": group.arrows + group.outside,
        "outside": group.outside,
        "right_in": _inches(group.right_m) if group.arrows else None,
        "up_in": _inches(group.up_m) if group.arrows else None,
        "sigma_in": None if sigma is None else _inches(sigma),
    }


def _verdict_data(assessment: Assessment, verdict: Verdict, units: UnitSystem) -> dict[str, Any]:
    return {
        "check": check_name(verdict.check, units),
        "distance_yd": _yards(verdict.check.distance_m),
        "outcome": verdict.outcome,
        "observed_in": [_inches(value) for value in verdict.observed],
        "expected_in": [_inches(value) for value in verdict.expected],
        "circle_in": None if verdict.circle_m is None else _inches(verdict.circle_m),
        "detectable_in": None if verdict.shown_m is None else _inches(verdict.shown_m),
        "p_value": verdict.p_value,
        "p_spent": verdict.p_spent,
        "text": verdict_text(verdict, len(assessment.camp.checks), units),
    }


def _yards(metres: float) -> float:
    return round(to_unit(metres, "length", "yd"), 6)


def _inches(metres: float) -> float:
    return to_unit(metres, "length", "in")
