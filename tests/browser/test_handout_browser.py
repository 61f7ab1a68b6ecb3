"""The handout in a real browser, used as a hunter at camp would use it."""

import json
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from readiness.arrival.log import read_log_file

ROOT = Path(__file__).resolve().parents[2]

SECTIONS = ("show", "stage-arrival", "butt", "pack", "pins", "causes", "carry", "form")
STOPS = ("ARR-010", "ARR-020", "ARR-030", "ARR-040", "ARR-050", "ARR-160")


def _unfold(page, *names):
    for name in names:
        section = page.locator(f"#{name}")
        if "closed" in section.get_attribute("class"):
            section.locator("h2 button").click()


def _tap(page, *places, pad="#target"):
    """Tap a picture at places given from its middle, in shares of half its width, right and up positive."""
    for right, up in places:
        box = page.locator(pad).bounding_box()
        x, y = (1 + right) * box["width"] / 2, (1 - up) * box["height"] / 2
        page.locator(pad).click(position={"x": x, "y": y})


def _shoot(page, distance, kind, *places):
    page.select_option("#distance", label=distance)
    page.select_option("#kind", label=kind)
    _tap(page, *places)


def _pass(page, *steps):
    for step in steps:
        page.locator(f"#{step}").get_by_label("As expected").check()


def _type(page, distance, kind, *places):
    """Arrows by numbers, right and up positive, in the unit of the page."""
    page.select_option("#distance", label=distance)
    page.select_option("#kind", label=kind)
    for place in places:
        for field, value in zip(("right", "up"), place, strict=True):
            page.fill(f"#{field}", str(abs(value)))
            page.select_option(f"#{field}-side", "-1" if value < 0 else "1")
        page.click("#add")


def _saved(page, folder, name="c07.log.jsonl"):
    with page.expect_download() as waiting:
        page.click("#export")
    waiting.value.save_as(folder / name)
    return folder / name


def _told(page):
    """What the page says of each check: (outcome, name)."""
    words = page.locator(".verdict").all_inner_texts()
    return [re.match(r"(PASS|FAIL|CANNOT TELL) ([^:]+):", text).groups() for text in words]


def test_ticks_and_values_are_there_after_a_reload(handout_of, opened):
    """A step ticked with its value, a packing tick and the look are kept by the browser."""
    page = opened(handout_of())
    _unfold(page, "stage-arrival", "pack")
    step = page.locator("#ARR-140")
    step.get_by_label("As expected").check()
    step.get_by_label("Now").fill("6 1/2 in and 33 1/16 in")
    step.get_by_label("Now").press("Tab")
    page.locator("[data-pack]").first.check()
    page.select_option("#look", "red")
    assert page.locator("#progress").inner_text().startswith("1 of ")
    page.reload()
    assert step.get_by_label("As expected").is_checked()
    assert step.get_by_label("Now").input_value() == "6 1/2 in and 33 1/16 in"
    assert page.locator("[data-pack]").first.is_checked()
    assert page.locator("html").get_attribute("data-look") == "red"
    assert page.locator("#stage-arrival .count").inner_text().startswith("1 of ")
    step.get_by_label("As expected").uncheck()
    page.reload()
    assert not step.get_by_label("As expected").is_checked()
    assert step.get_by_label("Now").input_value() == "6 1/2 in and 33 1/16 in"
    assert page.heard == []


@pytest.mark.parametrize(
    ("name", "near", "far"), [("high-basin", "20 yd", "60 yd"), ("terraces-metric", "18 m", "50 m")]
)
def test_tapped_arrows_get_the_verdict_of_assess(handout_of, opened, run, tmp_path, name, near, far):
    """What the page says on the spot is what readiness assess says at home of the log that the page saved."""
    path = handout_of(name)
    page = opened(path)
    _unfold(page, "butt", "carry", "stage-arrival")
    _pass(page, "ARR-170")
    distances = page.locator("#distance option").all_inner_texts()
    near, far = (label if label in distances else distances[at] for label, at in ((near, 2), (far, -1)))
    _shoot(page, near, "fletched", (0.0, 0.1), (0.1, 0.0), (-0.1, 0.05))
    _shoot(page, near, "bare shaft", (0.9, 0.9), (0.8, 0.9), (0.9, 0.8))
    page.click("#finish")
    assert page.evaluate("document.activeElement.id") == "says"
    _shoot(page, far, "fletched", (0.2, 0.1), (-0.3, 0.4), (0.0, 0.0))
    page.click("#outside")
    page.click("#finish")
    told = _told(page)
    assert {outcome for outcome, _ in told} >= {"PASS", "FAIL"}
    trip = path.parent / "trip.yaml"
    took = run("log", trip, "--import", _saved(page, tmp_path))
    assert took.code == 0, took.err
    assessed = json.loads(run("assess", trip, "--format", "json", "--date", "2027-09-12").out)
    assert told == [(v["outcome"].upper(), v["check"]) for v in assessed["verdicts"]]
    numbers = page.evaluate(
        "judge(here(), eveningOf(records(), here().name), data.rules).verdicts.map(v => [v.p, v.circle])"
    )
    for (p, circle), verdict in zip(numbers, assessed["verdicts"], strict=True):
        assert p == pytest.approx(verdict["p_value"], rel=1e-9, abs=1e-12)
        assert circle / 0.0254 == pytest.approx(verdict["circle_in"], rel=1e-9)
    assert page.locator("#verdicts").inner_text().count("Put it back to its marks first; the sight last.") >= 2
    assert "It shoots as it did" not in page.locator("#verdicts").inner_text()
    assert page.heard == []


