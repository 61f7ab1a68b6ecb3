"""What a logged change is taken for, by its words, and that the words that are told are the ones that count."""

import re

import pytest

from readiness.arrival.changes import KNOWN_WORDS, is_known, is_of_sight, is_sight_moved, taken_for, unknown_change


def test_every_word_that_a_hunter_is_told_counts_as_told():
    """Those of the sight, those of a move on purpose, and the one that puts back."""
    sight, moved, back = re.fullmatch(
        r".*: (.*); with (.*) the sight counts as .*, with (.*) as put back", KNOWN_WORDS
    ).groups()
    parts, moves = sight.split(", "), re.split(", | or ", moved)
    assert (len(parts), len(moves)) == (6, 6)
    for part in parts:
        assert is_of_sight(part)
        for move in moves:
            assert is_sight_moved([f"{part} {move}"])
            assert not is_sight_moved([f"{part} {move}", f"{part} {back}"])


@pytest.mark.parametrize("what", ["Visier verstellt", "hausse d\u00e9plac\u00e9e", "\u7784\u51c6\u5668", "moved", "x"])
def test_a_change_without_a_known_word_counts_as_one_to_the_bow_and_says_so(what):
    """The sight stays where it was, whatever was meant."""
    assert not is_known(what)
    assert not is_of_sight(what)
    assert [is_sight_moved([*before, what]) for before in ([], ["sight moved"])] == [False, True]
    assert "taken for a change to the bow" in taken_for(what)
    problem = unknown_change(what)
    assert (problem.severity, problem.code) == ("warning", "unknown-words")
    assert KNOWN_WORDS in problem.hint
