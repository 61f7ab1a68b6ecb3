"""The command line's contract, in this process: exit codes row by row, what goes to which stream, options."""

import json
import re
import tempfile
from pathlib import Path

import pytest
from made_up import RIVER_PACK

ROOT = Path(__file__).resolve().parents[1]
HIGH, DATE = "sample_trips/high-basin.yaml", ("--date", "2027-08-25")
LIGHT = ("mass: 445 gr", "mass: 320 gr")  # 4.85 grains for each of 66 pounds
# Whether a course was taken cannot be told from a trip file that does not declare it.
REQUIREMENT = "requirements:\n  - {topic: education, rule: required, source: the agency, read_on: 2027-08-01}\n"


@pytest.fixture
def a_file(tmp_path):
    """A function: a file of a name with some text or bytes."""

    def written(name, text):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return written


@pytest.mark.parametrize(
    "words",
    [
        ("--help",),
        ("--version",),
        ("check", "-", *DATE),
        ("check", "-", *DATE, "--format", "json"),
        ("plan", HIGH, *DATE),
        ("plan", HIGH, *DATE, "--format", "markdown"),
        ("plan", HIGH, *DATE, "--format", "json"),
        ("pins", HIGH, *DATE),
        ("pins", HIGH, *DATE, "--why"),
        ("pins", HIGH, *DATE, "--format", "markdown"),
        ("pins", HIGH, *DATE, "--format", "json"),
        ("pins", HIGH, *DATE, "--format", "csv"),
        ("lint",),
        ("lint", "--format", "json"),
        ("schema", "trip"),
        ("schema", "pack", "--format", "text"),
        ("schema", "trip", "--format", "markdown"),
        ("new", "-", "--defaults"),
    ],
    ids=" ".join,
)
def test_0_done(run, starter, words):
    """Good input: exit code 0, something on standard output, nothing on standard error."""
    ran = run(*words, stdin=starter)
    assert (ran.code, ran.err) == (0, "")
    assert len(ran.out) > 20


def test_0_a_warning_is_no_failure(run, a_file, sample_text):
    """A trip in the past is planned with a warning on standard error, and code 0."""
    ran = run("plan", a_file("trip.yaml", sample_text()), "--date", "2028-08-25")
    assert ran.code == 0
    assert "warning[trip-past]" in ran.err
    assert "warning[" not in ran.out


@pytest.mark.parametrize("form", ["text", "json"])
def test_1_an_arrow_too_light_is_not_ready(run, starter, form):
    """check under 5 grains a pound: 1, and the reason is in the product, JSON too."""
    assert run("check", "-", *DATE, "--format", form, stdin=starter).code == 0
    ran = run("check", "-", *DATE, "--format", form, stdin=starter.replace(*LIGHT))
    assert ran.code == 1
    assert "STOP" in ran.out
    assert "warning[arrow-too-light]" in ran.err
    if form == "json":
        data = json.loads(ran.out)
        assert data["ready"] is False
        assert any("STOP" in reason for reason in data["waiting"])
        assert [p["code"] for p in data["problems"]] == ["arrow-too-light"]


@pytest.mark.parametrize("form", ["text", "json"])
def test_1_a_requirement_that_cannot_be_told_is_not_ready(run, starter, form):
    """check never says ready to a place's rule that nobody has answered."""
    ran = run("check", "-", *DATE, "--format", form, stdin=starter + REQUIREMENT)
    assert ran.code == 1
    assert "education" in ran.out
    assert "cannot tell" in ran.out


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_1_a_plan_with_a_broken_pack_is_printed_all_the_same(run, a_file, form):
    """The product on standard output is whole; what is wrong with the pack is on standard error."""
    pack = a_file("river.yaml", RIVER_PACK.replace("    expect: No grain left.\n", ""))
    ran = run("plan", HIGH, *DATE, "--format", form, "--checklists", pack.parent)
    whole = run("plan", HIGH, *DATE, "--format", form)
    assert (ran.code, whole.code) == (1, 0)
    assert "RIV-010" in ran.err
    assert len(ran.out) >= len(whole.out) - 20


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "--no-such-option", HIGH), "--no-such-option"),
        (("plan", HIGH, "--format", "pdf"), "pdf"),
        (("plan", HIGH, "--date", "2027-02-30"), "there is no day 2027-02-30"),
        (("plan", HIGH, "--date", "tomorrow"), "year-month-day"),
        (("plan", HIGH, "--stage", "packing"), "baseline, verify, freeze"),
        (("plan", HIGH, "--units", "furlongs"), "imperial"),
        (("plan", HIGH, "--arrows", "1"), "2<=x<=200"),
        (("plan",), "TRIP"),
        (("plans",), "plans"),
        (("schema", "weather"), "weather"),
        (("plan", "no-such-file.yaml"), "no-such-file.yaml: error[unreadable]"),
        (("check", "sample_trips"), "this is a folder"),
        (("lint", "no-such-pack.yaml"), "error[unreadable]"),
    ],
)
def test_2_bad_usage_or_a_file_that_is_not_there(run, words, says):
    """Nothing on standard output; standard error names what is wrong."""
    ran = run(*words)
    assert ran.code == 2
    assert says in ran.err
    assert "Traceback" not in ran.err
    assert ran.out == "" or words[0] == "lint"


