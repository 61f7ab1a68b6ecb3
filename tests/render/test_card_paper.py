"""What the PDF of a card is: fonts, tags, colours, how it copies, and what no name can do to it."""

import io
import json

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from readiness.render import glyphs as glyph_module
from readiness.render.card import card_bytes, card_data
from readiness.render.glyphs import paper_text

EVERYTHING = ("front", "back", "wind", "slope", "arrival")
# Ours, beside the templates.
FONTS = {"DejaVuSansCondensed", "DejaVuSansCondensed-Bold"}
MARKUP = '#panic("x") $x^2$ *b* _i_ `r` <l> @ref \\ [c] ] // c /* c */ = h - l + e #import "/etc/passwd" {"a": 1} %}'
SCRIPTS = "Ελλάδα Кириллица עברית العربية ქართული 高地 हिन्दी ไทย 한국어 🏹 e\u0301 \u202eabc\u202c \ufffe \x00 \x1b[31m \ud800 a\u20e3"


@pytest.fixture(scope="module")
def pdf(a_plan):
    """The A6 card of the first sample with every kind of face."""
    return card_bytes(a_plan("high-basin")[0], size="a6", faces=EVERYTHING)[0]


@pytest.fixture(scope="module")
def plan(a_plan):
    """The plan of the first sample."""
    return a_plan("high-basin")[0]


def named(plan, name):
    """The plan with a name in every place where a name may stand."""
    trip = plan.trip
    places = tuple(place._replace(name=name) for place in trip.destinations)
    trip = trip._replace(name=name, hunter_name=name, home=trip.home._replace(name=name), destinations=places)
    there = tuple(place._replace(name=name) for place in plan.forecast.destinations)
    return plan._replace(trip=trip, forecast=plan.forecast._replace(trip=name, destinations=there))


