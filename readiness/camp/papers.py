"""The papers that go into each client's folder. A new one is a line in PAPERS."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.plan import Plan


def _packing(plan: Plan) -> bytes:
    from readiness.render.kit import packing_page
    from readiness.render.pages import camp_elements
    from readiness.render.text import to_text

    title, *rest = packing_page(plan.trip, plan.packing)
    return to_text((title, *camp_elements(plan), *rest)).encode("utf-8")


def _plan(plan: Plan) -> bytes:
    from readiness.render.pages import plan_page
    from readiness.render.text import to_text

    return to_text(plan_page(plan)).encode("utf-8")


def _handout(plan: Plan) -> bytes:
    from readiness.render.handout import handout_html

    return handout_html(plan).encode("utf-8")


def _card(plan: Plan) -> bytes:
    """Several on a sheet, to be cut: an outfitter prints on Letter or A4."""
    from readiness.render.card import card_bytes

    size = "letter" if plan.units == "imperial" else "a4"
    made, _ = card_bytes(plan, size=size)
    assert isinstance(made, bytes)
    return made


def unprintable(plan: Plan) -> tuple[str, ...]:
    """The characters of a client's names that no font of the card has: they stand on it as numbers."""
    from readiness.render.glyphs import paper_text

    trip = plan.trip
    names = (trip.name, trip.hunter_name, trip.hunter_id, trip.home.name, *(place.name for place in trip.destinations))
    return paper_text(" ".join((*filter(None, names), *(head.name for head in trip.heads))))[1]


# File name -> what makes it of a plan; plan.camp_words is what the camp says.
PAPERS: dict[str, Callable[[Plan], bytes]] = {
    "card.pdf": _card,
    "handout.html": _handout,
    "packing.txt": _packing,
    "plan.txt": _plan,
}
