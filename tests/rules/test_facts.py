"""Facts: how each kind shows in both systems of units, and which of them a trip lets one know."""

from datetime import date

import pytest

from readiness.forecast import forecast
from readiness.rules.facts import FACTS, PLACEHOLDERS, Fact, describing, show_fact, where
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
        ("high-basin", [], {"target_zone_m": 8 * INCH, "sight_kind": "fixed pins", "far_pin_m": 60 * YARD}),
        ("high-basin", [], {"brace_height_m": 6.5 * INCH, "axle_to_axle_m": (33 + 1 / 16) * INCH, "hunting_head_count": 1}),
        ("high-basin", [], {"arrow_speed_m_s": 276 * FOOT, "has_broadhead_reference": True, "has_cold_first": True}),
        ("high-basin", [], {"witness_marks": "peep height on string 4 13/16 in, nock height 1/8 in, sight scale 42.5, brace height 6 1/2 in, axle to axle 33 1/16 in"}),
        ("high-basin", [("setup_changed: [{what: string and cables, on: 2027-07-30}]\n", "")], {"reference_stale": False}),
        ("high-basin", [("on: 2027-07-30}", "on: 2027-07-30}, {what: rest, on: 2027-08-21}")], {"reference_stale": True}),
        ("high-basin", [("elevation: 8750 ft", "elevation: 100 ft"), ("elevation: 10600 ft", "elevation: 700 ft")], {"elevation_change_m": -520 * FOOT, "highest_elevation_m": 700 * FOOT}),
        ("high-basin", [("mass: 125 gr, cutting", "mass: 128 gr, cutting")], {"head_mass_differs": True}),
        ("high-basin", [("mass: 125 gr, cutting", "mass: 126.9 gr, cutting")], {"head_mass_differs": False}),
        ("high-basin", [("on: 2027-07-30", "on: 2027-08-21")], {"reference_stale": True}),
        ("high-basin", [("on: 2027-07-30", "on: 2027-08-20")], {"reference_stale": False}),
        ("river-breaks", [], {"elevation_change_m": -6770 * FOOT, "mechanical_head_count": 1, "hand": "left"}),
        ("river-breaks", [], {"has_cold_first": False, "cold_first_count": 0, "has_broadhead_reference": True}),
        ("river-breaks", [("    - {head: spare fixed head, distance: 40 yd, arrows: 4, right: -0.6 in, up: -0.9 in}\n", "")],
         {"has_broadhead_reference": False, "broadhead_reference_count": 1}),
        ("river-breaks", [], {"hunting_heads": "rut head, spare fixed head", "hunting_head_count": 2}),
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
        ([("  - {name: practice point, kind: field point, mass: 125 gr}\n", "")], {"head_mass_differs"}),
    ],
)
def test_a_fact_that_the_trip_file_does_not_say_is_absent(facts_of, changes, missing):
    """What is left out is neither false nor zero; every other fact stays, and what is absent says what it needs."""
    assert set(facts_of()) - set(facts_of("high-basin", *changes)) == missing
    assert all(FACTS[name].needs for name in missing)


@pytest.fixture(scope="module")
def sources(a_trip):
    """A function: forecast, checks and facts of a sample trip, with pieces of its text exchanged."""

    def of(name="high-basin", *changes, arrows=12):
        trip = a_trip(name, *changes)
        future = forecast(trip, arrows)
        checks = verification_of(trip, future)
        return future, checks, known_facts(trip, future, checks, date(2027, 8, 25))

    return of


def test_facts_of_the_zeros_are_the_checks_own(sources):
    """tests/test_verification.py proves the checks; here each number stands under its own name."""
    _, checks, facts = sources()
    for name, check in (("near_zero", checks.near_zero), ("far_zero", checks.far_zero)):
        assert facts[f"{name}_distance_m"] == check.distance_m
        assert facts[f"{name}_arrows"] == check.arrows
        assert facts[f"{name}_where"] == (check.right_m, check.up_m)
        assert facts[f"{name}_tolerance_m"] == check.tolerance_m
    near, far = checks.near_zero, checks.far_zero
    assert facts["near_zero_home_tolerance_m"] == pytest.approx(near.circle_m)
    assert 0 < near.slack_m < near.circle_m
    assert facts["near_zero_basis"] == near.basis == "your own groups"
    assert facts["far_zero_forecast_m"] == far.forecast_m != 0.0


