"""The trip as the program sees it: frozen, in SI, absent where the file says nothing.

Lengths are in metres, masses in kilograms, speeds in m/s, temperatures in C, pressures in Pa, forces in N,
angles in degrees where the name says so, ratios as 0 to 1. Right and up are positive, as the archer sees
the target.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date


class Place(NamedTuple):
    """Home or a destination. temperatures_c has no entry (standard air), one, or coldest and warmest."""

    name: str
    elevation_m: float
    temperatures_c: tuple[float, ...] = ()
    humidity: float | None = None
    station_pressure_pa: float | None = None
    altimeter_setting_pa: float | None = None
    temperature_uncertainty_c: float | None = None
    pressure_uncertainty: float | None = None
    latitude_deg: float | None = None
    sleeping_elevation_m: float | None = None


class Mark(NamedTuple):
    """One reading of the sight's own scale."""

    distance_m: float
    reading_m: float


class Sight(NamedTuple):
    """The sight. pins_m are the distances it is set for (those of the marks if no pins are listed)."""

    kind: str
    radius_m: float
    pins_m: tuple[float, ...]
    marks: tuple[Mark, ...] = ()
    mark_uncertainty_m: float | None = None


class Bow(NamedTuple):
    """The bow as it travels."""

    draw_weight_n: float
    draw_length_m: float
    peep_height_m: float
    sight: Sight
    let_off: float | None = None
    brace_height_m: float | None = None
    axle_to_axle_m: float | None = None


class SpeedReading(NamedTuple):
    """Mean speed on a chronograph at a distance from the bow."""

    distance_m: float
    speed_m_s: float


class Arrow(NamedTuple):
    """The complete hunting arrow."""

    mass_kg: float
    speed_m_s: float
    shaft_diameter_m: float
    length_m: float
    speed_uncertainty_m_s: float | None = None
    balance_point_m: float | None = None
    drag_coefficient: float | None = None
    drag_uncertainty: float | None = None
    speed_readings: tuple[SpeedReading, ...] = ()
    vanes: int | None = None
    vane_turn: str | None = None


class Head(NamedTuple):
    """A field point, a fixed blade head or a mechanical head."""

    name: str
    kind: str
    mass_kg: float
    cutting_width_m: float | None = None
    cutting_width_closed_m: float | None = None
    blades: int | None = None

    @property
    def is_hunting(self) -> bool:
        """Whether it is meant for game."""
        return self.kind != "field point"


class BareShaft(NamedTuple):
    """Where a bare shaft lands, seen from the fletched group."""

    distance_m: float
    clock: str
    offset_m: float
    right_m: float
    up_m: float
    pairs: int | None = None


class BroadheadReference(NamedTuple):
    """Where a hunting head lands, seen from the field-point group."""

    head: str
    distance_m: float
    right_m: float
    up_m: float
    arrows: int | None = None


class ColdFirst(NamedTuple):
    """Where the first arrow of a day landed, seen from the aiming point."""

    distance_m: float
    right_m: float
    up_m: float


class GroupRecord(NamedTuple):
    """One fletched group with field points; measure names which of the three sizes was taken."""

    distance_m: float
    arrows: int
    measure: str
    size_m: float
    right_m: float | None = None
    up_m: float | None = None


class Reference(NamedTuple):
    """What was recorded after the last tuning."""

    shot_on: date | None = None
    bare_shaft: BareShaft | None = None
    broadheads: tuple[BroadheadReference, ...] = ()
    cold_first: tuple[ColdFirst, ...] = ()
    groups: tuple[GroupRecord, ...] = ()
    marks: tuple[tuple[str, str], ...] = ()


class Change(NamedTuple):
    """Something changed on the bow or the arrows."""

    what: str
    on: date


class PinMove(NamedTuple):
    """How far a pin has to move for a place, up positive, with the ends of its 95 % band."""

    distance_m: float
    move_m: float
    low_m: float
    high_m: float
    advice: str


class Resighted(NamedTuple):
    """A correction of the sight for a place."""

    place: str
    on: date
    moves: tuple[PinMove, ...]


class GearItem(NamedTuple):
    """One line of what is packed or owned."""

    item: str
    how_many: int = 1
    bag: str | None = None
    volts: float | None = None
    amp_hours: float | None = None
    mass_kg: float | None = None
    size: str | None = None


class Requirement(NamedTuple):
    """What a place asks for, as its user copied it."""

    topic: str
    rule: str
    source: str
    read_on: date
    edition: str | None = None
    place: str | None = None
    applies_to: str | None = None


class Trip(NamedTuple):
    """The whole trip file."""

    name: str
    starts: date
    ends: date
    travel: str
    target_zone_m: float
    home: Place
    destinations: tuple[Place, ...]
    bow: Bow
    arrow: Arrow
    heads: tuple[Head, ...]
    reference: Reference
    nearest_shop_s: float | None = None
    hazards: tuple[str, ...] | None = None  # None: the file does not say
    hunter_name: str | None = None
    hunter_id: str | None = None
    hand: str | None = None
    changes: tuple[Change, ...] = ()
    resighted: tuple[Resighted, ...] = ()
    gear: tuple[GearItem, ...] | None = None  # None: the file does not say
    airline_mass_kg: float | None = None
    airline_linear_size_m: float | None = None
    declared: tuple[tuple[str, str | float], ...] = ()
    requirements: tuple[Requirement, ...] = ()
    units: str = "imperial"
    entered: Mapping[str, Any] = MappingProxyType({})  # every value as written, by its dotted path

    @property
    def hunting_heads(self) -> tuple[Head, ...]:
        """The heads meant for game."""
        return tuple(head for head in self.heads if head.is_hunting)

    @property
    def field_points(self) -> tuple[Head, ...]:
        """The practice heads."""
        return tuple(head for head in self.heads if not head.is_hunting)