def test_a_saved_log_comes_back_into_a_page_and_counts_once(handout_of, opened, tmp_path):
    """Saving twice gives the same file; an empty page takes it in, ticks and arrows too; taken in again, nothing is new."""
    path = handout_of()
    page = opened(path)
    _unfold(page, "stage-arrival", "butt", "carry")
    page.locator("#ARR-010").get_by_label("As expected").check()
    page.locator("#ARR-010").get_by_label("Now").fill("clean, north limb too")
    _shoot(page, "20 yd", "broadhead: hunting head", (0.1, 0.1))
    page.click("#finish")
    first, second = _saved(page, tmp_path), _saved(page, tmp_path, "again.jsonl")
    assert first.read_bytes() == second.read_bytes()
    records = [json.loads(line) for line in first.read_text(encoding="utf-8").splitlines()]
    assert [record["record"] for record in records] == ["step", "shots"]
    assert records[0]["value"] == "pass: clean, north limb too"
    assert all(re.fullmatch(r"[0-9a-f]{12}", record["id"]) for record in records)
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d-0[67]:00", record["time"]) for record in records)
    other = opened(path)
    _unfold(other, "stage-arrival", "butt", "carry")
    other.set_input_files("#import", first)
    other.locator("#carry-note", has_text="2 new records").wait_for()
    assert other.locator("#ARR-010").get_by_label("As expected").is_checked()
    assert other.locator("#groups li").count() == 1
    other.set_input_files("#import", second)
    other.locator("#carry-note", has_text="0 new records").wait_for()
    assert _saved(other, tmp_path, "third.jsonl").read_bytes() == first.read_bytes()


def test_what_was_saved_is_taken_back_by_a_record_of_its_own(handout_of, opened, run, tmp_path):
    """An undone group and a change go into the log as such, and the program at home sees what the page sees."""
    path = handout_of()
    page = opened(path)
    _unfold(page, "butt", "carry")
    _shoot(page, "20 yd", "fletched", (0.0, 0.1))
    page.click("#finish")
    _saved(page, tmp_path)
    page.locator("#groups button").first.click()
    assert page.locator("#groups li").count() == 0
    page.fill("#what", "rest back to its line")
    page.locator("#change button").click()
    _shoot(page, "20 yd", "fletched", (0.1, 0.1), (0.0, 0.0))
    page.click("#finish")
    log = _saved(page, tmp_path)
    kinds = [json.loads(line)["record"] for line in log.read_text(encoding="utf-8").splitlines()]
    assert kinds == ["shots", "undo", "change", "shots"]
    trip = path.parent / "trip.yaml"
    assert run("log", trip, "--import", log).code == 0
    assessed = json.loads(run("assess", trip, "--format", "json", "--date", "2027-09-12").out)
    assert [group["arrows"] for group in assessed["groups"]] == [2]
    assert _told(page) == [(v["outcome"].upper(), v["check"]) for v in assessed["verdicts"]]


def test_a_change_says_how_the_sight_counts(handout_of, opened):
    """The English words move it on purpose or put it back; others, in whatever language, leave it as it was."""
    page = opened(handout_of())
    _unfold(page, "butt")
    assert 'of the sight in English: "sight moved", "peep back"' in page.locator("#change").inner_text()
    for what, counts in (
        ("Visier verstellt", "where it was set at home"),
        ("sight moved up", "moved on purpose"),
        ("Visier verstellt", "moved on purpose"),
        ("sight back to 42.5", "where it was set at home"),
    ):
        page.fill("#what", what)
        page.locator("#change button").click()
        assert f"The sight counts as {counts}." in page.locator("#verdicts").inner_text()


def test_what_the_trip_itself_raises_hides_the_shooting_until_it_is_answered(handout_of, opened, axe):
    """An arrow too light: told before everything else, first among the open steps; no arrow is taken before its answer."""
    page = opened(handout_of(exchange=[("mass: 445 gr", "mass: 310 gr")]))
    _unfold(page, "stage-arrival", "stage-baseline", "butt")
    raised = page.locator("#raised")
    assert raised.inner_text().startswith("STOP, no shot: Arrow too light for this bow. At least 5 grains per pound")
    assert raised.bounding_box()["y"] < page.locator("#answer").bounding_box()["y"]
    assert (
        page.locator("#unanswered").inner_text().startswith("No shot before these stop steps are answered: arrow too")
    )
    assert axe(page) == []
    for stop in STOPS:
        page.locator(f"#{stop}").get_by_label("As expected").check()
    assert not page.locator("#entry").is_visible()
    page.locator("#BAS-010").get_by_label("As expected").check()
    assert page.locator("#entry").is_visible()
    assert not raised.is_visible()
    page.locator("#BAS-010").get_by_label("Not so").check()
    assert not page.locator("#entry").is_visible()
    assert raised.is_visible()


def test_a_stop_step_that_fails_hides_the_shooting_until_it_is_solved(handout_of, opened, run, tmp_path):
    """The STOP stands at the step, at the top and over the arrows at once, in the words that assess has at home."""
    path = handout_of()
    page = opened(path)
    _unfold(page, "stage-arrival", "butt", "carry")
    assert (
        page.locator("#unanswered").inner_text().startswith("No shot before these stop steps are answered: limbs and")
    )
    page.locator("#ARR-020").get_by_label("Not so").check()
    assert not page.locator("#entry").is_visible()
    assert not page.locator("#clock-form").is_visible()
    assert "STOP, no further shot" in page.locator("#ARR-020").inner_text()
    assert "string and cables (ARR-020) failed. Do not draw." in page.locator("#alarm").inner_text()
    assert "STOP" in page.locator("#progress").inner_text()
    trip = path.parent / "trip.yaml"
    assert run("log", trip, "--import", _saved(page, tmp_path)).code == 0
    assessed = run("assess", trip, "--format", "json", "--date", "2027-09-12")
    assert assessed.code == 1
    assert json.loads(assessed.out)["next_why"] == page.locator("#alarm").inner_text()
    assert "NOT SO" in page.locator("[data-state=ARR-020]").inner_text()
    page.reload()
    assert not page.locator("#entry").is_visible()
    for stop in STOPS:
        page.locator(f"#{stop}").get_by_label("As expected").check()
    assert page.locator("#entry").is_visible()
    assert not page.locator("#alarm").is_visible()
    assert page.locator("#unanswered").inner_text() == "The stop steps of the arrival are answered."
    page.locator("#ARR-030").get_by_label("Now").fill("good but a nick")
    page.locator("#ARR-030").get_by_label("Now").press("Tab")
    assert "takes this back" in page.locator("#ARR-030").inner_text()
    assert "cams, axles, clips" in page.locator("#unanswered").inner_text()


