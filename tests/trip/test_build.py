"""From checked data to the model: clock positions, SI, order, and what is absent."""

from datetime import date
from math import cos, pi, radians, sin
from pathlib import Path

import pytest
from made_up import BARE_BONES

from readiness.trip.build import clock_direction
from readiness.trip.load import load_trip
from readiness.trip.model import Change

TODAY = date(2027, 6, 1)
HERE = Path(__file__).parent
EVERY_KEY = (HERE / "every-key.yaml").read_text(encoding="utf-8")
# SI by definition of the inch, yard, pound and ounce; worked out by hand.
INCH, YARD, POUND, GRAIN = 0.0254, 0.9144, 0.45359237, 6.479891e-5


def trip_of(text, *changes):
    """The trip of a text with pieces exchanged."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    loaded = load_trip(text, "trip.yaml", TODAY)
    assert loaded.trip is not None, loaded.problems
    return loaded.trip


@pytest.fixture(scope="module")
def every():
    """The trip with every key."""
    return trip_of(EVERY_KEY)


@pytest.fixture(scope="module")
def least():
    """The trip with the required keys only."""
    return trip_of(BARE_BONES)


def test_a_clock_position_is_the_direction_of_an_hour_hand(every):
    """7:15 at 0.6 in is 0.37 in left and 0.48 in low: the format's own example."""
    bare = every.reference.bare_shaft
    assert bare.clock == "7:15"
    assert round(bare.right_m / INCH, 2) == -0.37
    assert round(bare.up_m / INCH, 2) == -0.48
    assert bare.offset_m == pytest.approx(0.6 * INCH)


@pytest.mark.parametrize(
    ("clock", "right", "up"),
    [
        *(("12:00", 0, 1), ("3:00", 1, 0), ("6:00", 0, -1), ("9:00", -1, 0), ("1:30", 0.5**0.5, 0.5**0.5)),
        *(
            ("12:30", sin(pi / 12), cos(pi / 12)),
            ("10:00", -(0.75**0.5), 0.5),
            ("11:59", -sin(pi / 360), cos(pi / 360)),
        ),
    ],
)
def test_every_quarter_of_the_clock_points_its_way(clock, right, up):
    """Twelve is up, three is right; half past twelve is 15 degrees on, and one minute is half a degree."""
    assert clock_direction(clock) == pytest.approx((right, up), abs=1e-12)


@pytest.mark.parametrize("clock", ["7:15", '"7:15"', "'7:15'"])
def test_a_clock_position_is_read_quoted_or_not(clock):
    """YAML 1.1 would make 435 of it."""
    trip = trip_of(EVERY_KEY, ('clock: "7:15"', f"clock: {clock}"))
    angle = radians(7 * 30 + 7.5)
    assert trip.reference.bare_shaft.right_m == pytest.approx(0.6 * INCH * sin(angle))


def test_what_the_file_leaves_out_is_absent_from_the_model(least):
    """None or empty, never a guess."""
    assert least.home[2:] == ((), None, None, None, None, None, None, None)
    assert least.destinations[0].temperatures_c == ()
    assert (least.bow.let_off, least.bow.brace_height_m, least.bow.axle_to_axle_m) == (None, None, None)
    assert (least.bow.sight.marks, least.bow.sight.mark_uncertainty_m) == ((), None)
    assert least.arrow[4:] == (None, None, None, None, (), None, None)
    assert least.heads[0][3:] == (None, None, None)
    assert least.reference == (None, None, (), (), (), ())
    assert (least.nearest_shop_s, least.hunter_name, least.hunter_id, least.hand) == (None, None, None, None)
    assert (least.changes, least.declared, least.requirements) == ((), (), ())
    assert (least.airline_mass_kg, least.airline_linear_size_m) == (None, None)
    assert not least.gear


@pytest.mark.parametrize(("line", "hazards"), [("", None), ("hazards: [], ", ()), ("hazards: [riding], ", ("riding",))])
def test_no_word_about_hazards_is_not_the_same_as_none(line, hazards):
    """None shows every caution; an empty list is the archer's word that none applies."""
    assert trip_of(BARE_BONES, ("travel: road", f"{line}travel: road")).hazards == hazards


def test_pins_are_sorted_and_each_is_kept_once():
    """However they are listed."""
    trip = trip_of(BARE_BONES, ("[20 yd]", "[40 yd, 20 yd, 40 yd, 30 yd]"))
    assert trip.bow.sight.pins_m == pytest.approx((20 * YARD, 30 * YARD, 40 * YARD))


def test_a_pin_listed_in_two_units_is_kept_once():
    """Twenty yards are sixty feet."""
    assert len(trip_of(BARE_BONES, ("[20 yd]", "[20 yd, 60 ft]")).bow.sight.pins_m) == 1


def test_marks_stand_in_for_pins_that_are_not_listed():
    """A slider is set for what its scale was shot at; listed pins come first."""
    marks = "marks: [{distance: 50 m, reading: 9 mm}, {distance: 20 m, reading: 1 mm}, {distance: 30 m, reading: 4 mm}]"
    trip = trip_of(BARE_BONES, ("pins: [20 yd]", marks))
    assert trip.bow.sight.pins_m == (20.0, 30.0, 50.0)
    assert [m.distance_m for m in trip.bow.sight.marks] == [20.0, 30.0, 50.0]
    assert [m.reading_m for m in trip.bow.sight.marks] == pytest.approx([0.001, 0.004, 0.009])
    assert trip.units == "metric"
    both = trip_of(BARE_BONES, ("pins: [20 yd]", f"pins: [25 m], {marks}"))
    assert both.bow.sight.pins_m == (25.0,)


