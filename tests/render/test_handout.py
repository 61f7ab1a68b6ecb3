"""The handout as a file: its policy, its size, what is in it, and that nothing from a trip can break out of it.

The browser tests use it; these read it. HTML is read by the standard library's parser, hashes by hashlib.
"""

import base64
import hashlib
import json
import re
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.render.handout import handout_html
from readiness.render.html import escaped, plain, script_data, tag
from readiness.stages import ALL as STAGES

LIMIT = 150_000  # bytes


class Read(HTMLParser):
    """Every element with its attributes, the text outside of script and style, and the texts of those two."""

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.elements, self.text, self.sources, self._stack = [], [], [], []
        self.feed(html)
        self.close()

    def handle_starttag(self, name, attributes):
        self.elements.append((name, dict(attributes)))
        if name in ("script", "style"):
            self.sources.append([name, dict(attributes), ""])
            self._stack.append(name)

    def handle_endtag(self, name):
        if self._stack and self._stack[-1] == name:
            self._stack.pop()

    def handle_data(self, data):
        if self._stack:
            self.sources[-1][2] += data
        else:
            self.text.append(data)


@pytest.fixture(scope="module")
def pages(plans):
    """Sample trip -> the text of its handout."""
    return {name: handout_html(plan) for name, plan in plans.items()}


@pytest.fixture(scope="module")
def plans(samples, a_trip):
    """Sample trip -> its plan at its fixed day."""
    from readiness.plan import make_plan
    from readiness.rules.packs import built_in_packs

    packs, _ = built_in_packs()
    made = {}
    for name, day in samples.items():
        trip = a_trip(name)
        made[name] = make_plan(
            trip, packs, today=date.fromisoformat(day), units=trip.units, arrows=12, trip_sha256="ab" * 32
        )[0]
    return made


def test_only_the_pages_own_style_and_script_may_run(pages):
    """The policy forbids everything but the two texts whose SHA-256 it names; there is no other script or style."""
    for html in pages.values():
        read = Read(html)
        policy = next(a["content"] for n, a in read.elements if a.get("http-equiv") == "Content-Security-Policy")
        directives = dict(part.strip().split(" ", 1) for part in policy.split(";"))
        wanted = {"script-src": "script", "style-src": "style"}
        for directive, name in wanted.items():
            texts = [text for n, a, text in read.sources if n == name and a.get("type") != "application/json"]
            assert len(texts) == 1
            digest = base64.b64encode(hashlib.sha256(texts[0].encode()).digest()).decode()
            assert directives.pop(directive) == f"'sha256-{digest}'"
        assert directives == {"default-src": "'none'", "base-uri": "'none'", "form-action": "'none'"}
        assert [a["type"] for n, a, _ in read.sources if n == "script" and a] == ["application/json"]


def test_nothing_in_it_leads_out(pages):
    """No address of any kind but one namespace name, links only within the page, no loading element, no inline handler."""
    for html in pages.values():
        read = Read(html)
        assert set(re.findall(r"\w+://[^\s\"'`<]+", html)) <= {"http://www.w3.org/2000/svg"}
        ids = {a["id"] for _, a in read.elements if "id" in a}
        for name, attributes in read.elements:
            assert name not in ("link", "img", "iframe", "object", "embed", "base", "audio", "video", "source")
            assert not {"src", "style", "action", "srcset", "data", "background"} & set(attributes)
            assert not [key for key in attributes if key.startswith("on")]
            if "href" in attributes:
                assert attributes["href"][0] == "#"
                assert attributes["href"][1:] in ids, attributes["href"]


def test_it_is_under_150_kb_for_every_sample(pages):
    """A handout goes through any message."""
    assert {name: len(html.encode()) for name, html in pages.items() if len(html.encode()) >= LIMIT} == {}


