"""What holds of the packing list of any trip, whatever its days, travel, hazards, cold, heads and shops."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.render.data import packing_data
from readiness.rules.packs import built_in_packs

ITEMS = {item.id: item for pack in built_in_packs()[0] for item in pack.items}
NAMES = sorted(name for item in ITEMS.values() for name in (item.item, *item.aliases))
LITHIUM = ("lithium", "battery", "cell", "power bank", "powerbank", "charger")
BAGS = st.sampled_from([None, "body", "cabin", "checked"])
POINT = {"name": "practice point", "kind": "field point", "mass": "100 gr"}
HEADS = {
    "fixed": {"name": "head A", "kind": "fixed blade", "mass": "100 gr"},
    "mechanical": {"name": "head B", "kind": "mechanical", "mass": "100 gr"},
}
FEW = settings(max_examples=60, deadline=None)


def ending(days):
    """The last day of a trip of so many days."""
    return str(date(2027, 10, 4) + timedelta(days=days - 1))


@st.composite
def trips(draw, travel=None):
    """Blocks of a trip file: everything that the packing list may turn on, or leaves out."""
    trip = {
        "travel": travel or draw(st.sampled_from(["air", "road"])),
        "ends": ending(draw(st.integers(1, 40))),
        "hazards": draw(st.none() | st.lists(st.sampled_from(["bears", "tree stand", "riding"]), unique=True)),
        "nearest_shop": draw(st.none() | st.integers(0, 48).map(lambda h: f"{h} h")),
    }
    low = draw(st.none() | st.integers(-40, 30))
    camp = {"name": "Hut", "elevation": f"{draw(st.integers(0, 12_000))} ft"}
    camps = [camp if low is None else {**camp, "temperature": f"{low} C to {low + 5} C"}]
    if draw(st.booleans()):
        camps.append({"name": "Far hut", "elevation": "900 ft"})
    heads = draw(st.lists(st.sampled_from(sorted(HEADS)), unique=True))
    declared = draw(st.sampled_from([None, {"powered sight": "yes"}, {"powered sight": "no"}]))
    return {"trip": trip, "destinations": camps, "heads": [POINT, *map(HEADS.get, heads)], "declared": declared}


def line(name, bag, count, volts=None, amp_hours=None):
    """A gear line with what is known of it."""
    known = {"item": name, "bag": bag, "count": count, "volts": volts, "amp_hours": amp_hours}
    return {key: value for key, value in known.items() if value is not None}


LINES = st.builds(
    line,
    st.sampled_from(NAMES) | st.sampled_from(["lucky hat", "binocular"]),
    BAGS,
    st.integers(1, 6),
    st.none() | st.sampled_from([3.7, 10.0]),
    st.none() | st.sampled_from([2.0, 12.0, 20.0]),
)


@FEW
@given(blocks=trips(), gear=st.lists(LINES, max_size=6), more=LINES)
def test_one_more_line_of_gear_never_makes_more_items_missing(invented_plan, blocks, gear, more):
    """Packing a thing can put it into a wrong bag, but nothing else goes missing by it."""
    before = {r.id for r in invented_plan(gear=gear, **blocks).packing.rows if r.outcome == "missing"}
    after = {r.id for r in invented_plan(gear=[*gear, more], **blocks).packing.rows if r.outcome == "missing"}
    assert after <= before


@FEW
@given(blocks=trips(travel="air"))
def test_no_rule_sends_a_spare_lithium_cell_or_a_power_bank_into_the_hold(invented_plan, blocks):
    """Whatever the trip asks for; and a cell or bank listed in the hold is never called packed."""
    lithium = [item for item in ITEMS.values() if item.battery]
    assert {item.item for item in lithium} == {"spare lithium cell", "power bank"}
    rows = {r.id: r for r in invented_plan(**blocks).packing.rows}
    assert [r.item for r in rows.values() if any(w in r.item for w in LITHIUM) and "checked" in dict(r.bags)] == []
    gear = [{"item": item.item, "bag": "checked", "count": 20} for item in lithium]
    packed = {r.id: r.outcome for r in invented_plan(gear=gear, **blocks).packing.rows}
    assert {packed[item.id] for item in lithium} == {"wrong bag"}


@FEW
@given(blocks=trips(), longer=st.integers(1, 20))
def test_a_longer_trip_never_needs_less_of_anything(invented_plan, blocks, longer):
    """A day more takes nothing off the list."""
    first = invented_plan(**blocks).packing.rows
    last = date.fromisoformat(blocks["trip"]["ends"]) + timedelta(days=longer)
    more = invented_plan(**{**blocks, "trip": {**blocks["trip"], "ends": str(last)}}).packing.rows
    needed = {r.id: r.need for r in more}
    assert [r.item for r in first if needed.get(r.id, 0) < r.need] == []


@FEW
@given(blocks=trips(travel="air"))
def test_no_thing_is_sent_in_a_bag_in_which_it_may_not_fly(invented_plan, blocks):
    """The bags of a row are none of those that its item names under never; what flies in none has none."""
    rows = invented_plan(**blocks).packing.rows
    assert len(rows) > 20
    for row in rows:
        item = ITEMS[row.id]
        assert not set(dict(row.bags)) & set(item.never), row.item
        assert "vehicle" not in dict(row.bags)
        if not item.flies:
            assert (row.bags, row.bag, row.need) == ((), "none", 0)


@FEW
@given(blocks=trips(), gear=st.lists(LINES, max_size=8))
def test_every_line_of_gear_is_counted_once(invented_plan, blocks, gear):
    """What is packed stands in one row or among the user's own; no count is lost or doubled."""
    plan = invented_plan(gear=gear, **blocks)
    data = packing_data(plan.trip, plan.packing)
    rows = [row for row in data["items"] if row["id"]]
    assert sum(row["have"] for row in (*rows, *data["own"])) == sum(item["count"] for item in gear)
    assert len({row["item"] for row in rows}) == len(rows)
    assert [row for row in rows if (row["outcome"] == "missing") != (row["have"] < row["need"])] == []


@FEW
@given(blocks=trips())
def test_packing_what_the_list_asks_for_where_it_asks_for_it_is_ready(invented_plan, blocks):
    """The list can be followed: each thing in the bags of its row leaves nothing missing and nothing in a wrong bag."""
    asked = invented_plan(**blocks).packing.rows
    gear = [{"item": row.item, "bag": bag, "count": count} for row in asked for bag, count in row.bags]
    assert [(r.item, r.outcome) for r in invented_plan(gear=gear, **blocks).packing.rows if r.outcome != "packed"] == []
