"""A plan as data: the JSON keys that are promised to users, and the pin table as CSV."""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING, Any

from readiness.rules.packs import BAGS
from readiness.spreadsheet import as_cell
from readiness.units import to_unit

if TYPE_CHECKING:
    from readiness.conditions import Conditions
    from readiness.forecast import Case
    from readiness.packing import OwnItem, PackingList
    from readiness.pinshift import PinForecast
    from readiness.plan import Plan
    from readiness.problems import Problem
    from readiness.readying import Readiness
    from readiness.rules.packs import Pack
    from readiness.rulings import Ruling
    from readiness.trip.model import Trip


def to_json(data: Any) -> str:
    """Data as JSON text; a number that is no number would be our fault, not output."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def plan_data(plan: Plan) -> dict[str, Any]:
    """The plan with the promised keys."""
    step_keys = (
        "id",
        "stage",
        "block",
        "title",
        "do",
        "expect",
        "if_not",
        "stop",
        "outcome",
        "reason",
        "basis",
        "source",
        "pack",
    )
    return {
        "trip": plan.trip.name,
        "steps": [{key: getattr(step, key) for key in step_keys} for step in plan.steps],
        "cautions": [
            {
                "id": caution.id,
                "text": caution.text,
                "source": caution.source,
                "basis": caution.basis,
                "stages": list(caution.stages),
                "before": list(caution.before),
                "outcome": caution.outcome,
                "reason": caution.reason,
            }
            for caution in plan.cautions
            if caution.is_shown
        ],
        "answers": [{"place": answer.place, "sentences": list(answer.sentences)} for answer in plan.answers],
        "pins": pins_data(plan),
        "provenance": {
            "version": plan.version,
            "packs": [{"pack": name, "version": version} for name, version in plan.packs],
            "trip_sha256": plan.trip_sha256,
        },
    }


def pins_data(plan: Plan) -> dict[str, Any]:
    """The forecast with the promised keys."""
    forecast, arrow = plan.forecast, plan.forecast.arrow
    return {
        "trip": plan.trip.name,
        "home": {
            "name": forecast.home_name,
            "air": _air(forecast.home),
            "gravity_m_s2": forecast.home.gravity_m_s2,
        },
        "limit_yd": {"home": _yards(forecast.limit_home_m), "there": _yards(forecast.limit_there_m)},
        "arrow": {
            "drag_coefficient": arrow.ballistics.drag_coefficient,
            "drag_source": arrow.ballistics.drag_source,
            "speed_m_s": arrow.ballistics.speed_m_s,
            "foc_pct": None if arrow.foc is None else 100.0 * arrow.foc,
            "kinetic_energy_j": arrow.kinetic_energy_j,
            "momentum_kg_m_s": arrow.momentum_kg_m_s,
            "drag_sd": arrow.ballistics.drag_sd,
            "speed_sd_m_s": arrow.ballistics.speed_sd_m_s,
            "reynolds": arrow.reynolds,
            "drag_extrapolated": arrow.drag_extrapolated,
        },
        "destinations": [
            {
                "name": destination.name,
                "gravity_m_s2": destination.gravity_m_s2,
                "cases": [_case(case) for case in destination.cases],
            }
            for destination in forecast.destinations
        ],
    }


def pins_csv(plan: Plan) -> str:
    """The pin table as CSV: a row for each place, case and pin. A cell that begins like a formula is quoted."""
    out = io.StringIO()
    writer: Any = None
    for place, case in plan.forecast.cases:
        for pin in case.pins:
            row = {"place": as_cell(place), "case": case.label, **_pin(pin)}
            row.update(row.pop("because"))
            if writer is None:
                writer = csv.DictWriter(out, fieldnames=list(row), lineterminator="\n")
                writer.writeheader()
            writer.writerow(row)
    return out.getvalue()


def _air(at: Conditions) -> dict[str, float]:
    air = at.air
    return {
        "pressure_pa": air.pressure_pa,
        "temperature_c": air.temperature_c,
        "relative_humidity": air.relative_humidity,
        "density_kg_m3": air.density_kg_m3,
        "density_altitude_ft": to_unit(air.density_altitude_m, "length", "ft"),
    }


def _case(case: Case) -> dict[str, Any]:
    return {"label": case.label, "air": _air(case.conditions), "pins": [_pin(pin) for pin in case.pins]}


def _pin(pin: PinForecast) -> dict[str, Any]:
    return {
        "distance_m": pin.distance_m,
        "distance_yd": _yards(pin.distance_m),
        "shift_in": _inches(pin.shift_m),
        "shift_low_in": _inches(pin.shift_low_m),
        "shift_high_in": _inches(pin.shift_high_m),
        "sight_move_in": _inches(pin.sight_move_m),
        "equivalent_distance_yd": _yards(pin.equivalent_distance_m),
        "sigma_in": _inches(pin.sigma_m),
        "in_zone_home": pin.in_zone_home,
        "in_zone_there": pin.in_zone_there,
        "inch_per_fps": _inches(pin.m_per_fps),
        "advice": pin.advice,
        "arrows_to_see": pin.arrows_to_see,
        "because": {name.replace("_m", "_in"): _inches(value) for name, value in pin.because._asdict().items()},
    }


def _inches(value_m: float | None) -> float | None:
    return None if value_m is None else to_unit(value_m, "length", "in")


def _yards(value_m: float | None) -> float | None:
    return None if value_m is None else to_unit(value_m, "length", "yd")


def check_data(found: Readiness, problems: tuple[Problem, ...]) -> dict[str, Any]:
    """What `check` found."""
    return {
        "trip": found.trip.name,
        "ready": not found.waiting,
        "waiting": list(found.waiting),
        "requirements": [_ruling(ruling) for ruling in found.rulings],
        "doubts": list(found.doubts),
        "problems": [problem.as_dict() for problem in problems],
        "left_out": [{"missing": gap.missing, "costs": gap.costs} for gap in found.gaps],
    }


def _ruling(ruling: Ruling) -> dict[str, Any]:
    requirement = ruling.requirement
    return {
        "topic": requirement.topic,
        "rule": requirement.rule,
        "outcome": ruling.outcome,
        "because": ruling.because,
        "source": requirement.source,
        "read_on": str(requirement.read_on),
        "edition": requirement.edition,
        "place": requirement.place,
        "applies_to": requirement.applies_to,
        "recheck_by": str(ruling.recheck_by),
        "notes": list(ruling.notes),
        "superseded": ruling.superseded,
    }


def packing_data(trip: Trip, packing: PackingList) -> dict[str, Any]:
    """The packing list with the promised keys."""
    return {
        "trip": trip.name,
        "compared": packing.compared,
        "items": [
            {
                "id": row.id,
                "item": row.item,
                "need": row.need,
                "have": row.have,
                "bag": row.bag,
                "bags": dict(row.bags),
                "is_in": dict(row.places),
                "outcome": row.outcome,
                "reason": row.reason,
                "source": row.source,
            }
            for row in packing.rows
        ]
        + [_own_row(own, "cabin" if trip.travel == "air" else "vehicle") for own in packing.own],
        "own": [
            {"item": own.line.item, "have": own.line.how_many, "bag": own.line.bag, "did_you_mean": own.close}
            for own in packing.own
        ],
        "cases": [{"item": case.item, "outcome": case.outcome, "reason": case.reason} for case in packing.cases],
    }


def _own_row(own: OwnItem, usual: str) -> dict[str, Any]:
    """A gear line that no item matches, as a row: nothing of it is needed, and it stays where its user put it."""
    bag = own.line.bag or usual
    asked = f"; did you mean {own.close}?" if own.close else ""
    return {
        "id": None,
        "item": own.line.item,
        "need": 0,
        "have": own.line.how_many,
        "bag": bag,
        "bags": {},
        "is_in": {own.line.bag or "not stated": own.line.how_many},
        "outcome": "wrong bag" if own.warning else "packed",
        "reason": f"your own, which this list does not know{asked}{f'; {own.warning}' if own.warning else ''}",
        "source": "the trip file",
    }


def packing_csv(packing: PackingList) -> str:
    """The packing list as CSV: a row for each item."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("item", "need", "have", "body", "cabin", "checked", "vehicle", "outcome", "reason", "source"))
    for row in packing.rows:
        split = dict(row.bags)
        bags = (split.get(bag, 0) for bag in BAGS)
        writer.writerow(
            (as_cell(row.item), row.need, row.have, *bags, row.outcome, as_cell(row.reason), as_cell(row.source))
        )
    for own in packing.own:
        outcome = "wrong bag" if own.warning else "packed"
        writer.writerow(
            (as_cell(own.line.item), 0, own.line.how_many, 0, 0, 0, 0, outcome, own.warning, "the trip file")
        )
    return out.getvalue()


def lint_data(packs: tuple[Pack, ...], problems: tuple[Problem, ...]) -> dict[str, Any]:
    """What `lint` found."""
    return {
        "packs": [
            {
                "pack": pack.name,
                "version": pack.version,
                "file": pack.document.name,
                "rules": len(pack.rules),
                "cautions": len(pack.cautions),
            }
            for pack in packs
        ],
        "problems": [problem.as_dict() for problem in problems],
    }
