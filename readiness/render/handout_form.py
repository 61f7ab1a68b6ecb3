"""The handout's return form: what an outfitter asks back. The script stores it, and it leaves with the log.

A field's name is its key in the record; a unit in data-unit stands behind its number there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.render.html import Html, tag

if TYPE_CHECKING:
    from readiness.plan import Plan

_DISTANCES = {"yd": ("2", "200"), "m": ("2", "182")}  # inside the limits of log.schema.json
_SIZES = {"in": "60", "cm": "152"}


def form_section(plan: Plan) -> Html:
    """The fields, to whom they go, and a button that saves the log with them."""
    far, wide = ("yd", "in") if plan.units == "imperial" else ("m", "cm")
    to = f"Send the saved file to {plan.camp_words[0]}. " if plan.camp_words else "For an outfitter who asks for it. "
    return tag(
        "section",
        tag("h2", "Return form"),
        tag(
            "div",
            tag("p", to, "No question of health stands here: that is between you and a clinician."),
            tag(
                "form",
                _distance("verified_distance", f"Proven with the hunting arrow and head as far as, {far} ", far),
                _group("near_group", "Near group", far, wide),
                _group("far_group", "Far group", far, wide),
                _number("draw_weight", "Draw weight, measured, lb ", "lb", "15", "120"),
                tag("label", "Heads ", tag("input", name="heads", maxlength="200", autocomplete="off")),
                _yes_no("second_release", "A second release comes along "),
                _yes_no("education_number_seen", "Hunter education number seen "),
                tag(
                    "label",
                    "Bow checked by a technician on ",
                    tag("input", type="date", name="technician_checked_on", min="1990-01-01"),
                ),
                tag("p", id="form-note", role="status"),
                tag("button", "Save the log with this form", class_="main"),
                tag("p", id="form-saved", class_="note", role="status"),
                id="return",
            ),
            class_="body",
        ),
        id="form",
        class_="fold",
    )


def _group(name: str, title: str, far: str, wide: str) -> Html:
    arrows = tag("input", type="number", name=f"{name}.arrows", min="2", max="100")
    return tag(
        "fieldset",
        tag("legend", title),
        tag("label", "Arrows ", arrows),
        _number(f"{name}.size", f"Widest, {wide} ", wide, "0", _SIZES[wide]),
        _distance(f"{name}.distance", f"Distance, {far} ", far),
    )


def _distance(name: str, label: str, unit: str) -> Html:
    return _number(name, label, unit, *_DISTANCES[unit])


def _number(name: str, label: str, unit: str, least: str, most: str) -> Html:
    field = tag("input", type="number", name=name, step="0.1", min=least, max=most, data_unit=unit)
    return tag("label", label, field)


def _yes_no(name: str, label: str) -> Html:
    options = (tag("option", "", value=""), tag("option", "yes"), tag("option", "no"))
    return tag("label", label, tag("select", *options, name=name))
