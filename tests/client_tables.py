"""Client tables written for tests: the rows of clients' documents, as a spreadsheet saves them."""

import csv
import io

from readiness.camp.columns import write_cell
from readiness.spreadsheet import as_cell


def write_table(clients):
    """Clients' data as a table with commas that `read_table` reads back; a cell like a formula begins with a quote."""
    rows = [dict(_flat(client, "")) for client in clients]
    names = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([as_cell(row.get(name, "")) for name in names] for row in rows)
    return out.getvalue()


def _flat(value, name):
    """The cells of a client, by column."""
    if isinstance(value, dict):
        for key, below in value.items():
            if name or key not in ("format", "destinations"):
                yield from _flat(below, f"{name}.{key}" if name else key)
    elif isinstance(value, list) and any(isinstance(one, dict) for one in value):
        for index, below in enumerate(value, 1):
            yield from _flat(below, f"{name}.{index}")
    else:
        yield name, write_cell(value)
