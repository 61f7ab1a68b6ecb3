"""The air an arrow flies through: standard atmosphere, station pressure, moist density; and gravity.

Everything is SI, nothing is printed, nothing is read. The order below is the order of use: what the
standard atmosphere says for an elevation, what a barometer says, the density that follows, and gravity.

Sources
-------
[1] ISO 2533:1975, Standard Atmosphere (0 to 11 km layer).
[2] A. Picard, R. S. Davis, M. Glaeser, K. Fujii, Revised formula for the density of moist air
    (CIPM-2007), Metrologia 45 (2008) 149-155, doi 10.1088/0026-1394/45/2/004.
[3] NIMA TR8350.2, World Geodetic System 1984, chapter 4 (normal gravity).
"""

from __future__ import annotations

from math import exp, radians, sin, sqrt
from typing import NamedTuple

ZERO_CELSIUS_K = 273.15
STANDARD_GRAVITY_M_S2 = 9.80665
STANDARD_TEMPERATURE_K = 288.15  # [1], sea level
STANDARD_PRESSURE_PA = 101325.0  # [1], sea level
STANDARD_DENSITY_KG_M3 = 1.225  # [1], sea level
LAPSE_K_M = 0.0065  # [1], to 11 km
GAS_CONSTANT_DRY_AIR = 287.05287  # [1], J/(kg K)
EARTH_RADIUS_M = 6_356_766.0  # [1], for geopotential height

_PRESSURE_EXPONENT = STANDARD_GRAVITY_M_S2 / (GAS_CONSTANT_DRY_AIR * LAPSE_K_M)  # 5.25588
_DENSITY_EXPONENT = _PRESSURE_EXPONENT - 1.0


class Air(NamedTuple):
    """The state of the air at one place and time.

    pressure_pa is station pressure (what a barometer shows there, not corrected to sea level);
    relative_humidity is 0 to 1, over liquid water.
    """

    pressure_pa: float
    temperature_c: float
    relative_humidity: float

    @property
    def density_kg_m3(self) -> float:
        """Density of this air, [kg/m3]."""
        return moist_air_density_kg_m3(self.pressure_pa, self.temperature_c, self.relative_humidity)

    @property
    def density_altitude_m(self) -> float:
        """Height in the standard atmosphere at which air is this dense, [m]."""
        return density_altitude_m(self.density_kg_m3)


def geopotential_m(elevation_m: float) -> float:
    """Geopotential height of an elevation.

    The standard atmosphere is defined over geopotential height; maps and GPS give geometric elevation.

    Parameters
    ----------
    elevation_m : geometric elevation, [m], -500 to 11000

    Returns
    -------
    geopotential height, [m]. Source [1].

    Examples
    --------
    >>> geopotential_m(2000.0)
    1999.37

    """
    return EARTH_RADIUS_M * elevation_m / (EARTH_RADIUS_M + elevation_m)


def standard_temperature_k(elevation_m: float) -> float:
    """Temperature of the standard atmosphere, linear to 11 km.

    Parameters
    ----------
    elevation_m : geometric elevation, [m], -500 to 11000

    Returns
    -------
    temperature, [K]. Source [1].

    Examples
    --------
    >>> standard_temperature_k(1000.0)  # ISO 2533 table: 281.651
    281.651

    """
    return STANDARD_TEMPERATURE_K - LAPSE_K_M * geopotential_m(elevation_m)


