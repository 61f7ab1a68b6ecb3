"""The sight's correction written into a copy of the trip file: a dated block for the place, the rest as it was."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from unicodedata import normalize

from readiness.arrival.resight import CANNOT_TELL, LEAVE
from readiness.files import read_source, sha256_of
from readiness.problems import Fault, Problem, has_errors
from readiness.trip.load import load_trip
from readiness.units import to_unit

if TYPE_CHECKING:
    from datetime import date

    from readiness.arrival.assessment import Assessment
    from readiness.arrival.resight import Correction
    from readiness.units import UnitSystem

_BLOCK = re.compile(r"^resighted:[ \t]*(?:#.*)?$", re.MULTILINE)
_END_OF_BLOCK = re.compile(r"^[^\s#-]", re.MULTILINE)


class Copy(NamedTuple):
    """The copy's path and text."""

    path: Path
    text: str


def corrected_copy(trip_file: str, found: Assessment, today: date) -> Copy | Problem | None:
    """The trip file with a block of the correction, or why there is none; None where the sight stays as it is.

    Parameters
    ----------
    trip_file : path of the trip file, [text]
    found : the assessment whose correction is noted
    today : the day that the block carries

    Returns
    -------
    Copy, to be written beside the trip under another name; a Problem with code no-correction or unfit; or None where
    every pin that can be told says leave: a correction that nobody makes is not noted

    """
    told = [one for one in found.resight if one.advice != CANNOT_TELL]
    if not told:
        fault = Fault(
            "no-correction", found.gates.no_resight or "no pin's correction can be told", "see the page above"
        )
        return fault.at("--write", 0, 0)
    if all(one.advice == LEAVE for one in told):
        return None
    source = read_source(trip_file)
    if isinstance(source, Problem):
        return source
    entry = _entry(found.evening.place, today, told, found.plan.units)
    text = _inserted(source.text, entry)
    loaded = load_trip(text, source.name, today)
    if (
        has_errors(loaded.problems)
        or loaded.trip is None
        or len(loaded.trip.resighted) <= len(found.plan.trip.resighted)
    ):
        inline = re.search(r"^resighted:[ \t]*\S", source.text, re.MULTILINE)
        line = source.text.count("\n", 0, inline.start()) + 1 if inline else 0
        hint = "put what stands behind resighted: below it, each entry on a line that begins with -"
        return Fault("unfit", "the block does not fit into this file", hint).at(source.name, line, 1 if line else 0)
    path = Path(trip_file)
    return Copy(path.with_name(f"{path.stem}.{_slug(found.evening.place)}-{today}{path.suffix or '.yaml'}"), text)


def _entry(place: str, today: date, told: list[Correction], units: UnitSystem) -> str:
    import json

    lines = [f"  - place: {json.dumps(place, ensure_ascii=False)}", f'    on: "{today}"', "    moves:"]
    lines += [
        f"      - {{distance: {_text(one.distance_m, 'yd', 'm', units)}, move: {_fine(one.move_m, units)}, "
        f"low: {_fine(one.move_low_m, units)}, high: {_fine(one.move_high_m, units)}, advice: {one.advice}}}"
        for one in told
    ]
    return "\n".join(lines) + "\n"


def _inserted(text: str, entry: str) -> str:
    """The text with one more entry at the end of its block, or with a block at its end."""
    if "\r\n" in text:
        return _inserted(text.replace("\r\n", "\n"), entry).replace("\n", "\r\n")
    text = re.sub(r"\n\.\.\.\s*\Z", "\n", text)  # an end mark of YAML says nothing that the end of the file does not
    if not text.endswith("\n"):
        text += "\n"
    block = _BLOCK.search(text)
    if block is None:
        return f"{text}# Corrections of the sight, written by readiness assess --write.\nresighted:\n{entry}"
    after = _END_OF_BLOCK.search(text, block.end() + 1)
    end = after.start() if after else len(text)
    return f"{text[:end]}{entry}{text[end:]}"


def _text(metres: float, imperial: str, metric: str, units: UnitSystem) -> str:
    unit = imperial if units == "imperial" else metric
    return f"{to_unit(metres, 'length', unit):.6f}".rstrip("0").rstrip(".") + f" {unit}"


def _fine(metres: float, units: UnitSystem) -> str:
    unit = "in" if units == "imperial" else "mm"
    return f"{to_unit(metres, 'length', unit) + 0.0:.4f} {unit}"


def _slug(place: str) -> str:
    """A place in a file name of any system; what has no letter of its own there is told apart by a hash."""
    plain = normalize("NFKD", place).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40]
    return slug if slug and place.isascii() else f"{slug or 'place'}-{sha256_of(place.encode())[:6]}"
