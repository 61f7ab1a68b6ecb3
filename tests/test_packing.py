"""The packing list: how many of each thing, in which bag, what is missing, what rides in a wrong one."""

from datetime import date, timedelta

import pytest

FIXED = {"name": "head A", "kind": "fixed blade", "mass": "100 gr"}
MECHANICAL = {"name": "head B", "kind": "mechanical", "mass": "100 gr"}
POINT = {"name": "practice point", "kind": "field point", "mass": "100 gr"}
MISSING, WRONG, PACKED = "missing", "wrong bag", "packed"


def days(count):
    """The dates of a trip of so many days, first and last counted."""
    return {"starts": "2027-10-04", "ends": str(date(2027, 10, 4) + timedelta(days=count - 1))}


def row(invented_plan, item, *, gear=None, **blocks):
    """One row of the packing list by the item's name; None where the list does not have it."""
    rows = [r for r in invented_plan(gear=gear, **blocks).packing.rows if r.item == item]
    assert len(rows) <= 1
    return rows[0] if rows else None


def need(invented_plan, item, **blocks):
    """How many of an item a trip takes; 0 where the list does not have it."""
    found = row(invented_plan, item, **blocks)
    return found.need if found else 0


@pytest.mark.parametrize(
    ("count", "arrows", "heads", "nocks"),
    # six arrows and one a day, at most 18; three heads and one for two days, at most 12; two nocks likewise
    [(1, 7, 4, 3), (2, 8, 4, 3), (3, 9, 5, 4), (5, 11, 6, 5), (8, 14, 7, 6), (12, 18, 9, 8), (30, 18, 12, 12)],
)
def test_arrows_heads_and_nocks_grow_with_the_days(invented_plan, count, arrows, heads, nocks):
    """Halves are rounded up, and there is an end to it."""
    trip = {"trip": days(count)}
    assert need(invented_plan, "hunting arrow", **trip) == arrows
    assert need(invented_plan, "hunting head", **trip) == heads
    assert need(invented_plan, "spare nock", **trip) == nocks


@pytest.mark.parametrize(
    ("shop", "count", "loops", "spares"),
    [
        ("0 h", 7, 1, set()),
        ("0.9 h", 7, 1, set()),
        ("1 h", 7, 2, {"string and cable set", "rest cord and clamp"}),
        ("119 min", 7, 2, {"string and cable set", "rest cord and clamp"}),
        ("2 h", 7, 2, {"string and cable set", "rest cord and clamp", "spare sight pin"}),
        ("8 h", 6, 2, {"string and cable set", "rest cord and clamp", "spare sight pin"}),
        ("8 h", 7, 2, {"string and cable set", "rest cord and clamp", "spare sight pin", "second bow"}),
        ("2 days", 7, 2, {"string and cable set", "rest cord and clamp", "spare sight pin", "second bow"}),
    ],
)
def test_spares_grow_with_the_way_to_the_nearest_shop(invented_plan, shop, count, loops, spares):
    """An hour away: string and rest cord; two: a sight pin; a day away for a week: a second bow."""
    rows = {r.item: r for r in invented_plan(trip={"nearest_shop": shop, **days(count)}).packing.rows}
    known = {"string and cable set", "rest cord and clamp", "spare sight pin", "second bow"}
    assert known & set(rows) == spares
    assert {rows[item].need for item in spares} <= {1}
    assert rows["loop cord"].need == loops


def test_a_shop_of_unknown_distance_is_taken_for_a_far_one_and_says_so(invented_plan):
    """Where it cannot be told whether a spare is needed it is taken, with the reason."""
    rows = {r.item: r for r in invented_plan(trip={"nearest_shop": None}).packing.rows}
    for item in ("string and cable set", "rest cord and clamp", "spare sight pin"):
        assert rows[item].need == 1
        assert "cannot tell: missing trip.nearest_shop; take it" in rows[item].reason
    assert rows["loop cord"].need == 2
    assert "second bow" not in rows  # five days: no second bow, wherever the shop is


@pytest.mark.parametrize(
    ("item", "needed", "blocks"),
    [
        ("spare head blade set", 0, {"heads": [POINT, FIXED]}),
        ("spare head blade set", 2, {"heads": [POINT, MECHANICAL]}),
        ("hunting head", 0, {"heads": [POINT]}),
        ("head wrench", 0, {"heads": [POINT]}),
        ("head wrench", 1, {"heads": [POINT, FIXED]}),
        ("fall-arrest harness", 0, {}),
        ("fall-arrest harness", 1, {"trip": {"hazards": ["tree stand"]}}),
        ("relief strap", 1, {"trip": {"hazards": ["tree stand"]}}),
        ("haul line", 1, {"trip": {"hazards": ["tree stand"]}}),
        ("haul line", 1, {"trip": {"hazards": None}}),
        ("bear spray", 1, {"trip": {"hazards": ["bears"], "travel": "road"}}),
        ("bear spray", 0, {"trip": {"travel": "road"}}),
        ("arm guard", 0, {"destinations": [{"name": "Hut", "elevation": "700 ft", "temperature": "11 C"}]}),
        ("arm guard", 1, {"destinations": [{"name": "Hut", "elevation": "700 ft", "temperature": "10 C"}]}),
        ("shooting glove pair", 1, {"destinations": [{"name": "Hut", "elevation": "700 ft", "temperature": "-4 C"}]}),
        ("shooting glove pair", 2, {"destinations": [{"name": "Hut", "elevation": "700 ft", "temperature": "-5 C"}]}),
        ("field card", 2, {"destinations": [{"name": n, "elevation": "700 ft"} for n in ("Hut", "Camp")]}),
        ("spare lithium cell", 2, {"declared": {"powered sight": "no"}}),
        ("spare lithium cell", 3, {"declared": {"powered sight": "yes"}}),
        ("spare lithium cell", 4, {"declared": {"powered sight": "yes"}, "trip": days(7)}),
        ("power bank", 0, {"trip": days(2)}),
        ("power bank", 1, {"trip": days(3)}),
    ],
)
def test_what_a_trip_does_not_ask_for_is_not_on_its_list(invented_plan, item, needed, blocks):
    """Heads, hazards, cold, camps and length decide; a hazard left out is taken for one."""
    assert need(invented_plan, item, **blocks) == needed


