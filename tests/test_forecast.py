"""The forecast of a whole trip: band, causes, advice, limits."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from readiness import air
from readiness.flight import drag_constant_per_m, fly
from readiness.forecast import Limit, _shortest, forecast
from readiness.pinshift import advice_for
from readiness.sighting import Medium, Shooter, aim_slope
from readiness.trip.load import load_trip

SAMPLE = (Path(__file__).parent.parent / "sample_trips" / "high-basin.yaml").read_text(encoding="utf-8")
YARD, FOOT, INCH, GRAIN = 0.9144, 0.3048, 0.0254, 64.79891e-6
MASS, DIAMETER, PEEP, RADIUS = 445 * GRAIN, 0.232 * INCH, 4.3 * INCH, 34 * INCH
ZONE = 4 * INCH
PINS = [20, 30, 40, 50, 60]
HOME = "  temperature: 74 F\n  humidity: 55 %\n  latitude: 38.5 deg\n"
CAMP = "    temperature: 22 F to 61 F\n    humidity: 40 %\n    latitude: 43.5 deg\n"
GROUPS = SAMPLE[SAMPLE.index("  groups:") : SAMPLE.index("  marks:")]


def trip_with(*changes):
    """The sample trip with pieces of its text exchanged."""
    text = SAMPLE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    loaded = load_trip(text, "trip.yaml", date(2027, 9, 1))
    assert loaded.trip is not None, loaded.problems
    return loaded.trip


def pins_of(trip, place=0, case=0):
    """The pins of one case."""
    return forecast(trip).destinations[place].cases[case].pins


def simulated_shifts(yards, home, there, means, covariance, draws=6000):
    """Shifts of arrows whose air, place, speed and drag are drawn from their doubt: numpy, seeded.

    home and there: mean and deviation of pressure, temperature and latitude, and the humidity and elevation.
    Every arrow is judged by the aim that its own bow was set to at home.
    """
    rng = np.random.default_rng(1000 + yards)

    def media(place):
        pressure = rng.normal(place["p"], place["p"] * place["p_share"], draws)
        celsius = rng.normal(place["t"], place["t_sd"], draws)
        latitude = rng.normal(place["lat"], place["lat_sd"], draws)
        return [
            Medium(air.moist_air_density_kg_m3(p, t, place["rh"]), air.gravity_m_s2(lat, place["z"]))
            for p, t, lat in zip(pressure, celsius, latitude, strict=True)
        ]

    arrows = rng.multivariate_normal(means, covariance, draws).tolist()
    shifts = []
    for (speed, drag), here, away in zip(arrows, media(home), media(there), strict=True):
        slope = aim_slope(Shooter(speed, drag, DIAMETER, MASS, PEEP), here, yards * YARD)
        k = drag_constant_per_m(drag, DIAMETER, MASS, away.density_kg_m3)
        shifts.append(fly(speed, slope, yards * YARD, k, away.gravity_m_s2).height_m - PEEP)
    return np.array(shifts)


def place(feet, celsius, humidity, latitude=45.0, **doubt):
    """A place with the doubts that stand in when the trip file gives none of its own."""
    z = feet * FOOT
    standard = {"p": air.standard_pressure_pa(z), "p_share": 0.01, "t_sd": 2.0, "lat_sd": 0.0}
    return standard | {"t": celsius, "rh": humidity, "lat": latitude, "z": z} | doubt


def agrees(pin, shifts):
    """Whether 95 % of simulated shifts lie in the band, and the band is as wide as they scatter."""
    share = np.mean((shifts > pin.shift_low_m) & (shifts < pin.shift_high_m))
    width = (pin.shift_high_m - pin.shift_low_m) / (2 * 1.959964 * shifts.std())
    print(f"{share:.4f} inside, width {width:.3f}, middle off by {(pin.shift_m - shifts.mean()) / shifts.std():.3f} sd")
    return 0.93 < share < 0.97 and abs(width - 1) < 0.04 and abs(pin.shift_m - shifts.mean()) < 0.1 * shifts.std()


RIVER = place(620, (74 - 32) / 1.8, 0.55, 38.5)
SURE_DRAG = ("  length: 28.5 in", "  drag_coefficient: 1.95\n  drag_uncertainty: 0.03\n  length: 28.5 in")
CASES = [
    # changes to the trip; deviation of the drag; which destination and case; home and there as drawn
    ((), 0.325, 0, 0, RIVER, place(8750, (22 - 32) / 1.8, 0.40, 43.5)),
    ((SURE_DRAG,), 0.03, 1, 1, RIVER, place(10600, (52 - 32) / 1.8, 0.35, 43.5)),
    (
        (SURE_DRAG, (CAMP, "    temperature: 40 F\n    station_pressure: 21.6 inHg\n")),
        0.03,
        0,
        0,
        RIVER,
        place(8750, 40 / 9, 0.5, p=21.6 * 3386.389, p_share=0.001, lat_sd=3.0),
    ),
    (
        (SURE_DRAG, (HOME, "  temperature: 74 F\n  temperature_uncertainty: 6 C\n")),
        0.03,
        0,
        1,
        place(620, (74 - 32) / 1.8, 0.5, t_sd=6.0, lat_sd=3.0),
        place(8750, (61 - 32) / 1.8, 0.40, 43.5),
    ),
]


@pytest.mark.parametrize(("changes", "drag_sd", "where", "case", "home", "there"), CASES)
@pytest.mark.parametrize("yards", [20, 40, 60])
def test_the_band_holds_19_in_20_of_simulated_shifts(changes, drag_sd, where, case, home, there, yards):
    """Draws of pressure, temperature, latitude, speed and drag fall inside 93 to 97 % of the time."""
    pin = pins_of(trip_with(*changes), where, case)[PINS.index(yards)]
    covariance = ((4 * FOOT**2, 0.0), (0.0, drag_sd**2))
    assert agrees(pin, simulated_shifts(yards, home, there, (276 * FOOT, 1.95), covariance))


def test_the_band_counts_that_sight_marks_tie_speed_to_drag():
    """In air that is known exactly, draws of tied speed and drag scatter as the band says."""
    exact = "    temperature_uncertainty: 0.1 C\n    pressure_uncertainty: 0.01 %\n"
    readings = ((20, 16.3), (40, 25.1), (60, 36.0), (80, 47.6))
    marks = ", ".join(f"{{distance: {yards} yd, reading: {mm} mm}}" for yards, mm in readings)
    trip = trip_with(
        ("pins: [20 yd, 30 yd, 40 yd, 50 yd, 60 yd]", f"pins: [40 yd, 60 yd]\n    marks: [{marks}]"),
        ("speed_uncertainty: 2 fps", "speed_uncertainty: 12 fps"),
        (HOME, HOME + exact.replace("    ", "  ")),
        (CAMP, CAMP + exact),
    )
    known, sure = forecast(trip).arrow.ballistics, {"t_sd": 0.1, "p_share": 1e-4}
    assert known.correlation > 0.6
    covariance = [[known.speed_variance, known.covariance], [known.covariance, known.drag_variance]]
    there = place(8750, (22 - 32) / 1.8, 0.40, 43.5, **sure)
    means = (known.speed_m_s, known.drag_coefficient)
    assert agrees(pins_of(trip)[-1], simulated_shifts(60, RIVER | sure, there, means, covariance))


@pytest.mark.parametrize(("where", "case"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_the_causes_sum_to_the_shift(where, case):
    """Elevation, temperature, humidity, pressure and gravity make up the shift to a nanometre."""
    for pin in pins_of(trip_with(), where, case):
        assert sum(pin.because) == pytest.approx(pin.shift_m, abs=1e-9)


def test_only_a_climb_is_put_down_to_elevation():
    """Where nothing but elevations are given, all but gravity is elevation's."""
    trip = trip_with((HOME, "  latitude: 40 deg\n"), (CAMP, "    latitude: 40 deg\n"))
    for pin in pins_of(trip):
        assert pin.because.elevation_m > 5e-4
        others = (pin.because.temperature_m, pin.because.humidity_m, pin.because.pressure_m)
        assert others == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
        # Drop g X^2/(2 v^2); gravity falls by 3.086e-6 m/s2 for each metre climbed (textbooks, free air)
        hand = 3.086e-6 * 8130 * FOOT * pin.distance_m**2 / (2 * (276 * FOOT) ** 2)
        assert pin.because.gravity_m == pytest.approx(hand, rel=0.1)


