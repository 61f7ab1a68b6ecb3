"""YAML as data with places: surprises of YAML 1.1 stay text, and every mistake comes back with its line."""

import json
from time import perf_counter

import pytest
import yaml
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from readiness.documents import MAX_BYTES, read_document

# What YAML 1.1 would make a number, a time, a date or a truth of.
PLAIN_WORDS = [
    *("07500", "12:30", "12:30:00", "7:15", "0x1F", "0b11", "0o17", "1_000", ".5", "+.5", "1.2.3", "1,000", "01.5"),
    *("on", "off", "yes", "no", "y", "n", "Yes", "True", "FALSE", "NULL", "Null", "=", "--1", "1e", "e3", "1e3e3"),
    *(".nan", ".inf", "-.inf", "2027-09-11", "2027-09-11 12:00:00", "8750 ft", "-5 C"),
]
CONVERTED = {"true": True, "false": False, "null": None, "~": None, "": None, "0": 0, "-7": -7, "+5": 5, "1e3": 1000.0}
CONVERTED |= {"1.5": 1.5, "-0.25": -0.25, "2.": 2.0, "1E-2": 0.01, "999999999999999999": 10**18 - 1}
FOREIGN_TAGS = [
    *("!foo 1", "!!set {x, y}", "!!omap [x: 1]", "!!binary aGk=", "!!timestamp 2027-01-01", "!<x:y> 1", "!!map [1]"),
    *('!!python/object/apply:os.system ["true"]', "!!python/name:os.system ''", "!!seq {a: 1}", "!!str {a: 1}"),
]
UNFIT_TAGS = [
    *("!!float nan", "!!float .nan", "!!float -.inf", "!!int x", "!!int", "!!int 0x1F", "!!int 1_0", "!!int 1:30"),
    *("!!bool yes", "!!bool maybe", "!!null x", "!!merge x"),
]
# Each of these has its own test marked as an expected failure in test_documents_hostile.py.
KNOWN_TO_RAISE = ("<<", "!!merge", "!!str", "\\U")
PIECES = ["a", "b: ", "- ", "? ", ": ", "{", "}", "[", "]", ",", "&a ", "*a", "!!int ", "!x ", "|", ">", '"', "'", "\\"]
PIECES += ["\n", "\n  ", "\t", "---\n", "...\n", "%YAML 1.1\n", "1", "1e999", "~", "true", "\r\n", "\x85", "\u2028"]
PIECES += ["\ufeff", "\ud800", "\U0001f600", "é", "\x00", "\x1b", "@", "#", "\u202e", "%"]
JSON_DATA = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**18) + 1, 10**18 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=12,
)


def data_of(text):
    """The data of a text that has no mistakes."""
    document, problems = read_document(text, "t.yaml")
    assert problems == ()
    return document.data


def codes_of(text):
    """Line, column and code of every mistake."""
    return [(p.line, p.column, p.code) for p in read_document(text, "t.yaml")[1]]


@pytest.mark.parametrize("word", PLAIN_WORDS)
def test_a_plain_word_that_yaml_1_1_would_convert_stays_text(word):
    """Only true, false, null and decimal numbers are anything but the text that was written."""
    assert data_of(f"a: {word}\n") == {"a": word}
    assert data_of(f"- {word}\n") == [word]


