"""A client's file with the camp's: who wins, and whose file a mistake is told in."""

import pytest

from readiness.camp.load import load_camp
from readiness.camp.merge import load_client


@pytest.fixture
def joined(camp_text, a_document, day):
    """A function: a client's text loaded at the sample camp, with pieces of the camp exchanged."""

    def load(text, *changes):
        camp, told = load_camp(camp_text(*changes), "camp.yaml", day)
        return load_client(a_document(text), camp.document, told, day)

    return load


@pytest.mark.parametrize("name", ["asa", "birte", "corvin", "dagny", "eskil", "frode"])
def test_every_client_of_the_sample_camp_is_valid(joined, client_text, name):
    """None of them has an error."""
    assert joined(client_text(name)).trip is not None


def test_the_destination_side_comes_from_the_camp(joined, client_text):
    """Places, dates, travel and zone are the camp's for a client who says nothing of them."""
    trip = joined(client_text("eskil")).trip
    assert [place.name for place in trip.destinations] == ["Barn meadow", "Forks spike camp"]
    assert (str(trip.starts), str(trip.ends), trip.travel) == ("2027-09-18", "2027-09-24", "air")
    assert trip.name == "Larkspur Forks camp"
    assert trip.hazards == ("bears", "riding")
    assert [r.topic for r in trip.requirements] == ["draw weight", "cutting width"]


def test_a_clients_own_dates_and_travel_win(joined, client_text):
    """Corvin comes by road a day later."""
    trip = joined(client_text("corvin")).trip
    assert (str(trip.starts), str(trip.ends), trip.travel) == ("2027-09-19", "2027-09-24", "road")


def test_no_danger_is_taken_off_the_list_by_the_other_file(joined, client_text):
    """Hazards of camp and client both count; the nearest shop is the camp's."""
    text = client_text("eskil") + "trip: {hazards: [tree stand, bears], nearest_shop: 0.1 h}\n"
    trip = joined(text).trip
    assert set(trip.hazards) == {"bears", "riding", "tree stand"}
    assert trip.nearest_shop_s == 4 * 3600
    assert joined(client_text("eskil") + "trip: {hazards: []}\n").trip.hazards == ("bears", "riding")


def test_requirements_of_both_count(joined, client_text):
    """A client's own requirement joins those of the camp."""
    own = "requirements: [{topic: lighted nock, rule: not allowed, source: his own, read_on: 2027-08-01, edition: 2027}]\n"
    trip = joined(client_text("eskil") + own).trip
    assert [r.topic for r in trip.requirements] == ["draw weight", "cutting width", "lighted nock"]


def test_a_complete_trip_file_works_and_hears_that_its_places_are_not_used(joined, sample_text):
    """An ordinary trip is a client; the camp's places replace its own, with a warning at that key."""
    loaded = joined(sample_text("high-basin"))
    assert [place.name for place in loaded.trip.destinations] == ["Barn meadow", "Forks spike camp"]
    assert loaded.trip.name == "High basin, late season"
    (warning,) = [p for p in loaded.problems if p.code == "camp-places"]
    line = sample_text("high-basin").splitlines()[warning.line - 1]
    assert (warning.severity, warning.file, line) == ("warning", "client.yaml", "destinations:")


@pytest.mark.parametrize(
    ("old", "new", "code", "at"),
    [
        ("draw_weight: 60 lb", "draw_weight: 60", "bare-number", "60"),
        ("peep_height: 4.4 in", "peepheight: 4.4 in", "unknown-key", "peepheight"),
        ("elevation: 300 m", "elevation: 1.300 m", "thousands-point", "1.300 m"),
    ],
)
def test_a_mistake_of_the_client_is_told_in_the_clients_file(joined, client_text, old, new, code, at):
    """File, line and column are the client's."""
    text = client_text("eskil", (old, new))
    problems = [p for p in joined(text).problems if p.code == code]
    assert len(problems) == 1
    assert problems[0].file == "client.yaml"
    assert text.splitlines()[problems[0].line - 1][problems[0].column - 1 :].startswith(at)


def test_a_mistake_in_the_camps_part_is_not_told_once_more_for_each_client(joined, client_text, camp_text, day):
    """A warning about the camp's requirement stands in the camp file, and only there."""
    change = ("read_on: 2027-07-02", "read_on: 2026-01-02")
    told = load_camp(camp_text(change), "camp.yaml", day).problems
    assert [p.file for p in told] == ["camp.yaml"]
    loaded = joined(client_text("eskil"), change)
    assert loaded.trip is not None
    assert not [p for p in loaded.problems if p.code == "old-requirement"]


def test_a_clash_between_the_two_files_is_told_in_the_clients_and_names_the_camps(joined, client_text):
    """A client who starts after the camp ends."""
    text = client_text("eskil") + "trip:\n  starts: 2027-09-29\n"
    loaded = joined(text)
    assert loaded.trip is None
    (problem,) = [p for p in loaded.problems if p.severity == "error"]
    assert (problem.file, problem.code, text.splitlines()[problem.line - 1]) == (
        "client.yaml",
        "dates-reversed",
        "trip:",
    )
    assert "camp.yaml:" in problem.hint


def test_a_wrong_hazard_of_the_client_is_told_at_its_own_entry(joined, client_text):
    """The list is joined, the places are not lost."""
    text = client_text("eskil") + "trip: {hazards: [riding, birs]}\n"
    (problem,) = [p for p in joined(text).problems if p.severity == "error"]
    assert problem.file == "client.yaml"
    assert text.splitlines()[problem.line - 1][problem.column - 1 :].startswith("birs")


@pytest.mark.parametrize(
    "text",
    ["[]", "5", "text", "format: 1\ntrip: 7\n", "format: 1\nrequirements: none\n", "format: 1\ntrip: {hazards: 3}\n",
     "format: 1\ndestinations: 4\n", "format: 1\nhunter: []\n"],
)  # fmt: skip
def test_a_client_of_any_shape_is_told_and_never_breaks_the_program(joined, text):
    """Lists, numbers and text where blocks are wanted are errors in the client's file."""
    loaded = joined(text)
    assert loaded.trip is None
    assert {p.file for p in loaded.problems} == {"client.yaml"}


def test_missing_dates_are_told_in_the_clients_file(joined, client_text):
    """Where neither says when, the client's file is the one to mend."""
    loaded = joined(client_text("eskil"), ("  starts: 2027-09-18\n", ""))
    assert [(p.file, p.code) for p in loaded.problems if p.severity == "error"] == [("client.yaml", "missing-key")]
