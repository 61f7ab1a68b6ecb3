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


def notices(run, text):
    """What stands on the plan before its stop steps."""
    page = " ".join(run("plan", "-", *DATE, stdin=text).out.replace("\n! ", " ").split())
    return page[: page.index("STOP steps")]


def test_a_rule_that_cannot_be_told_is_raised_on_the_plan_with_what_would_tell(run, invented_text):
    """A head that may be unlawful must not wait at the end of a list."""
    width = {"topic": "cutting width", "rule": "at least 1 in"}
    head = {
        "name": "H",
        "kind": "mechanical",
        "mass": "100 gr",
        "cutting_width": "2 in",
        "cutting_width_closed": "0.8 in",
    }
    text = invented_text(requirements=copied(width, UNKNOWN, FAILS), heads=[head])
    told = notices(run, text)
    assert "Not known whether the trip meets cutting width, at least 1 in (booklet 0): H: 2 in is at least 1 in" in told
    assert "the rule does not say whether it is measured open or closed: ask, and write it into the rule." in told
    assert (
        "Not known whether the trip meets lighted nock, not allowed (booklet 1): missing declared: lighted nock. "
        "Add what is missing to the trip file."
    ) in told
    assert told.index("Does not meet draw weight") < told.index("Not known")
    settled = copied({**width, "rule": "at least 1 in open"}, UNKNOWN, FAILS)
    text = invented_text(requirements=settled, heads=[head], declared={"lighted nock": "no"})
    assert "Not known" not in notices(run, text)
    assert "Not known" not in notices(run, invented_text(requirements=copied(MEETS, FAILS)))


def test_an_older_copy_that_could_not_be_told_raises_nothing(run, invented_text):
    """The newer one decides."""
    old = {"topic": "let-off", "rule": "at most 85 %", "source": "booklet", "read_on": "2026-05-02", "edition": 2026}
    text = invented_text(requirements=[old, {**old, "read_on": "2027-05-02", "edition": 2027}], bow={"let_off": None})
    assert notices(run, text).count("Not known") == 1


def test_many_rules_that_cannot_be_told_share_one_notice(run, invented_text):
    """A card in the pocket is small: the names stand there, the reasons in check."""
    topics = ("lighted nock", "powered sight", "education", "document")
    rules = [{"topic": topic, "rule": "not allowed" if " " in topic else "required"} for topic in topics]
    told = notices(run, invented_text(requirements=copied(*rules)))
    assert "Not known whether the trip meets 4 rules: lighted nock, not allowed; powered sight, not allowed;" in told
    assert told.count("Not known") == 1
    assert "missing declared" not in told
    assert notices(run, invented_text(requirements=copied(*rules[:3]))).count("Not known") == 3


# A slider whose marks want another arrow: 15 yd to 30 yd are far too much travel for 270 fps over 33 in.
MISFIT = {
    "sight": {
        "kind": "slider",
        "radius": "33 in",
        "pins": ["20 yd", "30 yd", "40 yd"],
        "marks": [{"distance": f"{yards} yd", "reading": f"{mm} mm"} for yards, mm in ((15, 6), (20, 16), (30, 38))],
    }
}


def test_check_tells_what_the_plan_raises_beside_the_requirements(run, invented_text):
    """Sight marks that do not fit; a bow changed since its reference; a stop step that this trip raises."""
    sound = json.loads(run("check", "-", *DATE, "--format", "json", stdin=invented_text()).out)
    assert sound["doubts"] == []
    text = invented_text(
        bow=MISFIT,
        arrow={"mass": "300 gr"},  # 4.6 grains for each of 65 lb
        reference={"shot_on": "2027-03-01", "bare_shaft": {"distance": "20 yd", "clock": "7:00", "offset": "0.5 in"}},
        setup_changed=[{"what": "string", "on": "2027-04-01"}],
    )
    doubts = json.loads(run("check", "-", *DATE, "--format", "json", stdin=text).out)["doubts"]
    assert [doubt.split(" ")[0] for doubt in doubts] == ["STOP", "Something", "The"]
    assert doubts[2].startswith("The sight marks do not fit the rest of the file, so they were left out")
    page = " ".join(run("check", "-", *DATE, stdin=text).out.split())
    assert "Doubtful, and told in the plan too" in page
    assert all(doubt in page for doubt in doubts)
    plan = " ".join(run("plan", "-", *DATE, stdin=text).out.replace("\n! ", " ").split())
    assert all(doubt in plan for doubt in doubts[1:])


def test_check_tells_a_requirement_once(run, invented_text):
    """Not met and not known stand under what is to settle, not again under what is doubtful."""
    ran = run("check", "-", *DATE, "--format", "json", stdin=invented_text(requirements=copied(FAILS, UNKNOWN)))
    assert json.loads(ran.out)["doubts"] == []
