"""Facts: how each kind shows in both systems of units, and which of them a trip lets one know."""

from datetime import date

import pytest

from readiness.forecast import forecast
from readiness.rules.facts import FACTS, PLACEHOLDERS, Fact, show_fact, where
from readiness.rules.known import known_facts
from readiness.verification import verification_of

INCH, FOOT, YARD, GRAIN, POUND = 0.0254, 0.3048, 0.9144, 64.79891e-6, 4.4482216152605
PHRASE = (("blunt at ", (20 * YARD, "distance"), ": ", ((-INCH, 0.0), "where"), ", within ", (2 * INCH, "offset")),)
SHOWN = {
    "flag": [(True, "yes", "yes"), (False, "no", "no")],
    "text": [("right helical", "right helical", "right helical")],
    "free text": [("peep 4 13/16 in", "peep 4 13/16 in", "peep 4 13/16 in")],
    "count": [(0, "0", "0"), (12, "12", "12")],
    "number": [(6.7424, "6.74", "6.74"), (5.0, "5", "5"), (0.5, "0.5", "0.5")],
    "percent": [(-27.6, "-28 %", "-28 %"), (10.02, "10 %", "10 %")],
    "offset": [(2 * INCH, "2.0 in", "5.1 cm"), (0.0, "0.0 in", "0.0 cm"), (-INCH, "-1.0 in", "-2.5 cm")],
    "fine": [(6.5 * INCH, "6.50 in", "165.1 mm")],
    "distance": [(20 * YARD, "20 yd", "18 m"), (60.0, "66 yd", "60 m")],
    "elevation": [(8750 * FOOT, "8,750 ft", "2,667 m"), (-100 * FOOT, "-100 ft", "-30 m")],
    "mass": [(445 * GRAIN, "445 gr", "28.8 g")],
    "speed": [(276 * FOOT, "276 fps", "84.1 m/s")],
    "temperature": [(-10.0, "14 F", "-10 C"), (0.0, "32 F", "0 C"), (21.0, "70 F", "21 C")],
    "temperature difference": [(20.0, "36 F", "20 C")],
    "force": [(66 * POUND, "66 lb", "66 lb")],
    "phrases": [
        (PHRASE, "blunt at 20 yd: 1.0 in left, within 2.0 in", "blunt at 18 m: 2.5 cm left, within 5.1 cm"),
        (PHRASE * 2, "; ".join(["blunt at 20 yd: 1.0 in left, within 2.0 in"] * 2), None),
    ],
    "where": [((INCH, -2 * INCH), "1.0 in right, 2.0 in low", "2.5 cm right, 5.1 cm low")],
}
PYTHON_KINDS = {"flag": bool, "text": str, "free text": str, "count": int, "where": tuple, "phrases": tuple}


@pytest.fixture(scope="module")
def facts_of(a_trip):
    """A function: the facts of a sample trip, with pieces of its text exchanged."""

    def of(name="high-basin", *changes, today="2027-08-25"):
        trip = a_trip(name, *changes)
        future = forecast(trip, 12)
        return known_facts(trip, future, verification_of(trip, future), date.fromisoformat(today))

    return of


@pytest.mark.parametrize("kind", sorted(SHOWN))
def test_a_kind_of_fact_shows_in_both_systems_of_units(kind):
    """Units, decimals and signs as an archer writes them."""
    for value, imperial, metric in SHOWN[kind]:
        fact = Fact("made_up", kind, "")
        assert show_fact(fact, value, "imperial") == imperial
        assert metric is None or show_fact(fact, value, "metric") == metric


def test_every_kind_that_a_fact_has_is_in_the_table_above():
    """A new kind of fact needs a row there."""
    assert {fact.kind for fact in FACTS.values()} <= set(SHOWN)


@pytest.mark.parametrize(
    ("right", "up", "imperial"),
    [
        (0.0, 0.0, "no offset"),
        (-0.0, 0.0004 * INCH, "no offset"),
        (0.04 * INCH, -0.04 * INCH, "no offset"),
        (0.06 * INCH, 0.0, "0.1 in right"),
        (-0.06 * INCH, 0.0, "0.1 in left"),
        (0.0, 0.5 * INCH, "0.5 in high"),
        (0.0, -0.5 * INCH, "0.5 in low"),
        (-10.0 * INCH, 10.0 * INCH, "10.0 in left, 10.0 in high"),
        (0.3 * INCH, -0.01 * INCH, "0.3 in right"),
    ],
)
def test_a_place_on_the_target_is_told_as_the_archer_sees_it(right, up, imperial):
    """Right and left, high and low, without what rounds to nothing."""
    assert where(right, up, "imperial") == imperial


def test_a_place_on_the_target_in_metric():
    """Millimetres that round to 0.0 cm are left out."""
    assert where(0.016, -0.0004, "metric") == "1.6 cm right"
    assert where(0.0004, 0.0004, "metric") == "no offset"


def test_a_fact_is_named_without_its_unit_in_texts():
    """near_zero_tolerance_m stands as {near_zero_tolerance}; its words have no underscores."""
    assert PLACEHOLDERS["near_zero_tolerance"] is FACTS["near_zero_tolerance_m"]
    assert PLACEHOLDERS["arrow_speed"].name == "arrow_speed_m_s"
    assert PLACEHOLDERS["foc"].words == "foc"
    assert PLACEHOLDERS["trip_days"].words == "trip days"


