"""The columns of a client table: which there are, and how one cell is read and written.

A column is named by the keys of a trip file joined with dots, entries of a list by their number from 1:
`hunter.name`, `bow.draw_weight`, `heads.1.mass`. A list of plain values is one cell, parted by semicolons:
`20 yd; 30 yd`. `gear` may be one cell, too: `release aid (body); hunting arrow x 12 (checked)`.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.problems import Fault, closest
from readiness.schemas import described, limits, resolved
from readiness.trip.validate import trip_schema

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.documents import Path

_NOT_IN_TABLE = ("destinations",)  # those are the camp's
_FREE_KEYS = ("reference", "marks")  # what the archer marked: the rest of the name is the key
# How many entries of a list the column list and the empty table show; a table may have as many as a trip file.
_SHOWN = {"heads": 3, "groups": 3, "broadheads": 2, "cold_first": 2, "setup_changed": 1, "requirements": 1}
_SHOWN_AS = {"reference.marks": "reference.marks.peep_height_on_string"}


NONE = "none"  # a list that is known to be empty, such as trip.hazards; an empty cell says nothing


class Column(NamedTuple):
    """One column: where its cell goes in a trip document, and what the schema says of it."""

    name: str
    path: Path
    schema: dict[str, Any]

    @property
    def is_list(self) -> bool:
        """Whether one cell holds a list."""
        return "items" in self.schema


class Listed(NamedTuple):
    """A row of the column list; allowed is what the cell may hold where the schema says so."""

    column: str
    meaning: str
    example: str
    is_required: bool
    allowed: str = ""


@cache
def column_of(name: str) -> Column | Fault:
    """The column of a header cell, or what is wrong with it.

    >>> column_of("Bow.Draw_Weight ").path
    ('bow', 'draw_weight')
    >>> column_of("bow.drawweight").hint
    'did you mean bow.draw_weight?; readiness schema clients lists all'
    """
    written = " ".join(name.split())
    folded = written.casefold()
    if folded.startswith("reference.marks."):
        key = written[len("reference.marks.") :]
        return Column(written, (*_FREE_KEYS, key), {"type": "string"})
    path: Path = ()
    schema = trip_schema()
    for part in folded.split("."):
        step = _step(schema, part)
        if step is None or (not path and part in _NOT_IN_TABLE):
            return _unknown(written, folded)
        path, schema = (*path, step[0]), step[1]
    if "properties" in schema or ("items" in schema and "properties" in schema["items"] and path != ("gear",)):
        return Fault(
            "block-column", f"{written!r} names a block, not one value", f"write for example {_first_below(written)}"
        )
    return Column(written, path, schema)


def _step(schema: dict[str, Any], part: str) -> tuple[str | int, dict[str, Any]] | None:
    if "items" in schema and "properties" in schema["items"]:
        number = int(part) if re.fullmatch(r"[1-9][0-9]{0,2}", part) else 0
        return (number - 1, schema["items"]) if 0 < number <= schema.get("maxItems", 99) else None
    below = schema.get("properties", {}).get(part)
    return None if below is None else (part, resolved(below, trip_schema()))


def _unknown(written: str, folded: str) -> Fault:
    known = [listed.column for listed in columns()]
    alike = [name for name in known if name.rpartition(".")[2].replace("_", " ") == folded.replace("_", " ")][:3]
    close = " or ".join(alike) or closest(folded, known, 0.75)
    hint = f"did you mean {close}?" if close else "a column of your own begins with #, and is not read"
    return Fault(
        "unknown-column", f"{written!r} is no column known here", f"{hint}; readiness schema clients lists all"
    )


def _first_below(written: str) -> str:
    start = f"{written.casefold()}."
    return next((listed.column for listed in columns() if listed.column.startswith(start)), f"{start}1")


@lru_cache(maxsize=1)
def columns() -> tuple[Listed, ...]:
    """The columns of an empty table, in the order of a trip file; a table may leave out what is not required."""
    return tuple(_listed(trip_schema(), "", required=True))


def _listed(schema: dict[str, Any], prefix: str, *, required: bool) -> Iterator[Listed]:
    wanted = set(schema.get("required", ()))
    for key, raw in schema.get("properties", {}).items():
        part, name = described(raw, trip_schema()), f"{prefix}{key}"
        needed = required and key in wanted and name not in ("format", "trip") and not name.startswith("trip.")
        if name in _NOT_IN_TABLE or name == "format":
            continue
        if name == "gear":
            meaning = "all that is packed: item x count (bag), parted by ;"
            bags = f"bag: {limits(part['items']['properties']['bag'])}"
            yield Listed(name, meaning, _GEAR_EXAMPLE, is_required=False, allowed=bags)
        elif "items" in part and "properties" in part["items"]:
            for number in range(1, _SHOWN.get(key, 2) + 1):
                yield from _listed(part["items"], f"{name}.{number}.", required=needed and number == 1)
        elif "properties" in part:
            yield from _listed(part, f"{name}.", required=needed)
        else:
            example = next(iter(part.get("examples", ())), "")
            allowed = limits(resolved(part.get("items", part), trip_schema()))
            yield Listed(_SHOWN_AS.get(name, name), part["description"], _example(example), needed, allowed)


def _example(value: Any) -> str:
    return "4 13/16 in" if value == {} else write_cell(value)


_GEAR_EXAMPLE = "release aid (body); hunting arrow x 12 (checked)"
_COUNT, _BAG = "[1-9][0-9]{0,3}", r"[^()]*"
# As people write it, too: the count before the item, the bag before the count, no space before the bag.
_GEAR = re.compile(
    rf"(?:(?P<first>{_COUNT}) x )?(?P<item>.+?)(?: ?\((?P<bag>{_BAG})\))?"
    rf"(?: x (?P<count>{_COUNT}))?(?: ?\((?P<last>{_BAG})\))?",
    re.IGNORECASE,
)


def read_cell(text: str, column: Column) -> Any:
    """The value of a cell that is not empty; what does not fit the schema stays text, to be told as such.

    >>> read_cell("20 yd; 30 yd", column_of("bow.sight.pins"))
    ['20 yd', '30 yd']
    >>> read_cell("hunting arrow x 12 (checked)", column_of("gear"))
    [{'item': 'hunting arrow', 'count': 12, 'bag': 'checked'}]
    >>> read_cell("12 x hunting arrow(checked)", column_of("gear"))
    [{'item': 'hunting arrow', 'count': 12, 'bag': 'checked'}]
    """
    text = plain_cell(text)
    if column.path == ("gear",):
        return [_gear(part.strip()) for part in text.split(";") if part.strip()]
    if column.is_list:
        return [] if text.casefold() == NONE else [part.strip() for part in text.split(";") if part.strip()]
    kinds = column.schema.get("type", "")
    if kinds in ("integer", "number"):
        return _number(text, whole=kinds == "integer")
    choices = column.schema.get("enum", ())
    if True in choices and text.casefold() in ("true", "false"):
        return text.casefold() == "true"
    if choices and text not in choices:  # a spreadsheet likes to begin a cell with a capital letter
        return next((one for one in choices if isinstance(one, str) and one.casefold() == text.casefold()), text)
    clock = re.fullmatch(r"0?([0-9]{1,2}:[0-9]{2})(?::00)?", text)  # 07:15:00: it took the clock for a time of day
    return clock[1] if clock and column.path[-1] == "clock" else text


def _gear(text: str) -> dict[str, Any]:
    match = _GEAR.fullmatch(text)
    assert match is not None
    counts, bags = (
        [match[name] for name in names if match[name] is not None] for names in (("first", "count"), ("bag", "last"))
    )
    line: dict[str, Any] = {"item": match["item"]}
    if counts:  # two of either are told as what does not fit
        line["count"] = int(counts[0]) if len(counts) == 1 else " x ".join(counts)
    return line | ({"bag": " and ".join(bag.strip().lower() for bag in bags)} if bags else {})


def _number(text: str, *, whole: bool) -> Any:
    if not re.fullmatch(r"[-+]?[0-9]{1,15}(?:\.[0-9]{1,15})?", text):
        return text
    value = float(text)
    return int(value) if value.is_integer() and (whole or "." not in text) else value


def write_cell(value: Any) -> str:
    """A value as the text of a cell; a list of plain values parted by semicolons.

    >>> write_cell(["20 yd", "30 yd"]), write_cell(True), write_cell(3)
    ('20 yd; 30 yd', 'true', '3')
    """
    if isinstance(value, list):
        return "; ".join(map(write_cell, value)) or NONE
    if isinstance(value, bool):
        return str(value).lower()
    return " ".join(str(value).split())


def plain_cell(text: str) -> str:
    """A cell without the quote that a formula-safe cell begins with, and with its white space folded.

    >>> plain_cell("'-0.5 in"), plain_cell("'tis"), plain_cell(" a  b ")
    ('-0.5 in', "'tis", 'a b')
    """
    text = " ".join(text.split())
    return text[1:] if _QUOTED.match(text) else text


_QUOTED = re.compile(r"'+[=+\-@]")