@pytest.mark.parametrize(("pin", "units"), [("20 yd", "imperial"), ("60 ft", "imperial"), ("20 m", "metric")])
def test_the_first_pin_says_in_which_units_the_archer_thinks(pin, units):
    """The pages follow it."""
    assert trip_of(BARE_BONES, ("[20 yd]", f"[{pin}]")).units == units


def test_readings_and_groups_are_in_order_of_distance():
    """However they are listed."""
    text = EVERY_KEY.replace("[{distance: 3 yd, speed: 275 fps}, {distance: 40 yd, speed: 261 fps}]", "@")
    swapped = "[{distance: 40 yd, speed: 261 fps}, {distance: 3 yd, speed: 275 fps}]"
    trip = trip_of(text, ("@", swapped), ("{distance: 20 yd, arrows: 10,", "{distance: 60 yd, arrows: 10,"))
    assert [r.distance_m for r in trip.arrow.speed_readings] == pytest.approx([3 * YARD, 40 * YARD])
    assert [g.distance_m for g in trip.reference.groups] == pytest.approx([30 * YARD, 40 * YARD, 60 * YARD])


def test_a_group_names_its_measure_and_its_middle_only_if_given(every):
    """One of three measures; right and up of the middle."""
    found = [(g.measure, g.size_m / INCH, g.right_m, g.up_m) for g in every.reference.groups]
    assert [f[0] for f in found] == ["extreme_spread", "mean_radius", "vertical_sd"]
    assert [f[1] for f in found] == pytest.approx([2.1, 1.2, 1.3])
    assert found[0][2:] == pytest.approx((0.1 * INCH, 0.0))
    assert found[1][2:] == (None, None)


def test_temperatures_are_none_one_or_coldest_and_warmest(every, least):
    """22 F is -5.56 C and 61 F is 16.11 C."""
    assert every.home.temperatures_c == pytest.approx(((74 - 32) / 1.8,))
    assert every.destinations[0].temperatures_c == pytest.approx(((22 - 32) / 1.8, (61 - 32) / 1.8))
    assert least.home.temperatures_c == ()
    once = trip_of(BARE_BONES, ("elevation: 8750 ft", "elevation: 8750 ft, temperature: 40 F to 40 F"))
    assert once.destinations[0].temperatures_c == pytest.approx((8 / 1.8,))


def test_places_are_in_si(every):
    """Metres, pascals, kelvins of difference, parts of one, degrees."""
    home, camp, spike = every.home, *every.destinations
    assert home.elevation_m == pytest.approx(188.976)
    assert home.station_pressure_pa == pytest.approx(29.31 * 3386.389)
    assert (home.humidity, home.temperature_uncertainty_c, home.pressure_uncertainty) == pytest.approx((0.55, 2, 0.002))
    assert home.latitude_deg == pytest.approx(41.2)
    assert camp.altimeter_setting_pa == pytest.approx(30.10 * 3386.389)
    assert camp.temperature_uncertainty_c == pytest.approx(4 / 1.8)
    assert camp.sleeping_elevation_m == pytest.approx(2804.16)
    assert spike.station_pressure_pa == pytest.approx(20.2 * 3386.389)
    assert every.nearest_shop_s == pytest.approx(18000)


def test_gear_is_in_si_and_counts_one_where_no_count_is_given(every):
    """Masses in kilograms; the size stays as it was written."""
    release, bank, case = every.gear
    assert (release.item, release.how_many, release.bag, release.mass_kg) == ("release aid", 2, "body", None)
    assert (bank.how_many, bank.volts, bank.amp_hours) == (1, 3.7, 20)
    assert case.mass_kg == pytest.approx(41 * POUND)
    assert case.size == "44 in x 18 in x 8 in"


def test_the_airlines_limits_are_in_si(every):
    """Kilograms and metres."""
    assert every.airline_mass_kg == pytest.approx(50 * POUND)
    assert every.airline_linear_size_m == pytest.approx(80 * INCH)


def test_a_requirement_keeps_its_words_its_source_and_its_day(every):
    """The edition is text even where a year was written."""
    assert every.requirements == (
        (
            "draw weight",
            "at least 50 lb",
            "regulation booklet, page 12",
            date(2027, 5, 2),
            "2027",
            "North unit",
            "elk",
        ),
    )
    assert dict(every.declared)["sight magnification"] == 1


def test_heads_and_references_are_in_si(every):
    """Metres and kilograms; which head is meant for game."""
    assert [head.name for head in every.hunting_heads] == ["wide head"]
    assert [head.name for head in every.field_points] == ["practice point"]
    wide, landed, first = every.hunting_heads[0], every.reference.broadheads[0], every.reference.cold_first[0]
    assert (wide.mass_kg, wide.cutting_width_m) == pytest.approx((125 * GRAIN, 1.5 * INCH))
    assert (wide.cutting_width_closed_m, wide.blades) == (pytest.approx(0.75 * INCH), 2)
    assert landed[1:4] == pytest.approx((40 * YARD, 0.3 * INCH, -0.5 * INCH))
    assert first == pytest.approx((40 * YARD, 0.4 * INCH, -1.1 * INCH))


def test_the_archers_own_marks_and_changes_are_kept_in_order(every):
    """As text, also the numbers among them."""
    assert every.reference.marks == (("nock_height", "1/8 in"), ("sight_scale", "42.5"), ("notches", "7"))
    assert every.changes == (Change("string and cables", date(2027, 4, 30)),)