def test_facts_have_values_of_their_kind(samples, facts_of):
    """Numbers are numbers and no flags, counts are whole, places are pairs."""
    for name, today in samples.items():
        for fact, value in facts_of(name, today=today).items():
            kind = PYTHON_KINDS.get(FACTS[fact].kind, float)
            allowed = (int, float) if kind is float else kind
            assert isinstance(value, allowed), fact
            assert isinstance(value, bool) == (kind is bool), fact


def test_every_listed_fact_can_be_known_and_no_other_is_computed(samples, facts_of):
    """The list of facts and what is computed from the sample trips, with declarations added, are the same names."""
    computed = set().union(*(facts_of(name, today=today) for name, today in samples.items()))
    declared = ("airline:", "declared: {powered sight: yes, lighted nock: no, sight magnification: 1}\nairline:")
    computed |= set(facts_of("high-basin", declared))
    assert computed == set(FACTS)


@pytest.mark.parametrize(
    ("name", "changes", "wanted"),
    [
        ("high-basin", [], {"travel": "air", "trip_days": 9, "days_to_start": 17, "hand": "right", "camp_arrows": 12}),
        ("high-basin", [], {"hazard_bears": True, "hazard_riding": True, "hazard_tree_stand": False}),
        ("high-basin", [], {"nearest_shop_h": 5.0, "destination_count": 2, "pin_count": 5, "vane_turn": "right helical"}),
        ("high-basin", [], {"elevation_change_m": 9980 * FOOT, "highest_elevation_m": 10600 * FOOT}),
        ("high-basin", [], {"sleeping_elevation_m": 10400 * FOOT, "temperature_low_c": -10.0}),
        ("high-basin", [], {"temperature_drop_c": 60 / 1.8, "temperature_spread_c": 39 / 1.8}),
        ("high-basin", [], {"grains_per_pound": 445 / 66, "draw_weight_n": 66 * POUND, "near_pin_m": 20 * YARD}),
        ("high-basin", [], {"foc_pct": 100 * (17.1 / 28.5 - 0.5), "arrow_mass_kg": 445 * GRAIN}),
        ("high-basin", [], {"peep_slip_near_m": 720 / 34 / 16 * INCH, "peep_slip_far_m": 2160 / 34 / 16 * INCH}),
        ("high-basin", [], {"group_distance_count": 3, "longest_group_m": 60 * YARD, "cold_first_count": 3}),
        ("high-basin", [], {"head_mass_differs": False, "mechanical_head_count": 0, "hunting_heads": "hunting head"}),
        ("high-basin", [], {"reference_stale": False, "has_witness_marks": True, "drag_measured": False}),
        ("high-basin", [("mass: 125 gr, cutting", "mass: 128 gr, cutting")], {"head_mass_differs": True}),
        ("high-basin", [("mass: 125 gr, cutting", "mass: 126.9 gr, cutting")], {"head_mass_differs": False}),
        ("high-basin", [("on: 2027-07-30", "on: 2027-08-21")], {"reference_stale": True}),
        ("high-basin", [("on: 2027-07-30", "on: 2027-08-20")], {"reference_stale": False}),
        ("river-breaks", [], {"elevation_change_m": -6770 * FOOT, "mechanical_head_count": 1, "hand": "left"}),
        ("river-breaks", [], {"has_cold_first": False, "cold_first_count": 0, "has_broadhead_reference": True}),
        ("river-breaks", [("    - {head: spare fixed head, distance: 40 yd, arrows: 4, right: -0.6 in, up: -0.9 in}\n", "")],
         {"has_broadhead_reference": False, "broadhead_reference_count": 1}),
        ("terraces-metric", [], {"drag_measured": True, "hazard_bears": False, "has_groups": True}),
    ],
)  # fmt: skip
def test_facts_say_what_the_trip_file_says(facts_of, name, changes, wanted):
    """Values worked out by hand from the sample trips and from small changes of them."""
    facts = facts_of(name, *changes)
    for fact, value in wanted.items():
        assert facts[fact] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), fact


def test_a_miss_at_sixty_is_three_nine_or_twenty_seven_times_that_at_twenty(facts_of):
    """A slipped sight goes with the distance, a speed change with its square, thinner air with its cube."""
    facts = facts_of("high-basin")
    growth = [facts[f"far_growth_{cause}"] for cause in ("sight", "speed", "air")]
    assert growth == pytest.approx([3, 9, 27])


def test_heads_that_differ_by_two_grains_do_not_differ_by_more(facts_of):
    """The limit itself is allowed, as its words say."""
    assert facts_of("high-basin", ("mass: 125 gr, cutting", "mass: 127 gr, cutting"))["head_mass_differs"] is False


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ([("  nearest_shop: 5 h\n", "")], {"nearest_shop_h"}),
        ([("  hazards: [bears, riding]\n", "")], {"hazard_bears", "hazard_riding", "hazard_tree_stand"}),
        ([("hunter: {name: Client seven, id: c07, hand: right}\n", "")], {"hand"}),
        ([("  balance_point: 17.1 in\n", "")], {"foc_pct"}),
        ([("  brace_height: 6.5 in\n", "")], {"brace_height_m"}),
        ([("  shot_on: 2027-08-20\n", "")], {"reference_stale"}),
        ([("  temperature: 74 F\n", "")], {"temperature_drop_c"}),
    ],
)
def test_a_fact_that_the_trip_file_does_not_say_is_absent(facts_of, changes, missing):
    """What is left out is neither false nor zero; every other fact stays, and what is absent says what it needs."""
    assert set(facts_of()) - set(facts_of("high-basin", *changes)) == missing
    assert all(FACTS[name].needs for name in missing)
