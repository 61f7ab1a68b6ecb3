"""Items on faces: nothing lost, nothing taller than a face, headings and cautions where they belong. Heights are made up."""

from hypothesis import given
from hypothesis import strategies as st

from readiness.render.faces import filled

POINTS = 72 / 25.4
PAPER = {"width": 105.0, "height": 148.0, "top": 5.0, "side": 5.0, "foot": 13.0}
LINE = 13.0


def height(item):
    """A line for each ten words or each row; 40 pt for the top of a face and for its foot."""
    if item["kind"] in ("top", "foot"):
        return 40.0
    if item["kind"] == "table":
        return LINE * (1 + len(item["rows"]))
    words = " ".join([item.get("text", ""), item.get("if_not", ""), *item.get("lines", ())]).split()
    return LINE * (1 + len(words) // 10)


def faces_of(items):
    """The faces that items fill with these heights."""
    face = {"title": "A", "closing": "Done", "items": items}
    data = {"paper": PAPER, "made": "", "trip": "T", "identity": ["who"], "brief": ["w"], "faces": [face]}
    return filled(data, lambda _, several: [height(item) for item in several])["filled"]["faces"]


ROOM = (148.0 - 18.0) * POINTS - 84.0
texts = st.integers(1, 900).map(lambda n: " ".join(f"w{i}" for i in range(n)))
items = st.lists(
    st.one_of(
        st.builds(lambda text, kind: {"kind": kind, "text": text}, texts, st.sampled_from(["text", "caution"])),
        st.builds(lambda text: {"kind": "head", "text": text[:40]}, texts),
        st.builds(
            lambda n: {
                "kind": "table",
                "columns": ["1fr"],
                "header": ["h"],
                "rows": [[f"r{i}"] for i in range(n)],
                "wide_only": [],
                "big": [],
            },
            st.integers(1, 60),
        ),
        st.builds(
            lambda do, so: {
                "kind": "step",
                "number": 1,
                "box": False,
                "stop": True,
                "title": "t",
                "lines": [do],
                "if_not": so,
            },
            texts,
            texts,
        ),
    ),
    min_size=1,
    max_size=12,
)


def words_of(every):
    """All words of items in order; headings that came again over the rest of a table left out."""
    for item in every:
        if item["kind"] == "table":
            yield from (row[0] for row in item["rows"])
        elif not (item["kind"] == "head" and item["text"].endswith(" ...")) and item["kind"] != "closing":
            yield from " ".join([*item.get("lines", ()), item.get("text", ""), item.get("if_not", "")]).split()


@given(items)
def test_nothing_is_lost_and_no_face_overflows(given_items):
    """Every word and row once and in order, no face taller than its room, the closing line last."""
    faces = faces_of(given_items)
    assert all(sum(map(height, face["items"])) <= ROOM + 1e-6 for face in faces)
    assert list(words_of(item for face in faces for item in face["items"])) == list(words_of(given_items))
    assert faces[-1]["items"][-1] == {"kind": "closing", "text": "Done"}
    assert all(face["items"] for face in faces)


@given(items)
def test_a_heading_never_ends_a_face_of_which_more_is_to_come(given_items):
    """Where what follows a heading is short, both stand on one face."""
    short = [item for item in given_items if height(item) < 100 and item["kind"] in ("text", "caution")]
    mixed = [piece for item in short for piece in ({"kind": "head", "text": "h"}, item)]
    for face in faces_of(mixed or [{"kind": "text", "text": "w"}]):
        assert face["items"][-1]["kind"] != "head"


def test_a_long_table_runs_on_under_its_heading():
    """The rest of a table stands under the heading again, with at least two rows on either face."""
    rows = [[str(n)] for n in range(30)]
    table = {"kind": "table", "columns": ["1fr"], "header": ["h"], "rows": rows, "wide_only": [], "big": []}
    first, second = faces_of([{"kind": "head", "text": "Pins"}, table])
    assert second["items"][0] == {"kind": "head", "text": "Pins ..."}
    assert [*first["items"][1]["rows"], *second["items"][1]["rows"]] == rows
    assert len(second["items"][1]["rows"]) >= 2
