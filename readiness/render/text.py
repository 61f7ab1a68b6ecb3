"""A page as plain text for a terminal or a file."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from readiness.problems import printable
from readiness.render.elements import Closing, Heading, Listing, Paragraph, StepBox, Table, Warned

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from readiness.render.elements import Element, Page


_WIDEST_CELL = 30


def to_text(page: Page, width: int = 96, bold: Callable[[str], str] = str) -> str:
    """A page as text, wrapped to a width; bold marks headings and STOP where the terminal can."""
    lines: list[str] = []
    before: Element | None = None
    for element in page:
        if before is not None and not (isinstance(element, Listing) and isinstance(before, Heading)):
            lines.append("")
        lines.extend(_lines(element, width, bold))
        before = element
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _lines(element: Element, width: int, bold: Callable[[str], str]) -> Iterator[str]:
    match element:
        case Heading(text, 1):
            yield from (bold(line) for line in _wrapped(text, width))
            yield "=" * min(width, len(printable(text)))
        case Heading(text, 2):
            yield from (bold(line) for line in _wrapped(text, width))
            yield "-" * min(width, len(printable(text)))
        case Heading(text, _):
            yield from (bold(line) for line in _wrapped(text, width))
        case Paragraph(text):
            yield from _wrapped(text, width)
        case Listing(entries):
            for entry in entries:
                yield from _wrapped(entry, width, "- ", "  ")
        case Table():
            yield from _table(element)
        case Warned(text, source):
            yield from _wrapped(f"CAUTION {text} ({source})", width, "! ", "! ")
        case StepBox():
            yield from _step(element, width, bold)
        case Closing(text):
            yield f"[ ] {printable(text)}. Complete, time ____"


def _step(step: StepBox, width: int, bold: Callable[[str], str]) -> Iterator[str]:
    stop = f"{bold('STOP')} " if step.stop else ""
    yield f"[ ] {stop}{printable(step.title)}  ({printable(step.id)})"
    for name, text in step.lines:
        yield from _wrapped(text, width, f"    {name + ':':8}", " " * 12)
    if step.source:
        yield from _wrapped(step.source, width, "    basis:  ", " " * 12)


def _table(table: Table) -> Iterator[str]:
    from tabulate import tabulate

    align = ["right" if index in table.right else "left" for index in range(len(table.headers))]
    rows = [[printable(cell) for cell in row] for row in table.rows]
    widest = _WIDEST_CELL if any(len(cell) > _WIDEST_CELL for row in rows for cell in row) else None  # wrapping is slow
    yield from tabulate(
        rows, table.headers, tablefmt="simple", colalign=align, disable_numparse=True, maxcolwidths=widest
    ).splitlines()


def _wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    shown = printable(text)
    if len(first) + len(shown) <= width and "  " not in shown:  # most lines are short, and wrapping is slow
        return [first + shown]
    return wrap(shown, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False) or [first]
