"""One line of the camp log: JSON text to checked data with the place of every mistake, and data to a line."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, lru_cache
from json.decoder import scanstring  # type: ignore[attr-defined]  # where the library reads a text from
from math import isfinite
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from readiness.documents import Document
from readiness.problems import Fault, Problem, sort_and_dedupe
from readiness.trip.validate import validate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from readiness.documents import Path

LOG_SCHEMA_FILE = FilePath(__file__).parent / "log.schema.json"
MAX_LINE = 20_000  # characters; a hundred arrows take a third of it
FARTHEST = {"in": 118.11, "cm": 300.0}  # 3 m from the aim: beyond that nobody measures
_MOST_KEYS, _MOST_ARROWS, _MOST_TOLD = 40, 100, 20


@lru_cache(maxsize=1)
def log_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of one line of the camp log."""
    schema: dict[str, Any] = json.loads(LOG_SCHEMA_FILE.read_text(encoding="utf-8"))
    return schema


def _schema_of(record: Any) -> dict[str, Any]:
    """The schema for a line that says what it records."""
    known = log_schema()["properties"]["record"]["enum"]
    return _schema_without_others(record) if record in known else log_schema()


@lru_cache(maxsize=8)
def _schema_without_others(record: str) -> dict[str, Any]:
    """The schema without the conditions that speak of other records: tried in vain on every line, they take long."""
    schema = log_schema()
    spoken_of = [rule["if"]["properties"].get("record", {}).get("const", record) for rule in schema["allOf"]]
    return {**schema, "allOf": [r for r, of in zip(schema["allOf"], spoken_of, strict=True) if of == record]}


def to_line(data: Mapping[str, Any]) -> str:
    r"""A record as its line, with the line's end.

    >>> to_line({"record": "undo", "at": "Café"})
    '{"record": "undo", "at": "Café"}\n'
    """
    return json.dumps(data, ensure_ascii=False, allow_nan=False) + "\n"


def read_line(raw: bytes, name: str, number: int = 1) -> tuple[dict[str, Any] | None, tuple[Problem, ...]]:
    """Read one line of a log.

    Parameters
    ----------
    raw : its bytes, without the line's end
    name : the file's name for messages, [text]
    number : the line's number, 1 or more, [-]

    Returns
    -------
    the record's data, or None where anything is wrong with it; and every problem, at its column

    Examples
    --------
    >>> read_line(b'{"record": "shot"}', "trip.log.jsonl")[1][-1].hint
    'did you mean shots?'

    """
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        fault = Fault("not-utf8", "this is not UTF-8 text from here on", _MENDED)
        return None, (fault.at(name, number, len(raw[: error.start].decode("utf-8")) + 1),)
    if len(text) > MAX_LINE:
        fault = Fault("too-large", f"the line is over {MAX_LINE:,} characters, so it was not read", _MENDED)
        return None, (fault.at(name, number, 1),)
    data = _parsed(text)
    if isinstance(data, tuple):
        column, fault = data
        return None, (fault.at(name, number, column, text),)
    document = _Line(name, text, data, number)
    problems = validate(document, _schema_of(data.get("record")) if isinstance(data, dict) else log_schema())
    if not problems:
        problems = sort_and_dedupe(document.problem(path, fault) for path, fault in _beyond_the_schema(data))
    if len(problems) > _MOST_TOLD:
        more = Fault("bad-record", f"{len(problems) - _MOST_TOLD} more mistakes stand in this line", _MENDED)
        problems = (*problems[:_MOST_TOLD], document.problem((), more)._replace(column=len(text)))
    return (None if problems else data), problems


_MENDED = "the line is left out; write it anew by its own command"


@dataclass(frozen=True)
class _Line(Document):
    """One line as a document: its places are columns."""

    number: int = 1

    def place(self, path: Path, *, at_key: bool = False) -> tuple[int, int]:
        while path not in self._columns:
            path, at_key = path[:-1], False
        return self.number, self._columns[path][0 if at_key else 1] + 1

    def line(self, number: int) -> str:  # noqa: ARG002  it has only one
        return self.text

    @cached_property
    def _columns(self) -> dict[Path, tuple[int, int]]:
        columns: dict[Path, tuple[int, int]] = {}
        start = _space(self.text, 0)
        columns[()] = (start, start)
        _walk(self.text, start, (), columns)
        return columns


_DEEPEST = 3  # shots, the number of the arrow, its key
_SPACE, _PLAIN = re.compile(r"[ \t\n\r]*"), re.compile(r"[^\s,\]}]*")