def test_marks_that_are_not_ticked_are_named_over_the_arrows(handout_of, opened):
    """Before the sight the marks: each one that is open stands there with a link to its step."""
    page = opened(handout_of())
    _unfold(page, "stage-arrival", "butt")
    assert "Marks not ticked yet: cam line, limb bolts, peep" in page.locator("#order").inner_text()
    page.locator("#ARR-060").get_by_label("As expected").check()
    assert "limb bolts" not in page.locator("#order").inner_text()
    page.locator("#order a", has_text="peep").click()
    assert page.evaluate("Math.abs(document.querySelector('#ARR-070').getBoundingClientRect().top) < 200")


def _no_shot(run, trip):
    """What assess says of the next group, on the day of the browser's clock: older answers lapse."""
    today = datetime.now(tz=UTC).date().isoformat()
    return json.loads(run("assess", trip, "--format", "json", "--date", today).out)["next_why"]


def test_low_groups_ask_for_limbs_string_and_cams_before_another_arrow(handout_of, opened, run, tmp_path):
    """A fletched arrow 3 m/s slow, the bare shaft where it was: STOP here as in assess, until the four were looked at."""
    path = handout_of("terraces-metric")
    page, trip = opened(path), path.parent / "trip.yaml"
    _unfold(page, "stage-arrival", "butt", "carry")
    _pass(page, *STOPS, "ARR-170")
    _type(page, "20 m", "fletched", (0.4, -1.5), (-0.6, -2.2), (0.5, -1.8))
    page.click("#finish")
    assert "It shoots as it did." in page.locator("#verdicts").inner_text()
    assert not page.locator("#alarm").is_visible()
    _type(page, "60 m", "fletched", (1.2, -14), (-3, -17), (4, -19), (0, -15), (-2, -16), (2, -18))
    page.click("#finish")
    assert _told(page) == [("PASS", "near zero"), ("FAIL", "far zero")]
    assert "It shoots as it did" not in page.locator("#verdicts").inner_text()
    assert "This check passes; another is off." in page.locator("#verdicts").inner_text()
    assert page.locator("#alarm").inner_text() == (
        "STOP, no further shot: low groups can be a limb, a string or a cam giving way. Look again, and answer: "
        "limbs and pockets, string and cables, cams, axles, clips, cam line."
    )
    assert "STOP" in page.locator("#progress").inner_text()
    assert not page.locator("#entry").is_visible()
    assert not page.locator("#ARR-010").get_by_label("As expected").is_checked()
    assert page.locator("#ARR-040").get_by_label("As expected").is_checked()
    assert run("log", trip, "--import", _saved(page, tmp_path)).code == 0
    assert _no_shot(run, trip).startswith("STOP, no further shot: the launch speed may have changed.")
    page.reload()
    assert not page.locator("#entry").is_visible()
    _pass(page, "ARR-010", "ARR-020", "ARR-030")
    assert page.locator("#alarm").inner_text().endswith("answer: cam line.")
    _pass(page, "ARR-050")
    assert not page.locator("#alarm").is_visible()
    assert page.locator("#entry").is_visible()
    assert run("log", trip, "--import", _saved(page, tmp_path)).code == 0
    assert "STOP" not in _no_shot(run, trip)
    _type(page, "60 m", "fletched", (0, -16))
    page.click("#finish")
    assert "limbs and pockets" in page.locator("#alarm").inner_text()
    page.locator("#ARR-010").get_by_label("Not so").check()
    assert "limbs and pockets (ARR-010) failed" in page.locator("#alarm").inner_text()
    assert page.heard == []


@pytest.mark.parametrize(
    ("what", "first"), [("sight moved up", ""), ("new string", "limbs and pockets, string and cables")]
)
def test_a_change_ends_the_low_group_and_what_was_answered_as_in_assess(handout_of, opened, run, tmp_path, what, first):
    """The zeros hold no longer after the sight was moved; after a change to the bow every stop step is open again."""
    path = handout_of("terraces-metric")
    page, trip = opened(path), path.parent / "trip.yaml"
    _unfold(page, "stage-arrival", "stage-baseline", "butt", "carry")
    _pass(page, *STOPS, "ARR-170", "BAS-020")
    _type(page, "60 m", "fletched", (1.2, -14), (-3, -17), (4, -19), (0, -15), (-2, -16), (2, -18))
    page.click("#finish")
    assert page.locator("#alarm").is_visible()
    page.fill("#what", what)
    page.locator("#change button").click()
    assert not page.locator("#alarm").is_visible()
    unanswered = page.locator("#unanswered").inner_text()
    open_again = f"No shot before these stop steps are answered: {first}"
    assert unanswered.startswith(open_again if first else "The stop steps of the arrival are answered.")
    assert not page.locator("#ARR-170").get_by_label("As expected").is_checked()
    assert page.locator("#BAS-020").get_by_label("As expected").is_checked()
    assert run("log", trip, "--import", _saved(page, tmp_path)).code == 0
    assert ("No further shot before these stop steps" in _no_shot(run, trip)) == bool(first)


