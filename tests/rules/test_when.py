"""The condition of a rule: limits, three outcomes, and the fact that decided."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.when import APPLIES, CANNOT_TELL, DOES_NOT_APPLY, Describe, evaluate, fact_names

PLAIN = Describe(words=lambda name: name, shown=lambda _, value: str(value), needs=lambda name: f"trip.{name}")
YES, NO, UNKNOWN = {"yes": {"const": True}}, {"no": {"const": True}}, {"unknown": {"const": True}}
FACTS = {"yes": True, "no": False}
NAMES = ("a", "b", "c", "d")


def outcome(when, facts):
    """The outcome alone."""
    return evaluate(when, facts, PLAIN).outcome


@pytest.mark.parametrize(
    ("keyword", "limit", "holding", "failing"),
    [
        ("minimum", 600, (600, 600.001, 10_000), (599.999, 0, -600)),
        ("maximum", 600, (600, 599.999, -600), (600.001, 10_000)),
        ("exclusiveMinimum", 600, (600.001, 10_000), (600, 599.999)),
        ("exclusiveMaximum", 600, (599.999, -600), (600, 600.001)),
        ("const", 600, (600, 600.0), (599.999, 600.001, "600")),
        ("const", "air", ("air",), ("road", "Air", "", "air ")),
        ("const", False, (False,), (True, 0, "")),
        ("enum", ["road", "air"], ("air", "road"), ("sea", "a", "")),
        ("enum", [1, 2], (1, 2.0), (True, 1.5, 3)),
        ("pattern", "heli", ("right helical", "helical"), ("straight", "Helical", "")),
        ("pattern", "^left", ("left offset",), ("right, then left",)),
    ],
)
def test_a_keyword_holds_on_its_side_of_the_limit_and_fails_on_the_other(keyword, limit, holding, failing):
    """At, below and above the limit each keyword does what JSON Schema says, and never cannot tell."""
    assert [value for value in holding if outcome({"x": {keyword: limit}}, {"x": value}) != APPLIES] == []
    assert [value for value in failing if outcome({"x": {keyword: limit}}, {"x": value}) != DOES_NOT_APPLY] == []


@pytest.mark.parametrize(("value", "limit"), [(True, 1), (1, True), (False, 0), (0, False), (True, 1.0)])
@pytest.mark.parametrize("keyword", ["const", "enum"])
def test_true_is_not_one(keyword, value, limit):
    """A yes-or-no fact equals no number, as in JSON and unlike in Python."""
    assert outcome({"x": {keyword: [limit] if keyword == "enum" else limit}}, {"x": value}) == DOES_NOT_APPLY


def test_two_keywords_of_one_fact_must_both_hold():
    """A minimum and a maximum together are a range."""
    between = {"x": {"minimum": 2, "exclusiveMaximum": 5}}
    assert [outcome(between, {"x": x}) for x in (1.9, 2, 4.9, 5)] == [DOES_NOT_APPLY, APPLIES, APPLIES, DOES_NOT_APPLY]


def test_two_facts_side_by_side_must_both_hold():
    """Facts in one mapping are an `all`."""
    assert outcome({**YES, "other": {"const": 1}}, {"yes": True, "other": 1}) == APPLIES
    assert outcome({**YES, **NO}, FACTS) == DOES_NOT_APPLY
    assert outcome({**YES, **UNKNOWN}, FACTS) == CANNOT_TELL
    assert outcome({**NO, **UNKNOWN}, FACTS) == DOES_NOT_APPLY


@pytest.mark.parametrize("when", [None, {}])
def test_a_rule_without_a_condition_always_applies(when):
    """No condition and an empty one need no fact."""
    assert evaluate(when, {}, PLAIN) == (APPLIES, "always")


def test_a_fact_that_is_none_is_missing():
    """None is not a value that could be compared."""
    assert evaluate({"x": {"const": None}}, {"x": None}, PLAIN) == (CANNOT_TELL, "missing trip.x")


@pytest.mark.parametrize(
    ("left", "right", "both", "either"),
    [
        (YES, YES, APPLIES, APPLIES),
        (YES, NO, DOES_NOT_APPLY, APPLIES),
        (YES, UNKNOWN, CANNOT_TELL, APPLIES),
        (NO, NO, DOES_NOT_APPLY, DOES_NOT_APPLY),
        (NO, UNKNOWN, DOES_NOT_APPLY, CANNOT_TELL),
        (UNKNOWN, UNKNOWN, CANNOT_TELL, CANNOT_TELL),
    ],
)
def test_all_and_any_follow_the_table_of_three_values(left, right, both, either):
    """Kleene's strong logic of three values, in either order of the branches."""
    for pair in ([left, right], [right, left]):
        assert outcome({"all": pair}, FACTS) == both
        assert outcome({"any": pair}, FACTS) == either


