"""Any limit against any value in any unit: the outcome is that of a comparison of exact fractions made here."""

import operator
from datetime import date
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.rulings import rulings

TODAY = date(2027, 9, 6)
COMPARED = {"at least": operator.ge, "more than": operator.gt, "at most": operator.le, "less than": operator.lt}
# Units in base units of their dimension, exact by definition: the inch is 25.4 mm, the pound 453.59237 g, the grain
# a seven-thousandth of it (64.79891 mg), the pound-force and kilogram-force share one gravity.
LENGTHS = {"in": Fraction("25.4"), "cm": Fraction(10), "mm": Fraction(1), "m": Fraction(1000), "ft": Fraction("304.8")}
MASSES = {"gr": Fraction("64.79891"), "g": Fraction(1000), "oz": Fraction("28349.523125"), "kg": Fraction(10**6)}
FORCES = {"lb": Fraction("0.45359237"), "kg": Fraction(1), "N": 1 / Fraction("9.80665")}
PERCENT = {"%": Fraction(1)}
LEAST, ANY = ("at least", "more than"), tuple(COMPARED)
# topic -> comparisons, units, the smallest and largest value tried (base units), where the gear says it
TOPICS = {
    "draw weight": (ANY, FORCES, 16, 50, ("bow", "draw_weight")),
    "let-off": (("at most", "less than"), PERCENT, 50, 95, ("bow", "let_off")),
    "arrow mass": (LEAST, MASSES, 15_000, 60_000, ("arrow", "mass")),
    "arrow length": (LEAST, LENGTHS, 600, 800, ("arrow", "length")),
    "head mass": (LEAST, MASSES, 4_000, 12_000, ("heads", "mass")),
    "cutting width": (LEAST, LENGTHS, 15, 60, ("heads", "cutting_width")),
}


@st.composite
def quantities(draw, units, low, high):
    """A quantity as text, and its value: decimals to a millionth of the unit, or in inches by sixteenths too."""
    unit = draw(st.sampled_from(sorted(units)))
    if unit == "in" and draw(st.booleans()):
        steps = draw(st.integers(int(low / units[unit] * 16) + 1, int(high / units[unit] * 16)))
        whole, part = divmod(steps, 16)
        text = f"{whole} {part}/16 in" if whole and part else f"{whole} in" if whole else f"{part}/16 in"
        return text, Fraction(steps, 16) * units[unit]
    places = draw(st.integers(0, 6)) if high / units[unit] > 20 else 6
    scale = 10**places
    digits = draw(st.integers(int(low / units[unit] * scale) + 1, int(high / units[unit] * scale)))
    number = f"{digits // scale}.{digits % scale:0{places}d}" if places else f"{digits}"
    return f"{number} {unit}", Fraction(digits, scale) * units[unit]


@st.composite
def cases(draw):
    """A topic, a comparison, the gear's value and a limit; one in three times both are the same text."""
    topic = draw(st.sampled_from(sorted(TOPICS)))
    comparisons, units, low, high, place = TOPICS[topic]
    value = draw(quantities(units, low, high))
    same = draw(st.integers(0, 2)) == 0
    return (
        draw(st.sampled_from(comparisons)),
        topic,
        place,
        value,
        value if same else draw(quantities(units, low, high)),
    )


@settings(max_examples=250, deadline=None)
@given(case=cases())
def test_every_outcome_is_that_of_an_exact_comparison(invented, case):
    """Whatever the units on either side; a digit in the sixth place is enough to turn it."""
    comparison, topic, (block, key), (written, value), (limit, bound) = case
    head = {"name": "head A", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1 in"}
    gear = {"heads": [{**head, key: written}]} if block == "heads" else {block: {key: written}}
    entry = {"topic": topic, "rule": f"{comparison} {limit}", "source": "booklet", "read_on": "2027-05-02"}
    (ruling,) = rulings(invented(requirements=[entry], **gear), TODAY)
    assert ruling.outcome == ("meets" if COMPARED[comparison](value, bound) else "does not meet")


@settings(max_examples=100, deadline=None)
@given(
    mass=quantities(MASSES, 15_000, 60_000),
    draw=quantities(FORCES, 16, 50),
    per_pound=st.integers(300, 1200),
    comparison=st.sampled_from(LEAST),
    meet=st.booleans(),
)
def test_mass_per_draw_weight_is_an_exact_ratio(invented, mass, draw, per_pound, comparison, meet):
    """Grains a pound of any arrow on any bow, and one time in two of an arrow that weighs exactly what is asked."""
    (mass_text, grains), (draw_text, pounds) = mass, draw
    grains, pounds, limit = grains / MASSES["gr"], pounds / FORCES["lb"], Fraction(per_pound, 100)
    if meet:
        draw_text, pounds = "60 lb", Fraction(60)
        grains = limit * 60
        mass_text = f"{per_pound * 60 // 100}.{per_pound * 60 % 100:02d} gr"
    entry = {
        "topic": "arrow mass per draw weight",
        "rule": f"{comparison} {per_pound // 100}.{per_pound % 100:02d} gr per lb",
        "source": "booklet",
        "read_on": "2027-05-02",
    }
    trip = invented(requirements=[entry], bow={"draw_weight": draw_text}, arrow={"mass": mass_text})
    (ruling,) = rulings(trip, TODAY)
    assert ruling.outcome == ("meets" if COMPARED[comparison](grains / pounds, limit) else "does not meet")


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_an_outcome_does_not_depend_on_the_order_in_which_rules_are_written(invented, data):
    """Rules of many sources give the same page, and the same outcome each, however the file lists them."""
    comparisons, units, low, high, _ = TOPICS["draw weight"]
    entries = [
        {
            "topic": "draw weight",
            "rule": f"{data.draw(st.sampled_from(comparisons))} {data.draw(quantities(units, low, high))[0]}",
            "source": f"text {number}",
            "read_on": "2027-05-02",
        }
        for number in range(data.draw(st.integers(2, 4)))
    ]
    first = rulings(invented(requirements=entries), TODAY)
    assert len(first) == len(entries)
    assert rulings(invented(requirements=data.draw(st.permutations(entries))), TODAY) == first
