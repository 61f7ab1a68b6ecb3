"""One line of the camp log: every record comes back as it was written, and no bytes can do harm."""

import json
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from readiness.arrival import lines
from readiness.arrival.lines import LOG_SCHEMA_FILE, MAX_LINE, log_schema, read_line, to_line
from readiness.arrival.log import read_lines

SCHEMA = json.loads(LOG_SCHEMA_FILE.read_text(encoding="utf-8"))
HEX = "0123456789abcdef"
words = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=60)
offset = st.floats(-118, 118, allow_nan=False)
shot = st.one_of(
    st.fixed_dictionaries({"right": offset, "up": offset}, optional={"arrow": st.integers(1, 999)}),
    st.fixed_dictionaries({"outside": st.just(True)}, optional={"arrow": st.integers(1, 999)}),
)
stamp = {
    "id": st.text(HEX, min_size=12, max_size=12),
    "time": st.datetimes().map(lambda t: t.replace(microsecond=0, year=max(t.year, 1990)).isoformat() + "+02:00"),
    "version": st.just("0.1.0"),
    "setup": st.text(HEX, min_size=16, max_size=16),
    "at": words,
}
shots = {
    "distance": st.integers(2, 200).map(lambda n: f"{n} yd"),
    "unit": st.sampled_from(["in", "cm"]),
    "shots": st.lists(shot, min_size=1, max_size=20),
}
more = {"cold": st.just(True), "temperature": st.integers(-70, 130).map(lambda n: f"{n} F")}
yes_no = st.sampled_from(["yes", "no"])
yards = st.integers(2, 200).map(lambda n: f"{n} yd")
group = st.fixed_dictionaries({"arrows": st.integers(2, 100), "size": st.just("3.5 in"), "distance": yards})
form_values = st.fixed_dictionaries(
    {"draw_weight": st.integers(15, 120).map(lambda n: f"{n} lb")},
    optional={
        "verified_distance": yards,
        "near_group": group,
        "far_group": group,
        "heads": words,
        "second_release": yes_no,
        "education_number_seen": yes_no,
        "technician_checked_on": st.just("1990-01-01"),
    },
)
records = st.one_of(
    st.fixed_dictionaries(
        {"record": st.just("shots"), **stamp, **shots, "kind": st.sampled_from(["fletched", "bare"])}, optional=more
    ),
    st.fixed_dictionaries(
        {"record": st.just("shots"), **stamp, **shots, "kind": st.just("broadhead"), "head": words}, optional=more
    ),
    st.fixed_dictionaries({"record": st.just("change"), **stamp, "what": words}),
    st.fixed_dictionaries({"record": st.just("step"), **stamp, "step": st.just("ARR-010"), "value": words}),
    st.fixed_dictionaries({"record": st.just("form"), **stamp, "values": form_values}, optional={"client": words}),
    st.fixed_dictionaries({"record": st.just("undo"), **stamp, "undoes": st.text(HEX, min_size=12, max_size=12)}),
)


@given(records)
def test_any_record_comes_back_from_its_line_as_it_was(data):
    """Key by key and number by number; the line is one line."""
    line = to_line(data)
    assert line.count("\n") == 1
    assert read_line(line.encode()[:-1], "t") == (data, ())
    assert [e.message for e in Draft202012Validator(SCHEMA).iter_errors(data)] == []


@given(records.filter(lambda r: r["record"] == "shots"))
def test_a_set_of_arrows_is_read_into_metres(data):
    """The international inch is 2.54 cm exactly, the yard 0.9144 m (1959)."""
    (entry,) = read_lines(to_line(data).encode(), "t").entries
    factor = {"in": 0.0254, "cm": 0.01}[data["unit"]]
    assert entry.record.distance_m == pytest.approx(float(data["distance"].split()[0]) * 0.9144)
    assert len(entry.record.shots) == len(data["shots"])
    for shot, typed in zip(entry.record.shots, data["shots"], strict=True):
        assert shot.outside is typed.get("outside", False)
        assert shot.arrow == typed.get("arrow")
        if not shot.outside:
            assert (shot.right_m, shot.up_m) == pytest.approx((typed["right"] * factor, typed["up"] * factor))
    if "temperature" in data:
        fahrenheit = float(data["temperature"].split()[0])
        assert entry.record.temperature_c == pytest.approx((fahrenheit - 32) * 5 / 9)


