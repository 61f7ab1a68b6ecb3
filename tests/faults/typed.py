"""Hostile text where a person types: options on the command line, answers to questions."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults import sandbox
from tests.faults.sandbox import Call
from tests.faults.surroundings import copied, judged
from tests.faults.texts import EITHER, TURNED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.faults.choice import Choice
    from tests.faults.verdict import Row

_LOG = ("log", "trip.yaml")
_OPTIONS = {
    "log --distance": (*_LOG, "--shots", "0,0", "--distance"),
    "log --shots": (*_LOG, "--distance", "20 yd", "--shots"),
    "log --temperature": (*_LOG, "--distance", "20 yd", "--shots", "0,0", "--temperature"),
    "log --changed": (*_LOG, "--changed"),
    "log --at": (*_LOG, "--changed", "peep", "--at"),
    "log --time": (*_LOG, "--changed", "peep", "--time"),
    "log --head": (*_LOG, "--kind", "broadhead", "--distance", "20 yd", "--shots", "0,0", "--head"),
    "log --value": (*_LOG, "--step", "ARR-010", "--value"),
    "log --step": (*_LOG, "--value", "pass", "--step"),
    "log --undo": (*_LOG, "--undo"),
    "log --import": (*_LOG, "--import"),
    "assess --at": ("assess", "trip.yaml", "--at"),
    "assess --longest": ("assess", "trip.yaml", "--longest"),
    "plan --date": ("plan", "trip.yaml", "--date"),
    "plan --stage": ("plan", "trip.yaml", "--stage"),
    "plan --arrows": ("plan", "trip.yaml", "--arrows"),
    "plan --checklists": ("plan", "trip.yaml", "--checklists"),
    "card --faces": ("card", "trip.yaml", "-o", "out/card.pdf", "--faces"),
    "card --per-page": ("card", "trip.yaml", "-o", "out/card.pdf", "--size", "a4", "--per-page"),
    "roster --jobs": ("roster", "camp/camp.yaml", "-o", "out/envelopes", "--jobs"),
    "roster --collect": ("roster", "camp/camp.yaml", "-o", "out/envelopes", "--collect"),
    "schema": ("schema",),
    "check": ("check",),
    "an option of its own": ("check", "trip.yaml", "--no-such-option"),
}
_WRITES = ("trip.log.jsonl", "out/card.pdf", "out/envelopes")
_TYPED = {
    "100,000 digits": "9" * 100_000,
    "100,000 letters": "a" * 100_000,
    "100,000 spaces": "a" + " " * 100_000 + "b",
    "nothing": "",
    "a dash": "-",
    "no UTF-8": "a\udcff\udcfeb",
    "an escape sequence": "\x1b[2Jx\x07",
    "directions turned": TURNED,
    "a number beyond every float": "1e999",
    "no number": "nan",
    "digits of another script": "\u0662\u0660 yd",
    "lines": "20 yd\n{}\n",
}
_ANSWERS = {
    "100,000 digits": b"9" * 100_000,
    "a line of 5 MB": b"x" * 5_000_000,
    "no UTF-8": b"\xff\xfe",
    "NUL": b"a\0b",
    "an escape sequence": b"\x1b[2Jx",
    "directions turned": TURNED.encode(),
    "a number beyond every float": b"1e999 ft",
    "YAML": b'"]: {*a, &b, !!c',
}


def rows(choice: Choice) -> Iterator[Row]:
    """Each hostile text in the place of each option, and as the answer to each question."""
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        for number, (name, typed) in enumerate(_TYPED.items()):
            if choice.takes(number, f"typed: {name}"):
                for command, words in _OPTIONS.items():
                    yield from _one(good, f"typed: {name}", command, Call((*words, typed), _WRITES))
        for number, (name, answer) in enumerate(_ANSWERS.items()):
            if choice.takes(number, f"answered: {name}"):
                for command, words in {"new": ("new", "out/new.yaml"), "log": _LOG}.items():
                    call = Call(words, (*_WRITES, "out/new.yaml"), (answer + b"\n") * 20)
                    yield from _one(good, f"answered: {name}", command, call)


def _one(good: Path, fault: str, command: str, call: Call) -> Iterator[Row]:
    with copied(good) as folder:
        # 130: the answers came to an end before the questions did.
        yield judged(folder, command, call, EITHER | ({130} if call.stdin else frozenset()))._replace(fault=fault)
