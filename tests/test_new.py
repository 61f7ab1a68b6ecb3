"""`readiness new`: a first trip file that passes, questions that come again, and no file overwritten."""

import json
import sys
from datetime import date

import pytest

from readiness.trip.load import load_trip
from readiness.trip.starter import QUESTIONS

DATE = ("--date", "2027-08-25")


def answers(**given):
    """What is typed: an answer to each question, empty ones where nothing is given; lists are typed one by one."""
    typed = [given.get(question.field, "") for question in QUESTIONS]
    return "".join(f"{line}\n" for answer in typed for line in (answer if isinstance(answer, list) else [answer]))


def test_the_stand_in_file_passes_the_check(run, tmp_path):
    """--defaults asks nothing, tells where the file is, and check finds nothing wrong with it."""
    path = tmp_path / "trip.yaml"
    ran = run("new", path, "--defaults", *DATE)
    assert (ran.code, ran.err) == (0, "")
    assert str(path) in ran.out
    checked = run("check", path, *DATE)
    assert (checked.code, checked.err) == (0, "")
    assert run("plan", path, *DATE).code == 0


def test_the_stand_in_trip_begins_eight_weeks_from_today(run):
    """Early enough for the first stage."""
    loaded = load_trip(run("new", "-", "--defaults", *DATE).out, "trip.yaml", date(2027, 8, 25))
    assert loaded.problems == ()
    assert (loaded.trip.starts, loaded.trip.ends) == (date(2027, 10, 20), date(2027, 10, 27))


def test_a_dash_writes_the_file_to_standard_output_and_nothing_else(run, tmp_path, monkeypatch):
    """The file alone, so that it can be sent on; questions stand on standard error."""
    monkeypatch.chdir(tmp_path)
    asked = run("new", "-", *DATE, stdin=answers(name="River breaks"))
    assert asked.code == 0
    assert asked.out.startswith("#")
    assert load_trip(asked.out, "trip.yaml", date(2027, 8, 25)).trip.name == "River breaks"
    assert "What do you call this trip?" in asked.err
    assert run("new", "-", "--defaults", *DATE).out == run("new", "-", *DATE, stdin=answers()).out


def test_every_line_of_the_starter_that_is_switched_off_can_be_switched_on(run):
    """The optional keys in comments are valid: without their # the file still loads, apart from what excludes another."""
    text = run("new", "-", "--defaults", *DATE).out
    wanted = ("hazards", "humidity", "latitude", "let_off", "brace_height", "axle_to_axle", "balance_point")
    lines = [
        line.replace("# ", "", 1) if line.strip().startswith(tuple(f"# {key}:" for key in wanted)) else line
        for line in text.splitlines()
    ]
    head, reference = "\n".join(lines).split("# reference:")
    reference = "\n".join(line.removeprefix("# ") for line in f"# reference:{reference}".splitlines())
    loaded = load_trip(head + reference, "trip.yaml", date(2027, 10, 21))
    assert [p for p in loaded.problems if p.severity == "error"] == []
    assert loaded.trip.bow.let_off == pytest.approx(0.8)
    assert loaded.trip.reference.bare_shaft.pairs == 6
    assert loaded.trip.changes[0].what == "string"


