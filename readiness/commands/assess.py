"""readiness assess: what the logged arrows mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.commands.options import (
    arrows_option,
    checklists_option,
    formats,
    today_option,
    trip_argument,
    units_option,
)
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, complain, finish, give_up, say, say_page

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from readiness.arrival.assessment import Assessment
    from readiness.arrival.records import Log
    from readiness.plan import Plan


@click.command("assess")
@trip_argument
@click.option("--at", metavar="PLACE", help="Where; the last logged place if left out.")
@click.option("--longest", metavar="TEXT", help='No next group beyond this distance, such as "50 yd".')
@click.option(
    "--write",
    is_flag=True,
    help="Write a copy of the trip with the sight's correction for this place.",
)
@formats("text", "markdown", "json")
@units_option
@arrows_option
@checklists_option
@today_option
def assess(
    trip_file: str,
    at: str | None,
    longest: str | None,
    write: bool,
    form: str,
    units: str | None,
    arrows: int,
    checklists: tuple[Path, ...],
    today: date | None,
) -> None:
    """What the logged arrows of TRIP mean: each check passed, failed or not told, what moved, what to shoot next.

    The log stands beside TRIP. Exit code 1 where a check or a stop step failed.
    """
    from readiness.arrival.assessment import assess as assess_evening
    from readiness.arrival.nextgroup import Allowed

    plan, _, broken = planned(trip_file, today, checklists, units=units, arrows=arrows)
    log, others = _logs_of(trip_file, plan)
    place = _place(at, plan, log if log.records else others)
    left_out = len(others.of_place(place))
    found = assess_evening(plan, log, place, Allowed(arrows, _longest(longest)), left_out)
    if form == "json":
        from readiness.render.assessment import assessment_data
        from readiness.render.data import to_json

        say(to_json(assessment_data(found)))
    else:
        from readiness.render.assessment import assessment_page

        say_page(assessment_page(found), form)
    if write:
        _write(trip_file, found, today)
    finish(NOT_READY if found.failed or broken else DONE)


def _logs_of(trip_file: str, plan: Plan) -> tuple[Log, Log]:
    """The standing records of the present set-up, and those shot with another."""
    from readiness.arrival.log import log_path, of_setup, read_log, setup_hash
    from readiness.problems import Fault

    if trip_file == "-":
        fault = Fault("no-file", "a log stands beside a trip file, and standard input is none", "name the trip file")
        give_up([fault.at("<stdin>", 0, 0)])
    path = log_path(trip_file)
    if not path.exists():
        hint = f"readiness log {trip_file} asks for what was shot{_before_the_copy(path)}"
        give_up([Fault("no-log", "nothing is logged yet", hint).at(str(path), 0, 0)])
    log, problems = read_log(path, plan.trip)
    complain(problems)
    return of_setup(log, setup_hash(plan.trip))


def _before_the_copy(path: Path) -> str:
    """Where the records of the trip may stand from which --write made this one: its name begins as theirs."""
    beside = sorted(log.name for log in path.parent.glob("*.log.jsonl"))
    old = next((name for name in beside if path.name.startswith(name.removesuffix("log.jsonl"))), "")
    return old and f"; if this is a corrected copy, what was shot before may stand in {old}"


def _place(at: str | None, plan: Plan, log: Log) -> str:
    from readiness.arrival.entry import place_named
    from readiness.problems import Fault

    place = place_named(at, plan.trip, log)
    if isinstance(place, Fault):
        give_up([place.at("--at", 0, 0)])
    return place


def _longest(text: str | None) -> float | None:
    from readiness.arrival.entry import quantity
    from readiness.problems import Fault
    from readiness.units import read_quantity

    if text is None:
        return None
    found = read_quantity(text, "length")
    if isinstance(found, Fault):
        fault = quantity(text, "distance")  # the same, with a hint for a distance to shoot
        give_up([(fault if isinstance(fault, Fault) else found).at("--longest", 0, 0)])
    if found.si <= 0.0:
        give_up([Fault("out-of-range", f"{text!r} is no distance to shoot", "write 50 yd, say").at("--longest", 0, 0)])
    return found.si


def _write(trip_file: str, found: Assessment, today: date | None) -> None:
    """Write the correction into a copy, never over the trip itself."""
    from datetime import date as day

    from readiness.arrival.correcting import corrected_copy
    from readiness.files import write_new
    from readiness.problems import Problem

    copy = corrected_copy(trip_file, found, today or day.today())
    if copy is None:
        click.echo("Nothing written: leave the sight alone, there is no correction to note.", err=True)
        return
    if isinstance(copy, Problem):
        give_up([copy])
    problem = write_new(copy.path, copy.text)
    if problem:
        again = problem.code == "exists"
        give_up([problem._replace(hint="delete it first if it is to be written anew") if again else problem])
    click.echo(f"Wrote {copy.path}.", err=True)
