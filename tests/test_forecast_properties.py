"""Laws that every forecast keeps, whatever the bow, the arrow and the air: from physics, not from our own figures."""

from math import isclose

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from readiness.conditions import conditions_of
from readiness.forecast import flight_from_home
from readiness.pinshift import pin_forecast
from readiness.trip.load import load_trip

YARD = 0.9144
SPEEDS_M_S = st.floats(60.0, 105.0)
MASSES_KG = st.floats(0.020, 0.040)
DISTANCES_M = st.floats(15 * YARD, 80 * YARD)
ELEVATIONS_M = st.floats(0.0, 4000.0)
TEMPERATURES_C = st.floats(-30.0, 38.0)


def _trip(sample_text, today, speed=84.0, mass=0.0288, home=(190.0, 23.0), place=(2660.0, 0.0)):
    """The first sample's archer with another arrow, from one place to another, each (elevation [m], temperature [C])."""
    trip = load_trip(sample_text(), "trip.yaml", today).trip
    places = [
        where._replace(
            elevation_m=elevation,
            temperatures_c=(temperature,),
            humidity=0.4,
            latitude_deg=45.0,
            station_pressure_pa=None,
            altimeter_setting_pa=None,
        )
        for where, (elevation, temperature) in ((trip.home, home), (trip.destinations[0], place))
    ]
    arrow = trip.arrow._replace(speed_m_s=speed, mass_kg=mass)
    return trip._replace(home=places[0], destinations=(places[1],), arrow=arrow)


def _pin(trip, distance):
    flight = flight_from_home(trip)
    return pin_forecast(flight, flight.aims(distance), conditions_of(trip.destinations[0])[0], None, 0.1, 12)


def _is_answered(pin):
    """Where the arrow runs along the line of sight, as it may near its highest point, no one distance answers."""
    return pin.equivalent_distance_m is not None or pin.distance_m < 25 * YARD


@settings(max_examples=60, deadline=None)
@given(SPEEDS_M_S, MASSES_KG, DISTANCES_M, ELEVATIONS_M, TEMPERATURES_C)
def test_the_air_of_home_shifts_nothing(sample_text, today, speed, mass, distance, elevation, temperature):
    """A place with the air and gravity of home: no shift, no move of the sight, and the pin hits at its own distance."""
    at = (elevation, temperature)
    pin = _pin(_trip(sample_text, today, speed, mass, at, at), distance)
    assert abs(pin.shift_m) < 1e-7
    assert abs(pin.sight_move_m) < 1e-7
    assert _is_answered(pin)
    assert pin.equivalent_distance_m is None or isclose(pin.equivalent_distance_m, distance, abs_tol=1e-4)


@settings(max_examples=60, deadline=None)
@given(SPEEDS_M_S, MASSES_KG, DISTANCES_M, ELEVATIONS_M, st.floats(100.0, 2500.0))
def test_higher_is_thinner_is_high(sample_text, today, speed, mass, distance, low, climb):
    """Less drag and, higher up, a little less gravity: the arrow lands high, by more the farther the target."""
    trip = _trip(sample_text, today, speed, mass, (low, 10.0), (low + climb, 10.0))
    near, far = _pin(trip, distance), _pin(trip, 1.2 * distance)
    assert 0.0 < near.shift_m < far.shift_m
    assert _is_answered(near)
    assert near.equivalent_distance_m is None or near.equivalent_distance_m > distance
    back = _pin(_trip(sample_text, today, speed, mass, (low + climb, 10.0), (low, 10.0)), distance)
    assert back.shift_m < 0.0
    assert isclose(near.shift_m, -back.shift_m, rel_tol=0.1)


@settings(max_examples=60, deadline=None)
@given(SPEEDS_M_S, MASSES_KG, DISTANCES_M, TEMPERATURES_C, st.floats(2.0, 40.0))
def test_colder_is_denser_is_low(sample_text, today, speed, mass, distance, warm, colder):
    """At one elevation colder air is denser air: the arrow lands low."""
    assume(warm - colder > -40.0)
    trip = _trip(sample_text, today, speed, mass, (500.0, warm), (500.0, warm - colder))
    assert _pin(trip, distance).shift_m < 0.0


@settings(max_examples=60, deadline=None)
@given(SPEEDS_M_S, MASSES_KG, DISTANCES_M, ELEVATIONS_M, TEMPERATURES_C)
def test_a_faster_or_heavier_arrow_is_moved_less(sample_text, today, speed, mass, distance, elevation, temperature):
    """Time of flight goes with one over speed, loss of speed with one over mass: so does what the air can do."""
    there = (elevation, temperature)
    usual = _pin(_trip(sample_text, today, speed, mass, place=there), distance)
    assume(abs(usual.because.elevation_m + usual.because.temperature_m) > 1e-4)
    faster = _pin(_trip(sample_text, today, 1.1 * speed, mass, place=there), distance)
    heavier = _pin(_trip(sample_text, today, speed, 1.2 * mass, place=there), distance)
    parts = [pin.because.elevation_m + pin.because.temperature_m for pin in (usual, faster, heavier)]
    assert abs(parts[1]) < abs(parts[0])
    assert abs(parts[2]) < abs(parts[0])


@settings(max_examples=60, deadline=None)
@given(SPEEDS_M_S, DISTANCES_M, ELEVATIONS_M, TEMPERATURES_C)
def test_the_band_holds_the_shift_and_the_causes_sum_to_it(sample_text, today, speed, distance, elevation, temperature):
    """What is doubtful widens the band on both sides; the parts are all of the shift."""
    pin = _pin(_trip(sample_text, today, speed, place=(elevation, temperature)), distance)
    assert pin.shift_low_m < pin.shift_m < pin.shift_high_m
    assert isclose(pin.shift_m - pin.shift_low_m, pin.shift_high_m - pin.shift_m, abs_tol=1e-12)
    assert isclose(sum(pin.because), pin.shift_m, abs_tol=1e-7)
