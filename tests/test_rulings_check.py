"""Requirements through the command line: exit codes, the promised JSON, and words that no page may use."""

import json
import re
from datetime import date

import pytest

DATE = ("--date", "2027-09-06")  # the invented trip starts on 2027-10-04
FORMS = ("text", "markdown", "json")
MEETS = {"topic": "draw weight", "rule": "at least 40 lb"}
FAILS = {"topic": "draw weight", "rule": "at least 70 lb"}
UNKNOWN = {"topic": "lighted nock", "rule": "not allowed"}


def copied(*rules):
    """Requirements as their user copies them, each from a booklet of its own."""
    return [
        {"source": f"booklet {n}", "read_on": "2027-05-02", "edition": 2027, **rule} for n, rule in enumerate(rules)
    ]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    ("rules", "code"),
    [
        ([], 0),
        ([MEETS], 0),
        ([MEETS, MEETS], 0),
        ([FAILS], 1),
        ([UNKNOWN], 1),
        ([MEETS, FAILS], 1),
        ([MEETS, UNKNOWN], 1),
    ],
    ids=lambda value: " and ".join(rule["rule"] for rule in value) or "none" if isinstance(value, list) else None,
)
def test_check_ends_with_1_unless_every_requirement_is_met(run, invented_text, rules, code, form):
    """Not met and not known are both "not ready"; the product stands on standard output all the same."""
    ran = run("check", "-", *DATE, "--format", form, stdin=invented_text(requirements=copied(*rules)))
    assert (ran.code, ran.err) == (code, "")
    assert all(rule["rule"] in ran.out for rule in rules)


def test_an_older_copy_that_is_not_met_does_not_hold_the_trip_back(run, invented_text):
    """The newer reading of the same text decides the exit code; the older one is still shown."""
    rules = [{**FAILS, "source": "booklet"}, {**MEETS, "source": "booklet", "read_on": "2027-08-02"}]
    ran = run("check", "-", *DATE, "--format", "json", stdin=invented_text(requirements=copied(*rules)))
    assert ran.code == 0
    found = json.loads(ran.out)
    assert found["waiting"] == []
    assert [(r["outcome"], r["superseded"]) for r in found["requirements"]] == [
        ("meets", False),
        ("does not meet", True),
    ]


def test_check_as_json_gives_each_requirement_with_the_promised_keys(run, invented_text):
    """Every key with its kind; dates as year-month-day, what was not stated as null."""
    rules = [
        {**FAILS, "place": "North unit", "applies_to": "elk"},
        {**MEETS, "read_on": "2026-01-31", "edition": 2026},
        UNKNOWN,
    ]
    ran = run("check", "-", *DATE, "--format", "json", stdin=invented_text(requirements=copied(*rules)))
    found = json.loads(ran.out)
    assert set(found) >= {"trip", "ready", "waiting", "requirements", "problems", "left_out"}
    assert (found["trip"], found["ready"]) == ("Marsh week", False)
    assert [line.split(":")[0] for line in found["waiting"]] == [
        "draw weight, at least 70 lb",
        "lighted nock, not allowed",
    ]
    texts = {"topic", "rule", "outcome", "because", "source", "read_on", "recheck_by"}
    for row in found["requirements"]:
        assert set(row) >= texts | {"edition", "place", "applies_to", "notes", "superseded"}
        assert {key: type(row[key]) for key in texts} == dict.fromkeys(texts, str)
        assert (type(row["notes"]), type(row["superseded"])) == (list, bool)
        assert row["recheck_by"] == "2027-09-20"
        assert date.fromisoformat(row["read_on"])
    strict, lax, unknown = found["requirements"]
    assert (strict["place"], strict["applies_to"], strict["edition"]) == ("North unit", "elk", "2027")
    assert (lax["place"], lax["applies_to"], len(lax["notes"])) == (None, None, 2)
    assert [row["outcome"] for row in (strict, lax, unknown)] == ["does not meet", "meets", "cannot tell"]
    assert [p["code"] for p in found["problems"]] == ["old-requirement"] * 2


def test_a_rule_that_cannot_be_read_ends_with_2_and_shows_line_caret_and_hint(run, invented_text):
    """A bad rule is a bad file: nothing is judged."""
    rules = copied({"topic": "draw weight", "rule": "at least 40"})
    ran = run("check", "-", *DATE, stdin=invented_text(requirements=rules))
    assert (ran.code, ran.out) == (2, "")
    assert re.search(r"^<stdin>:\d+:\d+: error\[bare-number\]: 40 has no unit$", ran.err, re.MULTILINE)
    assert "rule: at least 40" in ran.err
    assert "hint: write 40 lb" in ran.err


def all_kinds():
    """Requirements of every topic: some met, some not, some not to be told, one of them an older copy."""
    rules = {
        "draw weight": "at least 70 lb",
        "let-off": "at most 65 %",
        "arrow mass": "at least 300 gr",
        "arrow mass per draw weight": "at least 6 gr per lb",
        "arrow length": "at least 20 in",
        "head mass": "more than 6.5 g",
        "cutting width": "at least 7/8 in",
        "blade count": "at least 2",
        "fixed head": "required",
        "mechanical head": "not allowed",
        "lighted nock": "not allowed",
        "powered sight": "not allowed",
        "sight magnification": "at most 1",
        "education": "required",
        "document": "required",
    }
    entries = copied(*({"topic": topic, "rule": rule} for topic, rule in rules.items()))
    return [*entries, {**entries[0], "read_on": "2025-05-02", "edition": 2025}]


@pytest.mark.parametrize(
    "words",
    [*(("check", "--format", f) for f in FORMS), ("pack",), ("pack", "--format", "csv"), ("calendar",)],
    ids=" ".join,
)
def test_no_page_says_that_anything_is_legal_or_illegal(run, invented_text, words):
    """The tool holds notes against gear; what the law is, it never says."""
    declared = {"lighted nock": "yes", "powered sight": "no"}
    text = invented_text(requirements=all_kinds(), declared=declared, gear=[{"item": "bow case", "bag": "checked"}])
    command, *options = words
    ran = run(command, "-", *DATE, *options, stdin=text)
    assert ran.code in (0, 1)
    assert len(ran.out) > 500
    assert re.findall(r"\b(?:il|un)?(?:legal|lawful)\w*", ran.out + ran.err, re.IGNORECASE) == []
    if command == "check":
        assert {outcome for outcome in ("meets", "does not meet", "cannot tell") if outcome in ran.out.lower()} == {
            "meets",
            "does not meet",
            "cannot tell",
        }


def test_the_plan_speaks_of_legal_only_to_say_that_it_gives_no_legal_advice(run, invented_text):
    """The one use of the word is the disclaimer."""
    ran = run("plan", "-", *DATE, "--all", stdin=invented_text(requirements=all_kinds()))
    assert ran.code == 0
    text = " ".join(ran.out.replace("\n! ", " ").split())
    uses = re.findall(r"\w+ \w+ \b(?:il)?legal\w* \w+", text, re.IGNORECASE)
    assert uses
    assert set(uses) == {"here is legal advice"}
    assert "Nothing here is legal advice" in text
