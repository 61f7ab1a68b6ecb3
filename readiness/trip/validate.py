"""A document against the trip schema: every mistake as a Problem in words of the trip file.

The schema is the only description of the format. Two keywords are ours: x-quantity (text with a unit and
its limits) and, beside any keyword, x-hint, x-message and x-code (what to tell the user). `format: date`
is checked too.
"""

from __future__ import annotations

import json
import re
from datetime import date
from functools import lru_cache
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from readiness.problems import Fault, Problem, closest, excerpt, sort_and_dedupe
from readiness.trip.quantities import bare_number_fault, quantity_fault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from jsonschema.exceptions import ValidationError

    from readiness.documents import Document, Path

TRIP_SCHEMA_FILE = FilePath(__file__).parent / "trip.schema.json"


@lru_cache(maxsize=1)
def trip_schema() -> dict[str, Any]:
    """The trip file's JSON Schema (draft 2020-12)."""
    schema: dict[str, Any] = json.loads(TRIP_SCHEMA_FILE.read_text(encoding="utf-8"))
    return schema


def validate(document: Document, schema: dict[str, Any]) -> tuple[Problem, ...]:
    """Every mistake of a document against a schema, sorted by place."""
    validator = _validator_class()(schema)
    return sort_and_dedupe(_located(document, error) for error in validator.iter_errors(document.data))


@lru_cache(maxsize=1)
def _validator_class() -> Any:
    from jsonschema import Draft202012Validator
    from jsonschema.validators import extend

    ours = {"x-quantity": _check_quantity, "format": _check_format, "additionalProperties": _check_unknown}
    return extend(Draft202012Validator, ours)  # type: ignore[no-untyped-call]


def _check_unknown(validator: Any, rule: Any, found: Any, schema: Any) -> Iterator[ValidationError]:
    """One error for each unknown key, placed at that key; the library gives one for all of them."""
    if rule is not False:
        from jsonschema import Draft202012Validator

        yield from Draft202012Validator.VALIDATORS["additionalProperties"](validator, rule, found, schema)
    elif isinstance(found, dict):
        known = list(schema.get("properties", {}))
        for key in found:
            if key not in known:
                error = _faulty(_unknown_key_fault(key, known))
                error.path.append(key)
                yield error


def _check_quantity(_validator: Any, rule: dict[str, Any], text: Any, schema: Any) -> Iterator[ValidationError]:
    if isinstance(text, str):
        fault = quantity_fault(text, rule, schema.get("examples", ()))
        if fault:
            yield _faulty(fault)


def _check_format(_validator: Any, name: str, text: Any, _schema: Any) -> Iterator[ValidationError]:
    if name in ("date", "regex") and isinstance(text, str):
        fault = date_fault(text) if name == "date" else _regex_fault(text)
        if fault:
            yield _faulty(fault)


def date_fault(text: str) -> Fault | None:
    """What is wrong with a date, or None.

    >>> date_fault("2027-02-30").message
    'there is no day 2027-02-30'
    """
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return Fault("bad-date", f"{excerpt(text)!r} is not a date", "write year-month-day, such as 2027-09-11")
    try:
        date.fromisoformat(text)
    except ValueError:
        return Fault("bad-date", f"there is no day {text}", "write year-month-day, such as 2027-09-11")
    if not _FIRST_YEAR <= int(text[:4]) <= _LAST_YEAR:
        return Fault("bad-date", f"the year of {text} cannot be meant", "write year-month-day, such as 2027-09-11")
    return None


_FIRST_YEAR, _LAST_YEAR = 1990, 2200


def _regex_fault(text: str) -> Fault | None:
    from readiness.patterns import LONGEST, pattern_fault

    return None if len(text) > LONGEST else pattern_fault(text)  # the schema's own maxLength tells that


def _faulty(fault: Fault) -> ValidationError:
    from jsonschema.exceptions import ValidationError

    error = ValidationError(fault.message)
    error.cause = fault  # type: ignore[assignment]  # carried to _located; the library does not look at it
    return error


def _located(document: Document, error: ValidationError) -> Problem:
    path: Path = tuple(error.absolute_path)
    schema = _schema_of(error)
    fault = error.cause if isinstance(error.cause, Fault) else _WORDS.get(str(error.validator), _other)(error)
    if "propertyNames" in error.absolute_schema_path:
        path = (*path, str(error.instance))
    if fault.code == "missing-key" and error.validator == "dependentRequired":
        path = (*path, fault.message.split()[-1])
    told = Fault(
        schema.get("x-code", fault.code),
        schema.get("x-message", fault.message),
        schema.get("x-hint", fault.hint),
    )
    return document.problem(path, told, at_key=told.code in _AT_KEY)


_AT_KEY = {"unknown-key", "missing-key", "one-of-two", "not-for-this-kind"}


def _schema_of(error: ValidationError) -> dict[str, Any]:
    return error.schema if isinstance(error.schema, dict) else {}


# Each of the following puts one kind of error into words.


