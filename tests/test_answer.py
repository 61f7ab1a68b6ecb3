"""The answer in sentences: one shape for each advice, the most careful case of a place decides."""

import re
from itertools import pairwise

import pytest

from readiness.answer import answers
from readiness.forecast import forecast

INCH, YARD = 0.0254, 0.9144


@pytest.fixture(scope="module")
def told(a_trip):
    """A function: the sentences for one place whose cases hold (yards, shift in inches, advice, arrows to see it)."""
    real = forecast(a_trip(), 12)
    place = real.destinations[0]
    pin = place.cases[0].pins[0]

    def sentences(*cases, units="imperial", spreads=real.spreads, doubt=False):
        made = [
            case._replace(
                pins=tuple(
                    pin._replace(
                        distance_m=yards * YARD,
                        shift_m=shift * INCH,
                        shift_low_m=(shift - 0.3) * INCH,
                        shift_high_m=(shift + 0.3) * INCH,
                        sight_move_m=shift * INCH * 34 / (36 * yards),
                        advice=advice,
                        arrows_to_see=arrows,
                    )
                    for yards, shift, advice, arrows in pins
                )
            )
            for case, pins in zip(place.cases, cases, strict=False)
        ]
        one = real._replace(destinations=(place._replace(cases=tuple(made)),), spreads=spreads)
        (answer,) = answers(one, units)
        assert answer.place == "Trailhead camp"
        if doubt:
            return answer.sentences
        return tuple(re.sub(r" \([^)]* with its doubt\)", "", sentence) for sentence in answer.sentences)

    return sentences


def test_pins_to_leave_share_a_sentence_and_the_farthest_says_why(told):
    """The farthest of them carries the shift and what it would take to see it."""
    pins = [(20, 0.02, "leave", None), (30, 0.1, "leave", 190), (40, 0.3, "leave", 58)]
    first, second = told(pins)
    assert first == "20 to 30 yd: leave the sight alone."
    assert second.startswith("40 yd: 0.3 in high; ")
    assert "your groups would need 58 arrows to see it" in second
    assert second.endswith(": leave.")


def test_a_shift_that_no_group_shows_says_how_many_arrows_were_tried(told):
    """Over 200 arrows no number is given."""
    (only,) = told([(20, 0.1, "leave", None)])
    assert only.startswith("20 yd: 0.1 in high; ")
    assert "200 arrows" in only


def test_a_shift_is_told_with_the_band_over_every_case(told):
    """The range over the cases and, behind it, the ends of their bands: no number stands without its doubt."""
    cold, warm = [(60, 0.6, "leave", 99)], [(60, 0.9, "leave", 60)]
    (only,) = told(cold, warm, doubt=True)
    assert only.startswith("60 yd: 0.6 to 0.9 in high (0.3 to 1.2 in high with its doubt); ")
    (across,) = told([(60, 0.2, "leave", 99)], doubt=True)
    assert across.startswith("60 yd: 0.2 in high (0.1 in low to 0.5 in high with its doubt); ")


@pytest.mark.parametrize(
    ("cold", "warm", "words"),
    [
        (31, 23, "23 to 31 arrows"),  # as the table under it says for the two cases
        (67, 44, "44 to 67 arrows"),
        (40, 40, "40 arrows"),
        (100, 13, "13 to 100 arrows"),
        (134, 87, "about 80 to 140 arrows"),  # large numbers only outward: the true ones lie between
        (196, 121, "about 120 to 200 arrows"),
        (190, 190, "about 190 arrows"),
        (None, 85, "85 to more than 200 arrows"),
        (None, 151, "about 150 to more than 200 arrows"),
    ],
)
def test_the_arrows_to_see_a_shift_are_those_of_every_case(told, cold, warm, words):
    """Neither end is left out, and no number stands that is smaller than the least."""
    (leave,) = told([(60, 0.2, "leave", cold)], [(60, 0.5, "leave", warm)])
    assert leave == f"60 yd: 0.2 to 0.5 in high; your groups would need {words} to see it: leave."
    (confirm,) = told([(60, 0.2, "confirm", cold)], [(60, 0.5, "confirm", warm)])
    assert f"; {words} would show it: confirm" in confirm


def test_a_shift_downward_is_told_as_low(told):
    """Thick air lands arrows low."""
    assert told([(40, -0.4, "leave", 100)])[0].startswith("40 yd: 0.4 in low; ")


def test_a_pin_to_confirm_comes_before_any_touch_of_the_sight(told):
    """It says how many arrows would show the shift."""
    (only,) = told([(60, 3.1, "confirm", 11)])
    assert only.startswith("60 yd: 3.1 in high; ")
    assert "; 11 arrows would show it: " in only
    assert only.endswith("confirm before you touch the sight.")


