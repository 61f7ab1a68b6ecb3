"""readiness schema: the file formats, published."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from readiness.commands.options import formats, today_option
from readiness.terminal import say, say_page

if TYPE_CHECKING:
    from datetime import date


@click.command("schema")
@click.argument("what", type=click.Choice(["trip", "pack", "log"]))
@formats("json", "text", "markdown")
@today_option
def schema(what: str, form: str, today: date | None) -> None:  # noqa: ARG001  --date is in every command
    """Publish a file format: its JSON Schema (draft 2020-12), or a table of its keys."""
    described = _described(what)
    if form == "json":
        from readiness.render.data import to_json

        say(to_json(described))
    else:
        from readiness.render.keys import schema_page

        say_page(schema_page(described, as_table=form == "markdown"), form)


def _described(what: str) -> dict[str, Any]:
    if what == "trip":
        from readiness.trip.validate import trip_schema

        return trip_schema()
    if what == "log":
        from readiness.arrival.lines import log_schema

        return log_schema()
    from readiness.rules.lint import pack_schema

    return pack_schema()
