"""The overview as one HTML file that loads and runs nothing: a table on a wide screen and paper, blocks on a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

from readiness.camp.overview import BAD_FILE, NOT_READY, Row, pressing
from readiness.render.html import Html, escaped, joined, tag
from readiness.render.roster import LEGEND, clients_of, form_words, returned_words, summary

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.render.roster import Overview

_HEADERS = ("status", "client and folder", "limit there", "far pin", "updated", "returned", "what to settle")
_MOST_SHOWN = 5  # entries of a client that stand there unfolded


def overview_html(overview: Overview) -> Iterator[str]:
    """The overview in parts; every text of a client is escaped. What is long is folded, and unfolded with a click."""
    title = f"{overview.camp}: {clients_of(overview)}"
    headers = joined(*(tag("th", header, scope="col", role="columnheader") for header in _HEADERS))
    yield "<!doctype html>\n"
    yield '<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    yield f'{_POLICY}\n<meta name="viewport" content="width=device-width, initial-scale=1">\n'
    yield f"{tag('title', title)}\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n{tag('h1', title)}\n"
    yield f"{tag('p', overview.contact)}\n" if overview.contact else ""
    yield f"{tag('p', f'As of {overview.today}: {summary(overview)}')}\n"
    # A table that is shown as blocks is a table no more to those who have it read to them: so its roles are said.
    yield f'<table role="table">\n<thead role="rowgroup">{tag("tr", headers, role="row")}</thead>\n'
    yield '<tbody role="rowgroup">\n'
    yield from map(_row, overview.rows)
    yield f"</tbody>\n</table>\n{tag('p', LEGEND)}\n</main>\n</body>\n</html>\n"


def _row(row: Row) -> str:
    worst = "worst" if row.status in (BAD_FILE, NOT_READY) else None
    far = f"{row.far_pin}: {row.far_advice}" if row.far_pin else ""
    figures = zip(_HEADERS[2:6], (row.limit, far, row.updated, returned_words(row)), strict=True)
    cells = (
        tag("td", row.status, role="cell", class_=worst),
        tag("th", row.client, *_mark(row), scope="row", role="rowheader"),
        *(tag("td", *_figure(header, text), role="cell", class_=None if text else "none") for header, text in figures),
        tag("td", *_told(row), role="cell"),
    )
    return f"{tag('tr', *cells, role='row')}\n"


def _mark(row: Row) -> Iterator[Html]:
    """The folder, to be opened; the id where there is none."""
    if row.folder:
        yield joined(tag("br"), tag("a", row.folder, href=f"{quote(row.folder)}/"))
    elif row.id:
        yield joined(tag("br"), tag("span", f"id {row.id}"))


def _figure(header: str, text: str) -> Iterator[Html]:
    """A value with its name, which shows where the head of the table does not."""
    yield tag("span", f"{header}: ", class_="name")
    yield escaped(text or "-")


def _told(row: Row) -> Iterator[Html]:
    told = pressing(row)
    gear = (*row.unpacked, *(f"recommended and not in the gear: {item}" for item in row.recommended))
    if told:
        yield _listed(told[:_MOST_SHOWN])
    if len(told) > _MOST_SHOWN:
        yield _folded(f"{len(told) - _MOST_SHOWN} more", told[_MOST_SHOWN:])
    if gear:
        things = "thing" if len(row.unpacked) == 1 else "things"
        more = f"{len(row.recommended)} recommended and not in the gear" if row.recommended else ""
        missing = f"{len(row.unpacked)} {things} missing or in a wrong bag" if row.unpacked else ""
        yield _folded(", ".join(filter(None, (missing, more))), gear)
    if row.form:
        yield _folded(f"all of the return form of {row.returned}", form_words(row))


def _folded(summary_of_it: str, entries: tuple[str, ...]) -> Html:
    return tag("details", tag("summary", summary_of_it), _listed(entries))


def _listed(entries: tuple[str, ...]) -> Html:
    return tag("ul", *(tag("li", entry) for entry in entries))


_POLICY = (
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
    "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">"
)
# In the table a figure is never narrower than its words; names and what is told break wherever they must.
_STYLE = (
    "body{font:1rem/1.4 sans-serif;margin:1rem;color:#111;background:#fff;overflow-wrap:break-word}"
    "h1{font-size:1.4rem}a{color:#0b3d91}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{border:1px solid #777;padding:.3rem .5rem;text-align:left;vertical-align:top}"
    "td{min-width:5.5rem}tbody th{min-width:11rem;overflow-wrap:anywhere}"
    "td:last-child{width:42%;overflow-wrap:anywhere}td:first-child{min-width:0;white-space:nowrap}"
    "thead{display:table-header-group}li{break-inside:avoid}ul{margin:0;padding-left:1.1rem}"
    "details ul{columns:13rem}summary{min-height:1.5rem;cursor:pointer}.worst{font-weight:bold}.name{display:none}"
    "@media screen and (max-width:60rem){body{overflow-wrap:anywhere}"
    "table,tbody,tr,th,td{display:block;width:auto!important;min-width:0!important}"
    "thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}"
    "tr{border:1px solid #777;margin:0 0 .8rem;padding:.3rem 0}"
    "th,td{border:0;padding:.1rem .6rem}.name{display:inline}.none{display:none}}"
    "@media print{body{font-size:9pt;margin:0}th,td{padding:2pt 3pt}"
    "td{min-width:3.4rem}tbody th{min-width:6.5rem}td:last-child{width:50%}"
    "details::details-content{content-visibility:visible;block-size:auto}}"
)
