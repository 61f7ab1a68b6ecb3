"""readiness handout: the plan as one file for a phone."""

from __future__ import annotations

from pathlib import Path
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
from readiness.commands.paper import write_text
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, finish

if TYPE_CHECKING:
    from datetime import date


@click.command("handout")
@trip_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, allow_dash=True),
    metavar="FILE",
    help="The .html file; the screen if left out, or -.",
)
@formats("html", "json")
@units_option
@arrows_option
@checklists_option
@today_option
def handout(
    trip_file: str,
    output: Path | None,
    form: str,
    units: str | None,
    arrows: int,
    checklists: tuple[Path, ...],
    today: date | None,
) -> None:
    """The plan of TRIP as one file for a phone, without any network: it ticks, judges arrows, and gives back a log.

    It opens from a message or a memory card in any browser. `readiness log TRIP --import FILE` takes what it saves.
    """
    made, _, broken = planned(trip_file, today, checklists, units=units, arrows=arrows)
    if form == "json":
        from readiness.render.data import to_json
        from readiness.render.handout_data import handout_data

        text = to_json(handout_data(made))
    else:
        from readiness.render.handout import handout_html

        text = handout_html(made)
    write_text(output, text, trip_file)
    finish(NOT_READY if broken else DONE)
