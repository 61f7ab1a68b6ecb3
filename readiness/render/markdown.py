"""A page as Markdown (CommonMark with pipe tables)."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from readiness.problems import printable
from readiness.render.elements import Closing, Heading, Listing, Paragraph, StepBox, Table, Warned

if TYPE_CHECKING:
    from readiness.render.elements import Element, Page

_LIST_SIGN = re.compile(r"^(\s*\d*)([-+.)])")  # what would begin a list at the head of a block
_MARKUP = re.compile(r"([\\`*_{}\[\]<>#|~])")


def to_markdown(page: Page) -> str:
    """A page as Markdown; text from the trip cannot become markup."""
    return "\n\n".join(_block(element) for element in page) + "\n"


def _block(element: Element) -> str:
    match element:
        case Heading(text, level):
            return f"{'#' * level} {_plain(text)}"
        case Paragraph(text):
            return _plain(text)
        case Listing(entries):
            return "\n".join(f"- {_plain(entry)}" for entry in entries)
        case Table():
            return _table(element)
        case Warned(text, source):
            return f"> **Caution.** {_plain(text)} ({_plain(source)})"
        case StepBox():
            return _step(element)
        case Closing(text):
            return f"- [ ] {_plain(text)}. Complete, time \\_\\_\\_\\_"


def _step(step: StepBox) -> str:
    stop = "**STOP** " if step.stop else ""
    lines = [f"- [ ] {stop}**{_plain(step.title)}** ({_plain(step.id)})"]
    lines += [f"  - {name}: {_plain(text)}" for name, text in step.lines]
    return "\n".join([*lines, f"  - basis: {_plain(step.source)}"] if step.source else lines)


def _table(table: Table) -> str:
    from tabulate import tabulate

    align = ["right" if index in table.right else "left" for index in range(len(table.headers))]
    rows = [[_escaped(cell) for cell in row] for row in table.rows]
    return tabulate(rows, table.headers, tablefmt="pipe", colalign=align, disable_numparse=True)


def _plain(text: str) -> str:
    """Text at the head of a block: it can neither be markup nor begin a list."""
    return _LIST_SIGN.sub(r"\1\\\2", _escaped(text))


def _escaped(text: str) -> str:
    return _MARKUP.sub(r"\\\1", printable(text))