def test_facts_of_the_bare_shaft_are_the_checks_own(sources):
    """Distance, clock, offset and pairs of the baseline as recorded; pairs to shoot and tolerance as computed."""
    _, checks, facts = sources()
    assert facts["bare_shaft_distance_m"] == pytest.approx(20 * YARD)
    assert (facts["bare_shaft_clock"], facts["bare_shaft_offset_m"]) == ("7:15", pytest.approx(0.6 * INCH))
    assert facts["bare_shaft_where"] == pytest.approx((-0.365 * INCH, -0.476 * INCH), abs=0.001 * INCH)
    assert facts["bare_shaft_pairs"] == checks.bare_shaft.arrows
    assert facts["bare_shaft_tolerance_m"] == checks.bare_shaft.tolerance_m
    assert facts["bare_shaft_basis"] == checks.bare_shaft.basis
    assert facts["bare_shaft_baseline"] == "6 pairs"
    unsaid = sources("high-basin", (", pairs: 6", ""))[2]
    assert unsaid["bare_shaft_baseline"] == "3 pairs, assumed: the trip file does not say"


def test_what_is_expected_of_heads_and_cold_arrows_is_told_at_each_distance(sources):
    """One phrase for each record: name, distance, place and tolerance, each with the kind that shows it."""
    _, checks, facts = sources()
    for name, records in (("broadhead", checks.broadheads), ("cold_first", checks.cold_first)):
        words = {"broadhead": "hunting head at ", "cold_first": "at "}[name]
        assert facts[f"{name}_expectations"] == tuple(
            (
                words,
                (check.distance_m, "distance"),
                " ",
                ((check.right_m, check.up_m), "where"),
                ", within ",
                (check.tolerance_m, "offset"),
            )
            for check in records
        )
    assert [round(check.distance_m / YARD) for check in checks.broadheads] == [20, 40]
    assert facts["broadhead_arrows"] == checks.broadheads[0].arrows


def test_the_far_zero_says_what_its_place_is_made_of(sources):
    """The recorded middle and what the air adds; without a recorded middle the aiming point stands in."""
    _, checks, facts = sources()
    by_air = checks.far_zero.forecast_m
    assert facts["far_zero_made_of"] == (
        ("Recorded ", ((0.0, pytest.approx(-0.3 * INCH)), "where"), "; the air adds ", ((0.0, by_air), "where")),
    )
    _, checks, facts = sources(
        "high-basin", ("mean_radius: 2.6 in, right: 0.0 in, up: -0.3 in}", "mean_radius: 2.6 in}")
    )
    words = "No middle was recorded, so the aiming point stands in; the air makes it "
    assert facts["far_zero_made_of"] == ((words, ((0.0, checks.far_zero.forecast_m), "where")),)


def test_each_pin_counts_once_with_its_most_careful_advice(sources):
    """cannot tell, move, confirm, leave: over all places and cases the first of them counts."""
    future, _, facts = sources("high-basin", arrows=200)
    advice = [{case.pins[i].advice for _, case in future.cases} for i in range(5)]
    worst = [next(one for one in ("cannot tell", "move", "confirm", "leave") if one in said) for said in advice]
    assert [facts[f"pins_to_{one}"] for one in ("move", "confirm", "leave")] == [
        worst.count(one) for one in ("move", "confirm", "leave")
    ]
    assert len(set(worst)) > 1
    assert any(len(said) > 1 for said in advice)
    assert (facts["limit_home_m"], facts["limit_there_m"]) == (future.limit_home_m, future.limit_there_m)
    assert facts["camp_arrows"] == 200


