"""The table of clients: whatever a spreadsheet writes is read, and every mistake is told at its cell."""

import csv
import io
import json
import tracemalloc

import pytest
import yaml
from client_tables import write_table
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.camp.clients import clients_of
from readiness.camp.columns import Column, column_of, columns, read_cell, write_cell
from readiness.camp.merge import load_client
from readiness.camp.table import read_table
from readiness.problems import show
from readiness.trip.validate import trip_schema

HEADER = ["hunter.name", "bow.sight.pins", "bow.draw_weight"]
ROWS = [["Åsa, of the Ferry", "20 yd; 30 yd", "64 lb"], ['Bo "the; bow"\nHill', "20 m; 30 m", "280 N"]]


def _csv(rows, delimiter=",", end="\r\n"):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("top", ["", "sep={}"])
def test_any_spreadsheet_s_dialect_gives_the_same_clients(delimiter, end, encoding, top):
    """Separator, line end, byte order mark and a sep= line make no difference; Python's csv module is the writer."""
    first = top.format(delimiter) + "\n" if top else ""
    table = read_table((first + _csv([HEADER, *ROWS], delimiter, end)).encode(encoding), "clients.csv")
    assert table.problems == ()
    assert [row.data["hunter"]["name"] for row in table.rows] == ["Åsa, of the Ferry", 'Bo "the; bow" Hill']
    assert [row.data["bow"]["sight"]["pins"] for row in table.rows] == [["20 yd", "30 yd"], ["20 m", "30 m"]]


CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=30)


@given(st.lists(st.lists(CELLS, min_size=2, max_size=2), min_size=1, max_size=5), st.sampled_from(",;\t"))
def test_no_cell_is_lost_or_changed_but_for_white_space(rows, delimiter):
    """Every name and mark comes back as Python's csv module wrote it, in rows as a spreadsheet counts them."""
    table = read_table(_csv([["hunter.name", "reference.marks.lid"], *rows], delimiter).encode(), "c.csv")
    assert table.problems == ()
    folded = [[" ".join(cell.split()) for cell in row] for row in rows]
    wanted = {number: row for number, row in enumerate(folded, 2) if any(row)}
    assert [row.row for row in table.rows] == list(wanted)
    for row in table.rows:
        name, mark = wanted[row.row]
        if name and not name.startswith("'"):
            assert row.data["hunter"]["name"] == name
        if mark and not mark.startswith("'"):
            assert row.data["reference"]["marks"]["lid"] == mark


@given(st.binary(max_size=300))
def test_any_bytes_are_a_table_or_a_problem(data):
    """Nothing that a file may hold breaks the reader."""
    table = read_table(data, "clients.csv")
    assert table.rows == () or table.problems == ()
    for problem in table.problems:
        assert show(problem).startswith("clients.csv")


@given(st.text("\"',;=\n\r\tab.1#", max_size=120))
def test_any_text_of_the_signs_of_csv_is_a_table_or_a_problem(text):
    """Open quotes, lone separators, repeated headers."""
    table = read_table(("hunter.name,hunter.id\n" + text).encode(), "clients.csv")
    assert all(row.row >= 2 for row in table.rows)


@pytest.mark.parametrize("name", ["high-basin", "river-breaks", "cold-snap", "terraces-metric"])
def test_a_client_goes_into_a_row_and_comes_back(sample_text, name):
    """Every value of the sample trips but the destinations, which are the camp's."""
    data = yaml.load(sample_text(name), yaml.BaseLoader)
    read = _read_back(data)
    del data["destinations"]
    assert _as_text(read) == _as_text(data)


def _read_back(data):
    table = read_table(write_table([data]).encode(), "clients.csv")
    assert table.problems == ()
    return table.rows[0].data


def _as_text(value):
    """Plain text all the way down: a table does not tell 6 from "6" where the format takes both."""
    if isinstance(value, dict):
        return {key: _as_text(below) for key, below in value.items()}
    if isinstance(value, list):
        return [_as_text(below) for below in value]
    return str(value).lower() if isinstance(value, bool) else str(value)


WORD = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12).filter(str.strip)


