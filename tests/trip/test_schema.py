"""The schema of the trip file: valid, documented, without the words that make for unreadable messages."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from readiness.documents import Document, read_document
from readiness.trip.validate import TRIP_SCHEMA_FILE, closest, trip_schema, validate
from readiness.units import DIMENSIONS, read_quantity

HERE = Path(__file__).parent
SAMPLES = [*sorted((HERE.parents[1] / "sample_trips").glob("*.yaml")), HERE / "every-key.yaml"]
SCHEMA = json.loads(TRIP_SCHEMA_FILE.read_text(encoding="utf-8"))

# Every key of format 1, from its specification; promised not to change its name.
PLACE_KEYS = "name elevation temperature humidity station_pressure altimeter_setting latitude"
FORMAT_1 = {
    "": "format trip hunter home destinations bow arrow heads reference setup_changed gear airline declared requirements",
    "trip": "name starts ends travel target_zone nearest_shop hazards",
    "hunter": "name id hand",
    "home": PLACE_KEYS,
    "destinations.*": PLACE_KEYS + " sleeping_elevation",
    "bow": "draw_weight let_off draw_length brace_height axle_to_axle peep_height sight",
    "bow.sight": "kind radius pins marks",
    "bow.sight.marks.*": "distance reading",
    "arrow": "mass speed speed_uncertainty shaft_diameter length balance_point drag_coefficient drag_uncertainty "
    "speed_readings fletching",
    "arrow.speed_readings.*": "distance speed",
    "arrow.fletching": "vanes turn",
    "heads.*": "name kind mass cutting_width cutting_width_closed blades",
    "reference": "shot_on bare_shaft broadheads cold_first groups marks",
    "reference.bare_shaft": "distance clock offset pairs",
    "reference.broadheads.*": "head distance arrows right up",
    "reference.cold_first.*": "distance right up",
    "reference.groups.*": "distance arrows extreme_spread mean_radius vertical_sd right up",
    "setup_changed.*": "what on",
    "gear.*": "item bag volts amp_hours mass size",
    "airline": "mass linear_size",
    "requirements.*": "topic rule source read_on edition place applies_to",
}
# An example that stands for "a list of these" is none by the schema's own minItems.


def properties(schema, path=()):
    """Dotted path and subschema of every property and list entry, references followed."""
    schema = SCHEMA["$defs"][schema["$ref"].rpartition("/")[2]] if "$ref" in schema else schema
    if path:
        yield ".".join(path), schema
    for name, below in schema.get("properties", {}).items():
        yield from properties(below, (*path, name))
    if "items" in schema:
        yield from properties(schema["items"], (*path, "*"))


PROPERTIES = dict(properties(SCHEMA))
QUANTITIES = {path: schema["x-quantity"] for path, schema in PROPERTIES.items() if "x-quantity" in schema}


def subschemas(value, under=()):
    """Every mapping anywhere in the schema, with the keywords that lead to it."""
    if isinstance(value, dict):
        yield under, value
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in children:
        yield from subschemas(below, (*under, key))


def test_the_schema_is_a_valid_one():
    """By the meta-schema of the draft that it names."""
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(SCHEMA)
    assert trip_schema() == SCHEMA


def test_no_choice_between_whole_subschemas():
    """An error of oneOf, and of anyOf outside a condition, says only that nothing fits."""
    for under, schema in subschemas(SCHEMA):
        assert "oneOf" not in schema, under
        assert "anyOf" not in schema or "if" in under, under


def test_every_block_refuses_unknown_keys():
    """Only the archer's own list of marks takes any key."""
    blocks = {path: schema for path, schema in PROPERTIES.items() if schema.get("type") == "object"}
    assert len(blocks) > 12
    assert [path for path, block in blocks.items() if block["additionalProperties"] is not False] == ["reference.marks"]
    assert SCHEMA["additionalProperties"] is False


@pytest.mark.parametrize("path", PROPERTIES)
def test_every_key_is_described(path):
    """For the schema command and for editors."""
    assert PROPERTIES[path]["description"].strip()


@pytest.mark.parametrize(
    "path", [p for p, schema in PROPERTIES.items() if schema.get("type") not in ("object", "array")]
)
def test_every_value_has_an_example(path):
    """Hints are made of examples."""
    assert PROPERTIES[path]["examples"]


@pytest.mark.parametrize("path", [path for path, schema in PROPERTIES.items() if "examples" in schema])
def test_every_example_is_right_by_its_own_schema(path):
    """What the program proposes it also takes."""
    schema = PROPERTIES[path]
    for example in schema["examples"]:
        assert validate(Document("example", "", example), schema) == ()


@pytest.mark.parametrize("path", QUANTITIES)
def test_the_limits_of_a_quantity_are_in_its_dimension_and_in_order(path):
    """They are written as a user would write them."""
    rule = QUANTITIES[path]
    assert rule["dimension"] in DIMENSIONS
    low, high = (read_quantity(rule[bound], rule["dimension"]).si for bound in ("minimum", "maximum"))
    assert low < high
    assert set(rule) <= {"dimension", "minimum", "maximum", "range"}


def test_only_the_temperature_of_a_destination_may_be_a_range():
    """Coldest to warmest; everything else is one value."""
    assert {path for path, rule in QUANTITIES.items() if rule.get("range")} == {"destinations.*.temperature"}


@pytest.mark.parametrize("block", FORMAT_1)
def test_every_key_of_format_1_is_known(block):
    """Keys may be added, never renamed."""
    schema = PROPERTIES[block] if block else SCHEMA
    assert set(FORMAT_1[block].split()) <= set(schema["properties"])


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_is_right_by_a_plain_validator(sample):
    """An editor that knows nothing of x-quantity agrees."""
    document, _ = read_document(sample.read_text(encoding="utf-8"), sample.name)
    assert [e.message for e in Draft202012Validator(SCHEMA).iter_errors(document.data)] == []


@pytest.mark.parametrize("key", ["elevation", "mass", "draw_weight", "speed", "pins"])
def test_a_plain_validator_refuses_a_bare_number_too(key):
    """Because a quantity is text."""
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if f" {key}: " in line)
    data = read_document(text.replace(line, f"{line.split(':')[0]}: 20"), "t")[0].data
    assert len(list(Draft202012Validator(SCHEMA).iter_errors(data))) == 1


def test_one_sample_has_every_key_there_is():
    """So that what is tested on every key of it is tested on every key."""
    data = read_document((HERE / "every-key.yaml").read_text(encoding="utf-8"), "t")[0].data

    def paths(value, path=()):
        if path:
            yield ".".join(path)
        for key, below in value.items() if isinstance(value, dict) else ():
            yield from paths(below, (*path, key))
        for below in value if isinstance(value, list) else ():
            yield from paths(below, (*path, "*"))

    assert set(PROPERTIES) - set(paths(data)) == {"home.altimeter_setting"}  # stands beside no station pressure


@pytest.mark.parametrize(
    ("word", "meant"),
    [("letoff", "let_off"), ("Draw_Weight", "draw_weight"), ("draw_lenght", "draw_length"), ("banana", None)],
)
def test_a_misspelt_key_finds_the_one_meant(word, meant):
    """Or none, if nothing is near."""
    assert closest(word, SCHEMA["properties"]["bow"]["properties"]) == meant
