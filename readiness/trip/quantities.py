"""One quantity of a trip file against what the schema says of it: dimension, limits, likely reason."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from readiness import units
from readiness.problems import Fault
from readiness.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence


def quantity_fault(text: str, rule: dict[str, Any], examples: Sequence[str] = ()) -> Fault | None:
    """What is wrong with a quantity, or None.

    Parameters
    ----------
    text : as written, [text]
    rule : the schema's x-quantity: dimension, minimum, maximum, and range where two values may stand
    examples : of the key, as the schema has them; the first goes into a hint that shows one

    Returns
    -------
    a Fault of readiness.units, or one with code out-of-range that names the likely slip

    Examples
    --------
    >>> rule = {"dimension": "mass", "minimum": "150 gr", "maximum": "1500 gr"}
    >>> quantity_fault("45 gr", rule).hint
    'did you mean 45 g or 450 gr?'

    """
    dimension = rule["dimension"]
    found = units.read_range(text, dimension)
    if isinstance(found, Fault):
        return _with_fitting_hint(found, text, rule, examples)
    if found[0] is not found[1] and not rule.get("range"):
        return Fault("not-a-quantity", f"{text!r} is a range where one value is wanted", "write one value")
    low, high = _limit(rule["minimum"], dimension), _limit(rule["maximum"], dimension)
    for value in found:
        if not low * _below(low) <= value.si <= high * _above(high):
            return _out_of_range(value, rule, low, high)
    return None


def read_si(text: str, dimension: str) -> float:
    """A quantity that has passed the schema, in SI.

    >>> read_si("8750 ft", "length")
    2667.0
    """
    found = units.read_range(text, dimension)
    if isinstance(found, Fault):
        raise ValueError(found.message)
    return found[0].si


def read_si_range(text: str, dimension: str) -> tuple[float, float]:
    """A range that has passed the schema, in SI.

    >>> read_si_range("0 C", "temperature")
    (273.15, 273.15)
    """
    found = units.read_range(text, dimension)
    if isinstance(found, Fault):
        raise ValueError(found.message)
    return found[0].si, found[1].si


def _out_of_range(value: Quantity, rule: dict[str, Any], low: float, high: float) -> Fault:
    written = f"{value.number} {value.unit}"
    bound = f"below {rule['minimum']}" if value.si < low else f"above {rule['maximum']}"
    # Of a share no slip is likely, and 15.5 % for 155 % would be a guess; so would another distance to shoot at.
    if rule["dimension"] == "ratio" or _usual_units(rule) == _USUAL["yd"]:
        return Fault("out-of-range", f"{written} cannot be meant: it is {bound}", _limits_hint(rule))
    likely = [
        text for text, si in units.other_readings(value, rule["dimension"], _usual_units(rule)) if low <= si <= high
    ]
    hint = f"did you mean {' or '.join(likely[:2])}?" if likely else _limits_hint(rule)
    return Fault("out-of-range", f"{written} cannot be meant: it is {bound}", hint)


def _limits_hint(rule: dict[str, Any]) -> str:
    return f"write a value from {rule['minimum']} to {rule['maximum']}"


def _with_fitting_hint(fault: Fault, text: str, rule: dict[str, Any], examples: Sequence[str]) -> Fault:
    """A fault of the reader with the hint for this key: only units that its number can be meant in, or its example."""
    if fault.hint.startswith("write for example") and examples:  # of another dimension, or no quantity at all
        return fault._replace(hint=f"write for example {examples[0]}")
    if fault.code == "unknown-unit":  # its number belongs to another unit: proposing the same digits would mislead
        return fault._replace(hint=f"write it in {' or '.join(_usual_units(rule))}")
    if fault.code != "bare-number":
        return fault
    return fault._replace(hint=bare_number_fault(text.strip(), rule).hint)


def bare_number_fault(number: str, rule: dict[str, Any]) -> Fault:
    """A number without its unit, with the units that would make it possible.

    >>> bare_number_fault("620", {"dimension": "length", "minimum": "-1500 ft", "maximum": "20000 ft"}).hint
    'write 620 ft or 620 m'
    """
    usual = _usual_units(rule)
    candidates = [f"{number} {unit}" for unit in usual]
    if rule["dimension"] == "ratio" and _is_share(number):
        candidates = [f"{100 * float(number):.6g} %"]
    fitting = [text for text in candidates if _fits(text, rule)]
    return Fault("bare-number", f"{number} has no unit", f"write {' or '.join(fitting or candidates)}")


def _fits(text: str, rule: dict[str, Any]) -> bool:
    return not isinstance(units.read_quantity(text, rule["dimension"]), Fault) and quantity_fault(text, rule) is None


def _is_share(number: str) -> bool:
    """Whether a number without % was meant as a part of one: 0.8 for 80 %."""
    try:
        return 0.0 < float(number) <= 1.0
    except ValueError:
        return False


# The units that people use for a thing, by the unit that its limits are written in.
_USUAL = {
    "in": ("in", "mm", "cm"),
    "ft": ("ft", "m"),
    "yd": ("yd", "m"),
    "gr": ("gr", "g"),
    "mm": ("mm", "in"),
}


def _usual_units(rule: dict[str, Any]) -> tuple[str, ...]:
    limit = units.read_quantity(rule["minimum"], rule["dimension"])
    assert isinstance(limit, Quantity)
    return _USUAL.get(limit.unit, units.units_of(rule["dimension"])[:3])


# A limit written as 150 gr must admit 150 gr after rounding in binary.
def _below(limit: float) -> float:
    return 1 - 1e-12 if limit > 0 else 1 + 1e-12


def _above(limit: float) -> float:
    return 1 + 1e-12 if limit > 0 else 1 - 1e-12


@lru_cache(maxsize=200)
def _limit(text: str, dimension: str) -> float:
    return read_si(text, dimension)


def linear_size_m(size: str | None) -> float | None:
    """Length + width + height of a size such as `44 in x 18 in x 8 in`, [m]; None where it cannot be read.

    >>> linear_size_m("44 x 18 x 8 in")
    1.778
    """
    if size is None:
        return None
    parts = [part.strip() for part in size.split("x")]
    last = units.read_quantity(parts[-1], "length")
    if isinstance(last, Fault):
        return None
    sides = [units.read_quantity(part if part[-1:].isalpha() else f"{part} {last.unit}", "length") for part in parts]
    lengths = [side.si for side in sides if isinstance(side, Quantity)]
    return sum(lengths) if len(lengths) == len(parts) and min(lengths) > 0 else None
