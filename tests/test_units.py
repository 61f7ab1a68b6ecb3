"""Text with a unit to SI and back: factors against pint, and what every mistake is called."""

from fractions import Fraction
from math import copysign, isclose, pi

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.problems import Fault
from readiness.showing import SHOWN_KINDS, shown, shown_unit
from readiness.units import (
    DIMENSIONS,
    Quantity,
    exact,
    from_unit,
    other_readings,
    read_quantity,
    read_range,
    to_unit,
    units_of,
)

PINT = pint.UnitRegistry()
EXACT_PINT = pint.UnitRegistry(non_int_type=Fraction)

# Our dimension -> the SI unit pint shall convert to, and pint's name for each of our units.
PINT_NAMES = {
    "length": (
        "m",
        {"ft": "foot", "yd": "yard", "in": "inch", "m": "meter", "cm": "centimeter", "mm": "millimeter"},
    ),
    "mass": ("kg", {"gr": "grain", "g": "gram", "kg": "kilogram", "lb": "pound", "oz": "ounce"}),
    "speed": ("m/s", {"fps": "foot/second", "m/s": "meter/second"}),
    "temperature": ("kelvin", {"F": "degF", "C": "degC"}),
    "temperature difference": ("kelvin", {"F": "delta_degF", "C": "delta_degC"}),
    "pressure": (
        "Pa",
        {
            "inHg": "inch_Hg",
            "hPa": "hectopascal",
            "mbar": "millibar",
            "Pa": "pascal",
            "kPa": "kilopascal",
            "mmHg": "millimeter_Hg",
        },
    ),
    "force": ("N", {"lb": "pound_force", "N": "newton", "kgf": "kilogram_force"}),
    "angle": ("radian", {"deg": "degree"}),
    "ratio": ("dimensionless", {"%": "percent"}),
    "duration": ("second", {"h": "hour", "min": "minute", "days": "day"}),
}
EVERY_UNIT = [(dimension, unit) for dimension in DIMENSIONS for unit in units_of(dimension)]

units_drawn = st.sampled_from(EVERY_UNIT)
numbers_drawn = st.decimals(min_value=-99999, max_value=99999, places=4)


def by_pint(value, dimension, unit):
    """The same in SI, by pint."""
    si, names = PINT_NAMES[dimension]
    return PINT.Quantity(value, names[unit]).to(si).magnitude


def tolerance(unit):
    """Mercury columns are conventional numbers of seven digits; everything else is exact by definition."""
    return 2e-7 if unit.endswith("Hg") else 1e-12


@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT)
def test_every_unit_has_the_factor_that_pint_has(dimension, unit):
    """A number in any unit is the same in SI as pint says, zero point included."""
    for value in (-40.0, 0.0, 1.0, 1234.5):
        assert from_unit(value, dimension, unit) == pytest.approx(
            by_pint(value, dimension, unit), rel=tolerance(unit), abs=1e-10
        )


@pytest.mark.parametrize(("dimension", "unit"), [u for u in EVERY_UNIT if u[0] in ("length", "mass", "force", "ratio")])
def test_a_requirement_can_be_written_in_every_unit_as_an_exact_fraction(dimension, unit):
    """One of each unit is in SI, to the last digit, the fraction that pint has."""
    si, names = PINT_NAMES[dimension]
    assert exact(Quantity(0.0, "1", unit), dimension) == EXACT_PINT.Quantity(Fraction(1), names[unit]).to(si).magnitude


@pytest.mark.parametrize(
    ("dimension", "unit", "si", "rel"),
    [
        ("length", "ft", 0.3048, 1e-15),  # international yard and pound agreement of 1959, exact
        ("length", "yd", 0.9144, 1e-15),  # the same
        ("length", "in", 0.0254, 0),  # the same
        ("mass", "lb", 0.45359237, 0),  # the same
        ("mass", "gr", 64.79891e-6, 1e-15),  # 1/7000 of that pound, exact
        ("force", "kgf", 9.80665, 0),  # standard gravity: 3rd CGPM, 1901
        ("force", "lb", 4.4482216152605, 1e-14),  # that pound times that gravity
        ("pressure", "inHg", 3386.389, 0),  # NIST SP 811, appendix B: conventional inch of mercury
        ("pressure", "mmHg", 133.3224, 0),  # NIST SP 811, appendix B: conventional millimetre of mercury
        ("angle", "deg", pi / 180, 1e-15),  # definition
    ],
)
def test_defined_factors_are_exact(dimension, unit, si, rel):
    """Units that are defined by a number have that number, but for the last binary digit."""
    assert isclose(from_unit(1.0, dimension, unit), si, rel_tol=rel)


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("4 13/16 in", "length", 0.1222375),  # 77/16 in of 25.4 mm
        ("13/16 in", "length", 0.0206375),
        ("-4 1/2 in", "length", -0.1143),
        ("8,750 ft", "length", 2667.0),
        ("1,234,567.5 mm", "length", 1234.5675),
        (".5 in", "length", 0.0127),
        ("5. m", "length", 5.0),
        ("+20 yd", "length", 18.288),
        ("  20yd  ", "length", 18.288),
        ("20 Yards", "length", 18.288),
        ("6 '", "length", 1.8288),
        ('28.5"', "length", 0.7239),
        ("445 grains", "mass", 0.02883551495),
        ("66 lbs", "force", 293.5826266),
        ("276 ft/s", "speed", 84.1248),
        ("−5 C", "temperature", 268.15),  # a typographic minus
        ("−40 °F", "temperature", 233.15),
        ("1013.25 mb", "pressure", 101325.0),
        ("55 pct", "ratio", 0.55),
        ("2 days", "duration", 172800.0),
    ],
)
def test_spellings_that_people_use_are_read(text, dimension, si):
    """Fractions, thousands commas, signs and common spellings give the value worked out by hand."""
    assert read_quantity(text, dimension).si == pytest.approx(si, rel=1e-9)


