"""Bow, arrow, heads and sight of a trip file: values that do not fit each other."""

from __future__ import annotations

from itertools import pairwise
from math import isclose
from typing import TYPE_CHECKING

from readiness import showing, units
from readiness.air import STANDARD_DENSITY_KG_M3
from readiness.calibration import PUBLISHED_DRAG
from readiness.flight import drag_constant_per_m, flat_fire_slope
from readiness.groups import LARGEST_EXTREME_SPREAD_GROUP
from readiness.problems import Fault
from readiness.sighting import kinetic_energy_j

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.documents import Path
    from readiness.trip.loose import Loose

Finding = tuple["Path", Fault]

# Five grains of arrow for each pound of draw weight: common practice, no source.
LIGHTEST_GRAINS_PER_POUND = 5.0
# An arrow is still straightening over its first 10 to 15 yd: common practice, no source.
NEAREST_BARE_SHAFT_M = units.from_unit(15, "length", "yd")
# Heads that should weigh the same may differ by this much before it matters: common practice, no source.
HEAD_MASS_TOLERANCE_KG = units.from_unit(2, "mass", "gr")
STEEPEST_AIM = 0.3  # tangent of 17 degrees: beyond it no sight reaches, and flight is no longer a flat shot
# Wider than the groups of anyone who hunts, as a share of their distance: common practice, no source. The last two are
# the first over what a normal group of twelve has (extreme spread 4.0, mean radius 1.25, vertical 1 standard
# deviation), rounded up.
WIDEST_GROUPS = {"extreme_spread": 1 / 40, "mean_radius": 1 / 120, "vertical_sd": 1 / 150}
_SHORTEST_READING_BASE_M = units.from_unit(10, "length", "yd")


def equipment_findings(loose: Loose) -> Iterator[Finding]:
    """Every misfit of the equipment."""
    yield from _arrow(loose)
    yield from _energy(loose)
    yield from _speed_readings(loose)
    yield from _heads(loose)
    yield from _bare_shaft(loose)
    yield from _groups(loose)
    yield from _pins(loose)
    yield from _marks(loose)
    yield from _reach(loose)


def grains_per_pound(mass_kg: float, draw_weight_n: float) -> float:
    """Grains of arrow for each pound of draw weight, the trade's measure of whether a bow may shoot it.

    >>> round(grains_per_pound(445 * 64.79891e-6, 66 * 4.4482216), 2)
    6.74
    """
    return units.to_unit(mass_kg, "mass", "gr") / units.to_unit(draw_weight_n, "force", "lb")


def too_light(mass_kg: float, draw_weight_n: float) -> bool:
    """Whether an arrow is under what a bow may shoot; the limit itself, whatever its units, is not."""
    return grains_per_pound(mass_kg, draw_weight_n) < LIGHTEST_GRAINS_PER_POUND * (1 - 1e-9)


def _arrow(loose: Loose) -> Iterator[Finding]:
    mass, draw = loose.si("mass", "arrow", "mass"), loose.si("force", "bow", "draw_weight")
    if mass and draw and too_light(mass, draw):
        message = (
            f"the arrow has {grains_per_pound(mass, draw):.1f} grains for each pound of draw weight; "
            f"under {LIGHTEST_GRAINS_PER_POUND:.0f} can break a bow"
        )
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


def most_energy_j(draw_weight_n: float, draw_length_m: float, brace_height_m: float | None) -> float:
    """More than the work that goes into a bow: its peak weight all the way from rest to full draw.

    Work is at most the greatest force times the way. Draw length often counts 1.75 in that the string does not go,
    and the brace height may be unknown: both only make this larger.

    Parameters
    ----------
    draw_weight_n : peak draw weight, [N]
    draw_length_m : draw length as stated, [m]
    brace_height_m : string to grip at rest, [m]; None where it is not known

    Returns
    -------
    energy, [J]

    Examples
    --------
    >>> most_energy_j(300.0, 0.7, 0.2)
    150.0

    """
    return draw_weight_n * (draw_length_m - (brace_height_m or 0.0))


def _energy(loose: Loose) -> Iterator[Finding]:
    """An arrow that carries more than the bow can have put into it."""
    mass, speed = loose.si("mass", "arrow", "mass"), loose.si("speed", "arrow", "speed")
    weight, draw = loose.si("force", "bow", "draw_weight"), loose.si("length", "bow", "draw_length")
    brace = loose.si("length", "bow", "brace_height")
    if not (mass and speed and weight and draw):
        return
    energy, most = kinetic_energy_j(mass, speed), most_energy_j(weight, draw, brace)
    if energy > most * (1 + 1e-9):
        way = "draw length" if brace is None else "draw length less brace height"
        message = (
            f"this arrow would carry {energy:.0f} J, and the bow has no more than {most:.0f} J to give: "
            f"its whole draw weight over {way}"
        )
        hint = "check the unit of the speed, the arrow's mass, the draw weight and the draw length"
        yield ("arrow", "speed"), Fault("too-much-energy", message, hint, "warning")


