"""What a page is made of, whatever it is printed as."""

from __future__ import annotations

from typing import NamedTuple


class Heading(NamedTuple):
    """A heading; level 1 is the page's title."""

    text: str
    level: int = 2


class Paragraph(NamedTuple):
    """Running text."""

    text: str


class Listing(NamedTuple):
    """Short entries, one below the other."""

    entries: tuple[str, ...]


class Table(NamedTuple):
    """A table. right names the columns, by index, that are set to the right."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


class Warned(NamedTuple):
    """A caution: it stands before what it warns of."""

    text: str
    source: str


class StepBox(NamedTuple):
    """One step with a box to tick and room for the value."""

    id: str
    title: str
    stop: bool
    lines: tuple[tuple[str, str], ...]
    source: str


class Closing(NamedTuple):
    """The line that ends a block: a state said aloud, and the time."""

    text: str


Element = Heading | Paragraph | Listing | Table | Warned | StepBox | Closing
Page = tuple[Element, ...]
