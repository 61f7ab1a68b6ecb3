"""The overview of a camp's clients, worst first: a page, a table, HTML, JSON."""

from __future__ import annotations

import csv
import io
from html import escape
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import quote

from readiness.camp.overview import BAD_FILE, NOT_READY, READY, Row, counted
from readiness.problems import printable
from readiness.render.cells import as_cell
from readiness.render.elements import Heading, Listing, Paragraph, Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from readiness.camp.collect import Collection
    from readiness.camp.columns import Listed
    from readiness.problems import Problem
    from readiness.render.elements import Element, Page


class Overview(NamedTuple):
    """All clients of a camp, worst first, as of a day."""

    camp: str
    contact: str
    today: date
    rows: tuple[Row, ...]


_HEADERS = ("status", "client", "folder", "to settle", "limit there", "far pin", "stop now", "updated", "returned")
_LEGEND = (
    "To settle: missing, in a wrong bag, or not as the place requires. Limit there: the longest recorded distance at "
    "which nine arrows in ten land in the target zone in the camp's air. Far pin: the most careful advice for the "
    "farthest pin; move only after the marks and the bare shaft pass. Updated: the newest day in the client's own "
    "records of the bow. Returned: the day of their newest return form, and the distance verified in it."
)


def overview_page(overview: Overview) -> Page:
    """The overview as a page: how many stand how, one line a client, then what each has to settle."""
    page: list[Element] = [
        Heading(f"{overview.camp}: {_clients(overview)}, as of {overview.today}", 1),
        Paragraph(summary(overview)),
        Table(_HEADERS, tuple(_line(row) for row in overview.rows), right=(3, 4)),
        Paragraph(_LEGEND),
    ]
    for row in overview.rows:
        told = tuple(_told(row))
        if told:
            page += [Heading(f"{row.client}: {row.status}"), Listing(told)]
    return tuple(page)


def collected_elements(collection: Collection) -> Page:
    """What was taken in of the files that came back, and what nobody can tell of them."""
    from readiness.camp.collect import NO_PROOF

    lines = tuple(f"{one.file}: {one.client}, {one.new} new, {one.known} there already" for one in collection.taken)
    refused = len({problem.file for problem in collection.problems})
    number = len(collection.taken)
    told = f"{number} file{'' if number == 1 else 's'} taken in, {refused} refused. {NO_PROOF}"
    return (Heading("Collected"), Paragraph(told), *([Listing(lines)] if lines else []))


def collected_data(collection: Collection) -> dict[str, Any]:
    """The same for machines."""
    from readiness.camp.collect import NO_PROOF

    return {
        "files": [one._asdict() for one in collection.taken],
        "refused": sorted({problem.file for problem in collection.problems}),
        "note": NO_PROOF,
    }


def _clients(overview: Overview) -> str:
    n = len(overview.rows)
    return f"{n} client{'' if n == 1 else 's'}"


def summary(overview: Overview) -> str:
    """How many clients stand how, worst first."""
    return ", ".join(f"{number} {status}" for status, number in counted(overview.rows) if number) + "."


