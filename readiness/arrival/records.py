"""What the camp log holds, as the program sees it: shots, changes to the bow, answers to steps, return forms.

Lengths in [m]. Right and up are positive, as the archer sees the target.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

KINDS = ("fletched", "bare", "broadhead")


class Shot(NamedTuple):
    """Where one arrow landed, from the aiming point; an arrow outside the butt has no place but counts."""

    right_m: float
    up_m: float
    arrow: int | None = None
    outside: bool = False


class Stamp(NamedTuple):
    """What every record carries: when, by which version, with which set-up (a hash), where."""

    id: str
    time: str
    version: str
    setup: str
    at: str


class ShotSet(NamedTuple):
    """Arrows of one kind shot one after the other at one distance. cold: the first arrow of the day."""

    stamp: Stamp
    distance_m: float
    kind: str
    shots: tuple[Shot, ...]
    head: str | None = None
    cold: bool = False
    temperature_c: float | None = None


class Change(NamedTuple):
    """Something on the bow was put back or changed: what was shot before is judged apart."""

    stamp: Stamp
    what: str


class StepAnswer(NamedTuple):
    """What a step of the plan showed."""

    stamp: Stamp
    step: str
    value: str


class Form(NamedTuple):
    """The return form of an outfitter's client, as it was filled in. It judges nothing; a newer one replaces it."""

    stamp: Stamp
    client: str | None
    values: Mapping[str, Any]


Record = ShotSet | Change | StepAnswer | Form


class Log(NamedTuple):
    """The records that stand, in the order in which they were written; what was undone is left out."""

    records: tuple[Record, ...] = ()

    def of_place(self, place: str) -> tuple[Record, ...]:
        """The records of one place."""
        return tuple(record for record in self.records if record.stamp.at == place)

    @property
    def judged(self) -> tuple[ShotSet | Change | StepAnswer, ...]:
        """The records that say something of the bow: all but return forms."""
        return tuple(record for record in self.records if not isinstance(record, Form))

    @property
    def last_place(self) -> str | None:
        """Where the last record was made."""
        return self.records[-1].stamp.at if self.records else None