@pytest.mark.parametrize(
    ("part", "turned"), [(YES, DOES_NOT_APPLY), (NO, APPLIES), (UNKNOWN, CANNOT_TELL), ({"not": UNKNOWN}, CANNOT_TELL)]
)
def test_not_turns_yes_and_no_and_leaves_what_is_unknown(part, turned):
    """A missing fact under `not` is still missing: it does not become true."""
    assert outcome({"not": part}, FACTS) == turned


def test_the_reason_names_the_fact_that_decided_and_no_other():
    """Of several branches only those that settle the outcome are told."""
    facts = {"climb": 100, "travel": "air"}
    low, flies, unknown = {"climb": {"minimum": 600}}, {"travel": {"const": "air"}}, {"bears": {"const": True}}
    assert evaluate({"all": [flies, low, unknown]}, facts, PLAIN).reason == "climb is 100, not at least 600"
    assert evaluate({"any": [low, flies, unknown]}, facts, PLAIN).reason == "travel is air"
    assert evaluate({"all": [flies, unknown]}, facts, PLAIN).reason == "missing trip.bears"
    assert evaluate({"any": [low, unknown]}, facts, PLAIN).reason == "missing trip.bears"
    assert evaluate({"not": low}, facts, PLAIN).reason == "climb is 100, not at least 600"
    both = evaluate({"all": [flies, {"climb": {"maximum": 600}}]}, facts, PLAIN).reason
    assert "travel is air" in both
    assert "climb is 100, at most 600" in both


def test_the_same_missing_fact_is_told_once():
    """A fact that two branches lack stands once in the reason."""
    wanted = {"all": [UNKNOWN, {"not": UNKNOWN}, {"other": {"const": 1}}]}
    assert evaluate(wanted, {}, PLAIN).reason == "missing trip.unknown; missing trip.other"


def test_fact_names_finds_every_fact_at_any_depth():
    """Combinators are no facts; everything else that stands as a key is."""
    when = {"all": [{"a": {"const": 1}}, {"not": {"any": [{"b": {"minimum": 1}}, {"not": {"c": {"const": 2}}}]}}]}
    assert fact_names(when) == {"a", "b", "c"}
    assert fact_names(None) == set()


def _leaf(name):
    return st.sampled_from([{name: {"const": True}}, {name: {"const": False}}, {name: {"enum": [True, False]}}])


CONDITIONS = st.recursive(
    st.sampled_from(NAMES).flatmap(_leaf),
    lambda inner: (
        st.builds(lambda parts: {"all": parts}, st.lists(inner, min_size=1, max_size=3))
        | st.builds(lambda parts: {"any": parts}, st.lists(inner, min_size=1, max_size=3))
        | st.builds(lambda part: {"not": part}, inner)
    ),
    max_leaves=8,
)
PARTLY_KNOWN = st.dictionaries(st.sampled_from(NAMES), st.booleans())


@st.composite
def each_fact_once(draw, names=NAMES):
    """A condition in which every fact stands at most once, so that no branch can contradict another."""
    if len(names) == 1:
        part = draw(st.sampled_from([{names[0]: {"const": True}}, {names[0]: {"const": False}}]))
    else:
        cut = draw(st.integers(1, len(names) - 1))
        parts = [draw(each_fact_once(names[:cut])), draw(each_fact_once(names[cut:]))]
        part = {draw(st.sampled_from(["all", "any"])): parts}
    return {"not": part} if draw(st.booleans()) else part


