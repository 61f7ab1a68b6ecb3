"""The overview as a table for a spreadsheet, written as the table of the clients was."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from readiness.problems import printable
from readiness.render.roster import form_words
from readiness.spreadsheet import as_cell

if TYPE_CHECKING:
    from readiness.camp.overview import Row
    from readiness.render.roster import Overview

BOM = "\ufeff"
# Existing columns keep their names and their order; new ones stand behind them.
_COLUMNS = (
    *("status", "client", "id", "folder", "source", "waiting", "stops", "doubts", "limit_there_yd", "far_pin"),
    *("far_advice", "updated", "errors", "returned", "verified", "calls", "hints", "verified_otherwise", "unmet"),
    *("recommended", "form"),
)


def overview_csv(overview: Overview) -> str:
    """The overview as CSV: a row for each client, worst first; lists are joined by semicolons.

    With the separator of the table that the clients stand in, and with its byte order mark, so that the spreadsheet
    that wrote the one opens the other; with commas and no mark where they are files.
    """
    out = io.StringIO()
    out.write(BOM if overview.dialect.has_mark else "")
    writer = csv.writer(out, delimiter=overview.dialect.delimiter, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for row in overview.rows:
        writer.writerow([_csv_cell(_value(row, key)) for key in _COLUMNS])
    return out.getvalue()


def _value(row: Row, key: str) -> Any:
    if key == "form":
        return form_words(row)
    return tuple(filter(None, row.hints)) if key == "hints" else getattr(row, key)


def _csv_cell(value: Any) -> str:
    if isinstance(value, tuple):
        value = "; ".join(value)
    return as_cell("" if value is None else printable(str(value)))