@given(st.binary(max_size=300))
def test_no_bytes_make_the_reader_raise(raw):
    """Anything at all is either a record or a problem with a place."""
    found = read_lines(raw, "t")
    assert all(problem.line >= 1 and problem.column >= 1 for problem in found.problems)
    whole = [line for line in raw.removeprefix(b"\xef\xbb\xbf").split(b"\n") if line.strip()]
    assert len({problem.line for problem in found.problems}) + len(found.entries) >= len(whole)


plain_values = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
one_level = st.dictionaries(st.sampled_from(["right", "up", "arrow", "outside", "x"]), plain_values, max_size=4)
json_values = plain_values | one_level | st.lists(plain_values | one_level, max_size=3)


@given(records, st.dictionaries(st.sampled_from([*SCHEMA["properties"], "x"]), json_values, max_size=4))
def test_no_values_make_the_reader_raise(data, changed):
    """A record with values of any kind in any of its keys."""
    line = json.dumps({**data, **changed}).encode()
    found, problems = read_line(line, "t", 3)
    assert (found is None) == bool(problems)
    assert all(problem.line == 3 and 1 <= problem.column <= len(line) for problem in problems)


@given(records, st.dictionaries(st.sampled_from([*SCHEMA["properties"], "x"]), json_values, max_size=4))
def test_a_line_is_told_the_same_mistakes_as_by_the_schema_whole(data, changed):
    """The reader leaves out the conditions that speak of other records."""
    line = json.dumps({**data, **changed}).encode()
    told = read_line(line, "t")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lines, "_schema_of", lambda _: SCHEMA)
        assert told == read_line(line, "t")


BAD = [
    ({"right": "0.3"}, "wrong-type"),
    ({"right": True}, "wrong-type"),
    ({"right": 301}, "out-of-range"),
    ({"up": 118.2}, "out-of-range"),
    ({"arrow": 0}, "out-of-range"),
    ({"arrow": 1.5}, "wrong-type"),
    ({"outside": True}, "not-for-this-kind"),
    ({"height": 2}, "unknown-key"),
]


@pytest.mark.parametrize(("change", "code"), BAD, ids=str)
def test_what_is_wrong_with_an_arrow_is_told_at_its_column(entry, change, code):
    """The place is that of the value, or of the key where the key is wrong."""
    data = entry(shots=[{"right": 0.3, "up": -0.4}, {"right": 0.3, "up": -0.4, **change}])
    text = to_line(data)[:-1]
    found, problems = read_line(text.encode(), "t", 9)
    assert found is None
    told = "right" if "outside" in change else next(iter(change))  # right and up are what an arrow outside lacks
    second = text.index("}, {") + 3
    at_key, at_value = (text.index(f'"{told}":', second) + more for more in (1, len(told) + 5))
    assert next(p.column for p in problems if p.code == code) in (at_key, at_value)


