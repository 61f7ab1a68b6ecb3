"""What was typed for the log: a step that the plan does not have, and what may have been meant."""

from datetime import datetime
from types import SimpleNamespace

import pytest

from readiness.arrival.entry import Typed, entered
from readiness.arrival.records import Log

NOW = datetime.fromisoformat("2027-10-05T08:00:00+02:00")
IDS = ("ARR-010", "ARR-100", "ARR-210", "MOR-010", "PCK-040", "PAC-040", "ARR-001")
STEPS = {name: SimpleNamespace(id=name, title=f"title of {name}", expect="no crack") for name in IDS}


@pytest.fixture
def hint(invented):
    """A function: what is said of a step that is not in the plan."""

    def said(name):
        typed = Typed(at="Marsh hut", step=(name,), value=("pass",))
        (problem,) = entered(typed, invented(), Log(()), STEPS, NOW).problems
        assert problem.code == "unknown-step"
        return problem.hint

    return said


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("ARR-10", "ARR-010"),
        ("arr 10", "ARR-010"),
        ("arr010", "ARR-010"),
        ("ARR-0010", "ARR-010"),
        ("Arr_1", "ARR-001"),
        ("ARR-0100", "ARR-100"),
        ("AR-010", "ARR-010"),
        ("ARRR-10", "ARR-010"),
        ("MRO-010", "MOR-010"),
    ],
)
def test_zeros_and_a_slip_in_the_letters_are_seen_through(hint, typed, meant):
    """The number is the one that was typed, so no other check can be passed by it."""
    assert hint(typed) == f"did you mean {meant} (title of {meant})?"


@pytest.mark.parametrize(
    "typed", ["ARR-011", "ARR-20", "ARR-110", "10", "010", "ARR", "XYZ-010", "PC-040", "", "ARR-010-010", "ARR-٠١٠"]
)
def test_nothing_is_guessed_where_the_number_is_another_or_two_steps_are_as_near(hint, typed):
    """A tired man who takes a wrong guess passes a step that he never looked at."""
    assert hint(typed) == "readiness plan shows every id"
