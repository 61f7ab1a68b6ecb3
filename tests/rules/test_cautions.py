"""Cautions of made-up trips: there where the trip asks for them, absent where it does not, with who says so."""

import re
from itertools import takewhile

import pytest

from readiness.render.elements import Heading, StepBox, Warned
from readiness.render.pages import plan_page
from readiness.rules.packs import built_in_packs

POINT = {"name": "practice point", "kind": "field point", "mass": "100 gr"}
FIXED = {"name": "head A", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1.125 in"}
BARE = {"shot_on": "2027-08-20", "bare_shaft": {"distance": "20 yd", "clock": "7:15", "offset": "0.6 in", "pairs": 6}}


def hazards(*names, **trip):
    """A trip with these hazards and no others."""
    return {"trip": {"hazards": list(names), **trip}}


def camp(**place):
    """A trip to one camp."""
    return {"destinations": [{"name": "Hut", "elevation": "700 ft", "temperature": "55 F to 75 F", **place}]}


# What a caution speaks of, trips that ask for it, trips that do not.
ASKED = {
    "haul line": (r"on a haul line", [hazards("tree stand")], [hazards(), hazards("bears", "riding")]),
    "tied in": (r"tied in from ground to ground", [hazards("tree stand")], [hazards(), hazards("riding")]),
    "hanging": (r"in a harness can kill", [hazards("tree stand")], [hazards(), hazards("bears")]),
    "riding": (r"Mount and ride", [hazards("riding")], [hazards(), hazards("bears", "tree stand")]),
    "bears": (r"draw bears", [hazards("bears"), hazards("bears", travel="road")], [hazards(), hazards("riding")]),
    "repellent": (
        r"Animal repellent",
        [hazards("bears", travel="air")],
        [hazards("bears", travel="road"), hazards("riding", travel="air")],
    ),
    "height": (
        r"Height sickness",
        [camp(sleeping_elevation="2450 m"), camp(elevation="2450 m"), camp(elevation="9000 ft")],
        [
            camp(sleeping_elevation="2449 m"),
            camp(elevation="2449 m"),
            camp(elevation="9000 ft", sleeping_elevation="5000 ft"),
        ],
    ),
    "ill up high": (r"fall ill up high", [camp(sleeping_elevation="2450 m")], [camp(elevation="2449 m")]),
    "thin air": (r"scores fell", [camp(elevation="3000 m", sleeping_elevation="900 m")], [camp(elevation="2999 m")]),
    "cold": (
        r"Hypothermia",
        [camp(temperature="10 C"), camp(temperature="-20 C to 15 C"), camp(temperature="50 F to 60 F")],
        [camp(temperature="11 C"), camp(temperature="51 F to 60 F")],
    ),
    "light arrow": (
        r"very light arrow",
        [{"arrow": {"mass": "324 gr"}}, {"bow": {"draw_weight": "87 lb"}}],
        [{"arrow": {"mass": "326 gr"}}, {"bow": {"draw_weight": "85 lb"}}],
    ),
}


def shown(plan):
    """The cautions of a plan that stand on its pages."""
    return [caution for caution in plan.cautions if caution.is_shown]


@pytest.mark.parametrize(("words", "asking", "others"), ASKED.values(), ids=ASKED)
def test_a_caution_stands_where_the_trip_asks_for_it_and_nowhere_else(invented_plan, words, asking, others):
    """Exactly at its limit it stands; what is printed is asked, too, not only what the plan holds."""
    for trips, wanted in ((asking, True), (others, False)):
        for blocks in trips:
            plan = invented_plan(**blocks)
            assert any(re.search(words, caution.text) for caution in shown(plan)) is wanted, blocks
            printed = [e.text for e in plan_page(plan) if isinstance(e, Warned)]
            assert any(re.search(words, text) for text in printed) is wanted, blocks


def test_a_caution_for_a_flight_stands_in_the_packing_stage(invented_plan):
    """Read before the case closes, not at the gate."""
    (caution,) = [c for c in shown(invented_plan(**hazards("bears"))) if "Animal repellent" in c.text]
    assert "pack" in caution.stages


@pytest.mark.parametrize("name", ["haul line", "hanging", "riding", "bears", "repellent", "cold"])
def test_a_caution_that_cannot_be_told_stands_with_what_is_missing(invented_plan, name):
    """Hazards or temperatures left out: better read once too often."""
    destinations = [{"name": "Hut", "elevation": "700 ft"}]
    plan = invented_plan(trip={"hazards": None}, destinations=destinations)
    (caution,) = [c for c in shown(plan) if re.search(ASKED[name][0], c.text)]
    missing = "destinations: temperature" if name == "cold" else "trip.hazards"
    assert (caution.outcome, caution.reason) == ("cannot tell", f"missing {missing}")


EVERYTHING = {
    "trip": {"hazards": ["bears", "tree stand", "riding"], "nearest_shop": "9 h"},
    "destinations": [{"name": "Hut", "elevation": "3100 m", "temperature": "-10 C to 5 C"}],
    "arrow": {"mass": "320 gr"},
    "reference": BARE,
}


def test_every_caution_that_is_printed_names_its_source_or_says_common_practice(invented_plan):
    """On the page itself, beside the words; where it stands again it points to where it stood in full."""
    seen = {}
    for element in plan_page(invented_plan(**EVERYTHING)):
        told = re.fullmatch(r"([A-Z]{2,5}-\d{3})(?:, in full above|: (.+))", getattr(element, "source", ""))
        if isinstance(element, Warned) and told:
            name, source = told.groups()
            if source is None:
                assert name in seen
                assert seen[name].startswith(element.text.rstrip("."))
            else:
                assert name not in seen
                assert re.match(r"common practice, no source$|(?:standard|regulation|paper): .{10,}", source), source
                seen[name] = element.text
    assert len(seen) == len({c.id for c in shown(invented_plan(**EVERYTHING))}) >= 25


def test_every_caution_of_the_built_in_packs_rests_on_something():
    """An agency, a standard or a paper by name, or common practice; no caution rests on a calculation of ours."""
    cautions = [caution for pack in built_in_packs()[0] for caution in pack.cautions]
    assert len(cautions) >= 25
    assert {c.basis for c in cautions} <= {"common practice", "standard", "regulation", "paper"}
    assert [c.id for c in cautions if c.basis != "common practice" and len(c.source) < 10] == []
    assert [c.id for c in cautions if c.basis == "regulation" and "they change" not in c.source] == []


def test_the_caution_on_sleeping_high_names_who_says_so_and_leaves_medicine_to_a_clinician(invented_plan):
    """The CDC and the Wilderness Medical Society beside it, the height in the reader's unit, no advice of ours."""
    for unit, height in (("yd", "9,000 ft"), ("m", "2,743 m")):
        sight = {"kind": "fixed pins", "radius": "33 in", "pins": [f"20 {unit}", f"30 {unit}"]}
        plan = invented_plan(bow={"sight": sight}, **camp(sleeping_elevation="9000 ft"))
        high = [c for c in shown(plan) if "CDC" in c.source]
        assert len(high) == 2
        for caution in high:
            assert "Wilderness Medical Society" in caution.source
            assert "clinician" in caution.text
        first = high[0]
        assert f"sleep at {height}" in first.text
        assert "CDC" in first.source
        assert set(first.stages) <= {"baseline", "verify", "freeze"}  # weeks before, while it can still change plans


def bare_shaft_steps(page):
    """Places of the steps that have a bare shaft shot."""
    for place, element in enumerate(page):
        if isinstance(element, StepBox):
            do = dict(element.lines)["do"]
            if re.search(r"\b[Ss]hoot\b.*\bbare\b", do):
                yield place, element


@pytest.mark.parametrize("reference", [BARE, None], ids=["with a reference", "without"])
def test_a_caution_for_the_bare_shaft_stands_directly_before_each_step_that_shoots_one(invented_plan, reference):
    """Between the two stand only other cautions, and the first time it stands in full."""
    page = plan_page(invented_plan(reference=reference))
    steps = list(bare_shaft_steps(page))
    assert {step.id[:3] for _, step in steps} >= {"BAS", "ARR"}
    assert len(steps) >= 3
    for place, step in steps:
        before = list(takewhile(lambda element: isinstance(element, Warned), reversed(page[:place])))
        assert any("bare shaft can leave the line" in caution.text for caution in before), step.id
    full = next(e for e in page if isinstance(e, Warned) and "bare shaft can leave the line" in e.text)
    for words in ("5 to 10 yd", "nobody forward", "never a broadhead on a bare shaft"):
        assert words in full.text
    assert page.index(full) < steps[0][0]


def test_a_caution_for_the_bare_shaft_stands_before_shooting_a_stale_reference_again(invented_plan):
    """A new string, then everything shot again: that step shoots a bare shaft as well."""
    changed = [{"what": "string", "on": "2027-09-01"}]
    page = plan_page(invented_plan(reference=BARE, setup_changed=changed))
    (place,) = [place for place, step in bare_shaft_steps(page) if step.id == "FRE-020"]
    before = list(takewhile(lambda element: isinstance(element, Warned), reversed(page[:place])))
    assert any("bare shaft can leave the line" in caution.text for caution in before)


def test_a_caution_on_the_string_without_an_arrow_stands_at_the_head_of_each_stage_with_draws(invented_plan):
    """Baseline, arrival and after a knock: before the first step, not behind it."""
    page = plan_page(invented_plan())
    for stage in ("Baseline", "Arrival", "Knock"):
        start = next(i for i, e in enumerate(page) if isinstance(e, Heading) and e.text.startswith(f"{stage}:"))
        head = list(takewhile(lambda element: isinstance(element, Warned), page[start + 1 :]))
        assert any("string go without an arrow" in caution.text for caution in head), stage


def test_no_caution_speaks_of_health_or_press_work_without_sending_the_reader_to_who_may(invented_plan):
    """Press work to a technician, sickness to a clinician: in the very same caution."""
    texts = [c.text for c in shown(invented_plan(**EVERYTHING))]
    press = [text for text in texts if re.search(r"\bpress\b", text)]
    sick = [text for text in texts if re.search(r"sick|\bill\b|medicine", text)]
    assert len(press) >= 2
    assert len(sick) >= 2
    assert [text for text in press if "technician" not in text] == []
    assert [text for text in sick if "clinician" not in text] == []