@pytest.mark.parametrize(("word", "value"), CONVERTED.items())
def test_json_words_and_decimal_numbers_are_values(word, value):
    """What JSON converts is converted, with its type."""
    found = data_of(f"a: {word}\n")["a"]
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize("word", ["1e400", "-1e400", "1e999", "!!float 1e999"])
def test_a_number_too_large_to_be_finite_is_refused(word):
    """An overflow is a mistake at its place and never becomes infinity."""
    assert codes_of(f"ok: 1\na: {word}\n") == [(2, 4, "not-finite")]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("a: 1\nb: 2\na: 3\n", [(3, 1)]),
        ("a: 1\na: 2\na: 3\n", [(2, 1), (3, 1)]),
        ('a: 1\n"a": 2\n', [(2, 1)]),
        ("x: {a: 1, b: 2, a: 3}\n", [(1, 17)]),
        ("x:\n  - a: 1\n    a: 2\ny:\n  b: 1\n  b: 2\n", [(3, 5), (6, 3)]),
        ('"a\\tb": 1\n"a\tb": 2\n', [(2, 1)]),
    ],
)
def test_a_repeated_key_is_told_where_it_is_repeated(text, places):
    """The second and third stand at fault, not the first; all of them in one run."""
    assert codes_of(text) == [(*place, "repeated-key") for place in places]


def test_a_repeated_key_names_the_line_of_the_first():
    """The message says where the other one is."""
    (problem,) = read_document("b: 0\na: 1\nc: 2\na: 3\n", "t.yaml")[1]
    assert "line 2" in problem.message


@pytest.mark.parametrize("key", ["1", "1.5", "true", "~", "[1, 2]", "{a: 1}"])
def test_a_key_that_is_not_text_is_refused(key):
    """Numbers, true, null, lists and mappings are no keys."""
    assert codes_of(f"ok: 1\n{key}: x\n") == [(2, 1, "key-not-text")]


@pytest.mark.parametrize("key", ["2027-01-01", "on", "yes", "07500", '"1"', "'true'"])
def test_a_key_that_only_looks_like_a_value_is_text(key):
    """Dates and yes are text, as values are."""
    assert data_of(f"{key}: x\n") == {key.strip("\"'"): "x"}


@pytest.mark.parametrize("value", FOREIGN_TAGS)
def test_a_tag_is_refused_at_its_place(value):
    """No tag is followed, least of all one that would run code."""
    assert (2, 4, "tag") in codes_of(f"ok: 1\na: {value}\n")


@pytest.mark.parametrize("value", UNFIT_TAGS)
def test_a_standard_tag_with_a_value_it_does_not_fit_is_refused(value):
    """An explicit tag opens no back door to what plain words may not become."""
    assert codes_of(f"ok: 1\na: {value}\n") == [(2, 4, "tag")]


def test_a_standard_tag_with_a_value_it_fits_is_read():
    """!!str 5 is text, !!int 5 a number."""
    assert data_of("[!!str 5, !!int 5, !!float 1.5, !!bool true]\n") == ["5", 5, 1.5, True]


@pytest.mark.parametrize(
    ("text", "path", "key", "value"),
    [
        ("a: 1\nb: 2\n", ("b",), (2, 1), (2, 4)),
        ("x:\n  y: 1\n", ("x", "y"), (2, 3), (2, 6)),
        ("x:\n  y: 1\n", ("x",), (1, 1), (1, 1)),
        ("x: {y: 1, zz: 2}\n", ("x", "zz"), (1, 11), (1, 15)),
        ("x:\n  - 7\n  - {c: 2, d: [3, 4]}\n", ("x", 0), None, (2, 5)),
        ("x:\n  - 7\n  - {c: 2, d: [3, 4]}\n", ("x", 1), None, (3, 5)),
        ("x:\n  - 7\n  - {c: 2, d: [3, 4]}\n", ("x", 1, "d"), (3, 12), (3, 12)),
        ("x:\n  - 7\n  - {c: 2, d: [3, 4]}\n", ("x", 1, "d", 1), None, (3, 19)),
        ('"x y":   "long"\n', ("x y",), (1, 1), (1, 10)),
        ("ä: {日本: 1, \U0001f600: 2}\n", ("ä", "\U0001f600"), (1, 12), (1, 15)),
        ("a:\n  >-\n  folded\n", ("a",), (1, 1), (2, 3)),
    ],
)
def test_a_path_has_the_line_and_column_of_its_key_and_value(text, path, key, value):
    """Places count from 1, in characters; a list or mapping stands at its key."""
    document, _ = read_document(text, "t.yaml")
    assert document.place(path) == value
    if key:
        assert document.place(path, at_key=True) == key


