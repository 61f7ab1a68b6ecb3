"""A JSON Schema -> a page that lists every key with its meaning, an example and its limits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.render.elements import Heading, Paragraph, Table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.render.elements import Page


def schema_page(schema: dict[str, Any]) -> Page:
    """Every key of a format as one table; [] stands for each entry of a list, * marks what is required."""
    rows = tuple(_rows(schema, schema, "", set()))
    return (
        Heading(schema["title"], 1),
        Paragraph(schema.get("description", "")),
        Table(("key", "meaning", "example", "limits"), rows),
        Paragraph("* is required. [] stands for each entry of a list."),
    )


def _rows(schema: dict[str, Any], root: dict[str, Any], prefix: str, open_refs: set[str]) -> Iterator[tuple[str, ...]]:
    required = set(schema.get("required", ()))
    for name, raw in schema.get("properties", {}).items():
        reference = raw.get("$ref", "")
        part = {**_resolved(raw, root), **{k: v for k, v in raw.items() if k != "$ref"}}
        key = f"{prefix}{name}"
        yield (
            f"{key}{'*' if name in required else ''}",
            part.get("description", ""),
            _example(part),
            _limits(part),
        )
        if reference in open_refs:
            continue
        deeper = open_refs | ({reference} if reference else set())
        inner = part
        if part.get("type") == "array":
            item = part["items"]
            deeper = deeper | ({item["$ref"]} if "$ref" in item else set())
            inner, key = _resolved(item, root), f"{key}[]"
        if "$ref" not in part.get("items", {}) or part["items"]["$ref"] not in open_refs:
            yield from _rows(inner, root, f"{key}.", deeper)


def _resolved(schema: dict[str, Any], root: dict[str, Any]) -> dict[str, Any]:
    reference = schema.get("$ref", "")
    found: dict[str, Any] = root["$defs"][reference.removeprefix("#/$defs/")] if reference else schema
    return found


def _example(schema: dict[str, Any]) -> str:
    example = next(iter(schema.get("examples", [])), "")
    return "" if isinstance(example, list | dict) and not example else str(example)


def _limits(schema: dict[str, Any]) -> str:
    if "x-quantity" in schema:
        rule = schema["x-quantity"]
        return f"{rule['minimum']} to {rule['maximum']}"
    if "enum" in schema:
        return " | ".join(str(choice) for choice in schema["enum"])
    if "minimum" in schema:
        return f"{schema['minimum']} to {schema['maximum']}"
    return ""
