"""Between the commands and the terminal: the product to standard output, problems to standard error, exit codes.

With cli, the only module that prints or exits. Exit codes: 0 done; 1 done, and something is not ready; 2 bad
usage, a bad file, or output that cannot be written; 3 our own fault; 130 interrupted.
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from readiness import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from readiness.problems import Problem
    from readiness.render.elements import Page

DONE, NOT_READY, BAD_INPUT, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def ending(command: Callable[[], object]) -> NoReturn:
    """Run a command, and turn however it ends into an exit code."""
    _open_closed()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        code = command()
        _leave(code if isinstance(code, int) else DONE)
    except click.exceptions.Exit as end:
        _leave(end.exit_code)
    except click.ClickException as error:
        error.show()
        _leave(BAD_INPUT)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted.", err=True)
        _leave(INTERRUPTED)
    except CannotWriteError as error:
        _forget_output()
        if error.reason is None:  # of an endless product
            _leave(DONE)
        click.echo(f"The output could not be written: {error.reason}", err=True)
        _leave(BAD_INPUT)
    except Exception as error:  # noqa: BLE001  the last net: our fault, said shortly, with where the rest is
        click.echo(f"readiness failed: {type(error).__name__}: {error}\n{_keep_traceback()}", err=True)
        _leave(OUR_FAULT)


class CannotWriteError(Exception):
    """Standard output does not take the product; reason is None where its reader has simply gone."""

    def __init__(self, reason: str | None) -> None:
        super().__init__(reason)
        self.reason = reason


def say(text: str) -> None:
    """Write the product to standard output; a reader that has gone is no mistake of anyone's, and the run goes on."""
    with _gone_reader_forgiven():
        say_on(text)


def say_on(text: str) -> None:
    """Write one piece of a product that may be endless: CannotWriteError also where its reader has gone."""
    with _output():
        click.echo(text, nl=False, color=None if _colourful() else False)
        sys.stdout.flush()


def say_bytes(data: bytes) -> None:
    """Write a product that is no text to standard output."""
    with _gone_reader_forgiven(), _output():
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()


def confirm(text: str) -> None:
    """Say what was written elsewhere: to standard error where standard output does not take it, for it is done."""
    try:
        say(text)
    except CannotWriteError:
        _forget_output()
        click.echo(text, err=True, nl=False)


@contextmanager
def _gone_reader_forgiven() -> Iterator[None]:
    try:
        yield
    except CannotWriteError as error:
        if error.reason is not None:
            raise
        _forget_output()


@contextmanager
def _output() -> Iterator[None]:
    """Standard output, with what is wrong with it as one kind of error."""
    if sys.stdout is None:
        raise CannotWriteError("standard output is closed")
    try:
        yield
    except BrokenPipeError as error:
        raise CannotWriteError(None) from error
    except OSError as error:
        raise CannotWriteError(error.strerror) from error


def say_page(page: Page, form: str) -> None:
    """Write a page as text or Markdown."""
    say(page_text(page, form, bold=_colourful() and sys.stdout is not None and sys.stdout.isatty()))


def page_text(page: Page, form: str, *, bold: bool = False) -> str:
    """A page as text or Markdown; bold marks headings of text for a terminal."""
    if form == "markdown":
        from readiness.render.markdown import to_markdown

        return to_markdown(page)
    from readiness.render.text import to_text

    return to_text(page, bold=(lambda text: click.style(text, bold=True)) if bold else str)


def _colourful() -> bool:
    return not os.environ.get("NO_COLOR")


def complain(problems: Iterable[Problem]) -> None:
    """Write problems to standard error."""
    from readiness.problems import show

    for problem in problems:
        click.echo(show(problem), err=True)


def give_up(problems: Iterable[Problem], *, json_too: bool = False) -> NoReturn:
    """End with problems that leave no product."""
    problems = tuple(problems)
    if json_too:
        from readiness.render.data import to_json

        say(to_json({"trip": None, "ready": False, "problems": [problem.as_dict() for problem in problems]}))
    complain(problems)
    finish(BAD_INPUT)


def finish(code: int) -> NoReturn:
    """End with an exit code."""
    raise click.exceptions.Exit(code)


def _leave(code: int) -> NoReturn:
    """End, with nothing left in a buffer: a closed pipe or a full disk shows itself at the last flush."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError:
        _forget_output()
    sys.exit(code)


def _open_closed() -> None:
    """Open what the caller closed: a file opened later would else become standard output or standard error.

    Standard input is then empty, standard error goes nowhere. Standard output stays None, for a product that nobody
    can have is a mistake to be told.
    """
    if None not in (sys.stdin, sys.stdout, sys.stderr):
        return
    while os.open(os.devnull, os.O_RDWR) <= 2:
        pass
    nothing = Path(os.devnull)
    sys.stdin = sys.stdin or nothing.open(encoding="utf-8")
    sys.stderr = sys.stderr or nothing.open("w", encoding="utf-8")


def _forget_output() -> None:
    """Send what is still in the buffer nowhere, so that the interpreter does not stumble over it at its end."""
    if sys.stdout is None:
        return
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _keep_traceback() -> str:
    """Where the traceback was written; it is shown instead where nothing can be written."""
    import platform
    import tempfile
    import traceback

    details = (
        f"readiness {__version__}, Python {platform.python_version()}, {platform.system()}\n{traceback.format_exc()}"
    )
    try:
        handle, name = tempfile.mkstemp(prefix="readiness-fault-", suffix=".txt", text=True)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(details)
    except OSError:
        return details
    return f"This is our fault, not yours. The details are in {name}"
