"""Copies of rules: which one decides, which comes first, how old they are, when to read them again."""

from datetime import date

import pytest

from readiness.render.kit import requirement_elements
from readiness.rulings import rulings
from readiness.trip.load import load_trip

TODAY = date(2027, 9, 6)  # the invented trip starts on 2027-10-04
YES, NO, UNKNOWN = "meets", "does not meet", "cannot tell"


def copied(rule, topic="draw weight", **more):
    """A requirement as its user copies it, from an invented booklet."""
    return {"topic": topic, "rule": rule, "source": "booklet", "read_on": "2027-05-02", "edition": 2027, **more}


def found(invented, *entries, today=TODAY, **blocks):
    """The rulings on some requirements, for a bow of 65 lb."""
    return rulings(invented(requirements=list(entries), **blocks), today)


def told(invented, *entries, today=TODAY, **blocks):
    """The lines of the page about some requirements."""
    listing = list(requirement_elements(found(invented, *entries, today=today, **blocks)))[1]
    return listing.entries


@pytest.mark.parametrize("turned", [False, True])
def test_the_newest_copy_of_a_rule_decides_and_both_are_shown(invented, turned):
    """Same topic, place, animal and source, read twice: the later reading decides, wherever it stands in the file."""
    entries = [copied("at least 70 lb", read_on="2027-05-02"), copied("at least 60 lb", read_on="2027-08-02")]
    rows = found(invented, *(reversed(entries) if turned else entries))
    assert [(r.requirement.rule, r.outcome, r.superseded) for r in rows] == [
        ("at least 60 lb", YES, False),
        ("at least 70 lb", NO, True),
    ]
    lines = told(invented, *entries)
    assert ["An older copy; the newer one decides." in line for line in lines] == [False, True]


def test_a_newer_copy_that_asks_for_more_decides_too(invented):
    """Newest is newest, to the archer's cost as well."""
    rows = found(invented, copied("at least 60 lb"), copied("at least 70 lb", read_on="2027-08-02"))
    assert [(r.outcome, r.superseded) for r in rows] == [(NO, False), (YES, True)]


@pytest.mark.parametrize(
    "other",
    [{"place": "East bank"}, {"applies_to": "elk"}, {"source": "sign at the gate"}],
    ids=lambda o: next(iter(o)),
)
def test_rules_of_another_place_animal_or_source_are_each_judged(invented, other):
    """A newer text elsewhere takes nothing away here; the stricter stands first."""
    rows = found(invented, copied("at least 60 lb", read_on="2027-08-02", **other), copied("at least 70 lb"))
    assert [(r.requirement.rule, r.outcome, r.superseded) for r in rows] == [
        ("at least 70 lb", NO, False),
        ("at least 60 lb", YES, False),
    ]


@pytest.mark.parametrize("rules", [("at least 70 lb", "at least 60 lb"), ("at least 70 lb", "at most 80 lb")])
def test_neither_of_two_rules_read_on_the_same_day_is_an_older_copy(invented, rules):
    """Least and most on one page, or a slip: what is not met must not be hidden by the other line."""
    rows = found(invented, *(copied(rule, place="North unit") for rule in rules))
    assert [r.outcome for r in rows if not r.superseded].count(NO) == 1


def test_the_stricter_rule_stands_first(invented):
    """More asked of the least, less allowed at the most, and at one number the one without the number itself."""
    least = ("at least 40 lb", "more than 50 lb", "at least 50 lb", "at least 20 kg")
    rows = found(invented, *(copied(rule, source=f"text {n}") for n, rule in enumerate(least)))
    assert [r.requirement.rule for r in rows] == [
        "more than 50 lb",
        "at least 50 lb",
        "at least 20 kg",
        "at least 40 lb",
    ]
    most = ("at most 85 %", "less than 85 %", "at most 65 %")
    rows = found(invented, *(copied(rule, "let-off", source=f"text {n}") for n, rule in enumerate(most)))
    assert [r.requirement.rule for r in rows] == ["at most 65 %", "less than 85 %", "at most 85 %"]


