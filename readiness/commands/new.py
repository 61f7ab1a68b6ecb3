"""readiness new: a trip file to start from, asked for value by value."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from readiness.commands.options import formats, today_option
from readiness.terminal import confirm, give_up, say


@click.command("new")
@click.argument("path", default="trip.yaml", type=click.Path(allow_dash=True))
@click.option("--defaults", is_flag=True, help="Ask nothing; write stand-in values to change later.")
@click.option("--force", is_flag=True, help="Replace an existing file.")
@formats("text", "json")
@today_option
def new(path: str, defaults: bool, force: bool, form: str, today: date | None) -> None:
    """Write a commented trip file to PATH (trip.yaml), asking for the values; - writes it to the screen."""
    from readiness.files import taken_problem, write_new
    from readiness.trip.starter import default_answers, starter_text

    taken = None if path == "-" or force else taken_problem(Path(path))
    if taken:
        give_up([taken])
    answers = default_answers(today or date.today())
    if not defaults:
        _ask(answers)
    text = starter_text(answers, path if path != "-" else "trip.yaml")
    if path == "-":
        say(text)
        return
    problem = write_new(Path(path), text, replace=force)
    if problem:
        give_up([problem])
    if form == "json":
        from readiness.render.data import to_json

        confirm(to_json({"written": path, "next": ["check", "plan"]}))
    else:
        confirm(f"Wrote {path}. Change what is not yours, then: readiness check {path}\n")


def _ask(answers: dict[str, str]) -> None:
    """Ask each question until the answer fits; an empty answer takes the stand-in."""
    from readiness.trip.starter import QUESTIONS, answer_fault, completed

    click.echo("An empty answer takes the value in brackets. A quantity is a number with its unit.", err=True)
    for question in QUESTIONS:
        while True:
            click.echo(f"{question.words} [{answers[question.field]}]: ", err=True, nl=False)
            try:
                answer = input().strip() or answers[question.field]  # its own prompt would go to standard output
            except EOFError as end:
                raise click.Abort from end
            answer = completed(question, answer)
            fault = answer_fault(question, answer, answers)
            if fault is None:
                break
            click.echo(f"  {fault.message}: {fault.hint}", err=True)
        answers[question.field] = answer
