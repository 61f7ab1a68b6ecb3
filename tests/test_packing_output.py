"""`readiness pack`: what it prints in each format, and how it ends."""

import csv
import io
import json

import pytest
import yaml

from readiness.rules.packs import built_in_packs

DATE = ("--date", "2027-09-06")
FORMS = ("text", "markdown", "json", "csv")
BAGS = ("body", "cabin", "checked", "vehicle", "none")
ITEM = """\
pack: river
version: 1
items:
  - id: RIV-010
    item: "=SUM(1+1)"
    need: {count: 1}
    air: [checked]
    road: [vehicle]
    why: "@home it is called a sponge"
    basis: common practice
"""


def pack(run, text, *options):
    """The command on a trip file, which must leave nothing to complain of."""
    ran = run("pack", "-", *DATE, *options, stdin=text)
    assert ran.err == ""
    return ran


@pytest.fixture
def complete(run, invented_text):
    """A gear list with everything that the invented trip needs, each thing in the first bag it may ride in."""
    rows = json.loads(pack(run, invented_text(), "--format", "json").out)["items"]
    return [{"item": r["item"], "bag": bag, "count": count} for r in rows for bag, count in r["bags"].items()]


@pytest.mark.parametrize("form", FORMS)
def test_without_a_gear_list_nothing_is_compared_and_pack_ends_with_0(run, invented_text, form):
    """A list to pack by is a product, not a failure."""
    assert pack(run, invented_text(), "--format", form).code == 0


@pytest.mark.parametrize("form", FORMS)
def test_with_everything_packed_pack_ends_with_0(run, invented_text, complete, form):
    """All there, all in their bags."""
    assert pack(run, invented_text(gear=complete), "--format", form).code == 0


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    "change",
    [
        lambda gear: [],
        lambda gear: [line for line in gear if line["item"] != "rangefinder"],
        lambda gear: [{**line, "bag": "checked"} if line["item"] == "power bank" else line for line in gear],
        lambda gear: [*gear, {"item": "suitcase", "bag": "checked", "mass": "51 lb"}],
    ],
    ids=["an empty list", "one thing missing", "one in a wrong bag", "one bag too heavy"],
)
def test_pack_ends_with_1_while_something_is_not_ready(run, invented_text, complete, form, change):
    """Missing, in the wrong bag, or over the airline's limit: the product is printed, and the code says it."""
    ran = pack(run, invented_text(gear=change(complete), airline={"mass": "50 lb"}), "--format", form)
    assert ran.code == 1
    assert len(ran.out) > 1000


@pytest.mark.parametrize(("mass", "code"), [("50 lb", 0), ("51 lb", 1)])
def test_check_tells_of_a_bag_over_the_airlines_limit_too(run, invented_text, complete, mass, code):
    """One command before the trip says everything that is not ready."""
    gear = [*complete, {"item": "suitcase", "bag": "checked", "mass": mass, "size": "20 in x 20 in x 20 in"}]
    text = invented_text(gear=gear, airline={"mass": "50 lb", "linear_size": "62 in"})
    ran = run("check", "-", *DATE, "--format", "json", stdin=text)
    assert ran.code == code
    assert [line.split(":")[0] for line in json.loads(ran.out)["waiting"]] == ["suitcase"] * code


@pytest.mark.parametrize(
    ("travel", "words"),
    [("air", "bag: body is on you, bag: cabin is carry-on."), ("road", "bag: body is on you, bag: vehicle is truck.")],
)
def test_the_page_says_once_what_the_trip_file_calls_its_bags(run, invented_text, travel, words):
    """Who reads "carry-on" has to write cabin."""
    page = pack(run, invented_text(trip={"travel": travel})).out
    assert page.count(f"In the trip file, {words}") == 1
    assert "where it travels: body (on you), cabin (carry-on)" in run("schema", "trip").out


def test_json_tells_whether_anything_was_compared(run, invented_text):
    """No gear key: false. An empty list is a list."""
    found = json.loads(pack(run, invented_text(), "--format", "json").out)
    assert found["compared"] is False
    assert {(item["have"], item["outcome"]) for item in found["items"]} == {(0, "missing")}
    assert json.loads(pack(run, invented_text(gear=[]), "--format", "json").out)["compared"] is True


