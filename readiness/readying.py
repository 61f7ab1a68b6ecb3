"""What stands between a trip and "ready": the reasons for which `check` ends with 1."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness import units
from readiness.trip.equipment_checks import LIGHTEST_GRAINS_PER_POUND

if TYPE_CHECKING:
    from readiness.trip.model import Trip


def waiting_for(trip: Trip) -> tuple[str, ...]:
    """Everything that must be settled first, in words."""
    waiting = []
    grains = units.to_unit(trip.arrow.mass_kg, "mass", "gr")
    per_pound = grains / units.to_unit(trip.bow.draw_weight_n, "force", "lb")
    if per_pound < LIGHTEST_GRAINS_PER_POUND * (1 - 1e-9):
        waiting.append(
            f"STOP: {per_pound:.1f} grains of arrow for each pound of draw weight. "
            "Do not shoot it before the bow's maker says that it is enough."
        )
    waiting += [
        f"{requirement.topic}, {requirement.rule}: cannot tell, this version does not judge requirements yet "
        f"({requirement.source}, read {requirement.read_on})"
        for requirement in trip.requirements
    ]
    return tuple(waiting)
