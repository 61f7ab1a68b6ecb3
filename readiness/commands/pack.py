"""readiness pack: the packing list."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.commands.options import checklists_option, formats, today_option, trip_argument
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, finish, say, say_page

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


@click.command("pack")
@trip_argument
@formats("text", "markdown", "json", "csv")
@checklists_option
@today_option
def pack(trip_file: str, form: str, checklists: tuple[Path, ...], today: date | None) -> None:
    """What TRIP needs against its gear: what is missing, what is in a wrong bag, what goes where."""
    made, _, broken = planned(trip_file, today, checklists)
    if form in ("json", "csv"):
        from readiness.render.data import packing_csv, packing_data, to_json

        say(to_json(packing_data(made.trip, made.packing)) if form == "json" else packing_csv(made.packing))
    else:
        from readiness.render.kit import packing_page

        say_page(packing_page(made.trip, made.packing), form)
    finish(NOT_READY if broken or (made.packing.compared and not made.packing.is_ready) else DONE)