@given(name=WORD, marks=st.dictionaries(WORD, WORD, max_size=3), heads=st.lists(WORD, min_size=1, max_size=3))
def test_any_words_of_a_client_come_back_from_a_row(name, marks, heads):
    """Names that look like formulas, quotes, separators: out and in again they are the same."""
    data = {"hunter": {"name": name}, "heads": [{"name": head} for head in heads]}
    data |= {"reference": {"marks": marks}} if marks else {}
    folded = {key.casefold() for key in marks}
    if len(folded) < len(marks):
        return  # two marks that differ by case alone: a header cell is read without case
    assert _read_back(data) == {"format": 1, **data}


def test_no_cell_that_we_write_is_a_formula():
    """= + - @ at the head of a cell get a quote (OWASP, "CSV Injection"), and lose it when they are read."""
    data = {"hunter": {"name": "=1+1", "id": "@x"}, "heads": [{"name": "-2 in"}, {"name": "+3"}, {"name": "'=4"}]}
    cells = list(csv.reader(io.StringIO(write_table([data]))))[1]
    assert cells == ["'=1+1", "'@x", "'-2 in", "'+3", "''=4"]
    assert _read_back(data) == {"format": 1, **data}


def test_every_listed_column_is_known_and_takes_its_own_example():
    """The empty table can be filled in by its own examples."""
    assert len(columns()) > 100
    for listed in columns():
        column = column_of(listed.column)
        assert isinstance(column, Column), listed.column
        assert read_cell(listed.example, column) not in ("", [], None), listed.column


def test_every_required_key_of_a_client_is_a_required_column(a_camp, a_document, day):
    """A table of exactly the starred columns and pins makes a client without an error."""
    wanted = [one for one in columns() if one.is_required or one.column == "bow.sight.pins"]
    text = _csv([[one.column for one in wanted], [one.example for one in wanted]])
    (row,) = read_table(text.encode(), "clients.csv").rows
    loaded = load_client(row, a_camp().document, (), day)
    assert loaded.trip is not None, loaded.problems
    assert {one.column.split(".")[0] for one in wanted} == set(trip_schema()["required"]) - {
        "format", "trip", "destinations",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("column", "cell", "code"),
    [
        ("bow.draw_weight", "58", "bare-number"),
        ("bow.sight.kind", "pins", "bad-choice"),
        ("reference.groups.1.arrows", "2.5", "wrong-type"),
        ("reference.shot_on", "28/08/2027", "bad-date"),
        ("arrow.drag_coefficient", "2,0", "wrong-type"),
        ("heads.1.mass", "9 gr", "out-of-range"),
    ],
)
def test_a_mistake_is_told_by_file_row_and_column(client_data, a_camp, day, column, cell, code):
    """file:row:column-name, and what stands in the cell."""
    rows = list(csv.reader(io.StringIO(write_table([client_data("corvin"), client_data("corvin")]))))
    if column not in rows[0]:
        rows = [[*rows[0], column], *([*row, ""] for row in rows[1:])]
    rows[2][rows[0].index(column)] = cell
    good, bad = read_table(_csv(rows).encode(), "clients.csv").rows
    assert load_client(good, a_camp().document, (), day).trip is not None
    problems = [p for p in load_client(bad, a_camp().document, (), day).problems if p.severity == "error"]
    assert problems[0].code == code
    first, source, *_ = show(problems[0]).splitlines()
    assert first.startswith(f"clients.csv:3:{column}: error[{code}]: ")
    assert source == f"  | {cell}"
    assert problems[0].as_dict()["cell"] == column


def test_a_mistake_of_several_cells_names_what_they_have_in_common(client_data, a_camp, day):
    """Two speed readings at one place, and a row with a cell too many: no single cell is to blame."""
    data = client_data("eskil")
    data["arrow"]["speed_readings"] = [
        {"distance": "3 yd", "speed": "270 fps"},
        {"distance": "5 yd", "speed": "269 fps"},
    ]
    (row,) = read_table(write_table([data]).encode(), "clients.csv").rows
    (problem,) = [p for p in load_client(row, a_camp().document, (), day).problems if p.severity == "error"]
    assert show(problem).startswith("clients.csv:2:arrow.speed_readings: error[readings-too-close]: ")
    (long,) = read_table(b"hunter.name\nHill, Anna\n", "clients.csv").rows
    assert show(long.overfull()).startswith("clients.csv:2: error[long-row]: ")


