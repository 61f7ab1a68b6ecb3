"""What an archer types for the arrows of a set: `0.3,-0.4@7; x` is arrow 7 right 0.3 and low 0.4, and one outside."""

from __future__ import annotations

import re
from typing import Any

from readiness.arrival.lines import FARTHEST
from readiness.problems import Fault, Problem, excerpt

MOST_SHOTS = 100  # as the schema says
LONGEST_TEXT = 5_000
_EXAMPLE = "write right,up for each arrow, such as 0.3,-0.4; left and low are negative"
_NUMBER = r"[-+]?(?:\d{1,4}(?:\.\d{0,4})?|\.\d{1,4})"
_SHOT = re.compile(rf"({_NUMBER})(?:\s*,\s*|\s+)({_NUMBER})\s*(?:@\s*(\d{{1,3}}))?", re.ASCII)
_BETWEEN = re.compile(r";[ \t\r]*\n|[;\n]")
_OUTSIDE = re.compile(r"x\s*(?:@\s*(\d{1,3}))?", re.ASCII | re.IGNORECASE)
_COMMA_DECIMALS = re.compile(r"\s*([-+]?\d+),(\d+)\s*[,\s]\s*([-+]?\d+),(\d+)\s*", re.ASCII)


def read_shots(text: str, unit: str, name: str = "--shots") -> tuple[list[dict[str, Any]], tuple[Problem, ...]]:
    """Every arrow of a set, or every fault of the text at its column.

    Parameters
    ----------
    text : as typed, [text]
    unit : unit of right and up, in or cm, [text]
    name : what messages call the text, [text]

    Returns
    -------
    the arrows with the keys of the log's schema, and the problems

    Examples
    --------
    >>> read_shots("0.3,-0.4@7; x", "in")[0]
    [{'right': 0.3, 'up': -0.4, 'arrow': 7}, {'outside': True}]

    """
    if len(text) > LONGEST_TEXT:
        fault = Fault("bad-shot", f"this is over {LONGEST_TEXT:,} characters", "log the arrows in several sets")
        return [], (fault.at(name, 0, 0),)
    pieces = _pieces(text)
    if not 0 < len(pieces) <= MOST_SHOTS:
        message = "there is no arrow in it" if not pieces else f"these are over {MOST_SHOTS} arrows"
        return [], (Fault("bad-shot", message, _EXAMPLE).at(name, 0, 0),)
    shots: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for column, piece in pieces:
        shot = read_shot(piece, unit)
        if isinstance(shot, Fault):
            problems.append(shot.at(name, 1, column, text))
        else:
            shots.append(shot)
    return shots, tuple(problems)


def read_shot(text: str, unit: str) -> dict[str, Any] | Fault:
    """One arrow.

    >>> read_shot("1.2 -0.5", "in"), read_shot("2,5,1,0", "cm").hint
    ({'right': 1.2, 'up': -0.5}, 'write 2.5,1.0: the decimal sign is a point')
    """
    plain = text.strip().replace("−", "-").replace("–", "-")
    outside = _OUTSIDE.fullmatch(plain)
    if outside:
        return _numbered({"outside": True}, outside[1])
    match = _SHOT.fullmatch(plain)
    if match is None:
        return _misread(plain)
    right, up = float(match[1]) + 0.0, float(match[2]) + 0.0  # -0 is 0
    for value in (right, up):
        if abs(value) > FARTHEST[unit]:
            hint = "write x for an arrow outside the butt" + (", or add --unit cm" if unit == "in" else "")
            return Fault("out-of-range", f"{value:g} {unit} is over 3 m from the aim", hint)
    return _numbered({"right": right, "up": up}, match[3])


def _pieces(text: str) -> list[tuple[int, str]]:
    """Each arrow's text with its column, 1 for the first; one separator at the end is nothing."""
    pieces: list[tuple[int, str]] = []
    start = 0
    for end in [*_BETWEEN.finditer(text), None]:
        piece = text[start : end.start() if end else len(text)]
        blank = len(piece) - len(piece.lstrip()) if piece.strip() else 0
        pieces.append((start + blank + 1, piece.strip()))
        start = end.end() if end else len(text)
    return pieces if pieces[-1][1] else pieces[:-1]


def _numbered(shot: dict[str, Any], number: str | None) -> dict[str, Any] | Fault:
    if number is None:
        return shot
    if int(number) == 0:
        return Fault("bad-shot", "there is no arrow 0", "number the arrows from 1, such as @7, or leave @ out")
    return {**shot, "arrow": int(number)}


def _misread(text: str) -> Fault:
    if not text:
        return Fault("bad-shot", "here an arrow is missing", f"{_EXAMPLE}; x for an arrow outside the butt")
    pointed = _COMMA_DECIMALS.fullmatch(text)
    hint = _EXAMPLE
    if pointed:
        hint = f"write {pointed[1]}.{pointed[2]},{pointed[3]}.{pointed[4]}: the decimal sign is a point"
    elif re.search(r"(?:in|cm|mm|\"|')", text):
        hint = f"{_EXAMPLE}; the unit is said once, with --unit in or --unit cm"
    elif "/" in text:
        hint = f"{_EXAMPLE}; write 1/2 as 0.5"
    elif re.fullmatch(_NUMBER, text):
        hint = f"both numbers are needed, right and up, such as {text},0; between two arrows stands ;"
    return Fault("bad-shot", f"{excerpt(text)!r} is no arrow", hint)
