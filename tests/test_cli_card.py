"""readiness card and plan -o: what is written where, and what is said when it cannot be."""

import json
import re

import pytest
from pypdf import PdfReader

from readiness.files import write_bytes

TRIP = "sample_trips/high-basin.yaml"
DAY = ("--date", "2027-08-25")


def test_a_card_is_written_and_said(run, tmp_path):
    """-o card.pdf writes a PDF of 3 x 5 in and tells where."""
    ran = run("card", TRIP, *DAY, "-o", tmp_path / "card.pdf")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == f"Wrote {tmp_path / 'card.pdf'}.\n"
    page = PdfReader(tmp_path / "card.pdf").pages[0]
    assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (216, 360)


def test_the_same_day_gives_the_same_bytes(run, tmp_path):
    """With --date a card can be made again byte for byte; another day shows another date."""
    for name, day in (("a", "2027-08-25"), ("b", "2027-08-25"), ("c", "2027-08-26")):
        assert run("card", TRIP, "--date", day, "-o", tmp_path / f"{name}.pdf").code == 0
    a, b, c = ((tmp_path / f"{name}.pdf").read_bytes() for name in "abc")
    assert a == b
    assert a != c


def test_an_older_card_is_replaced_whole(run, tmp_path):
    """The new card takes the place of the old one, and no other file is left beside it."""
    (tmp_path / "card.pdf").write_bytes(b"old")
    assert run("card", TRIP, *DAY, "-o", tmp_path / "card.pdf").code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["card.pdf"]
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(("ending", "start"), [("png", b"\x89PNG"), ("svg", b"<svg")])
def test_several_pages_get_numbers(run, tmp_path, ending, start):
    """card-1.png, card-2.png ...: one a page, each told."""
    ran = run("card", TRIP, *DAY, "--size", "a6", "-o", tmp_path / f"card.{ending}", "--faces", "front")
    names = sorted(path.name for path in tmp_path.iterdir())
    assert ran.code == 0
    assert names == [f"card-{n}.{ending}" for n in range(1, len(names) + 1)]
    assert len(names) > 1
    assert all((tmp_path / name).read_bytes().startswith(start) for name in names)
    assert ran.out.splitlines() == [f"Wrote {tmp_path / name}." for name in names]


def test_without_a_file_it_says_what_to_type(run):
    """A terminal shows no PDF: the error names -o."""
    ran = run("card", TRIP, *DAY)
    assert ran.code == 2
    assert "add -o card.pdf" in ran.err
    assert ran.out == ""


def test_a_dash_sends_the_card_on():
    """-o - writes the bytes to standard output, and nothing else."""
    import subprocess
    import sys

    done = subprocess.run(
        [sys.executable, "-m", "readiness", "card", TRIP, *DAY, "-o", "-"], capture_output=True, check=True
    )
    assert done.stdout.startswith(b"%PDF")
    assert done.stdout.rstrip().endswith(b"%%EOF")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("-o", "card.foo"), "let its name end in one of .pdf, .png, .svg, .json, or add --format pdf"),
        (("-o", "card"), "let its name end in one of"),
        (("-o", "card.pdf", "--format", "png"), "name it card.png"),
        (("-o", "card.pdf", "--faces", "frnt"), "did you mean front?"),
        (("-o", "card.pdf", "--faces", ","), "write some of front, back"),
        (("-o", "card.pdf", "--per-page", "2"), "write 1 with --size pocket"),
        (("-o", "card.pdf", "--size", "a4", "--per-page", "3"), "write 1 or 2 or 4 with --size a4"),
        (("-o", "-", "--format", "png"), "do not go into one stream"),
        (("-o", "no/such/folder/card.pdf"), "cannot be written"),
    ],
)
def test_each_wrong_use_says_what_to_type(run, words, told):
    """Exit code 2, and the words that put it right."""
    ran = run("card", TRIP, *DAY, *words)
    assert ran.code == 2
    assert told in re.sub(r"\s+", " ", ran.err)


def test_a_name_without_glyphs_is_a_warning(run, sample_text, tmp_path):
    """The card is made; the problem names the character and how it is printed."""
    text = sample_text("high-basin", ("name: High basin, late season", "name: 高地 late"))
    ran = run("card", "-", *DAY, "-o", tmp_path / "card.pdf", stdin=text)
    assert ran.code == 0
    assert "warning[no-glyph]: no font for paper has U+9AD8, U+5730: printed as [U+9AD8]" in ran.err
    assert "[U+9AD8]" in PdfReader(tmp_path / "card.pdf").pages[0].extract_text().replace("\u200b", "")


def test_the_card_as_json_goes_to_the_screen_or_a_file(run, tmp_path):
    """--format json gives the faces with their items."""
    ran = run("card", TRIP, *DAY, "--format", "json", "--faces", "front,wind")
    assert [face["title"] for face in json.loads(ran.out)["faces"]] == ["Pins and zeros", "Wind drift"]
    assert run("card", TRIP, *DAY, "-o", tmp_path / "card.json", "--faces", "front,wind").code == 0
    assert json.loads((tmp_path / "card.json").read_text(encoding="utf-8")) == json.loads(ran.out)


