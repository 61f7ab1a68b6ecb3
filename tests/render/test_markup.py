"""Names from files stay text: they become neither markup nor terminal commands, in any format."""

import csv
import io
import json
import re

import pytest

from readiness.problems import show
from readiness.render.data import pins_csv, plan_data, to_json
from readiness.render.markdown import to_markdown
from readiness.render.pages import pins_page, plan_page
from readiness.render.text import to_text

HOSTILE = "# * [x](y) <b> | `c` _d_ ~e~ \\"
# A bell, an escape sequence, right-to-left override and isolate, a line separator, a soft hyphen.
CONTROLS = "\x07 \x1b[31m \u202e \u2067 \u2028 \u200b \x9b"
LONG = "a head with a very long name, such as somebody may write who has many of them, 1"
PACK = """\
pack: {pack}
version: 1
rules:
  - id: {id}
    stage: arrival
    title: {text}
    do: {text}
    expect: {text}
    if_not: {text}
    basis: regulation
    source: {text}
"""


def named(name):
    """Changes that give a sample's trip, camp, hunter, head and mark a name."""
    quoted = json.dumps(name)
    return [
        ("name: High basin, late season", f"name: {quoted}"),
        ("name: Trailhead camp", f"name: {quoted}"),
        ("name: Client seven", f"name: {quoted}"),
        ("name: hunting head", f"name: {quoted}"),
        ("{head: hunting head, distance: 20", f"{{head: {quoted}, distance: 20"),
        ("{head: hunting head, distance: 40", f"{{head: {quoted}, distance: 40"),
        ('sight_scale: "42.5"', f"sight_scale: {quoted}"),
    ]


def pages(plan):
    """Every page of a plan."""
    return [plan_page(plan, everything=True), pins_page(plan, why=True)]


def unescaped(text, characters):
    """Those characters of Markdown text that no backslash stands before."""
    return re.findall(rf"(?<!\\)(?:\\\\)*([{re.escape(characters)}])", text)


def test_markup_in_names_is_escaped_in_markdown(a_plan):
    """A heading, list, link, tag, table cell, code or emphasis in a name is shown as its characters."""
    plan, problems = a_plan("high-basin", *named(HOSTILE))
    assert problems == ()
    escaped = r"\# \* \[x\](y) \<b\> \| \`c\` \_d\_ \~e\~ " + "\\\\"
    for page in pages(plan):
        markdown = to_markdown(page)
        assert f"# {escaped}" in markdown.splitlines()[0]
        assert HOSTILE not in markdown
        assert unescaped(markdown, "<`_~") == []
        assert "[x](y)" not in markdown.replace(r"\]", "")
        assert len(re.findall(r"\[x", markdown)) == len(re.findall(r"\\\[x", markdown))


def test_a_name_with_a_bar_adds_no_column(a_plan):
    """Every row of a Markdown table has as many cells as its head."""
    markdown = to_markdown(plan_page(a_plan("high-basin", *named(HOSTILE))[0]))
    tables = re.findall(r"(?:^\|.*\n)+", markdown, re.MULTILINE)
    assert len(tables) >= 5
    for table in tables:
        assert len({len(unescaped(row, "|")) for row in table.splitlines()}) == 1


def test_text_pages_show_a_name_as_it_is(a_plan):
    """Plain text needs no backslashes."""
    assert to_text(plan_page(a_plan("high-basin", *named(HOSTILE))[0])).startswith(f"{HOSTILE}\n")


def test_control_and_direction_characters_come_out_as_escapes(a_plan):
    """No name rings a bell, colours a terminal or turns a line round, in text or Markdown."""
    plan, _ = a_plan("high-basin", *named(CONTROLS))
    for page in pages(plan):
        for written in (to_text(page), to_markdown(page)):
            assert all(line.isprintable() for line in written.split("\n"))
            for shown in (r"\x07", r"\x1b", r"\u202e", r"\u2067", r"\u2028", r"\u200b", r"\x9b"):
                assert shown in written.replace("\\\\", "\\").replace("\\[", "["), shown


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_a_check_shows_hostile_names_harmlessly(run, sample_text, form):
    """The page of `check` follows the same rules, through the whole command."""
    ran = run("check", "-", "--date", "2027-08-25", "--format", form, stdin=sample_text("high-basin", *named(CONTROLS)))
    assert all(line.isprintable() for line in ran.out.split("\n"))
    ran = run("check", "-", "--date", "2027-08-25", "--format", form, stdin=sample_text("high-basin", *named(HOSTILE)))
    assert (r"\[x\](y)" if form == "markdown" else "[x](y)") in ran.out.splitlines()[0]


