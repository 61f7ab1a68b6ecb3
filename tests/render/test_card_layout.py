"""Nothing on a card is cut, overlaps, shrinks or gets lost: measured on the PDF, in every size, plain and at its worst."""

import functools
import re
from itertools import pairwise

import pytest

from readiness.render import typeset
from readiness.render.card import DEFAULT_FACES, FACES, card_bytes, card_data, card_on_paper, measure_cards, set_card

WORDS = "Wide and long words of the high country, ridge after ridge "
LONG = (WORDS * 4)[:200]
ONE_WORD = ("Unbreakablename" * 14)[:200]
EVERYTHING = ("front", "back", "wind", "slope", "arrival", "weather")
SIZES = {"pocket": (76.2, 127.0), "a6": (105.0, 148.0), "letter": (215.9, 279.4), "a4": (210.0, 297.0)}
# Where text may stand on a card, [mm]: left, top, right, bottom; on A6 the rest of its foot is for the thumb.
AREAS = {"pocket": (3.5, 4.0, 72.7, 123.0), "a6": (5.0, 5.0, 100.0, 135.0)}
PINS = ", ".join(f"{yards} yd" for yards in range(15, 75, 5))
WORST = (
    ("name: High basin, late season", f'name: "{LONG}"'),
    ("name: Client seven", f'name: "{ONE_WORD}"'),
    ("name: River-bottom range", f'name: "{ONE_WORD}"'),
    ("name: Trailhead camp", f'name: "{ONE_WORD}"'),
    ("name: Basin spike camp", f'name: "{LONG}"'),
    ("pins: [20 yd, 30 yd, 40 yd, 50 yd, 60 yd]", f"pins: [{PINS}]"),
)
CASES = [("high-basin", ()), ("river-breaks", ()), ("cold-snap", ()), ("terraces-metric", ()), ("high-basin", WORST)]
NAMES = ["high-basin", "river-breaks", "cold-snap", "terraces-metric", "worst"]


@pytest.fixture(scope="module")
def card(a_plan, paper):
    """A function: the data of a case, its PDF in a size with every kind of face, and the glyphs on it; made once."""

    @functools.cache
    def made(case, size):
        plan, _ = a_plan(*CASES[case][:1], *CASES[case][1])
        pdf, missing = card_bytes(plan, size=size, faces=EVERYTHING)
        assert missing == ()
        return card_data(plan, faces=EVERYTHING), pdf, paper.glyphs(pdf)

    return made


every_card = pytest.mark.parametrize(
    ("case", "size"),
    [(case, size) for case in range(len(CASES)) for size in SIZES],
    ids=[f"{n}-{s}" for n in NAMES for s in SIZES],
)
single = pytest.mark.parametrize(
    ("case", "size"),
    [(case, size) for case in range(len(CASES)) for size in AREAS],
    ids=[f"{n}-{s}" for n in NAMES for s in AREAS],
)


@every_card
def test_every_page_has_the_size_asked_for(card, paper, case, size):
    """Letter and A4 stand upright; pocket is 3 x 5 in; A6 is that of ISO 216."""
    assert set(paper.sizes_mm(card(case, size)[1])) == {SIZES[size]}


@every_card
def test_no_letter_is_smaller_than_ten_points(card, paper, case, size):
    """The floor holds for every character, those of drawings too."""
    assert min(g.size for page in card(case, size)[2] for g in page) >= 10 - 1e-3


@single
def test_all_text_stands_inside_the_area_and_clear_of_the_thumb(card, paper, case, size):
    """No character reaches into a margin; on A6 the foot of 12 mm or more stays free."""
    left, top, right, bottom = (edge * paper.MM for edge in AREAS[size])
    for page in card(case, size)[2]:
        for g in page:
            inside = left - 0.5 <= g.x0 and g.x1 <= right + 0.5 and top - 1 <= g.top and g.bottom <= bottom + 1
            assert inside, g


@every_card
def test_no_text_overlaps_other_text(card, paper, case, size):
    """No two characters cover each other on any page."""
    for number, page in enumerate(card(case, size)[2], 1):
        assert paper.overlaps(page) == [], number


@pytest.mark.parametrize(("size", "width"), [("letter", 215.9), ("a4", 210.0)])
def test_cards_on_a_sheet_keep_to_their_own_quarter(card, paper, size, width):
    """On a sheet no text crosses the line along which it is cut; each quarter leaves 12 mm at its foot."""
    height = SIZES[size][1]
    for page in card(0, size)[2][:-1]:
        for g in page:
            x, y = (g.x0 + g.x1) / 2 / paper.MM, (g.top + g.bottom) / 2 / paper.MM
            x, y = (x - width / 2) % 105.0, (y - height / 2) % 139.5
            assert 4.5 <= x <= 100.5
            assert 4.5 <= y <= 139.5 - 11.5


