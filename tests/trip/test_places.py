"""Whatever is wrong in a trip file is told on the line where it stands: every leaf, every required key."""

from datetime import date
from pathlib import Path

import pytest
import yaml

from readiness.documents import read_document
from readiness.trip.load import load_trip

TODAY = date(2027, 6, 1)
HERE = Path(__file__).parent
SAMPLES = [*sorted((HERE.parents[1] / "sample_trips").glob("*.yaml")), HERE / "every-key.yaml"]
FREE_TEXT = {"name", "id", "what", "item", "rule", "source", "edition", "place", "applies_to"}
# Wrong for every leaf, with the exceptions that `fits` names.
WRONG = ("[1, 2]", "{a: 1}", "true", "~", "99999999", "elephant")

# Block -> the keys required in it; * stands for an index.
REQUIRED_IN = {
    "": "format trip home destinations bow arrow heads",
    "trip.": "name starts ends travel target_zone",
    "home.": "name elevation",
    "destinations.*.": "name elevation",
    "bow.": "draw_weight draw_length peep_height sight",
    "bow.sight.": "kind radius",
    "bow.sight.marks.*.": "distance reading",
    "arrow.": "mass speed shaft_diameter length",
    "arrow.speed_readings.*.": "distance speed",
    "heads.*.": "name kind mass",
    "reference.bare_shaft.": "distance clock offset",
    "reference.broadheads.*.": "head distance right up",
    "reference.cold_first.*.": "distance right up",
    "reference.groups.*.": "distance arrows",
    "setup_changed.*.": "what on",
    "gear.*.": "item",
    "requirements.*.": "topic rule source read_on",
}
REQUIRED = [block + key for block, keys in REQUIRED_IN.items() for key in keys.split()]


def leaves(node, path=()):
    """Path and node of every scalar, by the YAML library's own parser."""
    if isinstance(node, yaml.ScalarNode):
        yield path, node
    elif isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from leaves(value, (*path, key.value))
    else:
        for index, value in enumerate(node.value):
            yield from leaves(value, (*path, index))


def nodes(node, path=()):
    """Path of every block and list, with the line where its key, or else it itself, stands."""
    yield path, node.start_mark.line + 1
    children = node.value if isinstance(node.value, list) else []
    for index, child in enumerate(children):
        key, value = child if isinstance(node, yaml.MappingNode) else (None, child)
        for below, line in nodes(value, (*path, key.value if key else index)):
            at_key = key is not None and len(below) == len(path) + 1
            yield below, key.start_mark.line + 1 if at_key else line


def fits(path, wrong):
    """Whether a wrong value is right for this leaf after all."""
    names = [step for step in path if isinstance(step, str)]
    free = names[-1] in FREE_TEXT or names[:2] == ["reference", "marks"]
    number = wrong == "99999999" and (names[-1] == "edition" or names[:2] == ["reference", "marks"])
    truth = wrong == "true" and names[0] == "declared" and names[-1] != "sight magnification"
    return (free and wrong == "elephant") or number or truth


def wrong_values(sample):
    """Path, node and wrong value: every leaf of a sample with every value that is wrong there."""
    for path, node in leaves(yaml.compose(sample.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)):
        for wrong in WRONG:
            if not fits(path, wrong):
                yield path, node, wrong


def without(data, path):
    """The data with one key taken out."""
    if len(path) == 1:
        return {k: v for k, v in data.items() if k != path[0]}
    if isinstance(data, list):
        return [without(v, path[1:]) if i == path[0] else v for i, v in enumerate(data)]
    return {k: without(v, path[1:]) if k == path[0] else v for k, v in data.items()}


def matches(path, pattern):
    """Whether a path is one of a pattern."""
    steps = pattern.split(".")
    return len(steps) == len(path) and all(s in ("*", p) for s, p in zip(steps, path, strict=True))


def test_every_sample_is_right_as_it_stands():
    """Else a fault told later could be an old one."""
    for sample in SAMPLES:
        problems = load_trip(sample.read_text(encoding="utf-8"), sample.name, TODAY).problems
        assert [p for p in problems if p.severity == "error"] == [], sample.name


