"""Further faces of the field card: wind drift and slope, for each destination."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.fieldtables import MPH_M_S, SLOPES_DEG, WINDS_MPH, FieldTables, SlopeAim, field_tables
from readiness.showing import shown, shown_celsius, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.plan import Plan

Item = dict[str, Any]
_WIND = (
    "Drift, {}, with the wind, full from the side, the same all the way to the target. "
    "At 45 degrees about seven tenths of it. Gusts are not in it."
)
_SLOPE = (
    "Left: distance along the line of sight, not the rangefinder's level one. Below each: the miss with that pin "
    "itself, {}, high +. -: no level distance fits so near; hold as much lower as stands below."
)


def field_faces(plan: Plan, wanted: Sequence[str]) -> list[dict[str, Any]]:
    """The wind face, the slope face, or both."""
    tables = field_tables(plan.trip, plan.forecast)
    made = []
    offset = shown_unit("offset", plan.units)
    if "wind" in wanted:
        words = [_text(_WIND.format(offset))] if any(table.wind for table in tables) else []
        items = [item for table in tables for item in _wind(table, plan)]
        made.append({"title": "Wind drift", "closing": "Wind read", "items": words + items})
    if "slope" in wanted:
        words = [_text(_SLOPE.format(offset))] if any(table.slope for table in tables) else []
        items = [item for table in tables for item in _slope(table, plan)]
        made.append({"title": "Up and down hill", "closing": "Slope read", "items": words + items})
    return made


def _wind(table: FieldTables, plan: Plan) -> Iterator[Item]:
    units = plan.units
    distance = shown_unit("distance", units)
    yield {"kind": "head", "text": table.place, "small": _air(table, plan)}
    winds = [f"{mph} mph" if units == "imperial" else f"{mph * MPH_M_S:.1f} m/s" for mph in WINDS_MPH]
    if table.wind:
        yield _numbers(
            [distance, *winds],
            [
                [
                    shown(row.distance_m, "distance", units, unit=False),
                    *(shown(abs(drift), "offset", units, unit=False) for drift in row.drifts_m),
                ]
                for row in table.wind
            ],
        )
    yield from _too_far(table, plan)


def _slope(table: FieldTables, plan: Plan) -> Iterator[Item]:
    units = plan.units
    distance = shown_unit("distance", units)
    yield {"kind": "head", "text": table.place, "small": _air(table, plan)}
    for name, sides in (("Uphill", [r.uphill for r in table.slope]), ("Downhill", [r.downhill for r in table.slope])):
        if table.slope:
            yield {"kind": "head", "text": name, "small": f"aim as for this level distance, {distance}"}
            rows = [
                [shown(row.distance_m, "distance", units, unit=False), *(_aim(aim, plan) for aim in side)]
                for row, side in zip(table.slope, sides, strict=True)
            ]
            yield _numbers([distance, *(f"{slope}°" for slope in SLOPES_DEG)], rows)
    yield from _too_far(table, plan)


def _aim(aim: SlopeAim, plan: Plan) -> list[str]:
    level = "-" if aim.level_m is None else shown(aim.level_m, "exact distance", plan.units, unit=False)
    return [level, shown(aim.miss_m, "offset", plan.units, sign=True, unit=False)]


def _numbers(header: list[str], rows: list[list[Any]]) -> Item:
    columns = ["auto", *["1fr"] * (len(header) - 1)]
    return {
        "kind": "table",
        "columns": columns,
        "wide_only": [],
        "header": header,
        "rows": rows,
        "big": list(range(len(header))),
    }


def _text(text: str) -> Item:
    return {"kind": "text", "text": text}


def _air(table: FieldTables, plan: Plan) -> str:
    conditions = table.case.conditions
    temperature = shown_celsius(conditions.air.temperature_c, plan.units)
    coldest = ", the coldest" if table.case.label == "coldest" else ""
    return f"{shown(conditions.elevation_m, 'elevation', plan.units)}, {temperature}{coldest}"


def _too_far(table: FieldTables, plan: Plan) -> Iterator[Item]:
    if table.too_far_m:
        pins = ", ".join(shown(d, "distance", plan.units, unit=False) for d in table.too_far_m)
        spreads = plan.forecast.spreads
        why = f"farthest group {shown(spreads[-1][0], 'distance', plan.units)}" if spreads else "no group recorded"
        yield _text(f"{pins} {shown_unit('distance', plan.units)}: cannot tell: {why}.")
