"""Requirements about heads: how a width is measured, which heads are judged, and that the worst of them decides."""

from datetime import date

import pytest
from made_up import FIXED, MECHANICAL, POINT

from readiness.rulings import rulings, worst

TODAY = date(2027, 9, 6)
YES, NO, UNKNOWN = "meets", "does not meet", "cannot tell"


def judge(invented, topic, rule, **blocks):
    """Outcome and reason of one rule, copied from an invented booklet."""
    entry = {"topic": topic, "rule": rule, "source": "booklet", "read_on": "2027-05-02", "edition": 2027}
    (ruling,) = rulings(invented(requirements=[entry], **blocks), TODAY)
    return ruling.outcome, ruling.because


@pytest.mark.parametrize(
    ("rule", "outcome"),
    [("at least 7/8 in open", YES), ("at least 7/8 in closed", NO), ("at least 7/8 in", UNKNOWN)],
)
def test_a_mechanical_head_is_measured_as_the_rule_says(invented, rule, outcome):
    """1.5 in open, 0.75 in closed: 7/8 in lies between, and a rule that does not say how cannot be told."""
    found, because = judge(invented, "cutting width", rule, heads=[MECHANICAL])
    assert found == outcome
    assert ("does not say whether it is measured open or closed" in because) is (outcome == UNKNOWN)


@pytest.mark.parametrize(("rule", "outcome"), [("at least 0.75 in", YES), ("at least 1.6 in", NO)])
def test_a_rule_that_does_not_say_how_is_judged_where_open_and_closed_agree(invented, rule, outcome):
    """Both widths on the same side of the limit leave nothing open."""
    assert judge(invented, "cutting width", rule, heads=[MECHANICAL])[0] == outcome


def test_a_fixed_head_has_one_width_however_the_rule_measures(invented):
    """Open and closed are the same to it."""
    for way in ("", " open", " closed"):
        assert judge(invented, "cutting width", f"at least 1 1/8 in{way}", heads=[FIXED])[0] == YES
        assert judge(invented, "cutting width", f"more than 1 1/8 in{way}", heads=[FIXED])[0] == NO


def test_a_missing_width_is_named_by_its_key(invented):
    """The reader learns what to add to the trip file: cutting_width or cutting_width_closed."""
    unknown = {key: value for key, value in FIXED.items() if key != "cutting_width"}
    assert "cutting_width" in judge(invented, "cutting width", "at least 1 in", heads=[unknown])[1]


def test_practice_points_are_not_judged(invented):
    """A field point has no width and a mass of its own; a rule for heads is about those meant for game."""
    heavy = {**POINT, "mass": "50 gr"}
    assert judge(invented, "head mass", "at least 90 gr", heads=[heavy, FIXED])[0] == YES
    assert "practice point" not in judge(invented, "head mass", "at least 90 gr", heads=[heavy, FIXED])[1]


def test_the_worst_head_decides_and_the_reason_names_each(invented):
    """One head that does not meet a rule stands over one that cannot be told, and that over one that meets it."""
    unknown = {**MECHANICAL, "name": "head C"}
    del unknown["cutting_width_closed"]
    small = {**FIXED, "name": "head D", "cutting_width": "0.5 in"}
    outcomes = []
    for heads in ([FIXED], [FIXED, unknown], [FIXED, unknown, small], [small, FIXED]):
        outcome, because = judge(invented, "cutting width", "at least 7/8 in closed", heads=[POINT, *heads])
        assert [part.split(":")[0] for part in because.split("; ")] == [head["name"] for head in heads]
        outcomes.append(outcome)
    assert outcomes == [YES, UNKNOWN, NO, NO]
    assert (worst([YES, UNKNOWN, NO]), worst([YES, UNKNOWN]), worst([YES])) == (NO, UNKNOWN, YES)


@pytest.mark.parametrize(
    ("topic", "rule", "fixed", "mechanical"),
    [
        ("mechanical head", "not allowed", YES, NO),
        ("mechanical head", "required", NO, YES),
        ("fixed head", "required", YES, NO),
        ("fixed head", "not allowed", NO, YES),
        ("blade count", "at least 3", YES, NO),
    ],
)
def test_kind_and_blades_of_a_head_are_judged(invented, topic, rule, fixed, mechanical):
    """Head A is fixed with three blades, head B mechanical with two."""
    assert judge(invented, topic, rule, heads=[FIXED])[0] == fixed
    assert judge(invented, topic, rule, heads=[MECHANICAL])[0] == mechanical
