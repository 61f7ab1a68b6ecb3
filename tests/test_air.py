"""Air and gravity against published tables and independent libraries."""

import ambiance
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from readiness.air import (
    Air,
    density_altitude_m,
    geopotential_m,
    gravity_m_s2,
    moist_air_density_kg_m3,
    standard_pressure_pa,
    standard_temperature_k,
    station_pressure_pa,
)

FOOT, INHG = 0.3048, 3386.389  # 1959 agreement; NIST SP 811, appendix B
R_DRY = 287.05287  # ISO 2533:1975
T0, P0, RHO0 = 288.15, 101325.0, 1.225  # ISO 2533:1975, sea level

elevations = st.floats(-400.0, 6000.0)
pressures = st.floats(60000.0, 110000.0)
temperatures = st.floats(-40.0, 50.0)
humidities = st.floats(0.0, 1.0)


def at_geopotential(height_m):
    """The geometric elevation of a geopotential height: tables for pilots count in the latter (ISO 2533)."""
    return 6356766.0 * height_m / (6356766.0 - height_m)


@pytest.mark.parametrize(
    ("elevation_m", "kelvin", "pascal", "density"),
    [
        (0.0, 288.15, 1.01325e5, 1.225),  # ISO 2533:1975, sea level
        (1000.0, 281.651, 8.98763e4, 1.11166),  # ISO 2533:1975 tables 1-2, Z = 1000 m
        (2000.0, 275.154, 7.95014e4, 1.00655),  # ISO 2533:1975 tables 1-2, Z = 2000 m
    ],
)
def test_standard_air_is_that_of_the_iso_tables(elevation_m, kelvin, pascal, density):
    """Temperature, pressure and density agree with ISO 2533 to the printed digits."""
    assert standard_temperature_k(elevation_m) == pytest.approx(kelvin, abs=5.1e-4)
    assert standard_pressure_pa(elevation_m) == pytest.approx(pascal, abs=0.051)
    ideal = standard_pressure_pa(elevation_m) / (R_DRY * standard_temperature_k(elevation_m))
    assert ideal == pytest.approx(density, abs=5.1e-6)


@pytest.mark.parametrize("elevation_m", range(0, 4001, 250))
def test_standard_air_is_that_of_ambiance(elevation_m):
    """Pressure and temperature agree with the library ambiance to 1e-8."""
    other = ambiance.Atmosphere(float(elevation_m))
    assert standard_temperature_k(elevation_m) == pytest.approx(other.temperature[0], rel=1e-8)
    assert standard_pressure_pa(elevation_m) == pytest.approx(other.pressure[0], rel=1e-8)
    assert geopotential_m(elevation_m) == pytest.approx(other.H[0], abs=1e-6)


@pytest.mark.parametrize(
    ("height_m", "pascal"),
    # ASHRAE Handbook Fundamentals 2017, chapter 1, table 1 (heights are geopotential, to 1 Pa)
    [(500.0, 95461.0), (1000.0, 89875.0), (4000.0, 61640.0)],
)
def test_standard_pressure_is_that_of_the_ashrae_table(height_m, pascal):
    """Pressure agrees with the handbook of heating engineers to its printed digit."""
    assert standard_pressure_pa(at_geopotential(height_m)) == pytest.approx(pascal, abs=0.6)


@pytest.mark.parametrize(
    ("feet", "sigma"),
    # Standard atmosphere in feet, aeronautical data book, tables 3.5 and 3.6: density ratio
    [
        (1000, 0.9711),
        (2000, 0.9428),
        (3000, 0.9151),
        (4000, 0.8881),
        (5000, 0.8617),
        (6000, 0.8359),
        (7000, 0.8106),
        (10000, 0.7385),
    ],
)
def test_density_ratio_is_that_of_the_table_in_feet(feet, sigma):
    """The ratio of densities, and the height that has this density, agree to the four printed digits."""
    elevation = at_geopotential(feet * FOOT)
    ratio = standard_pressure_pa(elevation) / P0 * T0 / standard_temperature_k(elevation)
    assert ratio == pytest.approx(sigma, abs=5.1e-5)
    assert density_altitude_m(sigma * RHO0) == pytest.approx(feet * FOOT, abs=0.7)


def test_pressure_ratio_at_5000_feet_is_that_of_the_table():
    """Aeronautical data book, table 3.5: 0.8320 at 5000 ft."""
    assert standard_pressure_pa(at_geopotential(5000 * FOOT)) / P0 == pytest.approx(0.8320, abs=5.1e-5)


