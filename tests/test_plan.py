"""The plan: every rule with its outcome, foreign packs that fail, the page's order, the promised JSON."""

import json

import pytest

from readiness import plan as plan_module
from readiness.render.data import plan_data, to_json
from readiness.render.pages import plan_page
from readiness.render.text import to_text
from readiness.rules.when import APPLIES, CANNOT_TELL, DOES_NOT_APPLY

# A promised key -> its type; a list holds the shape of its entries. More keys may stand beside them.
NUMBER, MAYBE = (int, float), (int, float, type(None))
AIR = {
    "pressure_pa": NUMBER,
    "temperature_c": NUMBER,
    "relative_humidity": NUMBER,
    "density_kg_m3": NUMBER,
    "density_altitude_ft": NUMBER,
}
PIN = {
    **dict.fromkeys(
        ("distance_m", "distance_yd", "shift_in", "shift_low_in", "shift_high_in", "sight_move_in"), NUMBER
    ),
    **dict.fromkeys(("equivalent_distance_yd", "sigma_in", "in_zone_home", "in_zone_there"), MAYBE),
    "inch_per_fps": NUMBER,
    "advice": ("leave", "confirm", "move", "cannot tell"),
    "arrows_to_see": (int, type(None)),
    "because": dict.fromkeys(("elevation_in", "temperature_in", "humidity_in", "pressure_in", "gravity_in"), NUMBER),
}
PINS = {
    "trip": str,
    "home": {"name": str, "air": AIR, "gravity_m_s2": NUMBER},
    "limit_yd": {"home": MAYBE, "there": MAYBE},
    "arrow": {
        "drag_coefficient": NUMBER,
        "drag_source": str,
        "speed_m_s": NUMBER,
        "foc_pct": MAYBE,
        "kinetic_energy_j": NUMBER,
        "momentum_kg_m_s": NUMBER,
    },
    "destinations": [
        {
            "name": str,
            "gravity_m_s2": NUMBER,
            "cases": [{"label": ("coldest", "warmest", "typical"), "air": AIR, "pins": [PIN]}],
        }
    ],
}
STEP = {
    **dict.fromkeys(("id", "title", "do", "expect", "if_not", "reason", "source"), str),
    "stage": ("baseline", "verify", "freeze", "pack", "arrival", "morning", "knock", "weather", "return"),
    "stop": bool,
    "outcome": ("applies", "does not apply", "cannot tell"),
    "basis": ("common practice", "calculated", "standard", "regulation", "paper"),
}
PLAN = {
    "trip": str,
    "steps": [STEP],
    "cautions": [{"id": str, "text": str, "source": str}],
    "pins": PINS,
    "provenance": {"version": str, "packs": [{"pack": str, "version": str}], "trip_sha256": str},
}
RULE = """\
pack: river
version: 1
rules:
  - id: RIV-010
    stage: arrival
    title: Sand
    {when}
    do: Rinse the cams{more}.
    expect: No grain left.
    if_not: Rinse again.
    basis: common practice
"""


def misfits(data, shape, path="$"):
    """Places of data that are not as the shape says."""
    if isinstance(shape, dict):
        for key, part in shape.items():
            yield from misfits(data[key], part, f"{path}.{key}") if key in data else [f"{path}.{key} is missing"]
    elif isinstance(shape, list):
        if not data:
            yield f"{path} is empty"
        for index, part in enumerate(data):
            yield from misfits(part, shape[0], f"{path}[{index}]")
    elif isinstance(shape, tuple) and isinstance(shape[0], str):
        if data not in shape:
            yield f"{path} is {data!r}"
    elif not isinstance(data, shape) or (isinstance(data, bool) and shape is not bool):
        yield f"{path} is {data!r}"


def step_of(plan, step_id):
    """One step by its id."""
    return next(step for step in plan.steps if step.id == step_id)


def test_the_json_of_every_sample_has_the_promised_keys_and_types(samples, a_plan):
    """Every key of the contract, at every depth, in every entry; read back from the text that is printed."""
    for name in samples:
        assert list(misfits(json.loads(to_json(plan_data(a_plan(name)[0]))), PLAN)) == []


def test_the_check_of_keys_finds_what_is_missing_or_of_another_type(a_plan):
    """The test above would notice: a key taken out, a number made text, an advice that is none, an empty list."""
    data = plan_data(a_plan()[0])
    pin = data["pins"]["destinations"][1]["cases"][0]["pins"][3]
    pin["advice"], pin["shift_in"] = "wait", "0.1"
    del data["provenance"]["trip_sha256"], pin["because"]["gravity_in"]
    data["steps"][4]["stop"] = 1
    assert len(list(misfits(data, PLAN))) == 5


def test_optional_numbers_of_the_json_are_null_where_nothing_can_be_told(a_plan, without):
    """No group: no sigma, no share, no limit, no arrows to see; no balance point: no FOC."""
    plan, _ = a_plan("high-basin", without("high-basin", "  groups:", "  marks:"), ("  balance_point: 17.1 in\n", ""))
    pins = plan_data(plan)["pins"]
    assert pins["limit_yd"] == {"home": None, "there": None}
    assert pins["arrow"]["foc_pct"] is None
    pin = pins["destinations"][0]["cases"][0]["pins"][0]
    told = [pin[key] for key in ("advice", "sigma_in", "in_zone_home", "in_zone_there", "arrows_to_see")]
    assert told == ["cannot tell", None, None, None, None]


