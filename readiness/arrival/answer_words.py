"""The answer of an evening in one line: what stands first on the page of `assess`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.arrival.causes import (
    AIR,
    BAD_ARROW,
    FLIGHT,
    NAMES,
    NOTHING,
    OTHER,
    SIDEWAYS,
    SIGHT,
    SPEED,
    SPREAD,
    VERTICAL,
)
from readiness.arrival.gates import FAILED_CLOSE, LIKELY
from readiness.arrival.judging import FAIL, PASS
from readiness.arrival.resight import CONFIRM, MOVE

if TYPE_CHECKING:
    from readiness.arrival.assessment import Assessment
    from readiness.arrival.causes import Cause


def headline(assessment: Assessment) -> str:
    """The answer in one line. A gate that is shut, or an arrow without a place, comes before any cause."""
    gates = assessment.gates
    if gates.failed or gates.no_shot.startswith("STOP"):
        return gates.no_shot
    crooked = f"{FAILED_CLOSE[0].upper()}{FAILED_CLOSE[1:]}: back to the marks. " if gates.close == "failed" else ""
    return crooked + _told(assessment)


def _told(assessment: Assessment) -> str:
    gates, lost = assessment.gates, sum(group.outside for group in assessment.evening.outside)
    if lost:
        arrows = "1 arrow" if lost == 1 else f"{lost} arrows"
        return f"Cannot tell: {arrows} missed the butt. Find out why before another shot from as far or farther."
    if assessment.evening.sight_moved:
        return "Cannot tell what moved: the sight was moved on purpose, so the zeros recorded at home hold no longer."
    if not assessment.diagnosis.told:
        return "Cannot tell: too few arrows that can be held against a group recorded at home."
    first = "Stop steps first, they are not answered. " if gates.no_shot else ""
    return first + _of_causes(assessment)


def _of_causes(assessment: Assessment) -> str:
    diagnosis, leading = assessment.diagnosis, assessment.diagnosis.leading
    if leading.name == OTHER or leading.probability <= LIKELY:
        second = diagnosis.causes[1]
        return (
            f"Cannot tell what moved: the likeliest is {NAMES[leading.name]} ({_share(leading)}), then "
            f"{NAMES[second.name]} ({_share(second)})."
        )
    if leading.name in (NOTHING, AIR):
        return _unchanged(assessment, leading)
    do = _of_sight(assessment) if leading.name == SIGHT else _DO[leading.name]
    return f"Most likely: {NAMES[leading.name]} ({_share(leading)}). {do}"


def _of_sight(assessment: Assessment) -> str:
    """What to do about a sight or peep that moved: marks, then the archer, and only then, if at all, a correction."""
    if assessment.gates.marks:
        return _DO[SIGHT]
    archer = "The marks pass, so it is the anchor, the mask or the hand"
    if assessment.gates.no_resight:
        return f"{archer}; the sight stays for now, see below."
    if any(one.advice in (CONFIRM, MOVE) for one in assessment.resight):
        return f"{archer}; then the sight may be corrected, see below."
    return f"{archer}. No pin is far enough off to be moved for height."


def _unchanged(assessment: Assessment, leading: Cause) -> str:
    """Good news, with what it does not cover yet."""
    core = ("bare shaft", "near zero", "far zero")
    verdicts = assessment.judgement.verdicts
    if any(verdict.outcome == FAIL for verdict in verdicts):
        return "Cannot tell what moved: a check failed, and no cause stands out. First the marks, then shoot it again."
    passed = {verdict.check.name for verdict in verdicts if verdict.outcome == PASS}
    known = {check.name for check in assessment.camp.checks} | {"bare shaft"}
    due = [name for name in core if name in known and name not in passed]
    seen = "the shift is the air's" if leading.name == AIR else "no sign that anything moved"
    if due:
        return f"As far as these arrows show: {seen} ({_share(leading)}). Not proven yet: {', '.join(due)}."
    proven = {verdict.check for verdict in verdicts if verdict.outcome == PASS}
    heads = [check.head for check in assessment.camp.checks if check.head and check not in proven]
    unproven = f" Not proven yet: {', '.join(dict.fromkeys(heads))}." if heads else ""
    return f"The bow shoots as it did{' with field points' if heads else ''}: {seen} ({_share(leading)}).{unproven}"


_MARKS = "Put it back to its mark, log the change, shoot again; the sight comes last."
_DO = {
    SIGHT: "Put peep and sight back to their marks, log the change, shoot again; no re-sighting before that.",
    SPEED: "Limbs, string and cams passed again: pull the draw weight, weigh the arrows; leave the sight.",
    VERTICAL: _MARKS,
    SIDEWAYS: _MARKS,
    FLIGHT: "Spin the heads, look at nock and rest; leave the sight.",
    BAD_ARROW: "Take it out of the set, flexed and weighed before it is shot again.",
    SPREAD: "Tighten what rattles; eat, sleep, and shoot again in the morning; hunt closer.",
}


def _share(cause: Cause) -> str:
    percent = 100.0 * cause.probability
    return "over 99 %" if percent > 99.0 else "under 1 %" if percent < 1.0 else f"{percent:.0f} %"
