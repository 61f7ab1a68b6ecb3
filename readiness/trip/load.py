"""The one door for trip files: text in, trip and problems out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.documents import read_document
from readiness.problems import has_errors, sort_and_dedupe
from readiness.trip.build import build_trip
from readiness.trip.crosscheck import crosscheck
from readiness.trip.validate import trip_schema, validate

if TYPE_CHECKING:
    from datetime import date

    from readiness.problems import Problem
    from readiness.trip.model import Trip


class Loaded(NamedTuple):
    """A trip, or None where the file has errors; and every problem, sorted by place."""

    trip: Trip | None
    problems: tuple[Problem, ...]


def load_trip(text: str, name: str, today: date) -> Loaded:
    """Read a trip file.

    Parameters
    ----------
    text : the file's text, [text]
    name : its name for messages, [text]
    today : the day that warnings about age and dates count from

    Examples
    --------
    >>> from datetime import date
    >>> load_trip("format: 1", "trip.yaml", date(2027, 1, 1)).problems[0].message
    'arrow is missing here'

    """
    document, problems = read_document(text, name)
    if document is None:
        return Loaded(None, _mixed_up(name, None) or problems)
    problems = validate(document, trip_schema())
    problems = sort_and_dedupe((*problems, *crosscheck(document, problems, today)))
    if has_errors(problems):
        return Loaded(None, _mixed_up(name, document.data) or problems)
    return Loaded(build_trip(document.data), problems)


def _mixed_up(name: str, data: Any) -> tuple[Problem, ...]:
    from readiness.mixups import taken_for_trip

    return taken_for_trip(name, data)
