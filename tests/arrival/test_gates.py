"""What stands before the next shot and before the sight: every reason, in the order in which it counts."""

import re

import pytest

from readiness.arrival.gates import gates_of, unheeded
from readiness.arrival.judging import judge

BARE = (-0.27, -0.48)  # where the sample's bare shaft lands at home, in inches from the fletched group
NO_BARE_SHAFT = ('  bare_shaft: {distance: 20 yd, clock: "7:15", offset: 0.6 in, pairs: 6}\n', "")


@pytest.fixture
def gates(a_plan):
    """A function: the gates of an evening, its stop steps and marks answered with `pass` unless it is told otherwise."""

    def of(camp, *changes, stops="pass", marks="pass"):
        plan, _ = a_plan("high-basin", *changes)
        camp.answered(*plan.marks, value=marks)  # some marks are stop steps too: the later answer counts
        camp.answered(*(step.id for step in plan.stop_steps if step.stage == "arrival"), value=stops)
        evening, there = camp.evening, camp.camp
        return gates_of(plan, evening, judge(there, evening), camp.causes())

    return of


def sound(camp, ring, *, bare=BARE, arrows=6):
    """An evening like home: a near zero and a bare shaft where they belong."""
    camp.shot(20, ring(0.1, 0.0, n=arrows))
    return camp.shot(20, ring(0.1 + bare[0], bare[1], n=6), "bare") if bare else camp


def test_a_sound_evening_with_everything_answered_has_no_gate(gates, at_camp, ring):
    """Nothing failed, nothing open, the bare shaft on its baseline: the sight may be moved."""
    found = gates(sound(at_camp(), ring))
    assert (found.no_shot, found.no_resight, found.failed, found.open, found.marks) == ("", "", (), (), ())


def test_before_any_answer_every_stop_step_of_the_arrival_is_open(gates, at_camp, ring):
    """The first words are that no arrow is shot; the same words stand before the sight."""
    camp = sound(at_camp(), ring)
    found = gates(camp, stops="looked at it")
    assert found.no_shot.startswith("No further shot before these stop steps are answered: ")
    assert found.no_resight == found.no_shot
    assert all(step.stop and step.stage == "arrival" for step in found.open)
    assert all(f"{step.title.lower()} ({step.id})" in found.no_shot for step in found.open)


def test_what_the_trip_itself_raises_stops_every_shot_until_it_is_answered(gates, at_camp, ring):
    """310 grains at 66 lb are 4.7 to the pound: the first gate, though its step belongs to the weeks before the trip."""
    light = ("mass: 445 gr", "mass: 310 gr")
    camp = sound(at_camp(), ring)
    found = gates(camp, light)
    assert found.no_shot.startswith("No further shot before these stop steps are answered: arrow too light")
    assert [step.id for step in found.open] == ["BAS-010"]
    camp.answered("BAS-010", value="fail: no word from the maker")
    assert gates(camp, light).no_shot.endswith("this one is not shot again.")
    camp.answered("BAS-010", value="pass: the maker allows it")
    assert gates(camp, light).no_shot == ""


def test_a_stop_step_that_failed_stops_the_evening_with_what_to_do(gates, at_camp, ring):
    """STOP comes first, and the step's own `if not` behind it."""
    found = gates(sound(at_camp(), ring), stops="fail: a crack")
    assert found.no_shot.startswith("STOP, no further shot: ")
    assert found.no_shot.endswith(f"failed. {found.failed[0].if_not}")
    assert found.open == ()


def test_marks_that_are_not_known_to_be_right_come_before_the_bare_shaft(gates, at_camp, ring):
    """Restore first; the bare shaft is off as well, but that is not what is said."""
    found = gates(sound(at_camp(), ring, bare=(4.0, 3.0)), marks="fail: off by a line")
    assert found.no_shot == ""
    assert found.no_resight.startswith("The sight stays: these marks are not known to be right: ")
    assert re.findall(r"\((\w+-\d+)\)", found.no_resight) == [step.id for step in found.marks]
    assert len(found.marks) >= 3


@pytest.mark.parametrize(
    ("bare", "said"),
    [(None, "was not shot"), ((5.0, 4.0), "is off its baseline")],
)
def test_the_bare_shaft_comes_before_the_sight(gates, at_camp, ring, bare, said):
    """Not shot, or off: the sight stays."""
    found = gates(sound(at_camp(), ring, bare=bare))
    assert found.no_shot == ""
    assert found.no_resight == f"The sight stays: the bare shaft {said}. It comes before the sight."


def test_a_bare_shaft_that_nobody_can_judge_yet_holds_the_sight_too(gates, at_camp, ring):
    """One bare arrow says nothing."""
    camp = at_camp().shot(20, ring(0.1, 0.0, n=6)).shot(20, [(-0.2, -0.5)], "bare")
    found = gates(camp)
    assert found.no_resight == "The sight stays: the bare shaft cannot be told yet. It comes before the sight."


def test_without_a_bare_shaft_reference_nobody_can_tell_whether_the_tune_holds(gates, at_camp, ring):
    """The trip file has none: that is the reason, whatever was shot."""
    found = gates(sound(at_camp(NO_BARE_SHAFT), ring, bare=None), NO_BARE_SHAFT)
    assert "no bare-shaft reference is recorded" in found.no_resight


