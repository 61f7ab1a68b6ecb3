"""The plan and the packing list as numbered sheets for a table or a case lid: the same page elements, set by typst."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.render.typeset import typeset

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.plan import Plan
    from readiness.render.elements import Page

_PAPER = {"imperial": "us-letter", "metric": "a4"}


def sheet_bytes(plan: Plan, pages: Iterable[Page], *, form: str = "pdf") -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """Pages set on sheets, one after the other, each beginning a new sheet.

    Parameters
    ----------
    plan : the plan they are of: its trip, day and units
    pages : pages of elements
    form : pdf, png or svg

    Returns
    -------
    bytes of the PDF, or a list with the bytes of each sheet; and the characters that no font has

    """
    trip = plan.trip
    who = ", ".join(filter(None, (trip.hunter_name, trip.hunter_id)))
    data = {
        "title": f"{trip.name}: plan",
        "paper": _PAPER[plan.units],
        "foot": ". ".join(filter(None, (trip.name, who, f"Made {plan.today}, readiness {plan.version}"))),
        "pages": [[_as_data(element) for element in page] for page in pages],
    }
    return typeset("sheet", data, form=form, day=plan.today, dpi=200)


def _as_data(element: Any) -> dict[str, Any]:
    return {"kind": type(element).__name__, **element._asdict()}
