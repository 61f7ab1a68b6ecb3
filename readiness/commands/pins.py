"""readiness pins: the pin shift."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.commands.options import arrows_option, formats, today_option, trip_argument, units_option
from readiness.commands.reading import planned
from readiness.terminal import say, say_page

if TYPE_CHECKING:
    from datetime import date


@click.command("pins")
@trip_argument
@formats("text", "markdown", "json", "csv")
@click.option("--why", is_flag=True, help="Split each shift into its causes, and tell what is doubtful.")
@units_option
@arrows_option
@today_option
def pins(trip_file: str, form: str, why: bool, units: str | None, arrows: int, today: date | None) -> None:
    """The pin shift of TRIP: how far each pin is off there, how sure that is, and what to do."""
    made, _, _ = planned(trip_file, today, None, units=units, arrows=arrows)
    if form in ("json", "csv"):
        from readiness.render.data import pins_csv, pins_data, to_json

        say(to_json(pins_data(made)) if form == "json" else pins_csv(made))
    else:
        from readiness.render.pages import pins_page

        say_page(pins_page(made, why=why), form)
