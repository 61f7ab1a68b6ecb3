"""A client table as any spreadsheet writes it -> one document a row, in which every value knows its cell.

UTF-8 or UTF-16, with or without a byte order mark; commas, semicolons or tabs; any line end; quoted line ends. A
row is counted as a spreadsheet counts it: the header is row 1.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.camp.columns import Column, column_of, plain_cell, read_cell
from readiness.documents import Document
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from readiness.documents import Path
    from readiness.nodes import Place

MAX_TABLE_BYTES = 16_000_000
MAX_ROWS = 100_000
MAX_COLUMNS = 2_000
_LONGEST_ROW = 1_000_000  # characters: more than a client's own file may have
_LINE = re.compile(r"[^\r\n]+(?:\r\n?|\n)?|\r\n?|\n")
_OWN = "#"  # a column of the outfitter's own
_BAG_HINT = (
    "in brackets stands the bag: body, cabin (the carry-on), checked or vehicle; any other word without brackets"
)
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")  # byte order marks of UTF-8 and UTF-16


@dataclass(frozen=True)
class RowDocument(Document):
    """One row. A value's place is its row and column; what is not there has the row's."""

    row: int
    cells: tuple[str, ...]
    header: tuple[str, ...]
    columns: Mapping[Path, int]  # path of a value -> index of its column

    def place(self, path: Path, *, at_key: bool = False) -> Place:  # noqa: ARG002  a cell has no key
        """Row and column, counted from 1; column 0 where no cell says it."""
        while path:
            if path in self.columns:
                return self.row, self.columns[path] + 1
            path = path[:-1]
        return self.row, 0

    def problem(self, path: Path, fault: Fault, *, at_key: bool = False) -> Problem:  # noqa: ARG002
        """A fault at its cell, in words of a table."""
        row, column = self.place(path)
        if fault.code == "missing-key":
            name = fault.message.split()[0]
            wanted = _dotted(path)
            wanted = wanted if wanted.endswith(name) else f"{wanted}.{name}".lstrip(".")
            example = fault.hint.partition(": ")[2]
            such = f", such as {example}" if example else ""
            told = Fault(
                fault.code, f"{wanted} is missing in this row", f"fill in the column {wanted}{such}", fault.severity
            )
            return told.at(self.name, row, 0)._replace(cell=wanted)
        if fault.code == "bad-choice" and path[:1] == ("gear",) and path[-1:] == ("bag",):
            fault = fault._replace(hint=_BAG_HINT)
        if not column:
            return fault.at(self.name, row, 0)._replace(cell=_dotted(path))
        return fault.at(self.name, row, column, self.cells[column - 1])._replace(cell=self.header[column - 1])

    def overfull(self) -> Problem | None:
        """That cells stand beyond the last column: a separator inside a cell has moved what follows it."""
        if not any(cell.strip() for cell in self.cells[len(self.header) :]):
            return None
        message = f"this row has {len(self.cells)} cells, the header {len(self.header)}"
        fault = Fault("long-row", message, "put a cell that holds the separator in quotes, or name the column")
        return fault.at(self.name, self.row, 0)


class Dialect(NamedTuple):
    """How a spreadsheet writes a table: what parts its cells, and whether a byte order mark stands before them."""

    delimiter: str = ","
    has_mark: bool = False


class Table(NamedTuple):
    """A client table: its rows, everything wrong with it as a whole, and how it is written."""

    rows: tuple[RowDocument, ...]
    problems: tuple[Problem, ...]
    dialect: Dialect = Dialect()


def read_table(data: bytes, name: str) -> Table:
    r"""Read a client table; problems of the header or of the file as a whole leave no rows.

    Parameters
    ----------
    data : the file's bytes, at most MAX_TABLE_BYTES
    name : its name for messages, [text]

    Examples
    --------
    >>> table = read_table(b"\xef\xbb\xbfhunter.name;bow.sight.pins\r\nAnna;20 yd, 30 yd\r\n", "clients.csv")
    >>> table.rows[0].data
    {'format': 1, 'hunter': {'name': 'Anna'}, 'bow': {'sight': {'pins': ['20 yd, 30 yd']}}}

    """
    text = _decoded(data)
    if isinstance(text, Fault):
        return Table((), (text.at(name, 0, 0),))
    text, skipped = _below_sep(text)
    delimiter = max(",;\t", key=lambda sign: _fit(text, sign))
    try:
        records = list(_records(text, delimiter, skipped))
    except csv.Error as error:
        fault = Fault("not-csv", f"this is no table: {error}", "check the quotes, or save it again as CSV")
        return Table((), (fault.at(name, 0, 0),))
    if not records or not any(cell.strip() for cell in records[0][1]):
        fault = Fault("empty", "the table has no header", "readiness schema clients --format csv writes one")
        return Table((), (fault.at(name, 0, 0),))
    header = tuple(" ".join(cell.split()) for cell in records[0][1])
    columns, problems = _header(header, name)
    if len(records) > MAX_ROWS or len(header) > MAX_COLUMNS:
        fault = Fault(
            "too-large", f"more than {MAX_ROWS:,} rows or {MAX_COLUMNS:,} columns", "part it into several camps"
        )
        problems = [fault.at(name, 0, 0)]
    if problems:
        return Table((), tuple(problems))
    filled = ((row, cells) for row, cells in records[1:] if any(cell.strip() for cell in cells))
    rows = tuple(_row(name, row, cells, header, columns) for row, cells in filled)
    return Table(rows, (), Dialect(delimiter, data.startswith(_MARKS)))


def _dotted(path: Path) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _decoded(data: bytes) -> str | Fault:
    if len(data) > MAX_TABLE_BYTES:
        return Fault("too-large", f"over {MAX_TABLE_BYTES:,} bytes", "part it into several camps")
    encoding = "utf-16" if data.startswith(_MARKS[1:]) else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return Fault("not-utf8", "this is not UTF-8 text", "save the table as CSV UTF-8")


def _below_sep(text: str) -> tuple[str, int]:
    """The text below a line that some spreadsheets put on top, and how many lines that are."""
    first, _, rest = text.partition("\n")
    is_sep = first.strip().casefold().startswith("sep=") and len(first.strip()) <= len("sep=;")
    return (rest, 1) if is_sep else (text, 0)


def _records(text: str, delimiter: str, skipped: int) -> Iterator[tuple[int, list[str]]]:
    """Each record with its row number."""
    lines = _Lines(text)
    for number, record in enumerate(csv.reader(lines, delimiter=delimiter, strict=True), 1):
        yield number + skipped, record
        lines.taken = 0
        if number > MAX_ROWS:
            return


class _Lines:
    """The lines of a table, for the reader of rows; a row that never ends is cut off before it takes the memory."""

    def __init__(self, text: str) -> None:
        self._found = _LINE.finditer(text)
        self.taken = 0  # characters of the row under way

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = next(self._found)[0]
        self.taken += len(line)
        if self.taken > _LONGEST_ROW:
            raise csv.Error(f"a row is longer than {_LONGEST_ROW:,} characters")
        return line


def _fit(text: str, delimiter: str) -> tuple[int, int]:
    """How many cells of the header are columns, and how many cells there are."""
    try:
        header = next(csv.reader(_Lines(text), delimiter=delimiter), [])
    except csv.Error:
        return 0, 0
    known = sum(isinstance(column_of(cell), Column) for cell in header[:MAX_COLUMNS] if cell.strip())
    return known, len(header)


def _header(header: Sequence[str], name: str) -> tuple[dict[int, Column], list[Problem]]:
    columns: dict[int, Column] = {}
    problems: list[Problem] = []
    for index, cell in enumerate(header[:MAX_COLUMNS]):
        if not cell or cell.startswith(_OWN):
            continue
        found = column_of(cell)
        if isinstance(found, Column) and found.path in {column.path for column in columns.values()}:
            found = Fault("repeated-column", f"a second column is called {cell!r}", "keep one of the two")
        if isinstance(found, Fault):
            problems.append(found.at(name, 1, index + 1, cell)._replace(cell=cell))
        else:
            columns[index] = found
    return columns, problems


def _row(name: str, row: int, cells: list[str], header: tuple[str, ...], columns: Mapping[int, Column]) -> RowDocument:
    tree: dict[Any, Any] = {("format",): (1, None)}
    for index, column in columns.items():
        if index < len(cells) and plain_cell(cells[index]):
            tree[column.path] = (read_cell(cells[index], column), index)
    places: dict[Path, int] = {}
    data = _settled(_nested(tree), (), places)
    return RowDocument(name, _identity(header, cells), data, row, tuple(cells), header, places)


def _identity(header: Sequence[str], cells: Sequence[str]) -> str:
    """The row as text: what makes it this row and no other, wherever it stands and in whatever order its columns."""
    said = (f"{name}: {plain_cell(cell)}" for name, cell in zip(header, cells, strict=False) if cell.strip())
    return "\n".join(sorted(said))


class _Leaf(NamedTuple):
    value: Any
    column: int | None


def _nested(tree: Mapping[Path, tuple[Any, int | None]]) -> dict[Any, Any]:
    root: dict[Any, Any] = {}
    for path, (value, column) in tree.items():
        node = root
        for part in path[:-1]:
            below = node.setdefault(part, {})
            if isinstance(below, _Leaf):  # gear in one cell, and in columns of its own: these add to it
                below = node[part] = {
                    index - len(below.value): _Leaf(one, below.column) for index, one in enumerate(below.value)
                }
            node = below
        if isinstance(node.get(path[-1]), dict):
            node[path[-1]] |= {index - len(value): _Leaf(one, column) for index, one in enumerate(value)}
        else:
            node[path[-1]] = _Leaf(value, column)
    return root


def _settled(node: Any, path: Path, places: dict[Path, int]) -> Any:
    """Plain data; entries of a list close up over those that are empty. Notes where each value stood."""
    if isinstance(node, _Leaf):
        if node.column is not None:
            places[path] = node.column
        return node.value
    if all(isinstance(key, int) for key in node):
        return [_settled(node[key], (*path, index), places) for index, key in enumerate(sorted(node))]
    return {key: _settled(below, (*path, key), places) for key, below in node.items()}
