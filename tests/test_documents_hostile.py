"""YAML that is broken or means harm: each case ends quickly, with a problem in words of the file."""

from time import perf_counter

import pytest

from readiness.documents import read_document
from readiness.problems import show

A_MOMENT_S = 5.0  # generous for a slow machine; unbounded work would take minutes
DEEP = {
    "flow lists": "[" * 10_000 + "]" * 10_000,
    "unclosed flow lists": "[" * 10_000,
    "flow mappings": "{a: " * 10_000 + "1" + "}" * 10_000,
    "block lists": "- " * 10_000 + "x",
    "block keys": "? " * 10_000 + "x",
    "block mappings": "\n".join(" " * i + "a:" for i in range(1_300)),
    "one hundred": "a: " + "[" * 100 + "]" * 100,
}


def problems_of(text):
    """Every mistake of a text that has some; the time it takes is bounded."""
    began = perf_counter()
    document, problems = read_document(text, "t.yaml")
    assert perf_counter() - began < A_MOMENT_S
    assert document is None
    return problems


@pytest.mark.parametrize(
    ("text", "line"),
    [("a: &x\n  b: *x\n", 1), ("ok: 1\na: &x [1, *x]\n", 2), ("x: &x\n  <<: *x\n", 1), ("- &x\n  - &y [*x, *y]\n", 1)],
)
def test_an_anchor_that_contains_itself_is_told(text, line):
    """Data without end is refused where it begins."""
    problems = problems_of(text)
    assert problems[0].code == "endless-alias"
    assert problems[0].line == line


def test_aliases_that_multiply_are_refused_quickly():
    """Twelve levels of nine aliases stand for 10^11 values and take no time."""
    first = "{k: 1}"
    lines = [f"a0: &a0 {first}"] + [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    (problem,) = problems_of("\n".join(lines))
    assert problem.code == "too-large"


def test_aliases_that_do_not_multiply_are_read():
    """An alias by itself is no mistake."""
    document, problems = read_document("a: &a [1, 2]\nb: *a\nc: [*a, *a]\n", "t.yaml")
    assert problems == ()
    assert document.data == {"a": [1, 2], "b": [1, 2], "c": [[1, 2], [1, 2]]}


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP.keys())
def test_deep_nesting_is_refused_and_breaks_nothing(text):
    """Ten thousand levels exhaust neither the stack nor the reader's patience."""
    problems = problems_of(text)
    # A tower of keys that are no text is refused as either, by the release of the YAML library.
    assert {p.code for p in problems} <= {"too-deep", "key-not-text"}
    assert problems[0].line >= 1


def test_nesting_that_people_write_is_read():
    """Fifty levels are ten times what any file of ours has."""
    document, problems = read_document("[" * 50 + "]" * 50, "t.yaml")
    assert problems == ()
    assert document is not None


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("a:\n\tb: 1\n", 2, 1, "tab"),
        ("a:\n  b: 1\n\tc: 2\n", 3, 1, "tab"),
        ("a: 1\nb: x\x07y\n", 2, 5, "control character"),
        ("a: \x00\n", 1, 4, "control character"),
        ("a: 1\nb: \x1b[31m\n", 2, 4, "control character"),
        ("a: 1\nb: x\ud800\n", 2, 5, "control character"),
        ("a: 1\r\nb: 2\r\nc: \x7f\r\n", 3, 4, "control character"),
        ("a: 1\n---\nb: 2\n", 2, 1, "second document"),
        ("a: 1\nb: c: d\n", 2, 5, "colon"),
        ("a: 1\nb\nc: 2\n", 3, 1, "without its colon"),
        ("a: 1\nb: [1, 2\nc: 3\n", 3, 2, "not YAML"),
        ("a: @x\n", 1, 4, "not YAML"),
        ("a: *nobody\n", 1, 4, "alias"),
        ("ää: 1\nöö: @x\n", 2, 5, "not YAML"),
        ("%YAML 2.0\n---\na: 1\n", 1, 1, "not YAML"),
    ],
)
def test_broken_yaml_is_told_with_its_place_and_in_words(text, line, column, words):
    """One problem, its place, what it is, and what to do."""
    (problem,) = problems_of(text)
    assert (problem.code, problem.line, problem.column) == ("syntax", line, column)
    assert words in problem.message
    assert problem.hint
    assert problem.source == text.splitlines()[line - 1]


