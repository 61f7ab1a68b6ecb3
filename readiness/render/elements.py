"""What a page is made of, whatever it is printed as."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Heading:
    """A heading; level 1 is the page's title."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True)
class Listing:
    """Short entries, one below the other."""

    entries: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A table. right names the columns, by index, that are set to the right."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


@dataclass(frozen=True)
class Warned:
    """A caution: it stands before what it warns of."""

    text: str
    source: str


@dataclass(frozen=True)
class StepBox:
    """One step with a box to tick and room for the value."""

    id: str
    title: str
    stop: bool
    lines: tuple[tuple[str, str], ...]
    source: str


Element = Heading | Paragraph | Listing | Table | Warned | StepBox
Page = tuple[Element, ...]
