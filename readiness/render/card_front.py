"""The front of the field card: pins, bare shaft, zeros, limits, and the drift picture."""

from __future__ import annotations

from math import atan2, ceil, degrees, hypot
from typing import TYPE_CHECKING, Any

from readiness.answer import pins_there
from readiness.pinshift import BAND_SIGMAS
from readiness.showing import shown, shown_celsius, shown_unit, where
from readiness.units import to_unit
from readiness.verification import OWN_GROUPS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.answer import PinThere
    from readiness.forecast import Case, Destination, Limit
    from readiness.plan import Plan
    from readiness.verification import Expectation

Item = dict[str, Any]


def front_face(plan: Plan, *, picture: bool = True) -> dict[str, Any]:
    """Pins there, what the arrows must show, limits; with picture the drift too, where a card is wide enough."""
    items: list[Item] = [
        *({"kind": "caution", "text": notice} for notice in plan.notices),
        {"kind": "text", "text": "Marks first, bare shaft next, sight last."},
        *_places(plan),
        *_bare_shaft(plan),
        *_zeros(plan),
        *_limits(plan),
    ]
    if picture:
        items[-1] = {**items[-1], "keep": True}  # so that the picture has no face of its own
        items += ({**item, "wide": True} for item in _picture(plan))
    return {"title": "Pins and zeros", "closing": "Pins read", "items": items}


def drift_face(plan: Plan) -> dict[str, Any]:
    """The drift picture alone, for a card of any size."""
    head, *items = _picture(plan)
    return {"title": "Drift", "closing": "Drift read", "items": [{"kind": "head", "text": head["small"]}, *items]}


def _places(plan: Plan) -> Iterator[Item]:
    """Two places share a table; one alone has room for the span of its shift and where a pin hits."""
    places = plan.forecast.destinations
    for first in range(0, len(places), 2):
        pair = places[first : first + 2]
        yield from (
            _one_place(pair[0], plan)
            if len(pair) == 1
            else _two_places(pair, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[first:], plan)
        )


def _one_place(place: Destination, plan: Plan) -> Iterator[Item]:
    pins = pins_there(place.cases)
    offset, distance = shown_unit("offset", plan.units), shown_unit("distance", plan.units)
    yield {"kind": "head", "text": place.name, "small": _air(place, plan)}
    yield {
        "kind": "table",
        "columns": ["auto", "auto", "auto", "1fr"],
        "wide_only": [2],
        "header": [["pin", distance], ["shift there", f"{offset}, up +"], ["hits at", distance], "sight"],
        "rows": [_pin_row(pin, plan) for pin in pins],
        "big": [0, 1, 2],
        "whole": True,
    }
    yield from ({"kind": "text", "text": note} for note in _notes(pins, plan))


def _two_places(places: Sequence[Destination], letters: str, plan: Plan) -> Iterator[Item]:
    """Pins down, places across; of the cases of a place the one that shifts most, which is that of its advice."""
    offset, distance = shown_unit("offset", plan.units), shown_unit("distance", plan.units)
    sights = [pins_there(place.cases) for place in places]
    for letter, place in zip(letters, places, strict=False):
        yield {"kind": "text", "lead": f"{letter}", "text": f"{place.name}, {_air(place, plan)}", "keep": True}
    header: list[Any] = [["pin", distance]]
    for letter, _ in zip(letters, places, strict=False):
        header += [[f"{letter} shift", offset], [f"{letter}", "sight"]]
    yield {
        "kind": "table",
        "columns": ["auto", *["auto", "1fr"] * len(places)],
        "wide_only": [],
        "header": header,
        "rows": [_pins_row(pins, plan) for pins in zip(*sights, strict=True)],
        "big": [0, 1, 3],
        "whole": True,
    }
    yield {"kind": "text", "text": "Shift, up +: the most, coldest to warmest."}
    told: set[str] = set()
    for letter, pins in zip(letters, sights, strict=False):
        for note in _notes(pins, plan):
            same = all(note in _notes(other, plan) for other in sights)
            if note not in told:
                told.add(note)
                yield {"kind": "text", "text": note} if same else {"kind": "text", "lead": letter, "text": note}