@pytest.mark.parametrize(
    ("field", "wrong", "reason"),
    [
        ("starts", "next week", "is not a date"),
        ("starts", "2027-02-30", "there is no day 2027-02-30"),
        ("travel", "boat", "write air or road"),
        ("home_elevation", "620", "620"),
        ("draw_weight", "66 in", "in"),
        ("shaft_diameter", "0.232 ft", "did you mean 0.232 in"),
        ("pins", "20 yd, 30", "30"),
        ("camp_temperature", "cold", "cold"),
        ("name", "x" * 201, "too long"),
    ],
)
def test_a_wrong_answer_is_asked_again_with_the_reason(run, field, wrong, reason):
    """The question comes a second time, what was wrong stands between, and the right answer counts."""
    right = {"starts": "2027-09-11", "travel": "road", "home_elevation": "700 ft", "draw_weight": "60 lb"}
    right |= {"shaft_diameter": "0.246 in", "pins": "20 yd, 30 yd", "camp_temperature": "-5 C", "name": "Ridge"}
    ran = run("new", "-", *DATE, stdin=answers(**{field: [wrong, right[field]]}))
    words = next(question.words for question in QUESTIONS if question.field == field)
    assert ran.code == 0
    assert ran.err.count(words) == 2
    assert reason in ran.err.split(words)[1]
    assert right[field] in ran.out
    assert f": {wrong} " not in ran.out
    assert load_trip(ran.out, "trip.yaml", date(2027, 8, 25)).trip is not None


def test_answers_of_every_kind_arrive_in_the_trip(run):
    """Also names with quotes, colons and marks that YAML would take for its own."""
    hostile = 'a: "b" # c {d} [e] \\ % & *'
    given = {
        "name": hostile,
        "camp_name": "- x",
        "hand": "left",
        "travel": "road",
        "pins": "18 m, 30 m",
        "speed": "80 m/s",
    }
    ran = run("new", "-", *DATE, stdin=answers(**given))
    trip = load_trip(ran.out, "trip.yaml", date(2027, 8, 25)).trip
    assert (trip.name, trip.destinations[0].name, trip.hand, trip.travel) == (hostile, "- x", "left", "road")
    assert trip.bow.sight.pins_m == (18.0, 30.0)
    assert trip.arrow.speed_m_s == 80.0


def test_an_existing_file_stays_as_it_is(run, tmp_path):
    """Without --force it is refused with 2 and what to do; with it the file is new."""
    path = tmp_path / "trip.yaml"
    path.write_text("mine", encoding="utf-8")
    ran = run("new", path, "--defaults")
    assert (ran.code, ran.out, path.read_text(encoding="utf-8")) == (2, "", "mine")
    assert "error[exists]" in ran.err
    assert "--force" in ran.err
    assert run("new", path, "--defaults", "--force").code == 0
    assert path.read_text(encoding="utf-8") != "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["trip.yaml"]


def test_an_existing_file_is_refused_before_the_questions(run, tmp_path):
    """Nobody answers two dozen questions for nothing."""
    path = tmp_path / "trip.yaml"
    path.write_text("mine", encoding="utf-8")
    ran = run("new", path, stdin=answers())
    assert ran.code == 2
    assert "What do you call this trip?" not in ran.err


def test_a_folder_that_is_not_there_is_named(run, tmp_path):
    """The system's reason, and code 2."""
    ran = run("new", tmp_path / "nowhere" / "trip.yaml", "--defaults")
    assert (ran.code, ran.out) == (2, "")
    assert "error[unwritable]" in ran.err
    assert "nowhere" in ran.err


def test_the_folder_itself_is_no_file(run, tmp_path):
    """Not even with --force."""
    assert run("new", tmp_path, "--defaults", "--force").code == 2
    assert tmp_path.is_dir()


def test_json_tells_what_was_written(run, tmp_path):
    """For scripts: the path and what comes next."""
    ran = run("new", tmp_path / "trip.yaml", "--defaults", "--format", "json")
    assert json.loads(ran.out)["written"] == str(tmp_path / "trip.yaml")


def test_an_input_that_ends_early_leaves_no_file(run, tmp_path):
    """As if interrupted."""
    ran = run("new", tmp_path / "trip.yaml", stdin="Ridge\n")
    assert (ran.code, ran.out) == (130, "")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="rights of another kind")
def test_the_file_can_be_read_by_others(run, tmp_path):
    """It is no secret: the usual rights of a new file."""
    run("new", tmp_path / "trip.yaml", "--defaults")
    assert (tmp_path / "trip.yaml").stat().st_mode & 0o777 == 0o644