def test_no_bare_shaft_is_taken_from_farther_off_before_the_close_up_passes(handout_of, opened):
    """The caution is the first thing over the entry; it bars entry and clock face until the step is answered."""
    page = opened(handout_of())
    _unfold(page, "butt", "stage-arrival")
    order = page.locator("#butt").inner_text()
    assert 0 < order.index("5 to 10 yd") < order.index("Enter arrows")
    page.select_option("#kind", label="bare shaft")
    assert "CAUTION" in page.locator("#kind-note").inner_text()
    _tap(page, (0.0, 0.0))
    assert page.locator("#draft li").count() == 0
    assert page.locator("#draft-note").inner_text() == "Not taken: see above."
    for field, value in (("hour", "7"), ("offset", "0.6")):
        page.fill(f"#{field}", value)
    assert page.locator("#clock-says").inner_text().startswith("CAUTION A bare shaft can leave the line.")
    page.select_option("#distance", label="10 yd")
    assert page.locator("#kind-note").inner_text() == ""
    _tap(page, (0.0, 0.0))
    page.click("#finish")
    page.select_option("#distance", label="20 yd")
    assert "CAUTION" in page.locator("#kind-note").inner_text()
    _pass(page, "ARR-170")
    assert page.locator("#kind-note").inner_text() == ""
    _tap(page, (0.0, 0.0))
    assert page.locator("#draft li").count() == 1
    page.select_option("#distance", label="40 yd")
    assert "Beyond the distance of its reference" in page.locator("#kind-note").inner_text()


def test_a_close_up_that_fails_is_logged_and_bars_all_arrows_from_farther_off(handout_of, opened, tmp_path):
    """Not so, the alarm, and what its step says to do; fletched arrows are taken from close up alone, too."""
    page = opened(handout_of("terraces-metric"))
    _unfold(page, "stage-arrival", "butt", "carry")
    _pass(page, *STOPS)
    page.locator("#ARR-170").get_by_label("Not so").check()
    said = "Bare shaft close up (ARR-170) failed. Back to the marks; nothing from farther off before one passes."
    assert page.locator("#alarm").inner_text() == said
    assert "STOP" not in page.locator("#progress").inner_text()
    page.select_option("#distance", label="20 m")
    assert page.locator("#kind-note").inner_text() == said
    _tap(page, (0.0, 0.0))
    page.select_option("#kind", label="bare shaft")
    assert page.locator("#kind-note").inner_text() == said
    _tap(page, (0.0, 0.0))
    assert page.locator("#draft li").count() == 0
    page.select_option("#distance", label="10 m")
    assert page.locator("#kind-note").inner_text() == ""
    _tap(page, (0.0, 0.0))
    assert page.locator("#draft li").count() == 1
    last = json.loads(_saved(page, tmp_path).read_text(encoding="utf-8").splitlines()[-1])
    assert (last["step"], last["value"]) == ("ARR-170", "fail")


def test_the_clock_face_says_at_once_whether_a_bare_shaft_is_inside(handout_of, opened):
    """The trip's own 7:15 at 0.6 in is on its baseline; the far side of the face is outside."""
    page = opened(handout_of())
    _unfold(page, "butt", "stage-arrival")
    _pass(page, "ARR-170")
    for field, value in (("hour", "7"), ("minutes", "15"), ("offset", "0.6")):
        page.fill(f"#{field}", value)
    assert page.locator("#clock-says").inner_text() == (
        "0.4 in left, 0.5 in low of the fletched middle, 0.0 in from its baseline: INSIDE this trip's circle of 1.5 in."
    )
    _tap(page, (0.9, 0.0), pad="#clock")
    assert (page.input_value("#hour"), page.input_value("#minutes")) == ("3", "0")
    assert "OUTSIDE" in page.locator("#clock-says").inner_text()
    assert "marks first; the sight last" in page.locator("#clock-says").inner_text()
    page.locator("#clock").press("ArrowLeft")
    assert (page.input_value("#hour"), page.input_value("#minutes")) == ("2", "45")
    assert page.locator("#groups li").count() == 0


def test_numbers_typed_are_arrows_like_tapped_ones(handout_of, opened):
    """Sideways and height with their sides, an arrow's number, the cold arrow, one too far, one taken off."""
    page = opened(handout_of())
    _unfold(page, "butt")
    page.fill("#arrow", "7")
    page.check("#cold")
    page.fill("#right", "1.3")
    page.select_option("#right-side", label="in left")
    page.click("#add")
    assert page.locator("#draft-note").inner_text().startswith("How far high or low")
    page.fill("#up", "0.4")
    page.click("#add")
    assert "20 yd, cold, fletched: 1.3 in left, 0.4 in high (number 7)" in page.locator("#draft").inner_text()
    assert not page.is_checked("#cold")
    page.fill("#right", "200")
    page.fill("#up", "0")
    page.click("#add")
    assert "over 3 m" in page.locator("#draft-note").inner_text()
    assert page.locator("#draft li").count() == 1
    page.reload()
    assert page.locator("#draft li").count() == 1
    page.click("#undo")
    assert page.locator("#draft li").count() == 0


def test_a_tap_is_read_to_a_tenth(handout_of, opened):
    """On the closest picture half the width is 3 in, and a tap at a third of it is 1.0 in."""
    page = opened(handout_of())
    _unfold(page, "butt")
    page.select_option("#zoom", "3")
    _tap(page, (1 / 3, -1 / 6), (0.1 / 3, 0.0))
    lines = page.locator("#draft li").all_inner_texts()
    assert "1.0 in right, 0.5 in low" in lines[0]
    assert "0.1 in right" in lines[1]