def worst_against_coolprop(celsius):
    """Largest relative difference of our density from CoolProp over pressure and humidity."""
    worst = 0.0
    for t in celsius:
        for p in (65000.0, 75000.0, 85000.0, 95000.0, 103000.0):
            for h in (0.0, 0.25, 0.5, 0.75, 1.0):
                other = 1.0 / HAPropsSI("Vha", "T", t + 273.15, "P", p, "R", h)
                worst = max(worst, abs(moist_air_density_kg_m3(p, t, h) / other - 1.0))
    return worst


def test_density_is_that_of_an_equation_of_state():
    """Within 6e-5 of CoolProp from 0 to 40 C, far outside the range the authors of CIPM-2007 claim."""
    worst = worst_against_coolprop(range(0, 41, 5))
    print(f"worst against CoolProp, 0 to 40 C: {worst:.2e}")
    assert worst < 6e-5


def test_density_in_frost_is_that_of_an_equation_of_state():
    """Within 2e-4 from -20 to 0 C, where CoolProp counts humidity over ice and we over water."""
    worst = worst_against_coolprop(range(-20, 1, 5))
    print(f"worst against CoolProp, -20 to 0 C: {worst:.2e}")
    assert worst < 2e-4


@pytest.mark.parametrize(
    ("celsius", "pascal", "humidity", "density"),
    # CIPM-2007 (Picard and others 2008), evaluated independently in double precision
    [
        (20.0, 101325.0, 0.5, 1.199314),
        (20.0, 101325.0, 0.0, 1.204557),
        (15.0, 101325.0, 0.0, 1.225521),
        (0.0, 101325.0, 0.0, 1.293049),
        (23.0, 100000.0, 0.5, 1.170487),
        (25.0, 84307.3, 0.3, 0.981149),
        (10.0, 75262.4, 0.4, 0.924029),
        (5.0, 70108.5, 0.6, 0.875929),
        (-10.0, 75262.4, 0.8, 0.995760),
        (35.0, 101325.0, 0.9, 1.124221),
        (40.0, 101325.0, 1.0, 1.096554),
    ],
)
def test_density_is_that_of_the_formula_worked_out_apart(celsius, pascal, humidity, density):
    """Every coefficient is right: six decimals agree with a separate evaluation of the formula."""
    assert moist_air_density_kg_m3(pascal, celsius, humidity) == pytest.approx(density, abs=5.1e-7)


def test_density_is_that_of_the_ashrae_example():
    """ASHRAE 2017 chapter 1, example 1: 40 C, RH 0.14, W 0.0065, v 0.896 m3/kg, so density (1 + W)/v."""
    assert moist_air_density_kg_m3(101325.0, 40.0, 0.14) == pytest.approx(1.0065 / 0.896, rel=1e-3)


@pytest.mark.parametrize(
    ("setting_pa", "elevation_m", "station_pa"),
    # The first three are the examples of the MetPy documentation tests, with a term of 0.3 hPa left out here.
    [
        (29.80 * INHG, 500.0, 95096.5),
        (100500.0, 1500.0, 83865.1657),
        (101300.0, 500.0, 95463.9265),
        (30.20 * INHG, 5045 * FOOT, 84977.0),  # example of the FAA form for weather stations on airfields
        (30.46072921 * INHG, 100 * FOOT, 30.36 * INHG),  # example of the NOAA formula, read backwards
        (103560.0, 1066.8, 91182.0),  # example of the Smithsonian form on a pilots' teaching page
    ],
)
def test_station_pressure_is_that_of_published_examples(setting_pa, elevation_m, station_pa):
    """The exact relation is within 0.05 % of every published example, the 0.3 hPa term included."""
    assert station_pressure_pa(setting_pa, elevation_m) == pytest.approx(station_pa, rel=5e-4)


@pytest.mark.parametrize(
    ("feet", "inhg", "pascal"),
    # ISO 2533 relations (the definition of the altimeter setting), heights geopotential, evaluated apart
    [
        (0, 29.42, 99627.6),
        (0, 29.92126, 101325.0),
        (0, 30.42, 103014.0),
        (1000, 29.42, 96068.3),
        (1000, 29.92126, 97716.6),
        (1000, 30.42, 99356.7),
        (5000, 29.42, 82845.0),
        (5000, 29.92126, 84307.3),
        (5000, 30.42, 85762.9),
        (8000, 29.42, 73928.7),
        (8000, 29.92126, 75262.4),
        (8000, 30.42, 76590.4),
        (10000, 29.42, 68428.8),
        (10000, 29.92126, 69681.7),
        (10000, 30.42, 70929.5),
    ],
)
def test_station_pressure_solves_the_altimeter_relation(feet, inhg, pascal):
    """The exact relation agrees to 1e-6; read as a geometric elevation, to 3e-4."""
    assert station_pressure_pa(inhg * INHG, at_geopotential(feet * FOOT)) == pytest.approx(pascal, rel=1e-6)
    assert station_pressure_pa(inhg * INHG, feet * FOOT) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize(
    ("celsius", "humidity", "pascal", "dry_feet", "moist_feet"),
    # ISO 2533 and CIPM-2007, evaluated apart
    [
        (35.0, 0.6, 101325.0, 2275, 2692),
        (-5.0, 0.6, 96331.4, -733, -721),
        (30.0, 0.3, 84307.3, 7801, 7978),
        (30.0, 0.2, 83564.9, 8086, 8203),
        (20.0, 0.3, 75738.2, 10162, 10264),
        (5.0, 0.5, 72428.5, 9912, 9972),
    ],
)
def test_density_altitude_is_that_of_the_standard_relation(celsius, humidity, pascal, dry_feet, moist_feet):
    """Density altitude agrees to the printed foot, for the ideal dry gas and for moist air."""
    dry = pascal / (R_DRY * (celsius + 273.15))
    assert density_altitude_m(dry) / FOOT == pytest.approx(dry_feet, abs=0.6)
    assert Air(pascal, celsius, humidity).density_altitude_m / FOOT == pytest.approx(moist_feet, abs=0.6)


