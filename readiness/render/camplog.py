"""Records of the camp log in words with units, as a page, and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.render.elements import Heading, Paragraph, Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from readiness.arrival.log import Entry
    from readiness.problems import Problem
    from readiness.render.elements import Page


def in_words(data: Mapping[str, Any]) -> str:
    """A record as it was understood.

    >>> in_words({"record": "shots", "distance": "20 yd", "kind": "bare", "unit": "in",
    ...     "shots": [{"right": 0.3, "up": -0.4, "arrow": 7}, {"outside": True}]})
    '2 bare at 20 yd: 0.3 in right, 0.4 in low (arrow 7); outside the butt'
    """
    match data["record"]:
        case "shots":
            return f"{_what_was_shot(data)}: {'; '.join(_shot(shot, data['unit']) for shot in data['shots'])}"
        case "change":
            return f"changed: {data['what']}. A new run begins"
        case "step":
            return f"{data['step']}: {data['value']}"
        case _:
            return f"took back {data['undoes']}"


def _what_was_shot(data: Mapping[str, Any]) -> str:
    kind = f"{data['head']} (broadhead)" if data["kind"] == "broadhead" else data["kind"]
    more = [
        ", the first of the day" if data.get("cold") else "",
        f", {data['temperature']}" if "temperature" in data else "",
    ]
    return f"{len(data['shots'])} {kind} at {data['distance']}{''.join(more)}"


def _shot(shot: Mapping[str, Any], unit: str) -> str:
    arrow = f" (arrow {shot['arrow']})" if "arrow" in shot else ""
    if "outside" in shot:
        return f"outside the butt{arrow}"
    right, up = shot["right"], shot["up"]
    if right == up == 0:
        return f"on the aim{arrow}"
    sideways = f"{abs(right):g} {unit} {'right' if right > 0 else 'left'}" if right else "in line"
    height = f"{abs(up):g} {unit} {'high' if up > 0 else 'low'}" if up else "level"
    return f"{sideways}, {height}{arrow}"


def list_page(trip: str, entries: Iterable[Entry], setup: str) -> Page:
    """Every record with its id; what was taken back, or shot with another set-up, is marked."""
    rows = tuple(
        (
            entry.id,
            str(entry.data["time"]).replace("T", " "),
            entry.data["at"],
            in_words(entry.data),
            _mark(entry, setup),
        )
        for entry in entries
    )
    listed = Table(("id", "time", "place", "record", "stands"), rows) if rows else Paragraph("Nothing is logged yet.")
    return (Heading(f"{trip}: camp log", 1), listed)


def _mark(entry: Entry, setup: str) -> str:
    if entry.record is None:
        return ""
    if not entry.stands:
        return "taken back"
    return "yes" if entry.data["setup"] == setup else "yes, but with another set-up"


def list_data(trip: str, entries: Iterable[Entry], setup: str, problems: Iterable[Problem]) -> dict[str, Any]:
    """The same as data: each record as the file has it, whether it stands, and whether its set-up is the trip's."""
    return {
        "trip": trip,
        "records": [
            {**entry.data, "stands": entry.stands, "same_setup": entry.data["setup"] == setup} for entry in entries
        ],
        "problems": [problem.as_dict() for problem in problems],
    }


def written_lines(entries: Sequence[Mapping[str, Any]], undone: Mapping[str, Any] | None = None) -> tuple[str, ...]:
    """One line for each record written, reading back what was understood."""
    if undone is not None:
        return (f"Taken back at {undone['at']}: {in_words(undone)}. The line stays in the file.",)
    return tuple(f"Logged at {entry['at']}: {in_words(entry)}." for entry in entries)


def written_data(
    trip: str, entries: Iterable[Mapping[str, Any]], problems: Iterable[Problem], **more: Any
) -> dict[str, Any]:
    """What was written, as data; more are keys of a kind of call."""
    return {
        "trip": trip,
        "written": [dict(entry) for entry in entries],
        **more,
        "problems": [problem.as_dict() for problem in problems],
        "next": ["assess"],
    }