def _texts(item):
    """Every text of an item that a card of any size shows."""
    if item["kind"] == "table":
        skip = item["wide_only"]
        rows = [[c for i, c in enumerate(row) if i not in skip] for row in (item["header"], *item["rows"])]
        for cell in (cell for row in rows for cell in row):
            yield from cell.values() if isinstance(cell, dict) else cell if isinstance(cell, list) else [cell]
    for key in ("text", "small", "label", "note", "title", "if_not", "lead"):
        if item.get(key):
            yield item[key]
    yield from item.get("lines", ())
    yield from item.get("big", ()) if item["kind"] in ("clock", "value") else ()


@single
def test_nothing_of_the_data_is_lost(card, paper, case, size):
    """Every word of every item stands on a page, in whole or run on to the next face."""
    data, _, pages = card(case, size)
    pages = paper.page_texts(pages)
    whole = "".join(pages)
    for face in data["faces"]:
        for item in face["items"]:
            if item.get("wide") and size == "pocket":
                continue
            for text in _texts(item):
                if paper.squashed(text) not in whole:  # run on: each of its words then stands there
                    assert all(paper.squashed(word) in whole for word in text.split(" ") if word != ONE_WORD), text
        assert paper.squashed(f"{face['closing']}, complete, time") in whole


@every_card
def test_each_face_says_which_it_is_and_whose(card, paper, case, size):
    """Face n of N in order, the trip's name in full, units, version, date, baseline and when it stops being valid."""
    data, _, pages = card(case, size)
    pages = paper.page_texts(pages)
    per = 4 if size in ("letter", "a4") else 1
    whole = "".join(pages)
    total = int(re.search(r"face1of(\d+)", whole)[1])
    faces = [f"face{number}of{total}" for number in range(1, total + 1)]
    assert len(pages) == -(-total // per)
    assert [face for face in faces if face in whole] == faces
    assert whole.count(paper.squashed(data["trip"])) >= total
    for part in (
        paper.squashed(data["made"]),
        "imperial" if "imperial" in data["identity"][0] else "metric",
        "Baseline:",
        "changedsince2027-",
    ):
        assert whole.count(part) >= total, part


def test_a_short_name_stands_in_full_in_the_identity_of_each_face(card, paper):
    """With names of the usual length the whole identity stands on each face."""
    data, _, pages = card(0, "pocket")
    for page in paper.page_texts(pages):
        assert page.endswith(paper.squashed(" ".join(data["identity"])))


def test_names_too_long_for_each_face_stand_in_full_on_the_first(card, paper):
    """With 200 characters of hunter and place each face holds the short form, and the first ones the full one."""
    data, _, pages = card(len(CASES) - 1, "pocket")
    pages = paper.page_texts(pages)
    whole = "".join(pages)
    assert paper.squashed("".join(data["brief"])) in pages[0]
    assert data["trip"] == LONG
    for start in range(0, 180, 60):  # a name may run on over two faces, so its thirds are looked for
        assert ONE_WORD[start : start + 20] in whole
    assert paper.squashed(data["identity"][0])[-60:] in whole
    assert paper.squashed(data["identity"][1])[-40:] in whole


@pytest.mark.parametrize("size", SIZES)
def test_two_runs_give_the_same_bytes(a_plan, size):
    """Same trip, same day, same bytes: PDF, and PNG and SVG of the first face."""
    plan, _ = a_plan("cold-snap")
    for form in ("pdf", "png", "svg"):
        assert card_bytes(plan, size=size, form=form) == card_bytes(plan, size=size, form=form)


def test_per_page_sets_how_many_cards_share_a_sheet(a_plan, paper):
    """4, 2 or 1 to a sheet: the same faces on as many pages as that takes."""
    plan, _ = a_plan("high-basin")
    counts = {per: len(paper.sizes_mm(card_bytes(plan, size="letter", per_page=per)[0])) for per in (1, 2, 4)}
    assert counts[2] == -(-counts[1] // 2)
    assert counts[4] == -(-counts[1] // 4)


def test_the_usual_faces_are_the_front_and_the_back(a_plan):
    """Further faces come only when asked for."""
    plan, _ = a_plan("high-basin")
    assert DEFAULT_FACES == ("front", "back")
    assert [face["title"] for face in card_data(plan)["faces"]] == ["Pins and zeros", "After a knock"]
    assert len(card_data(plan, faces=FACES)["faces"]) == 5 + 9


@pytest.mark.parametrize("name", ["high-basin", "river-breaks", "cold-snap", "terraces-metric"])
@pytest.mark.parametrize(("size", "most"), [("pocket", 8), ("a6", 6), ("letter", 2), ("a4", 2)])
def test_front_and_back_take_few_faces(a_plan, paper, name, size, most):
    """What is read in the field stays short: eight faces of 3 x 5 in, six of A6, two sheets."""
    assert len(paper.sizes_mm(card_bytes(a_plan(name)[0], size=size)[0])) <= most


@pytest.mark.parametrize("name", ["high-basin", "river-breaks", "cold-snap", "terraces-metric"])
@pytest.mark.parametrize("size", SIZES)
def test_the_last_face_is_no_lonely_line(a_plan, paper, name, size):
    """What the last face holds is worth a face: its closing line stands in the lower two thirds."""
    *_, last = paper.glyphs(card_bytes(a_plan(name)[0], size=size, per_page=1 if size in ("letter", "a4") else None)[0])
    closing = last["".join(g.text for g in last).index("complete,time")]
    height = SIZES["pocket" if size == "pocket" else "a6"][1] * paper.MM
    assert closing.bottom - min(g.top for g in last) > height / 3


def test_the_pocket_front_is_two_faces(a_plan, paper):
    """Pins on one, bare shaft, zeros and limit on the other."""
    assert len(paper.sizes_mm(card_bytes(a_plan("high-basin")[0], faces=["front"])[0])) == 2


_RULE = (
    "  - {topic: draw weight, rule: at least 9%d lb, source: sheet on the board of the lodge, read_on: 2027-06-01}\n"
)


def _warned(many):
    """Requirements that are not met: each is a caution on the first face."""
    return "\nhome:", f"\nrequirements:\n{''.join(_RULE % n for n in range(many))}\nhome:"


@pytest.mark.parametrize("size", AREAS)
@pytest.mark.parametrize("name", ["high-basin", "terraces-metric"])
@pytest.mark.parametrize("many", [1, 2, 3, 4])
def test_pins_and_zeros_stay_together_where_a_face_holds_them(a_plan, paper, size, name, many):
    """However full the face before them: one face has every pin, one has both zeros."""
    pdf, _ = card_bytes(a_plan(name, _warned(many))[0], size=size, faces=["front"])
    pages = paper.page_texts(paper.glyphs(pdf))
    assert sum("pin" in page and "shift" in page for page in pages) == 1
    assert [("Nearzero" in page) for page in pages] == [("Farzero" in page) for page in pages]


def test_the_drift_picture_has_no_face_of_its_own(a_plan, paper):
    """Where it does not fit behind the limit, the limit goes on with it."""
    pages = paper.page_texts(
        paper.glyphs(card_bytes(a_plan("high-basin", _warned(3))[0], size="a6", faces=["front"])[0])
    )
    assert [("Limit:" in page) for page in pages] == [("Line:shift" in page) for page in pages]


def test_the_drift_picture_is_on_a6_and_on_a_pocket_card_when_asked(a_plan, paper):
    """A pocket front leaves it out; a face of its own has it."""
    plan, _ = a_plan("high-basin")

    def texts(size, face):
        return "".join(paper.page_texts(paper.glyphs(card_bytes(plan, size=size, faces=[face])[0])))

    assert "Line:shift" in texts("a6", "front")
    assert "Line:shift" not in texts("pocket", "front")
    assert "Line:shift" in texts("pocket", "drift")


@pytest.mark.parametrize("size", AREAS)
def test_a_caution_and_its_step_share_a_face(a_plan, paper, size):
    """Of every knock step the caution that stands before it is on the same face."""
    plan, _ = a_plan("terraces-metric")
    data = card_data(plan, faces=["back"])
    pages = paper.page_texts(paper.glyphs(card_bytes(plan, size=size, faces=["back"])[0]))
    items = data["faces"][0]["items"]
    pairs = [(a, b) for a, b in pairwise(items) if a["kind"] == "caution" and a.get("keep")]
    assert len(pairs) >= 5
    for caution, step in pairs:
        both = paper.squashed(caution["text"]), paper.squashed(step["title"]) + "\u2026"
        assert any(all(text in page for text in both) for page in pages), caution["text"]


def test_a_card_measured_among_others_is_the_same_card(a_plan, monkeypatch):
    """Heights of several cards from one run of typst, one name that no font has: the same bytes, and fewer runs."""
    plans = [a_plan(name)[0] for name in ("high-basin", "terraces-metric")]
    plans.append(plans[0]._replace(trip=plans[0].trip._replace(name="Camp \u9ad8", hunter_name="An Other")))
    runs = []
    compiled = typeset._compiler().compile

    class Counting:
        def compile(self, **given):
            runs.append(given)
            return compiled(**given)

    monkeypatch.setattr(typeset, "_compiler", Counting)
    monkeypatch.setattr(typeset, "_kept", {})
    alone = [card_bytes(plan, size="letter") for plan in plans]
    separately = len(runs)
    monkeypatch.setattr(typeset, "_kept", {})
    cards = [card_on_paper(plan, size="letter") for plan in plans]
    measure_cards(cards)
    assert [set_card(card, plan.today) for card, plan in zip(cards, plans, strict=True)] == alone
    assert len(runs) - separately < separately
