"""Whatever one value of a file becomes, the reader says something true of it: never an exception, always a place."""

from datetime import date
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.camp.load import load_camp
from readiness.plan import make_plan
from readiness.problems import has_errors, show
from readiness.rules.packs import built_in_packs, read_pack
from readiness.trip.load import load_trip

ROOT = Path(__file__).resolve().parents[2]
DAY = date(2027, 8, 25)
SOURCES = {
    "trip": (ROOT / "sample_trips" / "high-basin.yaml", lambda text: load_trip(text, "a.yaml", DAY)),
    "metric trip": (ROOT / "sample_trips" / "terraces-metric.yaml", lambda text: load_trip(text, "a.yaml", DAY)),
    "camp": (
        ROOT / "sample_trips" / "larkspur-forks" / "camp.yaml",
        lambda text: load_camp(text, "a.yaml", DAY),
    ),
    "pack": (ROOT / "checklists" / "arrival.yaml", lambda text: read_pack(text, "a.yaml")),
}
# Values as people mistype them: no unit, a wrong unit, the wrong kind, half a range, an empty place, far too much.
TYPED = st.sampled_from(
    [
        "",
        "0",
        "-1",
        "7",
        "yes",
        "null",
        "~",
        "20 yd",
        "20 yards",
        "-4 in",
        "58 lb",
        "1e400 m",
        "4 13/0 in",
        "9:75",
        "nan",
        "22 F to",
        "61 F to 22 F",
        "2027-02-30",
        "2027-09-11",
        "2027-09-11 12:00",
        "high basin",
        "é",
        "a: b",
    ]
)
VALUES = st.one_of(
    TYPED,
    st.text(max_size=12),
    st.integers(-(10**6), 10**6),
    st.booleans(),
    st.none(),
    st.lists(TYPED, max_size=3),
    st.dictionaries(TYPED, TYPED, max_size=2),
)


def _places(value, path=()):
    """The path of every value in nested lists and dictionaries, the whole of it among them."""
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _places(inner, (*path, key))
    if isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _places(inner, (*path, index))


def _with(value, path, new):
    """A copy with another value at a path; None there takes the value away."""
    if not path:
        return new
    first, *rest = path
    copy = dict(value) if isinstance(value, dict) else list(value)
    if not rest and new is None:
        del copy[first]
    else:
        copy[first] = _with(value[first], rest, new)
    return copy


DATA = {name: yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader) for name, (path, _) in SOURCES.items()}
PLACES = {name: list(_places(data))[1:] for name, data in DATA.items()}


@st.composite
def changed_texts(draw, name):
    """The text of a good file with one to three of its values changed or taken away."""
    data = DATA[name]
    for path in draw(st.lists(st.sampled_from(PLACES[name]), min_size=1, max_size=3, unique=True)):
        try:
            data = _with(data, path, draw(VALUES))
        except (KeyError, IndexError, TypeError, AttributeError):
            continue  # an earlier change took the place away
    return yaml.safe_dump(data, allow_unicode=True, sort_keys=False)


@pytest.mark.parametrize("name", sorted(SOURCES))
@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_file_with_any_value_changed_is_read_or_told_at_its_place(name, data):
    """Nothing raises; what is not read has an error; every problem names the file, a line of it, and how to mend it."""
    text = data.draw(changed_texts(name))
    found, problems = SOURCES[name][1](text)
    if name == "pack":  # of a pack the broken rules alone are left out
        assert found is not None or has_errors(problems)
    else:
        assert (found is None) == has_errors(problems)
    lines = text.count("\n") + 1
    for problem in problems:
        assert problem.file == "a.yaml"
        assert 0 <= problem.line <= lines
        assert problem.message
        assert "Traceback" not in show(problem)
        assert problem.hint or problem.severity == "warning"


@settings(max_examples=60, deadline=None)
@given(changed_texts("trip"))
def test_every_trip_that_is_read_gets_a_plan(text):
    """What the reader lets through never breaks what comes after it, and no rule fails over it."""
    loaded = load_trip(text, "a.yaml", DAY)
    if loaded.trip is not None:
        plan, problems = make_plan(
            loaded.trip, built_in_packs()[0], today=DAY, units=loaded.trip.units, arrows=12, trip_sha256="0"
        )
        assert problems == ()
        assert plan.steps
