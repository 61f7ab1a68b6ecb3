"""readiness render-one: one client a line, for an engine that fans the work out."""

from __future__ import annotations

import gc
import sys
from datetime import date
from typing import TYPE_CHECKING

import click

from readiness.commands.options import formats, today_option
from readiness.terminal import DONE, NOT_READY, finish, say_on

if TYPE_CHECKING:
    from collections.abc import Iterator

MAX_LINE = 4_000_000  # bytes; the samples have 3,000, and JSON of nothing but brackets takes 30 times its length


@click.command("render-one")
@formats("json")
@today_option
def render_one(form: str, today: date | None) -> None:  # noqa: ARG001  --format is in every command
    """Read JSON lines on standard input, one camp and one client each, and write their results as JSON lines.

    A line is {"camp": text, "client": text}, both as YAML; optional are "name", "date", and "packs", the texts of
    the camp's checklists by their paths. A line that is wrong gets a result that says so, and the next is read.
    """
    gc.enable()
    from readiness.camp.lines import result_line

    all_ready = True
    for number, line in enumerate(_lines(), 1):
        ready, text = result_line(line, number, today or date.today())
        all_ready = all_ready and ready
        say_on(text)
    finish(DONE if all_ready else NOT_READY)


def _lines() -> Iterator[bytes | None]:
    """The lines of standard input that are not blank; None for one that is too long to be read."""
    read = sys.stdin.buffer.readline
    while line := read(MAX_LINE + 1):
        if len(line) > MAX_LINE:
            while line and not line.endswith(b"\n"):
                line = read(MAX_LINE)
            yield None
        elif line.strip():
            yield line
