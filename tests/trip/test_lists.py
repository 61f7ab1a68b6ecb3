"""Lists that users copy in: requirements of a place, gear, what is declared, the archer's own marks."""

from datetime import date
from pathlib import Path

import pytest

from readiness.trip.load import load_trip

TODAY = date(2027, 8, 25)
SAMPLE = Path(__file__).parents[2] / "sample_trips" / "high-basin.yaml"
# Topic -> a rule about it, as a regulation would put it.
RULES = {
    "draw weight": "at least 50 lb",
    "let-off": "at most 85 %",
    "arrow mass": "at least 300 gr",
    "arrow mass per draw weight": "at least 6 gr per lb",
    "arrow length": "at least 24 in",
    "head mass": "at least 100 gr",
    "cutting width": "at least 7/8 in",
    "blade count": "at least 2",
    "fixed head": "required",
    "mechanical head": "not allowed",
    "lighted nock": "not allowed",
    "powered sight": "not allowed",
    "sight magnification": "at most 1",
    "education": "required",
    "document": "required",
}
ONE = "{topic: %s, rule: %s, source: booklet, read_on: 2027-06-02, edition: 2027}"


def loaded(block):
    """The first sample trip with a block behind it."""
    return load_trip(SAMPLE.read_text(encoding="utf-8") + block + "\n", "trip.yaml", TODAY)


def codes(block):
    """What is said of the block."""
    return [p.code for p in loaded(block).problems]


@pytest.mark.parametrize(("topic", "rule"), RULES.items())
def test_every_topic_of_a_requirement_is_known(topic, rule):
    """A rule in the words of the booklet goes with each, and is kept as it was copied."""
    found = loaded(f"requirements: [{ONE % (topic, rule)}]")
    assert found.problems == ()
    assert [(r.topic, r.rule) for r in found.trip.requirements] == [(topic, rule)]


def test_requirements_keep_their_order_and_may_repeat_a_topic():
    """Two species, two rules."""
    wanted = [("let-off", "at most 80 %"), ("draw weight", "at least 40 lb"), ("let-off", "at most 65 %")]
    trip = loaded(f"requirements: [{', '.join(ONE % row for row in wanted)}]").trip
    assert [(r.topic, r.rule) for r in trip.requirements] == wanted


@pytest.mark.parametrize("key", ["rule", "source", "read_on"])
def test_a_requirement_without_its_source_or_day_is_refused(key):
    """A rule that nobody can look up again is worth nothing."""
    row = (ONE % ("let-off", "at most 80 %")).strip("{}")
    left = ", ".join(part for part in row.split(", ") if not part.startswith(key))
    (problem,) = (p for p in loaded(f"requirements: [{{{left}}}]").problems if p.severity == "error")
    assert problem.code == "missing-key"
    assert key in problem.message


def test_a_misspelt_topic_names_the_one_meant():
    """draw wieght is draw weight."""
    (problem,) = loaded(f"requirements: [{ONE % ('draw wieght', 'at least 50 lb')}]").problems
    assert problem.code == "bad-choice"
    assert "draw weight" in problem.hint


@pytest.mark.parametrize(("count", "expected"), [(0, []), (200, []), (201, ["bad-size"])])
def test_a_list_of_requirements_has_at_most_two_hundred(count, expected):
    """None is allowed; more than any booklet has is not."""
    assert codes(f"requirements: [{', '.join([ONE % ('let-off', 'at most 80 %')] * count)}]") == expected


@pytest.mark.parametrize("edition", ["2027", '"2027/28"', "second"])
def test_an_edition_is_a_year_or_a_word(edition):
    """In the model it is text either way."""
    row = (ONE % ("let-off", "at most 80 %")).replace("edition: 2027", f"edition: {edition}")
    assert loaded(f"requirements: [{row}]").trip.requirements[0].edition == edition.strip('"')


@pytest.mark.parametrize("word", ["yes", "no", "true", "false"])
def test_what_is_declared_is_yes_or_no_in_either_spelling(word):
    """YAML would make a truth of yes; here both ways of writing it are allowed."""
    assert codes(f"declared: {{lighted nock: {word}, education: {word}}}") == []


@pytest.mark.parametrize("word", ["maybe", "1", "Yes", "[yes]"])
def test_what_is_declared_is_nothing_else(word):
    """Neither a number nor a list nor another word."""
    assert codes(f"declared: {{lighted nock: {word}}}") == ["bad-choice"]


def test_the_hint_for_what_is_declared_is_spelled_as_yaml_spells_it():
    """True and False would be text in a trip file, and refused."""
    (problem,) = loaded("declared: {lighted nock: maybe}").problems
    assert "True" not in problem.hint + problem.message


@pytest.mark.parametrize("size", ["a x b x c", "44 x 18 x 8", "44 lb x 18 lb x 8 lb", "44 in x 18 in", "44 in"])
def test_a_size_wants_three_lengths(size):
    """Without numbers and units it cannot be compared with the airline's limit."""
    text = SAMPLE.read_text(encoding="utf-8").replace("44 in x 18 in x 8 in", size)
    (problem,) = load_trip(text, "trip.yaml", TODAY).problems
    assert problem.code == "bad-text"
    assert "44 in x 18 in x 8 in" in problem.hint


@pytest.mark.parametrize("value", ["4 13/16 in", '"42.5"', "42.5", "7", '"white dot"'])
def test_a_mark_of_the_archers_own_list_is_any_short_text_or_number(value):
    """It is shown as it was written."""
    text = SAMPLE.read_text(encoding="utf-8").replace("marks: {", f"marks: {{own thing: {value}, ")
    trip = load_trip(text, "trip.yaml", TODAY).trip
    assert dict(trip.reference.marks)["own thing"] == value.strip('"')


def test_a_mark_with_too_long_a_name_is_told_as_that():
    """60 characters are enough for a name."""
    text = SAMPLE.read_text(encoding="utf-8").replace("marks: {", f"marks: {{{'k' * 61}: x, ")
    (problem,) = load_trip(text, "trip.yaml", TODAY).problems
    assert "marks is longer" not in problem.message