@pytest.mark.parametrize("command", ["check", "plan", "pins"])
@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("format: 1\n", "missing-key"),
        ("", "empty"),
        ("a: [", "syntax"),
        ("#" * 1_000_001, "too-large"),
        (b"trip: \xff\xfe", "not-utf8"),
        (b"trip: \x00", "syntax"),
        ("just text", "wrong-type"),
    ],
    ids=["missing", "empty", "syntax", "too large", "not UTF-8", "control character", "text"],
)
def test_2_a_broken_trip_file(run, a_file, command, text, code):
    """Every command that reads a trip refuses it in the same way, with the file's name."""
    path = a_file("trip.yaml", text)
    ran = run(command, path, *DATE)
    assert (ran.code, ran.out) == (2, "")
    assert f"{path}" in ran.err
    assert f"error[{code}]" in ran.err


def test_2_check_gives_the_problems_as_json_too(run, a_file):
    """The product of a check is its problems: JSON goes to standard output also when the file is broken."""
    ran = run("check", a_file("trip.yaml", "format: 1\n"), "--format", "json")
    data = json.loads(ran.out)
    assert (ran.code, data["ready"], data["trip"]) == (2, False, None)
    assert {p["code"] for p in data["problems"]} == {"missing-key"}
    assert set(data["problems"][0]) >= {"severity", "code", "file", "line", "column", "message", "hint"}
    assert ran.err.count("error[missing-key]") == len(data["problems"])


@pytest.mark.parametrize("form", ["text", "json"])
def test_2_lint_of_a_bad_pack(run, form):
    """Problems of a pack make lint end with 2; the summary, or the JSON, is on standard output."""
    ran = run("lint", "tests/bad_packs/craft.yaml", "--format", form)
    assert ran.code == 2
    if form == "json":
        assert {p["code"] for p in json.loads(ran.out)["problems"]} == {"empty-words", "late-stop"}
    else:
        assert "8 problems" in ran.out
        assert ran.err.count("error[") == 8


def test_3_our_own_fault_says_where_the_traceback_is(run, monkeypatch, tmp_path):
    """A short message without a traceback; the file that it names holds it."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr("readiness.plan.make_plan", lambda *_, **__: 1 / 0)
    ran = run("plan", HIGH, *DATE)
    assert (ran.code, ran.out) == (3, "")
    assert "Traceback" not in ran.err
    assert "ZeroDivisionError" in ran.err
    (named,) = re.findall(re.escape(str(tmp_path)) + r"\S+", ran.err)
    details = Path(named).read_text(encoding="utf-8")
    assert "Traceback (most recent call last)" in details
    assert "ZeroDivisionError: division by zero" in details


def test_3_the_traceback_is_shown_where_no_file_can_be_written(run, monkeypatch):
    """Nothing is lost on a full disk."""

    def refuse(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "mkstemp", refuse)
    monkeypatch.setattr("readiness.plan.make_plan", lambda *_, **__: 1 / 0)
    ran = run("plan", HIGH, *DATE)
    assert ran.code == 3
    assert "ZeroDivisionError: division by zero" in ran.err


def test_130_interrupted(run, monkeypatch):
    """Control-C anywhere ends with 130 and a word."""

    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("readiness.plan.make_plan", interrupt)
    ran = run("plan", HIGH, *DATE)
    assert (ran.code, ran.out) == (130, "")
    assert "Interrupted" in ran.err
    assert "Traceback" not in ran.err
