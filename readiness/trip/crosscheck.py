"""What no single key shows: values of a trip file that do not fit each other, the place, or the day.

Runs on the raw data, so that it also speaks when other parts of the file are wrong; a value that is
missing or already faulty makes its check silent.
"""

from __future__ import annotations

from datetime import date
from math import isclose
from typing import TYPE_CHECKING, Any

from readiness import air, units
from readiness.problems import Fault, Problem
from readiness.trip.validate import date_fault

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from readiness.documents import Document, Path

Finding = tuple["Path", Fault]

# Five grains of arrow for each pound of draw weight: common practice, no source.
LIGHTEST_GRAINS_PER_POUND = 5.0
_KG_PER_N_OF_ONE_GRAIN_PER_POUND = units.from_unit(1, "mass", "gr") / units.from_unit(1, "force", "lb")
# An arrow is still straightening over its first 10 to 15 yd: common practice, no source.
NEAREST_BARE_SHAFT_M = units.from_unit(15, "length", "yd")
# Heads that should weigh the same may differ by this much before it matters: common practice, no source.
_HEAD_MASS_TOLERANCE_KG = units.from_unit(2, "mass", "gr")
_PRESSURE_TOLERANCE = 0.05
_SEA_LEVEL_TOLERANCE = 0.015


class _Loose:
    """Reads values out of data that may be wrong anywhere: what is not there or faulty is None."""

    def __init__(self, document: Document, known: Iterable[Problem]) -> None:
        self._document = document
        self._bad = {(p.line, p.column) for p in known if p.severity == "error"}

    def raw(self, *path: str | int) -> Any:
        value = self._document.data
        for step in path:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return None
        return None if self._document.place(path) in self._bad else value

    def si(self, dimension: str, *path: str | int) -> float | None:
        text = self.raw(*path)
        found = units.read_range(text, dimension) if isinstance(text, str) else None
        return found[0].si if isinstance(found, tuple) and not isinstance(found, Fault) else None

    def day(self, *path: str | int) -> date | None:
        text = self.raw(*path)
        return date.fromisoformat(text) if isinstance(text, str) and not date_fault(text) else None

    def items(self, *path: str | int) -> range:
        """The indices of a list."""
        value = self.raw(*path)
        return range(len(value)) if isinstance(value, list) else range(0)


def crosscheck(document: Document, known: Iterable[Problem], today: date) -> tuple[Problem, ...]:
    """Every misfit of a trip file, as problems with places.

    known are the problems already found: a value they speak of is left alone here.
    """
    loose = _Loose(document, known)
    checks = (
        _dates(loose, today),
        _reference_age(loose, today),
        _pressures(loose),
        _arrow(loose),
        _heads(loose),
        _names(loose),
        _sight(loose),
    )
    return tuple(document.problem(path, fault) for findings in checks for path, fault in findings)


def _dates(loose: _Loose, today: date) -> Iterator[Finding]:
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
    elif ends and ends < today:
        yield (
            ("trip", "ends"),
            Fault("trip-past", f"the trip ended on {ends}; today is {today}", "set the new dates", "warning"),
        )


def _reference_age(loose: _Loose, today: date) -> Iterator[Finding]:
    shot_on = loose.day("reference", "shot_on")
    changes = [(day, i) for i in loose.items("setup_changed") if (day := loose.day("setup_changed", i, "on"))]
    if shot_on and shot_on > today:
        yield (
            ("reference", "shot_on"),
            Fault(
                "future-date", f"the reference is dated {shot_on}, after today", "check the year", "warning"
            ),
        )
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
            Fault(
                "stale-reference", message, "shoot the reference again and record the new values", "warning"
            ),
        )


def _pressures(loose: _Loose) -> Iterator[Finding]:
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
        message = f"a barometer at this elevation shows {expected}; this is {abs(excess):.0%} {'above' if excess > 0 else 'below'} that"
        return Fault(
            "not-station-pressure", message, corrected if excess > 0 else "check the elevation and the unit"
        )
    if (
        elevation_m > units.from_unit(500, "length", "ft")
        and near_sea_level
        and excess > _SEA_LEVEL_TOLERANCE
    ):
        return Fault(
            "altimeter-as-station", f"a barometer at this elevation shows {expected}", corrected, "warning"
        )
    return None


