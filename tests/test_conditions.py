"""Places of the trip file as air and gravity: what stands in for what was left out, and one deviation of each."""

from math import hypot, radians, sin

import pytest

from readiness.conditions import conditions_of, pressure_sd_of, temperature_sd_c_of

FOOT, INHG = 0.3048, 3386.389  # 1959 agreement; NIST SP 811, appendix B
LAPSE, T0, RADIUS = 0.0065, 288.15, 6356766.0  # ISO 2533:1975


@pytest.fixture
def a_place(invented):
    """A function: the one destination of the invented trip, 5000 ft up, with keys added."""

    def place_of(**keys):
        kept = {"name": "Marsh hut", "elevation": "5000 ft", **keys}
        return invented(destinations=[kept]).destinations[0]

    return place_of


def ideal_density_sd(case, pressure_share, step_c):
    """Ideal gas: density goes with pressure and with one over the absolute temperature, independent of each other."""
    kelvin = case.air.temperature_c + 273.15
    return case.air.density_kg_m3 * hypot(pressure_share, 1 - kelvin / (kelvin + step_c))


def gravity_1967(degrees):
    """Geodetic Reference System 1967, at sea level; 1e-6 m/s2."""
    return 9.780318 * (1 + 0.0053024 * sin(radians(degrees)) ** 2 - 0.0000059 * sin(radians(2 * degrees)) ** 2)


def test_a_place_of_which_nothing_is_said_has_standard_air(a_place):
    """ISO 2533 by hand: 5000 ft; humidity is 50 % and latitude 45 degrees, as the README says."""
    (case,) = conditions_of(a_place())
    height = RADIUS * 5000 * FOOT / (RADIUS + 5000 * FOOT)
    assert case.label == "typical"
    assert case.air.temperature_c == pytest.approx(T0 - LAPSE * height - 273.15, abs=1e-9)
    assert case.air.pressure_pa == pytest.approx(101325 * (1 - LAPSE * height / T0) ** 5.25588, rel=1e-6)
    assert case.air.relative_humidity == 0.5
    assert case.elevation_m == pytest.approx(5000 * FOOT)
    assert conditions_of(a_place(elevation="2500 m"))[0].gravity_m_s2 == pytest.approx(
        9.7984883, abs=1e-6
    )  # boule 0.6.0
    assert case.medium == (case.air.density_kg_m3, case.gravity_m_s2)


def test_a_range_of_temperatures_gives_the_coldest_and_the_warmest(a_place):
    """Two cases in that order, alike in all but temperature and what follows from it; one value gives one case."""
    cold, warm = conditions_of(a_place(temperature="14 F to 68 F"))
    assert (cold.label, warm.label) == ("coldest", "warmest")
    assert (cold.air.temperature_c, warm.air.temperature_c) == pytest.approx((-10.0, 20.0))
    assert cold.air.pressure_pa == warm.air.pressure_pa
    (only,) = conditions_of(a_place(temperature="68 F"))
    assert only == warm._replace(label="typical")


def test_what_the_trip_file_says_stands_as_it_is(a_place):
    """Station pressure, humidity and latitude."""
    keys = {"elevation": "1609.344 m", "station_pressure": "24.50 inHg", "humidity": "20 %", "latitude": "30 deg"}
    (case,) = conditions_of(a_place(**keys))
    assert case.air.pressure_pa == pytest.approx(24.5 * INHG, rel=1e-6)
    assert case.air.relative_humidity == pytest.approx(0.2)
    assert case.gravity_m_s2 == pytest.approx(9.7882816, abs=1e-6)  # boule 0.6.0
    assert case.gravity_sd_m_s2 == 0.0


def test_no_humidity_and_the_equator_are_not_what_is_left_out(a_place):
    """0 % and 0 degrees are values like others."""
    (case,) = conditions_of(a_place(elevation="2500 m", humidity="0 %", latitude="0 deg"))
    assert case.air.relative_humidity == 0.0
    assert case.gravity_m_s2 == pytest.approx(9.7726104, abs=1e-6)  # boule 0.6.0


def test_an_altimeter_setting_is_taken_down_to_the_station(a_place):
    """29.92126 inHg is the standard atmosphere's own setting: the standard pressure of the place comes back."""
    (standard,), (told,) = conditions_of(a_place()), conditions_of(a_place(altimeter_setting="1013.25 hPa"))
    assert told.air.pressure_pa == pytest.approx(standard.air.pressure_pa, rel=1e-9)


@pytest.mark.parametrize(
    ("keys", "share"),
    [
        ({}, 0.01),
        ({"station_pressure": "24.9 inHg"}, 0.001),
        ({"altimeter_setting": "30.1 inHg"}, 0.001),
        ({"pressure_uncertainty": "0.4 %"}, 0.004),
        ({"station_pressure": "24.9 inHg", "pressure_uncertainty": "0.4 %"}, 0.004),
    ],
)
def test_the_doubt_of_pressure_is_one_per_cent_or_a_tenth_of_one_or_what_is_said(a_place, keys, share):
    """1 % from elevation, 0.1 % where a barometer was read: choices that the README prints."""
    assert pressure_sd_of(a_place(**keys)) == pytest.approx(share, rel=1e-9)


@pytest.mark.parametrize(("keys", "celsius"), [({}, 2.0), ({"temperature_uncertainty": "9 F"}, 5.0)])
def test_the_doubt_of_temperature_is_two_degrees_or_what_is_said(a_place, keys, celsius):
    """2 C: a choice that the README prints."""
    assert temperature_sd_c_of(a_place(**keys)) == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("keys", "share", "step_c"),
    [
        ({}, 0.01, 2.0),
        ({"station_pressure": "24.9 inHg"}, 0.001, 2.0),
        ({"pressure_uncertainty": "0.4 %", "temperature_uncertainty": "9 F"}, 0.004, 5.0),
    ],
)
def test_the_doubt_of_density_is_that_of_the_ideal_gas(a_place, keys, share, step_c):
    """Dry air: the deviations of pressure and temperature, added as squares, within four in a thousand (real air)."""
    (case,) = conditions_of(a_place(humidity="0 %", **keys))
    assert case.density_sd_kg_m3 == pytest.approx(ideal_density_sd(case, share, step_c), rel=4e-3)


def test_a_latitude_that_is_left_out_may_be_three_degrees_off(a_place):
    """The formula of 1967 says what three degrees from 45 on do to gravity; a latitude that is given has no doubt."""
    (case,) = conditions_of(a_place())
    assert case.gravity_sd_m_s2 == pytest.approx(gravity_1967(48) - gravity_1967(45), rel=4e-3)
