"""Text with a unit to SI, and SI to a number in a unit.

`read_quantity("8750 ft", "length")` gives metres; a mistake comes back as a Fault that says what to type.
SI inside: only this module, showing and the pages know other units.

Factors: the international yard and pound (1959) are exact by definition; the grain is 1/7000 lb; g0 is
9.80665 m/s2 (3rd CGPM, 1901); the conventional inch and millimetre of mercury are those of NIST SP 811,
appendix B.
"""

from __future__ import annotations

import re
from math import pi
from typing import TYPE_CHECKING, Literal, NamedTuple

from readiness.problems import Fault, excerpt

if TYPE_CHECKING:
    from fractions import Fraction

UnitSystem = Literal["imperial", "metric"]

ZERO_CELSIUS_K = 273.15
_INCH, _POUND, _G0 = 0.0254, 0.45359237, 9.80665

# dimension -> canonical unit -> (factor to SI, offset in SI, other spellings)
_UNITS: dict[str, dict[str, tuple[float, float, str]]] = {
    "length": {
        "ft": (12 * _INCH, 0.0, "foot feet '"),
        "yd": (36 * _INCH, 0.0, "yds yard yards"),
        "in": (_INCH, 0.0, 'inch inches "'),
        "m": (1.0, 0.0, "meter meters metre metres"),
        "cm": (0.01, 0.0, ""),
        "mm": (0.001, 0.0, ""),
    },
    "mass": {
        "gr": (_POUND / 7000, 0.0, "grain grains"),
        "g": (0.001, 0.0, "gram grams"),
        "kg": (1.0, 0.0, ""),
        "lb": (_POUND, 0.0, "lbs pound pounds"),
        "oz": (_POUND / 16, 0.0, "ounce ounces"),
    },
    "speed": {"fps": (12 * _INCH, 0.0, "ft/s"), "m/s": (1.0, 0.0, "mps")},
    "temperature": {
        "F": (5 / 9, ZERO_CELSIUS_K - 32 * 5 / 9, "°f degf"),
        "C": (1.0, ZERO_CELSIUS_K, "°c degc"),
    },
    "temperature difference": {"F": (5 / 9, 0.0, "°f degf"), "C": (1.0, 0.0, "°c degc")},
    "pressure": {
        "inHg": (3386.389, 0.0, ""),
        "hPa": (100.0, 0.0, ""),
        "mbar": (100.0, 0.0, "mb"),
        "Pa": (1.0, 0.0, ""),
        "kPa": (1000.0, 0.0, ""),
        "mmHg": (133.3224, 0.0, ""),
    },
    "force": {
        "lb": (_POUND * _G0, 0.0, "lbs lbf pound pounds"),
        "N": (1.0, 0.0, ""),
        "kgf": (_G0, 0.0, "kg"),
    },
    "angle": {"deg": (pi / 180, 0.0, "° degree degrees")},
    "ratio": {"%": (0.01, 0.0, "percent pct")},
    "duration": {
        "h": (3600.0, 0.0, "hour hours hr hrs"),
        "min": (60.0, 0.0, "minutes"),
        "days": (86400.0, 0.0, "day d"),
    },
}

DIMENSIONS = tuple(_UNITS)

_SPELLINGS: dict[str, dict[str, str]] = {
    dimension: {
        spelling.lower(): name for name, (_, _, others) in units.items() for spelling in (name, *others.split())
    }
    for dimension, units in _UNITS.items()
}

# 4 13/16 | 1/8 | 8,750 | 0.232 | -.5   A thousands comma needs a first group that is not 0: 0,232 is no number.
_NUMBER = (
    r"[-+−]?(?:\d{1,6}\s+\d{1,3}/\d{1,4}|\d{1,3}/\d{1,4}"
    r"|[1-9]\d{0,2}(?:,\d{3}){1,3}(?:\.\d{0,12})?|\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})"
)
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*([^\d\s.,+−-][^\d]{{0,9}}?)?\s*", re.ASCII)
_LONGEST = 60  # characters of a quantity or range: longer text is refused before any pattern walks over it
_RANGE = re.compile(r"\s+to\s+|\s+-\s+|\s*(?:\.\.|–)\s*")


