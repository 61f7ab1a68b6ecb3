"""Requirements against the gear: exact limits in any unit, what is measured how, what is unknown, what is no rule."""

from datetime import date

import pytest
from made_up import FIXED, MECHANICAL, POINT

from readiness.problems import Fault
from readiness.rulings import rulings
from readiness.topics import TOPICS, read_rule, rule_forms
from readiness.trip.load import load_trip
from readiness.trip.validate import trip_schema

TODAY = date(2027, 9, 6)
YES, NO, UNKNOWN = "meets", "does not meet", "cannot tell"


def copied(topic, rule, **more):
    """A requirement as its user copies it, from an invented booklet."""
    return {"topic": topic, "rule": rule, "source": "booklet", "read_on": "2027-05-02", "edition": 2027, **more}


def judge(invented, topic, rule, **blocks):
    """Outcome and reason of one rule."""
    (ruling,) = rulings(invented(requirements=[copied(topic, rule)], **blocks), TODAY)
    return ruling.outcome, ruling.because


# A topic, the gear's own value, and the very same value in another unit (inch 25.4 mm, grain 64.79891 mg,
# pound 453.59237 g, all exact by definition).
SAME = [
    ("draw weight", {"bow": {"draw_weight": "65 lb"}}, "29.48350405 kg"),
    ("draw weight", {"bow": {"draw_weight": "29.48350405 kgf"}}, "65 lbs"),
    ("arrow mass", {"arrow": {"mass": "430 gr"}}, "27.8635313 g"),
    ("arrow mass", {"arrow": {"mass": "437.5 gr"}}, "1 oz"),
    ("arrow length", {"arrow": {"length": "28.5 in"}}, "72.39 cm"),
    ("arrow length", {"arrow": {"length": "0.7239 m"}}, "28 1/2 in"),
    ("head mass", {"heads": [FIXED]}, "6.479891 g"),
    ("cutting width", {"heads": [FIXED]}, "28.575 mm"),
    ("cutting width", {"heads": [{**FIXED, "cutting_width": "28.575 mm"}]}, "1 1/8 in"),
]


@pytest.mark.parametrize(("topic", "gear", "limit"), SAME, ids=lambda value: str(value)[:30])
def test_a_value_exactly_at_a_limit_in_another_unit_is_at_least_it_and_not_more(invented, topic, gear, limit):
    """No rounding between units: the last digit decides, one step either way turns the outcome."""
    number, unit = limit.rsplit(" ", 1)
    assert judge(invented, topic, f"at least {limit}", **gear)[0] == YES
    assert judge(invented, topic, f"more than {limit}", **gear)[0] == NO
    if "/" not in number:
        digits = number.split(".")[1] if "." in number else ""
        above = f"{number}{'' if digits else '.'}{'0' * (10 - len(digits))}1 {unit}"
        assert judge(invented, topic, f"at least {above}", **gear)[0] == NO


@pytest.mark.parametrize(
    ("topic", "gear", "limit"),
    [
        ("draw weight", {"bow": {"draw_weight": "65 lb"}}, "29.48350405 kg"),
        ("let-off", {"bow": {"let_off": "80 %"}}, "80 percent"),
        ("sight magnification", {"declared": {"sight magnification": 4}}, "4"),
    ],
)
def test_a_value_exactly_at_an_upper_limit_is_at_most_it_and_not_less(invented, topic, gear, limit):
    """The limit itself is inside "at most" and outside "less than"."""
    assert judge(invented, topic, f"at most {limit}", **gear)[0] == YES
    assert judge(invented, topic, f"less than {limit}", **gear)[0] == NO


def test_the_reason_quotes_the_gear_and_the_rule_as_they_were_written(invented):
    """Nobody has to guess what was compared."""
    outcome, because = judge(invented, "draw weight", "at least 30 kg", bow={"draw_weight": "65 lb"})
    assert (outcome, because) == (NO, "65 lb is not at least 30 kg at the peak")


def test_the_reason_for_an_arrow_length_says_from_where_to_where_it_was_measured(invented):
    """Places measure differently: to the end of the shaft, or with the head."""
    outcome, because = judge(invented, "arrow length", "at least 29 in")
    assert outcome == NO
    assert because.startswith("28.5 in is not at least 29 in from nock groove to end of shaft")
    assert "ask whether the head counts" in because


@pytest.mark.parametrize(
    ("rule", "draw", "outcome"),
    [
        ("at least 40 lb at 28 in", "28 in", YES),
        ("at least 40 lb at 28 in", "71.12 cm", YES),
        ("at least 40 lb at 28 in", "29 in", UNKNOWN),
        ("at least 40 lb up to 28 in of draw", "27 in", UNKNOWN),
        ("at least 40 lb within the archer's draw", "29 in", YES),
        ("at least 40 lb at the peak", "29 in", YES),
        ("at least 70 lb at peak", "28 in", NO),
    ],
)
def test_a_weight_at_another_draw_length_cannot_be_told_from_the_peak(invented, rule, draw, outcome):
    """The peak is known; what the bow pulls at a length that is not the archer's own is not."""
    found, because = judge(invented, "draw weight", rule, bow={"draw_length": draw})
    assert found == outcome
    if outcome == UNKNOWN:
        assert because.endswith(f"it is measured at 28 in of draw, and yours is {draw}: weigh the bow there")


