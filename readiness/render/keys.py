"""A JSON Schema -> a page that lists every key with its meaning, an example and its limits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.render.elements import Heading, Listing, Paragraph, Table
from readiness.schemas import described, limits, resolved
from readiness.topics import rule_forms

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.render.elements import Page


def schema_page(schema: dict[str, Any], *, as_table: bool) -> Page:
    """Every key of a format, as one table or as a list; [] stands for each entry of a list, * is required."""
    rows = tuple(_rows(schema, schema, "", set()))
    keys = Table(("key", "meaning", "example", "limits"), rows) if as_table else Listing(tuple(map(_entry, rows)))
    return (
        Heading(schema["title"], 1),
        Paragraph(schema.get("description", "")),
        Paragraph("* is required. [] stands for each entry of a list."),
        keys,
        *(rules_page() if "requirements" in schema["properties"] else ()),
    )


def _entry(row: tuple[str, ...]) -> str:
    key, meaning, example, limits = row
    told = [meaning, f"such as {example}" if example else "", f"limits {limits}" if " to " in limits else limits]
    return f"{key}: {'; '.join(filter(None, told))}"


def _rows(schema: dict[str, Any], root: dict[str, Any], prefix: str, told: set[str]) -> Iterator[tuple[str, ...]]:
    """A row for each described key; a part that several keys share is spelt out at the first of them."""
    required = set(schema.get("required", ()))
    for name, raw in schema.get("properties", {}).items():
        part = described(raw, root)
        if "description" not in part:
            continue
        key = f"{prefix}{name}"
        yield f"{key}{'*' if name in required else ''}", part["description"], _example(part), limits(part)
        inner = part.get("items", part)
        references = {raw.get("$ref"), inner.get("$ref")} - {None}
        if not references & told:
            told |= references
            yield from _rows(resolved(inner, root), root, f"{key}[]." if "items" in part else f"{key}.", told)


def _example(schema: dict[str, Any]) -> str:
    example = next(iter(schema.get("examples", [])), "")
    if isinstance(example, bool):
        return str(example).lower()
    return "" if isinstance(example, list | dict) and not example else str(example)


def rules_page() -> Page:
    """What a requirement may say, topic by topic: `education` is `required` and nothing else."""
    return (
        Heading("What the rule of a requirement may be, by its topic"),
        Paragraph(
            "The numbers are invented: write yours. Where it is measured may follow the number, as behind '...'."
        ),
        Listing(tuple(f"{topic}: {' | '.join(forms)}" for topic, forms in rule_forms())),
    )