@pytest.mark.parametrize(
    ("text", "column", "code"),
    [('a: "\\ud800"\n', 4, "not-text"), ('"\\udc00": 1\n', 1, "not-text"), ("a: ['\udfff']\n", 6, "syntax")],
)
def test_half_a_character_is_refused(text, column, code):
    """A lone surrogate, escaped or not, could never be written to a page."""
    (problem,) = problems_of(text)
    assert (problem.code, problem.line, problem.column) == (code, 1, column)


@pytest.mark.parametrize("text", ["", "   \n\n", "# only a comment\n", "\ufeff", "\n"])
def test_an_empty_file_is_told(text):
    """Nothing, spaces and comments are an empty file, on its first line."""
    (problem,) = problems_of(text)
    assert (problem.code, problem.line) == ("empty", 1)
    assert problem.hint


@pytest.mark.parametrize("text", ["hello\n", "- 1\n- 2\n", "null\n", "5\n"])
def test_a_document_that_is_no_mapping_is_still_a_document(text):
    """Whether its data fit is for the schema to say."""
    document, problems = read_document(text, "t.yaml")
    assert problems == ()
    assert document is not None


def test_harmless_frills_of_yaml_are_read():
    """A marker at the start, one at the end, and a tab behind a value hurt nobody."""
    document, problems = read_document("%YAML 1.2\n---\na: b\t\nc: \td\n...\n", "t.yaml")
    assert problems == ()
    assert document.data == {"a": "b", "c": "d"}


def test_a_thousand_mistakes_are_all_told_and_quickly():
    """Showing them takes no longer than reading."""
    problems = problems_of("k: 1\n" * 5_000)
    assert len(problems) == 4_999
    assert len({show(p) for p in problems}) == 4_999


@pytest.mark.parametrize("value", ["5", "text", "", "[1, 2]", "[{a: 1}, x]"])
def test_a_merge_of_no_mapping_is_a_problem_with_its_place(value):
    """<<: takes a mapping or a list of mappings."""
    assert problems_of(f"ok: 1\nx:\n  <<: {value}\n")[0].line == 3


@pytest.mark.parametrize("text", ["a: <<\n", "- <<\n"])
def test_a_merge_sign_as_a_value_is_text_that_has_a_place(text):
    """<< merges only as a key."""
    document, _ = read_document(text, "t.yaml")
    assert document.place(("a",))[0] == 1


@pytest.mark.parametrize("escape", ["\\U00110000", "\\UFFFFFFFF"])
def test_an_escape_beyond_unicode_is_a_problem(escape):
    """There is no such character."""
    assert problems_of(f'ok: 1\na: "{escape}"\n')[0].line == 2


@pytest.mark.parametrize("key", ["[1]", "{a: 1}"])
def test_a_list_that_claims_to_be_text_is_no_key(key):
    """A tag does not make a list hashable."""
    assert problems_of(f"ok: 1\n? !!str {key}\n: 1\n")[0].line == 2


@pytest.mark.parametrize(
    "text",
    [
        "a: [" + "x," * 450_000 + "x]\n",
        "- x\n" * 240_000,
        "".join(f"k{i}: v\n" for i in range(90_000)) + "b: [\n",
        "? x\n" * 240_000,
    ],
    ids=["a line of values", "a list", "a mistake behind them", "keys alone"],
)
def test_a_file_of_too_many_values_is_refused_before_they_are_made(text):
    """Half a million nodes take 150 MB and seconds; counting to the limit takes neither."""
    began = perf_counter()
    (problem,) = problems_of(text)
    assert (problem.code, problem.line) == ("too-large", 1)
    assert perf_counter() - began < 1.0


def test_a_mistake_late_in_a_large_file_is_told_once_and_quickly():
    """The slow reader with the better words is not asked about a megabyte."""
    text = "a: |\n" + "  words of a long note\n" * 40_000 + "b: [1, 2\n"
    began = perf_counter()
    (problem,) = problems_of(text)
    assert (problem.code, problem.hint != "") == ("syntax", True)
    assert problem.line >= 40_002
    assert perf_counter() - began < 1.0


def test_prose_with_many_commas_is_no_list():
    """Only values count, not the signs that part them elsewhere."""
    document, problems = read_document("note: '" + "a, b: c, " * 20_000 + "'\n", "t.yaml")
    assert problems == ()
    assert document is not None
