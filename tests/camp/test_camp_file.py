"""The camp file: what is read, and that every mistake is told at its place."""

import json

import pytest

from readiness.camp.load import camp_schema, load_camp
from readiness.camp.model import words_of
from readiness.trip.validate import trip_schema


def _problems(text, day):
    return [(p.line, p.column, p.code, p.severity) for p in load_camp(text, "camp.yaml", day).problems]


def test_the_sample_camp_is_sound(camp_text, day):
    """No error and no warning in the camp that ships."""
    assert load_camp(camp_text(), "camp.yaml", day).problems == ()


def test_a_camp_needs_no_more_than_a_name_and_a_place(day):
    """format, camp.name and one place are enough."""
    text = "format: 1\ncamp: {name: Ford}\nplaces: [{name: Ford hut, elevation: 900 m}]\n"
    camp, problems = load_camp(text, "camp.yaml", day)
    assert problems == ()
    assert (camp.name, camp.clients, camp.trip) == ("Ford", None, {"name": "Ford"})


def test_places_trip_and_requirements_have_the_limits_of_a_trip_file():
    """What a camp shares with trip files is the very schema of trip files."""
    camp, trip = camp_schema()["properties"], trip_schema()["properties"]
    assert camp["places"]["items"] == trip["destinations"]["items"]
    assert camp["trip"]["properties"] == trip["trip"]["properties"]
    assert camp["requirements"]["items"] == trip["requirements"]["items"]


def test_the_published_schema_is_a_json_schema(run):
    """By the metaschema of draft 2020-12, as jsonschema ships it; and it takes the sample camp's shape."""
    from jsonschema import Draft202012Validator

    published = json.loads(run("schema", "camp").out)
    Draft202012Validator.check_schema(published)
    assert published == camp_schema()


@pytest.mark.parametrize(
    ("old", "new", "code", "at"),
    [
        ("elevation: 7450 ft", "elevation: 7450", "bare-number", "7450"),
        ("contact: desk", "contacts: desk", "unknown-key", "contacts"),
        ("ends: 2027-09-24", "ends: 2027-09-12", "dates-reversed", "2027-09-12"),
        ("count: 2, bag: cabin", "count: 2, bag: truck", "bad-choice", "truck"),
        ("rule: at least 45 lb", "rule: sturdy", None, "sturdy"),
        ("name: Forks spike camp", "name: Barn meadow", "repeated-name", "Barn meadow"),
        ("elevation: 9300 ft", "elevation: 9.300 ft", "thousands-point", "9.300 ft"),
    ],
)
def test_a_mistake_is_told_where_it_stands(camp_text, day, old, new, code, at):
    """Line and column of the wrong value or key, found by searching the text."""
    text = camp_text((old, new))
    found = [p for p in load_camp(text, "camp.yaml", day).problems if p.severity == "error"]
    assert len(found) == 1
    assert code in (None, found[0].code)
    line = text.splitlines()[found[0].line - 1]
    assert line[found[0].column - 1 :].startswith(at)
    assert load_camp(text, "camp.yaml", day).camp is None


@pytest.mark.parametrize(
    "path", ["/etc", "../other", "a/../../b", "..", "~/clients", "C:/clients", "\\\\server\\share", "a\\..\\..\\b"]
)
@pytest.mark.parametrize("key", ["clients", "checklists"])
def test_a_path_that_could_lead_out_is_refused_unread(camp_text, day, path, key):
    """Absolute paths, .. and drive letters are errors of the camp file, on every system."""
    written = json.dumps([path] if key == "checklists" else path)
    text = camp_text(("clients: clients", f"{key}: {written}"))
    codes = {p.code for p in load_camp(text, "camp.yaml", day).problems}
    assert codes == {"outside-folder"}


@pytest.mark.parametrize("path", ["clients", "a/b.csv", "..hidden", "a..b", "Gäste 2027"])
def test_a_path_that_stays_inside_is_taken(camp_text, day, path):
    """Dots inside a name are no way out."""
    camp, problems = load_camp(camp_text(("clients: clients", f"clients: {path}")), "camp.yaml", day)
    assert problems == ()
    assert camp.clients == path


def test_what_the_camp_says_stands_in_words(a_camp):
    """Name, contact, what is on site, what is recommended, notes; and that no butt is named where none is."""
    said = words_of(a_camp())
    assert said[0] == "Larkspur Forks camp. Contact: desk at the trailhead barn, seven to nine in the evening"
    assert "On site, press: bow press, worked by the technician who comes on the first day" in said
    assert "The camp recommends: camp shoes (boots stay in the drying room)" in said
    assert said[-1].startswith("Scales hang")
    assert not any("no butt" in line for line in said)
    without = a_camp(("  butt: foam butt, 20 to 60 yd, behind the barn\n", ""))
    assert any("no butt" in line for line in words_of(without))
