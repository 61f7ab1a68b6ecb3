"""The handout's sections that its script brings to life: arrows on a target, a clock face, the log carried home."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.arrival.gates import before_bare_shaft
from readiness.arrival.judging_data import known_distances
from readiness.groups import SAME_DISTANCE_M
from readiness.render.html import Html, joined, tag
from readiness.render.html_elements import caution
from readiness.render.pages import warned
from readiness.showing import shown

if TYPE_CHECKING:
    from readiness.plan import Plan

# Half the width that the target picture shows, narrow to wide.
_ZOOMS = {"imperial": ("3", "6", "12", "24", "60"), "metric": ("9", "15", "30", "60", "150")}
_FIRST_ZOOM = 1


def arrows_section(plan: Plan) -> Html:
    """Where arrows are entered and judged. What must be read before stands first; the script hides the entry."""
    return tag(
        "section",
        tag("h2", "Arrows: enter them, judged on the spot"),
        tag(
            "div",
            *(caution(*warned(one)) for one in before_bare_shaft(plan)),
            tag("p", tag("b", "Put the bow back to its marks first. The sight comes last."), id="order"),
            tag("p", id="unanswered"),
            tag("div", _entry(plan), class_="shoot"),
            tag("h3", "What the arrows say", id="says", tabindex="-1"),
            tag("div", tag("p", "No arrow yet."), id="verdicts", role="status"),
            tag("h3", "Judged groups"),
            tag("ol", id="groups"),
            _change(),
            tag("div", _clock(plan), class_="shoot"),
            class_="body",
        ),
        id="butt",
        class_="fold",
    )


def _entry(plan: Plan) -> Html:
    """One arrow after the other: where, what, and how far off the aiming point."""
    distances = known_distances(plan.trip, plan.units)
    near = plan.trip.bow.sight.pins_m[0]
    at = [
        tag("option", shown(d, "distance", plan.units), value=str(i), selected=abs(d - near) < SAME_DISTANCE_M)
        for i, d in enumerate(distances)
    ]
    kinds = [tag("option", "fletched", value="fletched"), tag("option", "bare shaft", value="bare")]
    kinds += [
        tag("option", f"broadhead: {head.name}", value=f"head{i}") for i, head in enumerate(plan.trip.hunting_heads)
    ]
    return tag(
        "form",
        tag("h3", "Enter arrows"),
        tag("p", id="here"),
        tag(
            "div",
            tag("label", "Distance ", tag("select", *at, id="distance")),
            tag("label", "Kind ", tag("select", *kinds, id="kind")),
            tag("label", tag("input", type="checkbox", id="cold"), "First arrow of the day (cold)"),
            tag("label", "Number on the arrow ", _number("arrow", "1", minimum="1", maximum="999")),
            class_="fields",
        ),
        tag("p", id="kind-note", role="status"),
        _picture(plan),
        _place_fields(plan),
        tag("p", id="draft-note", role="status"),
        tag("ol", id="draft"),
        tag("button", "Finish: judge these arrows", type="button", id="finish", class_="main"),
        id="entry",
    )


def _picture(plan: Plan) -> Html:
    unit = "in" if plan.units == "imperial" else "cm"
    zooms = [
        tag("option", f"{half} {unit} each way", value=half, selected=i == _FIRST_ZOOM)
        for i, half in enumerate(_ZOOMS[plan.units])
    ]
    return joined(
        tag("label", "The picture shows ", tag("select", *zooms, id="zoom")),
        tag(
            "p",
            "Tap where it stuck, as you see the target. Or move the cross with the arrow keys (Shift: by 10) and "
            "press Enter.",
            id="target-help",
        ),
        tag(
            "div",
            id="target",
            class_="pad",
            tabindex="0",
            role="application",
            aria_label="Target picture",
            aria_describedby="target-help",
        ),
    )


def _place_fields(plan: Plan) -> Html:
    """The same by numbers, and what an arrow can do besides landing on the butt."""
    unit = "in" if plan.units == "imperial" else "cm"
    return tag(
        "div",
        tag(
            "div",
            tag("label", "Sideways ", _number("right", "0.1")),
            _sides("right-side", "Which side", f"{unit} right", f"{unit} left"),
        ),
        tag(
            "div",
            tag("label", "Height ", _number("up", "0.1")),
            _sides("up-side", "High or low", f"{unit} high", f"{unit} low"),
        ),
        tag("button", "Add arrow", id="add"),
        tag("button", "Outside the butt", type="button", id="outside"),
        tag("button", "Undo last arrow", type="button", id="undo"),
        class_="fields",
    )


def _number(name: str, step: str, minimum: str | None = None, maximum: str | None = None) -> Html:
    return tag(
        "input", type="number", id=name, step=step, min=minimum, max=maximum, inputmode="decimal", autocomplete="off"
    )


def _sides(name: str, about: str, plus: str, minus: str) -> Html:
    return tag("select", tag("option", plus, value="1"), tag("option", minus, value="-1"), id=name, aria_label=about)


def _clock(plan: Plan) -> Html:
    """The bare shaft by clock and offset, without an entry in the log."""
    bare = plan.checks.bare_shaft
    if bare is None:
        return tag("p", "No bare-shaft reference is recorded, so a bare shaft has nothing to be held against.")
    unit = "in" if plan.units == "imperial" else "cm"
    at = shown(bare.distance_m, "distance", plan.units)
    return tag(
        "form",
        tag("h3", "Bare shaft by the clock, at a glance"),
        tag(
            "p",
            f"From the middle of {bare.arrows} fletched to the middle of {bare.arrows} bare at {at}. Tap the face, or "
            "type. Nothing of this is logged: enter the arrows above for that.",
            id="clock-help",
        ),
        tag(
            "div",
            id="clock",
            class_="pad",
            tabindex="0",
            role="application",
            aria_label="Clock face",
            aria_describedby="clock-help",
        ),
        tag(
            "div",
            tag("label", "Clock, hour ", _number("hour", "1", "1", "12")),
            tag("label", "minutes ", _number("minutes", "1", "0", "59")),
            tag("label", f"Offset, {unit} ", _number("offset", "0.1", "0")),
            class_="fields",
        ),
        tag("p", id="clock-says", role="status"),
        id="clock-form",
    )


def _change() -> Html:
    return tag(
        "form",
        tag("h3", "Put something back, or changed it?"),
        tag(
            "p",
            'Say what, and of the sight in English: "sight moved", "peep back". Other words count as a change to the '
            "bow. The arrows before it are then judged no more: shoot again.",
        ),
        tag(
            "div",
            tag("label", "What ", tag("input", id="what", maxlength="300", autocomplete="off")),
            tag("button", "Log the change"),
            class_="fields",
        ),
        id="change",
    )


def carry_section() -> Html:
    """The log out of the browser and into it."""
    return tag(
        "section",
        tag("h2", "Carry it home"),
        tag(
            "div",
            tag(
                "p",
                "The log holds the arrows, the changes and the answers to steps; packing ticks stay here. At home: "
                "readiness log TRIP --import FILE, then readiness assess TRIP.",
            ),
            tag("button", "Save the log as a file", type="button", id="export", class_="main"),
            tag("p", id="carry-note", class_="note", role="status"),
            tag("label", "Take in a log file ", tag("input", type="file", id="import")),
            tag(
                "label",
                "The log as text, to copy or to paste ",
                tag("textarea", id="text", rows="4", spellcheck="false"),
            ),
            tag(
                "div",
                tag("button", "Show the log as text", type="button", id="show-text"),
                tag("button", "Take in this text", type="button", id="take-text"),
                tag("button", "Clear everything here", type="button", id="clear"),
                class_="fields",
            ),
            class_="body",
        ),
        id="carry",
        class_="fold",
    )
