"""What the command line's options do, in this process; exit codes are in test_cli.py."""

import csv
import io
import json
import re
from hashlib import sha256
from pathlib import Path

import pytest
from made_up import RIVER_PACK

from readiness import cli
from readiness.forecast import DEFAULT_ARROWS

ROOT = Path(__file__).resolve().parents[1]
HIGH, DATE = "sample_trips/high-basin.yaml", ("--date", "2027-08-25")
COMMANDS = sorted(cli.COMMANDS)


@pytest.fixture
def a_file(tmp_path):
    """A function: a file of a name with some text or bytes."""

    def written(name, text):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return written


def test_a_dash_reads_standard_input(run, sample_text):
    """The page is that of the file; problems name <stdin>."""
    assert run("plan", "-", *DATE, stdin=sample_text()).out == run("plan", HIGH, *DATE).out
    ran = run("check", "-", *DATE, stdin="format: 1\n")
    assert ran.code == 2
    assert ran.err.startswith("<stdin>:1:1: error[")


def test_the_page_carries_the_fingerprint_of_the_files_bytes(run, a_file, sample_text):
    """SHA-256 of the bytes: line ends and a byte-order mark count."""
    for data in (sample_text().encode(), b"\xef\xbb\xbf" + sample_text().replace("\n", "\r\n").encode()):
        path = a_file("trip.yaml", data)
        wanted = sha256(data).hexdigest()
        assert json.loads(run("plan", path, *DATE, "--format", "json").out)["provenance"]["trip_sha256"] == wanted
        assert wanted[:12] in run("plan", path, *DATE).out


def test_units_turns_the_page_over(run):
    """Left out, the trip's own pins decide."""
    metric, imperial = run("pins", HIGH, *DATE, "--units", "metric").out, run("pins", HIGH, *DATE).out
    assert "55 m" in metric
    assert "60 yd" not in metric
    assert "60 yd" in imperial
    assert "60 m" in run("pins", "sample_trips/terraces-metric.yaml", "--date", "2027-09-10").out


def test_more_arrows_at_camp_can_show_more(run):
    """With 200 arrows the far shift can be seen, so the advice at 60 yd is no longer to leave it unseen."""

    def far(*options):
        rows = list(csv.DictReader(io.StringIO(run("pins", HIGH, *DATE, "--format", "csv", *options).out)))
        return [(row["advice"], int(row["arrows_to_see"])) for row in rows if row["distance_yd"].startswith("60")]

    few, many = far(), far("--arrows", "200")
    assert {advice for advice, _ in few} == {"leave"}
    assert {advice for advice, _ in many} <= {"confirm", "move"}
    assert [arrows for _, arrows in few] == [arrows for _, arrows in many]
    assert "200 arrows to spend" in " ".join(run("plan", HIGH, *DATE, "--arrows", "200").out.split())


def test_checklists_adds_a_pack_and_may_be_given_again(run, a_file):
    """The pack's step stands in its stage and its name in the foot of the page."""
    first = a_file("river.yaml", RIVER_PACK)
    second = a_file("lake.yaml", RIVER_PACK.replace("RIV-010", "LAK-010").replace("river", "lake"))
    ran = run("plan", HIGH, *DATE, "--checklists", first, "--checklists", second)
    assert ran.code == 0
    arrival = ran.out.split("\nArrival: ")[1].split("\nMorning: ")[0]
    assert "[ ] Sand in the cams  (RIV-010, your pack river" in arrival
    assert "(LAK-010, your pack lake)" in arrival
    assert "river 3, lake 3" in " ".join(ran.out.split())
    assert run("plan", HIGH, *DATE, "--checklists", first.parent).out.count("Sand in the cams  (") == 2


def test_a_mistake_in_one_of_several_packs_is_told_once(run, a_file):
    """However many folders are named after it."""
    bad = a_file("river.yaml", RIVER_PACK.replace("stage: arrival", "stage: arival"))
    good = a_file("lake.yaml", RIVER_PACK.replace("RIV-010", "LAK-010").replace("river", "lake"))
    told = [
        run("plan", HIGH, *DATE, *packs).err
        for packs in (("--checklists", bad), ("--checklists", bad, "--checklists", good))
    ]
    assert [err.count("error[bad-choice]") for err in told] == [1, 1]


def test_stage_prints_one_stage_only(run):
    """Its cautions and steps, without the answer and the tables."""
    ran = run("plan", HIGH, *DATE, "--stage", "morning")
    ids = set(re.findall(r"\(([A-Z]{3})-[0-9]{3}\)", ran.out))
    assert ids == {"MOR"}
    assert "The answer" not in ran.out
    assert len(ran.out) < len(run("plan", HIGH, *DATE).out) / 5


def test_all_shows_what_does_not_apply_with_its_reason(run):
    """Left out otherwise: the arrow of this trip is heavy enough."""
    reason = "(BAS-010): grains per pound is 6.74, not less than 5"
    assert reason in run("plan", HIGH, *DATE, "--all").out
    assert "BAS-010" not in run("plan", HIGH, *DATE).out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_and_a_place_in_the_readme(run, command):
    """A sentence of help, options explained, and a mention where newcomers read."""
    ran = run(command, "--help")
    assert ran.code == 0
    assert len(ran.out.split("\n\n")[1].split()) >= 5
    assert f"readiness {command} " in ran.out.splitlines()[0]
    readme = ROOT / "README.md"
    assert not readme.exists() or f"readiness {command}" in readme.read_text(encoding="utf-8")


def test_the_help_of_the_program_lists_every_command_with_a_line(run):
    """Short help for each, in one screen."""
    out = run("--help").out
    assert sorted(re.findall(r"^  ([a-z-]+)  +\S", out.split("Commands:")[1], re.MULTILINE)) == COMMANDS
    assert len(out.splitlines()) < 40


@pytest.mark.parametrize("command", ["plan", "pins", "card", "handout", "assess"])
def test_the_arrows_of_the_option_are_those_of_a_command_without_it(run, command):
    assert f"[default: {DEFAULT_ARROWS};" in run(command, "--help").out
