"""Trip, forecast and verification -> the facts that are known. What is not known is left out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness import units
from readiness.answer import CARE
from readiness.trip.equipment_checks import HEAD_MASS_TOLERANCE_KG, grains_per_pound

if TYPE_CHECKING:
    from datetime import date

    from readiness.forecast import Forecast
    from readiness.trip.model import Trip
    from readiness.verification import Expectation, Verification

_SIXTEENTH_M = units.from_unit(1 / 16, "length", "in")


def known_facts(trip: Trip, forecast: Forecast, checks: Verification, today: date) -> dict[str, Any]:
    """Every fact that this trip lets one know, by name (readiness.rules.facts lists them)."""
    facts = {
        **_trip_facts(trip, today),
        **_place_facts(trip, forecast),
        **_bow_facts(trip, forecast),
        **_arrow_facts(trip, forecast),
        **_reference_facts(trip, forecast),
        **_bare_shaft_facts(trip, checks),
        **_check_facts(checks),
        **_advice_facts(forecast),
    }
    return {name: value for name, value in facts.items() if value is not None}


def _trip_facts(trip: Trip, today: date) -> dict[str, Any]:
    shop = trip.nearest_shop_s
    facts: dict[str, Any] = {
        "travel": trip.travel,
        "trip_days": (trip.ends - trip.starts).days + 1,
        "days_to_start": (trip.starts - today).days,
        "target_zone_m": trip.target_zone_m,
        "nearest_shop_h": None if shop is None else shop / 3600.0,
        "hand": trip.hand,
    }
    declared = dict(trip.declared)
    for name in ("powered sight", "lighted nock"):
        if name in declared:
            facts[name.replace(" ", "_")] = declared[name] in ("yes", True)
    if trip.hazards is not None:
        for hazard in ("bears", "tree stand", "riding"):
            facts[f"hazard_{hazard.replace(' ', '_')}"] = hazard in trip.hazards
    return facts


def _place_facts(trip: Trip, forecast: Forecast) -> dict[str, Any]:
    home, places = trip.home, trip.destinations
    changes = [place.elevation_m - home.elevation_m for place in places]
    density = forecast.home.air.density_kg_m3
    densities = [100.0 * (case.conditions.air.density_kg_m3 / density - 1.0) for _, case in forecast.cases]
    temperatures = [t for place in places for t in place.temperatures_c]
    spreads = [max(place.temperatures_c) - min(place.temperatures_c) for place in places if place.temperatures_c]
    low = min(temperatures, default=None)
    at_home = home.temperatures_c[0] if home.temperatures_c else None
    return {
        "destination_count": len(places),
        "elevation_change_m": max(changes, key=abs),
        "highest_elevation_m": max(place.elevation_m for place in places),
        "sleeping_elevation_m": max(
            place.elevation_m if place.sleeping_elevation_m is None else place.sleeping_elevation_m for place in places
        ),
        "density_change_pct": max(densities, key=abs),
        "temperature_low_c": low,
        "temperature_drop_c": None if low is None or at_home is None else at_home - low,
        "temperature_spread_c": max(spreads, default=None),
    }


def _bow_facts(trip: Trip, forecast: Forecast) -> dict[str, Any]:
    bow = trip.bow
    pins = bow.sight.pins_m
    return {
        "draw_weight_n": bow.draw_weight_n,
        "brace_height_m": bow.brace_height_m,
        "axle_to_axle_m": bow.axle_to_axle_m,
        "sight_kind": bow.sight.kind,
        "pin_count": len(pins),
        "near_pin_m": pins[0],
        "far_pin_m": pins[-1],
        "peep_slip_near_m": _SIXTEENTH_M * pins[0] / bow.sight.radius_m,
        "peep_slip_far_m": _SIXTEENTH_M * pins[-1] / bow.sight.radius_m,
        "far_miss_per_fps_m": forecast.cases[0][1].pins[-1].m_per_fps,
    }


def _arrow_facts(trip: Trip, forecast: Forecast) -> dict[str, Any]:
    arrow, hunting, points = trip.arrow, trip.hunting_heads, trip.field_points
    foc = forecast.arrow.foc
    differs = None
    if hunting and points:
        differs = any(
            min(abs(p.mass_kg - head.mass_kg) for p in points) > HEAD_MASS_TOLERANCE_KG * (1 + 1e-9) for head in hunting
        )
    return {
        "arrow_mass_kg": arrow.mass_kg,
        "arrow_speed_m_s": arrow.speed_m_s,
        "grains_per_pound": grains_per_pound(arrow.mass_kg, trip.bow.draw_weight_n),
        "foc_pct": None if foc is None else 100.0 * foc,
        "vane_turn": arrow.vane_turn,
        "drag_measured": bool(arrow.speed_readings),
        "hunting_head_count": len(hunting),
        "hunting_heads": ", ".join(head.name for head in hunting) or None,
        "mechanical_head_count": sum(head.kind == "mechanical" for head in hunting),
        "head_mass_differs": differs,
    }


def _reference_facts(trip: Trip, forecast: Forecast) -> dict[str, Any]:
    reference, spreads = trip.reference, forecast.spreads
    proven = {base.head for base in reference.broadheads}
    last_change = max((change.on for change in trip.changes), default=None)
    stale = None
    if reference.shot_on is not None:
        stale = last_change is not None and last_change > reference.shot_on
    return {
        "has_groups": bool(spreads),
        "group_distance_count": len(spreads),
        "longest_group_m": spreads[-1][0] if spreads else None,
        "has_bare_shaft_reference": reference.bare_shaft is not None,
        "has_broadhead_reference": bool(trip.hunting_heads) and all(head.name in proven for head in trip.hunting_heads),
        "broadhead_reference_count": len(reference.broadheads),
        "has_cold_first": bool(reference.cold_first),
        "cold_first_count": len(reference.cold_first),
        "has_witness_marks": bool(reference.marks),
        "witness_marks": ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in reference.marks) or None,
        "reference_stale": stale,
    }


def _bare_shaft_facts(trip: Trip, checks: Verification) -> dict[str, Any]:
    base, check = trip.reference.bare_shaft, checks.bare_shaft
    if base is None or check is None:
        return {}
    pairs = f"{base.pairs} pairs"
    return {
        "bare_shaft_distance_m": base.distance_m,
        "bare_shaft_clock": base.clock,
        "bare_shaft_offset_m": base.offset_m,
        "bare_shaft_where": (base.right_m, base.up_m),
        "bare_shaft_pairs": check.arrows,
        "bare_shaft_tolerance_m": check.tolerance_m,
        "bare_shaft_basis": check.basis,
        "bare_shaft_baseline": "3 pairs, assumed: the trip file does not say" if check.baseline_assumed else pairs,
    }


def _check_facts(checks: Verification) -> dict[str, Any]:
    facts: dict[str, Any] = {}
    for name, check in (("near_zero", checks.near_zero), ("far_zero", checks.far_zero)):
        if check is not None:
            facts[f"{name}_distance_m"] = check.distance_m
            facts[f"{name}_arrows"] = check.arrows
            facts[f"{name}_where"] = (check.right_m, check.up_m)
            facts[f"{name}_tolerance_m"] = check.tolerance_m
    facts["near_zero_home_tolerance_m"] = checks.near_zero.tolerance_m - checks.near_zero.slack_m
    facts["near_zero_basis"] = checks.near_zero.basis
    if checks.far_zero is not None:
        far = checks.far_zero
        growth = far.distance_m / checks.near_zero.distance_m
        facts["far_zero_forecast_m"] = far.forecast_m
        facts["far_growth_sight"], facts["far_growth_speed"], facts["far_growth_air"] = growth, growth**2, growth**3
        facts["far_zero_made_of"] = (_made_of(far),)
    if checks.broadheads:
        facts["broadhead_expectations"] = tuple(map(_as_phrase, checks.broadheads))
        facts["broadhead_arrows"] = checks.broadheads[0].arrows
    if checks.cold_first:
        facts["cold_first_expectations"] = tuple(map(_as_phrase, checks.cold_first))
    return facts


def _made_of(far: Expectation) -> tuple[Any, ...]:
    """The recorded middle and the air's part; where no middle was recorded it is said."""
    by_air = ((0.0, far.forecast_m), "where")
    if not far.middle_recorded:
        return ("No middle was recorded, so the aiming point stands in; the air makes it ", by_air)
    return ("Recorded ", ((far.right_m, far.up_m - far.forecast_m), "where"), "; the air adds ", by_air)


def _as_phrase(check: Expectation) -> tuple[Any, ...]:
    name = "at " if check.name == "cold first" else f"{check.name} at "
    place = ((check.right_m, check.up_m), "where")
    return (name, (check.distance_m, "distance"), " ", place, ", within ", (check.tolerance_m, "offset"))


def _advice_facts(forecast: Forecast) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "limit_home_m": forecast.limit_home_m,
        "limit_there_m": forecast.limit_there_m,
        "camp_arrows": forecast.arrows,
    }
    if forecast.spreads:
        by_pin = zip(*(case.pins for _, case in forecast.cases), strict=True)
        worst = [min((pin.advice for pin in pins), key=CARE.index) for pins in by_pin]
        for advice in ("move", "confirm", "leave"):
            facts[f"pins_to_{advice}"] = worst.count(advice)
    return facts