_SPOILT = {
    "SHOTS": ('"setup":"[0-9a-f]{16}"', '"setup":"0123456789abcdef"'),
    "PLACE": ("Trailhead", "Nowhere"),
    "HEAD": ('"kind":"fletched"', '"kind":"broadhead","head":"none such"'),
    "MORE": ('"unit"', '"colour":"red","unit"'),
    "FAR": ('"right":[0-9.]+', '"right":9999'),
}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("{", "is no record"),
        ('{"record": "step", "setup": "x"}', "is no record"),
        ("SHOTS", "another set-up"),
        ("PLACE", "place that this trip does not have"),
        ("FAR", "arrow without a place"),
        ("HEAD", "head that this trip does not have"),
        ("MORE", "more than a record"),
    ],
)
def test_a_file_that_is_no_log_of_this_bow_is_refused_whole(handout_of, opened, line, why):
    """The number of the line and the reason are told, and not one record is taken in."""
    page = opened(handout_of())
    _unfold(page, "butt", "carry")
    _shoot(page, "20 yd", "fletched", (0.0, 0.1))
    page.click("#finish")
    page.click("#show-text")
    good = page.input_value("#text")
    page.click("#clear")
    page.click("#clear")
    bad = re.sub(*_SPOILT[line], good, count=1) if line in _SPOILT else line
    bad = bad.replace(json.loads(good)["id"], "0123456789ab")
    page.fill("#text", f"{good}{bad}")
    page.click("#take-text")
    note = page.locator("#carry-note").inner_text()
    assert note.startswith("Nothing was taken in: line 2 ")
    assert why in note
    assert page.locator("#groups li").count() == 0


def test_a_browser_that_keeps_nothing_says_so_and_works_on(handout_of, opened, tmp_path):
    """Where storage throws, as in private windows, the page warns and still ticks, judges and saves."""
    script = (
        "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no', 'SecurityError'); }});"
    )
    page = opened(handout_of(), script=script)
    assert "keeps nothing" in page.locator("#memory").inner_text()
    _unfold(page, "butt", "carry")
    _shoot(page, "20 yd", "fletched", (0.0, 0.1), (0.1, 0.0), (0.0, 0.0))
    page.click("#finish")
    assert _told(page)[0][1] == "near zero"
    assert _saved(page, tmp_path).stat().st_size > 100
    assert page.heard == []


def test_another_place_has_its_own_evening(handout_of, opened):
    """Arrows and camp steps belong to the place; what was done at home is done."""
    page = opened(handout_of())
    _unfold(page, "butt", "stage-arrival", "stage-baseline")
    page.locator("#ARR-010").get_by_label("As expected").check()
    page.locator("#BAS-020").get_by_label("As expected").check()
    _shoot(page, "20 yd", "fletched", (0.0, 0.1))
    page.click("#finish")
    page.select_option("#place", label="Basin spike camp")
    assert page.locator("#verdicts").inner_text() == "No arrow yet."
    assert not page.locator("#ARR-010").get_by_label("As expected").is_checked()
    assert page.locator("#BAS-020").get_by_label("As expected").is_checked()


def test_the_answer_is_on_the_first_screen_and_stop_on_every_one(handout_of, opened):
    """Three warnings leave the answer in sight; a STOP stays in the bar, which leads to its words; rings can be read."""
    rules = [
        {
            "topic": "draw weight",
            "rule": f"at least 9{n} lb",
            "source": "sheet",
            "edition": 2027,
            "read_on": "2027-06-01",
        }
        for n in "012"
    ]
    page = opened(handout_of(exchange=[("\nhome:", f"\nrequirements: {json.dumps(rules)}\nhome:")]))
    page.set_viewport_size({"width": 400, "height": 800})
    assert page.locator("header .caution").count() == 3
    assert page.locator("#answer p").first.bounding_box()["y"] < 780
    _unfold(page, "stage-arrival", "butt", "pins")
    assert page.locator("#progress a").count() == 0
    page.locator("#ARR-160").get_by_label("Not so").check()
    stop = page.locator("#progress a")
    page.locator("#carry").scroll_into_view_if_needed()
    assert 0 <= stop.bounding_box()["y"] < 60
    stop.click()
    assert page.evaluate("document.querySelector('#alarm').getBoundingClientRect().top") == pytest.approx(220, abs=180)
    page.locator("#ARR-160").get_by_label("As expected").check()
    assert page.locator("#target text").first.bounding_box()["height"] >= 18
    assert page.locator("#pins h2").bounding_box()["height"] < 60
    assert "How far the arrow lands from the aiming point" in page.locator("#pins .body").inner_text()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_width_scrolls_sideways_and_every_target_takes_a_thumb(handout_of, opened, scheme):
    """All sections open, from 320 px up: no sideways scroll, nothing sticks out, nothing to press under 44 px high."""
    page = opened(handout_of(), color_scheme=scheme)
    _unfold(page, *SECTIONS)
    _shoot(page, "20 yd", "bare shaft", (0.0, 0.1), (0.5, 0.5))
    for width in (320, 390, 725, 768, 1280):
        page.set_viewport_size({"width": width, "height": 700})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(_SMALL) == []
        assert page.evaluate(_STICKING_OUT) == []


_SMALL = """() => [...document.querySelectorAll(
    'button, select, textarea, nav a, .bar a, label, input:not([type=checkbox])')]
  .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 43.9).map(e => e.outerHTML.slice(0, 80))"""
_STICKING_OUT = """() => [...document.querySelectorAll('main *')]
  .filter(e => e.checkVisibility() && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 80))"""


def test_it_prints_whole_with_boxes_and_without_controls(handout_of, opened):
    """On paper every stage is open, ticks are boxes, buttons and entry are gone; the PDF has its pages."""
    page = opened(handout_of())
    pdf = page.pdf(format="Letter")
    assert pdf.startswith(b"%PDF-")
    assert 10 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) <= 40
    page.emulate_media(media="print")
    visible = "id => document.querySelector(id).checkVisibility()"
    assert all(
        page.evaluate(visible, name) for name in ("#ARR-010", "#WEA-010 input", "#pack li", "#pins td", "footer")
    )
    assert not any(
        page.evaluate(visible, name) for name in ("nav", ".bar", "#entry", "#clock-form", "#carry", "#place")
    )


