"""Checked data of a trip file -> the frozen model. Nothing can go wrong here: the schema has spoken."""

from __future__ import annotations

from datetime import date
from math import cos, degrees, radians, sin
from typing import TYPE_CHECKING, Any

from readiness.trip import model
from readiness.trip.quantities import read_si, read_si_range
from readiness.units import ZERO_CELSIUS_K, Quantity, read_quantity

if TYPE_CHECKING:
    from collections.abc import Iterator


def build_trip(data: dict[str, Any]) -> model.Trip:
    """The model of a trip file that has passed the schema."""
    trip, hunter, airline = data["trip"], data.get("hunter", {}), data.get("airline", {})
    return model.Trip(
        name=trip["name"],
        starts=date.fromisoformat(trip["starts"]),
        ends=date.fromisoformat(trip["ends"]),
        travel=trip["travel"],
        target_zone_m=read_si(trip["target_zone"], "length"),
        nearest_shop_s=_si(trip, "nearest_shop", "duration"),
        hazards=tuple(trip["hazards"]) if "hazards" in trip else None,
        hunter_name=hunter.get("name"),
        hunter_id=hunter.get("id"),
        hand=hunter.get("hand"),
        home=_place(data["home"]),
        destinations=tuple(map(_place, data["destinations"])),
        bow=_bow(data["bow"]),
        arrow=_arrow(data["arrow"]),
        heads=tuple(map(_head, data["heads"])),
        reference=_reference(data.get("reference", {})),
        changes=tuple(model.Change(c["what"], date.fromisoformat(c["on"])) for c in data.get("setup_changed", ())),
        resighted=tuple(map(_resighted, data.get("resighted", ()))),
        gear=tuple(map(_gear, data["gear"])) if "gear" in data else None,
        airline_mass_kg=_si(airline, "mass", "mass"),
        airline_linear_size_m=_si(airline, "linear_size", "length"),
        declared=tuple(data.get("declared", {}).items()),
        requirements=tuple(map(_requirement, data.get("requirements", ()))),
        units=_units_of(data),
        entered=dict(_entered(data, "")),
    )


