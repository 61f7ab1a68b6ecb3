"""The elements of a page -> HTML: tables, cautions, steps with a tick and a value."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from readiness.arrival.gates import CLOSE_UP
from readiness.render.elements import Closing, Heading, Listing, Paragraph, StepBox, Table, Warned
from readiness.render.html import Html, joined, tag

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.render.elements import Element

USUAL_SOURCE = "common practice, no source"  # said once for all steps that rest on nothing else


def body_of(elements: Iterable[Element]) -> Html:
    """Elements as HTML. A step's heading stands one level under the heading that it belongs to."""
    parts: list[Html] = []
    level, words = 2, ""
    for element in elements:
        if isinstance(element, Heading):
            level, words = element.level, element.text
            parts.append(tag(f"h{level}", words))
        elif isinstance(element, StepBox):
            parts.append(_step(element, min(level + 1, 4)))
        elif isinstance(element, Table):
            parts.append(table(element, words))
        else:
            parts.append(_simple(element))
    return joined(*parts)


def _simple(element: Paragraph | Listing | Warned | Closing) -> Html:
    if isinstance(element, Listing):
        return tag("ul", *(tag("li", entry) for entry in element.entries))
    if isinstance(element, Warned):
        return caution(element.text, element.source)
    if isinstance(element, Closing):
        return tag("p", f"\N{BALLOT BOX} {element.text}. Complete, time ____", class_="closing")
    return tag("p", element.text)


def caution(text: str, source: str) -> Html:
    """A caution, marked by a word and a border."""
    return tag("p", tag("b", "CAUTION "), f"{text} ", tag("small", f"({source})"), class_="caution")


@lru_cache(maxsize=4096)  # most steps read the same for every client of a camp
def _step(step: StepBox, level: int) -> Html:
    """One step: what to do, what to see, a tick, the value found, and the way on where it is not so.

    The script finds the expectation and the way on behind their words, and names the group of the fields.
    """
    said, name = dict(step.lines), step.id.split(",")[0]
    return tag(
        "div",
        tag(f"h{level}", tag("b", "STOP ") if step.stop else "", f"{step.title} ", tag("small", step.id)),
        tag("p", said["do"]),
        tag("p", tag("i", "Expect "), said["expect"]),
        tag(
            "div",
            tag("label", tag("input", type="checkbox"), "As expected"),
            tag("label", tag("input", type="checkbox"), "Not so") if step.stop or name == CLOSE_UP else "",
            tag("label", "Now ", tag("input")),
        ),
        tag("p", tag("i", "If not "), said["if not"]),
        tag("p", step.source, class_="source") if step.source not in ("", USUAL_SOURCE) else "",
        class_="step stop" if step.stop else "step",
        id=name,
    )


def table(found: Table, about: str) -> Html:
    """A table. The script makes a card of each row on a narrow screen."""
    heads = tag("tr", *(tag("th", text, scope="col") for text in found.headers))
    rows = (
        tag(
            "tr",
            tag("th", row[0], scope="row"),
            *(tag("td", cell, class_="r" if at in found.right else None) for at, cell in enumerate(row[1:], 1)),
        )
        for row in found.rows
    )
    return tag("table", tag("thead", heads), tag("tbody", *rows), aria_label=about)