@pytest.mark.parametrize(
    ("keys", "code"),
    [
        ({"record": "shot"}, "bad-choice"),
        ({"record": None}, "missing-key"),
        ({"id": "5F0C9A1B2D3E"}, "bad-text"),
        ({"id": "5f0c9a1b2d3e\n"}, "bad-text"),
        ({"id": "5f0c"}, "bad-text"),
        ({"setup": "0123456789abcdeg"}, "bad-text"),
        ({"setup": None}, "missing-key"),
        ({"time": "2027-09-11"}, "bad-text"),
        ({"time": "2027-02-30T10:00:00Z"}, "bad-time"),
        ({"time": 5}, "wrong-type"),
        ({"at": ""}, "bad-size"),
        ({"at": "a\x1b[31m"}, "bad-text"),
        ({"at": "a\u0000"}, "bad-text"),
        ({"distance": 20}, "bare-number"),
        ({"distance": "20"}, "bare-number"),
        ({"distance": "20 lb"}, "wrong-dimension"),
        ({"distance": "300 yd"}, "out-of-range"),
        ({"distance": None}, "missing-key"),
        ({"kind": "fletch"}, "bad-choice"),
        ({"kind": "broadhead"}, "missing-key"),
        ({"head": "head A"}, "not-for-this-kind"),
        ({"cold": False}, "bad-choice"),
        ({"cold": 1}, "bad-choice"),
        ({"unit": "mm"}, "bad-choice"),
        ({"temperature": "31 in"}, "wrong-dimension"),
        ({"shots": []}, "bad-size"),
        ({"shots": [{"outside": True}] * 101}, "bad-size"),
        ({"shots": [{"right": 1}]}, "missing-key"),
        ({"shots": {"right": 1}}, "wrong-type"),
        ({"what": "x"}, "not-for-this-kind"),
        ({"undoes": "0" * 12}, "not-for-this-kind"),
        ({"comment": "x"}, "unknown-key"),
    ],
    ids=lambda v: str(v)[:40],
)
def test_a_record_that_is_not_as_described_is_refused(entry, keys, code):
    """Each with its own code, and none of it gets in."""
    found, problems = read_line(to_line(entry(**keys))[:-1].encode(), "t")
    assert found is None
    assert code in {problem.code for problem in problems}
    assert all(problem.hint for problem in problems)


@pytest.mark.parametrize("record", ["shots", "change", "step", "undo"])
def test_every_kind_of_record_wants_its_own_keys(entry, record):
    """Without any one of them it is no record, apart from those that may be left out."""
    data = entry(record)
    assert read_line(to_line(data)[:-1].encode(), "t")[1] == ()
    for key in data:
        assert read_line(to_line({k: v for k, v in data.items() if k != key})[:-1].encode(), "t")[0] is None, key


SOUND = b'{"record": "change", "id": "000000000001", "time": "2027-09-11T17:05:12Z", "version": "1", "setup": "0123456789abcdef", "at": "x", "what": "y"}'


@pytest.mark.parametrize(
    ("raw", "code", "column"),
    [
        (SOUND[:40] + b"\xff" + SOUND[40:], "not-utf8", 41),
        ("é".encode() + b"\xff", "not-utf8", 2),
        (SOUND[:-1], "bad-json", len(SOUND)),
        (SOUND + b"}", "bad-json", len(SOUND) + 1),
        (SOUND[:20] + b"\x00" + SOUND[20:], "bad-json", 21),
        (b'{"record": NaN}', "bad-json", 12),
        (b'{"record": -Infinity}', "bad-json", 12),
        (b'{"record": 1e999}', "bad-json", 12),
        (b'{"record": ' + b"9" * 5000 + b"}", "bad-json", 12),
        (b'{"record": 1, "record": 2}', "bad-json", 2),
        (b'{"at": "\\ud800"}', "not-utf8", 9),
        (b'["record"]', "bad-json", 1),
        (b"7", "bad-json", 1),
        (b"null", "bad-json", 1),
        (b"[" * 9000, "bad-json", None),
        (b'{"shots": ' + b"[" * 300 + b"]" * 300 + b"}", "bad-json", 1),
        (b'{"a": "' + b"x" * MAX_LINE + b'"}', "too-large", 1),
        (b"{" + b",".join(b'"%d": 1' % n for n in range(900)) + b"}", "bad-json", 1),
    ],
    ids=lambda v: repr(v)[:30],
)
def test_hostile_lines_are_told_at_their_place(raw, code, column):
    """Bytes that are no text, text that is no JSON, JSON that is no record."""
    found, problems = read_line(raw, "t", 5)
    assert found is None
    assert code in {p.code for p in problems}
    assert all(p.line == 5 for p in problems)
    if column:
        assert problems[0].column == column


