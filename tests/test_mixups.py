"""A file that was given to the wrong command is told in one sentence, with the command that takes it."""

from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[1] / "sample_trips"
CAMP = SAMPLES / "larkspur-forks" / "camp.yaml"


@pytest.mark.parametrize("command", ["check", "pack", "plan"])
def test_a_camp_file_is_sent_to_the_roster(run, command):
    """In place of the arrow, bow and heads that no camp file has."""
    ran = run(command, CAMP, "--date", "2027-09-04")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.splitlines() == [
        f"{CAMP}: error[not-a-trip]: this is a camp file, and a trip file is wanted",
        "  hint: readiness roster takes it",
    ]


@pytest.mark.parametrize("text", ["hunter.name,hunter.id\nAnna,c1\n", 'hunter.name;hunter.id\n"Anna: ";c1\n', ""])
def test_a_table_is_sent_to_the_camp_file_that_names_it(run, tmp_path, text):
    """Whether it happens to be YAML or not."""
    table = tmp_path / "clients.csv"
    table.write_text(text, encoding="utf-8")
    ran = run("roster", table, "-o", tmp_path / "out")
    assert (ran.code, ran.out) == (2, "")
    assert "this is a table, and a camp file is wanted" in ran.err
    assert "hint: name the camp file, with clients: clients.csv in it" in ran.err
    assert ran.err.count("error[") == 1
    ran = run("check", table)
    assert ran.code == 2
    assert "hint: readiness roster takes the camp file that names this table" in ran.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "path", [SAMPLES / "high-basin.yaml", CAMP.parent / "clients" / "asa.yaml"], ids=lambda p: p.stem
)
def test_a_hunters_own_file_is_no_camp(run, tmp_path, path):
    """A whole trip, or a client's part of one."""
    ran = run("roster", path, "-o", tmp_path / "out")
    assert ran.code == 2
    assert ran.err.count("error[") == 1
    assert "this is the file of one hunter, and a camp file is wanted" in ran.err


def test_a_trip_file_with_a_camp_in_it_keeps_its_own_mistakes(run, sample_text):
    """Only what cannot be a trip file is taken for another."""
    ran = run("check", "-", stdin=sample_text("high-basin") + "camp: {name: Ford}\n")
    assert ran.code == 2
    assert "error[unknown-key]: 'camp' is not known here" in ran.err
