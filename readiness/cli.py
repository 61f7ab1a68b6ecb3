"""The command line: thin commands. With terminal, the only module that prints or exits."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, cast

import click

from readiness import __version__
from readiness.terminal import BAD_INPUT, DONE, NOT_READY, complain, ending, finish, give_up, say, say_page

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from readiness.files import Source
    from readiness.plan import Plan
    from readiness.problems import Problem
    from readiness.rules.packs import Pack
    from readiness.trip.model import Trip
    from readiness.units import UnitSystem


class DateOption(click.ParamType):  # type: ignore[type-arg]  # generic only in newer releases
    """A day, year-month-day."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The date, or a usage error that says what to type."""
        if isinstance(value, date):
            return value
        from readiness.trip.validate import date_fault

        fault = date_fault(value)
        if fault:
            self.fail(f"{fault.message}; {fault.hint}", param, ctx)
        return date.fromisoformat(value)


def _formats(*names: str) -> Callable[[Any], Any]:
    return click.option(
        "--format",
        "form",
        type=click.Choice(names),
        default=names[0],
        show_default=True,
        help="How it is written.",
    )


_trip_argument = click.argument("trip_file", metavar="TRIP", type=click.Path(allow_dash=True))
_today = click.option("--date", "today", type=DateOption(), metavar="YYYY-MM-DD", help="The day that stands for today.")
_units = click.option(
    "--units",
    type=click.Choice(["imperial", "metric"]),
    help="Units of the page; those of the trip's pins if left out.",
)
_checklists = click.option(
    "--checklists",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A folder of rule packs on top of the built-in ones; may be given again.",
)
_arrows = click.option(
    "--arrows",
    type=click.IntRange(2, 200),
    default=12,
    show_default=True,
    help="Arrows that you can shoot at camp before dark.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="readiness")
def main() -> None:
    """Prove a travelling hunting bow: what to record and pack, what to shoot on arrival, what it means.

    Start with `readiness new trip.yaml`, then `readiness check trip.yaml` and `readiness plan trip.yaml`.
    A TRIP of - is read from standard input.
    """


@main.command(short_help="Write a commented trip file to start from.")
@click.argument("path", default="trip.yaml", type=click.Path(allow_dash=True))
@click.option("--defaults", is_flag=True, help="Ask nothing; write stand-in values to change later.")
@click.option("--force", is_flag=True, help="Replace an existing file.")
@_formats("text", "json")
@_today
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

        say(to_json({"written": path, "next": ["check", "plan"]}))
    else:
        say(f"Wrote {path}. Change what is not yours, then: readiness check {path}\n")


@main.command(short_help="Tell what is wrong, doubtful or left out.")
@_trip_argument
@_formats("text", "markdown", "json")
@_checklists
@_today
def check(trip_file: str, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """Read TRIP and tell everything that is wrong, doubtful or left out, missing from the bags, or not as required."""
    from readiness.readying import readiness_of
    from readiness.trip.gaps import gaps_of

    made, problems, broken = _planned(trip_file, today, None, 12, checklists, json_too=form == "json")
    found = readiness_of(made.trip, made.rulings, made.packing, gaps_of(made.trip))
    if form == "json":
        from readiness.render.data import check_data, to_json

        say(to_json(check_data(found, problems)))
    else:
        from readiness.render.kit import check_page

        say_page(check_page(found, problems), form)
    finish(NOT_READY if found.waiting or broken else DONE)


@main.command(short_help="Print what to pack, and what is missing.")
@_trip_argument
@_formats("text", "markdown", "json", "csv")
@_checklists
@_today
def pack(trip_file: str, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """What TRIP needs against its gear: what is missing, what is in a wrong bag, what goes where."""
    made, _, broken = _planned(trip_file, today, None, 12, checklists)
    if form in ("json", "csv"):
        from readiness.render.data import packing_csv, packing_data, to_json

        say(to_json(packing_data(made.trip, made.packing)) if form == "json" else packing_csv(made.packing))
    else:
        from readiness.render.kit import packing_page

        say_page(packing_page(made.trip, made.packing), form)
    finish(NOT_READY if broken or (made.packing.compared and not made.packing.is_ready) else DONE)


@main.command(short_help="Print the verification plan of a trip.")
@_trip_argument
@_formats("text", "markdown", "json")
@click.option("--all", "everything", is_flag=True, help="Show the steps that do not apply, too, with the reason.")
@click.option("--short", is_flag=True, help="Leave out what each step rests on, and cautions told before.")
@click.option(
    "--stage",
    help="Only one stage: baseline, verify, freeze, pack, arrival, morning, knock, weather, return.",
)
@_units
@_checklists
@_arrows
@_today
def plan(
    trip_file: str,
    form: str,
    everything: bool,
    short: bool,
    stage: str | None,
    units: str | None,
    checklists: tuple[Path, ...],
    arrows: int,
    today: date | None,
) -> None:
    """The verification plan of TRIP: stop steps, the answer, then every step from the first week to the way home."""
    from readiness import stages
    from readiness.render.pages import plan_page

    if stage is not None and stage not in stages.KEYS:
        raise click.BadParameter(f"write one of {', '.join(stages.KEYS)}", param_hint="--stage")
    made, _, broken = _planned(trip_file, today, units, arrows, checklists)
    if form == "json":
        from readiness.render.data import plan_data, to_json

        say(to_json(plan_data(made)))
    else:
        say_page(plan_page(made, everything=everything, only=stage, short=short), form)
    finish(NOT_READY if broken else DONE)


@main.command(short_help="Print the pin shift and what to do about it.")
@_trip_argument
@_formats("text", "markdown", "json", "csv")
@click.option("--why", is_flag=True, help="Split each shift into its causes, and tell what is doubtful.")
@_units
@_arrows
@_today
def pins(trip_file: str, form: str, why: bool, units: str | None, arrows: int, today: date | None) -> None:
    """The pin shift of TRIP: how far each pin is off there, how sure that is, and what to do."""
    made, _, _ = _planned(trip_file, today, units, arrows, None)
    if form in ("json", "csv"):
        from readiness.render.data import pins_csv, pins_data, to_json

        say(to_json(pins_data(made)) if form == "json" else pins_csv(made))
    else:
        from readiness.render.pages import pins_page

        say_page(pins_page(made, why=why), form)


@main.command(short_help="Write the stages of a trip as a calendar.")
@_trip_argument
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="The .ics file; the screen if left out."
)
@_formats("ics", "json")
@_checklists
@_today
def calendar(trip_file: str, output: Path | None, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """Each stage of TRIP on its days, counted back from the start, with an alarm; importing it again updates it."""
    from readiness.files import write_new
    from readiness.render.calendar import calendar_data, to_ics
    from readiness.render.data import to_json

    made, _, broken = _planned(trip_file, today, None, 12, checklists)
    text = to_json(calendar_data(made)) if form == "json" else to_ics(made).decode("utf-8")
    if output is None:
        say(text)
        finish(NOT_READY if broken else DONE)
    problem = write_new(output, text, replace=True)
    if problem:
        give_up([problem])
    say(f"Wrote {output}.\n")
    finish(NOT_READY if broken else DONE)


@main.command(short_help="Tell what is wrong with rule packs.")
@click.argument("paths", nargs=-1, metavar="[PACK OR FOLDER]...", type=click.Path(path_type=Path))
@_formats("text", "markdown", "json")
@_today
def lint(paths: tuple[Path, ...], form: str, today: date | None) -> None:  # noqa: ARG001  --date is in every command
    """Tell everything wrong with rule packs: grammar, craft and their own examples. Built-in ones if none is named."""
    from readiness.problems import has_errors, sort_and_dedupe
    from readiness.rules.lint import lint_packs
    from readiness.rules.packs import built_in_packs, packs_at

    built_in, problems = built_in_packs()
    named: list[Pack] = []
    for path in paths:
        found, unreadable = packs_at(path)
        named.extend(found)
        problems = (*problems, *unreadable)
    # A file that is a built-in pack, named by its path, is not its own double.
    texts = {pack.document.text for pack in named}
    others = tuple(pack for pack in built_in if pack.document.text not in texts)
    problems = sort_and_dedupe((*problems, *lint_packs((*others, *named))))
    shown = tuple(named) if paths else built_in
    if form == "json":
        from readiness.render.data import lint_data, to_json

        say(to_json(lint_data(shown, problems)))
    else:
        from readiness.render.kit import lint_page

        say_page(lint_page(shown, problems), form)
        complain(problems)
    finish(BAD_INPUT if has_errors(problems) else DONE)


@main.command(short_help="Publish the format of trips or packs.")
@click.argument("what", type=click.Choice(["trip", "pack"]))
@_formats("json", "text", "markdown")
@_today
def schema(what: str, form: str, today: date | None) -> None:  # noqa: ARG001  --date is in every command
    """Publish a file format: its JSON Schema (draft 2020-12), or a table of its keys."""
    from readiness.rules.lint import pack_schema
    from readiness.trip.validate import trip_schema

    described = trip_schema() if what == "trip" else pack_schema()
    if form == "json":
        from readiness.render.data import to_json

        say(to_json(described))
    else:
        from readiness.render.keys import schema_page

        say_page(schema_page(described, as_table=form == "markdown"), form)


def run() -> NoReturn:
    """The `readiness` command."""
    ending(lambda: main.main(standalone_mode=False))


def _load(trip_file: str, today: date | None, *, json_too: bool = False) -> tuple[Trip, tuple[Problem, ...], Source]:
    """The trip, its warnings (told on standard error) and its source; an error ends here."""
    from readiness.files import read_source
    from readiness.problems import Problem
    from readiness.trip.load import load_trip

    source = read_source(trip_file)
    if isinstance(source, Problem):
        give_up([source], json_too=json_too)
    loaded = load_trip(source.text, source.name, today or date.today())
    if loaded.trip is None:
        give_up(loaded.problems, json_too=json_too)
    complain(loaded.problems)
    return loaded.trip, loaded.problems, source


def _planned(
    trip_file: str,
    today: date | None,
    units: str | None,
    arrows: int,
    checklists: tuple[Path, ...] | None,
    *,
    json_too: bool = False,
) -> tuple[Plan, tuple[Problem, ...], bool]:
    """The plan, the trip file's warnings, and whether a rule pack was broken. Without checklists no pack is read."""
    from readiness.plan import make_plan

    trip, warnings, source = _load(trip_file, today, json_too=json_too)
    packs, problems = _packs(checklists) if checklists is not None else ((), ())
    made, failed = make_plan(
        trip,
        packs,
        today=today or date.today(),
        units=cast("UnitSystem", units or trip.units),
        arrows=arrows,
        trip_sha256=source.sha256,
    )
    complain((*problems, *failed))
    return made, warnings, bool(problems or failed)


def _packs(directories: Iterable[Path]) -> tuple[tuple[Pack, ...], tuple[Problem, ...]]:
    from readiness.rules.packs import built_in_packs, packs_at

    packs, problems = built_in_packs()
    for directory in directories:
        more, unreadable = packs_at(directory)
        if not more:
            give_up(unreadable)
        packs, problems = (*packs, *more), (*problems, *unreadable)
        from readiness.rules.lint import lint_packs

        problems = (*problems, *lint_packs(packs))
    return packs, problems


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