def test_a_missing_value_names_the_column_to_fill_in(client_data, a_camp, day):
    """Nobody can point at a cell that is not there."""
    data = client_data("eskil")
    del data["arrow"]["speed"]
    (row,) = read_table(write_table([data]).encode(), "clients.csv").rows
    (problem,) = [p for p in load_client(row, a_camp().document, (), day).problems if p.severity == "error"]
    assert show(problem).splitlines() == [
        "clients.csv:2:arrow.speed: error[missing-key]: arrow.speed is missing in this row",
        "  hint: fill in the column arrow.speed, such as 276 fps",
    ]


@pytest.mark.parametrize(
    ("header", "code", "hint"),
    [
        ("bow.drawweight", "unknown-column", "did you mean bow.draw_weight?"),
        ("Draw weight", "unknown-column", "did you mean bow.draw_weight?"),
        ("Name", "unknown-column", "did you mean trip.name or hunter.name or home.name?"),
        ("phone", "unknown-column", "begins with #"),
        ("bow", "block-column", "write for example bow.draw_weight"),
        ("heads.0.name", "unknown-column", ""),
        ("heads.99.name", "unknown-column", ""),
        ("destinations.1.name", "unknown-column", ""),
        ("HUNTER.NAME", "repeated-column", "keep one"),
    ],
)
def test_a_wrong_header_is_told_and_nothing_is_read(header, code, hint):
    """A column that would be lost without a word is an error of the whole table."""
    table = read_table(_csv([["hunter.name", header], ["a", "b"]]).encode(), "clients.csv")
    assert table.rows == ()
    (problem,) = table.problems
    assert (problem.code, problem.line, problem.cell) == (code, 1, header)
    assert hint in problem.hint


def test_columns_of_one_s_own_and_empty_rows_are_passed_over():
    """A # column may hold anything; a blank row still counts as a row."""
    text = "hunter.name,# deposit,\nAnna,=SUM(A1),\n,,\n\nBert,,\n"
    table = read_table(text.encode(), "clients.csv")
    assert [(row.row, row.data) for row in table.rows] == [
        (2, {"format": 1, "hunter": {"name": "Anna"}}),
        (5, {"format": 1, "hunter": {"name": "Bert"}}),
    ]


def test_a_separator_that_moved_the_cells_is_told(a_camp, tmp_path):
    """Cells beyond the header cannot be meant."""
    (tmp_path / "clients.csv").write_text("hunter.name,hunter.id\nHill, Anna,c1\nBert,c2\n")
    found = clients_of(a_camp(("clients: clients", "clients: clients.csv")), tmp_path)
    assert [client.problem and client.problem.code for client in found.clients] == ["long-row", None]


def test_entries_of_a_list_close_up_and_keep_their_cells():
    """heads.1 empty, heads.3 filled: one head, told at its own column."""
    (row,) = read_table(b"heads.1.name,heads.3.name\n,broad\n", "clients.csv").rows
    assert row.data["heads"] == [{"name": "broad"}]
    assert row.place(("heads", 0, "name")) == (2, 2)


def test_gear_in_one_cell_and_in_columns_adds_up():
    """A battery needs columns of its own; the rest fits one cell."""
    text = 'gear,gear.1.item,gear.1.volts\n"bow (checked); spare nock x 6",power bank,3.7\n'
    (row,) = read_table(text.encode(), "clients.csv").rows
    assert sorted(row.data["gear"], key=lambda line: line["item"]) == [
        {"item": "bow", "bag": "checked"},
        {"item": "power bank", "volts": 3.7},
        {"item": "spare nock", "count": 6},
    ]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from([one.column for one in columns()]), CELLS)
def test_any_text_in_any_column_is_a_client_or_told_at_that_row(a_camp, day, column, cell):
    """No cell breaks the program; what it breaks is the row."""
    table = read_table(_csv([["hunter.id", column], ["c1", cell]]).encode(), "clients.csv")
    for row in table.rows:
        loaded = load_client(row, a_camp().document, (), day)
        assert {(p.file, p.line) for p in loaded.problems} <= {("clients.csv", 2)}