@pytest.mark.parametrize(
    ("item", "air", "road"),
    [
        ("bow case", {"checked": 1}, {"vehicle": 1}),
        ("release aid", {"body": 1, "checked": 1}, {"body": 1, "vehicle": 1}),
        ("hunting arrow", {"checked": 11}, {"vehicle": 11}),
        ("hunting head", {"checked": 6}, {"vehicle": 6}),
        ("field point", {"checked": 6}, {"vehicle": 6}),
        ("hex key set", {"checked": 1}, {"body": 1}),
        ("rangefinder", {"cabin": 1}, {"body": 1}),
        ("spare lithium cell", {"cabin": 3}, {"body": 3}),
        ("power bank", {"cabin": 1}, {"vehicle": 1}),
        ("satellite messenger", {"cabin": 1}, {"body": 1}),
        ("licence and tag", {"body": 1}, {"body": 1}),
    ],
)
def test_each_thing_has_its_bags_by_air_and_by_road(invented_plan, item, air, road):
    """Points, blades and arrows in the hold, lithium in the cabin, papers on the body; the truck takes the rest."""
    for travel, bags in (("air", air), ("road", road)):
        found = row(invented_plan, item, trip={"travel": travel})
        assert dict(found.bags) == bags
        assert sum(bags.values()) == found.need


@pytest.mark.parametrize("travel", ["air", "road"])
@pytest.mark.parametrize(
    ("lines", "outcome"),
    [
        ([{"bag": "body"}, {"bag": "checked"}], PACKED),
        ([{"bag": "cabin"}, {"bag": "checked"}], PACKED),
        ([{"bag": "cabin"}, {"bag": "cabin"}], WRONG),
        ([{"bag": "checked", "count": 2}], WRONG),
        ([{"bag": "checked", "count": 3}], WRONG),
        ([{"bag": "checked", "count": 2}, {"bag": "body"}], PACKED),
        ([{"bag": "checked"}, {}], WRONG),
        ([{"count": 2}], WRONG),
        ([{}], MISSING),
        ([], MISSING),
    ],
)
def test_two_release_aids_ride_in_different_bags(invented_plan, travel, lines, outcome):
    """Two in one bag, or in a bag that nobody knows, are lost together; one is one too few."""
    gear = [{"item": "release aid", **line} for line in lines]
    found = row(invented_plan, "release aid", gear=gear, trip={"travel": travel})
    assert found.outcome == outcome
    if outcome == WRONG:
        assert found.reason.startswith("two in one bag" if all("bag" in line for line in lines) else "say in which bag")


@pytest.mark.parametrize("item", ["hunting arrow", "hunting head", "field point", "bare shaft"])
@pytest.mark.parametrize(
    ("bag", "by_air"), [("checked", PACKED), ("cabin", WRONG), ("body", WRONG), (None, WRONG)], ids=str
)
def test_what_is_pointed_flies_in_the_hold_only(invented_plan, item, bag, by_air):
    """In hand baggage it is a wrong bag, and where no bag is stated it is to be stated; on the road it does not matter."""
    line = {"item": item, "count": 20} if bag is None else {"item": item, "count": 20, "bag": bag}
    found = row(invented_plan, item, gear=[line])
    assert found.outcome == by_air
    if bag != "checked":
        assert ("say in which bag" if bag is None else f"not in the {bag} bag") in found.reason
    assert row(invented_plan, item, gear=[line], trip={"travel": "road"}).outcome == PACKED


@pytest.mark.parametrize("item", ["bear spray", "stove fuel"])
def test_what_flies_in_no_bag_is_wrong_in_every_bag_and_never_missing(invented_plan, item):
    """By air it is bought there; listed in any bag it is a wrong one. By road it rides along."""
    trip = {"hazards": ["bears"]}
    for bag in ("body", "cabin", "checked"):
        found = row(invented_plan, item, gear=[{"item": item, "bag": bag}], trip=trip)
        assert (found.outcome, found.need, found.bag, found.bags) == (WRONG, 0, "none", ())
        assert "do not fly it" in found.reason
    left = row(invented_plan, item, gear=[], trip=trip)
    assert left is None or (left.outcome, left.need) == (PACKED, 0)
    by_road = {**trip, "travel": "road"}
    assert row(invented_plan, item, gear=[{"item": item, "bag": "vehicle"}], trip=by_road).outcome == PACKED
