"""Sheets of the plan and the packing list: nothing cut, nothing covered, no small print, no markup from a trip."""

import io
import re

import pytest
from pypdf import PdfReader

from readiness.render.kit import packing_page
from readiness.render.pages import pins_page, plan_page
from readiness.render.sheet import sheet_bytes

MARKUP = '#panic("x") $x$ *b* `r` <l> @ref [c] // c /* c */ = h'
LONG = ("Wide and long words of the high country, ridge after ridge " * 4)[:199]
WORST = (
    ("name: High basin, late season", f'name: "{LONG}"'),
    ("name: Client seven", f'name: "{"Unbreakablename" * 13}"'),
    ("name: Trailhead camp", f'name: "{"Unbreakablename" * 13}"'),
)


def sheets(plan):
    """The PDF of the whole plan with the packing list."""
    return sheet_bytes(plan, [plan_page(plan, everything=True), packing_page(plan.trip, plan.packing)])


@pytest.mark.parametrize(
    ("name", "changes"),
    [("high-basin", ()), ("river-breaks", ()), ("cold-snap", ()), ("terraces-metric", ()), ("high-basin", WORST)],
    ids=["high-basin", "river-breaks", "cold-snap", "terraces-metric", "worst"],
)
def test_sheets_cut_nothing_cover_nothing_and_print_nothing_small(a_plan, paper, name, changes):
    """Every character stands inside the margins at 10 pt or more, and none covers another."""
    pdf, missing = sheets(a_plan(name, *changes)[0])
    assert missing == ()
    sizes = paper.sizes_mm(pdf)
    for number, (page, (width, height)) in enumerate(zip(paper.glyphs(pdf), sizes, strict=True), 1):
        assert paper.overlaps(page) == [], number
        for g in page:
            assert g.size >= 10 - 1e-3
            assert 17 * paper.MM <= g.x0 <= g.x1 <= (width - 17) * paper.MM, (number, g)
            assert 10 * paper.MM <= g.top <= g.bottom <= (height - 5) * paper.MM, (number, g)


def test_every_text_of_the_plan_is_on_the_sheets(a_plan, paper):
    """All that a step says stands there, and what the packing list says."""
    plan, _ = a_plan("river-breaks")
    whole = "".join(paper.page_texts(paper.glyphs(sheets(plan)[0])))
    for step in plan.steps:
        texts = (
            (step.title, step.do, step.expect, step.if_not) if step.outcome == "applies" else (step.title, step.reason)
        )
        for text in texts:
            assert sum(paper.squashed(word) in whole for word in text.split()) == len(text.split()), text
    assert all(paper.squashed(row.item) in whole for row in plan.packing.rows)


@pytest.mark.parametrize("name", ["high-basin", "river-breaks", "cold-snap", "terraces-metric"])
def test_a_band_stands_on_one_line(a_plan, paper, name):
    """`+0.02 to +0.03` is read as one number with its doubt, so no cell of the pin tables breaks inside it."""
    plan, _ = a_plan(name)
    tall = []
    for page in paper.glyphs(sheet_bytes(plan, [pins_page(plan)])[0]):
        text = "".join(g.text for g in page)
        assert len(text) == len(page)
        for band in re.finditer(r"[+-][0-9.]+to[+-][0-9.]+", text):
            bottoms = [g.bottom for g in page[band.start() : band.end()]]
            tall.append(max(bottoms) - min(bottoms))
    assert len(tall) == sum(len(case.pins) for _, case in plan.forecast.cases)
    assert max(tall) < 6  # [pt]: signs stand over the line; a second line is 13 pt lower


def test_markup_of_a_trip_is_printed_letter_by_letter(a_plan, paper):
    """Code, math and comments in a name are text."""
    plan, _ = a_plan("high-basin", ("name: High basin, late season", f"name: '{MARKUP}'"))
    assert paper.squashed(MARKUP) in paper.page_texts(paper.glyphs(sheets(plan)[0]))[0]


def test_sheets_are_tagged_and_made_again_byte_for_byte(a_plan):
    """PDF/UA-1 with headings, lists and tables; the same plan gives the same bytes."""
    plan, _ = a_plan("cold-snap")
    pdf, _ = sheets(plan)
    assert pdf == sheets(plan)[0]
    root = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert b"pdfuaid:part" in root["/Metadata"].get_object().get_data()