def _arrow(loose: _Loose) -> Iterator[Finding]:
    mass, draw = loose.si("mass", "arrow", "mass"), loose.si("force", "bow", "draw_weight")
    if mass and draw:
        grains_per_pound = mass / draw / _KG_PER_N_OF_ONE_GRAIN_PER_POUND
        if grains_per_pound < LIGHTEST_GRAINS_PER_POUND * (1 - 1e-9):
            message = f"the arrow has {grains_per_pound:.1f} grains for each pound of draw weight; under {LIGHTEST_GRAINS_PER_POUND:.0f} can break a bow"
            yield (
                ("arrow", "mass"),
                Fault(
                    "arrow-too-light",
                    message,
                    "do not shoot it before the bow's maker says that it is enough",
                    "warning",
                ),
            )
    length, balance = loose.si("length", "arrow", "length"), loose.si("length", "arrow", "balance_point")
    if length and balance and not 0.4 * length <= balance <= length:
        yield (
            ("arrow", "balance_point"),
            Fault(
                "balance-point",
                "the balance point is not in the front part of the shaft",
                "measure from the nock groove to where the arrow balances, with its head",
            ),
        )
    readings = [
        (d, v, i)
        for i in loose.items("arrow", "speed_readings")
        if (d := loose.si("length", "arrow", "speed_readings", i, "distance")) is not None
        and (v := loose.si("speed", "arrow", "speed_readings", i, "speed"))
    ]
    readings.sort()
    if len(readings) > 1 and readings[-1][0] - readings[0][0] < units.from_unit(10, "length", "yd"):
        yield (
            ("arrow", "speed_readings"),
            Fault(
                "readings-too-close",
                "the speed readings are less than 10 yd apart: they cannot show the drag",
                "read one near the bow and one at 30 yd or more",
            ),
        )
    elif len(readings) > 1 and readings[-1][1] >= readings[0][1]:
        yield (
            ("arrow", "speed_readings", readings[-1][2], "speed"),
            Fault(
                "speed-rises",
                "the arrow is not slower at the far reading",
                "check both readings; an arrow only loses speed",
            ),
        )


def _heads(loose: _Loose) -> Iterator[Finding]:
    heads = [
        (i, loose.raw("heads", i, "kind"), loose.si("mass", "heads", i, "mass")) for i in loose.items("heads")
    ]
    points = [mass for _, kind, mass in heads if kind == "field point" and mass]
    for i, kind, mass in heads:
        opened, closed = (
            loose.si("length", "heads", i, "cutting_width"),
            loose.si("length", "heads", i, "cutting_width_closed"),
        )
        if opened and closed and closed > opened:
            yield (
                ("heads", i, "cutting_width_closed"),
                Fault("widths-reversed", "the head is wider closed than open", "exchange the two widths"),
            )
        if kind in ("fixed blade", "mechanical") and mass and points:
            nearest = min(points, key=lambda point: abs(point - mass))
            if abs(nearest - mass) > _HEAD_MASS_TOLERANCE_KG:
                apart = units.shown(abs(nearest - mass), "mass", "imperial")
                yield (
                    ("heads", i, "mass"),
                    Fault(
                        "head-mass",
                        f"this head is {apart} off the nearest field point: the two will not fly alike",
                        "practise with points of the same mass",
                        "warning",
                    ),
                )
    bare = loose.si("length", "reference", "bare_shaft", "distance")
    if bare is not None and bare < NEAREST_BARE_SHAFT_M * (1 - 1e-9):
        message = "an arrow is still straightening over its first 10 to 15 yd, so a bare shaft shot here shows little (common practice)"
        yield (
            ("reference", "bare_shaft", "distance"),
            Fault("near-bare-shaft", message, "record the reference at 20 yd", "warning"),
        )


def _names(loose: _Loose) -> Iterator[Finding]:
    kinds = {}
    for block, word in (("heads", "head"), ("destinations", "place")):
        seen: set[str] = set()
        for i in loose.items(block):
            name = loose.raw(block, i, "name")
            if isinstance(name, str) and name in seen:
                yield (
                    (block, i, "name"),
                    Fault(
                        "repeated-name", f"a second {word} is called {name!r}", "give each a name of its own"
                    ),
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


def _sight(loose: _Loose) -> Iterator[Finding]:
    marks = [
        (d, r, i)
        for i in loose.items("bow", "sight", "marks")
        if (d := loose.si("length", "bow", "sight", "marks", i, "distance"))
        and (r := loose.si("length", "bow", "sight", "marks", i, "reading")) is not None
    ]
    marks.sort()
    steps = [(b[1] - a[1], b[2]) for a, b in zip(marks, marks[1:], strict=False)]
    for a, b in zip(marks, marks[1:], strict=False):
        if isclose(a[0], b[0]):
            yield (
                ("bow", "sight", "marks", b[2], "distance"),
                Fault("repeated-mark", "two marks have this distance", "keep the one that was shot last"),
            )
            return
    rising = sum(1 for step, _ in steps if step > 0) * 2 >= len(steps)
    for step, i in steps:
        if (step > 0) != rising or step == 0:
            yield (
                ("bow", "sight", "marks", i, "reading"),
                Fault(
                    "marks-disorder",
                    "the readings do not run one way with distance",
                    "check this mark and its neighbours",
                ),
            )
            return
