"""Limits when the bow flies: lithium cells and power banks by their energy, checked bags by mass and size."""

import pytest

MISSING, WRONG, PACKED = "missing", "wrong bag", "packed"
CELL, BANK = "spare lithium cell", "power bank"


def row(invented_plan, item, *lines, **trip):
    """One row of the packing list, with these gear lines and no others."""
    gear = [{"item": item, **line} for line in lines]
    (found,) = [r for r in invented_plan(gear=gear, trip=trip).packing.rows if r.item == item]
    return found


def battery(volts, amp_hours, count=1, bag="cabin"):
    """A gear line of a battery in a bag."""
    return {"bag": bag, "volts": volts, "amp_hours": amp_hours, "count": count}


@pytest.mark.parametrize(("item", "count"), [(CELL, 3), (BANK, 1)])
@pytest.mark.parametrize(
    ("bag", "outcome", "words"),
    [
        ("cabin", PACKED, ""),
        ("body", PACKED, ""),
        ("checked", WRONG, "not in the checked bag"),
        (None, WRONG, "say in which bag it is; never checked"),
    ],
    ids=str,
)
def test_spare_lithium_rides_in_the_cabin(invented_plan, item, count, bag, outcome, words):
    """In the hold it is in the wrong bag, and where no bag is stated it might be; on the road any bag will do."""
    line = {"count": count} if bag is None else {"count": count, "bag": bag}
    found = row(invented_plan, item, line)
    assert found.outcome == outcome
    assert found.reason.startswith(words)
    assert row(invented_plan, item, line, travel="road").outcome == PACKED


def test_one_cell_in_the_hold_among_others_in_the_cabin_is_told(invented_plan):
    """The line that is wrong makes the row wrong."""
    found = row(invented_plan, CELL, {"bag": "cabin", "count": 5}, {"bag": "checked"})
    assert (found.outcome, found.have) == (WRONG, 6)


def test_too_few_cells_in_the_wrong_bag_are_missing_and_the_bag_is_told_too(invented_plan):
    """Missing stands first, and the reason still says that those at hand are in the hold."""
    found = row(invented_plan, CELL, {"bag": "checked"})
    assert (found.need, found.have, found.outcome) == (3, 1, MISSING)
    assert "not in the checked bag" in found.reason
    assert "2 more" in found.reason


@pytest.mark.parametrize(
    ("item", "lines", "outcome"),
    [
        (BANK, [battery(3.7, 20)], PACKED),  # 74 Wh
        (BANK, [battery(10, 10)], PACKED),  # 100 Wh, the first limit
        (BANK, [battery(10, 16)], PACKED),  # 160 Wh, the second
        (BANK, [battery(12.8, 12.5)], PACKED),  # 160 Wh again
        (BANK, [battery(10, 16.1)], WRONG),
        (BANK, [battery(3.7, 20, 2)], PACKED),
        (BANK, [battery(3.7, 20), battery(3.7, 10)], PACKED),
        (BANK, [battery(3.7, 20, 3)], WRONG),
        (BANK, [battery(3.7, 20, 2), battery(3.7, 1)], WRONG),
        (CELL, [battery(3, 1.5, 3)], PACKED),
        (CELL, [battery(10, 10, 3)], PACKED),  # 100 Wh each: no limit to their number
        (CELL, [battery(10, 10.1, 2), battery(3, 1.5)], PACKED),
        (CELL, [battery(10, 10.1, 3)], WRONG),
        (CELL, [battery(10, 10.1, 2), battery(10, 16)], WRONG),
        (CELL, [battery(10, 16, 2), battery(3, 1.5)], PACKED),
        (CELL, [battery(10, 16.1), battery(3, 1.5, 3)], WRONG),
        (CELL, [{"bag": "cabin", "volts": 3.7, "count": 3}], PACKED),  # no amp-hours: no energy to judge
    ],
)
def test_batteries_are_judged_by_volts_times_amp_hours(invented_plan, item, lines, outcome):
    """To 100 Wh freely, to 160 Wh two, none above; two power banks at most. By road none of it matters."""
    assert row(invented_plan, item, *lines).outcome == outcome
    assert row(invented_plan, item, *lines, travel="road").outcome == PACKED


def test_the_energy_of_a_battery_is_shown(invented_plan):
    """3.7 V and 20 Ah are 74 Wh: the number that the airline asks for stands in the row."""
    assert "power bank 74 Wh" in row(invented_plan, BANK, battery(3.7, 20)).reason


@pytest.mark.parametrize(("amp_hours", "asked"), [(10, False), (10.1, True), (16, True)])
def test_a_battery_that_the_airline_must_approve_says_so(invented_plan, amp_hours, asked):
    """Over 100 Wh it flies only if the airline was asked before; by road nobody is asked."""
    line = battery(10, amp_hours)
    assert ("approval of the airline" in row(invented_plan, BANK, line).reason) is asked
    assert "approval" not in row(invented_plan, BANK, line, travel="road").reason


