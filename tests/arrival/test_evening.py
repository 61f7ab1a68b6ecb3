"""From records to groups: what counts together, what a change parts, what has no place."""

import pytest

INCH = 0.0254


def test_sets_of_one_kind_and_distance_are_one_group_that_was_looked_at_twice(at_camp):
    """Middle and squares are those of all its arrows."""
    (group,) = at_camp().shot(20, [(0, 0), (2, 0)]).shot(20, [(4, 0)]).evening.groups
    assert (group.arrows, group.sets) == (3, 2)
    assert group.right_m == pytest.approx(2 * INCH)
    assert group.squares_m2 == pytest.approx(8 * INCH**2)  # 4 + 0 + 4 by hand
    assert group.dof == 4


def test_kinds_heads_distances_and_cold_arrows_stay_apart(at_camp):
    """The first cold arrow is in no group."""
    camp = at_camp().shot(20, [(0, 0)]).shot(20, [(0, 0)], "bare").shot(40, [(0, 0)], "broadhead", "hunting head")
    evening = camp.shot(40, [(9, 9)], cold=True).evening
    assert [(round(g.distance_m / 0.9144), g.kind) for g in evening.groups] == [
        (20, "bare"),
        (20, "fletched"),
        (40, "broadhead"),
    ]
    assert evening.cold_at(40 * 0.9144).right_m == pytest.approx(9 * INCH)


def test_a_change_begins_a_new_run_but_keeps_the_answers(at_camp):
    """What was shot before it is judged no more."""
    evening = at_camp().answered("ARR-010").shot(20, [(5, 5)]).changed("sight back").shot(20, [(1, 1)]).evening
    assert [g.arrows for g in evening.groups] == [1]
    assert evening.groups[0].right_m == pytest.approx(INCH)
    assert evening.answers == {"ARR-010": "pass"}
    assert evening.changes == ("sight back",)


def test_an_arrow_outside_the_butt_is_counted_and_has_no_place(at_camp):
    """It moves no middle and is not dropped."""
    (group,) = at_camp().shot(20, [(1, 0), None, (3, 0)]).evening.groups
    assert (group.arrows, group.outside) == (2, 1)
    assert group.right_m == pytest.approx(2 * INCH)


def test_another_place_is_another_evening(at_camp):
    """Records carry their place."""
    camp = at_camp().shot(20, [(1, 0)])
    stamp = camp.records[0].stamp._replace(at="Basin spike camp")
    camp.records.append(camp.records[0]._replace(stamp=stamp))
    assert [g.arrows for g in camp.evening.groups] == [1]


def test_answers_after_the_last_shots_are_known_as_such(at_camp):
    """A step that is due again after a bad group was answered again, or not."""
    evening = at_camp().answered("ARR-010").shot(20, [(1, 0)]).answered("ARR-020").evening
    assert evening.answered_since == {"ARR-020"}
