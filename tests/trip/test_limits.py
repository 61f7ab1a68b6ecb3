"""Physical limits, likely slips, units: what cannot be meant is refused with what was probably meant."""

import re
from datetime import date
from math import isclose
from pathlib import Path

import pytest

from readiness.trip.load import load_trip

TODAY = date(2027, 6, 1)
FIXTURES = Path(__file__).parents[1] / "bad_trips"

# One trip in two spellings. Metric equivalents by definition: inch 25.4 mm, grain 64.79891 mg, pound-force
# 4.4482216152605 N, F = 32 + 1.8 C.
SPELLINGS = {
    "zone": ("8 in", "20.32 cm"),
    "shop": ("300 min", "5 h"),
    "home_height": ("620 ft", "188.976 m"),
    "home_warmth": ("68 F", "20 C"),
    "home_air": ("29.31 inHg", "992.5506159 hPa"),
    "camp_height": ("8,750 ft", "2667 m"),
    "camp_warmth": ("14 F to 50 F", "-10 to 10 C"),
    "weight": ("66 lb", "293.582626607 N"),
    "draw": ("29 in", "73.66 cm"),
    "brace": ("6 1/2 in", "165.1 mm"),
    "peep": ("4.3 in", "10.922 cm"),
    "radius": ("34 in", "0.8636 m"),
    "near": ("20 yd", "18.288 m"),
    "far": ("60 yards", "54.864 metres"),
    "mass": ("445 gr", "28.83551495 g"),
    "speed": ("276 fps", "84.1248 m/s"),
    "doubt": ("2 ft/s", "0.6096 mps"),
    "shaft": ("0.232 in", "5.8928 mm"),
    "length": ('28 1/2"', "723.9 mm"),
    "point": ("125 grains", "8.09986375 grams"),
    "cut": ("1 1/8 in", "28.575 mm"),
    "off": ("-0.5 in", "−1.27 cm"),
    "reading": ("1/2 in", "12.7 mm"),
    "bag": ("50 lb", "22.6796185 kg"),
}
TRIP = """
format: 1
trip: {{name: Two ways, starts: 2027-09-11, ends: 2027-09-19, travel: air, target_zone: {zone}, nearest_shop: {shop}}}
home: {{name: Range, elevation: {home_height}, temperature: {home_warmth}, station_pressure: {home_air}}}
destinations: [{{name: Camp, elevation: {camp_quoted}, temperature: {camp_warmth}}}]
bow:
  draw_weight: {weight}
  draw_length: {draw}
  brace_height: {brace}
  peep_height: {peep}
  sight: {{kind: slider, radius: {radius}, pins: [{near}, {far}], marks: [{{distance: {near}, reading: {reading}}}]}}
arrow:
  mass: {mass}
  speed: {speed}
  speed_uncertainty: {doubt}
  shaft_diameter: {shaft}
  length: {length}
heads:
  - {{name: point, kind: field point, mass: {point}}}
  - {{name: head, kind: fixed blade, mass: {point}, cutting_width: {cut}}}
reference:
  shot_on: 2027-05-20
  broadheads: [{{head: head, distance: {far}, right: {off}, up: {off}}}]
airline: {{mass: {bag}}}
"""


def loaded(text):
    """A trip file and what is said of it."""
    return load_trip(text, "trip.yaml", TODAY)


def spelled(column):
    """The trip in one of its spellings; a comma in braces wants quotes."""
    words = {key: pair[column] for key, pair in SPELLINGS.items()}
    return TRIP.format(**words, camp_quoted=f'"{words["camp_height"]}"')


def one_changed(key, value):
    """The faults of the trip with one spelling exchanged."""
    old = SPELLINGS[key][0]
    text = spelled(0)
    assert f": {old}" in text
    return loaded(text.replace(f": {old}", f": {value}", 1)).problems


def same(a, b):
    """Whether two models agree: numbers within 1e-9, all else equal."""
    if isinstance(a, tuple):
        return len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, float) and isinstance(b, float):
        return isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
    return a == b


@pytest.mark.parametrize(
    ("fixture", "likely"),
    [
        ("elevation-45000-ft", "did you mean 4500 ft"),
        ("arrow-45-gr", "45 g or 450 gr"),
        ("speed-2760-fps", "276 fps"),
        ("shaft-0.232-ft", "0.232 in"),
    ],
)
def test_a_value_that_cannot_be_meant_names_what_probably_was(fixture, likely):
    """A digit too many, a digit lost, a point lost, a unit mistaken."""
    (problem,) = loaded((FIXTURES / f"{fixture}.yaml").read_text(encoding="utf-8")).problems
    assert problem.severity == "error"
    assert likely in problem.hint


@pytest.mark.parametrize(
    ("key", "number", "units"),
    [
        ("mass", "445", {"gr"}),
        ("mass", "28.8", {"g"}),
        ("home_height", "620", {"ft", "m"}),
        ("draw", "29", {"in"}),
        ("draw", "73", {"cm"}),
        ("draw", "730", {"mm"}),
        ("shaft", "0.232", {"in"}),
        ("shaft", "5.9", {"mm"}),
        ("speed", "276", {"fps"}),
        ("speed", "84", {"m/s"}),
        ("weight", "66", {"lb"}),
        ("weight", "290", {"N"}),
        ("home_warmth", "74", {"F"}),
        ("home_warmth", "21", {"F", "C"}),
        ("home_air", "29.31", {"inHg"}),
        ("home_air", "990", {"hPa", "mbar"}),
        ("shop", "5", {"h", "min", "days"}),
        ("peep", "4.3", {"in", "cm"}),
        ("peep", "109", {"mm"}),
    ],
)
def test_a_bare_number_names_the_units_that_make_it_possible(key, number, units):
    """28.8 can be grams but not grains; the user picks from what is left."""
    (problem,) = one_changed(key, number)
    assert problem.code == "bare-number"
    assert set(re.findall(rf"{re.escape(number)} (\S+)", problem.hint)) == units