def test_the_keyboard_alone_ticks_shoots_and_judges(handout_of, opened):
    """From the skip link to a verdict and back without a pointer; the focus is always to be seen."""
    page = opened(handout_of())
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the answer"

    def tab_to(selector):
        for _ in range(250):
            if page.evaluate("s => document.activeElement.matches(s)", selector):
                seen = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert seen != "none", selector
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"the Tab key does not reach {selector}")

    tab_to("nav a[href='#stage-arrival']")
    page.keyboard.press("Enter")
    tab_to("#ARR-010 input")
    page.keyboard.press("Space")
    assert page.locator("#ARR-010").get_by_label("As expected").is_checked()
    tab_to("#butt h2 button")
    page.keyboard.press("Enter")
    tab_to("#target")
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp", "Enter", "ArrowDown", "Enter", "ArrowLeft", "Enter"):
        page.keyboard.press(key)
    assert "0.2 in right, 1.0 in high" in page.locator("#draft li").first.inner_text()
    tab_to("#finish")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "says"
    assert _told(page)[0][1] == "near zero"
    tab_to("#groups button")
    page.keyboard.press("Enter")
    assert page.locator("#groups li").count() == 0


def test_axe_finds_nothing(handout_of, opened, axe):
    """WCAG 2.2 AA and axe's good practice, all sections open, with arrows, verdicts and then a STOP on the page."""
    page = opened(handout_of())
    _unfold(page, *SECTIONS)
    _shoot(page, "20 yd", "fletched", (0.0, 0.1), (0.1, 0.0))
    page.click("#finish")
    _shoot(page, "20 yd", "bare shaft", (0.5, 0.5))
    assert axe(page) == []
    page.locator("#ARR-010").get_by_label("Not so").check()
    assert axe(page) == []


@pytest.mark.parametrize("look", ["dark", "paper", "red"])
def test_every_look_has_contrast_enough(handout_of, opened, axe, look):
    """Dark, black on white on a dark phone, and dark red: axe measures the contrast of every text."""
    page = opened(handout_of(), color_scheme="dark")
    page.select_option("#look", "auto" if look == "dark" else look)
    _unfold(page, *SECTIONS)
    page.locator("#ARR-010").get_by_label("Not so").check()
    assert axe(page, ["color-contrast"]) == []


def test_without_its_script_the_whole_plan_can_still_be_read(handout_of, opened):
    """A viewer that runs no script shows every section, and the page says what it cannot do there."""
    page = opened(handout_of(), java_script_enabled=False)
    assert page.locator("#no-script").is_visible()
    assert page.locator("#WEA-010").is_visible()
    assert page.locator("#pins table").first.is_visible()


HOSTILE = (
    "</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "'\"><svg onload=alert(1)>",
    "\u202egnp.exe<b>\u2066",
    "高原の宿 <b>кемп</b> معسكر ค่าย 🏹",
    "]]>&lt;!-- {{7*7}} ${alert(1)}",
)


def test_no_name_can_inject_anything(handout_of, opened):
    """Names with markup in many scripts are text everywhere: in headings, choices, notes, records that came in."""

    def named(plan):
        trip = plan.trip
        places = tuple(place._replace(name=HOSTILE[i]) for i, place in enumerate(trip.destinations))
        heads = tuple(head._replace(name=HOSTILE[i % 6] + str(i)) for i, head in enumerate(trip.heads))
        steps = tuple(
            step._replace(title=HOSTILE[i % 6], expect=HOSTILE[(i + 1) % 6]) for i, step in enumerate(plan.steps)
        )
        return plan._replace(
            trip=trip._replace(name=" ".join(HOSTILE), destinations=places, heads=heads, hunter_name=HOSTILE[4]),
            steps=steps,
        )

    page = opened(handout_of(change=named))
    before = page.evaluate("document.querySelectorAll('script, img, b').length")
    _unfold(page, *SECTIONS)
    page.select_option("#kind", index=2)
    _tap(page, (0.1, 0.1))
    page.click("#finish")
    page.fill("#what", HOSTILE[0])
    page.locator("#change button").click()
    page.locator("#ARR-010").get_by_label("Now").fill(HOSTILE[1])
    page.locator("#ARR-010").get_by_label("Not so").check()
    page.fill("#text", HOSTILE[0])
    page.click("#take-text")
    page.reload()
    assert page.heard == []
    assert page.evaluate("document.querySelectorAll('script, img').length") == 2
    assert page.evaluate("document.querySelectorAll('b').length") <= before
    assert page.locator("#place option").first.inner_text() == HOSTILE[0]
    assert HOSTILE[4] in page.locator("h1").inner_text()
    assert "[U+202E]gnp.exe" in page.locator("h1").inner_text()


