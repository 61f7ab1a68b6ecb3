"""Whatever is logged, an assessment comes out whole: pages and JSON, for rich and for bare trips."""

import json
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_up import BARE_BONES

from readiness.arrival.assessment import assess
from readiness.arrival.gates import CLOSE_UP, before_bare_shaft
from readiness.arrival.nextgroup import Allowed
from readiness.arrival.records import Change, Log, Shot, ShotSet, Stamp, StepAnswer
from readiness.plan import make_plan
from readiness.render.assessment import assessment_data, assessment_page
from readiness.render.data import to_json
from readiness.render.markdown import to_markdown
from readiness.render.text import to_text
from readiness.rules.packs import built_in_packs
from readiness.trip.load import load_trip

YARD = 0.9144


@pytest.fixture(scope="module")
def plans(a_plan):
    """The plan of every sample, and of a trip with nothing recorded."""
    bare = load_trip(BARE_BONES, "t", date(2027, 9, 1)).trip
    packs, _ = built_in_packs()
    least, _ = make_plan(bare, packs, today=date(2027, 9, 1), units="metric", arrows=12, trip_sha256="0" * 64)
    return [*(a_plan(name)[0] for name in ("high-basin", "river-breaks", "cold-snap", "terraces-metric")), least]


offsets = st.one_of(st.floats(-0.6, 0.6), st.sampled_from([0.0, 0.01]))
shots = st.builds(Shot, offsets, offsets, st.one_of(st.none(), st.integers(1, 4)), st.booleans())
distances = st.one_of(st.sampled_from([20 * YARD, 40 * YARD, 60 * YARD, 7 * YARD, 20.0, 30.0]), st.floats(2.0, 150.0))


@st.composite
def records(draw, place, heads):
    """A few records of every kind at a place."""
    stamp, made = Stamp("0", "t", "v", "s", place), []
    for _ in range(draw(st.integers(0, 6))):
        kind = draw(st.sampled_from(["fletched", "fletched", "bare", "broadhead", "change", "step"]))
        if kind == "change":
            made.append(Change(stamp, draw(st.text(max_size=20))))
        elif kind == "step":
            made.append(StepAnswer(stamp, draw(st.sampled_from(["ARR-010", "ARR-170"])), draw(st.text(max_size=20))))
        elif kind != "broadhead" or heads:
            head = draw(st.sampled_from(heads)) if kind == "broadhead" else None
            placed = tuple(draw(st.lists(shots, min_size=1, max_size=5)))
            temperature = draw(st.one_of(st.none(), st.floats(-30, 40)))
            made.append(ShotSet(stamp, draw(distances), kind, placed, head, draw(st.booleans()), temperature))
    return Log(tuple(made))


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_log_of_any_trip_is_assessed_to_the_end(plans, data):
    """No exception, every promised key, probabilities that sum to one, outcomes that are words of the contract."""
    plan = data.draw(st.sampled_from(plans))
    place = data.draw(st.sampled_from([p.name for p in plan.trip.destinations]))
    log = data.draw(records(place, [head.name for head in plan.trip.hunting_heads]))
    found = assess(
        plan, log, place, Allowed(data.draw(st.integers(2, 40)), data.draw(st.one_of(st.none(), st.floats(3, 90))))
    )
    told = json.loads(to_json(assessment_data(found)))
    assert sum(cause["probability"] for cause in told["causes"]) == pytest.approx(1.0)
    assert {verdict["outcome"] for verdict in told["verdicts"]} <= {"pass", "fail", "cannot tell"}
    for verdict in told["verdicts"]:
        assert verdict["text"].endswith(".")
        assert verdict["outcome"] != "pass" or verdict["p_value"] > 0.05
    assert told["next"] is None or told["next"]["why"]
    page = assessment_page(found)
    assert to_text(page)
    assert to_markdown(page)


def test_the_close_up_step_stands_in_the_checklists_for_every_trip_with_its_caution(plans):
    """What the code knows by its id; without a condition, so no trip goes without it."""
    for plan in plans:
        (step,) = [step for step in plan.steps if step.id == CLOSE_UP]
        assert step.reason == "always"
        assert any("nobody forward" in caution.text for caution in before_bare_shaft(plan))


def test_a_plan_without_the_close_up_step_lets_no_bare_shaft_be_shot_from_farther_off(plans):
    plan = plans[0]._replace(steps=tuple(step for step in plans[0].steps if step.id != CLOSE_UP))
    place = plan.trip.destinations[0].name
    assert assess(plan, Log(), place, Allowed()).gates.close == "open"
