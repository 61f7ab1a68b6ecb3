"""One quantity of a trip file against what the schema says of it: dimension, limits, likely reason."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from readiness import units
from readiness.problems import Fault
from readiness.units import Quantity


def quantity_fault(text: str, rule: dict[str, Any]) -> Fault | None:
    """What is wrong with a quantity, or None.

    Parameters
    ----------
    text : as written, [text]
    rule : the schema's x-quantity: dimension, minimum, maximum, and range where two values may stand

    Returns
    -------
    a Fault of readiness.units, or one with code out-of-range that names the likely slip

    Examples
    --------
    >>> rule = {"dimension": "mass", "minimum": "150 gr", "maximum": "1500 gr"}
    >>> quantity_fault("45 gr", rule).hint
    'did you mean 450 gr?'

    """
    dimension = rule["dimension"]
    found = units.read_range(text, dimension)
    if isinstance(found, Fault):
        return found
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
    likely = next(
        (text for text, si in units.other_readings(value, rule["dimension"]) if low <= si <= high),
        None,
    )
    hint = (
        f"did you mean {likely}?" if likely else f"write a value from {rule['minimum']} to {rule['maximum']}"
    )
    return Fault("out-of-range", f"{written} cannot be meant: it is {bound}", hint)


# A limit written as 150 gr must admit 150 gr after rounding in binary.
def _below(limit: float) -> float:
    return 1 - 1e-12 if limit > 0 else 1 + 1e-12


def _above(limit: float) -> float:
    return 1 + 1e-12 if limit > 0 else 1 - 1e-12


@lru_cache(maxsize=200)
def _limit(text: str, dimension: str) -> float:
    return read_si(text, dimension)