@pytest.mark.parametrize("render", [to_text, to_markdown])
def test_control_characters_of_a_foreign_pack_come_out_as_escapes(a_plan, a_pack, render):
    """A pack from elsewhere cannot drive a terminal either, by its id or its texts."""
    quoted = json.dumps(CONTROLS)
    plan, _ = a_plan(packs=[a_pack(PACK.format(pack=quoted, id=quoted, text=quoted))])
    assert all(line.isprintable() for line in render(plan_page(plan)).split("\n"))


def test_control_characters_in_problems_come_out_as_escapes(sample_text):
    """A problem that quotes a file's own words quotes them harmlessly."""
    from datetime import date

    from readiness.trip.load import load_trip

    change = ("what: string and cables, on: 2027-07-30", f"what: {json.dumps(CONTROLS)}, on: 2027-08-24")
    problems = load_trip(sample_text("high-basin", change), "trip.yaml", date(2027, 8, 25)).problems
    assert [p.code for p in problems] == ["stale-reference"]
    assert all(line.isprintable() for line in show(problems[0]).split("\n"))


@pytest.mark.parametrize("name", ["- ", "+ camp", "1", "12"])
def test_a_place_that_looks_like_a_list_entry_begins_no_list(a_plan, name):
    """`1. 20 to 50 yd` at the head of a paragraph would be read as a numbered list."""
    plan, _ = a_plan("high-basin", ("name: Trailhead camp", f"name: {json.dumps(name)}"))
    answer = to_markdown(pins_page(plan)).split("## The answer\n\n")[1]
    assert not re.match(r"(?:[-+*]|[0-9]{1,9}[.)])\s", answer)


def test_a_long_name_keeps_a_table_within_120_characters(a_plan):
    """A head's name may have 80 characters; the page stays readable."""
    plan, _ = a_plan("high-basin", *[(old, new) for old, new in named(LONG) if "head" in old])
    assert max(map(len, to_text(plan_page(plan)).splitlines())) <= 120


def test_names_survive_json_and_csv_unchanged(a_plan):
    """Data carries the name itself, however hostile."""
    for name in (HOSTILE, CONTROLS):
        plan, _ = a_plan("high-basin", *named(name))
        assert json.loads(to_json(plan_data(plan)))["trip"] == name
        assert next(csv.DictReader(io.StringIO(pins_csv(plan), newline="")))["place"] == name


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@sum", "=cmd|' /c x'!A1"])
def test_a_name_that_a_spreadsheet_would_run_is_quoted_in_csv(a_plan, name):
    """A cell that begins like a formula gets a quote before it; another does not."""
    plan, _ = a_plan("high-basin", ("name: Trailhead camp", f"name: {json.dumps(name)}"))
    places = [row["place"] for row in csv.DictReader(io.StringIO(pins_csv(plan)))]
    assert set(places) == {f"'{name}", "Basin spike camp"}


def test_csv_has_a_row_for_every_place_case_and_pin_with_the_numbers_of_the_json(a_plan):
    """Two camps, two cases, five pins; the columns are the JSON's keys."""
    plan, _ = a_plan()
    rows = list(csv.DictReader(io.StringIO(pins_csv(plan))))
    pins = [p for place in plan_data(plan)["pins"]["destinations"] for case in place["cases"] for p in case["pins"]]
    assert len(rows) == len(pins) == 20
    for row, pin in zip(rows, pins, strict=True):
        assert float(row["shift_in"]) == pin["shift_in"]
        assert float(row["gravity_in"]) == pin["because"]["gravity_in"]
        assert row["arrows_to_see"] == ("" if pin["arrows_to_see"] is None else str(pin["arrows_to_see"]))


def test_units_change_pages_and_leave_data_alone(a_plan):
    """Metric pages speak of metres and millimetres; the JSON's keys carry their unit in both."""
    imperial, metric = a_plan(units="imperial")[0], a_plan(units="metric")[0]
    pages_of = {plan.units: to_text(pins_page(plan, why=True)) for plan in (imperial, metric)}
    for units, mine, other in (("imperial", "20 yd", "18 m"), ("metric", "18 m", "20 yd")):
        assert mine in pages_of[units]
        assert other not in pages_of[units]
    assert "shift in" in pages_of["imperial"]
    assert "shift mm" in pages_of["metric"]
    assert not re.search(r"\d (?:in|yd|ft|fps|F|inHg|ft lbf)\b", pages_of["metric"])
    assert not re.search(r"\d (?:mm|cm|m|m/s|C|hPa|J)\b", pages_of["imperial"])
    assert plan_data(imperial)["pins"] == plan_data(metric)["pins"]
    do = {plan.units: next(s.do for s in plan.steps if s.id == "ARR-180") for plan in (imperial, metric)}
    assert "20 yd" in do["imperial"]
    assert "18 m" in do["metric"]
