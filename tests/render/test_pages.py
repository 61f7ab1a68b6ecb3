"""The pages: what stands first, cautions before their steps, the same numbers in every format."""

from itertools import takewhile

import pytest

from readiness.render.data import plan_data
from readiness.render.elements import Heading, Listing, StepBox, Table, Warned
from readiness.render.markdown import to_markdown
from readiness.render.pages import pins_page, plan_page
from readiness.render.text import to_text
from readiness.rules.when import APPLIES, DOES_NOT_APPLY

STAGES = ["Baseline", "Verify", "Freeze", "Pack", "Arrival", "Morning", "Knock", "Weather", "Return"]


def step_of(plan, step_id):
    """One step by its id."""
    return next(step for step in plan.steps if step.id == step_id)


def test_an_arrow_too_light_is_a_stop_step_at_the_head_of_the_page(a_plan):
    """320 grains on 66 lb are 4.85 a pound: it applies now, and no STOP stands before it."""
    plan, _ = a_plan("high-basin", ("mass: 445 gr", "mass: 320 gr"))
    step = step_of(plan, "BAS-010")
    assert (step.outcome, step.stop) == (APPLIES, True)
    page = plan_page(plan)
    heading = next(i for i, e in enumerate(page) if isinstance(e, Heading) and e.text.startswith("STOP"))
    assert isinstance(page[heading + 1], Listing)
    assert "BAS-010" in page[heading + 1].entries[0]
    assert "4.85" in page[heading + 1].entries[0]
    first_box = next(e for e in page if isinstance(e, StepBox))
    assert (first_box.id, first_box.stop) == ("BAS-010", True)
    usual = a_plan()[0]
    assert step_of(usual, "BAS-010").outcome == DOES_NOT_APPLY
    assert "BAS-010" not in to_text(plan_page(usual))


def test_stop_steps_and_the_answer_stand_before_everything_else(a_plan):
    """The page begins with what stops a shot, then what to do with the sight, then the stages."""
    page = plan_page(a_plan()[0])
    headings = [e.text for e in page if isinstance(e, Heading) and e.level == 2]
    assert headings[0].startswith("STOP")
    assert headings[1] == "The answer"
    assert [h.split(":")[0] for h in headings if ":" in h][1:10] == STAGES
    stops = {s.id for s in a_plan()[0].stop_steps}
    entries = " ".join(page[[isinstance(e, Listing) for e in page].index(True)].entries)
    assert len(stops) >= 10
    assert [step for step in stops if step not in entries] == []


def test_a_caution_stands_directly_before_its_step(a_plan):
    """Between a caution and the step that it names stand only other cautions, in text and in Markdown too."""
    plan, _ = a_plan()
    page = plan_page(plan)
    place = {e.id: i for i, e in enumerate(page) if isinstance(e, StepBox)}
    checked = 0
    for caution in plan.cautions:
        for step in set(caution.before) & set(place) if caution.is_shown else ():
            before = takewhile(lambda element: isinstance(element, Warned), reversed(page[: place[step]]))
            assert caution.id in {element.source[:7] for element in before}, step
            checked += 1
    assert checked >= 15
    for text in (to_text(page), to_markdown(page)):
        flat = " ".join(text.replace("\n! ", " ").split())
        assert flat.index("SAF-030") < flat.rindex("Limbs and pockets", 0, flat.rindex("(ARR-010)") + 1)


def test_a_caution_is_told_in_full_once_and_then_by_its_first_sentence(a_plan):
    """Where it stands again the page points back."""
    warned = [e for e in plan_page(a_plan()[0]) if isinstance(e, Warned) and "SAF-120" in e.source]
    assert len(warned) >= 3
    assert len(warned[0].text) > 100
    assert {len(again.text) < len(warned[0].text) / 3 for again in warned[1:]} == {True}
    assert all(warned[0].text.startswith(again.text.rstrip(".")) for again in warned[1:])


def test_a_caution_that_may_concern_the_trip_is_shown(a_plan):
    """Hazards left out: every hazard's caution stands, with what is missing; said to be none: it does not."""
    unknown, _ = a_plan("high-basin", ("  hazards: [bears, riding]\n", ""))
    none, _ = a_plan("high-basin", ("hazards: [bears, riding]", "hazards: []"))
    shown = {c.id: c.reason for c in unknown.cautions if c.is_shown}
    assert shown["SAF-150"] == shown["SAF-210"] == shown["SAF-230"] == "missing trip.hazards"
    assert not {"SAF-150", "SAF-210", "SAF-230"} & {c.id for c in none.cautions if c.is_shown}
    assert "missing trip.hazards" in to_text(plan_page(unknown))


def test_the_causes_in_text_markdown_and_json_are_the_same_numbers(samples, a_plan):
    """Parts sum to the shift; both pages show the JSON's numbers, rounded alike, metric in millimetres."""
    for name in samples:
        plan, _ = a_plan(name)
        scale, decimals = (1.0, 2) if plan.units == "imperial" else (25.4, 1)
        tables = [e for e in pins_page(plan, why=True) if isinstance(e, Table) and "elevation" in e.headers]
        cases = [case for place in plan_data(plan)["pins"]["destinations"] for case in place["cases"]]
        text, markdown = to_text(pins_page(plan, why=True)), to_markdown(pins_page(plan, why=True))
        for table, case in zip(tables, cases, strict=True):
            for row, pin in zip(table.rows, case["pins"], strict=True):
                assert sum(pin["because"].values()) == pytest.approx(pin["shift_in"], abs=1e-7)
                numbers = [pin["shift_in"], *pin["because"].values(), pin["inch_per_fps"]]
                wanted = [f"{round(n * scale, decimals) + 0.0:+.{decimals}f}" for n in numbers]
                assert [f"{float(cell):+.{decimals}f}" for cell in row[1:]] == wanted
                assert any(line.split() == " ".join(row).split() for line in text.splitlines())
                cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in markdown.splitlines()]
                assert list(row) in cells
