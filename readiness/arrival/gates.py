"""What stands before the next shot, and before any correction of the sight: stop steps, marks, the bare shaft."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.answers import reading_of
from readiness.arrival.causes import AIR, NOTHING, SIGHT, SPEED
from readiness.arrival.judging import PASS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.arrival.causes import Diagnosis
    from readiness.arrival.evening import Evening
    from readiness.arrival.judging import Judgement
    from readiness.plan import Plan, Step

FEWEST_ARROWS = 3  # at one distance, for a correction of the sight
LIKELY = 0.5  # a cause this likely is acted on
CORRECTABLE = (NOTHING, AIR, SIGHT)


class Gates(NamedTuple):
    """Why no further shot is advised, and why the sight is left alone; empty where nothing stands in the way.

    failed and open are the stop steps that failed or were not answered; marks those of the marks not passed.
    """

    no_shot: str
    no_resight: str
    failed: tuple[Step, ...]
    open: tuple[Step, ...]
    marks: tuple[Step, ...]


def gates_of(plan: Plan, evening: Evening, judgement: Judgement, diagnosis: Diagnosis) -> Gates:
    """The gates of an evening.

    Parameters
    ----------
    plan : the trip's plan, whose arrival stop steps and marks count
    evening, judgement, diagnosis : the evening so far

    """
    stops = [step for step in plan.stop_steps if step.stage == "arrival"]
    again = _speed_stops(plan, evening, diagnosis)
    failed = tuple(step for step in plan.stop_steps if _reading(step, evening) == "fail")
    unanswered = tuple(
        step for step in stops if step not in failed and (_reading(step, evening) != "pass" or step.id in again)
    )
    by_id = {step.id: step for step in plan.steps}
    marks = tuple(by_id[i] for i in plan.marks if i in by_id and _reading(by_id[i], evening) != "pass")
    no_shot = _no_shot(failed, unanswered, again=bool(again))
    return Gates(no_shot, no_shot or _no_resight(plan, evening, judgement, diagnosis, marks), failed, unanswered, marks)


def _reading(step: Step, evening: Evening) -> str | None:
    value = evening.answers.get(step.id)
    return None if value is None else reading_of(value, step.expect)


def _speed_stops(plan: Plan, evening: Evening, diagnosis: Diagnosis) -> set[str]:
    """A change of speed may be a limb or a string giving way: the stop steps it leads to are due again."""
    if diagnosis.leading.name != SPEED or diagnosis.leading.probability <= LIKELY:
        return set()
    led_to = set(dict(plan.causes).get(SPEED, ()))
    return led_to - evening.answered_since


def _no_shot(failed: Iterable[Step], unanswered: Iterable[Step], *, again: bool) -> str:
    failed, unanswered = tuple(failed), tuple(unanswered)
    if failed:
        return f"STOP, no further shot: {_named(failed)} failed. {failed[0].if_not}"
    if unanswered and again:
        return (
            f"STOP, no further shot: the arrows say that the launch speed changed. Limbs, string and cams first: look "
            f"again and log {_named(unanswered)}."
        )
    return f"No further shot before these stop steps are answered: {_named(unanswered)}." if unanswered else ""


def _no_resight(
    plan: Plan, evening: Evening, judgement: Judgement, diagnosis: Diagnosis, marks: tuple[Step, ...]
) -> str:
    """The first reason to leave the sight alone."""
    bare = judgement.outcome_of("bare shaft")
    fletched = [group for group in evening.groups if group.kind == "fletched"]
    leading = diagnosis.leading
    if marks:
        return f"The sight stays: these marks are not known to be right: {_named(marks)}."
    if plan.trip.reference.bare_shaft is None:
        return "The sight stays: no bare-shaft reference is recorded, so nobody can tell whether the tune holds."
    if bare != PASS:
        said = {None: "was not shot", "fail": "is off its baseline"}.get(bare, "cannot be told yet")
        return f"The sight stays: the bare shaft {said}. It comes before the sight."
    if any(group.outside for group in fletched):
        return "The sight stays: an arrow missed the butt, so no middle can be trusted."
    if max((group.arrows for group in fletched), default=0) < FEWEST_ARROWS:
        return f"The sight stays: no group of {FEWEST_ARROWS} fletched arrows was shot."
    if not diagnosis.told:
        return "The sight stays: nobody can tell your width from a shift, for no group was recorded at home."
    if leading.name not in CORRECTABLE and leading.probability > LIKELY:
        return f"The sight stays: the likeliest cause is {leading.name}, and moving the sight does not mend that."
    return ""


def _named(steps: Iterable[Step]) -> str:
    return ", ".join(f"{step.title.lower()} ({step.id})" for step in steps)
