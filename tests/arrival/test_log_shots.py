"""What an archer types for arrows: read as meant, or told what to type."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.arrival.shots import read_shot, read_shots
from readiness.problems import Fault

numbers = st.decimals(-118, 118, places=2, allow_nan=False)
arrows = st.one_of(
    st.tuples(numbers, numbers, st.none() | st.integers(1, 999)),
    st.tuples(st.none(), st.none(), st.none() | st.integers(1, 999)),
)


@given(
    st.lists(arrows, min_size=1, max_size=30),
    st.sampled_from(["; ", ";", " ;\n", "\n"]),
    st.sampled_from([",", " , ", " "]),
)
def test_arrows_are_read_as_they_were_typed(typed, between, comma):
    """Any right and up, with and without a number, some outside the butt."""

    def text(right, up, number):
        place = "x" if right is None else f"{right}{comma}{up}"
        return place if number is None else f"{place}@{number}"

    shots, problems = read_shots(between.join(text(*arrow) for arrow in typed), "in")
    assert problems == ()
    for shot, (right, up, number) in zip(shots, typed, strict=True):
        assert shot.get("arrow") == number
        assert (shot.get("right"), shot.get("up")) == (
            None if right is None else float(right),
            None if up is None else float(up),
        )
        assert shot.get("outside", False) is (right is None)


@given(st.text(max_size=80), st.sampled_from(["in", "cm"]))
def test_no_text_makes_it_raise(text, unit):
    """Arrows, or problems that say what to type."""
    shots, problems = read_shots(text, unit)
    assert shots or problems
    assert all(problem.hint for problem in problems)


@given(st.text("0123456789.,;@x−- +/e", max_size=40))
def test_no_text_of_the_right_letters_makes_it_raise(text):
    """Nearer to what is typed than any text."""
    shots, problems = read_shots(text, "cm")
    assert shots or problems
    for shot in shots:
        assert shot.keys() <= {"right", "up", "outside", "arrow"}
        assert max(abs(shot.get("right", 0)), abs(shot.get("up", 0))) <= 300


@pytest.mark.parametrize(
    ("text", "shot"),
    [
        ("0.3,-0.4", {"right": 0.3, "up": -0.4}),
        (" 0.3 , −0.4 @ 7 ", {"right": 0.3, "up": -0.4, "arrow": 7}),
        ("+1 –2", {"right": 1.0, "up": -2.0}),
        (".5,-.25", {"right": 0.5, "up": -0.25}),
        ("-0,0", {"right": 0.0, "up": 0.0}),
        ("X@12", {"outside": True, "arrow": 12}),
    ],
)
def test_sensible_ways_to_write_an_arrow(text, shot):
    """Spaces, other minus signs, no leading nought, capital x; minus nought is nought."""
    found = read_shot(text, "in")
    assert found == shot
    assert "-" not in str(found.get("right")) or found["right"] < 0


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("0.3", "both numbers are needed"),
        ("0,3,-0,4", "write 0.3,-0.4: the decimal sign is a point"),
        ("1/2,3", "write 1/2 as 0.5"),
        ("1 in,2 in", "--unit in or --unit cm"),
        ("1,2@0", "from 1"),
        ("1,2@1000", "right,up"),
        ("119,0", "write x for an arrow outside the butt, or add --unit cm"),
        ("٣,٤", "right,up"),
        ("1e5,0", "right,up"),
        ("nan,0", "right,up"),
    ],
)
def test_what_cannot_be_meant_says_what_to_type(text, hint):
    """Each mistake with its own hint."""
    fault = read_shot(text, "in")
    assert isinstance(fault, Fault)
    assert hint in fault.hint


def test_all_faults_of_a_text_are_told_each_at_its_column():
    """And none of its arrows is taken as if it were the whole."""
    text = "1,1; 2; 3,3;; y"
    _, problems = read_shots(text, "in")
    assert [(p.column, p.source) for p in problems] == [(6, text), (13, text), (15, text)]


@pytest.mark.parametrize("text", ["", " ", ";", "1,1;" * 101, "1,1;" * 5000])
def test_no_arrow_and_too_many_arrows_are_refused(text):
    """A set has 1 to 100."""
    _, problems = read_shots(text, "in")
    assert [p.code for p in problems] == ["bad-shot"]


def test_three_metres_are_the_limit_in_both_units():
    """300 cm and 118.11 in (3 m / 25.4 mm)."""
    assert not isinstance(read_shot("300,-300", "cm"), Fault)
    assert isinstance(read_shot("300.1,0", "cm"), Fault)
    assert not isinstance(read_shot("118.1,0", "in"), Fault)
    assert isinstance(read_shot("118.2,0", "in"), Fault)
