"""How a written answer reads: pass and fail only where it says so."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.arrival.answers import reading_of
from readiness.rules.packs import built_in_packs

LIMBS = "No crack, splinter or white line; cotton does not snag; limbs seated as in the photo."
CAMS = "On its mark, within half a line's width, both cams."
EXPECTATIONS = [rule.expect for pack in built_in_packs()[0] for rule in pack.rules]
endings = st.sampled_from(["", ".", "!", ": silent", ", all of it", " - twice", "  "])
IN_WORDS = [text for text in EXPECTATIONS if not text.lower().startswith(("as ", "good", "sound", "pass", "yes", "ok"))]
cases = st.sampled_from([str.lower, str.upper, str.title, str.capitalize])


@given(
    st.sampled_from(["pass", "passed", "ok", "okay", "yes", "good", "sound"]),
    endings,
    cases,
    st.sampled_from(EXPECTATIONS),
)
def test_what_begins_with_a_word_for_it_passes(word, ending, case, expect):
    """In any case, with or without more behind it."""
    assert reading_of(case(word) + ending, expect) == "pass"


@given(
    st.sampled_from(["fail", "failed", "no", "not", "bad"]),
    st.sampled_from(["", ".", ": loose", ", a crack", " - loose"]),
    cases,
)
def test_what_begins_with_a_word_against_it_fails(word, ending, case):
    """A no stands alone or before a stop."""
    assert reading_of(case(word) + ending, LIMBS) == "fail"


@given(st.sampled_from(EXPECTATIONS), cases)
def test_what_repeats_the_expectation_passes(expect, case):
    """Word for word, whatever the case: no step's own words read as a failure."""
    assert reading_of(case(expect), expect.lower()) == "pass"


@given(st.text(max_size=60), st.text(max_size=60))
def test_any_text_has_one_of_three_readings(value, expect):
    """Nothing raises, and an empty answer is none."""
    assert reading_of(value, expect) in {"pass", "fail", "cannot tell"}
    assert reading_of("", expect) == reading_of("  ", expect) == "cannot tell"


@given(st.sampled_from(IN_WORDS), st.sampled_from(["crack", "loose", "creaks", "off by a line", "left limb"]), cases)
def test_what_was_seen_in_other_words_is_never_a_pass(expect, seen, case):
    """A fault written plainly behind what was expected is not swallowed by it."""
    assert reading_of(case(seen), expect) != "pass"
    assert reading_of(f"{expect} {case(seen)}", expect) != "pass"


@pytest.mark.parametrize(
    ("value", "expect", "reading"),
    [
        ("no crack", LIMBS, "pass"),
        ("No crack seen", LIMBS, "pass"),
        ("no crack", CAMS, "cannot tell"),
        ("no crack but a white line", LIMBS, "cannot tell"),
        ("cotton does not snag", LIMBS, "pass"),
        ("cotton does snag", LIMBS, "cannot tell"),
        ("both cams off by a line", CAMS, "cannot tell"),
        ("on its mark, both cams", CAMS, "pass"),
        ("not on its mark", CAMS, "fail"),
        ("nothing", LIMBS, "cannot tell"),
        ("node", LIMBS, "cannot tell"),
        ("notched", LIMBS, "cannot tell"),
        ("passable", LIMBS, "cannot tell"),
        ("pass, but it creaks", LIMBS, "cannot tell"),
        ("pass: cotton does not snag", LIMBS, "pass"),
        ("ok except the left limb", LIMBS, "cannot tell"),
        ("as recorded", CAMS, "pass"),
        ("As expected.", CAMS, "pass"),
        ("6 1/2 in", "Brace height 6 1/2 in, within 1/16 in (1.5 mm).", "cannot tell"),
        ("5 mm", "Within 1/16 in (1.5 mm).", "cannot tell"),
        ("silent", "Silent, quiver and stabiliser too.", "pass"),
        ("silently", "Silent, quiver and stabiliser too.", "cannot tell"),
    ],
)
def test_answers_as_archers_write_them(value, expect, reading):
    """Each beside what its step expects."""
    assert reading_of(value, expect) == reading
