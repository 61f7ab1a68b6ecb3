"""Rule packs of a camp: a stranger's text, read only inside its folder and never run."""

import time

import pytest

from readiness.camp.opening import open_camp, open_texts

PACK = """pack: ford
version: 1
mode: "read, do"
closing: Bow dry
rules:
  - id: FRD-010
    stage: arrival
    title: Bow dry after the ford
    when: {travel: {const: air}}
    do: Wipe limbs, cams and string.
    expect: Dry to the touch.
    if_not: Let it dry in the shade.
    basis: common practice
    examples:
      applies: [{travel: air}]
      skips: [{travel: road}]
"""
NAMED = ("clients: clients", "checklists: [packs/ford.yaml]\nclients: clients")


@pytest.fixture
def opened(tmp_path, camp_text, day):
    """A function: the sample camp with a pack of its own, from its text."""

    def open_with(pack, *changes):
        (tmp_path / "packs").mkdir(exist_ok=True)
        if pack is not None:
            (tmp_path / "packs" / "ford.yaml").write_text(pack, encoding="utf-8")
        return open_camp(camp_text(NAMED, *changes), "camp.yaml", tmp_path, day)

    return open_with


def test_a_pack_beside_the_camp_is_read(opened, camp_text, day):
    """Its rules join the built-in ones, from files as from texts."""
    found = opened(PACK)
    assert found.problems == ()
    assert "FRD-010" in {rule.id for pack in found.setting.packs for rule in pack.rules}
    texts = open_texts(camp_text(NAMED), "camp.yaml", {"packs/ford.yaml": PACK}, day)
    assert [pack.name for pack in texts.setting.packs] == [pack.name for pack in found.setting.packs]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (("stage: arrival", "stage: departure"), "broken-rule"),
        (("title: Bow dry after the ford", "title: Bow dry after the ford\n    titel: x"), "unknown-key"),
        (("FRD-010", "ARR-010"), "repeated-id"),
        (("const: air", "pattern: '(a+)+$'"), "pattern"),
        (("pack: ford", "pack: ["), "syntax"),
    ],
)
def test_a_pack_with_an_error_is_refused_with_its_place(opened, change, code):
    """It would be wrong on every client's paper."""
    found = opened(PACK.replace(*change))
    assert found.setting is None
    assert code in {problem.code for problem in found.problems}
    assert all(problem.file.endswith("packs/ford.yaml") for problem in found.problems)


def test_a_pattern_that_would_take_years_is_not_run(opened):
    """Neither against facts nor against the pack's own examples."""
    pack = PACK.replace("{const: air}", "{pattern: '^(a+)+$'}").replace("[{travel: air}]", f"[{{travel: {'a' * 60}!}}]")
    start = time.monotonic()
    assert opened(pack).setting is None
    assert time.monotonic() - start < 5


def test_a_pack_that_is_not_there_or_leads_out_is_told_at_the_camps_key(opened, tmp_path, camp_text, day):
    """Missing file; link to another folder; text that was not sent."""
    (missing,) = opened(None).problems
    (tmp_path / "packs" / "ford.yaml").symlink_to("/etc/hostname")
    (linked,) = opened(None).problems
    (unsent,) = open_texts(camp_text(NAMED), "camp.yaml", {}, day).problems
    assert {missing.file, linked.file, unsent.file} == {"camp.yaml"}
    assert (missing.code, linked.code, unsent.code) == ("unreadable", "outside-folder", "unreadable")
    assert missing.line == linked.line == unsent.line


def test_more_packs_than_a_camp_may_name_are_refused(camp_text, tmp_path, day):
    """Ten, and not eleven."""
    listed = ", ".join(f"p{number}.yaml" for number in range(11))
    text = camp_text(("clients: clients", f"checklists: [{listed}]\nclients: clients"))
    assert [p.code for p in open_camp(text, "camp.yaml", tmp_path, day).problems] == ["bad-size"]