@given(units_drawn, st.floats(-1e6, 1e6))
def test_to_unit_undoes_from_unit(unit, value):
    """A value put into SI and taken back is the value."""
    dimension, name = unit
    there = from_unit(value, dimension, name)
    assert to_unit(there, dimension, name) == pytest.approx(value, rel=1e-9, abs=1e-7)


@given(units_drawn, numbers_drawn)
def test_a_written_number_is_read_back(unit, number):
    """What is written with any unit is read as pint converts it, and keeps number and unit as written."""
    dimension, name = unit
    found = read_quantity(f"{number} {name}", dimension)
    assert (found.number, found.unit) == (str(number), name)
    assert found.si == pytest.approx(by_pint(float(number), dimension, name), rel=tolerance(name), abs=1e-9)


@given(st.integers(0, 999), st.integers(1, 63), st.integers(2, 64))
def test_a_mixed_fraction_is_whole_plus_part(whole, top, bottom):
    """`a b/c in` is a + b/c inches."""
    assert read_quantity(f"{whole} {top}/{bottom} in", "length").si == pytest.approx((whole + top / bottom) * 0.0254)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("8750", "bare-number"),
        ("4 13/16", "bare-number"),
        ("12 parsec", "unknown-unit"),
        ("12 lb", "wrong-dimension"),
        ("60 F", "wrong-dimension"),
        ("3/0 in", "not-a-quantity"),
        ("4 3/00 in", "not-a-quantity"),
        ("", "not-a-quantity"),
        ("   ", "not-a-quantity"),
        ("ft", "not-a-quantity"),
        ("0,232 in", "not-a-quantity"),
        ("1,5 in", "not-a-quantity"),
        ("12,34,567 ft", "not-a-quantity"),
        ("5 ft 3 in", "not-a-quantity"),
        ("1e3 ft", "not-a-quantity"),
        ("nan ft", "not-a-quantity"),
        ("--5 ft", "not-a-quantity"),
        ("5\nft\n6", "not-a-quantity"),
        ("1" * 1000, "not-a-quantity"),
        ("1" * 1000 + " ft", "not-a-quantity"),
        ("5 " + "x" * 998, "not-a-quantity"),
    ],
)
def test_each_mistake_has_its_code_and_says_what_to_write(text, code):
    """A text that is no length is a Fault with a code, a short message and a hint."""
    fault = read_quantity(text, "length")
    assert isinstance(fault, Fault)
    assert fault.code == code
    assert len(fault.message) < 120
    assert fault.hint.startswith("write ")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("6,2 mm mm", "write 6.2 mm: the decimal sign is a point"),
        ("6,2mm", "write 6.2 mm: the decimal sign is a point"),
        ("6,2", "write 6.2: the decimal sign is a point"),
        ("6,2 stone", "write for example 20 yd or 4 13/16 in"),
    ],
)
def test_no_hint_says_a_unit_twice_or_one_that_is_none(text, hint):
    """What is told to be typed must be taken when it is typed, but for a unit that is not there at all."""
    fault = read_quantity(text, "length")
    assert isinstance(fault, Fault)
    assert fault.hint == hint


@pytest.mark.parametrize(
    ("text", "dimension", "hint"),
    [
        ("62 lb", "length", "write for example 20 yd or 4 13/16 in"),
        ("430 gr", "speed", "write for example 276 fps"),
        ("6 C", "force", "write for example 66 lb"),
    ],
)
def test_the_number_of_another_dimension_is_not_offered_in_a_unit_of_this_one(text, dimension, hint):
    """62 lb is not 62 ft."""
    fault = read_quantity(text, dimension)
    assert isinstance(fault, Fault)
    assert (fault.code, fault.hint) == ("wrong-dimension", hint)