def test_a_table_of_too_many_bytes_or_columns_is_refused():
    """Bounded in size, with the bound in the message."""
    assert read_table(b"x" * 16_000_001, "c.csv").problems[0].code == "too-large"
    assert read_table(b"," * 5000, "c.csv").problems != ()


@pytest.mark.parametrize("text", ["", "\n\n", ",,\n", 'hunter.name\n"open'])
def test_a_table_without_a_header_or_with_an_open_quote_is_told(text):
    """What is wrong with the file as a whole."""
    assert len(read_table(text.encode(), "c.csv").problems) == 1


def test_values_as_cells():
    """Lists by semicolons, flags in small letters, no list as none."""
    assert [write_cell(value) for value in (["a", "b"], [], True, 3, "x  y")] == ["a; b", "none", "true", "3", "x y"]
    assert read_cell("NONE", column_of("trip.hazards")) == []


def test_the_empty_table_is_one_header_that_is_read(run):
    """What `schema clients --format csv` writes is a table without a row; only clients are written so."""
    table = read_table(run("schema", "clients", "--format", "csv").out.encode(), "clients.csv")
    assert (table.rows, table.problems) == ((), ())
    listed = json.loads(run("schema", "clients").out)["columns"]
    assert [one["column"] for one in listed] == [one.column for one in columns()]
    assert run("schema", "trip", "--format", "csv").code == 2
    assert (
        "bow.draw_weight*: peak draw weight, measured; such as 66 lb"
        in run("schema", "clients", "--format", "text").out
    )


@pytest.mark.parametrize(
    "text",
    ["hunter.id" + ",ab" * 3_000_000, "hunter.id\nc1" + ",ab" * 3_000_000, "hunter.id\n" + '"a\n",' * 2_000_000],
    ids=["header", "row", "row over many lines"],
)
def test_a_row_without_end_is_refused_before_it_takes_the_memory(text):
    """Five million cells take half a gigabyte as soon as they are a row; a quote that never ends is mostly why."""
    tracemalloc.start()
    table = read_table(text.encode(), "clients.csv")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [problem.code for problem in table.problems] == ["not-csv"]
    assert "longer than 1,000,000 characters" in table.problems[0].message
    assert "quotes" in table.problems[0].hint
    assert peak < 100_000_000


@pytest.mark.parametrize(
    ("written", "line"),
    [
        ("bow (checked) x 1", {"item": "bow", "count": 1, "bag": "checked"}),
        ("12 x hunting arrow (checked)", {"item": "hunting arrow", "count": 12, "bag": "checked"}),
        ("string wax(checked)", {"item": "string wax", "bag": "checked"}),
        ("string wax (Checked)", {"item": "string wax", "bag": "checked"}),
        ("10x binocular", {"item": "10x binocular"}),
        ("hunting arrow x 12", {"item": "hunting arrow", "count": 12}),
    ],
)
def test_gear_is_read_as_people_write_it(written, line):
    """Bag before count, count before item, no space before the bag; what a glass magnifies is no count."""
    assert read_cell(written, column_of("gear")) == [line]


@pytest.mark.parametrize("cell", ["bow (carry on)", "bow (checked) x 2 (cabin)", "bow ()", "2 x bow x 3"])
def test_a_bag_or_count_that_is_none_is_told_at_the_gear(client_data, a_camp, day, cell):
    """It is no part of the name, so that nothing is lost in silence."""
    data = {key: value for key, value in client_data("eskil").items() if key != "gear"}
    rows = list(csv.reader(io.StringIO(write_table([data]))))
    rows = [[*rows[0], "gear"], [*rows[1], f"release aid (body); {cell}"]]
    (row,) = read_table(_csv(rows).encode(), "clients.csv").rows
    (problem,) = [p for p in load_client(row, a_camp().document, (), day).problems if p.severity == "error"]
    assert show(problem).startswith("clients.csv:2:gear: error[")
    if "(" in cell:
        assert "cabin (the carry-on), checked or vehicle" in problem.hint