def _unknown_key_fault(key: str, known: list[str]) -> Fault:
    close = closest(key, known)
    hint = f"did you mean {close}?" if close else f"known here: {', '.join(known)}"
    return Fault("unknown-key", f"{key!r} is not known here", hint)


def _missing_key(error: ValidationError) -> Fault:
    name = str(error.message).split("'")[1]
    examples = _schema_of(error).get("properties", {}).get(name, {}).get("examples", [])
    simple = examples and isinstance(examples[0], str | int | float)
    hint = f"add {name}: {examples[0]}" if simple else f"add {name}:"
    return Fault("missing-key", f"{name} is missing here", hint)


def _missing_partner(error: ValidationError) -> Fault:
    parts = str(error.message).split("'")
    return Fault("missing-key", f"{parts[1]} is missing beside {parts[3]}", f"add {parts[1]}:")


def _wrong_type(error: ValidationError) -> Fault:
    schema, found = _schema_of(error), error.instance
    rule = schema.get("x-quantity")
    if rule and isinstance(found, int | float) and not isinstance(found, bool):
        return bare_number_fault(f"{found:.15g}", rule)
    wanted = schema.get("type", "something else")
    wanted = " or ".join(wanted) if isinstance(wanted, list) else wanted
    example = next(iter(schema.get("examples", [])), None)
    hint = (
        f"write for example {example}"
        if isinstance(example, str | int | float) and wanted != "boolean"
        else _SHAPES.get(wanted, "write one value")
    )
    return Fault("wrong-type", f"{_kind_of(found)} stands where {_TYPE_WORDS.get(wanted, wanted)} is wanted", hint)


_TYPE_WORDS = {
    "object": "a block of keys",
    "array": "a list",
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
}


_SHAPES = {
    "boolean": "write true or false",
    "object": "write its keys below it, each on a line of its own and indented, as key: value",
    "array": "write its entries below it, each on a line of its own behind -",
}


def _kind_of(value: Any) -> str:
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case str():
            return f"the text {excerpt(value)!r}"
        case int() | float():
            return f"the number {value:.15g}"
        case list():
            return "a list"
        case _:
            return "a block of keys"


def _bad_choice(error: ValidationError) -> Fault:
    value: Any = error.validator_value
    listed: list[Any] = value if error.validator == "enum" else [value]
    choices = [choice for choice in listed if isinstance(choice, str)] or [str(choice) for choice in listed]
    found = error.instance
    close = closest(found, choices) if isinstance(found, str) else None
    words = " or ".join(choices) if len(choices) < _FEW else f"one of {', '.join(choices)}"
    if isinstance(found, list | dict):
        return Fault(
            "bad-choice", f"{_kind_of(found)} stands where {words} is wanted", f"write {words}, and nothing else"
        )
    hint = f"did you mean {close}?" if close else f"write {words}"
    return Fault("bad-choice", f"{_kind_of(found)} is not {words}", hint)


_FEW = 3


def _out_of_bounds(error: ValidationError) -> Fault:
    schema = _schema_of(error)
    hint = f"write a number from {schema.get('minimum')} to {schema.get('maximum')}"
    return Fault("out-of-range", f"{error.instance} cannot be meant here", hint)


def _bad_pattern(error: ValidationError) -> Fault:
    example = next(iter(_schema_of(error).get("examples", [""])))
    return Fault(
        "bad-text",
        f"{excerpt(str(error.instance))!r} is not written as expected",
        f"write for example {example}",
    )


def _bad_size(error: ValidationError) -> Fault:
    limit = error.validator_value
    if "propertyNames" in error.absolute_schema_path:
        return Fault(
            "bad-size", f"the name {excerpt(str(error.instance))!r} is longer than {limit} characters", "shorten it"
        )
    words, hint = {
        "minLength": ("is empty", "write a few words, or delete the key"),
        "maxLength": (f"is longer than {limit} characters", f"shorten it to {limit}"),
        "minItems": (f"needs at least {limit}", "add an entry"),
        "maxItems": (f"has more than {limit} entries", f"keep {limit}"),
        "maxProperties": (f"has more than {limit} keys", f"keep {limit}"),
        "minProperties": ("is empty", "add a key, or delete it"),
        "uniqueItems": ("names the same thing twice", "keep one of the two"),
    }[str(error.validator)]
    name = error.absolute_path[-1] if error.absolute_path else "the file"
    return Fault("bad-size", f"{name} {words}", hint)


def _other(error: ValidationError) -> Fault:
    return Fault("bad-value", str(error.message)[:200], "")


_WORDS: dict[str, Callable[[ValidationError], Fault]] = {
    "required": _missing_key,
    "dependentRequired": _missing_partner,
    "type": _wrong_type,
    "enum": _bad_choice,
    "const": _bad_choice,
    "minimum": _out_of_bounds,
    "maximum": _out_of_bounds,
    "pattern": _bad_pattern,
    **dict.fromkeys(
        ("minLength", "maxLength", "minItems", "maxItems", "maxProperties", "minProperties", "uniqueItems"), _bad_size
    ),
}
