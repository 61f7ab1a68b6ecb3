"""Whole pages of the sample trips as they were read and accepted; rewritten with pytest --update-golden."""

import json

import pytest

SAMPLES = ("high-basin", "river-breaks", "cold-snap", "terraces-metric")
PAGES = {
    "plan.txt": ("plan",),
    "plan.md": ("plan", "--format", "markdown"),
    "pins.txt": ("pins", "--why"),
    "check.txt": ("check",),
    "pack.txt": ("pack",),
}


def printed(run, samples, name, command, *options):
    """What a command prints for a sample trip on its day; a trip may be found not ready, nothing else may be said."""
    ran = run(command, f"sample_trips/{name}.yaml", "--date", samples[name], *options)
    assert ran.err == ""
    assert ran.code == 0 or (ran.code == 1 and command in ("check", "pack"))
    return ran.out


def assert_alike(new, old, path="$"):
    """The same structure; numbers within a billionth, or within a millionth of a millionth of nothing."""
    if isinstance(old, dict):
        assert list(new) == list(old), path
        for key in old:
            assert_alike(new[key], old[key], f"{path}.{key}")
    elif isinstance(old, list):
        assert len(new) == len(old), path
        for index, (one, other) in enumerate(zip(new, old, strict=True)):
            assert_alike(one, other, f"{path}[{index}]")
    elif isinstance(old, float):
        assert isinstance(new, float), path
        assert new == pytest.approx(old, rel=1e-9, abs=1e-12), path
    else:
        assert (type(new), new) == (type(old), old), path


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("page", PAGES)
def test_the_page_is_the_one_that_was_accepted(run, samples, golden, name, page):
    """Whole text, line by line."""
    new = printed(run, samples, name, *PAGES[page])
    assert new == golden(f"{name}.{page}", new)


def test_the_numbers_are_the_ones_that_were_accepted(run, samples, golden):
    """The pins of the first sample as JSON: same keys in the same order, same words, numbers within a billionth."""
    new = printed(run, samples, "high-basin", "pins", "--format", "json")
    assert_alike(json.loads(new), json.loads(golden("high-basin.pins.json", new)))


@pytest.mark.parametrize(
    "other",
    [{"a": [1.0, 2.1]}, {"a": [1.0]}, {"b": [1.0, 2.0]}, {"a": [1, 2.0]}, {"a": [1.0, 2.0], "b": 1}, {"a": None}],
)
def test_the_comparison_of_numbers_sees_every_difference(other):
    """A changed number, entry, key, or kind does not pass."""
    assert_alike({"a": [1.0, 2.0000000001]}, {"a": [1.0, 2.0]})
    with pytest.raises((AssertionError, TypeError)):
        assert_alike(other, {"a": [1.0, 2.0]})


@pytest.mark.parametrize("units", ["imperial", "metric"])
@pytest.mark.parametrize(
    "name",
    [pytest.param(name) if name == "river-breaks" else name for name in SAMPLES],
)
def test_no_line_of_text_is_wider_than_120_characters(run, samples, name, units):
    """Pages fit a terminal and a sheet across, tables included."""
    text = printed(run, samples, name, "plan", "--all", "--units", units)
    text += printed(run, samples, name, "pins", "--why", "--units", units) + printed(run, samples, name, "check")
    text += printed(run, samples, name, "pack")
    assert [line for line in text.splitlines() if len(line) > 120] == []