def test_a_pack_of_ones_own_stands_on_the_card(run, tmp_path):
    """--checklists adds the user's own steps, with everything in them printed letter by letter."""
    (tmp_path / "own.yaml").write_text(
        'pack: own\nversion: 1\nmode: "read, do"\nclosing: Dry\nrules:\n  - {id: OWN-010, stage: knock, title: "Strap #1 *tight*",'
        ' do: "Pull it.", expect: "No $x$ play.", if_not: "Tighten it.", basis: common practice}\n',
        encoding="utf-8",
    )
    ran = run("card", TRIP, *DAY, "--checklists", tmp_path, "-o", tmp_path / "card.pdf", "--size", "a6")
    assert ran.code in (0, 1)
    words = " ".join(page.extract_text() for page in PdfReader(tmp_path / "card.pdf").pages)
    assert "Strap #1 *tight*" in words
    assert "No $x$ play." in words


def test_a_broken_trip_leaves_no_card(run, tmp_path):
    """A bad file ends with 2 and its problems; nothing is written."""
    ran = run("card", "tests/bad_trips/shaft-0.232-ft.yaml", *DAY, "-o", tmp_path / "card.pdf")
    assert ran.code == 2
    assert "error[" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_plan_becomes_numbered_sheets_with_the_packing_list(run, tmp_path):
    """plan -o plan.pdf: every sheet says page n of N; the steps come first, the packing list last; all text is there."""
    ran = run("plan", TRIP, *DAY, "-o", tmp_path / "plan.pdf")
    assert (ran.code, ran.out) == (0, f"Wrote {tmp_path / 'plan.pdf'}.\n")
    pages = [page.extract_text() for page in PdfReader(tmp_path / "plan.pdf").pages]
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
    squashed = re.sub(r"\s", "", "".join(pages))
    assert "packinglist,byair" in squashed
    printed = run("plan", TRIP, *DAY, "--format", "json").out
    for step in json.loads(printed)["steps"]:
        if step["outcome"] == "applies":
            assert re.sub(r"\s", "", step["title"]) in squashed


def test_sheets_are_letter_or_a4_by_the_units(run, tmp_path):
    """Imperial pages are Letter, metric ones A4."""
    for units, size in (("imperial", (612, 792)), ("metric", (595, 842))):
        assert run("plan", TRIP, *DAY, "--units", units, "-o", tmp_path / "plan.pdf").code == 0
        box = PdfReader(tmp_path / "plan.pdf").pages[0].mediabox
        assert (round(float(box.width)), round(float(box.height))) == size


def test_the_paper_of_sheets_can_be_chosen(run, tmp_path):
    """--paper wins over the units; without sheets it is a mistake that says what to type."""
    for paper, size in (("letter", (612, 792)), ("a4", (595, 842))):
        assert run("plan", TRIP, *DAY, "--units", "metric", "--paper", paper, "-o", tmp_path / "plan.pdf").code == 0
        box = PdfReader(tmp_path / "plan.pdf").pages[0].mediabox
        assert (round(float(box.width)), round(float(box.height))) == size
    for words in ((), ("-o", tmp_path / "plan.txt"), ("--format", "json")):
        ran = run("plan", TRIP, *DAY, "--paper", "a4", *words)
        assert ran.code == 2
        assert "-o plan.pdf --paper a4" in ran.err
    assert not (tmp_path / "plan.txt").exists()


def test_a_plan_in_text_goes_to_a_file_as_it_goes_to_the_screen(run, tmp_path):
    """plan -o plan.txt and plan.md hold what the screen would show."""
    for form, ending in (("text", "txt"), ("markdown", "md"), ("json", "json")):
        shown = run("plan", TRIP, *DAY, "--format", form).out
        assert run("plan", TRIP, *DAY, "--format", form, "-o", tmp_path / f"plan.{ending}").code == 0
        assert (tmp_path / f"plan.{ending}").read_text(encoding="utf-8") == shown


def test_one_stage_on_sheets_has_no_packing_list(run, tmp_path):
    """--stage arrival -o arrival.pdf holds that stage alone."""
    assert run("plan", TRIP, *DAY, "--stage", "arrival", "-o", tmp_path / "arrival.pdf").code == 0
    words = " ".join(page.extract_text() for page in PdfReader(tmp_path / "arrival.pdf").pages)
    assert "packing list" not in words
    assert "Limbs and pockets" in words


def test_a_plain_plan_loads_nothing_of_paper():
    """The start-up of plan does not pay for cards: no module of typesetting is imported."""
    import subprocess
    import sys

    code = (
        "import sys; sys.argv=['readiness','plan','sample_trips/high-basin.yaml','--date','2027-08-25']\n"
        "from readiness import cli\n"
        "try: cli.run()\n"
        "except SystemExit: pass\n"
        "bad=[m for m in sys.modules if m=='typst' or m.startswith(('readiness.render.card','readiness.render.typeset',"
        "'readiness.commands.paper','readiness.render.glyphs','readiness.fieldtables'))]\n"
        "sys.stderr.write(repr(bad))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == "[]"


def test_a_file_that_cannot_be_written_is_a_problem(tmp_path):
    """write_bytes gives a problem, and leaves nothing behind."""
    (tmp_path / "folder").mkdir()
    problem = write_bytes(tmp_path / "folder", b"x")
    assert problem is not None
    assert problem.code == "unwritable"
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]