def overview_csv(overview: Overview) -> str:
    """The overview as CSV: a row for each client, worst first; lists are joined by semicolons."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    keys = [key for key in Row._fields if key != "limit"]
    writer.writerow(keys)
    for row in overview.rows:
        writer.writerow([_csv_cell(getattr(row, key)) for key in keys])
    return out.getvalue()


def overview_data(overview: Overview, problems: tuple[Problem, ...]) -> dict[str, Any]:
    """The overview with its keys for machines."""
    return {
        "camp": overview.camp,
        "date": str(overview.today),
        "ready": all(row.status == READY for row in overview.rows),
        "counts": dict(counted(overview.rows)),
        "clients": [row.as_dict() for row in overview.rows],
        "problems": [problem.as_dict() for problem in problems],
    }


def overview_pdf(overview: Overview) -> bytes:
    """The table on one sheet to hang up: who stands how. What each has to settle is in the other overviews."""
    from readiness.render.sheet import pages_on_sheets

    title, told, table, legend, *_ = overview_page(overview)
    foot = ". ".join(filter(None, (overview.camp, overview.contact, f"Made {overview.today}")))
    made, _ = pages_on_sheets(overview.camp, foot, [(title, told, table, legend)], day=overview.today, units="imperial")
    assert isinstance(made, bytes)
    return made


def overview_html(overview: Overview) -> Iterator[str]:
    """The overview as one HTML file that loads and runs nothing, in parts; every text of a client is escaped."""
    title = _safe(f"{overview.camp}: {_clients(overview)}")
    contact = f"<p>{_safe(overview.contact)}</p>\n" if overview.contact else ""
    headers = "".join(f'<th scope="col">{header}</th>' for header in (*_HEADERS, "what"))
    yield (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n{_POLICY}\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{title}</title>\n'
        f"<style>{_STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n{contact}"
        f"<p>As of {overview.today}: {_safe(summary(overview))}</p>\n"
        f"<table>\n<thead><tr>{headers}</tr></thead>\n<tbody>\n"
    )
    yield from map(_html_row, overview.rows)
    yield f"</tbody>\n</table>\n<p>{_safe(_LEGEND)}</p>\n</body>\n</html>\n"


_POLICY = (
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
    "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">"
)
_STYLE = (
    "body{font:1rem/1.4 sans-serif;margin:1rem;color:#111;background:#fff}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{border:1px solid #777;padding:.3rem .5rem;text-align:left;vertical-align:top}"
    "thead th,td:first-child{white-space:nowrap}tbody th,td:last-child{overflow-wrap:anywhere;min-width:9rem}"
    "thead{display:table-header-group}tr{break-inside:avoid}ul{margin:0;padding-left:1.1rem}"
    ".worst{font-weight:bold}"
)


def columns_page(columns: Sequence[Listed], *, as_table: bool) -> Page:
    """The columns that a table of clients may have."""
    rows = tuple((f"{one.column}{'*' if one.is_required else ''}", one.meaning, one.example) for one in columns)
    listed = Listing(
        tuple(f"{name}: {meaning}{f'; such as {example}' if example else ''}" for name, meaning, example in rows)
    )
    return (
        Heading("Table of a camp's clients: one row a client", 1),
        Paragraph(
            "Columns stand in any order; leave out what you do not use. * is required. Quantities are text with a "
            "unit. A column beginning with # is your own and is not read. Entries of a list are counted from 1, and "
            "more than are shown here may follow. An empty cell says nothing; none is a list known to be empty. A cell "
            "beginning with = + - or @ may have a quote (') before it."
        ),
        Table(("column", "meaning", "example"), rows) if as_table else listed,
    )


def _html_row(row: Row) -> str:
    status, client, folder, *rest = _line(row)
    link = f'<a href="{escape(quote(row.folder))}/">{_safe(folder)}</a>' if row.folder else folder
    worst = ' class="worst"' if row.status in (BAD_FILE, NOT_READY) else ""
    told = "".join(f"<li>{_safe(entry)}</li>" for entry in _told(row))
    cells = "".join(f"<td>{_safe(cell)}</td>" for cell in rest)
    listed = f"<ul>{told}</ul>" if told else ""
    head = f'<td{worst}>{_safe(status)}</td><th scope="row">{_safe(client)}</th><td>{link}</td>'
    return f"<tr>{head}{cells}<td>{listed}</td></tr>\n"


def _line(row: Row) -> tuple[str, ...]:
    far = f"{row.far_pin}: {row.far_advice}" if row.far_pin else "-"
    settle = str(len(row.waiting)) if row.status != BAD_FILE else "-"
    stops = "; ".join(stop.partition(":")[0] for stop in row.stops) or "-"
    returned = f"{row.returned}{row.verified and f': {row.verified}'}" or "-"
    return row.status, row.client, row.folder or "-", settle, row.limit or "-", far, stops, row.updated or "-", returned


def _told(row: Row) -> Iterator[str]:
    """Everything that this client has to hear, what stops everything first."""
    yield from (f"STOP now. {stop}" for stop in row.stops)
    yield from row.errors
    yield from row.waiting
    yield from row.doubts
    yield from (f"Worth a call: {call}" for call in row.calls)


def _safe(text: str) -> str:
    return escape(printable(text))


def _csv_cell(value: Any) -> str:
    if isinstance(value, tuple):
        value = "; ".join(value)
    return as_cell("" if value is None else printable(str(value)))
