"""Rows of the overview: who comes first, what is said of them, and in which words."""

import itertools
import random

import pytest
from client_tables import write_table

from readiness.camp.clients import clients_of
from readiness.camp.items import with_camp_items
from readiness.camp.making import Setting, begin_client, finish_client
from readiness.camp.overview import BAD_FILE, CANNOT_TELL, NOT_READY, READY, Row, row_from, worst_first
from readiness.camp.returned import unread_logs
from readiness.camp.table import read_table
from readiness.problems import show
from readiness.rules.packs import built_in_packs

# The gravest first, as the README says; each client here has one thing alone.
KINDS = [
    {"status": BAD_FILE, "errors": ("x.yaml:1:1: error[y]: z",), "hints": ("write w",)},
    {"status": NOT_READY, "stops": ("Arrow too light: 4.8",)},
    {"status": NOT_READY, "unmet": ("draw weight, at least 45 lb: does not meet",)},
    {"status": NOT_READY, "untold": ("cutting width, at least 1 in: cannot tell",)},
    {"status": NOT_READY, "unpacked": ("waders: missing, have 0, need 1",)},
    {"status": CANNOT_TELL, "doubts": ("gear is not filled in",)},
    {"status": READY, "calls": ("no second release",)},
    {"status": READY, "recommended": ("camp shoes",)},
    {"status": READY},
]


def _row(index, **values):
    return Row(**{"client": f"c{index}", "id": "", "folder": f"c{index}", "source": f"c{index}.yaml", **values})


def test_a_graver_kind_comes_first_however_many_lesser_things_another_lacks():
    """One unmet requirement outranks forty missing items; among equals, more comes first."""
    rows = [_row(index, **kind) for index, kind in enumerate(KINDS)]
    for seed in range(20):
        assert list(worst_first(random.Random(seed).sample(rows, len(rows)))) == rows
    many = _row(0, status=NOT_READY, unpacked=("a", "b", "c") * 13)
    for graver, one in itertools.product(rows[:4], (many,)):
        assert worst_first([one, graver])[0] == graver
    two = _row(9, status=NOT_READY, unpacked=("a", "b"))
    assert worst_first([rows[4], two])[0] == two


def test_a_row_comes_back_from_the_manifest_as_it_was_and_an_old_one_does_not():
    """A line of an earlier version lacks fields: its client is made again, not shown with less than is known."""
    for index, kind in enumerate(KINDS):
        row = _row(index, **kind)
        assert row_from(row.as_dict()) == row
    data = _row(0, status=READY).as_dict()
    del data["unpacked"]
    with pytest.raises(KeyError):
        row_from(data)


@pytest.fixture(scope="module")
def made(a_camp, a_document, client_text, day):
    """A function: the row of a client of the sample camp with pieces of their text exchanged."""
    packs, _ = built_in_packs()

    def row_of(name, *changes):
        camp = a_camp()
        setting = Setting(camp, with_camp_items(packs, camp), (), day)
        document = a_document(client_text(name, *changes), f"{name}.yaml")
        return finish_client(begin_client(setting, document, (), "0" * 64, f"{name}.yaml", name)).row

    return row_of


def test_requirements_and_gear_are_told_apart(made):
    """Birte's bow is lighter than the place asks for, and most of her gear is not listed."""
    row = made("birte")
    assert row.unmet == ("draw weight, at least 45 lb: does not meet",)
    assert len(row.unpacked) > 30
    assert row.waiting == (*row.unmet, *row.unpacked)
    assert "release aid: missing, have 1, need 2" in row.unpacked
    assert row.recommended == ("camp shoes",)
    assert made("eskil").untold == ("cutting width, at least 7/8 in open: cannot tell",)
    assert made("eskil").recommended == ()  # no gear is listed, so nothing is said of it


def test_a_client_with_a_stop_step_is_not_ready(made):
    """Frode's arrow is too light."""
    row = made("frode")
    assert row.status == NOT_READY
    assert row.stops


def test_a_misspelt_thing_in_a_table_is_told_at_its_cell(a_camp, client_data, day):
    """A warning with the name that is meant; what is near no name, and what the camp asks for, are let be."""
    data = {key: value for key, value in client_data("eskil").items() if key != "gear"}
    header, row = write_table([data]).splitlines()
    text = f"{header},gear\n{row},bow (checked); huntng arow x 12 (checked); lucky hat; waders (checked)\n"
    (document,) = read_table(text.encode(), "clients.csv").rows
    camp = a_camp()
    setting = Setting(camp, with_camp_items(built_in_packs()[0], camp), (), day)
    problems = begin_client(setting, document, (), "0" * 64, "clients.csv:2", "row-2").problems
    (told,) = [problem for problem in problems if problem.code == "unknown-item"]
    assert show(told).startswith("clients.csv:2:gear: warning[unknown-item]: ")
    assert "'huntng arow'" in told.message
    assert told.hint == "did you mean hunting arrow?"


def test_the_outfitter_is_not_spoken_to_as_the_client(made):
    """What is not filled in is said to be so, by its key; nothing is called missing that may lie in a bag."""
    doubts = made("eskil").doubts
    assert [doubt.partition(" is not filled in: cannot tell ")[0] for doubt in doubts] == [
        "reference.bare_shaft", "reference.groups", "gear",
    ]  # fmt: skip
    assert not any("your" in doubt.split() for doubt in doubts)


def test_what_to_type_stands_beside_each_mistake(made):
    """In the same order."""
    row = made("asa", ("draw_weight: 64 lb", "draw_weight: 64"))
    assert row.status == BAD_FILE
    assert len(row.hints) == len(row.errors) == 1
    assert row.hints[0].startswith("write 64 lb")


def test_a_log_that_two_clients_would_share_is_not_read_in_silence(tmp_path, a_camp):
    """Of rows by one id, of files by one stem; nothing is said where no log is there."""
    (tmp_path / "clients.csv").write_text("hunter.id,hunter.name\nd,Dora\ne,Emil\nd,Dirk\nf,Finn\n", encoding="utf-8")
    clients = clients_of(a_camp(("clients: clients", "clients: clients.csv")), tmp_path).clients
    ids = ["d", "e", "d", "f"]
    assert list(unread_logs(clients, ids)) == []
    for name in "def":
        (tmp_path / f"clients.{name}.log.jsonl").write_text("", encoding="utf-8")
    (told,) = unread_logs(clients, ids)
    assert (told.file, told.severity) == (str(tmp_path / "clients.d.log.jsonl"), "warning")
    assert "clients.csv:2 and " in told.message
    assert "not read" in told.message
    (tmp_path / "clients").mkdir()
    for name in ("anna.yaml", "anna.yml", "anna.log.jsonl", "bert.yaml", "bert.log.jsonl"):
        (tmp_path / "clients" / name).write_text("", encoding="utf-8")
    clients = clients_of(a_camp(), tmp_path).clients
    (told,) = unread_logs(clients, ["a", "b", "c"])
    assert told.file == str(tmp_path / "clients" / "anna.log.jsonl")


def test_of_a_file_with_countless_mistakes_the_overview_has_the_first_and_says_how_many_more(made):
    """A hundred lines help; thousands would only slow every page that shows them."""
    row = made("asa", ("hunter:", "".join(f"kex{n}: 1\n" for n in range(150)) + "hunter:"))
    assert len(row.errors) == len(row.hints) == 101
    assert row.errors[-1] == "and 50 more mistakes in this file"
