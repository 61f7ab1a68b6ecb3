"""The next group in words, its caution first; and what a correction of the sight says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.arrival.causes import OTHER
from readiness.arrival.gates import CLOSE_UP, before_bare_shaft
from readiness.arrival.resight import CANNOT_TELL, CONFIRM, LEAVE, MOVE
from readiness.showing import shown

if TYPE_CHECKING:
    from readiness.arrival.assessment import Assessment
    from readiness.arrival.nextgroup import NextGroup
    from readiness.units import UnitSystem

_AFTER = (
    "Only with the marks right and the bare shaft at its baseline; write the old numbers first. Once a pin is moved, "
    "log --changed with what was moved: the zeros recorded at home hold no longer, and the next group is the new zero."
)
ADVICE_WORDS = {
    LEAVE: "leave it",
    CONFIRM: "shoot a second group before you move it",
    MOVE: "move it, then shoot a second group",
    CANNOT_TELL: "beyond the longest distance shot: leave it",
}


def next_text(assessment: Assessment, units: UnitSystem) -> str:
    """What to shoot next and why, or why nothing."""
    found = assessment.next
    if found is not None:
        return f"{_what(found, units)}: {reason(assessment, found)}"
    if assessment.gates.no_shot:
        return assessment.gates.no_shot
    if assessment.gates.close == "failed":
        return "Nothing from farther off before a bare shaft passes from close up: two arrows, 7 yd (6.4 m)."
    if assessment.evening.outside:
        return "No farther than where an arrow missed the butt: find it, look at the marks, and begin again close up."
    if assessment.failed:
        return "No group that you allow would tell more without going off the butt. First the marks, then near again."
    return "No group within what you allow would tell more."


def why(assessment: Assessment, found: NextGroup) -> str:
    """The reason for a group; where it is a bare shaft, the caution comes first."""
    cautions = before_bare_shaft(assessment.plan) if found.kind == "bare" else ()
    return " ".join([*(caution.text for caution in cautions), reason(assessment, found)])


def reason(assessment: Assessment, found: NextGroup) -> str:
    """Why this group."""
    if found.about == "close":
        because = (
            "once the marks are right, for the last one failed, and nothing is shot from farther off until one passes"
            if assessment.gates.close == "failed"
            else "before the bare-shaft reference, which would tell most now"
        )
        return (
            f"{because}. If it lands beside the fletched one, log it: --step {CLOSE_UP} --value pass. "
            "If not: back to the marks."
        )
    if found.about == "again":
        name = assessment.diagnosis.leading.name
        if name == OTHER and assessment.pattern and not assessment.pattern.sideways():
            return "as before, with the same hold: what comes again is two faults at once, what does not was chance."
        return _AGAIN.get(name, _MENDED)
    if found.about == "pins":
        return f"takes {_percent(found.gain)} off the doubt of the pins."
    if found.gain == 0.0:
        return "near before far; everything else is held against it."
    return f"expected to take {_percent(found.gain)} off the doubt over what moved."


_MENDED = "once the cause is put right and the change is logged, this group shows whether it is mended."
_AGAIN = {
    "other": "from the other side of the wind, bubble in the middle; if it is the wind, it changes sides.",
    "spread": "in the morning, rested and warm.",
    "bad arrow": "without that arrow.",
}


def resight_text(assessment: Assessment) -> str:
    """The condition of a correction, or why there is none; and what a correction of height does not mend."""
    if assessment.gates.no_resight:
        return assessment.gates.no_resight
    return f"{_AFTER}{_housing(assessment)}{_sideways(assessment)}"


def _housing(assessment: Assessment) -> str:
    """The one move that mends every pin, where it is the sight as a whole that moved."""
    if assessment.housing_m is None:
        return ""
    units = assessment.plan.units
    move, low, high = (shown(value, "fine", units, sign=True) for value in assessment.housing_m)
    return (
        f" A sight or peep that moved left the pins their spacing: one move of the whole housing, {move} ({low} to "
        f"{high}, up +), fits all of them; then a second group. Single pins are moved only where one of them slipped."
    )


def _sideways(assessment: Assessment) -> str:
    """That the groups stand off to one side, where they do by more than chance, and what that is at the sight."""
    pattern = assessment.pattern
    size = pattern.sideways() if pattern else 0.0
    if pattern is None or not size:
        return ""
    far = max(cell.distance_m for cell in pattern.cells)
    units, side = assessment.plan.units, "right" if size > 0 else "left"
    move = shown(abs(size) * assessment.plan.trip.bow.sight.radius_m, "fine", units)
    return (
        f" The groups stand to the {side}, {shown(abs(size) * far, 'offset', units)} at "
        f"{shown(far, 'distance', units)}: thin air does not do that, and the table is for height alone. Shoot from "
        "the other side of the wind first. If they stay there, and the windage is on its number, the sight moves "
        f"{move} to the {side}, the way the arrows miss."
    )


def _what(found: NextGroup, units: UnitSystem) -> str:
    at = shown(found.distance_m, "distance", units)
    if found.about == "close":
        return f"One fletched and one bare shaft at {at}"
    if found.kind == "fletched":
        return f"{found.arrows} fletched at {at}"
    second = "bare shafts" if found.kind == "bare" else f"of {found.head}"
    return f"{found.arrows} {second} and {found.arrows} fletched by turns at {at}"


def _percent(share: float) -> str:
    return f"about {100.0 * share:.0f} %"
