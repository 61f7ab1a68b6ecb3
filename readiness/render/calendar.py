"""The stages of a plan as a calendar (RFC 5545): each on its days, counted back from the start, with an alarm."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness import stages
from readiness.files import sha256_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.plan import Plan
    from readiness.stages import Stage

_DAY = timedelta(days=1)
# The second import of a plan made later must win: calendars compare SEQUENCE, so it counts days.
_FIRST_DAY = date(2026, 1, 1)


class Event(NamedTuple):
    """One event of the calendar: what and when; ends is its last day."""

    uid: str
    summary: str
    text: str
    starts: date
    ends: date


def calendar_data(plan: Plan) -> list[dict[str, str]]:
    """The entries as JSON gives them."""
    return [
        {"uid": e.uid, "summary": e.summary, "text": e.text, "starts": str(e.starts), "ends": str(e.ends)}
        for e in _entries(plan)
    ]


def to_ics(plan: Plan) -> bytes:
    """The calendar file of a plan; the same plan and date give the same bytes, and the same trip the same UIDs."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", f"-//readiness//{plan.version}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for entry in _entries(plan):
        calendar.add_component(_event(plan, entry))
    return bytes(calendar.to_ical())


def _entries(plan: Plan) -> Iterator[Event]:
    yield from _stage_entries(plan)
    yield from _reading_entries(plan)


def _stage_entries(plan: Plan) -> Iterator[Event]:
    for stage in stages.ALL:
        days = stages.dates_of(stage, plan.trip)
        if stage.key == "morning" and plan.trip.ends > plan.trip.starts:
            days = plan.trip.starts + _DAY, plan.trip.ends
        if days is not None:
            yield _entry(plan, stage.key, f"{stage.title}: {plan.trip.name}", _stage_text(plan, stage), days)


def _reading_entries(plan: Plan) -> Iterator[Event]:
    """One day to read the place's requirements again, before it is too late to change a head."""
    current = [ruling for ruling in plan.rulings if not ruling.superseded]
    if current:
        day = min(ruling.recheck_by for ruling in current)
        lines = [f"{r.requirement.topic}, {r.requirement.rule} ({r.requirement.source})" for r in current]
        yield _entry(
            plan, "requirements", f"Read the requirements again: {plan.trip.name}", "\n".join(lines), (day, day)
        )


def _stage_text(plan: Plan, stage: Stage) -> str:
    steps = plan.steps_of(stage.key)
    lines = [stage.moment, *(f"{'STOP ' if step.stop else ''}{step.title} ({step.id})" for step in steps)]
    return "\n".join(lines)


def _entry(plan: Plan, key: str, summary: str, text: str, days: tuple[date, date]) -> Event:
    return Event(f"{_trip_key(plan)}-{key}@readiness.invalid", summary, text, *days)


def _event(plan: Plan, entry: Event) -> Any:
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", datetime.combine(plan.today, time(), tzinfo=UTC))
    event.add("sequence", max(0, (plan.today - _FIRST_DAY).days))
    event.add("dtstart", entry.starts)
    event.add("dtend", entry.ends + _DAY)  # the day after the last, as the standard has it
    event.add("summary", entry.summary)
    event.add("description", entry.text)
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.summary)
    alarm.add("trigger", -timedelta(hours=6))  # six in the evening of the day before
    event.add_component(alarm)
    return event


def _trip_key(plan: Plan) -> str:
    """What a trip is known by in a calendar: its name and its hunter, so that new dates move the old entries."""
    trip = plan.trip
    return sha256_of(f"{trip.name}\0{trip.hunter_id or trip.hunter_name or ''}".encode())[:20]
