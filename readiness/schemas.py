"""What a JSON Schema of ours says of one value: where a reference leads, and in words what the value may be."""

from __future__ import annotations

from typing import Any


def resolved(schema: dict[str, Any], root: dict[str, Any]) -> dict[str, Any]:
    """The schema itself, or the one in `$defs` of the root that it points at.

    >>> resolved({"$ref": "#/$defs/day"}, {"$defs": {"day": {"type": "string"}}})
    {'type': 'string'}
    """
    reference = schema.get("$ref", "")
    found: dict[str, Any] = root["$defs"][reference.removeprefix("#/$defs/")] if reference else schema
    return found


def described(schema: dict[str, Any], root: dict[str, Any]) -> dict[str, Any]:
    """The schema where its reference leads, with what it says itself beside the reference laid over it.

    >>> described({"$ref": "#/$defs/day", "description": "the first"}, {"$defs": {"day": {"type": "string"}}})
    {'type': 'string', 'description': 'the first'}
    """
    return {**resolved(schema, root), **{key: value for key, value in schema.items() if key != "$ref"}}


def limits(schema: dict[str, Any]) -> str:
    """What a value may be, where the schema says so: words to choose from, or from where to where.

    >>> limits({"enum": ["yes", "no", True, False]}), limits({"type": "integer", "minimum": 1, "maximum": 5})
    ('yes | no | true | false', '1 to 5')
    """
    if "x-quantity" in schema:
        rule = schema["x-quantity"]
        return f"{rule['minimum']} to {rule['maximum']}"
    if "enum" in schema:
        return " | ".join(str(choice).lower() if isinstance(choice, bool) else str(choice) for choice in schema["enum"])
    if "minimum" in schema:
        return f"{schema['minimum']} to {schema['maximum']}"
    return ""