def test_every_rule_of_every_pack_becomes_a_step_in_the_order_of_the_stages(a_plan):
    """Nothing is dropped: what does not apply stays with its reason. Stop steps head their block."""
    plan, problems = a_plan()
    assert problems == ()
    order = STEP["stage"]
    assert [order.index(s.stage) for s in plan.steps] == sorted(order.index(s.stage) for s in plan.steps)
    assert {s.outcome for s in plan.steps} == {APPLIES, DOES_NOT_APPLY}
    assert all(step.reason for step in plan.steps)
    gone_on = set()
    for step in plan.steps:
        assert not (step.stop and (step.stage, step.block) in gone_on), step.id
        gone_on |= set() if step.stop else {(step.stage, step.block)}


def test_no_placeholder_is_left_in_a_step_that_applies(samples, a_plan):
    """Every text of every sample is filled in."""
    for name in samples:
        for step in a_plan(name)[0].steps:
            if step.outcome == APPLIES:
                assert not set("{}_") & set(step.title + step.do + step.expect + step.if_not), step.id


@pytest.mark.parametrize(
    ("name", "change", "step", "missing"),
    [
        pytest.param(
            *("high-basin", ("  shot_on: 2027-08-20\n", ""), "FRE-020", "reference.shot_on"),
        ),
        ("high-basin", ("  brace_height: 6.5 in\n", ""), "ARR-140", "bow.brace_height"),
        ("high-basin", ("  nearest_shop: 5 h\n", ""), "PAC-080", "trip.nearest_shop"),
        ("cold-snap", ("    temperature: 12 F\n", ""), "WEA-060", "destinations: temperature"),
    ],
)
def test_a_step_without_its_value_cannot_be_told_and_names_the_key_to_write(a_plan, name, change, step, missing):
    """cannot tell: missing, and then what the trip file lacks."""
    told = step_of(a_plan(name, change)[0], step)
    assert (told.outcome, told.reason) == (CANNOT_TELL, f"missing {missing}")
    assert step_of(a_plan(name)[0], step).outcome != CANNOT_TELL


def test_a_missing_reference_makes_its_checks_cannot_tell(a_plan, without):
    """Without a bare-shaft reference the steps that compare with it say so; the one that records it applies."""
    plan, _ = a_plan("high-basin", without("high-basin", "  bare_shaft:", "  broadheads:"))
    assert step_of(plan, "BAS-160").outcome == APPLIES
    assert step_of(plan, "ARR-180").outcome == DOES_NOT_APPLY
    for step in ("FRE-030", "KNO-100"):
        assert (step_of(plan, step).outcome, step_of(plan, step).reason) == (
            CANNOT_TELL,
            "missing reference.bare_shaft",
        )
    assert "(FRE-030): missing reference.bare_shaft" in " ".join(to_text(plan_page(plan)).split())


@pytest.mark.parametrize(
    ("when", "error"),
    [
        ("when: {travel: {minimum: 3}}", "TypeError"),
        ("when: {travel: {longer: 3}}", "KeyError"),
        ("when: {travel: air}", "AttributeError"),
        ("when: [travel]", "AttributeError"),
        ('when: {travel: {pattern: "["}}', "ValueError"),
    ],
)
def test_a_rule_that_fails_is_named_and_the_plan_goes_on(a_plan, a_pack, when, error):
    """A foreign pack can break nothing but its own rule; the problem stands at that rule's place."""
    broken = a_pack(RULE.format(when=when, more=""), "river.yaml")
    plan, problems = a_plan(packs=[broken])
    (problem,) = problems
    assert (problem.file, problem.line, problem.code) == ("river.yaml", 4, "rule-failed")
    assert "RIV-010 of pack river" in problem.message
    assert error in problem.message
    assert [s.id for s in plan.steps] == [s.id for s in a_plan()[0].steps]
    assert ("river", "1") in plan.packs


def test_a_rule_that_raises_anything_is_named(a_plan, monkeypatch):
    """Even an error that nobody thought of; the other rules of the same pack remain."""
    real = plan_module.evaluate

    def failing(when, facts, describe):
        if when == {"grains_per_pound": {"exclusiveMaximum": 5}}:
            raise ZeroDivisionError("made up")
        return real(when, facts, describe)

    monkeypatch.setattr(plan_module, "evaluate", failing)
    plan, problems = a_plan()
    assert {p.message.split()[0] for p in problems} == {"BAS-010", "SAF-060"}
    assert all("ZeroDivisionError" in p.message for p in problems)
    assert step_of(plan, "BAS-020").outcome == APPLIES


def test_a_placeholder_that_nobody_knows_fails_its_own_rule_only(a_plan, a_pack):
    """Attribute access is no placeholder: it stays text; an unknown name is a problem."""
    plan, problems = a_plan(packs=[a_pack(RULE.format(when="block: x", more=" at {no_such_fact}"))])
    assert [p.code for p in problems] == ["rule-failed"]
    plan, problems = a_plan(packs=[a_pack(RULE.format(when="block: x", more=" of {near_pin.real} {trip!r} {hand:>9}"))])
    assert problems == ()
    assert step_of(plan, "RIV-010").do == "Rinse the cams of {near_pin.real} {trip!r} {hand:>9}."
