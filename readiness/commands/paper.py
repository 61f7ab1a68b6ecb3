"""What the commands that write paper share: which form is asked for, and pages written to files."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.terminal import confirm, give_up, say, say_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from readiness.problems import Problem

FORMS = ("pdf", "png", "svg")


def form_of(output: Path | None, form: str | None, command: str, *, json_too: bool = False) -> str:
    """The form asked for, by --format or by the file's name; a usage error where neither tells."""
    if output is None:
        if form == "json" and json_too:
            return form
        raise click.UsageError(
            f"{command} writes a file that no terminal shows: add -o {command}.{form or 'pdf'}"
            f" (or -o - to send it on to another program)"
        )
    named = output.suffix.lower().removeprefix(".")
    known = (*FORMS, "json") if json_too else FORMS
    if form is not None and named in known and named != form:
        raise click.UsageError(
            f"{output} ends in .{named} and --format says {form}: name it {output.with_suffix('.' + form)}"
        )
    if form is not None:
        return form
    if str(output) == "-":
        return "pdf"
    if named in known:
        return named
    endings = ", ".join(f".{name}" for name in known)
    raise click.UsageError(
        f"{output} does not tell its form: let its name end in one of {endings}, or add --format pdf"
    )


def write_pages(output: Path, pages: bytes | Sequence[bytes], trip_file: str) -> None:
    """Write one file, or several pages as name-1.png, name-2.png ..., each whole or not at all.

    Where one of them would take the place of the trip, a log or a YAML file, none is written.
    """
    from readiness.files import kept_problem, write_bytes

    every = [pages] if isinstance(pages, bytes) else list(pages)
    if str(output) == "-":
        if len(every) > 1:
            raise click.UsageError(f"{len(every)} pages do not go into one stream: write -o card.pdf, or fewer faces")
        say_bytes(every[0])
        return
    names = [output]
    if len(every) > 1:
        width = len(str(len(every)))
        names = [output.with_name(f"{output.stem}-{n:0{width}}{output.suffix}") for n in range(1, len(every) + 1)]
    kept = [problem for name in names if (problem := kept_problem(name, trip_file))]
    if kept:
        give_up(kept)
    for name, page in zip(names, every, strict=True):
        problem = write_bytes(name, page)
        if problem:
            give_up([problem])
    confirm("".join(f"Wrote {name}.\n" for name in names))


def write_text(output: Path | None, text: str, trip_file: str) -> None:
    """Write a product that is text, with the same care; on standard output for no name, or -."""
    from readiness.files import kept_problem, write_new

    if output is None or str(output) == "-":
        say(text)
        return
    problem = kept_problem(output, trip_file) or write_new(output, text, replace=True)
    if problem:
        give_up([problem])
    confirm(f"Wrote {output}.\n")


def no_glyph_problem(file: str, missing: Sequence[str]) -> Problem:
    """The warning that some characters were written as their numbers."""
    from readiness.problems import Fault

    shown = ", ".join(missing[:8]) + (f" and {len(missing) - 8} more" if len(missing) > 8 else "")
    return Fault(
        "no-glyph",
        f"no font for paper has {shown}: printed as [{missing[0]}]",
        "write the name in letters that the reader's map or licence shows; hunter: {id: c07} puts an id first on paper",
        "warning",
    ).at("<stdin>" if file == "-" else file, 0, 0)
