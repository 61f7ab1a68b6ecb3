"""Names of gear: every spelling of an item is found, and what is none of them is kept in its user's words."""

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