def test_the_samples_have_both_styles_of_yaml_and_many_leaves():
    """The walk below covers what people write: blocks, braces, brackets, quotes."""
    styles = {
        (node.style, isinstance(path[-1], int))
        for sample in SAMPLES
        for path, node in leaves(yaml.compose(sample.read_text(encoding="utf-8"), Loader=yaml.BaseLoader))
    }
    assert {(None, False), (None, True), ('"', False)} <= styles
    assert sum(1 for sample in SAMPLES for _ in wrong_values(sample)) > 2000


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_a_wrong_value_anywhere_is_told_on_its_line(sample):
    """Each leaf is replaced in the text by each value of another type; an error names its line."""
    text = sample.read_text(encoding="utf-8")
    silent = []
    for path, node, wrong in wrong_values(sample):
        spliced = text[: node.start_mark.index] + wrong + text[node.end_mark.index :]
        problems = load_trip(spliced, "trip.yaml", TODAY).problems
        if node.start_mark.line + 1 not in {p.line for p in problems if p.severity == "error"}:
            silent.append((path, wrong, [(p.line, p.code) for p in problems]))
    assert silent == []


def test_a_wrong_value_in_braces_is_told_at_its_column():
    """Many leaves share a line there; the column points at the value, or at its key if it became a list."""
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    for path, node in leaves(yaml.compose(text, Loader=yaml.BaseLoader)):
        if path[-1] in ("blades", "pairs", "arrows", "vanes"):
            spliced = text[: node.start_mark.index] + "three" + text[node.end_mark.index :]
            (problem,) = (p for p in load_trip(spliced, "t", TODAY).problems if p.severity == "error")
            assert (problem.line, problem.column) == (node.start_mark.line + 1, node.start_mark.column + 1)


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("hand: left", "hnad: left", "unknown-key"),
        ("kind: field point", "kind: field point, blades: 3", "not-for-this-kind"),
        ("mean_radius: 1.2 in", "mean_radius: 1.2 in, vertical_sd: 1 in", "one-of-two"),
        ("mean_radius: 1.2 in", "mean_radius: 1.2 in, up: 1 in", "missing-key"),
    ],
)
def test_a_key_that_should_not_be_there_is_told_at_the_key(old, new, code):
    """Not at its value: the key is what is wrong."""
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    spliced = text.replace(old, new)
    key = new.split(", ")[-1]
    line = next(line for line in spliced.splitlines() if new in line)
    (problem,) = (p for p in load_trip(spliced, "t", TODAY).problems if p.severity == "error")
    assert (problem.code, problem.column) == (code, line.index(key) + 1)


def test_every_required_key_stands_in_the_samples():
    """The list above has no key that the walk below would silently pass over."""
    found = {p for s in SAMPLES for p in all_paths(read_document(s.read_text(encoding="utf-8"), s.name)[0].data)}
    assert [pattern for pattern in REQUIRED if not any(matches(path, pattern) for path in found)] == []


def all_paths(data, path=()):
    """Every path into data."""
    children = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in children:
        yield (*path, step)
        yield from all_paths(value, (*path, step))


@pytest.mark.parametrize("pattern", REQUIRED)
def test_a_missing_key_is_told_where_its_block_begins(pattern):
    """The line of the block that lacks the key, or the first line for the file itself; the key is named."""
    for sample in SAMPLES:
        data = read_document(sample.read_text(encoding="utf-8"), sample.name)[0].data
        for path in filter(lambda path: matches(path, pattern), all_paths(data)):
            text = "# first line\n" + yaml.safe_dump(without(data, path), sort_keys=False, width=500)
            lines = dict(nodes(yaml.compose(text, Loader=yaml.BaseLoader)))
            wanted = lines[path[:-1]] if len(path) > 1 else 1
            problems = load_trip(text, "trip.yaml", TODAY).problems
            told = [p for p in problems if p.code == "missing-key" and path[-1] in p.message.split()]
            assert [p.line for p in told] == [wanted], (sample.stem, path)
            assert path[-1] in told[0].hint


def test_a_missing_measure_of_a_group_and_missing_pins_are_told():
    """One of three measures, and pins or marks, are required."""
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    data = read_document(text, "t")[0].data
    for path, name in ((("reference", "groups", 0, "extreme_spread"), "extreme_spread"), (("bow", "sight"), "pins")):
        fewer = without(data, path) if name != "pins" else without(without(data, (*path, "pins")), (*path, "marks"))
        problems = load_trip(yaml.safe_dump(fewer, sort_keys=False), "t", TODAY).problems
        assert [p.code for p in problems if p.severity == "error" and name in p.hint] == ["missing-key"]