@pytest.mark.parametrize(
    ("old", "new"),
    [("brace_height:", "let_off: 0.8\n  brace_height:"), ("name: Camp", "name: Camp, humidity: 0.8")],
    ids=["let-off", "humidity"],
)
def test_a_ratio_below_one_is_taken_as_a_part_of_one(old, new):
    """A let-off of 0.8 means 80 %."""
    (problem,) = loaded(spelled(0).replace(old, new)).problems
    assert "80 %" in problem.hint


@pytest.mark.parametrize(
    ("key", "value", "hint"),
    [
        ("draw", "62 lb", "write for example 29 in"),
        ("speed", "430 gr", "write for example 276 fps"),
        ("weight", "-8 C - 6 C", "write for example 66 lb"),
        ("weight", "-8 C to 6 C", "write for example 66 lb"),
        ("near", "20 lb", "write for example 20 yd"),
        ("camp_warmth", "22 % to 61 %", "write for example 22 F to 61 F"),
    ],
)
def test_a_unit_of_something_else_gets_an_example_of_this_key(key, value, hint):
    """Someone took the wrong line: his number in another unit would be nonsense."""
    quoted = f'"{value}"'
    (problem,) = one_changed(key, quoted) if key != "camp_warmth" else camp_at(quoted)
    assert (problem.code, problem.hint) == ("wrong-dimension", hint)


def camp_at(value):
    """The faults of the trip with another temperature at camp."""
    text = spelled(0)
    assert "temperature: 14 F to 50 F" in text
    return loaded(text.replace("temperature: 14 F to 50 F", f"temperature: {value}")).problems


@pytest.mark.parametrize("value", ["200 m", "2000 yd", "1 m"])
def test_no_other_shooting_distance_is_guessed(value):
    """200 m is no slip of 200 yd: what was meant, only the archer knows."""
    text = spelled(0).replace("distance: 60 yards, right", f"distance: {value}, right")
    (problem,) = loaded(text).problems
    assert problem.code == "out-of-range"
    assert problem.hint == "write a value from 3 yd to 150 yd"


@pytest.mark.parametrize(("key", "value", "wrong"), [("mass", "445 ft", "445 kg"), ("near", "20 furlongs", "20 in")])
def test_the_hint_for_a_wrong_unit_names_only_units_that_fit(key, value, wrong):
    """An arrow of 445 kg is no advice."""
    assert all(wrong not in problem.hint for problem in one_changed(key, value))


@pytest.mark.parametrize(
    ("key", "lowest", "highest"),
    [
        ("home_height", "-1500 ft", "20000 ft"),
        ("mass", "150 gr", "1500 gr"),
        ("speed", "100 fps", "430 fps"),
        ("shaft", "0.12 in", "0.5 in"),
        ("weight", "15 lb", "120 lb"),
        ("draw", "18 in", "36 in"),
        ("home_warmth", "-60 F", "130 F"),
    ],
)
def test_the_limits_themselves_are_inside(key, lowest, highest):
    """A limit is a value that can still be meant; one per cent beyond it cannot."""
    for limit, beyond in ((lowest, -0.01), (highest, 0.01)):
        number, unit = limit.split()
        out = float(number) + abs(float(number)) * beyond
        assert "out-of-range" not in {p.code for p in one_changed(key, limit)}
        assert "out-of-range" in {p.code for p in one_changed(key, f"{out:.6g} {unit}")}


def test_the_same_trip_in_metric_and_imperial_is_the_same_model():
    """Only the unit system that the pages use and the texts as written differ."""
    imperial, metric = loaded(spelled(0)), loaded(spelled(1))
    assert imperial.problems == metric.problems == ()
    assert (imperial.trip.units, metric.trip.units) == ("imperial", "metric")
    for name in imperial.trip._fields:
        if name not in ("units", "entered"):
            assert same(getattr(imperial.trip, name), getattr(metric.trip, name)), name


def test_two_models_that_differ_are_told_apart():
    """The comparison above can fail."""
    other = loaded(spelled(0).replace("445 gr", "445.001 gr")).trip
    assert not same(other.arrow, loaded(spelled(0)).trip.arrow)


@pytest.mark.parametrize(
    "fixture",
    [
        *("trip-past", "stale-reference", "undated-reference", "future-date", "altimeter-as-station"),
        *("arrow-too-light", "head-mass", "near-bare-shaft", "spread-not-used"),
    ],
)
def test_what_may_be_meant_is_a_warning_and_the_trip_still_loads(fixture):
    """Old, odd or unsafe, but possible: told, and gone on with."""
    found = loaded((FIXTURES / f"{fixture}.yaml").read_text(encoding="utf-8"))
    assert {p.severity for p in found.problems} == {"warning"}
    assert found.trip.name == "Ridge week"


@pytest.mark.parametrize(
    ("today", "code"),
    [(date(2027, 9, 19), None), (date(2027, 9, 20), "trip-past"), (date(2027, 5, 19), "future-date")],
)
def test_the_age_of_a_trip_counts_from_the_day_given(today, code):
    """On its last day a trip is not yet over; a reference shot tomorrow is dated wrongly."""
    problems = load_trip(spelled(0), "trip.yaml", today).problems
    assert [p.code for p in problems] == ([code] if code else [])