def test_every_font_is_embedded_and_none_comes_from_the_system(pdf):
    """Each font of each page carries its own program, and its name is one of ours."""
    seen = set()
    for page in PdfReader(io.BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = descendant["/FontDescriptor"].get_object()
            assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            seen.add(descendant["/BaseFont"].split("+")[-1])
    assert seen <= FONTS
    assert "DejaVuSansCondensed" in seen


def test_the_pdf_is_tagged_for_readers(pdf):
    """PDF/UA-1: marked, with a structure tree, a language, a title that is shown, and alternative text for both drawings."""
    root = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part" in root["/Metadata"].get_object().get_data()
    alts, kinds, queue = [], set(), [root["/StructTreeRoot"]]
    while queue:
        node = queue.pop().get_object()
        if isinstance(node, list):
            queue += node
        elif hasattr(node, "get"):
            kinds.add(node.get("/S"))
            alts += [str(node["/Alt"])] if "/Alt" in node else []
            queue += [node["/K"]] if "/K" in node and not isinstance(node["/K"], int) else []
    assert {"/H1", "/H2", "/Table", "/TH", "/Figure"} <= kinds
    assert any("Clock face" in alt for alt in alts)
    assert any("Drift picture" in alt for alt in alts)


def test_the_text_can_be_selected(pdf):
    """pypdf reads the words of the card out of the file."""
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    for phrase in ("Trailhead camp", "Bare shaft", "STOP", "face 1 of"):
        assert phrase in words


def test_nothing_but_black_and_white(pdf, paper):
    """No colour and no grey on any face, nothing see-through."""
    assert paper.colours(pdf) <= {(0, 0, 0, 255), (255, 255, 255, 255)}


def test_a_photocopy_of_a_photocopy_keeps_the_ink_of_every_letter(pdf, paper):
    """Printed in one bit at 200 dpi and copied twice, each letter keeps between a half and twice its ink."""
    for number, page in enumerate(paper.glyphs(pdf)[:6]):
        grey = paper.picture(pdf, number)
        copy = paper.photocopied(grey)
        scale = 200 / 72
        for g in page:
            if g.text in ".,:;'-_":
                continue
            box = [round(edge * scale) for edge in (g.x0 - 0.3, g.top - 0.3, g.x1 + 0.3, g.bottom + 0.3)]
            before, after = (sum(1 for v in image.crop(box).tobytes() if v < 128) for image in (grey, copy))
            assert 0.5 * before <= after <= 2 * before, g


def test_a_photocopy_that_is_too_coarse_is_noticed(pdf, paper):
    """The same measure fails for a picture at a quarter of the sharpness, so that it can fail at all."""
    grey = paper.picture(pdf, 0, dpi=40)
    copy = paper.photocopied(grey, times=4)
    ratios = []
    for g in paper.glyphs(pdf)[0]:
        box = [round(edge * 40 / 72) for edge in (g.x0 - 0.3, g.top - 0.3, g.x1 + 0.3, g.bottom + 0.3)]
        before, after = (sum(1 for v in image.crop(box).tobytes() if v < 128) for image in (grey, copy))
        ratios.append(before and 0.5 * before <= after <= 2 * before)
    assert not all(ratios)


def test_one_and_el_zero_and_oh_stay_apart_in_a_copy(plan, paper):
    """1, I and l, and 0 and O, differ after two copies by more than a tenth of their ink."""
    pdf = card_bytes(named(plan, "1 I l 0 O"), size="a6", faces=["front"])[0]
    copy = paper.photocopied(paper.picture(pdf, 0))
    first = {g.text: g for g in reversed(paper.glyphs(pdf)[0]) if g.text in "1Il0O" and 28 < g.top < 44}
    scale = 200 / 72
    shapes = {}
    for text, g in first.items():
        x, y = round((g.x0 + g.x1) / 2 * scale), round((g.top + g.bottom) / 2 * scale)
        shapes[text] = [v < 128 for v in copy.crop((x - 10, y - 12, x + 10, y + 12)).tobytes()]
    for a, b in (("1", "I"), ("1", "l"), ("I", "l"), ("0", "O")):
        apart = sum(p != q for p, q in zip(shapes[a], shapes[b], strict=True))
        assert apart > 0.1 * sum(shapes[a]), (a, b)


def test_markup_in_a_name_is_printed_as_it_is(plan, paper):
    """What would be code, math, a comment or a heading in typst stands on the card letter by letter."""
    pdf, missing = card_bytes(named(plan, MARKUP), size="a6")
    assert missing == ()
    whole = "".join(paper.page_texts(paper.glyphs(pdf)))
    assert whole.count(paper.squashed(MARKUP)) >= 3


def test_a_character_without_a_glyph_is_printed_as_its_number_and_told(plan, paper):
    """[U+9AD8] on the card, U+9AD8 in what is told."""
    pdf, missing = card_bytes(named(plan, "Camp 高"), size="pocket")
    assert missing == ("U+9AD8",)
    assert "Camp[U+9AD8]" in paper.page_texts(paper.glyphs(pdf))[0]


@pytest.mark.parametrize(
    ("name", "number", "starts"),
    [
        ("高原 王小明", "c07", "c07,[U+9AD8][U+539F]"),
        ("Åse 高", "c07", "c07,Åse[U+9AD8],"),
        ("高原", None, "Hunter:________,[U+9AD8][U+539F],"),
        ("高原", "小", "Hunter:________,[U+5C0F],[U+9AD8][U+539F],"),
        ("Åse 高", None, "Åse[U+9AD8],"),
        ("Åse", "c07", "Åse,c07,"),
        (None, "c07", "c07,"),
        (None, None, "Hunter:________,"),
    ],
)
@pytest.mark.parametrize("size", ["pocket", "letter"])
def test_something_on_each_face_tells_whose_card_it_is(plan, paper, size, name, number, starts):
    """Where no font has the name the id comes first; where nothing can be read there is a blank for a pen."""
    changed = plan._replace(trip=plan.trip._replace(hunter_name=name, hunter_id=number))
    pages = paper.page_texts(paper.glyphs(card_bytes(changed, size=size, per_page=1)[0]))
    assert all(f"{starts}" in page for page in pages)
    assert all("66lb" in page[page.index(starts) :] for page in pages)


def test_the_id_stays_on_faces_that_have_no_room_for_a_name_in_numbers(plan, paper):
    """A name of 200 such letters stands in full on the first faces, and the id, or a blank, on each."""
    for number, wanted in (("c07", "c07,66lb"), (None, "Hunter:________,66lb"), ("高" * 40, "Hunter:________,66lb")):
        changed = plan._replace(trip=plan.trip._replace(hunter_name="高" * 200, hunter_id=number))
        pages = paper.page_texts(paper.glyphs(card_bytes(changed, size="pocket")[0]))
        assert all(wanted in page for page in pages)
        assert "".join(pages).count("[U+9AD8]") >= 200


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.text(
        st.characters() | st.characters(categories=["Cs", "Cc", "Cf", "Mn", "Co"]) | st.sampled_from('#$*_`<>@\\[]/="'),
        max_size=200,
    )
)
@example(MARKUP)
@example(SCRIPTS)
@example("\u0301" * 200)
@example("高" * 200)
@example("\u202e" * 200)
@example("a\u0301\u20e3" * 60)
@example("")
def test_a_card_never_fails_for_a_name(plan, name):
    """Any text at all as every name: a card comes out, and in the strictest form."""
    for size in ("pocket", "letter"):
        pdf, _ = card_bytes(named(plan, name), size=size, faces=["front"])
        assert pdf.startswith(b"%PDF")


def test_a_name_that_the_table_of_glyphs_has_wrong_still_prints(plan, paper, monkeypatch):
    """Where a font turns out to lack what glyphs.json says it has, all but ASCII is printed as numbers."""
    monkeypatch.setattr(glyph_module, "_fonts", lambda: (lambda _character: True,))
    pdf, missing = card_bytes(named(plan, "Käse 高"), size="pocket", faces=["front"])
    assert missing == ("U+00E4", "U+9AD8")
    assert "K[U+00E4]se[U+9AD8]" in paper.page_texts(paper.glyphs(pdf))[0]


@given(st.text(st.characters(), max_size=60))
def test_text_for_paper_says_what_it_changed(text):
    """What is told as missing was there, and its number stands for it; where nothing is, the words are unchanged."""
    shown, missing = paper_text(text)
    for name in missing:
        assert chr(int(name[2:], 16)) in text  # noqa: FURB166
        assert f"[{name}]" in shown.replace("\u200b", "")
    if not missing:
        assert shown.replace("\u200b", "").split() == text.replace("\u200b", "").split()


def test_the_card_as_data_is_json(plan):
    """card_data holds nothing but what JSON holds."""
    data = card_data(plan, faces=EVERYTHING)
    assert json.loads(json.dumps(data)) == data