def test_a_decimal_comma_is_named():
    """The hint for a decimal comma speaks of the decimal sign."""
    assert "point" in read_quantity("0,232 in", "length").hint


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_hint_of_a_bare_number_can_be_typed(dimension):
    """Each text that the hint offers is read without a fault."""
    hint = read_quantity("5", dimension).hint.removeprefix("write ")
    for offered in hint.split(" or "):
        assert isinstance(read_quantity(offered, dimension), Quantity)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_example_of_a_hint_can_be_typed(dimension):
    """The example in the hint for nonsense is itself read without a fault."""
    hint = read_quantity("nonsense", dimension).hint.removeprefix("write for example ")
    for offered in hint.split(" or "):
        assert isinstance(read_quantity(offered, dimension), Quantity)


@pytest.mark.parametrize(
    ("text", "low_c", "high_c"),
    [
        ("22 to 61 F", -50 / 9, 145 / 9),
        ("22 F to 61 F", -50 / 9, 145 / 9),
        ("22 F to 16 C", -50 / 9, 16.0),
        ("-5 to 16 C", -5.0, 16.0),
        ("−20 to −5 C", -20.0, -5.0),
        ("-5..16 C", -5.0, 16.0),
        ("-5–16 C", -5.0, 16.0),
        ("  40 F  ", 40 / 9, 40 / 9),
    ],
)
def test_a_range_is_read_with_one_unit_or_two(text, low_c, high_c):
    """Low and high come back in kelvin; the first may borrow the unit of the second."""
    low, high = read_range(text, "temperature")
    assert low.si - 273.15 == pytest.approx(low_c)
    assert high.si - 273.15 == pytest.approx(high_c)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("61 to 22 F", "reversed-range"),
        ("-5 C to -20 C", "reversed-range"),
        ("22 F to 61", "bare-number"),
        ("22 in to 61 F", "wrong-dimension"),
        ("22 to 61 lb", "wrong-dimension"),
        ("cold to 61 F", "not-a-quantity"),
        ("22 to 61 to 70 F", "not-a-quantity"),
        (" to ", "not-a-quantity"),
        ("1" * 1000 + " to 5 F", "not-a-quantity"),
    ],
)
def test_a_faulty_range_has_its_code(text, code):
    """A range that cannot be read is a Fault, the reversed one included."""
    assert read_range(text, "temperature").code == code


def test_the_hint_of_a_reversed_range_is_the_range_turned_round():
    """The hint can be typed as it stands."""
    hint = read_range("61 F to 22 F", "temperature").hint.removeprefix("write ")
    assert hint == "22 F to 61 F"


def test_other_readings_are_the_same_digits_or_one_place_off():
    """0.232 ft may have been meant as inches, or with the point one place off."""
    found = dict(other_readings(read_quantity("0.232 ft", "length"), "length", ("in", "mm")))
    assert found == pytest.approx(
        {"0.232 in": 0.0058928, "0.232 mm": 0.000232, "0.0232 ft": 0.00707136, "2.32 ft": 0.707136}
    )


@pytest.mark.parametrize(
    ("si", "kind", "system", "text"),
    [
        (0.01524, "offset", "imperial", "0.6 in"),
        (-0.0127, "offset", "imperial", "-0.5 in"),
        (2667.0, "elevation", "imperial", "8,750 ft"),
        (18.288, "distance", "metric", "18 m"),
        (288.15, "temperature", "imperial", "59 F"),
        (101325.0, "pressure", "imperial", "29.92 inHg"),
        (101325.0, "pressure", "metric", "1,013 hPa"),
        (0.02883551495, "mass", "imperial", "445 gr"),
    ],
)
def test_a_page_shows_the_value_rounded(si, kind, system, text):
    """Values worked out by hand, in the unit and digits of their kind."""
    assert shown(si, kind, system) == text
    assert shown(si, kind, system, unit=False) + f" {shown_unit(kind, system)}" == text


@given(st.sampled_from(SHOWN_KINDS), st.sampled_from(["imperial", "metric"]), st.floats(-0.1, 0.1))
def test_a_page_never_shows_minus_zero(kind, system, value):
    """However a value rounds, nothing is written as -0; and a sign stands before all but zero."""
    dimension = "temperature difference" if kind == "temperature" else None
    si = 273.15 + value if dimension and system == "metric" else value
    text = shown(si, kind, system, sign=True, unit=False)
    number = float(text.replace(",", ""))
    assert copysign(1.0, number) == 1.0 or number < 0
    assert text.startswith(("+", "-")) == (number != 0)
