"""A YAML file as data with places: which line and column each key and value stands at.

YAML 1.1 surprises are switched off: only true/false, decimal numbers and null are anything but text, so a
date, `on`, `07500`, `12:30` and `.nan` stay the text that was written. Repeated keys, keys that are not
text, tags, and aliases that multiply are problems with a place. Trip files, rule packs and camp files are
all read here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import yaml

from readiness.nodes import (
    TOO_DEEP,
    TOO_MANY,
    Place,
    Reader,
    TooManyError,
    compose,
    escape_fault,
    place_of,
    split_lines,
    syntax_fault,
)
from readiness.problems import Fault, Problem, sort_and_dedupe

if TYPE_CHECKING:
    from collections.abc import Iterator

MAX_BYTES = 1_000_000

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """What a file says, and where it says it."""

    name: str
    text: str
    data: Any

    def problem(self, path: Path, fault: Fault, *, at_key: bool = False) -> Problem:
        """A fault put at the place of a path; the nearest known parent when the path itself is not there."""
        line, column = self.place(path, at_key=at_key)
        return fault.at(self.name, line, column, self.line(line))

    def place(self, path: Path, *, at_key: bool = False) -> Place:
        """Line and column of a value, or of its key. A mapping or list stands at its key."""
        keys, values = self._places
        while path:
            here = (at_key and keys.get(path)) or values.get(path)
            if here:
                return here
            path, at_key = path[:-1], False
        return (1, 1)

    def line(self, number: int) -> str:
        """A line of the file without its end; empty when there is none."""
        return self._lines[number - 1] if 0 < number <= len(self._lines) else ""

    @cached_property
    def _lines(self) -> list[str]:
        return split_lines(self.text)

    @cached_property
    def _places(self) -> tuple[dict[Path, Place], dict[Path, Place]]:
        # Nodes are many times as large as the data and wanted only to tell a problem, so they are made anew.
        keys: dict[Path, Place] = {}
        values: dict[Path, Place] = {}
        for path, key, value in _walk(compose(self.text), ()):
            if key is not None:
                keys[path] = place_of(key)
            scalar = isinstance(value, yaml.ScalarNode)
            values[path] = place_of(value) if scalar or key is None else place_of(key)
        return keys, values


def read_document(text: str, name: str) -> tuple[Document | None, tuple[Problem, ...]]:
    r"""Read one YAML document.

    Parameters
    ----------
    text : the file's text, [text], at most MAX_BYTES
    name : the file's name for messages, [text]

    Returns
    -------
    the document, or None when it has no usable structure; and every problem found, sorted by place

    Examples
    --------
    >>> document, problems = read_document("a: 1\na: 2\n", "trip.yaml")
    >>> problems[0].code, problems[0].line, document
    ('repeated-key', 2, None)

    """
    if len(text) > MAX_BYTES:
        return None, (
            Fault(
                "too-large",
                f"the file is over {MAX_BYTES:,} characters",
                "a file of this kind is a few pages",
            ).at(name, 0, 0),
        )
    try:
        reader = Reader()
        data = reader.read(compose(text))
        faults = reader.faults
    except yaml.YAMLError as error:
        faults = [syntax_fault(error, text)]
    except (ValueError, OverflowError):
        faults = [escape_fault(text)]
    except RecursionError:
        faults = [((1, 1), TOO_DEEP)]
    except TooManyError:
        faults = [((1, 1), TOO_MANY)]
    if not faults:
        return Document(name, text, data), ()
    unread = Document(name, text, None)
    return None, sort_and_dedupe(fault.at(name, *place, unread.line(place[0])) for place, fault in faults)


def _walk(
    node: yaml.Node | None, path: Path, key: yaml.Node | None = None
) -> Iterator[tuple[Path, yaml.Node | None, yaml.Node]]:
    """Every value with its path and key."""
    if node is None:
        return
    yield path, key, node
    if isinstance(node, yaml.MappingNode):
        for key_node, value in node.value:
            yield from _walk(value, (*path, key_node.value), key_node)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            yield from _walk(value, (*path, index), None)
