"""Lint of rule packs: every fault at its line, the built-in packs without one, and their examples run."""

import re
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import pytest
from made_up import STEP_TEXT

from readiness.problems import show
from readiness.rules.facts import FACTS, PLACEHOLDERS
from readiness.rules.lint import lint_packs, pack_schema
from readiness.rules.packs import built_in_packs, read_pack
from readiness.rules.when import fact_names

BAD_PACKS = sorted((Path(__file__).resolve().parents[1] / "bad_packs").glob("*.yaml"))
BUILT_IN, _ = built_in_packs()
ENTRIES = [(pack, entry) for pack in BUILT_IN for entry in (*pack.rules, *pack.cautions)]
CONDITIONAL = [pytest.param(pack, entry, id=entry.id) for pack, entry in ENTRIES if entry.when]
HEAD = "pack: river\nversion: 1\nmode: read, do\nclosing: Rinsed and dry\nrules:\n"
WITH_PATTERN = (
    "    when: {{travel: {{pattern: {}}}}}\n    examples: {{applies: [{{travel: air}}], skips: [{{travel: road}}]}}\n"
)


def expected(path):
    """Line and code of every `# expect:` comment of a file."""
    lines = path.read_text(encoding="utf-8").splitlines()
    found = {n: re.search(r"# expect: (.+)$", line) for n, line in enumerate(lines, 1)}
    return {(n, code) for n, match in found.items() if match for code in match[1].split()}


def texts(entry):
    """The texts of a rule or a caution that may hold placeholders."""
    return [getattr(entry, key) for key in ("title", "do", "expect", "if_not", "text") if hasattr(entry, key)]


@pytest.mark.parametrize("path", BAD_PACKS, ids=lambda path: path.stem)
def test_a_bad_pack_is_told_at_the_lines_that_say_so(path):
    """Reading and linting find exactly what the file's own comments announce, where they announce it."""
    assert expected(path), "a bad pack without a comment would pass unnoticed"
    pack, problems = read_pack(path.read_text(encoding="utf-8"), path.name)
    problems = (*problems, *lint_packs((*BUILT_IN, pack)))
    assert {(p.line, p.code) for p in problems if p.file == path.name} == expected(path)
    assert [p for p in problems if p.file != path.name] == []
    assert [p.message for p in problems if not p.message] == []


def test_the_words_of_the_linter_are_the_ones_that_were_accepted(golden):
    """Place, message, line and hint of everything that is wrong in the bad packs, as they print."""
    shown = []
    for path in BAD_PACKS:
        pack, problems = read_pack(path.read_text(encoding="utf-8"), path.name)
        problems = (*problems, *lint_packs((*BUILT_IN, pack)))
        shown += [show(problem) for problem in problems]
    new = "\n".join(shown) + "\n"
    assert new == golden("bad-packs.txt", new)


def test_every_code_of_the_linter_has_a_bad_pack():
    """No check of craft stands without a file that it catches."""
    folder = Path(__file__).resolve().parents[2] / "readiness" / "rules"
    source = "".join((folder / name).read_text(encoding="utf-8") for name in ("lint.py", "craft.py"))
    codes = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', source))
    assert len(codes) >= 10
    assert codes <= {code for path in BAD_PACKS for _, code in expected(path)}


def test_the_built_in_packs_have_no_problem():
    """What ships passes the checks that others' packs must pass."""
    assert lint_packs(BUILT_IN) == ()


def test_a_misspelt_word_is_answered_with_the_right_one(a_pack):
    """The hint names the key, fact or placeholder that was meant."""
    text = HEAD + STEP_TEXT.format(id="RIV-010").replace("cams.", "cams at {near_pni}.")
    text += "    when: {elevation_chnage_m: {minimun: 5}}\n"
    hints = {p.hint for p in lint_packs([a_pack(text)])}
    assert {"did you mean {near_pin}?", "did you mean elevation_change_m?"} <= hints
    text = text.replace("chnage", "change")
    assert "did you mean minimum?" in {p.hint for p in lint_packs([a_pack(text)])}