def _air(place: Destination, plan: Plan) -> str:
    units = plan.units
    ends = [shown_celsius(case.conditions.air.temperature_c, units) for case in (place.cases[0], place.cases[-1])]
    air = ends[1] if len(place.cases) == 1 else f"{ends[0].split()[0]} to {ends[1]}"
    return f"{shown(place.cases[0].conditions.elevation_m, 'elevation', units)}, {air}"


def _pin_row(pin: PinThere, plan: Plan) -> list[str]:
    units = plan.units
    there = pin.worst.equivalent_distance_m
    return [
        shown(pin.distance_m, "distance", units, unit=False),
        _span(pin.least, pin.most, plan),
        "-" if there is None else shown(there, "exact distance", units, unit=False),
        _sight(pin, plan),
    ]


def _pins_row(pins: Sequence[PinThere], plan: Plan) -> list[str]:
    row = [shown(pins[0].distance_m, "distance", plan.units, unit=False)]
    for pin in pins:
        most = max(pin.least, pin.most, key=abs)
        row += [shown(most, "offset", plan.units, sign=True, unit=False), _sight(pin, plan)]
    return row


def _sight(pin: PinThere, plan: Plan) -> str:
    if pin.worst.advice != "move":
        return pin.worst.advice
    move = pin.worst.sight_move_m
    return f"{shown(abs(move), 'fine', plan.units)} {'up' if move > 0 else 'down'} *"


def _span(least_m: float, most_m: float, plan: Plan) -> str:
    first, last = (shown(end, "offset", plan.units, sign=True, unit=False) for end in (least_m, most_m))
    return first if first == last else f"{first} to {last}"


def _notes(pins: Sequence[PinThere], plan: Plan) -> Iterator[str]:
    """Move is never said without its condition, confirm never without its arrows, and every doubt is said."""
    units = plan.units
    if any(pin.worst.advice == "move" for pin in pins):
        yield "* Move the pin only after the marks and the bare shaft pass."
    for pin in pins:
        if pin.worst.advice == "confirm":
            distance = shown(pin.distance_m, "distance", units)
            yield f"{distance}: confirm with {pin.worst.arrows_to_see} arrows before you touch the sight."
    unknown = [pin for pin in pins if pin.worst.advice == "cannot tell"]
    if unknown:
        yield f"cannot tell: {_why_not(plan)}. No advice from {shown(unknown[0].distance_m, 'distance', units)} on."


def _why_not(plan: Plan) -> str:
    if not plan.forecast.spreads:
        return "no group recorded"
    return f"farthest recorded group is at {shown(plan.forecast.spreads[-1][0], 'distance', plan.units)}"


def _bare_shaft(plan: Plan) -> Iterator[Item]:
    check, base, units = plan.checks.bare_shaft, plan.trip.reference.bare_shaft, plan.units
    if check is None or base is None:
        yield {"kind": "head", "text": "Bare shaft"}
        yield {"kind": "text", "text": "cannot tell: no bare-shaft reference recorded"}
        return
    at = shown(check.distance_m, "distance", units)
    yield {"kind": "head", "text": f"Bare shaft at {at}", "small": "dashed: within"}
    within = shown(check.tolerance_m, "offset", units)
    place = where(check.right_m, check.up_m, units)
    offset = shown(base.offset_m, "offset", units)
    pairs = f"{check.arrows} pairs" + (", baseline of 3 assumed" if check.baseline_assumed else "")
    yield {
        "kind": "clock",
        "degrees": degrees(atan2(check.right_m, check.up_m)),
        "offset": hypot(check.right_m, check.up_m),
        "tolerance": check.tolerance_m,
        "big": [base.clock, offset],
        "lines": [
            f"within {within}, {pairs}{_basis(check)}:",
            f"{place} of the fletched. Not so? Do not move the sight.",
        ],
        "alt": f"Clock face: fletched group at the centre, bare shaft at {base.clock}, {offset} off, within {within}.",
    }


