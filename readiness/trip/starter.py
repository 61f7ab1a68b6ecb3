"""A first trip file: the questions, the values that stand in for answers, and the commented text."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.problems import Fault
from readiness.trip.quantities import quantity_fault
from readiness.trip.validate import date_fault, trip_schema

if TYPE_CHECKING:
    from collections.abc import Mapping

_TEMPLATE = Path(__file__).parent / "starter.yaml"


class Question(NamedTuple):
    """One question: the field of the template, its words, the schema place that judges the answer."""

    field: str
    words: str
    place: tuple[str, ...]
    default: str


QUESTIONS = (
    Question("name", "What do you call this trip?", ("trip", "name"), "My hunt"),
    Question("starts", "First day (year-month-day)?", ("trip", "starts"), ""),
    Question("ends", "Last day (year-month-day)?", ("trip", "ends"), ""),
    Question("travel", "How does the bow travel: air or road?", ("trip", "travel"), "air"),
    Question("target_zone", "Diameter of the circle every arrow must land in?", ("trip", "target_zone"), "8 in"),
    Question("hand", "Hand of your release: right or left?", ("hunter", "hand"), "right"),
    Question("home_name", "Where was the sight set?", ("home", "name"), "Home range"),
    Question("home_elevation", "Its elevation, with unit?", ("home", "elevation"), "620 ft"),
    Question("home_temperature", "The temperature that day, with unit?", ("home", "temperature"), "74 F"),
    Question("camp_name", "Where do you hunt?", ("destinations", "name"), "Camp"),
    Question("camp_elevation", "Its elevation?", ("destinations", "elevation"), "8750 ft"),
    Question("camp_temperature", "Coldest to warmest there?", ("destinations", "temperature"), "22 F to 61 F"),
    Question("draw_weight", "Peak draw weight, measured?", ("bow", "draw_weight"), "66 lb"),
    Question("draw_length", "Draw length?", ("bow", "draw_length"), "29 in"),
    Question("peep_height", "Sight line above the nocked arrow at full draw?", ("bow", "peep_height"), "4.3 in"),
    Question("sight_kind", "Sight: fixed pins or slider?", ("bow", "sight", "kind"), "fixed pins"),
    Question("radius", "Peep to pin at full draw?", ("bow", "sight", "radius"), "34 in"),
    Question("pins", "Distances of the pins, with commas?", ("bow", "sight", "pins"), "20 yd, 30 yd, 40 yd, 50 yd"),
    Question("arrow_mass", "Complete arrow with head, weighed?", ("arrow", "mass"), "445 gr"),
    Question("speed", "Arrow speed at the bow?", ("arrow", "speed"), "276 fps"),
    Question("shaft_diameter", "Outside diameter of the shaft?", ("arrow", "shaft_diameter"), "0.232 in"),
    Question("arrow_length", "Nock groove to end of shaft?", ("arrow", "length"), "28.5 in"),
    Question("head_mass", "Mass of one head?", ("heads", "mass"), "125 gr"),
    Question("head_kind", "Hunting head: fixed blade or mechanical?", ("heads", "kind"), "fixed blade"),
)  # fmt: skip


def default_answers(today: date) -> dict[str, str]:
    """The value that stands in for each answer; the trip starts eight weeks from today."""
    answers = {question.field: question.default for question in QUESTIONS}
    answers["starts"] = str(today + timedelta(days=56))
    answers["ends"] = str(today + timedelta(days=63))
    answers["today"] = str(today)
    return answers


def answer_fault(question: Question, answer: str, before: Mapping[str, str] | None = None) -> Fault | None:
    """What is wrong with an answer, by the schema of the key it goes to and the answers before it."""
    parts = [part.strip() for part in answer.split(",")] if question.field == "pins" else [answer]
    for part in parts:
        fault = _part_fault(_schema_of(question), part)
        if fault:
            return fault
    starts = (before or {}).get("starts", "")
    if question.field == "ends" and answer < starts:
        return Fault("dates-reversed", f"that is before the first day, {starts}", "write a later day")
    return None


def completed(question: Question, answer: str) -> str:
    """An answer as the file wants it: `Right` is right, `fixed` is fixed pins.

    >>> completed(next(q for q in QUESTIONS if q.field == "sight_kind"), "Fixed")
    'fixed pins'
    """
    choices = _schema_of(question).get("enum", ())
    begun = [choice for choice in choices if answer and choice.startswith(answer.lower())]
    return begun[0] if len(begun) == 1 else answer


def starter_text(answers: Mapping[str, str], file: str) -> str:
    """The commented trip file with the answers in place."""
    quoted = {field: _as_yaml(answer) if field.endswith("name") else answer for field, answer in answers.items()}
    return _TEMPLATE.read_text(encoding="utf-8").format(file=file, **quoted)


def _schema_of(question: Question) -> dict[str, Any]:
    schema = trip_schema()
    for key in question.place:
        schema = schema["properties"][key]
        schema = schema.get("items", schema)
    if question.field == "head_kind":
        return {"enum": [kind for kind in schema["enum"] if kind != "field point"]}
    return schema


def _part_fault(schema: dict[str, Any], text: str) -> Fault | None:
    if "x-quantity" in schema:
        return quantity_fault(text, schema["x-quantity"], schema.get("examples", ()))
    if schema.get("format") == "date":
        return date_fault(text)
    if "enum" in schema and text not in schema["enum"]:
        return Fault("bad-choice", f"{text!r} is none of them", f"write {' or '.join(schema['enum'])}")
    if not text.replace("\t", " ").isprintable():
        return Fault("bad-text", "this holds a character that no file should", "write letters, digits and signs")
    if not 0 < len(text) <= schema.get("maxLength", 200):
        return Fault("bad-size", "this is empty or too long", "write a few words")
    return None


def _as_yaml(text: str) -> str:
    """Text in double quotes: JSON's quoting is YAML's."""
    import json

    return json.dumps(text, ensure_ascii=False)