def test_a_path_that_is_not_there_has_the_place_of_its_nearest_parent():
    """A missing key is told where it should be."""
    document, _ = read_document("a: 1\nb:\n  c: 2\n", "t.yaml")
    assert document.place(("b", "zz", 3)) == (2, 1)
    assert document.place(("zz",)) == (1, 1)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\x85", "\u2028"])
def test_every_line_end_of_yaml_counts_as_one_line(end):
    """The line number and the line shown agree whatever the system ends lines with."""
    text = end.join(("a: 1", "b: 2", "a: 3", ""))
    (problem,) = read_document(text, "t.yaml")[1]
    assert (problem.line, problem.column, problem.source) == (3, 1, "a: 3")


def test_a_byte_order_mark_does_not_change_the_data():
    """A text that still has its mark reads as one without."""
    assert data_of("\ufeffa: 1\nb: 2\n") == {"a": 1, "b": 2}


def test_a_merge_sign_as_a_key_is_told_at_its_place():
    """<< is an extension of YAML 1.1; an anchor and its alias still work."""
    _, problems = read_document("base: &b\n  p: 1\nx:\n  <<: *b\n  q: 3\n", "t.yaml")
    assert [(p.line, p.column, p.code) for p in problems] == [(4, 3, "merge-key")]
    assert data_of("base: &b {p: 1}\nx: *b\n")["x"] == {"p": 1}


def test_all_mistakes_are_told_in_one_run_sorted_by_place():
    """A reader mends a file once."""
    text = "a: 1e999\n2: x\na: !t y\nb: {c: 1, c: 2}\n"
    assert codes_of(text) == [
        (1, 4, "not-finite"),
        (2, 1, "key-not-text"),
        (3, 1, "repeated-key"),
        (3, 4, "tag"),
        (4, 11, "repeated-key"),
    ]


def test_a_text_over_the_limit_is_refused_unread():
    """A million characters are read; one more is refused at once, though it is not YAML at all."""
    assert data_of("a: " + "x" * (MAX_BYTES - 3)) == {"a": "x" * (MAX_BYTES - 3)}
    began = perf_counter()
    assert codes_of("[" * (MAX_BYTES + 1)) == [(0, 0, "too-large")]
    assert perf_counter() - began < 1


@settings(deadline=None)
@given(st.text(max_size=300) | st.lists(st.sampled_from(PIECES), max_size=30).map("".join))
@example("\x00")
@example("\ud800")
@example("%YAML 9.9\n---\na: 1")
@example("!%ff x")
def test_no_text_makes_the_reader_raise(text):
    """Whatever is in a file, the answer is either a document or problems with places inside the file."""
    assume(not any(piece in text for piece in KNOWN_TO_RAISE))
    document, problems = read_document(text, "t.yaml")
    assert (document is None) == bool(problems)
    for problem in problems:
        assert 0 <= problem.line <= len(text) + 1
        assert problem.column >= 0
        assert problem.message
        assert problem.hint
    if document:
        assert document.place(("no", "such")) == (1, 1)
        assert json.dumps(document.data, allow_nan=False)


@settings(deadline=None)
@given(JSON_DATA)
def test_what_a_yaml_library_writes_reads_back_equal(data):
    """Quoted output of an independent writer, with explicit tags on numbers, gives the same data."""
    back = data_of(yaml.safe_dump(data, default_style='"'))
    assert json.dumps(back, sort_keys=True) == json.dumps(data, sort_keys=True)


@settings(deadline=None)
@given(JSON_DATA)
def test_json_reads_back_equal(data):
    """JSON is YAML, except for characters that YAML does not allow to stand unescaped."""
    text = json.dumps(data, ensure_ascii=False)
    assume(text.isprintable())
    back = data_of(text)
    assert json.dumps(back, sort_keys=True) == json.dumps(data, sort_keys=True)
