"""readiness plan: the verification plan."""

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
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, complain, finish, page_text, say, say_page

if TYPE_CHECKING:
    from datetime import date

    from readiness.plan import Plan
    from readiness.render.elements import Page


@click.command("plan")
@trip_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write it to a file; .pdf, .png and .svg give numbered sheets with the packing list behind the plan.",
)
@click.option(
    "--paper",
    type=click.Choice(["letter", "a4"]),
    help="Of numbered sheets; Letter for an imperial page, A4 for a metric one, if left out.",
)
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
    output: Path | None,
    paper: str | None,
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
    on_paper = output is not None and output.suffix.lower() in _PAPER
    if paper is not None and not on_paper:
        raise click.UsageError(f"--paper is for numbered sheets: add -o plan.pdf --paper {paper}, or leave it out")
    made, _, broken = planned(trip_file, today, checklists, units=units, arrows=arrows)
    code = NOT_READY if broken else DONE
    if form == "json":
        from readiness.render.data import plan_data, to_json

        _write(output, to_json(plan_data(made)), trip_file)
        finish(code)
    page = plan_page(made, everything=everything, only=stage, short=short)
    if output is None:
        say_page(page, form)
    elif on_paper:
        _write_sheets(output, made, page, trip_file, whole=stage is None, paper=paper)
    else:
        _write(output, page_text(page, form), trip_file)
    finish(code)


_PAPER = (".pdf", ".png", ".svg")


def _write(output: Path | None, text: str, trip_file: str) -> None:
    """To the screen, or to a file that is replaced whole."""
    if output is None:
        say(text)
        return
    from readiness.commands.paper import write_pages

    if output.suffix.lower() in _PAPER:
        raise click.UsageError(f"{output} ends in {output.suffix} and --format says json: leave --format out")
    write_pages(output, text.encode(), trip_file)


def _write_sheets(output: Path, made: Plan, page: Page, trip_file: str, *, whole: bool, paper: str | None) -> None:
    """The page as numbered sheets; behind a whole plan comes the packing list."""
    from readiness.commands.paper import no_glyph_problem, write_pages
    from readiness.render.kit import packing_page
    from readiness.render.sheet import sheet_bytes

    pages = [page, packing_page(made.trip, made.packing)] if whole else [page]
    sheets, missing = sheet_bytes(made, pages, form=output.suffix.lower().removeprefix("."), paper=paper)
    if missing:
        complain([no_glyph_problem(trip_file, missing)])
    write_pages(output, sheets, trip_file)
