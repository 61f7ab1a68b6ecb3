"""What stands before the next shot, and before any correction of the sight: stop steps, marks, the bare shaft."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.answers import reading_of
from readiness.arrival.causes import AIR, NAMES, NOTHING, OTHER, SIGHT, SPEED
from readiness.arrival.judging import PASS
from readiness.problems import Fault
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from readiness.arrival.causes import Diagnosis
    from readiness.arrival.evening import Evening
    from readiness.arrival.judging import Judgement
    from readiness.plan import Plan, PlanCaution, Step

FEWEST_ARROWS = 3  # at one distance, for a correction of the sight
LIKELY = 0.5  # a cause this likely is acted on
SLOWER = 0.2  # a loss of speed this likely: limbs, string and cams are looked at again before the next shot
CLOSE_UP = "ARR-170"  # the step in which the first bare shaft after the travel is shot from close up
CLOSE_LIMIT_M = from_unit(10, "length", "m")  # 5 to 10 yd (5 to 10 m) is close up; common practice, no source
FAILED_CLOSE = f"the bare shaft failed close up ({CLOSE_UP})"


class Gates(NamedTuple):
    """Why no further shot is advised, and why the sight is left alone; empty where nothing stands in the way.

    failed and open are the stop steps that failed or were not answered; marks those of the marks not passed. close is
    whether the first bare shaft after the travel passed from close up: done, failed or open.
    """

    no_shot: str
    no_resight: str
    failed: tuple[Step, ...]
    open: tuple[Step, ...]
    marks: tuple[Step, ...]
    close: str


def gates_of(plan: Plan, evening: Evening, judgement: Judgement, diagnosis: Diagnosis) -> Gates:
    """The gates of an evening.

    Parameters
    ----------
    plan : the trip's plan, whose arrival stop steps and marks count
    evening, judgement, diagnosis : the evening so far

    """
    again = _speed_stops(plan, evening, diagnosis)
    failed = tuple(step for step in plan.stop_steps if _reading(step, evening) == "fail")
    unanswered = tuple(
        step
        for step in plan.before_shooting
        if step not in failed and (_reading(step, evening) != "pass" or step.id in again)
    )
    by_id = {step.id: step for step in plan.steps}
    marks = tuple(by_id[i] for i in plan.marks if i in by_id and _reading(by_id[i], evening) != "pass")
    no_shot = _no_shot(failed, unanswered, again=bool(again))
    close = _close(by_id.get(CLOSE_UP), evening, judgement)
    crooked = f"The sight stays: {FAILED_CLOSE}." if close == "failed" else ""
    no_resight = no_shot or crooked or _no_resight(plan, evening, judgement, diagnosis, marks)
    return Gates(no_shot, no_resight, failed, unanswered, marks, close)


def unheeded(gates: Gates, kind: str, distance_m: float) -> Iterator[Fault]:
    """What a set of arrows was shot in spite of, as warnings: the shots are logged all the same.

    Parameters
    ----------
    gates : those of the evening before these arrows
    kind : fletched, bare or broadhead
    distance_m : from where they were shot, [m]

    """
    if gates.no_shot:
        hint = "look at each now, and log what you see: pass, or fail and what is wrong"
        yield Fault("stop-step", f"these arrows were shot in spite of this: {gates.no_shot}", hint, "warning")
    if distance_m <= CLOSE_LIMIT_M * 1.001:
        return
    if gates.close == "failed":
        hint = "back to the marks, then one bare shaft from close up again, its caution read first"
        yield Fault("close-up", f"shot from farther off, though {FAILED_CLOSE}", hint, "warning")
    elif gates.close == "open" and kind == "bare":
        hint = f"answer {CLOSE_UP} with what one does from 5 to 10 yd (5 to 10 m)"
        yield Fault("close-up", "a bare shaft from farther off, and none passed from close up before", hint, "warning")


def before_bare_shaft(plan: Plan) -> tuple[PlanCaution, ...]:
    """What the checklists say must be read before the first bare shaft after the travel."""
    return plan.cautions_before_step(CLOSE_UP)


def _reading(step: Step, evening: Evening) -> str | None:
    """How the standing answer to a step reads; a stop step's holds through a change to the sight alone."""
    value = evening.answers.get(step.id) or (evening.kept.get(step.id) if step.stop else None)
    return None if value is None else reading_of(value, step.expect)


def _close(step: Step | None, evening: Evening, judgement: Judgement) -> str:
    """Whether a bare shaft may be shot from farther off: the close-up step passed, or the reference itself did."""
    if step and _reading(step, evening) == "fail":
        return "failed"
    passed = judgement.outcome_of("bare shaft") == PASS or (step and _reading(step, evening) == "pass")
    return "done" if passed else "open"


def _speed_stops(plan: Plan, evening: Evening, diagnosis: Diagnosis) -> set[str]:
    """A change of speed may be a limb or a string giving way: the stop steps it leads to are due again."""
    speed = next(cause for cause in diagnosis.causes if cause.name == SPEED)
    slower = speed.sizes is not None and speed.sizes[1] < 0.0 and speed.probability > SLOWER
    if not diagnosis.told or not (slower or speed.probability > LIKELY):
        return set()
    return set(dict(plan.causes).get(SPEED, ())) - evening.answered_since


def _no_shot(failed: Iterable[Step], unanswered: Iterable[Step], *, again: bool) -> str:
    failed, unanswered = tuple(failed), tuple(unanswered)
    if failed:
        return f"STOP, no further shot: {_named(failed)} failed. {failed[0].if_not}"
    if unanswered and again:
        return (
            "STOP, no further shot: the launch speed may have changed. Limbs, string and cams first: look again and "
            f"log {_named(unanswered)}."
        )
    return f"No further shot before these stop steps are answered: {_named(unanswered)}." if unanswered else ""


def _no_resight(
    plan: Plan, evening: Evening, judgement: Judgement, diagnosis: Diagnosis, marks: tuple[Step, ...]
) -> str:
    """The first reason to leave the sight alone."""
    bare = judgement.outcome_of("bare shaft")
    fletched = [group for group in evening.groups if group.kind == "fletched"]
    if evening.sight_moved:
        return "The sight was moved on purpose: the zeros recorded at home hold no longer, so no correction is told."
    if marks:
        return f"The sight stays: these marks are not known to be right: {_named(marks)}."
    if plan.trip.reference.bare_shaft is None:
        return "The sight stays: no bare-shaft reference is recorded, so nobody can tell whether the tune holds."
    if bare != PASS:
        said = {None: "was not shot", "fail": "is off its baseline"}.get(bare, "cannot be told yet")
        return f"The sight stays: the bare shaft {said}. It comes before the sight."
    if evening.outside:
        return "The sight stays: an arrow missed the butt, so no middle can be trusted."
    if max((group.arrows for group in fletched), default=0) < FEWEST_ARROWS:
        return f"The sight stays: no group of {FEWEST_ARROWS} fletched arrows was shot."
    if not diagnosis.told:
        return "The sight stays: nobody can tell your width from a shift, for no group was recorded at home."
    unchanged = diagnosis.probability(NOTHING) + diagnosis.probability(AIR)
    if max(unchanged, diagnosis.probability(SIGHT)) <= LIKELY:
        leading = diagnosis.leading
        known = leading.probability > LIKELY and leading.name != OTHER
        said = f"{NAMES[leading.name]} is the likeliest" if known else "it is not known what moved"
        return f"The sight stays: {said}, and moving the sight mends only a sight."
    return ""


def _named(steps: Iterable[Step]) -> str:
    return ", ".join(f"{step.title.lower()} ({step.id})" for step in steps)
