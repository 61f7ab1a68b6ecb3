"""An evening at camp put together: verdicts, causes, the sight's correction, the next group. After it, only pages."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.causes import SIGHT, diagnose
from readiness.arrival.checks import at_place
from readiness.arrival.evening import evening_of
from readiness.arrival.evidence import pattern_of
from readiness.arrival.gates import LIKELY, gates_of
from readiness.arrival.judging import FAIL, judge
from readiness.arrival.nextgroup import Allowed, next_group
from readiness.arrival.resight import MOVE, corrections, housing_move_m

if TYPE_CHECKING:
    from readiness.arrival.causes import Diagnosis
    from readiness.arrival.checks import AtPlace
    from readiness.arrival.evening import Evening
    from readiness.arrival.evidence import Pattern
    from readiness.arrival.gates import Gates
    from readiness.arrival.judging import Judgement
    from readiness.arrival.nextgroup import NextGroup
    from readiness.arrival.records import Log
    from readiness.arrival.resight import Correction
    from readiness.plan import Plan


class Assessment(NamedTuple):
    """Everything that the arrows of one place say. resight is empty and next None where a gate is shut."""

    plan: Plan
    evening: Evening
    camp: AtPlace
    judgement: Judgement
    diagnosis: Diagnosis
    pattern: Pattern | None
    gates: Gates
    resight: tuple[Correction, ...]
    next: NextGroup | None
    left_out: int  # records shot with another set-up
    housing_m: tuple[float, float, float] | None = None  # one move for all pins, where the sight is the likeliest

    @property
    def failed(self) -> bool:
        """Whether a check, a stop step or the bare shaft close up failed, or an arrow missed the butt."""
        verdicts = self.judgement.verdicts
        lost = bool(self.evening.outside)
        stopped = bool(self.gates.failed) or self.gates.close == "failed"
        return lost or stopped or any(v.outcome == FAIL for v in verdicts)


def assess(plan: Plan, log: Log, place: str, allowed: Allowed, left_out: int = 0) -> Assessment:
    """Assess the evening at a place.

    Parameters
    ----------
    plan : the trip's plan
    log : the standing records of the present set-up
    place : name of a destination, [text]
    allowed : arrows and distance that the archer allows for the next group
    left_out : records of another set-up, [-]

    """
    evening = evening_of(log, place, plan.today)
    camp = at_place(plan.trip, evening)
    judgement = judge(camp, evening)
    diagnosis = diagnose(camp, evening)
    gates = gates_of(plan, evening, judgement, diagnosis)
    following = None
    if not gates.no_shot:
        following = next_group(camp, evening, judgement, diagnosis, allowed, close=gates.close)
    resight = () if gates.no_resight else corrections(camp, evening)
    whole = any(one.advice == MOVE for one in resight) and plan.trip.bow.sight.kind != "slider"
    whole = whole and diagnosis.probability(SIGHT) > LIKELY
    return Assessment(
        plan,
        evening,
        camp,
        judgement,
        diagnosis,
        pattern_of(camp, evening),
        gates,
        resight,
        following,
        left_out,
        housing_move_m(camp, evening) if whole else None,
    )