def test_it_is_a_page_for_a_phone_and_a_screen_reader(pages):
    """Language, title, viewport, a skip link that comes first, one main, headings that skip no level, ids once."""
    for html in pages.values():
        read = Read(html)
        names = [name for name, _ in read.elements]
        assert ("html", {"lang": "en"}) in read.elements
        assert names.count("main") == names.count("h1") == names.count("title") == 1
        assert any("width=device-width" in a.get("content", "") for _, a in read.elements)
        first = next(a for n, a in read.elements if n == "a")
        assert first == {"href": "#answer", "class": "skip"}
        levels = [int(name[1]) for name in names if re.fullmatch(r"h[1-6]", name)]
        assert all(b - a <= 1 for a, b in pairwise(levels))
        ids = [a["id"] for _, a in read.elements if "id" in a]
        assert len(ids) == len(set(ids))


def test_the_whole_plan_stands_in_it(pages, plans):
    """Identity, answer, every applying step with its texts, cautions, expectations, packing, packs, and what ends it."""
    for name, plan in plans.items():
        read = Read(pages[name])
        text = " ".join("".join(read.text).split())
        boxes = [a["id"] for n, a in read.elements if n == "div" and a.get("class", "").startswith("step")]
        wanted = [step for stage in STAGES for step in plan.steps_of(stage.key)]
        assert boxes == [step.id for step in wanted]
        for step in wanted:
            assert all(" ".join(words.split()) in text for words in (step.title, step.do, step.expect, step.if_not))
        for answer in plan.answers:
            assert " ".join(answer.sentences) in text
        assert all(
            caution.text.split(". ")[0] in text for caution in plan.cautions if caution.is_shown and caution.stages
        )
        assert all(row.item in text for row in plan.packing.rows)
        assert plan.trip_sha256[:12] in text
        assert f"Not valid if strings, rest, sight or arrows changed since {plan.trip.reference.shot_on}." in text
        assert all(ruling.requirement.source in text for ruling in plan.rulings)


def test_a_caution_stands_before_the_step_it_belongs_to(pages, plans):
    """In the order of the page, each caution of a step comes before the step and after the one before it."""
    html, plan = pages["high-basin"], plans["high-basin"]
    seen = 0
    for step in plan.steps:
        for caution in plan.cautions_before_step(step.id):
            if step.outcome == "applies":
                box = html.index(f"id={step.id}>")
                before = html.rindex(caution.id, 0, box)
                assert len(re.findall('class="?step', html[before:box])) <= 1
                seen += 1
    assert seen > 10


def test_the_same_plan_gives_the_same_bytes(pages, plans, run, tmp_path):
    """Twice in one process, and by the command with --date; another date is another page."""
    assert handout_html(plans["high-basin"]) == pages["high-basin"]
    words = ("handout", "sample_trips/high-basin.yaml", "--date", "2027-08-25", "-o")
    first, second = tmp_path / "a.html", tmp_path / "b.html"
    assert run(*words, first).code == run(*words, second).code == 0
    assert first.read_bytes() == second.read_bytes()
    assert run(*words, "-").out.encode() == first.read_bytes()
    assert run(*words[:3], "2027-08-26", "-o", "-").out.encode() != first.read_bytes()


def test_the_command_writes_the_data_as_json_and_takes_units(run):
    """--format json is what the page's script works with; --units turns the unit of right and up."""
    words = ("handout", "sample_trips/high-basin.yaml", "--date", "2027-08-25")
    data = json.loads(run(*words, "--format", "json").out)
    assert [place["name"] for place in data["places"]] == ["Trailhead camp", "Basin spike camp"]
    assert data["unit"] == "in"
    assert re.fullmatch(r"[0-9a-f]{16}", data["setup"])
    metric = json.loads(run(*words, "--format", "json", "--units", "metric").out)
    assert metric["unit"] == "cm"
    assert all(entry["text"].endswith(" m") for entry in metric["distances"])