@pytest.mark.parametrize("travel", ["air", "road"])
def test_json_has_one_row_an_item_with_the_promised_keys_and_types(run, invented_text, travel):
    """Names and numbers that a program can rely on; the bags add up to what is needed."""
    gear = [{"item": "release aid", "count": 2, "bag": "body"}, {"item": "bear spray", "bag": "body"}, {"item": "hat"}]
    trip = {"travel": travel, "hazards": ["bears", "tree stand"], "nearest_shop": "5 h"}
    found = json.loads(pack(run, invented_text(gear=gear, trip=trip), "--format", "json").out)
    assert set(found) >= {"trip", "compared", "items", "own", "cases"}
    known = [item for item in found["items"] if item["id"]]  # the user's own may follow, without an id
    names = [item["item"] for item in known]
    assert len(names) == len(set(names)) >= 35
    for item in known:
        assert set(item) >= {"item", "need", "have", "bag", "bags", "outcome", "reason", "source"}
        assert [type(item[key]) for key in ("need", "have")] == [int, int]
        assert item["bag"] in BAGS
        assert item["outcome"] in ("packed", "missing", "wrong bag")
        assert sum(item["bags"].values()) == item["need"]
        assert set(item["bags"]) <= set(BAGS[:4])
        assert item["bag"] == next(iter(item["bags"]), "none")
        assert [type(item[key]) for key in ("item", "reason", "source")] == [str, str, str]
        assert item["reason"]
        assert item["source"]
    by_name = {item["item"]: item for item in known}
    assert (by_name["release aid"]["have"], by_name["release aid"]["outcome"]) == (2, "wrong bag")
    assert by_name["bear spray"]["bag"] == ("none" if travel == "air" else "body")
    ((own,), wanted) = found["own"], {"item": "hat", "have": 1, "bag": None}
    assert {key: own[key] for key in wanted} == wanted


@pytest.mark.parametrize("form", ["json", "csv"])
def test_what_is_missing_stands_first_then_wrong_bags_then_the_rest(run, invented_text, complete, form):
    """Within each, the order of the list is kept."""
    gear = [{**line, "bag": "checked"} if line["item"] in ("power bank", "rangefinder") else line for line in complete]
    gear = [line for line in gear if line["item"] not in ("headlamp", "bow case", "vane cover")]
    out = pack(run, invented_text(gear=gear), "--format", form).out
    rows = json.loads(out)["items"] if form == "json" else list(csv.DictReader(io.StringIO(out)))
    order = [row["outcome"] for row in rows]
    assert order == ["missing"] * 3 + ["wrong bag"] + ["packed"] * (len(rows) - 4)
    assert [row["item"] for row in rows[:4]] == ["bow case", "headlamp", "vane cover", "power bank"]


def test_csv_has_the_same_rows_as_json(run, invented_text, complete):
    """A header, a line for each item, whole numbers, no blank lines."""
    text = invented_text(gear=complete[1:])
    rows = list(csv.DictReader(io.StringIO(pack(run, text, "--format", "csv").out)))
    items = json.loads(pack(run, text, "--format", "json").out)["items"]
    assert len(rows) == len(items)
    for row, item in zip(rows, items, strict=True):
        for key in ("item", "outcome", "reason", "source"):
            assert row[key] == item[key]
        assert (int(row["need"]), int(row["have"])) == (item["need"], item["have"])
        assert {bag: int(row[bag]) for bag in BAGS[:4] if row[bag] != "0"} == item["bags"]


def test_no_cell_of_csv_begins_like_a_formula(run, invented_text, tmp_path):
    """A pack may call its things what it likes; a spreadsheet must not run it."""
    (tmp_path / "river.yaml").write_text(ITEM, encoding="utf-8")
    text = invented_text(gear=[{"item": "=SUM(1+1)", "bag": "checked"}])
    out = pack(run, text, "--format", "csv", "--checklists", tmp_path).out
    cells = [cell for row in csv.reader(io.StringIO(out)) for cell in row]
    assert "'=SUM(1+1)" in cells
    assert "'@home it is called a sponge" in cells
    assert [cell for cell in cells if cell[:1] in "=+-@" and cell] == []


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_the_page_names_every_item_with_its_source_and_every_line_of_the_users_own(run, invented_text, form):
    """What is needed, why, who says so; and what the list does not know."""
    gear = [{"item": "bow case", "bag": "checked"}, {"item": "lucky hat", "count": 3}]
    text = invented_text(gear=gear)
    flat = " ".join(pack(run, text, "--format", form).out.split()).replace("\\", "")
    items = json.loads(pack(run, text, "--format", "json").out)["items"]
    assert [i["item"] for i in items if i["id"] and f"{i['item']}: {i['reason']}. ({i['source']})" not in flat] == []
    assert "3 lucky hat, no bag stated" in flat
    assert flat.index("Missing (") < flat.index("Packed (1)") < flat.index("lucky hat")