def test_a_colder_day_at_home_is_put_down_to_temperature():
    """No climb, same latitude and humidity: all is temperature's, and cold lands low."""
    cold = CAMP.replace("22 F to 61 F", "22 F").replace("40 %", "55 %").replace("43.5", "38.5")
    trip = trip_with(("elevation: 8750 ft", "elevation: 620 ft"), (CAMP, cold))
    for pin in pins_of(trip):
        assert pin.because.temperature_m == pytest.approx(pin.shift_m, abs=1e-9)
        assert pin.shift_m < -1e-4


def test_damp_air_and_a_low_barometer_are_put_down_to_their_own_causes():
    """The same place on a damp day of low pressure: humidity and pressure each lift the impact."""
    damp = "    temperature: 74 F\n    humidity: 100 %\n    station_pressure: 28.3 inHg\n    latitude: 38.5 deg\n"
    because = pins_of(trip_with(("elevation: 8750 ft", "elevation: 620 ft"), (CAMP, damp)))[-1].because
    assert because.humidity_m > 1e-4
    assert because.pressure_m > 1e-3
    assert (because.elevation_m, because.temperature_m, because.gravity_m) == pytest.approx((0, 0, 0), abs=1e-9)


@pytest.mark.parametrize(("where", "case"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_the_shift_is_near_the_hand_check(where, case):
    """First order, derived: shift is about g X^3 (k_home - k_there)/(3 v0^2), within 12 %."""
    found = forecast(trip_with())
    there = found.destinations[where].cases[case]
    for pin in there.pins:
        k_home, k_there = (
            c.air.density_kg_m3 * 1.95 * np.pi * DIAMETER**2 / (8 * MASS) for c in (found.home, there.conditions)
        )
        hand = 9.8 * pin.distance_m**3 * (k_home - k_there) / (3 * (276 * FOOT) ** 2)
        assert pin.shift_m - pin.because.gravity_m == pytest.approx(hand, rel=0.12)


def test_one_foot_per_second_counts_as_the_drop_says():
    """The drop g X^2/(2 v^2) shrinks by 2/v for each foot per second more, and a little more with drag."""
    for pin in pins_of(trip_with()):
        hand = 9.8 * pin.distance_m**2 / (276 * FOOT) ** 3 * FOOT
        assert pin.m_per_fps == pytest.approx(hand, rel=0.1)


def test_the_sight_moves_by_similar_triangles_towards_the_shift():
    """Shift times sight radius over distance, up for a high impact."""
    for pin in pins_of(trip_with()):
        assert pin.sight_move_m == pytest.approx(pin.shift_m * RADIUS / pin.distance_m)
        assert (pin.equivalent_distance_m > pin.distance_m) == (pin.shift_m > 0)


def test_shares_in_the_zone_are_those_of_the_rice_distribution():
    """scipy.stats.rice with the sigma of the recorded groups, centred at home and shifted there."""
    # Simulated extreme spread of 10 arrows is 3.8117 sigma; mean radius of 6 about their middle is 1.144114.
    sigmas = {20: 2.1 / 3.8117 * INCH, 40: 4.6 / 3.8117 * INCH, 60: 2.6 / 1.144114 * INCH}
    for pin in pins_of(trip_with()):
        sigma = sigmas.get(round(pin.distance_m / YARD))
        if sigma:
            assert pin.sigma_m == pytest.approx(sigma, rel=1e-5)
            assert pin.in_zone_home == pytest.approx(stats.rayleigh.cdf(ZONE, scale=sigma), abs=1e-5)
            there = stats.rice.cdf(ZONE / sigma, abs(pin.shift_m) / sigma)
            assert pin.in_zone_there == pytest.approx(there, abs=1e-5)


# sigma 50 mm, zone of 100 mm radius: 86.5 % inside when centred (Rayleigh), 1 % less from 14 mm of shift on.
ADVICE = [
    ("leave", (0.005, 0.015), 0.010, 0.050, 12),  # 199 arrows to see 10 mm at 50 mm
    ("leave", (-0.11, -0.08), -0.095, 0.050, 4),  # four arrows do not show it
    ("leave", (0.005, 0.009), 0.007, 0.004, 12),  # seen with ease, but no arrow in a hundred is lost
    ("confirm", (0.000, 0.140), 0.070, 0.050, 12),  # seen, costly if it is true, and it may be nothing
    ("confirm", (-0.02, 0.160), 0.070, 0.050, 12),
    ("confirm", (0.008, 0.132), 0.070, 0.050, 12),  # at the near end under one in a hundred
    ("move", (0.050, 0.090), 0.070, 0.050, 12),
    ("move", (-0.09, -0.05), -0.070, 0.050, 12),  # low counts like high
    ("cannot tell", (0.050, 0.090), 0.070, None, 12),
]


def seen(arrows, ratio):
    """Whether a t test of this many arrows sees a shift in sigmas four times in five: scipy's non-central t."""
    critical, off = stats.t.ppf(0.975, arrows - 1), abs(ratio) * arrows**0.5
    return stats.nct.sf(critical, arrows - 1, off) + stats.nct.cdf(-critical, arrows - 1, off) >= 0.8


@pytest.mark.parametrize(("advice", "band", "shift", "sigma", "arrows"), ADVICE)
def test_advice_follows_what_can_be_seen_and_what_it_costs(advice, band, shift, sigma, arrows):
    """leave, confirm, move or cannot tell; scipy says what can be seen and what the ends of the band cost."""
    assert advice_for(band, shift, sigma, 0.1, arrows)[0] == advice
    if sigma:
        nearest = 0.0 if band[0] <= 0.0 <= band[1] else min(map(abs, band))
        centred = stats.rayleigh.cdf(0.1 / sigma)
        least, most = (
            centred - stats.rice.cdf(0.1 / sigma, end / sigma + 1e-12) for end in (nearest, max(map(abs, band)))
        )
        worth_it = seen(arrows, shift / sigma) and most >= 0.01
        assert advice == ("leave" if not worth_it else "move" if least >= 0.01 else "confirm")


def test_more_arrows_at_camp_never_turn_advice_to_leave():
    """What can be seen with few arrows can be seen with many."""
    advice = set()
    for pin in pins_of(trip_with(), case=1):
        band = (pin.shift_low_m, pin.shift_high_m)
        few, many = (advice_for(band, pin.shift_m, pin.sigma_m, ZONE, arrows)[0] for arrows in (12, 200))
        assert few in ("leave", many)
        advice |= {few, many}
    assert advice - {"leave"}


def test_beyond_the_farthest_group_nothing_can_be_told():
    """A pin farther than any recorded group has a shift but neither spread nor advice."""
    pin = pins_of(trip_with(("60 yd]", "60 yd, 70 yd]")))[-1]
    assert pin.distance_m == pytest.approx(70 * YARD)
    assert pin.shift_m > 0.0
    assert (pin.sigma_m, pin.in_zone_home, pin.in_zone_there, pin.arrows_to_see) == (None, None, None, None)
    assert pin.advice == "cannot tell"


def test_without_groups_there_is_no_spread_no_share_and_no_limit():
    """The shift is told all the same."""
    found = forecast(trip_with((GROUPS, "")))
    assert (found.limit_home_m, found.limit_there_m, found.spreads) == (None, None, ())
    for pin in found.destinations[0].cases[1].pins:
        assert (pin.sigma_m, pin.in_zone_home, pin.in_zone_there) == (None, None, None)
        assert pin.advice == "cannot tell"
        assert pin.shift_m > 0.0


@pytest.mark.parametrize(
    ("size_40", "size_60", "limit_yards"),
    # Nine in ten in 4 in needs sigma under 4/2.1459660 in (Rayleigh): a spread of ten of 7.10 in, a radius of six of 2.13 in
    [("4.6 in", "2.6 in", 40), ("7.0 in", "2.6 in", 40), ("7.2 in", "2.6 in", 20), ("4.6 in", "2.0 in", 60)],
)
def test_the_limit_at_home_is_the_farthest_group_with_nine_in_ten(size_40, size_60, limit_yards):
    """The limit is the longest recorded distance at which nine arrows in ten land in the zone."""
    found = forecast(trip_with(("4.6 in, right", f"{size_40}, right"), ("2.6 in, right", f"{size_60}, right")))
    assert found.limit_home_m == pytest.approx(limit_yards * YARD)
    assert found.limit_there_m <= found.limit_home_m


def test_a_zone_too_small_for_any_group_has_no_limit():
    """Where nine in ten never land in the zone, there is no distance to name."""
    found = forecast(trip_with(("target_zone: 8 in", "target_zone: 1 in")))
    assert (found.limit_home_m, found.limit_there_m) == (None, None)


def test_the_arrow_is_told_with_its_numbers():
    """FOC, energy and momentum worked out by hand; a fast thin shaft is beyond the range of the papers."""
    facts = forecast(trip_with()).arrow
    assert facts.foc == pytest.approx((17.1 - 28.5 / 2) / 28.5)
    assert facts.kinetic_energy_j == pytest.approx(0.5 * MASS * (276 * FOOT) ** 2)
    assert facts.momentum_kg_m_s == pytest.approx(MASS * 276 * FOOT)
    assert facts.drag_extrapolated
    assert not forecast(
        trip_with(("  length: 28.5", "  drag_coefficient: 1.9\n  length: 28.5"))
    ).arrow.drag_extrapolated


def test_the_forecast_names_its_trip_places_and_cases_as_the_file_does():
    """Names, labels, counts and the zone's radius from the sample; gravity by the normal formula, air.py's tests prove it."""
    found = forecast(trip_with())
    assert (found.trip, found.home_name, found.arrows) == ("High basin, late season", "River-bottom range", 12)
    assert forecast(trip_with(), 30).arrows == 30
    assert found.target_radius_m == pytest.approx(ZONE)
    cases = [(name, case.label, len(case.pins)) for name, case in found.cases]
    places = ("Trailhead camp", "Basin spike camp")
    assert cases == [(name, label, 5) for name in places for label in ("coldest", "warmest")]
    assert [destination.name for destination in found.destinations] == list(places)
    for destination, feet in zip(found.destinations, (8750, 10600), strict=True):
        assert destination.gravity_m_s2 == pytest.approx(air.gravity_m_s2(43.5, feet * FOOT))
    assert [round(pin.distance_m / YARD) for pin in found.destinations[1].cases[1].pins] == PINS


def test_the_arrows_at_camp_decide_what_can_be_seen_there():
    """The number that is given goes into every advice: what 200 arrows show, three do not."""
    few, many = ([pin.advice for _, case in forecast(trip_with(), n).cases for pin in case.pins] for n in (3, 200))
    assert set(few) == {"leave"}
    assert set(many) != {"leave"}


def test_the_limit_is_told_with_both_ends_of_the_doubt_of_sigma():
    """scipy: chi-squared ends of sigma (ten arrows' extreme spread), and the Rayleigh and Rice shares they give."""
    found = forecast(trip_with())
    spread = dict(found.spreads)[found.limit_home_m]
    tight, wide = (spread.sigma_m * (spread.dof / stats.chi2.ppf(end, spread.dof)) ** 0.5 for end in (0.975, 0.025))
    shares = [stats.rayleigh.cdf(ZONE / sigma) for sigma in (wide, tight)]
    assert found.limit_home.share_interval == pytest.approx(shares, abs=1e-6)
    shift = max((case.pins[2].shift_m for _, case in found.cases), key=abs)
    assert found.limit_there.distance_m == found.limit_home_m == pytest.approx(40 * YARD)
    shares = [stats.rice.cdf(ZONE / sigma, abs(shift) / sigma) for sigma in (wide, tight)]
    assert found.limit_there.share_interval == pytest.approx(shares, abs=1e-6)


def test_the_limit_there_is_the_shortest_of_all_places_and_none_where_one_has_none():
    """One place next door and one in much thinner air: the worse of the two counts; where nothing holds, nothing is named."""
    assert _shortest([Limit(40.0, (0.9, 1.0)), Limit(20.0, (0.8, 1.0)), Limit(60.0, (0.9, 1.0))]).distance_m == 20.0
    assert _shortest([Limit(40.0, (0.9, 1.0)), None]) is None
    assert _shortest([None]) is None


def test_one_place_alone_is_forecast_as_it_is_among_others():
    """What a place's page takes from the whole trip is what a trip to that place alone is told."""
    whole = trip_with()
    found = forecast(whole)
    for place, there in zip(whole.destinations, found.destinations, strict=True):
        assert found.only(there) == forecast(whole._replace(destinations=(place,)))


def test_groups_of_one_distance_are_pooled_and_unreadable_ones_left_out():
    """Two groups at 20 yd are one spread of both; an extreme spread of 21 arrows says nothing here."""
    line = "    - {distance: 20 yd, arrows: 10, extreme_spread: 2.1 in, right: 0.1 in, up: 0.0 in}\n"
    two = trip_with((line, line + "    - {distance: 20 yd, arrows: 10, extreme_spread: 4.2 in}\n"))
    (distance, spread), *others = forecast(two).spreads
    assert distance == pytest.approx(20 * YARD)
    assert len(others) == 2
    one = dict(forecast(trip_with()).spreads)[distance]
    assert spread == pytest.approx((one.sigma_m * ((1 + 4) / 2) ** 0.5, 2 * one.dof))
    many = trip_with((line, "    - {distance: 20 yd, arrows: 21, extreme_spread: 2.1 in}\n"))
    assert [round(d / YARD) for d, _ in forecast(many).spreads] == [40, 60]


def test_the_order_of_the_recorded_groups_does_not_matter():
    """Far groups first in the file: the spreads come nearest first all the same."""
    lines = GROUPS.splitlines(keepends=True)
    turned = trip_with((GROUPS, lines[0] + "".join(reversed(lines[1:]))))
    assert forecast(turned).spreads == forecast(trip_with()).spreads


def test_the_reynolds_number_is_that_of_textbook_air():
    """rho v d / mu with mu 1.84e-5 Pa s at 23 C (textbooks), within 1 per cent; above 2e4 the papers' band is stretched."""
    found = forecast(trip_with())
    expected = found.home.air.density_kg_m3 * 276 * FOOT * DIAMETER / 1.84e-5
    assert found.arrow.reynolds == pytest.approx(expected, rel=0.01)
    assert found.arrow.reynolds > 2e4
    assert found.arrow.drag_extrapolated
    slow = forecast(trip_with(("speed: 276 fps", "speed: 150 fps"))).arrow
    assert slow.reynolds < 2e4
    assert not slow.drag_extrapolated


def test_without_a_balance_point_there_is_no_foc():
    """It is not zero: it is not known."""
    assert forecast(trip_with(("  balance_point: 17.1 in\n", ""))).arrow.foc is None
