"""What the columns of a client table may hold is told, and told from the schema."""

import json

from readiness.camp.columns import columns
from readiness.rules.packs import built_in_packs
from readiness.topics import TOPICS, read_rule, rule_forms
from readiness.trip.validate import trip_schema


def _by_name():
    return {listed.column: listed for listed in columns()}


def test_a_column_with_a_choice_names_every_choice_of_the_schema():
    """Read here from the schema itself, by the path of each column."""
    schema = trip_schema()
    heads = schema["properties"]["heads"]["items"]["properties"]["kind"]["enum"]
    turns = schema["properties"]["arrow"]["properties"]["fletching"]["properties"]["turn"]["enum"]
    hazards = schema["properties"]["trip"]["properties"]["hazards"]["items"]["enum"]
    topics = schema["properties"]["requirements"]["items"]["properties"]["topic"]["enum"]
    bags = schema["properties"]["gear"]["items"]["properties"]["bag"]["enum"]
    listed = _by_name()
    for name, choices in {
        "heads.1.kind": heads,
        "heads.3.kind": heads,
        "arrow.fletching.turn": turns,
        "trip.hazards": hazards,
        "requirements.1.topic": topics,
    }.items():
        assert listed[name].allowed.split(" | ") == choices
    assert listed["gear"].allowed == f"bag: {' | '.join(bags)}"
    assert listed["declared.education"].allowed.split(" | ")[:2] == ["yes", "no"]
    rule = schema["properties"]["bow"]["properties"]["draw_weight"]["x-quantity"]
    assert listed["bow.draw_weight"].allowed == f"{rule['minimum']} to {rule['maximum']}"


def test_every_form_of_a_rule_that_is_told_is_taken():
    """Topic by topic; the way of measuring behind the first form that has a number."""
    forms = dict(rule_forms())
    assert list(forms) == list(TOPICS)
    for topic, told in forms.items():
        for form in told:
            rule = form.replace("...", told[0])
            assert not hasattr(read_rule(topic, rule), "hint"), f"{topic}: {rule}"
    assert forms["education"] == ("required",)


def test_the_text_tells_choices_and_rules_and_so_does_json(run):
    """As asked for on the command line; the camp file and the trip file have the same rules."""
    told = " ".join(run("schema", "clients", "--format", "text").out.split())
    assert "heads.1.kind*: what it is; such as field point; allowed: field point | fixed blade | mechanical" in told
    assert "- education: required" in told
    data = json.loads(run("schema", "clients", "--format", "json").out)
    assert {column["column"]: column["allowed"] for column in data["columns"]}["trip.travel"] == "air | road"
    assert data["rules"]["education"] == ["required"]
    for what in ("camp", "trip"):
        assert "- education: required\n" in run("schema", what, "--format", "text").out
    assert "What the rule of" not in run("schema", "log", "--format", "text").out


def test_the_names_of_gear_are_those_of_the_packs(run):
    """Every item and every other name for it, and no list retyped."""
    told = " ".join(run("schema", "clients", "--format", "text").out.split())
    names = json.loads(run("schema", "clients", "--format", "json").out)["gear"]
    items = [item for pack in built_in_packs()[0] for item in pack.items]
    assert len(names) == len(items) > 20
    for item in items:
        (line,) = [name for name in names if name.partition(" (")[0] == item.item]
        assert line in told
        assert all(alias in line for alias in item.aliases)
