"""Values out of a trip file's raw data that may be wrong anywhere: what is not there or faulty is None."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from readiness import units
from readiness.problems import Fault
from readiness.trip.validate import date_fault

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.documents import Document
    from readiness.problems import Problem


class Loose:
    """Reads values out of data that may be wrong anywhere: what is not there or faulty is None."""

    def __init__(self, document: Document, known: Iterable[Problem]) -> None:
        self._document = document
        self._bad = {(p.line, p.column) for p in known if p.severity == "error"}

    def raw(self, *path: str | int) -> Any:
        """The value as written."""
        value = self._document.data
        for step in path:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return None
        return None if self._document.place(path) in self._bad else value

    def si(self, dimension: str, *path: str | int) -> float | None:
        """A quantity in SI; of a range, its low end."""
        text = self.raw(*path)
        found = units.read_range(text, dimension) if isinstance(text, str) else None
        return found[0].si if isinstance(found, tuple) and not isinstance(found, Fault) else None

    def day(self, *path: str | int) -> date | None:
        """A date."""
        text = self.raw(*path)
        return date.fromisoformat(text) if isinstance(text, str) and not date_fault(text) else None

    def items(self, *path: str | int) -> range:
        """The indices of a list."""
        value = self.raw(*path)
        return range(len(value)) if isinstance(value, list) else range(0)
