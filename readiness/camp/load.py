"""The one door for camp files: text in, camp and problems out."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.camp.merge import Merged, merged
from readiness.camp.model import Bring, Camp
from readiness.documents import read_document
from readiness.mixups import taken_for_camp
from readiness.problems import has_errors, sort_and_dedupe
from readiness.trip.crosscheck import crosscheck
from readiness.trip.validate import trip_schema, validate

if TYPE_CHECKING:
    from datetime import date

    from readiness.documents import Document
    from readiness.problems import Problem

CAMP_SCHEMA_FILE = Path(__file__).parent / "camp.schema.json"


class LoadedCamp(NamedTuple):
    """A camp, or None where the file has errors; and every problem, sorted by place."""

    camp: Camp | None
    problems: tuple[Problem, ...]


@lru_cache(maxsize=1)
def camp_schema() -> dict[str, Any]:
    """The camp file's JSON Schema (draft 2020-12); what it shares with trip files is taken from theirs."""
    schema: dict[str, Any] = json.loads(CAMP_SCHEMA_FILE.read_text(encoding="utf-8"))
    own, trip = schema["properties"], trip_schema()["properties"]
    own["trip"]["properties"] = trip["trip"]["properties"]
    own["places"] = trip["destinations"] | {"description": "where the bow will be shot, the same for every client"}
    own["requirements"] = trip["requirements"] | {
        "description": "copied by you from the current regulations of the place; they join each client's own"
    }
    return schema


def load_camp(text: str, name: str, today: date) -> LoadedCamp:
    r"""Read a camp file.

    Parameters
    ----------
    text : the file's text, [text]
    name : its name for messages, [text]
    today : the day that warnings about age and dates count from

    Examples
    --------
    >>> from datetime import date
    >>> load_camp("format: 1\ncamp: {name: Ford camp}\nplace: []", "camp.yaml", date(2027, 1, 1)).problems[0].hint
    'add places:'

    """
    document, problems = read_document(text, name)
    if document is None:
        return LoadedCamp(None, taken_for_camp(name, None) or problems)
    problems = validate(document, camp_schema())
    as_trip = merged(None, document)
    problems = sort_and_dedupe((*problems, *crosscheck(as_trip, problems, today)))
    if has_errors(problems):
        return LoadedCamp(None, taken_for_camp(name, document.data) or problems)
    return LoadedCamp(_build(document, as_trip), problems)


def _build(document: Document, as_trip: Merged) -> Camp:
    data = document.data
    bring = data.get("bring", {})
    return Camp(
        name=data["camp"]["name"],
        contact=data["camp"].get("contact", ""),
        trip=as_trip.data["trip"],
        places=data["places"],
        requirements=data.get("requirements", []),
        on_site=data.get("on_site", {}),
        bring=tuple(_bring(one, kind) for kind in ("required", "recommended") for one in bring.get(kind, ())),
        notes=tuple(data.get("notes", ())),
        checklists=tuple(data.get("checklists", ())),
        clients=data.get("clients"),
        document=document,
    )


def _bring(one: dict[str, Any], kind: str) -> Bring:
    return Bring(one["item"], one.get("count", 1), one.get("bag", "checked"), one.get("why", ""), kind == "required")