@pytest.mark.parametrize(("shift", "lands", "direction"), [(6.0, "high", "up"), (-6.0, "low", "down")])
def test_a_pin_to_move_follows_the_arrow_and_waits_for_marks_and_bare_shaft(told, shift, lands, direction):
    """6 in at 60 yd with a 34 in radius is 0.09 in of sight; high arrows are followed upward."""
    (only,) = told([(60, shift, "move", 5)])
    assert f"6.0 in {lands}" in only
    assert f"0.09 in {direction}" in only
    assert only.endswith("only after the marks and the bare shaft pass.")


def test_every_pin_that_is_to_be_touched_has_its_own_sentence(told):
    """Each has its own shift and its own move."""
    pins = [(40, 2.0, "confirm", 12), (50, 4.0, "move", 8), (60, 7.0, "move", 4)]
    assert [sentence.split(":")[0] for sentence in told(pins)] == ["40 yd", "50 yd", "60 yd"]


def test_what_cannot_be_told_says_which_group_is_missing(told):
    """Beyond the farthest recorded group, or where no group is recorded at all."""
    pins = [(70, 1.0, "cannot tell", None), (80, 1.6, "cannot tell", None)]
    (beyond,) = told(pins)
    assert beyond.startswith("70 to 80 yd: at 80 yd 1.6 in high by the forecast; cannot tell")
    assert "60 yd" in beyond
    (nothing,) = told(pins[:1], spreads=())
    assert nothing.startswith("70 yd: 1.0 in high by the forecast; cannot tell")
    assert "no group" in nothing


def test_the_case_that_asks_for_most_care_decides_for_the_place(told):
    """Warmest says move and coldest says leave: the place says move, with the range over both."""
    cold, warm = [(60, 1.0, "leave", 60)], [(60, 6.0, "move", 5)]
    assert told(cold, warm) == told(warm, cold)
    assert told(cold, warm)[0].startswith("60 yd: 1.0 to 6.0 in high: move that pin ")
    careful = ["leave", "confirm", "move", "cannot tell"]
    ends = [told([(60, 1.0, less, 9)], [(60, 1.0, more, 9)]) for less, more in pairwise(careful)]
    assert ends == [told([(60, 1.0, more, 9)]) for more in careful[1:]]


def test_cases_that_differ_in_direction_name_both(told):
    """Low in the cold and high in the warmth are not one range."""
    assert told([(60, -0.2, "leave", 99)], [(60, 0.5, "leave", 99)])[0].startswith("60 yd: 0.2 in low to 0.5 in high;")


def test_runs_keep_the_order_of_the_pins(told):
    """Leave, confirm, cannot tell: near to far, nothing left out."""
    pins = [
        (20, 0.1, "leave", None),
        (30, 0.2, "leave", None),
        (40, 2.5, "confirm", 12),
        (50, 4.0, "cannot tell", None),
    ]
    assert [sentence.split(":")[0] for sentence in told(pins)] == ["20 yd", "30 yd", "40 yd", "50 yd"]


def test_metric_answers_are_in_metres_and_centimetres(told):
    """The page's units, also in the sentences."""
    first, second = told([(20, 0.1, "leave", None), (40, 0.1, "leave", None), (60, 6.0, "move", 5)], units="metric")[
        ::2
    ]
    assert first == "18 m: leave the sight alone."
    assert "15.2 cm high" in second
    assert "2.4 mm up" in second


def test_a_shift_that_rounds_to_nothing_has_no_direction(told):
    """Nothing is neither high nor low; and with a wide doubt it is not called small either."""
    for shift, doubt in ((0.01, "0.3 in low to 0.3 in high"), (-0.01, "0.3 in high to 0.3 in low")):
        (sentence,) = told([(20, shift, "leave", None)], doubt=True)
        assert sentence.startswith(f"20 yd: 0.0 in ({doubt} with its doubt); ")


def test_a_range_from_nothing_to_high_names_the_side_of_its_far_end(told):
    """One end rounds to nothing."""
    assert told([(60, 0.01, "leave", 99)], [(60, 0.5, "leave", 99)])[0].startswith("60 yd: 0.0 to 0.5 in high;")


def test_a_pin_speaks_of_its_largest_shift_where_cases_agree_on_the_advice(told):
    """Two cases say move: the larger move is the one told."""
    small, large = [(60, 5.0, "move", 5)], [(60, -6.0, "move", 4)]
    for pair in ((small, large), (large, small)):
        assert "down, only after" in told(*pair)[0]


def test_arrows_that_would_show_it_but_cost_nothing_say_so(told):
    """Twelve arrows are at hand and nine would show it; still it is not worth a turn of the screw."""
    assert "costs less than one arrow in a hundred: leave" in told([(60, 0.6, "leave", 9)])[0]


def test_every_place_has_an_answer(a_plan):
    """Two camps, two answers, in the order of the trip file; every pin is spoken for."""
    plan, _ = a_plan()
    assert [answer.place for answer in plan.answers] == ["Trailhead camp", "Basin spike camp"]
    for answer in plan.answers:
        assert answer.sentences[0].startswith("20 ")
        assert "60 yd" in answer.sentences[-1]
