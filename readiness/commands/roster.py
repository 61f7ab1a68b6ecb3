"""readiness roster: the papers of every client of a camp, and one overview."""

from __future__ import annotations

import gc
import os
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.commands.options import checklists_option, formats, today_option
from readiness.terminal import DONE, NOT_READY, complain, finish, give_up, say, say_page

if TYPE_CHECKING:
    from readiness.camp.clients import Clients
    from readiness.camp.collect import Collection
    from readiness.camp.ledger import Ledger
    from readiness.camp.making import Setting
    from readiness.camp.overview import Row
    from readiness.camp.roster import Papers, Roster
    from readiness.camp.table import Dialect
    from readiness.problems import Problem
    from readiness.render.roster import Overview


@click.command("roster")
@click.argument("camp_file", metavar="CAMP", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="DIR", required=True, help="A folder of its own."
)
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes at work; one for each core if left out.")
@click.option(
    "--collect",
    "inbox",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    metavar="INBOX",
    help="A folder of log files that clients sent back: add each to its client's log first.",
)
@formats("text", "markdown", "json", "csv")
@checklists_option
@today_option
def roster(
    camp_file: Path,
    output: Path,
    jobs: int | None,
    inbox: Path | None,
    form: str,
    checklists: tuple[Path, ...],
    today: date | None,
) -> None:
    """Papers for every client of CAMP into a folder each, and one overview, worst first.

    Only what changed since the last run into DIR is made again; a run that was interrupted goes on where it was.
    Files in INBOX are checked and never changed; that someone made one up on purpose cannot be found out.
    """
    gc.enable()  # __main__ switched it off for a short process; this one may see thousands of clients
    from readiness.camp.ledger import Ledger
    from readiness.camp.roster import papers_of, prepare, rows_of
    from readiness.problems import Fault, has_errors

    setting, told, clients = _opened(camp_file, checklists, today or date.today())
    try:
        with Ledger(output) as ledger:
            fault = ledger.open()
            if fault:
                give_up([fault.at(str(output), 0, 0)])
            before = ledger.with_papers()
            collection = _collect(inbox, setting, clients, ledger)
            planned = prepare(setting, clients.clients, ledger)
            _make(setting, planned, ledger, jobs or _cores())
            rows, problems = rows_of(planned, ledger)
            papers = papers_of(before, planned, ledger)
            overview = _overview(setting, rows, clients.dialect)
            _write(output, overview)
            ledger.close([client.name for client in clients.clients])
    except OSError as error:
        hint = "make room or check the rights, then type it again: what is done is not done again"
        fault = Fault("unwritable", f"cannot be written: {error.strerror or error}", hint)
        give_up([fault.at(str(output), 0, 0)])
    problems = (*problems, *(collection.problems if collection else ()))
    _tell(overview, papers, collection, (*told, *problems), form)
    settled = all(row.status == "ready" for row in rows) and not has_errors(problems)
    finish(DONE if settled else NOT_READY)


def _cores() -> int:
    """The cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _opened(camp_file: Path, checklists: tuple[Path, ...], today: date) -> tuple[Setting, tuple[Problem, ...], Clients]:
    """The camp, its warnings and its clients, or the end with what is wrong."""
    from readiness.camp.clients import clients_of
    from readiness.camp.opening import open_camp
    from readiness.files import read_source
    from readiness.problems import Problem

    source = read_source(str(camp_file))
    if isinstance(source, Problem):
        give_up([source])
    opened = open_camp(source.text, source.name, camp_file.parent, today, checklists)
    if opened.setting is None:
        give_up(opened.problems)
    clients = clients_of(opened.setting.camp, camp_file.parent)
    if clients.problems:
        give_up((*opened.problems, *clients.problems))
    return opened.setting, opened.problems, clients


def _collect(inbox: Path | None, setting: Setting, clients: Clients, ledger: Ledger) -> Collection | None:
    """What came back, into the clients' logs; an inbox that cannot be listed ends the run."""
    from readiness.camp.collect import collect
    from readiness.camp.roster import ids_of
    from readiness.problems import Fault

    if inbox is None:
        return None
    try:
        return collect(inbox, setting, clients.clients, ids_of(clients.clients, ledger))
    except OSError as error:
        fault = Fault("unreadable", f"cannot be listed: {error.strerror or error}", "check the path and its rights")
        give_up([fault.at(str(inbox), 0, 0)])


def _make(setting: Setting, planned: Roster, ledger: Ledger, jobs: int) -> None:
    """Make what must be made, with a bar and the time left where someone is watching."""
    from readiness.camp.roster import make_all

    number = len(planned.tasks)
    if number and sys.stderr.isatty():
        with click.progressbar(length=number, label="Papers", file=sys.stderr, show_pos=True) as bar:
            make_all(setting, planned, ledger, jobs, bar.update)
    else:
        make_all(setting, planned, ledger, jobs, lambda _: None)


def _overview(setting: Setting, rows: tuple[Row, ...], dialect: Dialect) -> Overview:
    from readiness.camp.overview import worst_first
    from readiness.render.roster import Overview

    return Overview(setting.camp.name, setting.camp.contact, setting.today, worst_first(rows), dialect)


def _write(output: Path, overview: Overview) -> None:
    """The overview beside the folders."""
    from readiness.files import replace_bytes, replace_parts
    from readiness.render.overview_csv import overview_csv
    from readiness.render.overview_html import overview_html
    from readiness.render.overview_sheet import overview_pdf

    replace_bytes(output / "overview.csv", overview_csv(overview).encode("utf-8"))
    replace_bytes(output / "overview.pdf", overview_pdf(overview))
    replace_parts(output / "overview.html", (part.encode("utf-8") for part in overview_html(overview)))


def _tell(
    overview: Overview, papers: Papers, collection: Collection | None, problems: tuple[Problem, ...], form: str
) -> None:
    from readiness.problems import sort_and_dedupe
    from readiness.render.overview_csv import overview_csv
    from readiness.render.roster import (
        collected_data,
        collected_elements,
        overview_data,
        overview_page,
        papers_elements,
    )
    from readiness.render.text import to_text

    found = sort_and_dedupe(problems)
    done = (*papers_elements(papers), *(collected_elements(collection) if collection else ()))
    if form == "json":
        from readiness.render.data import to_json

        more = {"collected": collected_data(collection)} if collection else {}
        say(to_json({**overview_data(overview, found), "papers": papers._asdict(), **more}))
    elif form == "csv":
        say(overview_csv(overview))
        click.echo(to_text(done), err=True, nl=False)
    else:
        say_page((*overview_page(overview), *done), form)
    complain(found)
