"""The plan and the packing list as numbered sheets for a table or a case lid: the same page elements, set by typst."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.render.glyphs import whose
from readiness.render.typeset import typeset

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from readiness.plan import Plan
    from readiness.render.elements import Page

PAPERS = {"letter": "us-letter", "a4": "a4"}
_USUAL = {"imperial": "letter", "metric": "a4"}


def sheet_bytes(
    plan: Plan, pages: Iterable[Page], *, form: str = "pdf", paper: str | None = None
) -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """Pages set on sheets, one after the other, each beginning a new sheet.

    Parameters
    ----------
    plan : the plan they are of: its trip, day and units
    pages : pages of elements
    form : pdf, png or svg
    paper : of PAPERS; by the units of the plan if left out

    Returns
    -------
    bytes of the PDF, or a list with the bytes of each sheet; and the characters that no font has

    """
    trip = plan.trip
    who = whose(trip.hunter_name, trip.hunter_id) if trip.hunter_name or trip.hunter_id else ""
    foot = ". ".join(filter(None, (trip.name, who, f"Made {plan.today}, readiness {plan.version}")))
    return pages_on_sheets(f"{trip.name}: plan", foot, pages, day=plan.today, units=plan.units, form=form, paper=paper)


def pages_on_sheets(
    title: str,
    foot: str,
    pages: Iterable[Page],
    *,
    day: date,
    units: str,
    form: str = "pdf",
    paper: str | None = None,
) -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """Pages of any kind on numbered sheets with a foot on each: Letter or A4, by the units where it is not said.

    Returns
    -------
    bytes of the PDF, or a list with the bytes of each sheet; and the characters that no font has

    """
    data = {
        "title": title,
        "paper": PAPERS[paper or _USUAL[units]],
        "foot": foot,
        "pages": [[_as_data(element) for element in page] for page in pages],
    }
    return typeset("sheet", data, form=form, day=day, dpi=200)


def _as_data(element: Any) -> dict[str, Any]:
    return {"kind": type(element).__name__, **element._asdict()}
