"""The tables of numbers on a page, and the lines that say where they come from and how sure they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness import conditions
from readiness.groups import MOST_ARROWS
from readiness.render.elements import Table
from readiness.showing import shown, shown_celsius, shown_unit
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.conditions import Conditions
    from readiness.forecast import Case
    from readiness.pinshift import PinForecast
    from readiness.plan import Plan
    from readiness.trip.model import Place
    from readiness.units import UnitSystem


def pin_rows(case: Case, plan: Plan) -> Table:
    """One case as a table: a row for each pin."""
    units = plan.units
    headers = (
        "pin",
        f"shift {shown_unit('fine', units)}",
        "95 % band",
        f"sight {shown_unit('fine', units)}",
        "hits at",
        "inside, home",
        "inside, there",
        "arrows to see",
        "advice",
    )
    rows = tuple(_pin_row(pin, plan) for pin in case.pins)
    return Table(headers, rows, right=tuple(range(8)))


def _pin_row(pin: PinForecast, plan: Plan) -> tuple[str, ...]:
    units = plan.units

    def fine(value: float) -> str:
        return shown(value, "fine", units, sign=True, unit=False)

    dead_on = "-" if pin.equivalent_distance_m is None else shown(pin.equivalent_distance_m, "exact distance", units)
    move = _sight_move(pin, units)
    return (
        shown(pin.distance_m, "distance", units),
        fine(pin.shift_m),
        f"{fine(pin.shift_low_m)} to {fine(pin.shift_high_m)}",
        move,
        dead_on,
        share_words(pin.in_zone_home),
        share_words(pin.in_zone_there),
        _arrows(pin),
        pin.advice,
    )


def _sight_move(pin: PinForecast, units: UnitSystem) -> str:
    """Sight moves are small: a decimal more than other lengths."""
    scale = 39.37007874 if units == "imperial" else 1000.0
    decimals = 3 if units == "imperial" else 2
    move = round(pin.sight_move_m * scale, decimals) + 0.0
    return f"{move:{'+' if move else ''}.{decimals}f}"


def share_words(value: float | None) -> str:
    """A share as a page shows it."""
    return "?" if value is None else "over 99 %" if value > 0.995 else f"{100 * value:.0f} %"


def _arrows(pin: PinForecast) -> str:
    if pin.sigma_m is None:
        return "?"
    return f">{MOST_ARROWS}" if pin.arrows_to_see is None else str(pin.arrows_to_see)


def why_rows(case: Case, units: UnitSystem) -> Table:
    """One case's shift split into its causes."""
    unit = shown_unit("fine", units)
    headers = (
        "pin",
        f"shift {unit}",
        "elevation",
        "temperature",
        "humidity",
        "pressure",
        "gravity",
        "1 fps more" if units == "imperial" else "0.3 m/s more",
    )
    rows = []
    for pin in case.pins:
        parts = (pin.shift_m, *pin.because, pin.m_per_fps)
        rows.append(
            (
                shown(pin.distance_m, "distance", units),
                *(shown(part, "fine", units, sign=True, unit=False) for part in parts),
            )
        )
    return Table(headers, tuple(rows), right=tuple(range(8)))


def place_lines(plan: Plan) -> Iterator[str]:
    """The air of each place and case, and the arrow that flies through it."""
    units = plan.units
    yield f"{plan.forecast.home_name} (home): {_air_words(plan.forecast.home, units)}"
    for place, case in plan.forecast.cases:
        yield f"{place}, {case.label}: {_air_words(case.conditions, units)}"
    arrow = plan.forecast.arrow
    ballistics = arrow.ballistics
    yield (
        f"Arrow: {shown(ballistics.speed_m_s, 'small speed', units)}, "
        f"drag coefficient {ballistics.drag_coefficient:.2f} on the shaft's cross-section ({ballistics.drag_source})"
    )
    if arrow.drag_extrapolated:
        yield (
            f"That band was measured up to a Reynolds number of about 20,000; this arrow starts at "
            f"{arrow.reynolds:,.0f}: it is extrapolated. Two speed readings would replace it."
        )
    yield from filter(None, (ballistics.note, ballistics.warning))
    foc = "FOC cannot tell: missing arrow.balance_point" if arrow.foc is None else f"FOC {100 * arrow.foc:.1f} %"
    if units == "imperial":
        foot, pound = from_unit(1, "length", "ft"), from_unit(1, "force", "lb")
        energy, momentum = (
            f"{arrow.kinetic_energy_j / (foot * pound):.1f} ft lbf",
            f"{arrow.momentum_kg_m_s / pound:.3f} lbf s",
        )
    else:
        energy, momentum = f"{arrow.kinetic_energy_j:.1f} J", f"{arrow.momentum_kg_m_s:.3f} kg m/s"
    yield f"{foc}; kinetic energy {energy}, momentum {momentum} at the bow"


def _air_words(at: Conditions, units: UnitSystem) -> str:
    air = at.air
    return (
        f"{shown(at.elevation_m, 'elevation', units)}, {shown_celsius(air.temperature_c, units)}, "
        f"{100 * air.relative_humidity:.0f} % humidity, station pressure {shown(air.pressure_pa, 'pressure', units)}: "
        f"density {air.density_kg_m3:.4f} kg/m3, density altitude {shown(air.density_altitude_m, 'elevation', units)}"
    )


def doubts(plan: Plan) -> Iterator[str]:
    """One standard deviation of everything doubtful, and how to say it better in the trip file."""
    units, ballistics = plan.units, plan.forecast.arrow.ballistics
    yield "One standard deviation of each; the band carries them through the same flight, 95 %."
    for place in (plan.trip.home, *plan.trip.destinations):
        yield f"{place.name}: {_place_doubt(place, units)}"
    source = "with the sight marks" if ballistics.note else "speed_uncertainty"
    yield f"launch speed {shown(ballistics.speed_sd_m_s, 'small speed', units)} ({source})"
    yield f"drag coefficient {ballistics.drag_sd:.2f} ({ballistics.drag_source})"
    yield (
        "Left out: the bow itself. Limbs, string and archer in the cold are not in the band; "
        "the last column of each table of causes is what a little more launch speed does."
    )


def _place_doubt(place: Place, units: UnitSystem) -> str:
    pressure = conditions.pressure_sd_of(place)
    given = place.station_pressure_pa is not None or place.altimeter_setting_pa is not None
    source = "given" if given else "from the elevation"
    temperature = shown(conditions.temperature_sd_c_of(place), "small temperature difference", units)
    latitude = "" if place.latitude_deg is not None else f", latitude {conditions.LATITUDE_SD_DEG:.0f} deg (left out)"
    stated = "" if place.temperatures_c else " around standard air: real weather may be far from it"
    return f"pressure {100 * pressure:.1f} % ({source}), temperature {temperature}{stated}{latitude}"