def test_the_page_asks_to_read_the_rules_of_airlines_anew(run, invented_text):
    """They change, and the officer decides: said at the end of every list."""
    flat = " ".join(pack(run, invented_text()).out.split())
    assert flat.endswith(
        "Rules of agencies and airlines change: read them anew in the week you fly. The officer at the gate decides."
    )


def test_a_thing_that_may_not_fly_stands_among_what_is_in_the_wrong_bag(run, invented_text):
    """Bear spray in the checked bag is the gravest entry of the list, and its outcome is "wrong bag"."""
    gear = [{"item": "bear spray", "bag": "checked"}]
    out = pack(run, invented_text(gear=gear, trip={"hazards": ["bears"]})).out
    wrong = out.index("In the wrong bag (1)")
    assert out.index("Missing (") < wrong < out.index("bear spray") < out.index("Why, and who says so")


def test_the_page_shows_where_a_thing_is_beside_where_it_goes(run, invented_text):
    """The reader moves it without looking it up in the trip file."""
    gear = [{"item": "power bank", "bag": "checked"}, {"item": "release aid", "bag": "body"}, {"item": "release aid"}]
    lines = pack(run, invented_text(gear=gear)).out.splitlines()
    (bank,) = [line for line in lines if line.startswith("[ ]  power bank")]
    (release,) = [line for line in lines if line.startswith("[ ]  release aid")]
    (headings,) = [line for line in lines if line.split()[:3] == ["item", "need", "have"] and "is now" in line][1:2]
    assert bank.endswith("1 checked")
    assert bank[headings.index("carry-on") : headings.index("checked")].strip() == "1"
    assert release.endswith("1 on you, 1 not stated")


def test_a_thing_that_flies_has_a_bag_even_where_the_trip_asks_for_none(run, invented_text):
    """Lighted nocks in the checked bag are in place; `none` would say that they may not fly."""
    text = invented_text(gear=[{"item": "lighted nock", "count": 3, "bag": "checked"}])
    items = json.loads(pack(run, text, "--format", "json").out)["items"]
    (nocks,) = [item for item in items if item["item"] == "lighted nock"]
    assert (nocks["outcome"], nocks["bag"]) == ("packed", "checked")


def test_every_line_of_the_built_in_list_rests_on_a_source_or_says_that_it_has_none():
    """Regulations and standards name who says so, and that it changes; the rest is common practice."""
    items = [item for pack in built_in_packs()[0] for item in pack.items]
    assert len(items) >= 40
    assert [item.id for item in items if item.basis != "common practice" and not item.source] == []
    assert [item.id for item in items if item.basis == "regulation" and "ask, it changes" not in item.source] == []


def test_a_complete_list_read_back_is_the_trip_files_own(invented_text, complete):
    """The gear that the fixture above packs is what the file says, so the tests with it compare something."""
    assert yaml.safe_load(invented_text(gear=complete))["gear"] == complete
    assert len(complete) > 25


@pytest.mark.parametrize(
    ("hunter", "first"),
    [
        ({"name": "Anna Birch", "id": "c07"}, "Anna Birch, c07. "),
        ({"name": "Anna Birch"}, "Anna Birch. "),
        ({"id": "c07"}, "c07. "),
        ({}, ""),
    ],
)
def test_a_printed_list_begins_with_whose_it_is(run, sample_text, hunter, first):
    """Name and id where the trip has them; nothing where it has neither."""
    said = ", ".join(f"{key}: {value}" for key, value in {**hunter, "hand": "right"}.items())
    text = sample_text("high-basin").replace("{name: Client seven, id: c07, hand: right}", f"{{{said}}}")
    top = pack(run, text).out.splitlines()[0]
    name = yaml.safe_load(text)["trip"]["name"]
    assert top.startswith(f"{first}{name}: packing list, by air")
