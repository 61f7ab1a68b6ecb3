"""What a camp asks for, on the packing list of its clients."""

import pytest

from readiness.camp.items import with_camp_items
from readiness.camp.merge import load_client
from readiness.plan import make_plan
from readiness.rules.packs import built_in_packs

BRING = "    - {item: waders, why: the trail fords the creek twice}\n"


@pytest.fixture
def rows(a_camp, a_document, client_text, day):
    """A function: the packing rows of a client by name, with pieces of the camp and of the client exchanged."""

    def rows_of(*changes, client="asa", edits=()):
        camp = a_camp(*changes)
        trip = load_client(a_document(client_text(client, *edits)), camp.document, (), day).trip
        packs = with_camp_items(built_in_packs()[0], camp)
        plan, problems = make_plan(trip, packs, today=day, units="imperial", arrows=12, trip_sha256="")
        assert problems == ()
        return {row.item: row for row in plan.packing.rows}, plan

    return rows_of


def test_a_required_thing_of_the_camp_joins_the_list(rows):
    """It is missing where the gear lacks it, with the camp as its source."""
    found, _ = rows(edits=[("  - {item: waders, bag: checked}\n", "")])
    waders = found["waders"]
    assert (waders.outcome, waders.need, waders.have, waders.bag) == ("missing", 1, 0, "checked")
    assert waders.source == "required by Larkspur Forks camp"
    assert "the trail fords the creek twice" in waders.reason
    assert rows()[0]["waders"].outcome == "packed"


def test_a_known_thing_is_needed_so_often_at_least(rows):
    """Two headlamps where the built-in list wants one; its bags stay its own."""
    found, _ = rows(edits=[("{item: headlamp, count: 2, bag: cabin}", "{item: headlamp, bag: cabin}")])
    assert (found["headlamp"].need, found["headlamp"].have, found["headlamp"].outcome) == (2, 1, "missing")
    assert sum(row.item == "headlamp" for row in found.values()) == 1


def test_the_camp_never_lowers_what_the_list_wants(rows):
    """One release aid for the camp, two by the list."""
    found, _ = rows((BRING, BRING + "    - {item: Release Aids, count: 1}\n"))
    assert found["release aid"].need == 2


def test_what_may_not_fly_does_not_fly_for_a_camp_either(rows):
    """Bear spray required by the camp stays out of every bag of a flight."""
    found, plan = rows((BRING, BRING + "    - {item: bear spray, bag: checked}\n"))
    spray = found["bear spray"]
    assert (spray.bag, spray.need) == ("none", 0)
    assert plan.packing.is_ready


def test_a_recommended_thing_is_never_missing_but_known(rows):
    """Camp shoes: no row where they are not packed, and no riddle where they are."""
    found, plan = rows()
    assert "camp shoes" not in found
    found, plan = rows(
        edits=[
            (
                "  - {item: waders, bag: checked}\n",
                "  - {item: waders, bag: checked}\n  - {item: camp shoe, bag: checked}\n",
            )
        ]
    )
    assert found["camp shoes"].outcome == "packed"
    assert "camp shoe" not in [own.line.item for own in plan.packing.own]


def test_what_is_on_site_takes_nothing_off_the_list(rows):
    """Spares and a press at camp leave every count as it was."""
    with_site, _ = rows()
    block = "  butt: foam butt, 20 to 60 yd, behind the barn\n  press: bow press, worked by the technician who comes on the first day\n  spares: serving thread, loop cord, nocks\n"
    without, _ = rows(("on_site:\n" + block, ""))
    assert {name: row.need for name, row in with_site.items()} == {name: row.need for name, row in without.items()}
