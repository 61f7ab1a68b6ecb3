"""What the handout's script works with: the trip's numbers and names, as plain data. Steps it reads off the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.arrival.causes import SPEED
from readiness.arrival.gates import CLOSE_UP, before_bare_shaft
from readiness.arrival.judging_data import CLOSE_UP_M, RULES, distance_text, judging_data, known_distances
from readiness.arrival.log import setup_hash
from readiness.filenames import safe_name
from readiness.render.html import plain
from readiness.showing import shown

if TYPE_CHECKING:
    from readiness.plan import Plan

CAMP_STAGES = ("arrival", "morning", "knock", "weather")  # run anew at each place


def handout_data(plan: Plan) -> dict[str, Any]:
    """The data that the page carries.

    Names stand twice where they may differ: as the log must write them, and as the page shows them.
    """
    units, bare = plan.units, plan.checks.bare_shaft
    trip = plan.trip
    return {
        "trip": trip.name,
        "key": plan.trip_sha256,
        "setup": setup_hash(trip),
        **({} if trip.hunter_id is None else {"client": trip.hunter_id}),
        "file": f"{safe_name(trip.hunter_id or trip.hunter_name or trip.name)}.log.jsonl",
        "version": plan.version,
        "unit": "in" if units == "imperial" else "cm",
        "rules": dict(RULES),
        "places": [{**place, "label": plain(place["name"])} for place in judging_data(plan)],
        "distances": [
            {"text": distance_text(distance, units), "label": shown(distance, "distance", units)}
            for distance in known_distances(trip, units)
        ],
        "heads": [{"name": head.name, "label": plain(head.name)} for head in trip.hunting_heads],
        "camp": list(CAMP_STAGES),
        "marks": list(plan.marks),
        "raised": [step.id for step in plan.raised_stops],
        "speed": _speed_stops(plan),
        "close_up": {
            "step": CLOSE_UP,
            "within": CLOSE_UP_M[units][1],
            "caution": plain(" ".join(one.text for one in before_bare_shaft(plan))),
        },
        "bare": None
        if bare is None
        else {"distance": bare.distance_m, "right": bare.right_m, "up": bare.up_m, "tolerance": bare.tolerance_m},
    }


def _speed_stops(plan: Plan) -> list[str]:
    """The stop steps that a change of speed leads to: limbs, string, cams."""
    led_to = dict(plan.causes).get(SPEED, ())
    return [step.id for step in plan.before_shooting if step.id in led_to]
