"""The overview in a real browser: on a phone without sideways scroll, folded where it is long, readable to everybody."""

from datetime import date

import pytest

from readiness.camp.overview import BAD_FILE, NOT_READY, READY, Row
from readiness.render.overview_html import overview_html
from readiness.render.roster import Overview

GEAR = tuple(f"thing {number}: missing, have 0, need 1" for number in range(37))
WIDTHS = """[document.documentElement.scrollWidth,
    ...[...document.querySelectorAll('*')].map(element => element.getBoundingClientRect().right)]"""
LONG = "Wolfeschlegelsteinhausenbergerdorff" * 4


@pytest.fixture(scope="module")
def page_file(tmp_path_factory):
    """An overview with long words, a bad file, and forty things missing."""
    error = f"/{'deep/' * 20}c0.yaml:6:16: error[bare-number]: 64 has no unit"
    rows = (
        Row(BAD_FILE, LONG, "k0", "", "/x/c0.yaml", errors=(error,) * 8, hints=("write 64 lb",) * 8),
        Row(NOT_READY, "Anna", "k1", "k1", "/x/c1.yaml", unpacked=GEAR, limit="40 yd", far_pin="50 yd",
            far_advice="move", updated="2027-08-20", returned="2027-09-02", verified_otherwise="40 yd"),
        Row(READY, "Bert", "k2", "k2" * 30, "/x/c2.yaml"),
    )  # fmt: skip
    path = tmp_path_factory.mktemp("overview") / "overview.html"
    path.write_text("".join(overview_html(Overview("Hut", "the barn", date(2027, 9, 4), rows))), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [320, 390, 768, 1280])
def test_nothing_is_wider_than_the_screen(opened, page_file, width):
    """With everything unfolded as well; it asks for nothing and complains of nothing."""
    page = opened(page_file, viewport={"width": width, "height": 800})
    assert max(page.evaluate(WIDTHS)) <= width
    page.evaluate("document.querySelectorAll('details').forEach(e => e.open = true)")
    assert max(page.evaluate(WIDTHS)) <= width
    assert page.heard == []


def test_long_lists_are_folded_and_open_with_a_touch(opened, page_file):
    """Forty things missing are one line, until they are asked for."""
    page = opened(page_file)
    thing = page.get_by_text("thing 30: missing, have 0, need 1")
    assert not thing.is_visible()
    page.get_by_text("37 things missing or in a wrong bag").click()
    assert thing.is_visible()
    assert page.get_by_text("2027-09-02: 40 yd, but with another set-up").is_visible()


def test_on_paper_it_is_a_table_with_all_unfolded(opened, page_file):
    """Nobody can touch a sheet; the head of the table stands above the columns."""
    page = opened(page_file, viewport={"width": 700, "height": 900})
    page.emulate_media(media="print")
    assert page.get_by_text("thing 30: missing, have 0, need 1").is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('tbody tr')).display") == "table-row"
    assert page.evaluate("document.documentElement.scrollWidth") <= 700


@pytest.mark.parametrize("width", [390, 1280])
def test_those_who_have_it_read_to_them_find_a_table(opened, page_file, axe, width):
    """Also where it is shown as blocks; axe-core finds nothing wrong."""
    page = opened(page_file, viewport={"width": width, "height": 800})
    assert axe(page) == []
    assert page.get_by_role("rowheader").count() == 3
    assert page.get_by_role("columnheader").count() == 7
