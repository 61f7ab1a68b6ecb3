"""The camp as the program sees it. What clients share stays as it was written: it is merged into each client's data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from readiness.documents import Document


class Bring(NamedTuple):
    """One thing that the camp asks its clients to bring."""

    item: str
    how_many: int
    bag: str
    why: str
    required: bool


class Camp(NamedTuple):
    """One camp file that has passed its checks."""

    name: str
    contact: str
    trip: dict[str, Any]
    places: list[Any]
    requirements: list[Any]
    on_site: dict[str, str]
    bring: tuple[Bring, ...]
    notes: tuple[str, ...]
    checklists: tuple[str, ...]
    clients: str | None
    document: Document


def words_of(camp: Camp) -> tuple[str, ...]:
    """What the camp says on every paper: who it is, what is on site, what it recommends, its notes."""
    said = [f"{camp.name}{f'. Contact: {camp.contact}' if camp.contact else ''}"]
    said += [f"On site, {what}: {words}" for what, words in camp.on_site.items()]
    if "butt" not in camp.on_site:
        said.append("The camp file names no butt: ask before you travel where the arrival arrows can be shot")
    recommended = [_asked(one) for one in camp.bring if not one.required]
    if recommended:
        said.append(f"The camp recommends: {'; '.join(recommended)}")
    return (*said, *camp.notes)


def _asked(one: Bring) -> str:
    count = f"{one.how_many} " if one.how_many > 1 else ""
    return f"{count}{one.item}{f' ({one.why})' if one.why else ''}"