def _fill(page, **values):
    """Fill in fields of the return form by the keys of the record; a dot stands as two underscores."""
    for name, value in values.items():
        field = page.locator(f'[name="{name.replace("__", ".")}"]')
        if field.evaluate("field => field.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
            field.press("Tab")


def _forms(path):
    records = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [record for record in records if record["record"] == "form"]


def test_a_form_filled_in_on_the_phone_is_collected_by_the_camp(opened, run, tmp_path):
    """The whole way: roster makes the handout, the page saves the form, roster takes it in and the overview tells it."""
    shutil.copytree(ROOT / "sample_trips" / "larkspur-forks", tmp_path / "camp")
    words = ("roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "out", "--date", "2027-09-04", "--jobs", "1")
    run(*words)
    page = opened(tmp_path / "out" / "lf01" / "handout.html")
    page.clock.set_fixed_time("2027-09-03T18:00:00Z")
    _unfold(page, "form")
    assert page.title() == "Asa of the Ferry (lf01), Larkspur Forks camp: handout"
    assert "Larkspur Forks camp. Contact: desk at the trailhead barn" in page.locator("#form").inner_text()
    _fill(page, verified_distance="40", draw_weight="60.5", heads="hunting head, 3 blades", second_release="yes")
    _fill(page, near_group__arrows="6", near_group__size="2.5", near_group__distance="20")
    _fill(page, far_group__arrows="6", education_number_seen="no", technician_checked_on="2027-08-14")
    assert "arrows, width and distance" in page.locator("#form-note").inner_text()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the log with this form").click()
    (tmp_path / "inbox").mkdir()
    saved = tmp_path / "inbox" / waiting.value.suggested_filename
    waiting.value.save_as(saved)
    assert saved.name == "lf01.log.jsonl"
    assert "Saved as lf01.log.jsonl" in page.locator("#form-saved").inner_text()
    (form,) = _forms(saved)
    assert form["client"] == "lf01"
    assert form["values"] == {
        "verified_distance": "40 yd",
        "near_group": {"arrows": 6, "size": "2.5 in", "distance": "20 yd"},
        "draw_weight": "60.5 lb",
        "heads": "hunting head, 3 blades",
        "second_release": "yes",
        "education_number_seen": "no",
        "technician_checked_on": "2027-08-14",
    }
    found = json.loads(run(*words, "--collect", tmp_path / "inbox", "--format", "json").out)
    assert [(one["client"], one["new"]) for one in found["collected"]["files"]] == [("lf01", 1)]
    row = next(row for row in found["clients"] if row["id"] == "lf01")
    assert (row["returned"], row["verified"]) == ("2027-09-03", "40 yd")
    assert [call.split(" ")[0] for call in row["calls"]] == ["draw", "verified", "education"]
    assert page.heard == []


def test_a_form_is_one_record_each_time_it_is_changed_and_saved(handout_of, opened, tmp_path):
    """Ids stay once they are saved; what was not saved is replaced; another page takes it in and shows it."""
    path = handout_of()
    page = opened(path)
    _unfold(page, "form", "carry")
    _fill(page, draw_weight="65")
    _fill(page, draw_weight="66", heads='<b>"head"</b>')
    first = _forms(_saved(page, tmp_path, "1.jsonl"))
    assert [form["values"]["draw_weight"] for form in first] == ["66 lb"]
    assert _forms(_saved(page, tmp_path, "2.jsonl")) == first
    _fill(page, draw_weight="64")
    _fill(page, draw_weight="66")
    assert _forms(_saved(page, tmp_path, "3.jsonl")) == first
    _fill(page, draw_weight="64.5")
    page.reload()
    assert page.locator("[name=draw_weight]").input_value() == "64.5"
    both = _forms(_saved(page, tmp_path, "4.jsonl"))
    assert [form["values"]["draw_weight"] for form in both] == ["66 lb", "64.5 lb"]
    assert both[0] == first[0]
    other = opened(path)
    _unfold(other, "form", "carry")
    other.set_input_files("#import", tmp_path / "4.jsonl")
    other.locator("#carry-note", has_text="2 new records").wait_for()
    assert other.locator("[name=draw_weight]").input_value() == "64.5"
    assert other.locator("[name=heads]").input_value() == '<b>"head"</b>'
    assert _saved(other, tmp_path, "5.jsonl").read_bytes() == (tmp_path / "4.jsonl").read_bytes()
    _fill(page, draw_weight="", heads="")
    cleared = read_log_file(_saved(page, tmp_path, "6.jsonl"))
    assert len(cleared.entries) == 4
    assert cleared.log.records == cleared.problems == ()
    assert page.heard == other.heard == []


def test_what_is_typed_and_not_yet_saved_outlives_a_reload(handout_of, opened, tmp_path):
    """Each key is kept, whole or not, without leaving the field; saving puts it into the log and forgets the draft."""
    page = opened(handout_of())
    page.clock.set_fixed_time("2027-09-03T18:00:00Z")
    _unfold(page, "form", "carry")
    page.locator("[name=heads]").press_sequentially("two blades")
    page.locator('[name="near_group.arrows"]').press_sequentially("6")
    page.locator("[name=draw_weight]").press_sequentially("6")
    page.reload()
    kept = {
        name: page.locator(f'[name="{name}"]').input_value() for name in ("heads", "near_group.arrows", "draw_weight")
    }
    assert kept == {"heads": "two blades", "near_group.arrows": "6", "draw_weight": "6"}
    page.locator("[name=draw_weight]").press_sequentially("6")
    page.locator("[name=draw_weight]").press("End")
    page.locator('[name="near_group.arrows"]').fill("")
    page.reload()
    (form,) = _forms(_saved(page, tmp_path))
    assert form["values"] == {"heads": "two blades", "draw_weight": "66 lb"}
    stored = page.evaluate("Object.values(localStorage).map(text => JSON.parse(text).form)")
    assert stored == [None]
    page.reload()
    assert page.locator("[name=heads]").input_value() == "two blades"
    assert _forms(_saved(page, tmp_path)) == [form]
    assert page.heard == []


def test_a_draft_that_the_log_cannot_take_is_kept_beside_it(handout_of, opened, tmp_path):
    """What may not be, and half a group, stay in their fields through a save and a reload; the note says they stay out."""
    page = opened(handout_of())
    _unfold(page, "form", "carry")
    _fill(page, heads="two blades", near_group__arrows="6")
    assert [form["values"] for form in _forms(_saved(page, tmp_path))] == [{"heads": "two blades"}]
    _fill(page, draw_weight="6")
    _saved(page, tmp_path, "again.jsonl")
    assert "return form" in page.locator("#carry-note").inner_text()
    page.reload()
    assert page.locator('[name="near_group.arrows"]').input_value() == "6"
    assert page.locator("[name=draw_weight]").input_value() == "6"
    assert "Not in the log yet" in page.locator("#form-note").inner_text()


@pytest.mark.parametrize(
    "throws",
    [
        "get() { throw new DOMException('no', 'SecurityError'); }",
        "value: {getItem: () => null, setItem() { throw new DOMException('full', 'QuotaExceededError'); }, removeItem() {}}",
    ],
)
def test_a_form_can_be_filled_in_where_nothing_is_kept(handout_of, opened, tmp_path, throws):
    """A storage that refuses, or is full, costs the draft and nothing else."""
    page = opened(handout_of(), script=f"Object.defineProperty(window, 'localStorage', {{{throws}}});")
    _unfold(page, "form", "carry")
    page.locator("[name=heads]").press_sequentially("two blades")
    assert "keeps nothing" in page.locator("#memory").inner_text()
    assert [form["values"] for form in _forms(_saved(page, tmp_path))] == [{"heads": "two blades"}]
    assert page.heard == []


@pytest.mark.parametrize(("button", "note"), [("#form button.main", "#form-saved"), ("#export", "#carry-note")])
def test_that_nothing_was_saved_is_told_where_the_thumb_is(handout_of, opened, button, note):
    """Pressed at the foot of the screen, the answer is in view, under the button, set apart, and said aloud."""
    page = opened(handout_of())
    _unfold(page, "form", "carry")
    page.locator(button).evaluate("b => scrollBy(0, b.getBoundingClientRect().bottom - innerHeight + 2)")
    page.locator(button).click()
    told = page.locator(note)
    assert told.inner_text().startswith("Nothing is logged yet, so no file was saved.")
    assert told.get_attribute("role") == "status"
    above, box = page.locator(button).bounding_box(), told.bounding_box()
    assert 0 <= box["y"] - above["y"] - above["height"] < 30
    assert box["y"] + box["height"] <= page.viewport_size["height"]
    assert told.evaluate("note => [getComputedStyle(note).fontWeight, getComputedStyle(note).borderTopWidth]") == [
        "700",
        "3px",
    ]
    middle = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2]
    assert page.evaluate("([x, y]) => document.elementFromPoint(x, y).closest('[role=status]').id", middle) == note[1:]


@pytest.mark.parametrize(
    ("day", "stage"),
    [
        ("2027-05-01", "baseline"),
        ("2027-07-31", "baseline"),
        ("2027-08-01", "verify"),
        ("2027-08-28", "verify"),
        ("2027-08-29", "freeze"),
        ("2027-09-10", "pack"),
        ("2027-09-11", "arrival"),
        ("2027-09-19", "return"),
        ("2028-01-02", "return"),
    ],
)
def test_the_stage_of_the_day_is_open(handout_of, opened, day, stage):
    """By the phone's clock the first stage whose days are not over, none that is past; after the trip the last."""
    page = opened(handout_of())
    page.clock.set_fixed_time(f"{day}T18:00:00Z")
    page.reload()
    assert page.locator(".stage:not(.closed)").evaluate_all("all => all.map(one => one.id)") == [f"stage-{stage}"]
    _unfold(page, "pack")
    page.reload()
    assert page.locator(".fold:not(.closed)").count() == 2


def test_a_hunting_day_opens_the_morning_once_the_arrival_has_let_the_bow_shoot(handout_of, opened):
    """As long as a stop step of the arrival is open, the arrival is what to do."""
    page = opened(handout_of())
    page.clock.set_fixed_time("2027-09-14T18:00:00Z")
    page.reload()
    opens = page.locator(".stage:not(.closed)")
    assert opens.get_attribute("id") == "stage-arrival"
    for stop in STOPS:
        page.locator(f"#{stop}").get_by_label("As expected").check()
    page.reload()
    assert opens.get_attribute("id") == "stage-morning"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("verified_distance", "400"),
        ("draw_weight", "6"),
        ("near_group.arrows", "1"),
        ("technician_checked_on", "2200-01-01"),
    ],
)
def test_what_the_log_at_home_would_refuse_stays_out_of_it_and_is_told(handout_of, opened, tmp_path, field, value):
    """The page never saves a form that nobody takes in."""
    page = opened(handout_of())
    _unfold(page, "form", "carry")
    _fill(page, heads="two of each")
    page.locator(f'[name="{field}"]').fill(value)
    page.locator(f'[name="{field}"]').press("Tab")
    assert "Not in the log yet" in page.locator("#form-note").inner_text()
    (form,) = _forms(_saved(page, tmp_path))
    assert form["values"] == {"heads": "two of each"}