def test_an_energy_just_over_the_limit_is_not_told_as_the_limit_itself(invented_plan):
    """The reader must see why it is over."""
    found = row(invented_plan, BANK, battery(10, 16.04))
    assert found.outcome == WRONG
    assert "160 Wh is over 160" not in found.reason


@pytest.mark.parametrize("item", ["release aid", "bow case", "hex key set"])
def test_a_vehicle_is_no_bag_when_the_bow_flies(invented_plan, item):
    """What stays in the truck at the airport is not on the trip; by road it is in its place."""
    lines = [{"bag": "vehicle"}, {"bag": "body"}]
    found = row(invented_plan, item, *lines)
    assert (found.outcome, "does not fly" in found.reason) == (WRONG, True)
    assert row(invented_plan, item, *lines, travel="road").outcome == PACKED


def cases(invented_plan, *lines, airline=None, travel="air"):
    """The checked bags against the airline's limits; item, outcome, reason."""
    return invented_plan(gear=list(lines), airline=airline, trip={"travel": travel}).packing.cases


LIMITS = {"mass": "50 lb", "linear_size": "62 in"}
CASE = {"item": "bow case", "bag": "checked", "mass": "44 lb", "size": "36 in x 16 in x 8 in"}


@pytest.mark.parametrize(
    ("changed", "outcome"),
    [
        ({}, "within"),
        ({"mass": "50 lb"}, "within"),
        ({"mass": "50.1 lb"}, "over"),
        ({"mass": "22.6796185 kg"}, "within"),  # 50 lb of 0.45359237 kg
        ({"mass": "23 kg"}, "over"),
        ({"size": "38 in x 16 in x 8 in"}, "within"),  # 62 in
        ({"size": "38.1 in x 16 in x 8 in"}, "over"),
        ({"size": "38 x 16 x 8 in"}, "within"),
        ({"size": "965.2 mm x 40.64 cm x 8 in"}, "within"),  # 38 and 16 in
        ({"size": "97 cm x 41 cm x 20 cm"}, "over"),  # 158 cm; 62 in are 157.48
        ({"mass": "51 lb", "size": "60 in x 16 in x 8 in"}, "over"),
    ],
)
def test_a_checked_bag_is_held_against_the_airlines_limits(invented_plan, changed, outcome):
    """Mass, and length + width + height; exactly at the limit is within, in any unit."""
    ((item, found, reason),) = cases(invented_plan, {**CASE, **changed}, airline=LIMITS)
    assert (item, found) == ("bow case", outcome)
    assert ("too much" in reason) is (outcome == "over")


@pytest.mark.parametrize(
    ("line", "airline", "missing"),
    [
        (CASE, None, "missing the airline limit of mass"),
        (CASE, {"mass": "50 lb"}, "missing the airline limit of length + width + height"),
        ({k: v for k, v in CASE.items() if k != "mass"}, LIMITS, "missing its mass"),
        ({k: v for k, v in CASE.items() if k != "size"}, LIMITS, "missing its length + width + height"),
    ],
)
def test_a_bag_or_a_limit_that_is_not_given_cannot_be_told(invented_plan, line, airline, missing):
    """Half of the answer is no pass; the reason says what is missing."""
    ((_, outcome, reason),) = cases(invented_plan, line, airline=airline)
    assert outcome == "cannot tell"
    assert missing in reason


def test_too_heavy_stands_over_what_is_not_known(invented_plan):
    """A mass over the limit is over, whatever the size would have been."""
    ((_, outcome, _),) = cases(invented_plan, {"item": "bow case", "bag": "checked", "mass": "51 lb"}, airline=LIMITS)
    assert outcome == "over"


def test_only_checked_bags_with_a_mass_or_a_size_are_held_against_limits(invented_plan):
    """A carry-on is another matter, a bag without numbers says nothing, and the road has no limits."""
    lines = [CASE, {**CASE, "item": "duffel", "mass": "55 lb"}, {**CASE, "item": "pack", "bag": "cabin"}]
    lines.append({"item": "tube", "bag": "checked"})
    found = cases(invented_plan, *lines, airline=LIMITS)
    assert [(case.item, case.outcome) for case in found] == [("bow case", "within"), ("duffel", "over")]
    assert cases(invented_plan, *lines, airline=LIMITS, travel="road") == ()


def test_a_bag_just_over_a_limit_is_not_told_as_the_limit_itself(invented_plan):
    """Half an ounce over is over, and the two numbers must show it."""
    ((_, outcome, reason),) = cases(invented_plan, {**CASE, "mass": "22.69 kg"}, airline=LIMITS)
    assert outcome == "over"
    assert "50.0 lb of 50.0 lb" not in reason


def test_a_side_below_nothing_is_no_size(run, invented_text):
    """-44 in x 18 in x 8 in is a slip of the pen: an error of the file."""
    text = invented_text(gear=[{**CASE, "size": "-44 in x 18 in x 8 in"}], airline=LIMITS)
    assert run("pack", "-", "--date", "2027-09-06", stdin=text).code == 2
