"""Patterns of a stranger: read where they are quick, refused where they could run for years."""

import re
from time import perf_counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.patterns import LONGEST, found, pattern_fault

PLAIN = ["^air$", "heli", "bear|moose|elk", "^left", "[a-c]+x?", "(left|right) helical", "a{2,5}", r"\bfixed\b", "(ab)*c",
         "^a.*b.*", r"[]a]+", r"[^]\]]", "(?:one|two)", "{}", "a.*?b"]  # fmt: skip
SLOW = ["(a+)+$", "(a|a)*b", "(a|aa)+$", "(.?){60}z", "((a?){9}){9}z", ".*.*.*z", "(.*)(.*)(.*)z", "(a*)*b", "a?" * 30,
        r"(a)\1\1b", "(?=a+)+b", "(?P<x>a+)(?P=x)+", "(a|b|c|d)" * 6, "([a-z]+.?)*!", "(x{0,50}){0,50}y"]  # fmt: skip


@pytest.mark.parametrize("pattern", PLAIN)
def test_a_plain_pattern_is_read(pattern):
    """What authors of packs write to tell one word from another."""
    assert pattern_fault(pattern) is None


@pytest.mark.parametrize("pattern", SLOW)
def test_a_pattern_that_could_take_long_is_refused_and_never_run(pattern):
    """Each has more ways through it than a text of sixty letters allows for."""
    fault = pattern_fault(pattern)
    assert fault.code == "slow-pattern"
    assert fault.hint
    with pytest.raises(ValueError, match="too long"):
        found(pattern, "a" * LONGEST)


@pytest.mark.parametrize("pattern", ["[", "(", "*a", "a{9999999999999}", "(?P<", "\\", "[[a]"])
def test_what_is_no_pattern_is_told(pattern):
    """Whatever the library says of it: syntax, recursion, a repeat beyond its numbers."""
    assert pattern_fault(pattern).code == "bad-text"


def test_a_long_pattern_is_not_even_read():
    """Reading 800 KB of it took 170 MB."""
    began = perf_counter()
    assert pattern_fault("a?" * 400_000).code == "bad-text"
    assert perf_counter() - began < 0.5


@pytest.mark.parametrize("text", ["", "a", "left helical", "x" * 50])
@pytest.mark.parametrize("pattern", PLAIN)
def test_a_pattern_means_what_it_means_elsewhere(pattern, text):
    """Against the standard library."""
    assert found(pattern, text) == bool(re.search(pattern, text))


@given(st.text("ab.*+?{}(|)[]^$\\,1259", max_size=LONGEST), st.integers(0, LONGEST))
def test_no_pattern_that_passes_takes_long(pattern, length):
    """Whatever is put together: it is refused, or looked for in a moment, in the text that suits it least."""
    if pattern_fault(pattern, length) is None:
        began = perf_counter()
        for text in ("a" * length, "ab" * (length // 2), "a" * (length - 1) + "!"):
            found(pattern, text[:length])
        assert perf_counter() - began < 1.0  # generous for a busy machine; what is refused can take years
