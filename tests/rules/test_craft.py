"""The craft of a checklist, rule by rule: what is found, what is left alone, and where the limit itself stands."""

from functools import partial
from itertools import pairwise

import pytest
import yaml
from made_up import STEP

from readiness.rules.craft import SWEEP
from readiness.rules.lint import lint_packs
from readiness.rules.packs import built_in_packs

ITEM = {
    "need": {"count": 1},
    "air": ["cabin"],
    "road": ["vehicle"],
    "why": "Dries the limbs",
    "basis": "common practice",
}


def many(count, **step):
    """So many steps alike."""
    return [step] * count


@pytest.mark.parametrize("count", [1, 6, 7])
def test_up_to_seven_steps_make_a_block(found, count):
    """The limit itself is allowed."""
    assert found(*many(count)) == []


@pytest.mark.parametrize("count", [8, 9, 15])
def test_the_eighth_step_of_a_block_is_told_once(found, count):
    """Where it becomes too long, and not again for every step after it."""
    assert found(*many(count)) == [("long-block", 8)]


def test_steps_are_counted_for_each_stage_and_block(found):
    """Another heading or another moment begins anew; a block that is taken up again goes on."""
    assert found(*many(7, block="Near"), *many(7, block="Far"), *many(7, stage="morning", block="Near")) == []
    assert found(*many(4, block="Near"), *many(7, block="Far"), *many(4, block="Near")) == [("long-block", 15)]


def test_three_stop_steps_are_a_block_and_the_fourth_is_one_too_many(found):
    """Where everything stops, nothing stands out; the next block counts anew."""
    assert found(*many(3, stop=True)) == []
    assert found(*many(4, stop=True)) == [("many-stops", 4)]
    assert found(*many(5, stop=True)) == [("many-stops", 4)]
    assert found(*many(3, stop=True, block="Near"), *many(3, stop=True, block="Far")) == []


def test_a_stop_step_behind_another_is_told_at_each_that_comes_late(found):
    """Stop steps stand first in their block."""
    go, stop = {}, {"stop": True}
    assert found(stop, stop, go, go) == []
    assert found(go, stop) == [("late-stop", 2)]
    assert found(stop, go, stop, go, stop) == [("late-stop", 3), ("late-stop", 5)]
    assert found({"block": "Near"}, {"block": "Far", "stop": True}) == []


@pytest.mark.parametrize("stop", [False, True])
def test_steps_along_the_bow_follow_one_sweep(found, stop):
    """In order, repeated places and steps without a place included; a step back is told where it stands."""
    at = [{"at": place, "stop": stop} for place in SWEEP]
    assert SWEEP[0] == "top cam"
    assert SWEEP[-1] == "bottom cam"
    for first, second in pairwise(at):
        assert found(first, second) == []
        assert found(second, first) == [("out-of-sweep", 2)]
    assert found(at[2], at[2], at[8]) == []
    if not stop:
        assert found(at[2], {}, at[1]) == [("out-of-sweep", 3)]


def test_a_step_back_does_not_hide_the_next_one(found):
    """The farthest place reached stays the measure."""
    steps = [{"at": place} for place in ("rest", "string", "peep", "sight", "loop")]
    assert found(*steps) == [("out-of-sweep", 2), ("out-of-sweep", 3), ("out-of-sweep", 5)]


def test_the_stop_steps_of_a_block_are_a_sweep_of_their_own(found):
    """They come first over the whole bow, and the others begin again at the top; so does another block."""
    stops = [{"at": place, "stop": True} for place in ("top cam", "string", "bottom cam")]
    assert found(*stops, {"at": "top limb"}, {"at": "rest"}) == []
    assert found({"at": "rest", "block": "Near"}, {"at": "peep", "block": "Far"}) == []
    assert found({"at": "rest"}, {"at": "peep", "stage": "morning"}) == []


@pytest.mark.parametrize("key", ["mode", "closing"])
def test_a_pack_of_steps_says_how_they_are_run_and_how_a_block_ends(a_pack, key):
    """Left out, each is named; a pack of cautions or items alone needs neither."""
    head = {"pack": "river", "version": 1, "mode": "read, do", "closing": "Rinsed and dry"}
    head.pop(key)
    steps = yaml.safe_dump({**head, "rules": [{"id": "RIV-010", **STEP}]}, sort_keys=False)
    (problem,) = lint_packs([a_pack(steps)])
    assert (problem.line, problem.code, problem.message) == (1, "missing-key", f"{key} is missing here")
    items = yaml.safe_dump({**head, "items": [{"id": "RIV-010", "item": "sponge", **ITEM}]}, sort_keys=False)
    assert lint_packs([a_pack(items)]) == ()


