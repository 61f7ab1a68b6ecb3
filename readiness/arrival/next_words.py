"""The next group in words, its caution first; and what a correction of the sight says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.arrival.resight import CANNOT_TELL, CONFIRM, LEAVE, MOVE
from readiness.showing import shown

if TYPE_CHECKING:
    from readiness.arrival.assessment import Assessment
    from readiness.arrival.nextgroup import NextGroup
    from readiness.units import UnitSystem

CLOSE_CAUTION = (
    "A bare shaft may fly crooked: after travel the first one is shot from 5 to 10 yd (5 to 10 m) at a broad butt, "
    "nobody forward of the archer."
)
_AFTER = "Only with the marks right and the bare shaft at its baseline; write the old numbers first."
ADVICE_WORDS = {
    LEAVE: "leave it",
    CONFIRM: "shoot a second group before you move it",
    MOVE: "move it, then shoot a second group",
    CANNOT_TELL: "beyond the longest distance shot: leave it",
}


def next_text(assessment: Assessment, units: UnitSystem) -> str:
    """What to shoot next and why, or why nothing."""
    found = assessment.next
    if found is None:
        return assessment.gates.no_shot or "No group within what you allow would tell more. Nothing more to shoot."
    return f"{_what(found, units)}: {why(found)}"


def why(found: NextGroup) -> str:
    """The reason for a group; where it is a bare shaft, the caution comes first."""
    caution = f"{CLOSE_CAUTION} " if found.kind == "bare" else ""
    if found.about == "close":
        return f"{caution}It comes before the bare-shaft reference, which would tell most now."
    if found.about == "again":
        return f"{caution}After the cause is put right and the change is logged, this group shows whether it is mended."
    if found.about == "pins":
        return f"{caution}It takes {_percent(found.gain)} off the doubt of the pins."
    if found.gain == 0.0:
        return f"{caution}Near before far: everything else is held against it."
    return f"{caution}It is expected to take {_percent(found.gain)} off the doubt over what moved."


def resight_text(assessment: Assessment) -> str:
    """The condition of a correction, or why there is none."""
    return assessment.gates.no_resight or _AFTER


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
