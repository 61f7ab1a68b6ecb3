"""Names of gear: every spelling of an item is found, and what is none of them is kept in its user's words."""

import json

import pytest

from readiness.packing import match_gear, plain
from readiness.render.data import packing_data
from readiness.rules.packs import built_in_packs
from readiness.trip.model import GearItem

ITEMS = tuple(item for pack in built_in_packs()[0] for item in pack.items)


def test_gear_that_the_list_does_not_know_is_kept_in_its_own_words(invented_plan):
    """Nothing of the user's disappears, repeated lines included."""
    gear = [
        {"item": "Lucky hat"},
        {"item": "binocular", "bag": "cabin", "count": 2},
        {"item": "Lucky hat", "bag": "body"},
    ]
    plan = invented_plan(gear=gear)
    own = packing_data(plan.trip, plan.packing)["own"]
    assert [(line["item"], line["have"], line["bag"]) for line in own] == [
        ("Lucky hat", 1, None),
        ("binocular", 2, "cabin"),
        ("Lucky hat", 1, "body"),
    ]


def test_the_users_own_things_stand_behind_the_items_with_nothing_needed(invented_plan):
    """A row each, without an id, where its user put it: a program that packs by the rows forgets nothing."""
    plan = invented_plan(gear=[{"item": "lucky hat", "bag": "cabin", "count": 2}, {"item": "headlamp", "bag": "cabin"}])
    items = packing_data(plan.trip, plan.packing)["items"]
    assert [item["item"] for item in items if item["id"] is None] == ["lucky hat"]
    own = items[-1]
    assert (own["item"], own["need"], own["have"], own["outcome"]) == ("lucky hat", 0, 2, "packed")
    assert (own["bag"], sum(own["bags"].values())) == ("cabin", 0)


@pytest.mark.parametrize("line", [{"volts": 3.7, "amp_hours": 3.5}, {}], ids=["with its energy", "by name only"])
def test_no_unknown_battery_is_sent_into_the_hold(invented_plan, line):
    """Nobody said where it rides; the hold is the one place where a spare lithium cell may not."""
    plan = invented_plan(gear=[{"item": "walkie-talkie lithium pack", **line}])
    own = packing_data(plan.trip, plan.packing)["items"][-1]
    assert own["item"] == "walkie-talkie lithium pack"
    assert own["bag"] != "checked"
    assert "checked" not in own["bags"]


@pytest.mark.parametrize(
    ("written", "meant"),
    [("relase aid", "release aid"), ("rangefindr battery", "spare lithium cell"), ("lucky hat", None), ("sock", None)],
)
def test_a_misspelt_thing_is_asked_about_and_not_counted(invented_plan, written, meant):
    """It stays the user's own, beside the item that it may be; what is like no item is asked nothing."""
    plan = invented_plan(gear=[{"item": written, "bag": "checked"}])
    data = packing_data(plan.trip, plan.packing)
    assert [(line["item"], line["did_you_mean"]) for line in data["own"]] == [(written, meant)]
    assert {item["have"] for item in data["items"] if item["id"]} == {0}


def test_lines_of_one_thing_add_up_under_any_of_its_names(invented_plan):
    """Seven arrows, three `Arrows` and one `fletched-arrow` are eleven, in one row."""
    gear = [{"item": "hunting arrow", "count": 7}, {"item": "Arrows", "count": 3}, {"item": "fletched-arrow"}]
    packing = invented_plan(gear=[{**line, "bag": "checked"} for line in gear]).packing
    (found,) = [row for row in packing.rows if row.item == "hunting arrow"]
    assert (found.need, found.have, found.outcome) == (11, 11, "packed")
    assert packing.own == ()


WAYS = {"as it is": str, "capitals": str.upper, "title": str.title, "hyphens": lambda n: f" {n.replace(' ', '-')}, "}


@pytest.mark.parametrize("write", WAYS.values(), ids=WAYS)
def test_every_name_of_every_item_is_found_however_it_is_written(write):
    """Case, hyphens and stray signs do not matter."""
    names = [(name, item.id) for item in ITEMS for name in (item.item, *item.aliases)]
    assert len(names) > 100
    lost = [name for name, wanted in names if [*match_gear(ITEMS, [GearItem(write(name))])[0]] != [wanted]]
    assert lost == []


def _english_plural(name):
    if name.endswith("y") and name[-2] not in "aeiou":
        return f"{name[:-1]}ies"
    if name.endswith("s") and not name.endswith("ss"):
        return name
    return f"{name}es" if name.endswith(("ch", "sh", "ss", "x")) else f"{name}s"


REGULAR, IRREGULAR = [], []
for _item in ITEMS:
    for _name in (_item.item, *_item.aliases):
        _plural = _english_plural(_name)
        (REGULAR if _plural in (_name, f"{_name}s") else IRREGULAR).append((_plural, _item.id))


@pytest.mark.parametrize(
    "names",
    [
        pytest.param(REGULAR, id="with s"),
        pytest.param(
            IRREGULAR,
            id="with es or ies",
        ),
    ],
)
def test_every_name_of_every_item_is_found_in_the_plural(names):
    """Spare batteries in the hold must not pass for a thing that the list does not know."""
    assert names
    assert [name for name, wanted in names if [*match_gear(ITEMS, [GearItem(name)])[0]] != [wanted]] == []


def test_names_that_only_look_alike_stay_apart():
    """A word that ends in ss or is short keeps its end, and one item's name is never found inside another's."""
    assert plain("Gas") == "gas"
    assert plain("glass") == "glass"
    matched, own = match_gear(ITEMS, [GearItem("case"), GearItem("sock"), GearItem("arrow box"), GearItem("spare")])
    assert matched == {}
    assert len(own) == 4


def test_a_misspelt_thing_is_warned_of_at_its_place(run, sample_text):
    """File, line and column, with the name that is meant; check's JSON has it, and what is near nothing is let be."""
    last = "  - {item: trail food, bag: checked}\n"
    text = sample_text("high-basin").replace(
        last, f"{last}  - {{item: huntng arow, bag: checked}}\n  - {{item: lucky hat}}\n"
    )
    ran = run("pack", "-", "--date", "2027-09-06", stdin=text)
    line = 1 + text[: text.index("huntng")].count("\n")
    assert f":{line}:12: warning[unknown-item]: the packing list does not know 'huntng arow'" in ran.err
    assert "hint: did you mean hunting arrow?" in ran.err
    assert "lucky" not in ran.err
    told = json.loads(run("check", "-", "--date", "2027-09-06", "--format", "json", stdin=text).out)["problems"]
    assert [(p["code"], p["line"]) for p in told if p["code"] == "unknown-item"] == [("unknown-item", line)]
