"""The handout's sections that no other page has: stop steps with their state, packing ticks, causes in short."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness import stages
from readiness.arrival.causes import AIR, BAD_ARROW, FLIGHT, NAMES, SIDEWAYS, SIGHT, SPEED, SPREAD, VERTICAL
from readiness.packing import MISSING, NO_BAG, PACKED
from readiness.render.html import Html, joined, tag
from readiness.render.pages import stop_words

if TYPE_CHECKING:
    from readiness.packing import PackRow
    from readiness.plan import Plan, Step

_BAGS = {"body": "on you", "cabin": "carry-on", "checked": "checked", "vehicle": "truck"}
# How each cause shows itself: the first three grow as optics and flight say, the others are common practice, no source.
_SIGNS = {
    SIGHT: "every group off, in step with distance: twice as far, twice as much",
    SPEED: "high or low, with the square of distance: twice as far, 4 times as much",
    AIR: "high or low, with the cube of distance: twice as far, 8 times as much",
    VERTICAL: "bare shaft high or low of its own baseline; the fletched group may look right",
    SIDEWAYS: "bare shaft left or right of its own baseline; the fletched group may look right",
    FLIGHT: "only the broadheads are off",
    BAD_ARROW: "one numbered arrow lands apart, each time",
    SPREAD: "groups wider, their middle where it was",
}


def stops_section(plan: Plan) -> Html:
    """Every stop step, those of this trip's own troubles first, each with a link to its box."""
    return tag(
        "section",
        tag("h2", "STOP steps: no shot until each of these is so"),
        tag(
            "ul",
            *(_stop(step, f"NOW: {step.reason}") for step in plan.raised_stops),
            *(_stop(step, "") for step in plan.usual_stops),
        ),
        id="stops",
    )


def raised_section(plan: Plan) -> Html:
    """What stops this trip already stands before everything else; the script takes it away once it is solved."""
    if not plan.raised_stops:
        return Html("")
    told = (
        tag("p", tag("b", "STOP, no shot: "), stop_words(step), " ", tag("a", "Answer it", href=f"#{step.id}"))
        for step in plan.raised_stops
    )
    return tag("div", *told, class_="stop-now", id="raised", role="alert")


def _stop(step: Step, why: str) -> Html:
    stage = next(stage.title for stage in stages.ALL if stage.key == step.stage)
    link = tag("a", f"{stage}, {step.title.lower()}", href=f"#{step.id}")
    said = f" {step.expect} If not: {step.if_not} ({why})" if why else f" {step.expect}"
    return tag("li", link, tag("b", data_state=step.id), said)


def packing_section(plan: Plan) -> Html:
    """What to pack, missing first, each with a tick; what flies in no bag stands apart."""
    packing = plan.packing
    rows = [row for row in packing.rows if row.bag != NO_BAG or row.outcome != PACKED]
    stays = [row for row in packing.rows if row not in rows]
    own = [
        _tick(
            f"own-{i}",
            f"{one.line.how_many} {one.line.item}",
            f"your own; {_BAGS.get(one.line.bag or '', 'no bag stated')}. {one.warning}",
        )
        for i, one in enumerate(packing.own)
    ]
    told = "" if packing.compared else tag("p", "No gear is listed: this is the list to pack by.")
    leave = tag("ul", *(tag("li", f"{row.item}: {row.reason}") for row in stays))
    return tag(
        "section",
        tag("h2", "Packing list"),
        tag(
            "div",
            told,
            tag(
                "ul",
                *(_tick(row.id, f"{row.need} {row.item}", _goes(row, compared=packing.compared)) for row in rows),
                *own,
            ),
            joined(tag("h3", "Flies in no bag"), leave) if stays else "",
            class_="body",
        ),
        id="pack",
        class_="fold",
    )


def _tick(name: str, text: str, more: str) -> Html:
    box = tag("label", tag("input", type="checkbox", data_pack=name), tag("span", text))
    return tag("li", box, tag("small", more), class_="tick")


def _goes(row: PackRow, *, compared: bool) -> str:
    bags = ", ".join(f"{count} {_BAGS.get(bag, bag)}" for bag, count in row.bags)
    state = ""
    if compared and row.outcome != PACKED:
        short = f", you list {row.have}" if row.outcome == MISSING else ""
        state = f"{row.outcome.upper()}{short}. "
    return f"{state}{bags or _BAGS.get(row.bag, row.bag)}. {row.reason}"


def causes_section(plan: Plan) -> Html:
    """What moved, by what the arrows show, and which steps to look at, in order."""
    known = {step.id: step for step in plan.steps}
    led_to = dict(plan.causes)
    entries = []
    for cause, sign in _SIGNS.items():
        steps = [known[name] for name in led_to.get(cause, ()) if name in known]
        links = [joined(", " if i else " Look at: ", _to(step)) for i, step in enumerate(steps)]
        entries.append(tag("li", tag("b", f"{NAMES[cause]}: "), f"{sign}.", *links))
    return tag(
        "section",
        tag("h2", "What moved: the causes in short"),
        tag("div", tag("ul", *entries), class_="body"),
        id="causes",
        class_="fold",
    )


def _to(step: Step) -> Html:
    return tag("a", f"{'STOP ' if step.stop else ''}{step.title.lower()}", href=f"#{step.id}")
