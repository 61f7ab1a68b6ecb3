"""One camp and one client as a line of JSON -> the client's row, papers and problems as a line of JSON."""

from __future__ import annotations

import json
from base64 import b64encode
from datetime import date
from functools import lru_cache
from pathlib import PurePath
from typing import Any

from readiness.camp.making import Made, begin_client, finish_client
from readiness.camp.opening import Opened, open_texts
from readiness.camp.overview import READY
from readiness.documents import read_document
from readiness.files import sha256_of
from readiness.problems import Fault, Problem
from readiness.trip.validate import date_fault

_CAMP_NAME = "camp.yaml"  # how messages name the camp of a line


def result_line(line: bytes | None, number: int, today: date) -> tuple[bool, str]:
    """Whether the client of a line is ready, and the result as one line; a bad line has a result, too.

    Parameters
    ----------
    line : JSON text, or None where it was too long to be read
    number : which line it is, counted from 1, [-]
    today : the day, where the line names none

    """
    said = _said(line, number)
    if isinstance(said, Fault):
        return False, _written(number, f"line {number}", None, (said.at("<stdin>", number, 1),))
    name = str(said.get("name", f"line-{number}"))
    opened = _opened(said["camp"], tuple(sorted(said.get("packs", {}).items())), said.get("date", str(today)))
    if opened.setting is None:
        return False, _written(number, name, None, opened.problems)
    document, problems = read_document(said["client"], name)
    fingerprint = sha256_of(said["client"].encode("utf-8", "surrogatepass"))
    begun = begin_client(opened.setting, document, problems, fingerprint, name, PurePath(name).stem)
    made = finish_client(begun)
    return made.row.status == READY, _written(number, name, made, (*opened.problems, *made.problems))


@lru_cache(maxsize=8)
def _opened(camp: str, packs: tuple[tuple[str, str], ...], day: str) -> Opened:
    """A camp is read once for all the clients that follow each other."""
    return open_texts(camp, _CAMP_NAME, dict(packs), date.fromisoformat(day))


def _said(line: bytes | None, number: int) -> dict[str, Any] | Fault:
    if line is None:
        return Fault("too-large", f"line {number} is too long to be read", "send fewer packs, or a shorter camp")
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        return Fault("not-json", f"line {number} is not JSON", 'write {"camp": "...", "client": "..."}')
    if not isinstance(said, dict):
        return Fault("not-json", f"line {number} is no JSON object", 'write {"camp": "...", "client": "..."}')
    packs, day = said.get("packs", {}), said.get("date")
    texts = [said.get("camp"), said.get("client"), *(packs.values() if isinstance(packs, dict) else (None,))]
    if not all(isinstance(text, str) for text in texts):
        return Fault("wrong-type", "camp, client and each of packs are texts in YAML", "send the files' own text")
    if day is not None and not isinstance(day, str):
        return Fault("bad-date", "the date is no text", "write year-month-day, such as 2027-09-11")
    return (date_fault(day) if day is not None else None) or said


def _written(number: int, name: str, made: Made | None, problems: tuple[Problem, ...]) -> str:
    result = {
        "line": number,
        "name": name,
        "row": made.row.for_machines() if made else None,
        "papers": [{"name": paper, **_content(data)} for paper, data in made.papers] if made else [],
        "problems": [problem.as_dict() for problem in problems],
    }
    return json.dumps(result, ensure_ascii=True, allow_nan=False) + "\n"


def _content(data: bytes) -> dict[str, str]:
    """A paper as text where it is text, else as base64."""
    try:
        return {"text": data.decode("utf-8")}
    except UnicodeDecodeError:
        return {"base64": b64encode(data).decode("ascii")}
