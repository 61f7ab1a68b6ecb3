"""The wording of a step: one action, an answer that takes a look, one negative at most."""

import pytest


@pytest.mark.parametrize(
    "do",
    [
        "Rinse the cams. Wax the string.",
        "Rinse the cams; wax the string.",
        "Rinse the cams, then look into the pockets.",
        "Rinse the cams and then measure the brace height.",
        "Rinse the cams and look into the pockets.",
        "Rinse the cams, look into the pockets.",
        "Nock an arrow and draw slowly.",
        "Photograph both cams and mark the case.",
    ],
)
def test_a_second_action_in_a_line_is_told(found, do):
    """One action a line: the second is the one that is forgotten."""
    assert found({"do": do}) == [("two-actions", 1)]


@pytest.mark.parametrize(
    "do",
    [
        "Rinse the cams.",
        "Rinse cams, axles and clips.",
        "Shoot three arrows and note the middle.",
        "Shoot one arrow from 6 to 8 ft (2 m), then from 15 ft (5 m).",
        "Press each limb and listen.",
        "Rinse the cams at {near_pin}.",
    ],
)
def test_one_action_with_its_result_or_several_objects_is_left_alone(found, do):
    """To note or to listen belongs to the action; a list of things is one."""
    assert found({"do": do}) == []


@pytest.mark.parametrize(
    "do",
    [
        "Wax the string and ask the guide.",
        "Wax the string and look at the peep.",
        "Wax the string and check the peep.",
        "Loosen the bolt and tighten the rest.",
        "Wax the string, clean the cams.",
    ],
)
def test_a_second_action_is_told_whatever_its_verb(found, do):
    """Everyday orders of the trade are actions too."""
    assert found({"do": do}) == [("two-actions", 1)]


@pytest.mark.parametrize(
    "do",
    ["Measure brace height and draw weight.", "Weigh shaft and point.", "Look over limb tips and bend points."],
)
def test_a_noun_that_looks_like_a_verb_is_no_second_action(found, do):
    """Draw weight is a thing that is measured."""
    assert found({"do": do}) == []


@pytest.mark.parametrize(
    "expect",
    [
        "Cams checked.",
        "Check.",
        "OK",
        "okay",
        "All good.",
        "Rest is set.",
        "As required.",
        "as needed",
        "Fine.",
        "Cams ok to the touch.",
    ],
)
def test_an_answer_that_needs_no_look_is_told(found, expect):
    """Said too easily without looking: the wanted thing is a value or a state."""
    assert found({"expect": expect}) == [("empty-words", 1)]


@pytest.mark.parametrize(
    "expect",
    [
        "Both lines on their marks.",
        "Peep at 4 13/16 in.",
        "Final: 3 of 3 in the palm.",
        "Checkered tape whole.",
        "Reset to 0.",
    ],
)
def test_an_answer_that_names_a_value_or_a_state_is_left_alone(found, expect):
    """Words that only begin alike are no empty words."""
    assert found({"expect": expect}) == []


@pytest.mark.parametrize("expect", ["A fine line on both cams.", "Fine dust gone from the track."])
def test_fine_as_a_size_is_no_empty_word(found, expect):
    """A fine line is a state that can be seen."""
    assert found({"expect": expect}) == []


@pytest.mark.parametrize(
    "do", ["Ensure that the cams are clean.", "Make sure the cams are clean.", "Wax it if necessary."]
)
def test_an_order_without_an_action_is_told(found, do):
    """To ensure is nothing that a hand can do."""
    assert found({"do": do}) == [("empty-words", 1)]


@pytest.mark.parametrize(
    "expect", ["Not without wax.", "No missing clip.", "Not uncovered.", "not unlike the photograph"]
)
def test_saying_no_twice_is_told(found, expect):
    """The reader in the dark gets it the wrong way round."""
    assert found({"expect": expect}) == [("double-negative", 1)]


@pytest.mark.parametrize("expect", ["No grain left.", "Not one loose screw.", "Without wax.", "Nothing missing."])
def test_saying_no_once_is_left_alone(found, expect):
    """One negative is plain."""
    assert found({"expect": expect}) == []


@pytest.mark.parametrize("expect", ["Brace height not under 6 1/4 in.", "No unit but inches on the card."])
def test_under_is_no_negative(found, expect):
    """A lower limit says no once."""
    assert found({"expect": expect}) == []
