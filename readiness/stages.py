"""The nine moments at which a block of steps is run, in order, with their dates on a trip."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from readiness.trip.model import Trip


class Stage(NamedTuple):
    """A moment: its key in rule packs, its title, and the days it runs from the start (None: when it happens)."""

    key: str
    title: str
    moment: str
    from_start: tuple[int, int] | None


# The weeks and days are common practice, no source.
ALL = (
    Stage("baseline", "Baseline", "8 to 6 weeks before", (-56, -42)),
    Stage("verify", "Verify", "4 to 2 weeks before", (-28, -14)),
    Stage("freeze", "Freeze", "7 to 2 days before, nothing new after this", (-7, -2)),
    Stage("pack", "Pack", "before the case closes", (-1, -1)),
    Stage("arrival", "Arrival", "at camp, before dark", (0, 0)),
    Stage("morning", "Morning", "each hunting day", None),
    Stage("knock", "Knock", "after any fall, knock or ride", None),
    Stage("weather", "Weather", "wet, frozen or hot", None),
    Stage("return", "Return", "before the way home", None),
)
KEYS = tuple(stage.key for stage in ALL)


def dates_of(stage: Stage, trip: Trip) -> tuple[date, date] | None:
    """First and last day of a stage on a trip; None for a stage that comes when it comes."""
    if stage.key == "return":
        return trip.ends, trip.ends
    if stage.from_start is None:
        return None
    first, last = stage.from_start
    return trip.starts + timedelta(days=first), trip.starts + timedelta(days=last)


def over_after(stage: Stage, trip: Trip) -> date | None:
    """The last day on which a stage is what there is to do; None for one that comes when it comes."""
    if stage.key == "morning":
        return trip.ends - timedelta(days=1)  # the last day's is the way home
    days = dates_of(stage, trip)
    return days[1] if days else None