def _entered(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Every leaf as it was written, by its dotted path: `heads[1].mass`."""
    if isinstance(value, dict):
        for key, below in value.items():
            yield from _entered(below, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, below in enumerate(value):
            yield from _entered(below, f"{path}[{index}]")
    else:
        yield path, value


def clock_direction(clock: str) -> tuple[float, float]:
    """Right and up parts of a clock position: an hour hand, 30 degrees an hour, clockwise from 12.

    >>> right, up = clock_direction("7:15")
    >>> round(0.6 * right, 2), round(0.6 * up, 2)
    (-0.37, -0.48)
    """
    hours, minutes = clock.split(":")
    angle = radians(30 * (int(hours) + int(minutes) / 60))
    return sin(angle), cos(angle)


def _si(data: dict[str, Any], key: str, dimension: str) -> float | None:
    return read_si(data[key], dimension) if key in data else None


def _place(data: dict[str, Any]) -> model.Place:
    latitude = _si(data, "latitude", "angle")
    temperatures: tuple[float, ...] = ()
    if "temperature" in data:
        low, high = read_si_range(data["temperature"], "temperature")
        temperatures = (low - ZERO_CELSIUS_K,) if low == high else (low - ZERO_CELSIUS_K, high - ZERO_CELSIUS_K)
    return model.Place(
        name=data["name"],
        elevation_m=read_si(data["elevation"], "length"),
        temperatures_c=temperatures,
        humidity=_si(data, "humidity", "ratio"),
        station_pressure_pa=_si(data, "station_pressure", "pressure"),
        altimeter_setting_pa=_si(data, "altimeter_setting", "pressure"),
        temperature_uncertainty_c=_si(data, "temperature_uncertainty", "temperature difference"),
        pressure_uncertainty=_si(data, "pressure_uncertainty", "ratio"),
        latitude_deg=None if latitude is None else degrees(latitude),
        sleeping_elevation_m=_si(data, "sleeping_elevation", "length"),
    )


def _bow(data: dict[str, Any]) -> model.Bow:
    sight = data["sight"]
    marks = tuple(
        model.Mark(read_si(m["distance"], "length"), read_si(m["reading"], "length")) for m in sight.get("marks", ())
    )
    pins = tuple(read_si(p, "length") for p in sight.get("pins", ())) or tuple(m.distance_m for m in marks)
    return model.Bow(
        draw_weight_n=read_si(data["draw_weight"], "force"),
        draw_length_m=read_si(data["draw_length"], "length"),
        peep_height_m=read_si(data["peep_height"], "length"),
        sight=model.Sight(
            kind=sight["kind"],
            radius_m=read_si(sight["radius"], "length"),
            pins_m=tuple(sorted({round(pin, 6): pin for pin in pins}.values())),
            marks=tuple(sorted(marks, key=lambda mark: mark.distance_m)),
            mark_uncertainty_m=_si(sight, "mark_uncertainty", "length"),
        ),
        let_off=_si(data, "let_off", "ratio"),
        brace_height_m=_si(data, "brace_height", "length"),
        axle_to_axle_m=_si(data, "axle_to_axle", "length"),
    )


def _arrow(data: dict[str, Any]) -> model.Arrow:
    readings = (
        model.SpeedReading(read_si(r["distance"], "length"), read_si(r["speed"], "speed"))
        for r in data.get("speed_readings", ())
    )
    fletching = data.get("fletching", {})
    return model.Arrow(
        mass_kg=read_si(data["mass"], "mass"),
        speed_m_s=read_si(data["speed"], "speed"),
        shaft_diameter_m=read_si(data["shaft_diameter"], "length"),
        length_m=read_si(data["length"], "length"),
        speed_uncertainty_m_s=_si(data, "speed_uncertainty", "speed"),
        balance_point_m=_si(data, "balance_point", "length"),
        drag_coefficient=data.get("drag_coefficient"),
        drag_uncertainty=data.get("drag_uncertainty"),
        speed_readings=tuple(sorted(readings, key=lambda reading: reading.distance_m)),
        vanes=fletching.get("vanes"),
        vane_turn=fletching.get("turn"),
    )


def _head(data: dict[str, Any]) -> model.Head:
    return model.Head(
        name=data["name"],
        kind=data["kind"],
        mass_kg=read_si(data["mass"], "mass"),
        cutting_width_m=_si(data, "cutting_width", "length"),
        cutting_width_closed_m=_si(data, "cutting_width_closed", "length"),
        blades=data.get("blades"),
    )


def _reference(data: dict[str, Any]) -> model.Reference:
    return model.Reference(
        shot_on=date.fromisoformat(data["shot_on"]) if "shot_on" in data else None,
        bare_shaft=_bare_shaft(data["bare_shaft"]) if "bare_shaft" in data else None,
        broadheads=tuple(
            model.BroadheadReference(
                b["head"],
                read_si(b["distance"], "length"),
                read_si(b["right"], "length"),
                read_si(b["up"], "length"),
                b.get("arrows"),
            )
            for b in data.get("broadheads", ())
        ),
        cold_first=tuple(
            model.ColdFirst(read_si(c["distance"], "length"), read_si(c["right"], "length"), read_si(c["up"], "length"))
            for c in data.get("cold_first", ())
        ),
        groups=tuple(sorted(map(_group, data.get("groups", ())), key=lambda group: group.distance_m)),
        marks=tuple((name, str(value)) for name, value in data.get("marks", {}).items()),
    )


def _bare_shaft(data: dict[str, Any]) -> model.BareShaft:
    offset = read_si(data["offset"], "length")
    right, up = clock_direction(data["clock"])
    return model.BareShaft(
        distance_m=read_si(data["distance"], "length"),
        clock=data["clock"],
        offset_m=offset,
        right_m=offset * right,
        up_m=offset * up,
        pairs=data.get("pairs"),
    )


def _group(data: dict[str, Any]) -> model.GroupRecord:
    measure = next(key for key in ("extreme_spread", "mean_radius", "vertical_sd") if key in data)
    return model.GroupRecord(
        distance_m=read_si(data["distance"], "length"),
        arrows=data["arrows"],
        measure=measure,
        size_m=read_si(data[measure], "length"),
        right_m=_si(data, "right", "length"),
        up_m=_si(data, "up", "length"),
    )


def _resighted(data: dict[str, Any]) -> model.Resighted:
    moves = (
        model.PinMove(
            distance_m=read_si(move["distance"], "length"),
            move_m=read_si(move["move"], "length"),
            low_m=read_si(move["low"], "length"),
            high_m=read_si(move["high"], "length"),
            advice=move["advice"],
        )
        for move in data["moves"]
    )
    return model.Resighted(data["place"], date.fromisoformat(data["on"]), tuple(moves))


def _gear(data: dict[str, Any]) -> model.GearItem:
    return model.GearItem(
        item=data["item"],
        how_many=data.get("count", 1),
        bag=data.get("bag"),
        volts=data.get("volts"),
        amp_hours=data.get("amp_hours"),
        mass_kg=_si(data, "mass", "mass"),
        size=data.get("size"),
    )


def _requirement(data: dict[str, Any]) -> model.Requirement:
    edition = data.get("edition")
    return model.Requirement(
        topic=data["topic"],
        rule=data["rule"],
        source=data["source"],
        read_on=date.fromisoformat(data["read_on"]),
        edition=None if edition is None else str(edition),
        place=data.get("place"),
        applies_to=data.get("applies_to"),
    )


def _units_of(data: dict[str, Any]) -> str:
    """The unit system the archer thinks in: that of the first pin or mark."""
    sight = data["bow"]["sight"]
    first = next(iter(sight.get("pins", ())), None) or sight["marks"][0]["distance"]
    quantity = read_quantity(first, "length")
    return "metric" if isinstance(quantity, Quantity) and quantity.unit in {"m", "cm", "mm"} else "imperial"