@pytest.mark.parametrize(
    "change",
    [
        {"client": "someone else"},
        {"values": {}},
        {"values": {"draw_weight": "660 lb"}},
        {"values": {"draw_weight": 66}},
        {"values": {"heads": "a\nb"}},
        {"values": {"blood": "x"}},
        {"values": {"near_group": {"arrows": 3}}},
        {"values": ["66 lb"]},
        {"step": "ARR-010"},
    ],
    ids=str,
)
def test_a_form_that_the_log_at_home_refuses_is_not_taken_into_a_page(handout_of, opened, run, tmp_path, change):
    """Neither of the two takes it, and the fields stay as they were."""
    path = handout_of()
    page = opened(path)
    _unfold(page, "form", "carry")
    _fill(page, draw_weight="66")
    (form,) = _forms(_saved(page, tmp_path))
    bad = tmp_path / "bad.jsonl"
    bad.write_text(json.dumps({**form, "id": "0123456789ab", **change}) + "\n", encoding="utf-8")
    assert run("log", path.parent / "trip.yaml", "--import", bad).code == 2
    page.set_input_files("#import", bad)
    page.locator("#carry-note", has_text="Nothing was taken in").wait_for()
    assert page.locator("[name=draw_weight]").input_value() == "66"
    assert page.heard == []
