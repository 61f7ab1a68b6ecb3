"""The papers that go into each client's folder. A new one is a line in PAPERS."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.plan import Plan


class PaperData(NamedTuple):
    """What papers are made of: a client's plan, with what the camp says, and what stands on the card."""

    plan: Plan
    card: dict[str, Any]


def paper_data_of(plan: Plan) -> PaperData:
    """What a client's papers are made of. Several cards go on a sheet: an outfitter prints on Letter or A4."""
    from readiness.render.card import card_on_paper

    return PaperData(plan, card_on_paper(plan, size="letter" if plan.units == "imperial" else "a4"))


def _packing(data: PaperData) -> bytes:
    from readiness.render.kit import packing_page
    from readiness.render.pages import camp_elements
    from readiness.render.text import to_text

    title, *rest = packing_page(data.plan.trip, data.plan.packing)
    return to_text((title, *camp_elements(data.plan), *rest)).encode("utf-8")


def _handout(data: PaperData) -> bytes:
    from readiness.render.handout import handout_html

    return handout_html(data.plan).encode("utf-8")


def unprintable(plan: Plan) -> tuple[str, ...]:
    """The characters of a client's names that no font of the card has: they stand on it as numbers."""
    from readiness.render.glyphs import paper_text

    trip = plan.trip
    names = (trip.name, trip.hunter_name, trip.hunter_id, trip.home.name, *(place.name for place in trip.destinations))
    return paper_text(" ".join((*filter(None, names), *(head.name for head in trip.heads))))[1]


def _card(data: PaperData) -> bytes:
    from readiness.render.card import set_card

    made, _ = set_card(data.card, data.plan.today)
    assert isinstance(made, bytes)
    return made


# File name -> what makes it.
PAPERS: dict[str, Callable[[PaperData], bytes]] = {
    "card.pdf": _card,
    "handout.html": _handout,
    "packing.txt": _packing,
}