def test_a_hot_field_at_5000_feet_has_a_density_altitude_near_8000_feet():
    """A teaching page of a pilots' association: 5000 ft and 30 C make about 8,000 ft (humidity assumed 30 %)."""
    air = Air(standard_pressure_pa(5000 * FOOT), 30.0, 0.3)
    assert air.density_altitude_m / FOOT == pytest.approx(8000, abs=50)


@pytest.mark.parametrize(
    ("latitude", "height", "gravity"),
    # boule 0.6.0, closed form of normal gravity on and above the WGS 84 ellipsoid
    [
        (0, 0, 9.7803253),
        (0, 2500, 9.7726104),
        (30, 1609.344, 9.7882816),
        (30, 2500, 9.7855351),
        (40, 0, 9.8016969),
        (40, 1609.344, 9.7967323),
        (45, 0, 9.8061978),
        (45, 2500, 9.7984883),
        (50, 1609.344, 9.8057388),
        (60, 2500, 9.8114702),
        (90, 2500, 9.8244810),
    ],
)
def test_gravity_is_normal_gravity(latitude, height, gravity):
    """The second-order form is within 1e-6 m/s2 of the closed form, north and south alike."""
    assert gravity_m_s2(latitude, height) == pytest.approx(gravity, abs=1e-6)
    assert gravity_m_s2(-latitude, height) == gravity_m_s2(latitude, height)


def test_gravity_at_the_pole_is_the_published_value():
    """NIMA TR8350.2: 9.8321849378 m/s2."""
    assert gravity_m_s2(90.0, 0.0) == pytest.approx(9.8321849378, abs=2e-10)


@given(pressures, temperatures, humidities, st.floats(0.01, 20.0))
def test_warmer_air_is_thinner(pressure, celsius, humidity, step):
    """At one pressure and relative humidity, warming takes density away."""
    warm, cold = Air(pressure, celsius + step, humidity), Air(pressure, celsius, humidity)
    assert warm.density_kg_m3 < cold.density_kg_m3
    assert warm.density_altitude_m > cold.density_altitude_m


@given(pressures, temperatures, st.floats(0.0, 0.9), st.floats(0.01, 0.1))
def test_humid_air_is_lighter(pressure, celsius, humidity, step):
    """At one pressure and temperature, water vapour takes density away."""
    assert moist_air_density_kg_m3(pressure, celsius, humidity + step) < moist_air_density_kg_m3(
        pressure, celsius, humidity
    )


@given(elevations, st.floats(1.0, 2000.0))
def test_higher_is_thinner(elevation, climb):
    """In the standard atmosphere, pressure, temperature and density fall with elevation."""
    low, high = (
        Air(standard_pressure_pa(z), standard_temperature_k(z) - 273.15, 0.0) for z in (elevation, elevation + climb)
    )
    assert high.pressure_pa < low.pressure_pa
    assert high.temperature_c < low.temperature_c
    assert high.density_kg_m3 < low.density_kg_m3


@given(elevations)
def test_the_standard_setting_gives_the_standard_pressure(elevation):
    """An altimeter set to 1013.25 hPa reads the standard pressure of the place."""
    assert station_pressure_pa(P0, elevation) == pytest.approx(standard_pressure_pa(elevation), rel=1e-12)


@given(st.floats(0.6, 1.4))
def test_density_altitude_is_where_the_standard_has_this_density(density):
    """Going to the density altitude in the standard atmosphere finds the density again."""
    elevation = at_geopotential(density_altitude_m(density))
    ideal = standard_pressure_pa(elevation) / (R_DRY * standard_temperature_k(elevation))
    assert ideal == pytest.approx(density, rel=1e-6)
