"""readiness check: what stands between a trip and ready."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.commands.options import checklists_option, formats, today_option, trip_argument
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, finish, say, say_page

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("check")
@trip_argument
@formats("text", "markdown", "json")
@checklists_option
@today_option
def check(trip_file: str, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """Read TRIP and tell everything that is wrong, doubtful or left out, missing from the bags, or not as required."""
    from readiness.readying import doubts_of, readiness_of
    from readiness.trip.gaps import gaps_of

    made, problems, broken = planned(trip_file, today, checklists, json_too=form == "json")
    found = readiness_of(made.trip, made.rulings, made.packing, gaps_of(made.trip))._replace(doubts=doubts_of(made))
    if form == "json":
        from readiness.render.data import check_data, to_json

        say(to_json(check_data(found, problems)))
    else:
        from readiness.render.kit import check_page

        say_page(check_page(found, problems), form)
    finish(NOT_READY if found.waiting or broken else DONE)
