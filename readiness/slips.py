"""Gear under a name that is like one of the packing list's and is none: a warning at its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.problems import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from readiness.documents import Document
    from readiness.packing import PackingList
    from readiness.problems import Problem
    from readiness.rules.packs import Pack
    from readiness.trip.model import GearItem


def gear_slips(document: Document, gear: Iterable[GearItem], packing: PackingList) -> Iterator[Problem]:
    """A warning for each gear line that counts for no item, and whose name is near an item's.

    Parameters
    ----------
    document : what the trip was read from, for the places
    gear : the trip's gear lines, in the order of the document
    packing : the packing list that they were compared with

    """
    meant = {own.line.item: own.close for own in packing.own if own.close}
    for index, line in enumerate(gear):
        if line.item in meant:
            message = f"the packing list does not know {line.item!r}, so it counts for nothing there"
            hint = f"did you mean {meant[line.item]}?"
            yield document.problem(("gear", index, "item"), Fault("unknown-item", message, hint, "warning"))


def item_names(packs: Iterable[Pack]) -> tuple[str, ...]:
    """The names that the packing list knows, by letter; in brackets what else each may be called."""
    items = sorted((item for pack in packs for item in pack.items), key=lambda item: item.item.casefold())
    return tuple(f"{item.item} ({', '.join(item.aliases)})" if item.aliases else item.item for item in items)
