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


# File name -> what makes it of a plan; plan.camp_words is what the camp says. The card goes here.
PAPERS: dict[str, Callable[[Plan], bytes]] = {
    "handout.html": _handout,
    "packing.txt": _packing,
    "plan.txt": _plan,
}
