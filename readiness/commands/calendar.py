"""readiness calendar: the stages as an iCalendar file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.commands.options import checklists_option, formats, today_option, trip_argument
from readiness.commands.paper import write_text
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, finish

if TYPE_CHECKING:
    from datetime import date


@click.command("calendar")
@trip_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, allow_dash=True),
    metavar="FILE",
    help="The .ics file; the screen if left out, or -.",
)
@formats("ics", "json")
@checklists_option
@today_option
def calendar(trip_file: str, output: Path | None, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """Each stage of TRIP on its days, counted back from the start, with an alarm; importing it again updates it."""
    from readiness.render.calendar import calendar_data, to_ics
    from readiness.render.data import to_json

    made, _, broken = planned(trip_file, today, checklists)
    text = to_json(calendar_data(made)) if form == "json" else to_ics(made).decode("utf-8")
    write_text(output, text, trip_file)
    finish(NOT_READY if broken else DONE)