class Quantity(NamedTuple):
    """A number as written, its unit, and its value in SI."""

    si: float
    number: str
    unit: str


def read_quantity(text: str, dimension: str) -> Quantity | Fault:
    """Read a number with a unit.

    Parameters
    ----------
    text : such as `8750 ft`, `4 13/16 in`, `−5 C`, `55 %`, [text]
    dimension : one of DIMENSIONS, [text]

    Returns
    -------
    Quantity with the value in SI (m, kg, m/s, K, Pa, N, rad, s; a percentage as 0 to 1), or a Fault with
    code bare-number, unknown-unit, wrong-dimension or not-a-quantity

    Examples
    --------
    >>> read_quantity("4 13/16 in", "length").si
    0.1222375
    >>> read_quantity("8750", "length").message
    '8750 has no unit'

    """
    match = _QUANTITY.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None:
        return _not_a_quantity(text, dimension)
    number, unit = match[1], (match[2] or "").strip()
    value = _number(number)
    if value is None:
        return Fault("not-a-quantity", f"{text!r} divides by zero", f"write for example {_example(dimension)}")
    if not unit:
        return Fault("bare-number", f"{number} has no unit", f"write {_spelled_out(number, dimension)}")
    name = _SPELLINGS[dimension].get(unit.lower())
    if name is None:
        return _wrong_unit(unit, dimension)
    factor, offset, _ = _UNITS[dimension][name]
    return Quantity(value * factor + offset, number, name)


def read_range(text: str, dimension: str) -> tuple[Quantity, Quantity] | Fault:
    """Read one quantity or a range of two; a single value gives the same value twice.

    Parameters
    ----------
    text : such as `22 F to 61 F`, `22 to 61 F` or `40 F`, [text]
    dimension : one of DIMENSIONS, [text]

    Returns
    -------
    (low, high) as written, or a Fault; a range that runs backwards is a Fault with code reversed-range

    Examples
    --------
    >>> [round(q.si, 2) for q in read_range("-5 to 16 C", "temperature")]
    [268.15, 289.15]

    """
    if len(text) > _LONGEST:
        return _not_a_quantity(text, dimension)
    parts = _RANGE.split(text.strip(), maxsplit=1)
    high = read_quantity(parts[-1], dimension)
    if isinstance(high, Fault):
        return high
    if len(parts) == 1:
        return high, high
    low = read_quantity(parts[0], dimension)
    if isinstance(low, Fault) and low.code == "bare-number":
        low = read_quantity(f"{parts[0]} {high.unit}", dimension)
    if isinstance(low, Fault):
        return low
    if low.si > high.si:
        ordered = f"{high.number} {high.unit} to {low.number} {low.unit}"
        return Fault("reversed-range", f"the range {text!r} runs from high to low", f"write {ordered}")
    return low, high


def to_unit(si: float, dimension: str, unit: str) -> float:
    """A value in SI, expressed in a named unit.

    >>> to_unit(304.8, "length", "ft")
    1000.0
    """
    factor, offset, _ = _UNITS[dimension][unit]
    return (si - offset) / factor


def from_unit(value: float, dimension: str, unit: str) -> float:
    """A value in a named unit, expressed in SI.

    >>> from_unit(1000.0, "length", "ft")
    304.8
    """
    factor, offset, _ = _UNITS[dimension][unit]
    return value * factor + offset


