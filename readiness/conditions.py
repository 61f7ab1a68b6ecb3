"""A place of the trip file -> the air and gravity there, with their doubt; what was left out is standard."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, NamedTuple

from readiness import air
from readiness.air import Air
from readiness.sighting import Medium

if TYPE_CHECKING:
    from readiness.trip.model import Place

DEFAULT_HUMIDITY = 0.5
DEFAULT_LATITUDE_DEG = 45.0
# One standard deviation each; all are printed beside the results, and the trip file can override them.
PRESSURE_SD_FROM_ELEVATION = 0.01
PRESSURE_SD_GIVEN = 0.001
TEMPERATURE_SD_C = 2.0
LATITUDE_SD_DEG = 3.0  # of a latitude that was left out


class Conditions(NamedTuple):
    """Air and gravity of a place at one temperature, with one standard deviation of density and gravity."""

    label: str
    air: Air
    gravity_m_s2: float
    density_sd_kg_m3: float
    gravity_sd_m_s2: float
    elevation_m: float

    @property
    def medium(self) -> Medium:
        """What the arrow flies through."""
        return Medium(self.air.density_kg_m3, self.gravity_m_s2)


def conditions_of(place: Place) -> tuple[Conditions, ...]:
    """The cases of a place: one typical, or coldest and warmest. What was left out is the standard's."""
    temperatures = place.temperatures_c or (air.standard_temperature_k(place.elevation_m) - air.ZERO_CELSIUS_K,)
    labels = ("typical",) if len(temperatures) == 1 else ("coldest", "warmest")
    if place.station_pressure_pa is not None:
        pressure = place.station_pressure_pa
    elif place.altimeter_setting_pa is not None:
        pressure = air.station_pressure_pa(place.altimeter_setting_pa, place.elevation_m)
    else:
        pressure = air.standard_pressure_pa(place.elevation_m)
    humidity = DEFAULT_HUMIDITY if place.humidity is None else place.humidity
    latitude = DEFAULT_LATITUDE_DEG if place.latitude_deg is None else place.latitude_deg
    gravity = air.gravity_m_s2(latitude, place.elevation_m)
    gravity_sd = 0.0
    if place.latitude_deg is None:
        gravity_sd = air.gravity_m_s2(latitude + LATITUDE_SD_DEG, place.elevation_m) - gravity
    cases = []
    for label, temperature in zip(labels, temperatures, strict=True):
        state = Air(pressure, temperature, humidity)
        cases.append(Conditions(label, state, gravity, _density_sd(state, place), gravity_sd, place.elevation_m))
    return tuple(cases)


def pressure_sd_of(place: Place) -> float:
    """One standard deviation of the station pressure, as a share of it, [-]."""
    if place.pressure_uncertainty is not None:
        return place.pressure_uncertainty
    given = place.station_pressure_pa is not None or place.altimeter_setting_pa is not None
    return PRESSURE_SD_GIVEN if given else PRESSURE_SD_FROM_ELEVATION


def temperature_sd_c_of(place: Place) -> float:
    """One standard deviation of the temperature, [C]."""
    return TEMPERATURE_SD_C if place.temperature_uncertainty_c is None else place.temperature_uncertainty_c


def _density_sd(state: Air, place: Place) -> float:
    """One standard deviation of the density, [kg/m3]: pressure and temperature, independent of each other."""
    step_pa, step_c = state.pressure_pa * pressure_sd_of(place), temperature_sd_c_of(place)
    density = state.density_kg_m3
    by_pressure = state._replace(pressure_pa=state.pressure_pa + step_pa).density_kg_m3 - density
    by_temperature = state._replace(temperature_c=state.temperature_c + step_c).density_kg_m3 - density
    return hypot(by_pressure, by_temperature)
