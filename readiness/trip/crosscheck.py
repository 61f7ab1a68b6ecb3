"""What no single key shows: values of a trip file that do not fit each other, the place, or the day.

Runs on the raw data, so that it also speaks when other parts of the file are wrong; a value that is
missing or already faulty makes its check silent. What concerns the bow and arrow is in equipment_checks.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from readiness import air, units
from readiness.problems import Fault, Problem
from readiness.topics import NO_EDITION, TOPICS, age_notes, read_rule
from readiness.trip.equipment_checks import equipment_findings
from readiness.trip.loose import Loose
from readiness.trip.quantities import linear_size_m

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from readiness.documents import Document, Path

Finding = tuple["Path", Fault]

_LONGEST_TRIP_DAYS = 60
_OLDEST_REFERENCE_DAYS = 366  # a season's strings and a year's wear lie between: common practice, no source
_PRESSURE_TOLERANCE = 0.05
_SEA_LEVEL_TOLERANCE = 0.015


def crosscheck(document: Document, known: Iterable[Problem], today: date) -> tuple[Problem, ...]:
    """Every misfit of a trip file, as problems with places.

    known are the problems already found: a value they speak of is left alone here.
    """
    loose = Loose(document, known)
    checks = (
        _dates(loose, today),
        _reference_age(loose, today),
        _pressures(loose),
        equipment_findings(loose),
        _names(loose),
        _requirements(loose, today),
        _sizes(loose),
        _elevations(loose),
    )
    return tuple(document.problem(path, fault) for findings in checks for path, fault in findings)


def _dates(loose: Loose, today: date) -> Iterator[Finding]:
    starts, ends = loose.day("trip", "starts"), loose.day("trip", "ends")
    if starts and ends and ends < starts:
        yield (
            ("trip", "ends"),
            Fault(
                "dates-reversed",
                f"the trip ends on {ends}, before it starts on {starts}",
                "exchange the two dates",
            ),
        )
    elif starts and ends and (ends - starts).days > _LONGEST_TRIP_DAYS:
        message = f"the trip lasts {(ends - starts).days + 1} days"
        yield ("trip", "ends"), Fault("long-trip", message, "check the month", "warning")
    elif ends and ends < today:
        yield (
            ("trip", "ends"),
            Fault("trip-past", f"the trip ended on {ends}; today is {today}", "set the new dates", "warning"),
        )


def _reference_age(loose: Loose, today: date) -> Iterator[Finding]:
    shot_on = loose.day("reference", "shot_on")
    changes = [(day, i) for i in loose.items("setup_changed") if (day := loose.day("setup_changed", i, "on"))]
    if shot_on and shot_on > today:
        yield (
            ("reference", "shot_on"),
            Fault("future-date", f"the reference is dated {shot_on}, after today", "check the year", "warning"),
        )
    starts = loose.day("trip", "starts")
    if shot_on and starts and (starts - shot_on).days > _OLDEST_REFERENCE_DAYS:
        message = f"the reference was shot on {shot_on}, more than a year before the trip"
        hint = "shoot the reference again before you leave, and record the new values"
        yield ("reference", "shot_on"), Fault("old-reference", message, hint, "warning")
    if not changes or loose.raw("reference") is None:
        return
    last, index = max(changes)
    what = loose.raw("setup_changed", index, "what") or "something"
    if shot_on is None:
        yield (
            ("reference",),
            Fault(
                "undated-reference",
                f"the reference has no date; {what} was changed on {last}",
                "add shot_on: with the day it was shot",
                "warning",
            ),
        )
    elif shot_on < last:
        message = f"the reference was shot on {shot_on}, before the last change ({what}, {last})"
        yield (
            ("reference", "shot_on"),
            Fault("stale-reference", message, "shoot the reference again and record the new values", "warning"),
        )


def _pressures(loose: Loose) -> Iterator[Finding]:
    places: list[tuple[str | int, ...]] = [
        ("home",),
        *(("destinations", i) for i in loose.items("destinations")),
    ]
    for place in places:
        elevation = loose.si("length", *place, "elevation")
        pressure = loose.si("pressure", *place, "station_pressure")
        if elevation is not None and pressure is not None:
            fault = station_pressure_fault(pressure, elevation)
            if fault:
                yield (*place, "station_pressure"), fault


def station_pressure_fault(pressure_pa: float, elevation_m: float) -> Fault | None:
    """Whether a station pressure can belong to an elevation.

    More than 5 % off the standard is an error. A smaller excess that looks like a reading corrected to
    sea level (within 1.5 % of 1013.25 hPa, above 500 ft) is a warning.

    Parameters
    ----------
    pressure_pa : station pressure as given, [Pa]
    elevation_m : elevation of the place, [m]

    Examples
    --------
    >>> station_pressure_fault(101700.0, 2667.0).code
    'not-station-pressure'
    >>> station_pressure_fault(73000.0, 2667.0) is None
    True

    """
    standard = air.standard_pressure_pa(elevation_m)
    excess = pressure_pa / standard - 1.0
    near_sea_level = abs(pressure_pa / air.STANDARD_PRESSURE_PA - 1.0) <= _SEA_LEVEL_TOLERANCE
    expected = f"about {standard / 100:.0f} hPa ({standard / 3386.389:.2f} inHg)"
    corrected = "it looks like a reading corrected to sea level: write it under altimeter_setting instead"
    if abs(excess) > _PRESSURE_TOLERANCE:
        off = f"{abs(excess):.0%} {'above' if excess > 0 else 'below'} that"
        message = f"a barometer at this elevation shows {expected}; this is {off}"
        return Fault("not-station-pressure", message, corrected if excess > 0 else "check the elevation and the unit")
    if elevation_m > units.from_unit(500, "length", "ft") and near_sea_level and excess > _SEA_LEVEL_TOLERANCE:
        return Fault("altimeter-as-station", f"a barometer at this elevation shows {expected}", corrected, "warning")
    return None


def _names(loose: Loose) -> Iterator[Finding]:
    kinds = {}
    for block, word in (("heads", "head"), ("destinations", "place")):
        seen: set[str] = set()
        for i in loose.items(block):
            name = loose.raw(block, i, "name")
            if isinstance(name, str) and name in seen:
                yield (
                    (block, i, "name"),
                    Fault("repeated-name", f"a second {word} is called {name!r}", "give each a name of its own"),
                )
            elif isinstance(name, str):
                seen.add(name)
                kinds[block, name] = loose.raw(block, i, "kind")
    for i in loose.items("reference", "broadheads"):
        name = loose.raw("reference", "broadheads", i, "head")
        if isinstance(name, str) and ("heads", name) not in kinds and loose.items("heads"):
            known = ", ".join(n for b, n in kinds if b == "heads" and kinds[b, n] != "field point")
            yield (
                ("reference", "broadheads", i, "head"),
                Fault(
                    "unknown-head",
                    f"no head is called {name!r}",
                    f"write one of: {known}" if known else "add it under heads",
                ),
            )
        elif isinstance(name, str) and kinds.get(("heads", name)) == "field point":
            yield (
                ("reference", "broadheads", i, "head"),
                Fault("unknown-head", f"{name!r} is a field point", "name a hunting head"),
            )


def _requirements(loose: Loose, today: date) -> Iterator[Finding]:
    """Rules that say nothing about their topic; copies that may be out of date by the time of the hunt."""
    starts = loose.day("trip", "starts") or today
    for i in loose.items("requirements"):
        path = ("requirements", i)
        topic, rule, read_on = loose.raw(*path, "topic"), loose.raw(*path, "rule"), loose.day(*path, "read_on")
        limit = read_rule(topic, rule) if topic in TOPICS and isinstance(rule, str) else None
        if isinstance(limit, Fault):
            yield (*path, "rule"), limit
        if read_on and read_on > today:
            yield (
                (*path, "read_on"),
                Fault("future-date", f"read on {read_on}, after today", "check the year", "warning"),
            )
        edition = loose.raw(*path, "edition")
        for note in age_notes(read_on or starts, None if edition is None else str(edition), starts, today):
            again = "read it again at the agency before you leave"
            hint = "add edition: with the season or year it is for" if note == NO_EDITION else again
            yield (*path, "read_on"), Fault("old-requirement", note, hint, "warning")


def _sizes(loose: Loose) -> Iterator[Finding]:
    for i in loose.items("gear"):
        size = loose.raw("gear", i, "size")
        if isinstance(size, str) and linear_size_m(size) is None:
            yield ("gear", i, "size"), Fault("bad-text", f"{size!r} is no size", "write 44 in x 18 in x 8 in")


def _elevations(loose: Loose) -> Iterator[Finding]:
    """1.650 m is no hunting ground: a point was meant to part the thousands."""
    places: list[tuple[str | int, ...]] = [("home",), *(("destinations", i) for i in loose.items("destinations"))]
    for place in places:
        for key in ("elevation", "sleeping_elevation"):
            text = loose.raw(*place, key)
            match = re.fullmatch(r"\s*([1-9]\d?)\.(\d{3})\s*(\D+)", text) if isinstance(text, str) else None
            if match:
                unit = match[3].strip()
                hint = f"write {match[1]}{match[2]} {unit}, or {float(match[1] + '.' + match[2]):g} {unit}"
                yield (*place, key), Fault("thousands-point", f"{text!r} can be read in two ways", hint)