def test_an_id_of_another_pack_is_told_with_where_it_stands_already(a_pack):
    """Two packs of a user may not share an id either."""
    text = HEAD + STEP_TEXT.format(id="RIV-010")
    first, second = a_pack(text, "first.yaml"), a_pack(text.replace("river", "lake"), "second.yaml")
    (problem,) = lint_packs([first, second])
    assert (problem.file, problem.line, problem.code) == ("second.yaml", 6, "repeated-id")
    assert "first.yaml" in problem.message


def test_seven_steps_are_no_long_block(a_pack):
    """The limit itself is allowed."""
    rules = "".join(STEP_TEXT.format(id=f"RIV-0{n}0") for n in range(1, 8))
    assert lint_packs([a_pack(HEAD + rules)]) == ()


@pytest.mark.parametrize(("pack", "entry"), CONDITIONAL)
def test_the_examples_of_a_built_in_rule_are_run(pack, entry):
    """Each condition has examples of both kinds; exchanged, every one of them is found to be wrong."""
    kind = "rules" if hasattr(entry, "stage") else "cautions"
    data = deepcopy(pack.document.data)
    examples = data[kind][entry.position]["examples"]
    assert examples["applies"]
    assert examples["skips"]
    examples["applies"], examples["skips"] = examples["skips"], examples["applies"]
    turned = pack._replace(document=replace(pack.document, data=data))
    found = lint_packs([*(turned if other is pack else other for other in BUILT_IN)])
    assert [p.code for p in found if entry.id in p.message] == ["wrong-example"] * len(
        examples["applies"] + examples["skips"]
    )
    assert len(found) == len(examples["applies"] + examples["skips"])


def test_every_stage_has_a_step():
    """No moment of the trip is left without one, whatever the trip is."""
    stages = set(pack_schema()["$defs"]["stage"]["enum"])
    assert len(stages) == 9
    assert {rule.stage for pack in BUILT_IN for rule in pack.rules if rule.when is None} == stages


def test_ids_of_the_built_in_packs_are_unique():
    """Over rules and cautions of all packs."""
    ids = [entry.id for _, entry in ENTRIES]
    assert len(ids) == len(set(ids)) >= 100


def test_built_in_rules_speak_only_of_facts_that_the_program_computes():
    """Conditions by the fact's name, texts by its placeholder."""
    for _, entry in ENTRIES:
        assert fact_names(entry.when) <= set(FACTS), entry.id
        assert set(re.findall(r"\{([^}]*)\}", " ".join(texts(entry)))) <= set(PLACEHOLDERS), entry.id


def test_placeholders_lead_to_one_fact_each():
    """Names without their unit stay different from one another."""
    assert len(PLACEHOLDERS) == len(FACTS)


def test_the_published_schema_names_exactly_the_facts():
    """What an editor completes is what the program knows; composed text is not offered for conditions."""
    schema = pack_schema()["$defs"]
    offered = set(schema["condition"]["properties"]) - {"all", "any", "not"}
    assert offered == {name for name, fact in FACTS.items() if fact.kind not in ("where", "phrases", "free text")}
    assert set(schema["facts"]["properties"]) == offered


def test_the_published_schema_says_what_each_fact_is_and_of_which_type_its_examples_are():
    """What an editor shows beside a key, and JSON's names of the types (JSON Schema 2020-12)."""
    schema = pack_schema()["$defs"]
    for name, example in schema["facts"]["properties"].items():
        fact = FACTS[name]
        assert schema["condition"]["properties"][name]["description"] == fact.about
        kind = {"flag": "boolean", "text": "string"}.get(fact.kind, "number")
        assert example == {"type": kind, **({"maxLength": 60} if kind == "string" else {})}


def test_a_pattern_that_can_be_read_is_run(a_pack):
    """The counterpart of the next test: a sound pattern passes."""
    text = HEAD + STEP_TEXT.format(id="RIV-010") + WITH_PATTERN.format('"^a"')
    assert lint_packs([a_pack(text)]) == ()


def test_a_pattern_that_cannot_be_read_is_a_problem_at_its_line(a_pack):
    """`pattern: "["` is a mistake of the pack's author, not ours."""
    text = HEAD + STEP_TEXT.format(id="RIV-010") + WITH_PATTERN.format('"["')
    assert [p.line for p in lint_packs([a_pack(text)])] == [13]
