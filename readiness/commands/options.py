"""Options that several commands share."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable


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


def formats(*names: str) -> Callable[[Any], Any]:
    """The --format option of a command; the first is what it writes when nothing is said."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(names),
        default=names[0],
        show_default=True,
        help="How it is written.",
    )


trip_argument = click.argument("trip_file", metavar="TRIP", type=click.Path(allow_dash=True))
today_option = click.option(
    "--date", "today", type=DateOption(), metavar="YYYY-MM-DD", help="The day that stands for today."
)
units_option = click.option(
    "--units",
    type=click.Choice(["imperial", "metric"]),
    help="Units of the page; those of the trip's pins if left out.",
)
checklists_option = click.option(
    "--checklists",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A folder of rule packs on top of the built-in ones; may be given again.",
)
arrows_option = click.option(
    "--arrows",
    type=click.IntRange(2, 200),
    default=12,
    show_default=True,
    help="Arrows that you can shoot at camp before dark.",
)
