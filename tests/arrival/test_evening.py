"""From records to groups: what counts together, what a change parts, what has no place."""

from datetime import date

import pytest

from readiness.arrival.changes import is_sight_moved
from readiness.arrival.evening import evening_of

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


def test_a_change_begins_a_new_run_and_the_answers_lapse(at_camp):
    """What was shot before it is judged no more; stop steps hold through a change to the sight alone."""
    evening = at_camp().answered("ARR-010").shot(20, [(5, 5)]).changed("sight back").shot(20, [(1, 1)]).evening
    assert [g.arrows for g in evening.groups] == [1]
    assert evening.groups[0].right_m == pytest.approx(INCH)
    assert (evening.answers, evening.kept) == ({}, {"ARR-010": "pass"})
    assert evening.changes == ("sight back",)
    assert at_camp().answered("ARR-010").changed("new string, peep tied in").evening.kept == {}


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


def test_only_the_first_arrow_of_a_cold_set_is_cold(at_camp):
    """The others warmed the archer up: they belong to the group."""
    evening = at_camp().shot(40, [(5, 5), (0, 0), (1, 0)], cold=True).evening
    assert evening.cold_at(40 * 0.9144).right_m == pytest.approx(5 * INCH)
    assert evening.group("fletched", 40 * 0.9144).arrows == 2


def test_a_cold_head_is_not_held_against_the_cold_fletched_reference(at_camp):
    """Their kinds differ."""
    assert at_camp().shot(40, [(9, 9)], "broadhead", "hunting head", cold=True).evening.cold_at(40 * 0.9144) is None


def test_answers_older_than_a_day_lapse(at_camp):
    """The bow hung in camp, rode and was drawn since."""
    log = at_camp().answered("ARR-010").log
    for day, held in ((date(2027, 9, 12), True), (date(2027, 9, 13), False)):
        assert bool(evening_of(log, "Trailhead camp", day).answers) == held
    failed = at_camp().answered("ARR-010", value="fail: white line").log
    assert evening_of(failed, "Trailhead camp", date(2027, 12, 1)).answers == {"ARR-010": "fail: white line"}
    solved = at_camp().answered("ARR-010", value="fail").answered("ARR-010").log
    assert evening_of(solved, "Trailhead camp", date(2027, 12, 1)).answers == {}


@pytest.mark.parametrize(
    ("changes", "moved"),
    [
        (["60 yd pin moved up 0.02 in"], True),
        (["Sight re-sighted for camp"], True),
        (["sight moved", "sight back to 42.5"], False),
        (["peep back to its threads"], False),
        (["rest moved back"], False),
        (["string changed, pin moved"], False),
        ([], False),
    ],
)
def test_a_sight_moved_on_purpose_is_known_by_its_words(changes, moved):
    """And put back by them."""
    assert is_sight_moved(changes) is moved


def test_a_set_that_stands_twice_is_noticed(at_camp):
    """To the last digit."""
    assert at_camp().shot(20, [(0.1, 0.2)]).shot(20, [(0.1, 0.2)]).evening.twice
    assert not at_camp().shot(20, [(0.1, 0.2)]).shot(20, [(0.1, 0.3)]).evening.twice