@pytest.mark.parametrize(
    ("number", "name", "file", "title"),
    [
        ("c07", "Client seven", "c07.log.jsonl", "Client seven (c07), "),
        ("../b:1/é", "Client seven", "b_1_é.log.jsonl", "Client seven (../b:1/é), "),
        ("c07", None, "c07.log.jsonl", "c07, "),
        (None, "Client seven", "Client seven.log.jsonl", "Client seven, "),
        (None, None, "High basin_late season.log.jsonl", ""),
        ("CON", "", "x-CON.log.jsonl", "CON, "),
        ("***", "", "client.log.jsonl", "***, "),
    ],
)
def test_the_saved_log_and_the_page_say_whose_they_are(plans, number, name, file, title):
    """Twelve returns lie side by side in one folder, and twelve pages in one browser."""
    trip = plans["high-basin"].trip._replace(hunter_id=number, hunter_name=name)
    read = Read(handout_html(plans["high-basin"]._replace(trip=trip)))
    data = json.loads(next(text for _, attributes, text in read.sources if attributes))
    assert data["file"] == file
    assert f"{title}High basin, late season: handout" in read.text


def test_a_file_that_cannot_be_written_is_told(run, tmp_path):
    """A folder that is not there is a bad file, exit code 2."""
    ran = run("handout", "sample_trips/high-basin.yaml", "-o", tmp_path / "no" / "such" / "handout.html")
    assert ran.code == 2
    assert "handout.html" in ran.err


_BREAKERS = (
    "</script>",
    "<script>",
    "<!--",
    "-->",
    "]]>",
    "&lt;",
    "<b onload=x>",
    "</style>",
    "</title>",
    "javascript:",
)
_SCRIPTS = (
    "高原",
    "кемп",
    "معسكر",
    "ค่าย",
    "🏹",
    "e\u0301\u0323",
    '"',
    "'",
    "`",
    "\x00",
    "\u202e",
    "\u2066",
    "\u2028",
    "\u2029",
)
_SIGNS = st.one_of(st.characters(), st.sampled_from((*_BREAKERS, *_SCRIPTS)))
_NAMES = st.lists(_SIGNS, min_size=1, max_size=30).map("".join)


@settings(max_examples=40, deadline=None)
@given(st.lists(_NAMES, min_size=6, max_size=6))
def test_no_text_of_a_trip_can_become_markup(plans, pages, names):
    """Whatever is in its names, the page has the elements of the page without them, and says the names as text."""
    plan = plans["high-basin"]
    trip = plan.trip
    named = trip._replace(
        name=names[0],
        hunter_name=names[1],
        destinations=tuple(place._replace(name=names[2]) for place in trip.destinations[:1]) + trip.destinations[1:],
        heads=tuple(head._replace(name=names[3]) for head in trip.heads),
    )
    steps = tuple(step._replace(title=f"x{names[4]}", expect=f"y{names[5]}") for step in plan.steps)
    read = Read(handout_html(plan._replace(trip=named, steps=steps)))
    wanted = Read(pages["high-basin"])
    skeleton = [(name, sorted(attributes)) for name, attributes in read.elements]
    assert skeleton == [(name, sorted(attributes)) for name, attributes in wanted.elements]
    assert [source[2] for source in read.sources if not source[1]] == [s[2] for s in wanted.sources if not s[1]]
    assert plain(names[0]) in "".join(read.text)
    data = next(text for _, attributes, text in read.sources if attributes)
    assert not re.search("[<>&\u2028\u2029]", data)
    assert json.loads(data)["trip"] == names[0]


@given(_NAMES)
def test_escaped_text_reads_back_as_itself(text):
    """A parser gets back what was put in, in text and in an attribute, but for controls and turning signs."""
    read = Read(tag("p", text, title=text))
    assert read.elements == [("p", {"title": plain(text)})]
    assert "".join(read.text) == plain(text)
    assert escaped(escaped(text)) == escaped(text)
    assert json.loads(script_data(text)) == text


def test_the_scripts_texts_hold_no_sign_that_loses_its_spaces():
    """What is written out has the words of its source: spaces go only around signs of the language."""
    from readiness.render.handout import _close_script, _source

    script = _source("handout_judge.js", "handout.js")
    texts = re.findall(r'"(?:[^"\\\n]|\\.)*"', script)
    assert len(texts) > 300
    assert [text for text in texts if _close_script(text) != text] == []
    templates = [re.sub(r"\$\{[^{}]*\}", "${}", text) for text in re.findall(r"`[^`]*`", script)]
    plain = [text for text in templates if text.count("${") == text.count("${}")]
    assert len(plain) > 60
    assert [text for text in plain if _close_script(text) != text] == []