def exact(quantity: Quantity, dimension: str) -> Fraction:
    """A quantity in SI as the exact fraction of what was written: 8.1 g is not 125 gr, however close.

    Parameters
    ----------
    quantity : as read by read_quantity
    dimension : length, mass, force or ratio, [text]

    Returns
    -------
    value, [SI], exact

    Examples
    --------
    >>> grains, grams = read_quantity("125 gr", "mass"), read_quantity("8.1 g", "mass")
    >>> exact(grams, "mass") - exact(grains, "mass")  # 8.1 g less 125 x 64.79891 mg
    Fraction(109, 800000000)

    """
    from fractions import Fraction

    # Every factor of these dimensions is by definition a decimal number of at most 14 digits (the longest is the
    # pound-force), so the 15 digits that a float keeps are the factor itself.
    factor = Fraction(f"{_UNITS[dimension][quantity.unit][0]:.15g}")
    text = quantity.number.replace("−", "-").replace(",", "")
    sign = -1 if text.startswith("-") else 1
    number = sum((Fraction(part) for part in text.lstrip("+-").split()), Fraction(0))
    return sign * number * factor


def units_of(dimension: str) -> tuple[str, ...]:
    """The units of a dimension, the usual one first.

    >>> units_of("speed")
    ('fps', 'm/s')
    """
    return tuple(_UNITS[dimension])


def other_readings(quantity: Quantity, dimension: str, usual: tuple[str, ...]) -> list[tuple[str, float]]:
    """What the writer may have meant: the same digits in another usual unit, or the point one place off.

    >>> other_readings(Quantity(0.0707136, "0.232", "ft"), "length", ("in", "mm"))[0]
    ('0.232 in', 0.0058928)
    """
    value = _number(quantity.number)
    if value is None:
        return []
    readings = [
        (f"{quantity.number} {unit}", from_unit(value, dimension, unit)) for unit in usual if unit != quantity.unit
    ]
    slipped = (value / 10, value * 10)
    readings += [(f"{v:.10g} {quantity.unit}", from_unit(v, dimension, quantity.unit)) for v in slipped]
    return readings


def _number(text: str) -> float | None:
    text = text.replace("−", "-").replace(",", "")
    if "/" not in text:
        return float(text)
    sign = -1.0 if text.startswith("-") else 1.0
    *whole, fraction = text.lstrip("+-").split()
    top, bottom = fraction.split("/")
    if int(bottom) == 0:
        return None
    return sign * (float(whole[0] if whole else 0) + int(top) / int(bottom))


def _example(dimension: str) -> str:
    return {
        "length": "20 yd or 4 13/16 in",
        "mass": "445 gr",
        "speed": "276 fps",
        "temperature": "61 F",
        "temperature difference": "2 C",
        "pressure": "29.31 inHg",
        "force": "66 lb",
        "angle": "41.2 deg",
        "ratio": "80 %",
        "duration": "5 h",
    }[dimension]


def _spelled_out(number: str, dimension: str) -> str:
    names = list(_UNITS[dimension])
    return " or ".join(f"{number} {name}" for name in names[:3])


def _wrong_unit(unit: str, dimension: str) -> Fault:
    for other, spellings in _SPELLINGS.items():
        if unit.lower() in spellings and other != dimension:
            article = "an" if dimension[0] in "aeiou" else "a"
            message = f"{unit!r} is a unit of {other}; this is {article} {dimension}"
            return Fault("wrong-dimension", message, f"write for example {_example(dimension)}")
    known = ", ".join(_UNITS[dimension])
    return Fault("unknown-unit", f"{unit!r} is not a unit of {dimension}", f"write it in one of: {known}")


def _not_a_quantity(text: str, dimension: str) -> Fault:
    hint = f"write for example {_example(dimension)}"
    match = _QUANTITY.fullmatch(text.replace(",", ".", 1)) if re.search(r"\d,\d", text) else None
    if match:
        number, unit = match[1], " ".join(dict.fromkeys((match[2] or "").split()))  # 6,2 mm mm: once is enough
        if not unit or unit.lower() in _SPELLINGS[dimension]:
            hint = f"write {number} {unit}".rstrip() + ": the decimal sign is a point"
    return Fault("not-a-quantity", f"{excerpt(text)!r} is not a number with a unit", hint)