def standard_pressure_pa(elevation_m: float) -> float:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    elevation_m : geometric elevation, [m], -500 to 11000

    Returns
    -------
    pressure, [Pa]. Source [1].

    Examples
    --------
    >>> standard_pressure_pa(1000.0)  # ISO 2533 table: 8.98763e4
    89876.

    """
    ratio = standard_temperature_k(elevation_m) / STANDARD_TEMPERATURE_K
    return STANDARD_PRESSURE_PA * float(ratio**_PRESSURE_EXPONENT)


def station_pressure_pa(altimeter_setting_pa: float, elevation_m: float) -> float:
    """Station pressure from an altimeter setting, by the exact relation of the standard atmosphere.

    Solves Q = p0 [(p/p0)^n + L H/T0]^(1/n) with n = R L/g0 for p. This is the definition of the
    altimeter setting; it leaves out the 0.3 hPa instrument term of some weather services, which
    changes the result by 0.03 %.

    Parameters
    ----------
    altimeter_setting_pa : altimeter setting (QNH), [Pa], 85000 to 110000
    elevation_m : geometric elevation of the barometer, [m], -500 to 6000

    Returns
    -------
    station pressure, [Pa]

    Examples
    --------
    >>> station_pressure_pa(101325.0, 1000.0)
    89876.

    """
    n = 1.0 / _PRESSURE_EXPONENT
    ratio = (altimeter_setting_pa / STANDARD_PRESSURE_PA) ** n
    ratio -= LAPSE_K_M * geopotential_m(elevation_m) / STANDARD_TEMPERATURE_K
    return STANDARD_PRESSURE_PA * float(ratio**_PRESSURE_EXPONENT)


def moist_air_density_kg_m3(pressure_pa: float, temperature_c: float, relative_humidity: float) -> float:
    """Density of moist air by CIPM-2007, with 400 ppm of carbon dioxide.

    The authors claim the formula for 600 to 1100 hPa and 15 to 27 C; it is used here outside that range
    because it stays within 2e-4 of an independent equation of state over -20..40 C and 650..1030 hPa
    (tests/test_air.py), far below anything an arrow can show.

    Parameters
    ----------
    pressure_pa : station pressure, [Pa], 60000 to 110000
    temperature_c : air temperature, [C], -40 to 50
    relative_humidity : over liquid water at every temperature, [-], 0 to 1

    Returns
    -------
    density, [kg/m3]. Source [2].

    Examples
    --------
    >>> moist_air_density_kg_m3(101325.0, 20.0, 0.0)  # independent equation of state: 1.20460
    1.2046

    """
    t, p = temperature_c, pressure_pa
    kelvin = t + ZERO_CELSIUS_K
    saturation = exp(1.2378847e-5 * kelvin * kelvin - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin)
    enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t
    xv = relative_humidity * enhancement * saturation / p  # mole fraction of water vapour
    p_t = p / kelvin
    compressibility = (
        1.0
        - p_t
        * (
            1.58123e-6
            - 2.9331e-8 * t
            + 1.1043e-10 * t * t
            + (5.707e-6 - 2.051e-8 * t) * xv
            + (1.9898e-4 - 2.376e-6 * t) * xv * xv
        )
        + p_t * p_t * (1.83e-11 - 0.765e-8 * xv * xv)
    )
    dry_molar_mass, vapour_molar_mass = 28.96546e-3, 18.01528e-3
    dry = p * dry_molar_mass / (compressibility * 8.314472 * kelvin)
    return dry * (1.0 - xv * (1.0 - vapour_molar_mass / dry_molar_mass))


def density_altitude_m(density_kg_m3: float) -> float:
    """Height in the standard atmosphere at which air has a given density.

    Parameters
    ----------
    density_kg_m3 : air density, [kg/m3], 0.4 to 1.6

    Returns
    -------
    density altitude (geopotential), [m]; negative for air denser than the sea-level standard. Source [1].

    Examples
    --------
    >>> density_altitude_m(1.225)
    0.0

    """
    ratio = density_kg_m3 / STANDARD_DENSITY_KG_M3
    return STANDARD_TEMPERATURE_K / LAPSE_K_M * (1.0 - float(ratio ** (1.0 / _DENSITY_EXPONENT)))


def gravity_m_s2(latitude_deg: float, elevation_m: float) -> float:
    """WGS 84 normal gravity with the second-order free-air term.

    Parameters
    ----------
    latitude_deg : geodetic latitude, [deg], -90 to 90
    elevation_m : height, [m], -500 to 11000

    Returns
    -------
    gravity, [m/s2]. Source [3].

    Examples
    --------
    >>> gravity_m_s2(90.0, 0.0)  # published polar value: 9.8321849378
    9.8321849

    """
    sin2 = sin(radians(latitude_deg)) ** 2
    surface = 9.7803253359 * (1.0 + 0.00193185265241 * sin2) / sqrt(1.0 - 0.00669437999013 * sin2)
    a, f, m = 6_378_137.0, 1.0 / 298.257223563, 0.00344978650684
    h = elevation_m
    return surface * (1.0 - 2.0 / a * (1.0 + f + m - 2.0 * f * sin2) * h + 3.0 * h * h / (a * a))
