"""A second import: entries that move with their trip, a sequence that grows, a file that is whole or not there."""

import re
from itertools import pairwise

import pytest

DATE = ("--date", "2027-09-06")
RULES = [
    {"topic": "draw weight", "rule": "at least 40 lb", "source": "booklet", "read_on": "2027-05-02", "edition": 2027}
]


def uids(text):
    """The UIDs of a calendar file, unfolded and sorted."""
    return sorted(re.findall(r"^UID:(.+)\r$", text.replace("\r\n ", ""), re.MULTILINE))


def test_new_dates_move_the_old_entries(calendar):
    """The same trip keeps its UIDs when its dates, its gear or the day of printing change."""
    first = uids(calendar(requirements=RULES))
    later = {"starts": "2027-10-14", "ends": "2027-10-20"}
    assert uids(calendar(requirements=RULES, trip=later)) == first
    assert uids(calendar(requirements=RULES, bow={"draw_weight": "60 lb"}, today="2027-09-20")) == first


@pytest.mark.parametrize(
    "blocks",
    [
        {"trip": {"name": "Marsh week, again"}},
        {"hunter": {"id": "c02"}},
        {"hunter": None, "trip": {"name": "Marsh weekc01"}},
        {"hunter": {"name": "Client two"}},
        {"hunter": None},
    ],
    ids=["name of the trip", "another id", "other words", "another name", "nobody"],
)
def test_another_trip_or_hunter_has_other_entries(calendar, blocks):
    """Two clients of one camp import both calendars without losing one of them."""
    own = uids(calendar(hunter={"id": "c01", "name": "Client one"}))
    assert set(own) & set(uids(calendar(**blocks))) == set()


def test_two_hunters_known_by_name_only_have_other_entries(calendar):
    """Without ids the names part them."""
    one, two = (uids(calendar(hunter={"name": f"Client {name}"})) for name in ("one", "two"))
    assert set(one) & set(two) == set()


def test_a_hunter_with_an_id_keeps_the_entries_under_another_spelling_of_the_name(calendar):
    """The id says who it is; a corrected name moves nothing."""
    first = uids(calendar(hunter={"id": "c01", "name": "Client one"}))
    assert uids(calendar(hunter={"id": "c01", "name": "Client One"})) == first


def test_sequence_grows_with_the_day_of_printing(calendar):
    """The calendar printed later wins, however the trip was moved between; before the count begins it is 0."""
    days_of_printing = ("2025-05-01", "2026-06-01", "2026-06-02", "2026-12-31", "2027-01-01", "2027-10-08")
    seen = []
    for today in days_of_printing:
        found = {int(number) for number in re.findall(r"^SEQUENCE:(\d+)\r$", calendar(today=today), re.MULTILINE)}
        assert len(found) == 1
        seen += found
    assert seen[0] == 0
    assert all(one < two for one, two in pairwise(seen))


def test_the_same_trip_and_day_give_the_same_bytes(calendar):
    """No clock, no chance."""
    assert calendar(requirements=RULES) == calendar(requirements=RULES)
    assert calendar(requirements=RULES) != calendar(requirements=RULES, today="2027-09-07")


def test_an_output_file_holds_what_the_screen_would_show(run, invented_text, calendar, tmp_path):
    """Byte for byte, and an older file of that name is replaced: it is the same calendar, newer."""
    path = tmp_path / "trip.ics"
    path.write_text("older", encoding="utf-8")
    ran = run("calendar", "-", *DATE, "-o", path, stdin=invented_text(trip={"name": "Wapiti 🦌"}))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == f"Wrote {path}.\n"
    assert path.read_bytes() == calendar(trip={"name": "Wapiti 🦌"}).encode("utf-8")
    assert [entry.name for entry in tmp_path.iterdir()] == ["trip.ics"]


@pytest.mark.parametrize("where", ["no-such-folder/trip.ics", "a-file/trip.ics", "a-folder"])
def test_a_file_that_cannot_be_written_ends_with_2(run, invented_text, tmp_path, where):
    """The message names the file and says what to look at; nothing half written stays behind."""
    (tmp_path / "a-file").write_text("mine", encoding="utf-8")
    (tmp_path / "a-folder").mkdir()
    ran = run("calendar", "-", *DATE, "-o", tmp_path / where, stdin=invented_text())
    assert (ran.code, ran.out) == (2, "")
    assert "error[unwritable]" in ran.err
    hint = "name a file, or - for standard output" if where == "a-folder" else "check the folder and its rights"
    assert f"hint: {hint}" in ran.err
    assert (tmp_path / "a-file").read_text(encoding="utf-8") == "mine"
    assert sorted(entry.name for entry in tmp_path.rglob("*")) == ["a-file", "a-folder"]


def test_a_broken_trip_file_gives_no_calendar(run):
    """Errors go to the error stream, and the code is 2."""
    ran = run("calendar", "-", *DATE, stdin="format: 1\n")
    assert (ran.code, ran.out) == (2, "")
    assert "error[missing-key]" in ran.err