def test_an_arrow_outside_the_butt_leaves_no_middle_to_trust(gates, at_camp, ring):
    """A fletched arrow that missed cannot be averaged away."""
    camp = sound(at_camp(), ring)
    camp.shot(40, [*ring(0.1, 0.3, n=5), None])
    assert gates(camp).no_resight == "The sight stays: an arrow missed the butt, so no middle can be trusted."


def test_two_fletched_arrows_are_no_group_to_move_a_sight_by(gates, at_camp, ring):
    """Three at one distance are the fewest."""
    camp = at_camp().shot(20, ring(0.1 + BARE[0], BARE[1], n=6), "bare").shot(20, ring(0.1, 0.0, n=2))
    assert gates(camp).no_resight == "The sight stays: no group of 3 fletched arrows was shot."
    camp = at_camp().shot(20, ring(0.1 + BARE[0], BARE[1], n=6), "bare").shot(20, ring(0.1, 0.0, n=3))
    assert gates(camp).no_resight == ""


def test_a_likely_cause_that_the_sight_does_not_mend_leaves_it_alone(gates, at_camp, ring):
    """Groups far wider than at home: the width is named, and not corrected."""
    wide = at_camp().shot(20, ring(0.1, 0.0, 1.5, n=9)).shot(20, ring(0.1 + BARE[0], BARE[1], 0.2, n=12), "bare")
    wide.shot(60, ring(0.0, 0.4, 9.0, n=9))
    assert wide.causes().leading.name == "spread"
    said = gates(wide).no_resight
    assert said.startswith("The sight stays: ")
    assert "moving the sight" in said


def test_a_slipped_sight_may_be_moved_back(gates, at_camp, ring):
    """Groups high in proportion to distance, the bare shaft with them: the sight is what moves."""
    camp = at_camp().shot(20, ring(0.1, 1.5, n=6)).shot(20, ring(0.1 + BARE[0], 1.5 + BARE[1], n=6), "bare")
    camp.shot(60, ring(0.0, 4.6, 1.0, n=6))
    assert camp.causes().leading.name == "sight"
    assert gates(camp).no_resight == ""


def test_a_likely_cause_is_named_as_the_reason_to_leave_the_sight(gates, at_camp, ring):
    """Not "it is not known what moved" above a page that says what moved."""
    camp = sound(at_camp(), ring).shot(40, ring(0.1, 0.2, 0.8, 6))
    camp.shot(40, ring(6.0, -5.0, 0.8, 6), "broadhead", "hunting head")
    assert camp.causes().leading.name == "broadhead flight"
    assert gates(camp).no_resight.startswith("The sight stays: broadhead flight is the likeliest")


@pytest.fixture
def warned(a_plan):
    """A function: what a set that is shot now at a camp does not heed."""

    def of(camp, kind="fletched", yards=20):
        plan, _ = a_plan("high-basin")
        evening, there = camp.evening, camp.camp
        found = gates_of(plan, evening, judge(there, evening), camp.causes())
        return [fault.message for fault in unheeded(found, kind, yards * 0.9144)]

    return of


STOPS = ("ARR-010", "ARR-020", "ARR-030", "ARR-040", "ARR-050", "ARR-160")


def test_arrows_before_the_stop_steps_are_warned_of(warned, at_camp):
    (said,) = warned(at_camp())
    assert "No further shot before these stop steps are answered" in said
    assert all(step in said for step in STOPS)


def test_arrows_in_spite_of_a_failed_stop_step_are_warned_of(warned, at_camp):
    camp = at_camp().answered(*STOPS).answered("ARR-020", value="fail: a cut strand")
    (said,) = warned(camp)
    assert "string and cables (ARR-020) failed" in said


def test_arrows_after_all_stop_steps_are_not_warned_of(warned, at_camp):
    assert warned(at_camp().answered(*STOPS)) == []


@pytest.mark.parametrize(("answer", "said"), [(None, "none passed from close up"), ("fail", "failed close up")])
def test_a_bare_shaft_from_farther_off_is_warned_of_before_one_passed_from_close_up(warned, at_camp, answer, said):
    camp = at_camp().answered(*STOPS)
    if answer:
        camp.answered("ARR-170", value=answer)
    (told,) = warned(camp, "bare", 20)
    assert said in told
    assert warned(camp, "bare", 10) == warned(camp, "bare", 10 / 0.9144) == []  # 10 yd, 10 m
    assert warned(camp.answered("ARR-170"), "bare", 20) == []


def test_after_a_bare_shaft_that_failed_close_up_any_arrow_from_farther_off_is_warned_of(warned, at_camp):
    camp = at_camp().answered(*STOPS).answered("ARR-170", value="fail")
    assert len(warned(camp, "fletched", 60)) == len(warned(camp, "broadhead", 40)) == 1
    assert warned(camp, "fletched", 7) == []


def test_once_the_reference_itself_passed_no_close_up_is_asked_for(warned, at_camp, ring):
    camp = sound(at_camp().answered(*STOPS), ring)
    assert warned(camp, "bare", 20) == []


def test_arrows_in_spite_of_a_speed_that_may_have_changed_are_warned_of(warned, at_camp, ring):
    """The stop is the causes', not an answer's."""
    camp = at_camp().answered(*STOPS).shot(20, ring(0.1, -1.4, n=6)).shot(60, ring(0.0, -15.0, 2.0, 12))
    (said,) = warned(camp)
    assert "the launch speed may have changed" in said