@pytest.mark.parametrize(
    ("topic", "rule", "missing", "blocks"),
    [
        ("let-off", "at most 85 %", "missing bow.let_off", {"bow": {"let_off": None}}),
        ("blade count", "at least 2", "head A: missing blades", {"heads": [{**FIXED, "blades": None}]}),
        (
            "cutting width",
            "at least 1 in",
            "head A: missing cutting_width",
            {"heads": [{**FIXED, "cutting_width": None}]},
        ),
        (
            "cutting width",
            "at least 1 in closed",
            "head B: missing cutting_width_closed",
            {"heads": [{**MECHANICAL, "cutting_width_closed": None}]},
        ),
        ("head mass", "at least 90 gr", "missing a hunting head in heads", {"heads": [POINT]}),
        ("mechanical head", "not allowed", "missing a hunting head in heads", {"heads": [POINT]}),
        *(
            (topic, rule, f"missing declared: {topic}", {"declared": None})
            for topic, rule in (
                ("lighted nock", "not allowed"),
                ("powered sight", "not allowed"),
                ("sight magnification", "at most 1"),
                ("education", "required"),
                ("document", "required"),
            )
        ),
    ],
)
def test_what_the_trip_file_does_not_say_cannot_be_told(invented, topic, rule, missing, blocks):
    """Never a pass by silence: the reason says what is missing."""
    if "heads" in blocks:
        blocks = {"heads": [{k: v for k, v in head.items() if v is not None} for head in blocks["heads"]]}
    assert judge(invented, topic, rule, **blocks) == (UNKNOWN, missing)


@pytest.mark.parametrize(("said", "outcome"), [("no", YES), ("yes", NO), (False, YES), (True, NO)])
def test_a_banned_thing_is_judged_by_what_is_declared(invented, said, outcome):
    """Yes and no as words or as YAML's true and false."""
    declared = {"declared": {"lighted nock": said}}
    assert judge(invented, "lighted nock", "not allowed", **declared)[0] == outcome


@pytest.mark.parametrize(("power", "outcome"), [(1, YES), (1.5, NO)])
def test_a_sight_that_does_not_magnify_is_no_magnification(invented, power, outcome):
    """1 is none; where magnification is not allowed more than 1 does not meet it."""
    declared = {"declared": {"sight magnification": power}}
    assert judge(invented, "sight magnification", "not allowed", **declared)[0] == outcome


@pytest.mark.parametrize(
    ("topic", "rule"),
    [
        ("draw weight", "enough to be fair"),
        ("draw weight", ">= 40 lb"),
        ("draw weight", "at least 40"),
        ("draw weight", "at least 40 gr"),
        ("draw weight", "at least 0 lb"),
        ("blade count", "at least 0"),
        ("draw weight", "not allowed"),
        ("draw weight", "at least 40 to 50 lb"),
        ("let-off", "at least 80 %"),
        ("arrow mass", "at most 500 gr"),
        ("arrow mass per draw weight", "at least 6 gr"),
        ("arrow mass per draw weight", "at least 6 gr per 0 lb"),
        ("cutting width", "at least 7/0 in"),
        ("head mass", "at least 100 gr open"),
        ("blade count", "at least two"),
        ("sight magnification", "at most 1x"),
        ("mechanical head", "not allowed for elk"),
        ("education", "not allowed"),
    ],
)
def test_a_rule_that_cannot_be_read_is_an_error_at_its_place_with_a_hint(invented_text, topic, rule):
    """It is never skipped or guessed at: the file is refused, and the hint says what to write."""
    assert isinstance(read_rule(topic, rule), Fault)
    text = invented_text(requirements=[copied(topic, rule)])
    loaded = load_trip(text, "trip.yaml", TODAY)
    assert loaded.trip is None
    (problem,) = loaded.problems
    lines = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith("  rule: ")]
    assert (problem.severity, [problem.line]) == ("error", lines)
    assert problem.hint.startswith("write ")


def test_the_hint_for_a_bad_number_names_a_comparison_that_the_topic_has():
    """At least is no rule about magnification, so a hint with it leads to the next error."""
    fault = read_rule("sight magnification", "at most 1x")
    assert isinstance(fault, Fault)
    assert "at most" in fault.hint


def test_the_trip_format_knows_the_topics_that_can_be_judged():
    """A topic that stands in one of the two lists alone would end `check`, or be refused as unknown."""
    schema = trip_schema()["properties"]["requirements"]["items"]["properties"]
    assert schema["topic"]["enum"] == list(TOPICS)


@pytest.mark.parametrize(("topic", "form"), [(topic, form) for topic, forms in rule_forms() for form in forms])
def test_every_form_of_every_topic_has_an_answer(invented, topic, form):
    """What `schema trip` says that a rule may be is judged against gear, not only read."""
    first = dict(rule_forms())[topic][0]
    assert judge(invented, topic, form.replace("...", first))[0] in (YES, NO, UNKNOWN)


def test_a_limit_below_nothing_is_no_rule():
    """At least -40 lb is a slip of the pen, not a limit."""
    assert isinstance(read_rule("draw weight", "at least -40 lb"), Fault)