def _basis(check: Expectation) -> str:
    """Where a tolerance comes from, where it is not the archer's own groups."""
    doubts = [] if check.basis == OWN_GROUPS else [check.basis]
    if not check.middle_recorded:
        doubts.append("home middle not recorded")
    return f" ({'; '.join(doubts)})" if doubts else ""


def _zeros(plan: Plan) -> Iterator[Item]:
    checks = plan.checks
    yield {"kind": "head", "text": "Zeros there", "small": "from the aiming point"}
    yield {**_zero("Near zero", checks.near_zero, plan), "keep": True}
    if checks.far_zero is not None:
        yield _zero("Far zero", checks.far_zero, plan)
    else:
        why = "no group recorded" if not plan.forecast.spreads else "no group recorded beyond the near pin"
        yield {"kind": "text", "lead": "Far zero", "text": f"cannot tell: {why}"}


def _zero(name: str, check: Expectation, plan: Plan) -> Item:
    units = plan.units
    place = where(check.right_m, check.up_m, units)
    return {
        "kind": "value",
        "label": f"{name}, {shown(check.distance_m, 'distance', units)}, {check.arrows} arrows{_basis(check)}",
        "big": ["dead on" if place == "no offset" else place, f"within {shown(check.tolerance_m, 'offset', units)}"],
    }


def _limits(plan: Plan) -> Iterator[Item]:
    future, units = plan.forecast, plan.units
    zone = shown(plan.trip.target_zone_m, "offset", units)
    if not future.spreads:
        yield {"kind": "head", "text": "Limit"}
        yield {"kind": "text", "text": "cannot tell: no group recorded"}
        return

    def told(limit: Limit | None) -> str:
        return "none proven" if limit is None else shown(limit.distance_m, "distance", units)

    yield {
        "kind": "value",
        "label": f"Limit: nine in ten inside {zone}",
        "big": [f"home {told(future.limit_home)}", f"there {told(future.limit_there)}"],
        "note": f"Beyond {shown(future.spreads[-1][0], 'distance', units)}: cannot tell.",
    }


def _picture(plan: Plan) -> Iterator[Item]:
    """The worst case drawn: shift and band against distance, and beside each pin how wide the archer shoots."""
    place, case = max(plan.forecast.cases, key=lambda both: max(abs(pin.shift_m) for pin in both[1].pins))
    units = plan.units
    unit = shown_unit("offset", units)
    points: list[dict[str, Any]] = [
        {
            "label": shown(pin.distance_m, "distance", units, unit=False),
            "at": pin.distance_m,
            "values": [to_unit(v, "length", unit) for v in (pin.shift_m, pin.shift_low_m, pin.shift_high_m)],
            "group": None if pin.sigma_m is None else to_unit(BAND_SIGMAS * pin.sigma_m, "length", unit),
        }
        for pin in case.pins
    ]
    top = max(abs(v) for p in points for v in [*p["values"], p["group"] or 0.0])
    words = f"{place}, {case.label}"
    yield {"kind": "head", "text": "Drift", "small": words}
    yield {
        "kind": "chart",
        "keep": True,
        "points": points,
        "top": float(max(1, ceil(top))),
        "unit": unit,
        "across": shown_unit("distance", units),
        "alt": f"Drift picture for {words}. {_picture_words(case, plan)}",
    }
    bars = "bar: 95 in 100 arrows." if plan.forecast.spreads else "no bars: no group recorded."
    yield {"kind": "text", "text": f"Line: shift; dashes: 95 in 100; {bars}"}


def _picture_words(case: Case, plan: Plan) -> str:
    units = plan.units
    told = []
    for pin in case.pins:
        group = (
            "no group" if pin.sigma_m is None else f"arrows within {shown(BAND_SIGMAS * pin.sigma_m, 'offset', units)}"
        )
        shift = shown(pin.shift_m, "offset", units, sign=True)
        told.append(f"{shown(pin.distance_m, 'distance', units)}: shift {shift}, {group}")
    return "; ".join(told) + "."