def test_a_rule_is_to_be_read_again_two_weeks_before_the_first_day(invented):
    """2027-10-04 less 14 days is 2027-09-20; from that day on the page says now."""
    (early,) = found(invented, copied("at least 40 lb"), today=date(2027, 9, 19))
    (due,) = found(invented, copied("at least 40 lb"), today=date(2027, 9, 20))
    assert (early.recheck_by, early.recheck_is_due) == (date(2027, 9, 20), False)
    assert (due.recheck_by, due.recheck_is_due) == (date(2027, 9, 20), True)
    (line,) = told(invented, copied("at least 40 lb"), today=date(2027, 9, 19))
    assert "read 2027-05-02; read it again by 2027-09-20." in line
    (line,) = told(invented, copied("at least 40 lb"), today=date(2027, 9, 20))
    assert "read 2027-05-02; read it again now." in line


def test_an_old_copy_without_an_edition_gets_a_hint_for_each(invented_text):
    """An old date is not mended by an edition, nor a missing edition by reading alone."""
    entry = {k: v for k, v in copied("at least 40 lb", read_on="2012-09-21").items() if k != "edition"}
    old, unstated = load_trip(invented_text(requirements=[entry]), "trip.yaml", TODAY).problems
    assert "12 months" in old.message
    assert old.hint == "read it again at the agency before you leave"
    assert "edition" in unstated.message
    assert unstated.hint.startswith("add edition:")


@pytest.mark.parametrize(
    ("read_on", "edition", "notes"),
    [
        ("2026-10-04", 2027, 0),  # twelve months to the day
        ("2026-10-03", 2027, 1),
        ("2027-05-02", "2026-27", 0),
        ("2027-05-02", "2027/28", 0),
        ("2027-05-02", "season 2027", 0),
        ("2027-05-02", "spring printing", 0),  # no year in it: nothing to hold against the hunt
        ("2027-05-02", 2026, 1),
        ("2027-05-02", "2025-26", 1),
        ("2027-05-02", 2028, 1),
        ("2027-05-02", None, 1),
        ("2012-09-21", 2012, 2),
    ],
)
def test_an_old_copy_or_another_season_is_a_note_and_a_warning(invented, invented_text, read_on, edition, notes):
    """Older than 12 months at the hunt, another edition, or none: said beside the outcome and about the file."""
    entry = {k: v for k, v in copied("at least 40 lb", read_on=read_on, edition=edition).items() if v is not None}
    (ruling,) = found(invented, entry)
    assert ruling.outcome == YES
    assert len(ruling.notes) == notes
    problems = load_trip(invented_text(requirements=[entry]), "trip.yaml", TODAY).problems
    assert [(p.code, p.severity) for p in problems] == [("old-requirement", "warning")] * notes
    assert all(p.hint for p in problems)
    (line,) = told(invented, entry)
    assert [note for note in ruling.notes if note not in line] == []


def test_a_copy_read_long_before_the_hunt_says_when_it_was_read(invented):
    """The note names the day, the edition note both seasons."""
    (ruling,) = found(invented, copied("at least 40 lb", read_on="2025-01-31", edition=2025))
    age, season = ruling.notes
    assert "2025-01-31" in age
    assert "12 months" in age
    assert "2025" in season
    assert "2027" in season


def test_twelve_months_to_the_day_are_not_more_than_twelve_months(invented):
    """Read on 2027-10-04 for a hunt on 2028-10-04, a 29 February between."""
    trip = {"starts": "2028-10-04", "ends": "2028-10-08"}
    (ruling,) = found(
        invented, copied("at least 40 lb", read_on="2027-10-04", edition=2028), trip=trip, today=date(2028, 9, 1)
    )
    assert ruling.notes == ()


def test_an_edition_that_runs_over_the_hunt_is_no_other_season(invented):
    """Booklets of two years, from summer to summer, are usual: 2026-2028 holds for 2027."""
    (ruling,) = found(invented, copied("at least 40 lb", edition="2026-2028"))
    assert ruling.notes == ()


def test_each_line_of_the_page_carries_outcome_place_source_and_day(invented):
    """An outcome without its source would be our word, not the user's."""
    entry = copied("at least 70 lb", place="North unit", applies_to="elk")
    (line,) = told(invented, entry)
    assert line.startswith("DOES NOT MEET: draw weight (North unit, elk), at least 70 lb: ")
    assert "Source: booklet, read 2027-05-02" in line


def test_the_page_says_that_the_agency_decides(invented):
    """Notes held against gear are not law, and the page says so below them."""
    elements = list(requirement_elements(found(invented, copied("at least 40 lb"))))
    assert "not law" in elements[-1].text
    assert "agency's present text decides" in elements[-1].text
    assert list(requirement_elements(())) == []