@pytest.mark.parametrize("mode", ["read, do", "do, then confirm"])
def test_there_are_two_ways_to_run_a_list(found, mode):
    """Read and do, or do and confirm; any other word is told with the two."""
    assert found({}, mode=mode) == []
    assert found({}, mode="challenge") == [("bad-choice", 0)]
    assert found({}, closing="") == [("bad-size", 0)]


def items_of(a_pack, name, *items):
    """A pack of items, read."""
    listed = [{"id": f"{name[:3].upper()}-{n:03}", **ITEM, **item} for n, item in enumerate(items, 1)]
    return a_pack(yaml.safe_dump({"pack": name, "version": 1, "items": listed}, sort_keys=False), f"{name}.yaml")


def test_a_name_of_another_packs_item_is_told_in_the_later_pack(a_pack):
    """By name or alias, in the plural, with other signs between; the message says whose it is."""
    pack = partial(items_of, a_pack)
    river = pack("river", {"item": "sponge", "aliases": ["dry cloth"]})
    for other in ({"item": "Sponges"}, {"item": "rag", "aliases": ["Dry-Cloth"]}, {"item": "dry cloth"}):
        (problem,) = lint_packs([river, pack("lake", other)])
        assert (problem.file, problem.code) == ("lake.yaml", "repeated-name")
        assert "RIV-001" in problem.message
    assert lint_packs([river, pack("lake", {"item": "rag", "aliases": ["wet cloth"]})]) == ()


@pytest.mark.parametrize(
    ("item", "codes"),
    [
        ({"air": ["checked"], "never": ["checked"]}, ["forbidden-bag"]),
        ({"air": ["body", "checked"], "never": ["cabin", "checked"]}, ["forbidden-bag"]),
        ({"air": ["cabin"], "never": ["checked"]}, []),
        ({"battery": "spare"}, ["forbidden-bag"]),
        ({"battery": "bank", "never": ["body"]}, ["forbidden-bag"]),
        ({"battery": "bank", "never": ["checked"]}, []),
        ({"battery": "spare", "air": ["checked"], "never": ["checked"]}, ["forbidden-bag"]),
        ({"road": ["vehicle"], "never": ["vehicle"]}, []),
    ],
)
def test_no_item_is_sent_in_a_bag_in_which_it_may_not_fly(a_pack, item, codes):
    """Its own bags by air are none of never; lithium always has the hold among never. The road is free."""
    problems = lint_packs([items_of(a_pack, "river", {"item": "sponge", **item})])
    assert [p.code for p in problems] == codes


def test_every_finding_says_what_to_do(a_pack):
    """A hint beside each message."""
    rules = [
        {
            "id": f"RIV-{n:03}",
            **STEP,
            "at": at,
            "stop": n > 2,
            "do": "Make sure; look.",
            "expect": "OK, not without wax.",
        }
        for n, at in enumerate(("rest", "peep", *["string"] * 7), 1)
    ]
    head = {"pack": "river", "version": 1, "mode": "read, do", "closing": "Dry"}
    problems = lint_packs([a_pack(yaml.safe_dump({**head, "rules": rules}, sort_keys=False))])
    assert {p.code for p in problems} == {
        *("empty-words", "two-actions", "double-negative", "late-stop", "many-stops", "long-block", "out-of-sweep")
    }
    assert [p for p in problems if not p.hint or not p.message] == []


def test_the_built_in_packs_keep_the_craft_that_they_ask_of_others():
    """Counted here once more, without the linter: steps and stops of each block, stops first, mode and closing."""
    packs, problems = built_in_packs()
    assert problems == ()
    assert lint_packs(packs) == ()
    blocks = {}
    for pack in packs:
        for rule in pack.rules:
            blocks.setdefault((rule.stage, rule.block), []).append(rule)
    assert len(blocks) >= 15
    for steps in blocks.values():
        stops = [rule.stop for rule in steps]
        assert len(stops) <= 7
        assert sum(stops) <= 3
        assert stops == sorted(stops, reverse=True)
        assert {rule.mode for rule in steps} <= {"read, do", "do, then confirm"}
        assert all(rule.closing for rule in steps)
        for stop in (True, False):
            along = [SWEEP.index(rule.at) for rule in steps if rule.at and rule.stop == stop]
            assert along == sorted(along)
