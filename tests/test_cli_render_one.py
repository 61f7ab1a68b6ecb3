"""readiness render-one: a line in, a line out, whatever the line holds."""

import json
from base64 import b64decode
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "sample_trips" / "larkspur-forks"
CAMP = (SAMPLE / "camp.yaml").read_text(encoding="utf-8")
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in sorted((SAMPLE / "clients").glob("*.yaml"))}
FIXED = ("--date", "2027-09-04")


def _line(client, **more):
    return json.dumps({"camp": CAMP, "client": client, **more}) + "\n"


def _results(done):
    return [json.loads(line) for line in done.out.splitlines()]


def test_each_line_gives_the_papers_that_roster_writes(run, tmp_path):
    """The same bytes, in the order of the lines."""
    done = run("render-one", *FIXED, stdin="".join(_line(text, name=f"{stem}.yaml") for stem, text in TEXTS.items()))
    run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    results = _results(done)
    assert [result["name"] for result in results] == [f"{stem}.yaml" for stem in TEXTS]
    for result in results:
        for paper in result["papers"]:
            file = tmp_path / "out" / result["row"]["id"] / paper["name"]
            data = paper["text"].encode("utf-8") if "text" in paper else b64decode(paper["base64"])
            assert file.read_bytes() == data
    assert done.code == 1
    assert done.err == ""


def test_a_ready_client_ends_with_0(run):
    """One line, nothing to settle."""
    done = run("render-one", *FIXED, stdin=_line(TEXTS["asa"]))
    assert (done.code, _results(done)[0]["row"]["status"]) == (0, "ready")


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("{", "not-json"),
        ("[1]", "not-json"),
        ("[" * 100_000, "not-json"),
        ('{"camp": 5, "client": "x"}', "wrong-type"),
        ('{"camp": "x"}', "wrong-type"),
        ('{"camp": "x", "client": "y", "packs": [1]}', "wrong-type"),
        ('{"camp": "x", "client": "y", "date": 7}', "bad-date"),
        ('{"camp": "x", "client": "y", "date": "2027-02-30"}', "bad-date"),
        ('{"camp": "x", "client": "y"}', "wrong-type"),
        ('{"camp": "\\ud800", "client": "y"}', None),
        ("\x00\x01", "not-json"),
    ],
)
def test_a_bad_line_has_a_result_and_the_next_is_read(run, line, code):
    """Whatever it is; the good line after it is made."""
    done = run("render-one", *FIXED, stdin=line + "\n\n" + _line(TEXTS["asa"]))
    bad, good = _results(done)
    assert bad["row"] is None
    assert code in (None, bad["problems"][0]["code"])
    assert good["row"]["status"] == "ready"
    assert done.code == 1


def test_a_line_that_is_too_long_is_passed_over(run, monkeypatch):
    """It is not kept in memory, and the next is read."""
    from readiness.commands import render_one

    monkeypatch.setattr(render_one, "MAX_LINE", 20_000)
    done = run("render-one", *FIXED, stdin="x" * 50_000 + "\n" + _line(TEXTS["asa"]))
    bad, good = _results(done)
    assert bad["problems"][0]["code"] == "too-large"
    assert good["row"]["status"] == "ready"


def test_a_client_with_errors_tells_them_by_the_name_that_was_sent(run):
    """Name, line and column; no papers."""
    text = TEXTS["asa"].replace("draw_weight: 64 lb", "draw_weight: 64")
    (result,) = _results(run("render-one", *FIXED, stdin=_line(text, name="booking 17")))
    (problem,) = result["problems"]
    assert (problem["file"], problem["code"], result["papers"]) == ("booking 17", "bare-number", [])
    assert text.splitlines()[problem["line"] - 1].strip() == "draw_weight: 64"


def test_the_day_of_a_line_wins(run):
    """Each line may be of another day."""
    lines = _line(TEXTS["asa"], date="2027-09-17") + _line(TEXTS["asa"])
    one, other = _results(run("render-one", *FIXED, stdin=lines))
    plans = [next(p["text"] for p in r["papers"] if p["name"] == "handout.html") for r in (one, other)]
    assert "1 day before the start" in " ".join(plans[0].split())
    assert "14 days before the start" in " ".join(plans[1].split())


def test_a_paper_that_is_no_text_travels_as_base64():
    """A PDF will."""
    import base64

    from readiness.camp.lines import _content

    assert base64.b64decode(_content(b"%PDF\xff\x00")["base64"]) == b"%PDF\xff\x00"
    assert _content("Åsa".encode()) == {"text": "Åsa"}
