"""SI to what a page shows: each kind of value in its unit and with its decimals, imperial or metric."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from readiness.units import ZERO_CELSIUS_K, to_unit

if TYPE_CHECKING:
    from readiness.units import UnitSystem

# What a page writes for a kind of value: (dimension, imperial unit and decimals, metric unit and decimals).
_SHOWN: dict[str, tuple[str, tuple[str, int], tuple[str, int]]] = {
    "offset": ("length", ("in", 1), ("cm", 1)),
    "fine": ("length", ("in", 2), ("mm", 1)),
    "distance": ("length", ("yd", 0), ("m", 0)),
    "exact distance": ("length", ("yd", 1), ("m", 1)),
    "elevation": ("length", ("ft", 0), ("m", 0)),
    "mass": ("mass", ("gr", 0), ("g", 1)),
    "case mass": ("mass", ("lb", 2), ("kg", 2)),
    "case size": ("length", ("in", 0), ("cm", 0)),
    "speed": ("speed", ("fps", 0), ("m/s", 1)),
    "small speed": ("speed", ("fps", 1), ("m/s", 2)),
    "temperature": ("temperature", ("F", 0), ("C", 0)),
    "temperature difference": ("temperature difference", ("F", 0), ("C", 0)),
    "small temperature difference": ("temperature difference", ("F", 1), ("C", 1)),
    "pressure": ("pressure", ("inHg", 2), ("hPa", 0)),
    "force": ("force", ("lb", 0), ("lb", 0)),  # archers read pounds everywhere
    "duration": ("duration", ("h", 0), ("h", 0)),
    "ratio": ("ratio", ("%", 0), ("%", 0)),
}

SHOWN_KINDS = tuple(_SHOWN)


def shown(si: float, kind: str, units: UnitSystem, *, sign: bool = False, unit: bool = True) -> str:
    """A value in SI as a page shows it, rounded for that kind; -0 is written 0.

    Parameters
    ----------
    si : value, [SI]
    kind : one of SHOWN_KINDS, [text]
    units : imperial or metric, [text]
    sign : write + before a positive number
    unit : write the unit behind it

    Returns
    -------
    text

    Examples
    --------
    >>> shown(0.01524, "offset", "imperial"), shown(18.288, "distance", "metric")
    ('0.6 in', '18 m')

    """
    dimension, imperial, metric = _SHOWN[kind]
    name, decimals = imperial if units == "imperial" else metric
    value = round(to_unit(si, dimension, name), decimals) + 0.0
    text = f"{value:{'+' if sign and value else ''},.{decimals}f}"
    return f"{text} {name}" if unit else text


def shown_celsius(temperature_c: float, units: UnitSystem) -> str:
    """A temperature, [C], as a page shows it.

    >>> shown_celsius(-10.0, "imperial"), shown_celsius(-10.0, "metric")
    ('14 F', '-10 C')
    """
    return shown(temperature_c + ZERO_CELSIUS_K, "temperature", units)


def shown_unit(kind: str, units: UnitSystem) -> str:
    """The unit in which a kind is shown.

    >>> shown_unit("offset", "metric")
    'cm'
    """
    _, imperial, metric = _SHOWN[kind]
    return (imperial if units == "imperial" else metric)[0]


def where(right_m: float, up_m: float, units: UnitSystem) -> str:
    """A place on the target in words, as the archer sees it.

    >>> where(0.0, -0.0127, "imperial")
    '0.5 in low'
    """
    parts = []
    for value, plus, minus in ((right_m, "right", "left"), (up_m, "high", "low")):
        text = shown(abs(value), "offset", units)
        if not re.fullmatch(r"0\.0+ \w+", text):
            parts.append(f"{text} {plus if value > 0 else minus}")
    return ", ".join(parts) or "no offset"
