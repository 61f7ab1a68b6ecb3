"""readiness plan: the verification plan."""

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
from readiness.terminal import DONE, NOT_READY, finish, say, say_page

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("plan")
@trip_argument
@formats("text", "markdown", "json")
@click.option("--all", "everything", is_flag=True, help="Show the steps that do not apply, too, with the reason.")
@click.option("--short", is_flag=True, help="Leave out what each step rests on, and cautions told before.")
@click.option(
    "--stage",
    help="Only one stage: baseline, verify, freeze, pack, arrival, morning, knock, weather, return.",
)
@units_option
@checklists_option
@arrows_option
@today_option
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
    made, _, broken = planned(trip_file, today, units, arrows, checklists)
    if form == "json":
        from readiness.render.data import plan_data, to_json

        say(to_json(plan_data(made)))
    else:
        say_page(plan_page(made, everything=everything, only=stage, short=short), form)
    finish(NOT_READY if broken else DONE)
