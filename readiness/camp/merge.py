"""A client's data with the camp's: one complete trip document, in which every value knows whose file it stands in.

Of `trip`, the client's name, starts, ends, travel and target_zone win; nearest_shop is the camp's where it has one,
and hazards of both count: neither a client nor a camp takes a danger off the other's list. Destinations are the
camp's. Requirements of both count, the camp's first. All else is the client's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from readiness.documents import Document
from readiness.problems import Fault, Problem, has_errors, sort_and_dedupe
from readiness.trip.build import build_trip
from readiness.trip.crosscheck import crosscheck
from readiness.trip.load import Loaded
from readiness.trip.validate import trip_schema, validate

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from readiness.documents import Path
    from readiness.nodes import Place

_CAMP_WINS = ("nearest_shop",)
_NOWHERE = (0, 0)  # no error of a client's file stands there
Owner = tuple[str, int]  # camp or client, and the index in their own list


@dataclass(frozen=True)
class Merged(Document):
    """A client's document merged with a camp's; without a client, the camp's own part as a trip document."""

    client: Document | None
    camp: Document
    trip_of_camp: frozenset[str]
    hazards: tuple[Owner, ...]
    requirements: tuple[Owner, ...]
    told: frozenset[Problem] = frozenset()  # of the camp file alone: they stay at their place in it

    def problem(self, path: Path, fault: Fault, *, at_key: bool = False) -> Problem:
        """A fault at its place in the file that it stands in; one that only this client has, in the client's."""
        owner, own_path = self._origin(path)
        if owner is not self.camp or self.client is None:
            return owner.problem(own_path, fault, at_key=at_key)
        in_camp = self.camp.problem(own_path, fault, at_key=at_key)
        if in_camp in self.told or fault.severity == "warning":
            return in_camp
        hint = f"{fault.hint}; the other value is the camp's, {self.camp.name}:{in_camp.line}:{in_camp.column}"
        return self.client.problem(path[:1], fault._replace(hint=hint), at_key=True)

    def place(self, path: Path, *, at_key: bool = False) -> Place:
        """The place in the client's file; nowhere for what comes from the camp."""
        owner, own_path = self._origin(path)
        if owner is self.camp and self.client is not None:
            return _NOWHERE
        return owner.place(own_path, at_key=at_key)

    def _origin(self, path: Path) -> tuple[Document, Path]:
        client = self.client or self.camp
        match path:
            case ("destinations", *rest):
                return self.camp, ("places", *rest)
            case ("trip", "hazards", int(index), *rest) if index < len(self.hazards):
                owner, own = self.hazards[index]
                return (self.camp if owner == "camp" else client), ("trip", "hazards", own, *rest)
            case ("trip", str(key), *_) if key in self.trip_of_camp:
                return self.camp, (("camp", "name") if key == "name" and not self._names_trip else path)
            case ("requirements", int(index), *rest) if index < len(self.requirements):
                owner, own = self.requirements[index]
                return (self.camp if owner == "camp" else client), ("requirements", own, *rest)
        return client, path

    @property
    def _names_trip(self) -> bool:
        trip = self.camp.data.get("trip")
        return isinstance(trip, dict) and "name" in trip


def merged(client: Document | None, camp: Document, told: Iterable[Problem] = ()) -> Merged:
    """A client's document merged with the camp's; either may be wrong anywhere, and stays wrong at its place."""
    theirs = client.data if client is not None else {}
    shared = camp.data if isinstance(camp.data, dict) else {}
    if not isinstance(theirs, dict):
        return Merged(client.name, client.text, theirs, client, camp, frozenset(), (), ())  # type: ignore[union-attr]
    data = dict(theirs)
    trip, from_camp, hazards = _trip(theirs.get("trip", {}), _trip_of_camp(shared))
    requirements, owners = _joined(shared.get("requirements", []), theirs.get("requirements", []))
    data["trip"] = trip
    data["destinations"] = shared.get("places", [])
    if owners or "requirements" in theirs:
        data["requirements"] = requirements
    source = client or camp
    return Merged(source.name, source.text, data, client, camp, from_camp, hazards, owners, frozenset(told))


def load_client(client: Document, camp: Document, told: Iterable[Problem], today: date) -> Loaded:
    """The trip of a client at a camp, or None where the client's file has errors; and every problem.

    told are the camp file's own problems: they are not repeated.
    """
    told = frozenset(told)
    document = merged(client, camp, told)
    problems = validate(document, trip_schema())
    problems = sort_and_dedupe((*problems, *crosscheck(document, problems, today), *_unused(client, camp)))
    own = tuple(problem for problem in problems if problem not in told)
    return Loaded(None if has_errors(own) else build_trip(document.data), own)


def _unused(client: Document, camp: Document) -> Iterable[Problem]:
    """Destinations of a client's own, which the camp's places replace."""
    if isinstance(client.data, dict) and client.data.get("destinations", camp.data["places"]) != camp.data["places"]:
        fault = Fault(
            "camp-places",
            "the camp's places are used instead of these",
            "delete them, or plan this trip alone",
            "warning",
        )
        yield client.problem(("destinations",), fault, at_key=True)


def _trip_of_camp(camp: dict[str, Any]) -> dict[str, Any]:
    """The camp's trip, named as the camp where it has no name of its own."""
    named = camp.get("camp")
    trip = camp.get("trip", {})
    name = {"name": named["name"]} if isinstance(named, dict) and "name" in named else {}
    return name | trip if isinstance(trip, dict) else name


def _trip(theirs: Any, camps: dict[str, Any]) -> tuple[Any, frozenset[str], tuple[Owner, ...]]:
    """The merged trip, the keys that are the camp's, and whose each hazard is."""
    if not isinstance(theirs, dict):
        return theirs, frozenset(), ()
    from_camp = {key for key in camps if key not in theirs or key in _CAMP_WINS}
    trip = {**theirs, **{key: camps[key] for key in from_camp}}
    if "hazards" in camps and "hazards" in theirs:
        trip["hazards"], owners = _joined(camps["hazards"], theirs["hazards"])
        return trip, frozenset(from_camp), owners
    return trip, frozenset(from_camp), ()


def _joined(camps: Any, theirs: Any) -> tuple[Any, tuple[Owner, ...]]:
    """The camp's list with what the client's adds to it; a list that is none stays as it is, to be told."""
    if not isinstance(theirs, list) or not isinstance(camps, list):
        return (theirs, ()) if isinstance(camps, list) else (camps, ())
    added = [(index, value) for index, value in enumerate(theirs) if value not in camps]
    owners: list[Owner] = [("camp", index) for index in range(len(camps))]
    return [*camps, *(value for _, value in added)], (*owners, *(("client", index) for index, _ in added))