def completions(facts):
    """Every way of filling in the facts that are missing."""
    missing = [name for name in NAMES if name not in facts]
    for values in product((True, False), repeat=len(missing)):
        yield facts | dict(zip(missing, values, strict=True))


@given(CONDITIONS, PARTLY_KNOWN)
def test_what_is_decided_stays_decided_whatever_the_missing_facts_turn_out_to_be(when, facts):
    """applies and does not apply are never taken back by a fact that becomes known."""
    told = outcome(when, facts)
    later = {outcome(when, whole) for whole in completions(facts)}
    assert CANNOT_TELL not in later
    assert told == CANNOT_TELL or later == {told}


@given(each_fact_once(), PARTLY_KNOWN)
def test_cannot_tell_is_said_only_where_the_missing_facts_could_decide(when, facts):
    """Where no fact stands twice, cannot tell means that both outcomes are still open."""
    later = {outcome(when, whole) for whole in completions(facts)}
    assert (outcome(when, facts) == CANNOT_TELL) == (len(later) == 2)


@given(CONDITIONS, PARTLY_KNOWN)
def test_cannot_tell_names_only_facts_that_are_missing(when, facts):
    """The reason of a cannot tell lists facts of the condition that are not known, at least one."""
    verdict = evaluate(when, facts, PLAIN)
    named = {name.removeprefix("missing trip.") for name in verdict.reason.split("; ")}
    assert (verdict.outcome == CANNOT_TELL) == (named <= fact_names(when) - set(facts))


def test_a_fact_missing_at_two_depths_is_told_once():
    """The same holds where one branch is an `all` of its own."""
    assert evaluate({"all": [UNKNOWN, {"all": [UNKNOWN, {"x": {"const": 1}}]}]}, {}, PLAIN).reason == (
        "missing trip.unknown; missing trip.x"
    )


def test_the_outcomes_are_the_words_of_the_contract():
    """Users and other programs read them in JSON."""
    assert (APPLIES, DOES_NOT_APPLY, CANNOT_TELL) == ("applies", "does not apply", "cannot tell")


@pytest.mark.parametrize(
    ("tests", "value", "reason"),
    [
        ({"const": "air"}, "air", "x is air"),
        ({"const": "air"}, "road", "x is road, not air"),
        ({"enum": ["air", "sea"]}, "sea", "x is sea"),
        ({"enum": ["air", "sea"]}, "road", "x is road, not air or sea"),
        ({"pattern": "heli"}, "right helical", "x is right helical, like heli"),
        ({"pattern": "heli"}, "straight", "x is straight, not like heli"),
        ({"minimum": 2}, 2, "x is 2, at least 2"),
        ({"maximum": 2}, 3, "x is 3, not at most 2"),
        ({"exclusiveMinimum": 2, "exclusiveMaximum": 5}, 3, "x is 3, more than 2 and less than 5"),
        ({"exclusiveMinimum": 2, "exclusiveMaximum": 5}, 5, "x is 5, not less than 5"),
        ({"enum": [3, 4], "minimum": 2}, 3, "x is 3, 3 or 4 and at least 2"),
    ],
)
def test_a_reason_tells_the_value_and_what_was_wanted_of_it(tests, value, reason):
    """In plain words, for each keyword, whether it holds or not."""
    assert evaluate({"x": tests}, {"x": value}, PLAIN).reason == reason


def test_a_pattern_is_shown_as_it_is_written_and_a_limit_as_the_page_shows_it():
    """Units belong to limits and values, not to patterns."""
    units = PLAIN._replace(shown=lambda _, value: f"{value} ft")
    assert evaluate({"x": {"minimum": 2}}, {"x": 3}, units).reason == "x is 3 ft, at least 2 ft"
    assert evaluate({"x": {"enum": [1, 2]}}, {"x": 3}, units).reason == "x is 3 ft, not 1 ft or 2 ft"
    assert evaluate({"x": {"pattern": "a"}}, {"x": "b"}, units).reason == "x is b ft, not like a"