def test_the_schema_is_a_valid_one_and_documents_every_key():
    """By the meta-schema of its draft; every key with its meaning, and an example of every value."""
    Draft202012Validator.check_schema(SCHEMA)
    assert log_schema() == SCHEMA
    for part in (SCHEMA, *(SCHEMA["$defs"][name] for name in ("shot", "values", "group"))):
        assert part["additionalProperties"] is False
        for key, schema in part["properties"].items():
            assert schema["description"].strip(), key
            assert schema["examples"], key
    assert "oneOf" not in json.dumps(SCHEMA)
    assert "anyOf" not in json.dumps(SCHEMA)


def test_the_schema_alone_refuses_what_a_plain_validator_can_see(entry):
    """For those who write such files with other tools."""
    validator = Draft202012Validator(SCHEMA)
    assert list(validator.iter_errors(entry(head="head A")))
    assert list(validator.iter_errors(entry(kind="broadhead")))
    assert list(validator.iter_errors(entry(shots=[{"outside": True, "right": 1, "up": 1}])))
    assert not list(validator.iter_errors(entry()))


@pytest.mark.parametrize(
    ("values", "at", "code"),
    [
        ({}, "values", "bad-size"),
        ({"draw_weight": "660 lb"}, "draw_weight", "out-of-range"),
        ({"draw_weight": "66"}, "draw_weight", "bare-number"),
        ({"draw_weight": 66}, "draw_weight", "bare-number"),
        ({"draw_weight": "66 yd"}, "draw_weight", "wrong-dimension"),
        ({"heads": "a", "second_release": "maybe"}, "second_release", "bad-choice"),
        ({"technician_checked_on": "2027-09-12"}, "technician_checked_on", "bad-date"),
        ({"near_group": {"arrows": 3, "size": "70 in", "distance": "20 yd"}}, "size", "out-of-range"),
        ({"diet": "x"}, "diet", "unknown-key"),
    ],
    ids=str,
)
def test_what_is_wrong_with_a_return_form_is_told_at_its_column(entry, values, at, code):
    """Quantities as in a trip file; a check of the bow on the day after the form was filled in has not been done yet."""
    text = to_line(entry("form", values=values))[:-1]
    found, (problem, *_) = read_line(text.encode(), "t", 9)
    assert found is None
    assert (problem.line, problem.code) == (9, code)
    key = text.index(f'"{at}":') + 1
    assert problem.column in (key, key + len(at) + 4)


def test_the_draw_weight_of_a_form_has_the_limits_of_a_trip_file():
    """One bow, one range."""
    from readiness.trip.validate import trip_schema

    trips = trip_schema()["properties"]["bow"]["properties"]["draw_weight"]
    assert SCHEMA["$defs"]["values"]["properties"]["draw_weight"]["x-quantity"] == trips["x-quantity"]


def test_letters_of_every_script_stay_themselves(entry):
    """The file is UTF-8, not escapes."""
    assert "Bärenhütte 熊" in to_line(entry(at="Bärenhütte 熊"))
    assert set(to_line(entry(at="x"))) <= set(string.printable)


def test_a_line_of_many_mistakes_tells_twenty_and_how_many_more(entry):
    """Enough to see what it is; 100 arrows with three mistakes each are 300."""
    line = to_line(entry(shots=[{"right": "a", "up": "b", "x": 1}] * 100)).encode()[:-1]
    _, problems = read_line(line, "t")
    assert len(problems) == 21
    assert problems[-1].message == "280 more mistakes stand in this line"