def test_density_and_the_miss_of_one_foot_per_second_are_the_forecasts(sources):
    """The largest change in per cent, with its sign; the farthest pin of the first case."""
    future, _, facts = sources()
    home = future.home.air.density_kg_m3
    changes = [100 * (case.conditions.air.density_kg_m3 - home) / home for _, case in future.cases]
    assert facts["density_change_pct"] == pytest.approx(min(changes))
    assert min(changes) < -25 < max(changes)
    assert facts["far_miss_per_fps_m"] == future.destinations[0].cases[0].pins[-1].m_per_fps


def test_without_records_the_facts_that_need_them_are_absent_and_the_counts_are_zero(sources, without):
    """No reference at all: what is counted is zero, what was recorded is not there, what exists is `no`."""
    _, _, full = sources()
    _, _, bare = sources("high-basin", without("high-basin", "reference:", "setup_changed:"))
    flags = ("has_groups", "has_bare_shaft_reference", "has_broadhead_reference", "has_cold_first", "has_witness_marks")
    assert [bare[flag] for flag in flags] == [False] * 5
    assert [full[flag] for flag in flags] == [True] * 5
    counts = ("group_distance_count", "broadhead_reference_count", "cold_first_count")
    assert [bare[count] for count in counts] == [0, 0, 0]
    assert [full[count] for count in counts] == [3, 2, 3]
    gone = set(full) - set(bare)
    assert {"longest_group_m", "witness_marks", "reference_stale", "bare_shaft_clock", "far_zero_where"} <= gone
    assert {"pins_to_move", "limit_home_m", "broadhead_expectations", "cold_first_expectations"} <= gone
    assert bare["near_zero_basis"] == "common practice, no source"


def test_a_place_where_nobody_says_where_they_sleep_is_slept_at(sources):
    """The highest night is that of the highest place, unless another elevation is told for it."""
    told = sources()[2]["sleeping_elevation_m"]
    untold = sources("high-basin", ("    sleeping_elevation: 10400 ft\n", ""))[2]["sleeping_elevation_m"]
    assert (told, untold) == pytest.approx((10400 * FOOT, 10600 * FOOT))


@pytest.mark.parametrize(
    ("said", "known"),
    [("yes", True), ("no", False), ('"yes"', True), ('"no"', False), ("true", True), ("false", False)],
)
def test_what_is_declared_is_a_fact_and_what_is_not_is_unknown(sources, said, known):
    """With or without quotes; nothing declared is neither yes nor no."""
    for name in ("powered sight", "lighted nock"):
        facts = sources("high-basin", ("airline:", f"declared: {{{name}: {said}}}\nairline:"))[2]
        declared = {key: facts[key] for key in ("powered_sight", "lighted_nock") if key in facts}
        assert declared == {name.replace(" ", "_"): known}


def test_with_field_points_alone_no_head_differs_and_none_is_named(invented):
    """Nothing to compare is not `no difference`."""
    trip = invented(heads=[{"name": "practice point", "kind": "field point", "mass": "100 gr"}])
    future = forecast(trip, 12)
    facts = known_facts(trip, future, verification_of(trip, future), date(2027, 9, 6))
    assert not {"head_mass_differs", "hunting_heads"} & set(facts)
    assert (facts["hunting_head_count"], facts["mechanical_head_count"]) == (0, 0)
    assert facts["has_broadhead_reference"] is False


@pytest.mark.parametrize(("units", "shown"), [("imperial", "8.0 in"), ("metric", "20.3 cm")])
def test_reasons_name_a_fact_in_words_and_show_it_in_the_units_of_the_page(units, shown):
    """Words without the unit, the value with it, and the trip key that it needs."""
    describe = describing(units)
    assert describe.words("target_zone_m") == "target zone"
    assert describe.shown("target_zone_m", 8 * INCH) == shown
    assert describe.needs("target_zone_m") == "trip.target_zone"


@pytest.mark.parametrize("kind", sorted(SHOWN))
def test_limits_make_sense_for_numbers_and_conditions_for_all_but_composed_text(kind):
    """minimum and maximum for what is counted or measured; no condition on texts put together for a page."""
    fact = Fact("made_up", kind, "")
    assert fact.is_number == (kind not in ("flag", "text", "free text", "where", "phrases"))
    assert fact.is_condition == (kind not in ("free text", "where", "phrases"))
    assert fact.needs == ""