def _space(text: str, at: int) -> int:
    match = _SPACE.match(text, at)
    return match.end() if match else at


def _walk(text: str, at: int, path: Path, columns: dict[Path, tuple[int, int]]) -> int:
    """Note where each key and value of sound JSON begins; the place behind the value at `at`."""
    if text[at] == '"':
        return int(scanstring(text, at + 1)[1])
    if text[at] not in "{[":
        match = _PLAIN.match(text, at)
        return match.end() if match else at
    if len(path) > _DEEPEST:
        return int(json.JSONDecoder().raw_decode(text, at)[1])
    is_object, index = text[at] == "{", 0
    at = _space(text, at + 1)
    while text[at] not in "}]":
        key_at, step = at, index
        if is_object:
            step, at = scanstring(text, at + 1)
            at = _space(text, _space(text, at) + 1)
        columns[*path, step] = (key_at, at)
        at = _space(text, _walk(text, at, (*path, step), columns))
        at = _space(text, at + 1) if text[at] == "," else at
        index += 1
    return at + 1


def _is_deeper(value: Any, levels: int) -> bool:
    """Whether lists and objects stand in one another more than so many times."""
    below = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return levels < 0 or any(_is_deeper(inner, levels - 1) for inner in below)


class _RefusedError(ValueError):
    """Data that JSON's reader would take and a log does not hold."""


def _parsed(text: str) -> dict[str, Any] | tuple[int, Fault]:
    """A JSON object, or the column and fault of what is none."""
    try:
        data = json.loads(
            text, object_pairs_hook=_object, parse_constant=_number, parse_float=_number, parse_int=_whole
        )
        text.encode("utf-8"), json.dumps(data, ensure_ascii=False).encode("utf-8")
    except json.JSONDecodeError as error:
        return error.pos + 1, Fault("bad-json", f"this is no JSON from here on: {error.msg}", _MENDED)
    except _RefusedError as error:
        message, token = error.args
        return max(0, text.find(token)) + 1, Fault("bad-json", message, _MENDED)
    except UnicodeEncodeError:
        return max(0, text.find("\\u")) + 1, Fault("not-utf8", "this names half a character", _MENDED)
    except RecursionError:
        return 1, Fault("bad-json", "this is nested too deeply", _MENDED)
    if not isinstance(data, dict):
        return 1, Fault("bad-json", "a record is a JSON object", _MENDED)
    if _is_deeper(data, _DEEPEST + 1):
        return 1, Fault("bad-json", "this is nested too deeply", _MENDED)
    if len(data) > _MOST_KEYS:
        return 1, Fault("bad-json", f"a record has at most {_MOST_KEYS} keys", _MENDED)
    if isinstance(data.get("shots"), list) and len(data["shots"]) > _MOST_ARROWS:
        return 1, Fault("bad-size", f"shots has more than {_MOST_ARROWS} entries", "write them in several records")
    return data


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) != len(pairs):
        seen: set[str] = set()
        repeated = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise _RefusedError(f"{repeated} is said twice", f'"{repeated}"')
    return data


def _number(token: str) -> float:
    value = float(token.replace("Infinity", "inf"))
    if not isfinite(value):
        raise _RefusedError(f"{token[:20]} is no number that an arrow can have", token)
    return value


def _whole(token: str) -> int:
    if len(token) > 15:
        raise _RefusedError(f"{token[:20]} is no number that an arrow can have", token)
    return int(token)


def _beyond_the_schema(data: Mapping[str, Any]) -> list[tuple[Path, Fault]]:
    """What a schema cannot say: that the day exists, what is yet to come, and how far 3 m are in the unit used."""
    found: list[tuple[Path, Fault]] = []
    try:
        datetime.fromisoformat(data["time"])
    except ValueError:
        found.append(
            (("time",), Fault("bad-time", f"there is no {data['time']}", "write it as in 2027-09-11T17:05:12Z"))
        )
    checked_on = data.get("values", {}).get("technician_checked_on", "")
    if checked_on > data["time"][:10]:
        fault = Fault("bad-date", f"{checked_on} is after the day of the form", "write the day on which it was done")
        found.append((("values", "technician_checked_on"), fault))
    unit = data.get("unit", "cm")
    for index, shot in enumerate(data.get("shots", ())):
        for key in ("right", "up"):
            if abs(shot.get(key, 0)) > FARTHEST[unit]:
                fault = Fault(
                    "out-of-range", f"{shot[key]:g} {unit} is over 3 m from the aim", "such an arrow is outside"
                )
                found.append((("shots", index, key), fault))
    return found
