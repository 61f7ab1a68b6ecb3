"""The overview on one sheet: one page whoever the clients are, what matters on it, and what is cut is said to be.

Pages are read back with pypdf, places on them with pypdfium2.
"""

import io
import re
from datetime import date

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.camp.overview import BAD_FILE, CANNOT_TELL, NOT_READY, READY, Row, worst_first
from readiness.render.overview_sheet import overview_pdf
from readiness.render.roster import Overview

DAY = date(2027, 9, 4)
GEAR = tuple(f"thing {number}: missing, have 0, need 1" for number in range(37))


def _overview(rows, contact="the barn"):
    return Overview("Hut", contact, DAY, worst_first(rows))


def _row(index, **values):
    base = {"client": f"Client {index}", "id": f"k{index:04}", "folder": f"k{index:04}", "source": f"/x/c{index}.yaml"}
    figures = {"limit": "40 yd", "far_pin": "50 yd", "far_advice": "confirm", "updated": "2027-08-20"}
    return Row(**{**base, "status": NOT_READY, **figures, **values})


def _dozen():
    """Twelve clients of all sorts with much to say of each."""
    bad = "/x/c0.yaml:6:16: error[bare-number]: 64 has no unit"
    rows = [
        _row(0, status=BAD_FILE, folder="", errors=(bad, bad.replace("6:16", "9:2")), hints=("write 64 lb", "")),
        _row(1, stops=("Arrow too light for this bow: grains per pound is 4.79, less than 5",), unsafe=("STOP: 4.8",)),
        _row(2, unmet=("draw weight, at least 45 lb: does not meet",), unpacked=GEAR),
        _row(3, returned="2027-09-02", verified_otherwise="40 yd", calls=("no second release",), unpacked=GEAR),
    ]
    rows += [_row(n, unpacked=GEAR, calls=("verified to 40 yd", "no second release")) for n in range(4, 10)]
    return [*rows, _row(10, status=CANNOT_TELL, doubts=("gear is not filled in",)), _row(11, status=READY)]


def _pages(overview):
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in
            pypdf.PdfReader(io.BytesIO(overview_pdf(overview))).pages]  # fmt: skip


def test_twelve_clients_stand_on_one_page_with_what_each_has_to_settle():
    """File, line and column of a mistake with what to type; stop steps; rules by name; calls; the far pin's advice."""
    (page,) = _pages(_overview(_dozen()))
    for told in (
        "c0.yaml:6:16: error[bare-number]: 64 has no unit (hint: write 64 lb)",
        "STOP now. Arrow too light for this bow",
        "draw weight, at least 45 lb: does not meet",
        "Worth a call: no second release",
        "37 missing or in a wrong bag: thing 0, thing 1, thing 2, thing 3 and 33 more",
        "far pin 50 yd: confirm",
        "returned 2027-09-02: 40 yd, but with another set-up",
        "1 bad file, 9 not ready, 1 cannot tell, 1 ready",
    ):
        assert told in page, told
    assert all(f"k{index:04}" in page for index in range(12))


def test_what_does_not_fit_is_counted():
    """Sixteen clients with nine things each: every one's first stands there, and 'and N more' makes nine."""
    calls = tuple(f"call number {number}" for number in range(9))
    (page,) = _pages(_overview([_row(index, calls=calls) for index in range(16)]))
    assert page.count("Worth a call: call number 0") == 16
    shown, left = len(re.findall("Worth a call", page)), sum(map(int, re.findall(r"and (\d+) more", page)))
    assert shown + left == 16 * 9
    assert shown > 16


@pytest.mark.parametrize("number", [18, 30, 45, 60, 400])
def test_many_clients_have_a_line_each_and_the_rest_is_counted(number):
    """Still one page; the worst are on it, and those who are not are said to be so many."""
    rows = [_row(index, unpacked=GEAR) for index in range(number - 1)] + [_row(9999, unmet=("draw weight: no",))]
    (page,) = _pages(_overview(rows))
    shown = set(re.findall(r"k\d{4}", page))
    left = re.search(r"And (\d+) more clients?", page)
    assert len(shown) + int(left[1] if left else 0) == number
    assert "k9999" in shown
    assert f"{number} not ready" in page
    assert number > 40 or not left


def test_one_client_with_everything_wrong_has_a_page_too():
    """The lower end: as much as is told of one client, and how much more there is."""
    (page,) = _pages(_overview([_row(0, calls=tuple(f"call {number}" for number in range(50)))]))
    assert "Worth a call: call 7" in page
    assert "and 42 more" in page


@pytest.mark.parametrize("many", [12, 30])
def test_a_long_name_without_spaces_stays_in_its_column(many):
    """Where each letter of the name stands, against where the next column begins."""
    rows = [_row(index, client="W" * 150 if index % 2 else "i" * 90) for index in range(many)]
    page = pypdfium2.PdfDocument(overview_pdf(_overview(rows)))[0].get_textpage()
    letters = [(page.get_text_range(i, 1), page.get_charbox(i)) for i in range(page.count_chars())]
    limit = [i for i in range(len(letters)) if page.get_text_range(i, 5) in ("limit", "40 yd")]
    begins = min(letters[i][1][0] for i in limit if letters[i][1][1] < 700)
    names = [box for letter, box in letters if letter == "W"]
    assert len(names) > many
    assert max(box[2] for box in names) < begins


def test_a_name_that_no_font_has_can_be_matched_by_its_folder():
    """It stands there as numbers, and its folder in full beside it."""
    (page,) = _pages(_overview([_row(7, client="\u9ad8\u5c71")]))
    assert "[U+9AD8]" in page
    assert "k0007" in page


def test_the_same_rows_give_the_same_bytes():
    """Whatever was measured before."""
    first = overview_pdf(_overview(_dozen()))
    overview_pdf(_overview(_dozen()[:3]))
    assert overview_pdf(_overview(_dozen())) == first


_texts = st.text(max_size=200)
_lists = st.lists(_texts.filter(bool), max_size=12).map(tuple)


@settings(max_examples=25)
@given(
    st.lists(st.tuples(_texts.filter(str.strip), st.text(max_size=60), _lists, _lists), min_size=1, max_size=26),
    _texts,
)
def test_whatever_clients_are_called_it_is_one_page(clients, contact):
    """Names, ids, calls and gear of any letters and length."""
    rows = [_row(index, client=name, folder=mark, calls=calls, unpacked=gear)
            for index, (name, mark, calls, gear) in enumerate(clients)]  # fmt: skip
    assert len(pypdf.PdfReader(io.BytesIO(overview_pdf(_overview(rows, contact)))).pages) == 1