def _speed_readings(loose: Loose) -> Iterator[Finding]:
    readings = [
        (d, v, i)
        for i in loose.items("arrow", "speed_readings")
        if (d := loose.si("length", "arrow", "speed_readings", i, "distance")) is not None
        and (v := loose.si("speed", "arrow", "speed_readings", i, "speed"))
    ]
    readings.sort()
    if len(readings) > 1 and readings[-1][0] - readings[0][0] < _SHORTEST_READING_BASE_M:
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


def _heads(loose: Loose) -> Iterator[Finding]:
    heads = [(i, loose.raw("heads", i, "kind"), loose.si("mass", "heads", i, "mass")) for i in loose.items("heads")]
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
            if abs(nearest - mass) > HEAD_MASS_TOLERANCE_KG * (1 + 1e-9):
                apart = showing.shown(abs(nearest - mass), "mass", "imperial")
                yield (
                    ("heads", i, "mass"),
                    Fault(
                        "head-mass",
                        f"this head is {apart} off the nearest field point: the two may not fly alike",
                        "practise with points of the same mass",
                        "warning",
                    ),
                )


def _bare_shaft(loose: Loose) -> Iterator[Finding]:
    bare = loose.si("length", "reference", "bare_shaft", "distance")
    if bare is not None and bare < NEAREST_BARE_SHAFT_M * (1 - 1e-9):
        message = (
            "an arrow is still straightening over its first 10 to 15 yd (common practice, no source): "
            "a bare shaft shot here shows little"
        )
        yield (
            ("reference", "bare_shaft", "distance"),
            Fault("near-bare-shaft", message, "record the reference at 20 yd", "warning"),
        )


def _groups(loose: Loose) -> Iterator[Finding]:
    for i in loose.items("reference", "groups"):
        path = ("reference", "groups", i)
        arrows, spread = loose.raw(*path, "arrows"), loose.raw(*path, "extreme_spread")
        if isinstance(arrows, int) and arrows > LARGEST_EXTREME_SPREAD_GROUP and spread is not None:
            message = (
                f"an extreme spread tells little about more than {LARGEST_EXTREME_SPREAD_GROUP} arrows: it is not used"
            )
            hint = "measure mean_radius or vertical_sd instead"
            yield (*path, "extreme_spread"), Fault("spread-not-used", message, hint, "warning")
        distance = loose.si("length", *path, "distance")
        for measure, share in WIDEST_GROUPS.items():
            size = loose.si("length", *path, measure)
            if size and distance and size > share * distance * (1 + 1e-9):
                message = (
                    f"this is over 1/{round(1 / share)} of the distance: nobody hunts with such a group "
                    "(common practice, no source)"
                )
                hint = "check the number, its point and its unit; limits and tolerances rest on it"
                yield (*path, measure), Fault("group-too-wide", message, hint, "warning")


def _pins(loose: Loose) -> Iterator[Finding]:
    seen: list[float] = []
    for i in loose.items("bow", "sight", "pins"):
        distance = loose.si("length", "bow", "sight", "pins", i)
        if distance and any(isclose(distance, other) for other in seen):
            hint = "write each pin with its own distance"
            fault = Fault("repeated-pin", "another pin has this distance, so it counts once", hint, "warning")
            yield ("bow", "sight", "pins", i), fault
        elif distance:
            seen.append(distance)


def _marks(loose: Loose) -> Iterator[Finding]:
    marks = [
        (d, r, i)
        for i in loose.items("bow", "sight", "marks")
        if (d := loose.si("length", "bow", "sight", "marks", i, "distance"))
        and (r := loose.si("length", "bow", "sight", "marks", i, "reading")) is not None
    ]
    marks.sort()
    steps = [(b[1] - a[1], b[2]) for a, b in pairwise(marks)]
    for a, b in pairwise(marks):
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


def _reach(loose: Loose) -> Iterator[Finding]:
    """Distances that this arrow cannot be aimed at with a sight: it would have to be lobbed."""
    speed, mass = loose.si("speed", "arrow", "speed"), loose.si("mass", "arrow", "mass")
    diameter, drag = loose.si("length", "arrow", "shaft_diameter"), loose.raw("arrow", "drag_coefficient")
    if not (speed and mass and diameter):
        return
    coefficient = drag if isinstance(drag, int | float) else PUBLISHED_DRAG[1]
    k = drag_constant_per_m(coefficient, diameter, mass, STANDARD_DENSITY_KG_M3)
    lists = (("bow", "sight", "pins"), ("bow", "sight", "marks"), ("reference", "groups"), ("reference", "broadheads"))
    for path in lists:
        for i in loose.items(*path):
            place = (*path, i) if path[-1] == "pins" else (*path, i, "distance")
            distance = loose.si("length", *place)
            if distance and flat_fire_slope(speed, distance, k) > STEEPEST_AIM:
                message = "the arrow would have to leave at more than 17 degrees to get there"
                yield place, Fault("out-of-reach", message, "check this distance, the arrow's speed and its drag")
