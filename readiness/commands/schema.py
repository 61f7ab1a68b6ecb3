"""readiness schema: the file formats, published."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from readiness.commands.options import formats, today_option
from readiness.terminal import say, say_page

if TYPE_CHECKING:
    from datetime import date


@click.command("schema")
@click.argument("what", type=click.Choice(["trip", "pack", "log", "camp", "clients"]))
@formats("json", "text", "markdown", "csv")
@today_option
def schema(what: str, form: str, today: date | None) -> None:  # noqa: ARG001  --date is in every command
    """Publish a file format: its JSON Schema (draft 2020-12), or a table of its keys.

    clients is the table of a camp's clients: its columns, or with --format csv an empty one to fill in.
    """
    if what == "clients":
        _say_columns(form)
        return
    if form == "csv":
        raise click.BadParameter("only the table of clients is written as CSV", param_hint="--format")
    described = _schema_of(what)
    if form == "json":
        from readiness.render.data import to_json

        say(to_json(described))
    else:
        from readiness.render.keys import schema_page

        say_page(schema_page(described, as_table=form == "markdown"), form)


def _schema_of(what: str) -> dict[str, Any]:
    if what == "camp":
        from readiness.camp.load import camp_schema

        return camp_schema()
    if what == "pack":
        from readiness.rules.lint import pack_schema

        return pack_schema()
    if what == "log":
        from readiness.arrival.lines import log_schema

        return log_schema()
    from readiness.trip.validate import trip_schema

    return trip_schema()


def _say_columns(form: str) -> None:
    from readiness.camp.columns import columns
    from readiness.rules.packs import built_in_packs
    from readiness.slips import item_names

    if form == "csv":
        say(",".join(listed.column for listed in columns()) + "\n")
    elif form == "json":
        from readiness.render.data import to_json
        from readiness.topics import rule_forms

        listed = [listed._asdict() for listed in columns()]
        say(to_json({"columns": listed, "gear": item_names(built_in_packs()[0]), "rules": dict(rule_forms())}))
    else:
        from readiness.render.roster import columns_page

        names = item_names(built_in_packs()[0])
        say_page(columns_page(columns(), names, as_table=form == "markdown"), form)
