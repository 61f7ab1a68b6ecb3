"""What stands on which face: pins with their advice and its conditions, doubts said, stop steps first, causes from data."""

import importlib.util
import json
import re
from math import atan2, degrees
from pathlib import Path

import pytest

from readiness.render.card import FACES, card_data
from readiness.stages import ALL

ROOT = Path(__file__).resolve().parents[2]
NO_GROUPS = ("  groups:", "  marks: {")


def _front(plan):
    return card_data(plan, faces=["front"])["faces"][0]["items"]


def _back(plan):
    return card_data(plan, faces=["back"])["faces"][0]["items"]


def _words(items):
    return " ".join(json.dumps(item, ensure_ascii=False) for item in items)


def _kinds(items, kind):
    return [item for item in items if item["kind"] == kind]


def test_each_place_has_every_pin_with_its_shift_and_what_to_do(a_plan):
    """Two camps share a table of five pins: for each the most that coldest and warmest shift, as in the forecast, and leave."""
    plan, _ = a_plan("high-basin")
    (table,) = _kinds(_front(plan), "table")
    assert len(table["rows"]) == 5
    for place, destination in enumerate(plan.forecast.destinations):
        for index, row in enumerate(table["rows"]):
            most = max((case.pins[index].shift_m / 0.0254 for case in destination.cases), key=abs)
            assert float(row[1 + 2 * place]) == pytest.approx(most, abs=0.0501)
            assert row[2 + 2 * place] == "leave"


def test_one_place_alone_has_the_span_of_its_shift(a_plan):
    """One camp, four pins: from the least to the most of coldest and warmest."""
    plan, _ = a_plan("river-breaks")
    (table,) = _kinds(_front(plan), "table")
    (destination,) = plan.forecast.destinations
    for index, row in enumerate(table["rows"]):
        shifts = sorted(abs(case.pins[index].shift_m) / 0.0254 for case in destination.cases)
        told = [abs(float(number)) for number in re.findall(r"[-+]?\d+\.\d", row[1])]
        assert told[0] == pytest.approx(shifts[0], abs=0.0501)
        assert told[-1] == pytest.approx(shifts[-1], abs=0.0501)


def test_move_is_never_said_without_its_condition(a_plan):
    """A pin to move shows the correction with a star, and the star says: only after the marks and the bare shaft pass."""
    tight = ("mean_radius: 2.6 in", "mean_radius: 0.3 in"), ("extreme_spread: 4.6 in", "extreme_spread: 0.6 in")
    small = ("target_zone: 8 in", "target_zone: 2 in")
    plan, _ = a_plan("high-basin", *tight, small)
    advised = {pin.advice for _, case in plan.forecast.cases for pin in case.pins}
    assert "move" in advised
    front = _front(plan)
    moved = [
        row[i] for table in _kinds(front, "table") for row in table["rows"] for i in (2, 4) if row[i].endswith("*")
    ]
    assert moved
    assert all(re.fullmatch(r"\d+\.\d\d in (up|down) \*", cell) for cell in moved)
    assert "* Move the pin only after the marks and the bare shaft pass." in _words(front)


def test_without_groups_every_doubt_is_said(a_plan, without):
    """No group: every pin, the far zero and the limit say cannot tell: no group recorded."""
    plan, _ = a_plan("high-basin", without("high-basin", *NO_GROUPS))
    front = _front(plan)
    assert all({row[2], row[4]} == {"cannot tell"} for table in _kinds(front, "table") for row in table["rows"])
    texts = [item["text"] for item in _kinds(front, "text")]
    assert sum("cannot tell: no group recorded" in text for text in texts) >= 3
    assert "no bars: no group recorded." in _words(front)
    wind, slope = card_data(plan, faces=["wind", "slope"])["faces"]
    for face in (wind, slope):
        assert _kinds(face["items"], "table") == []
        assert "cannot tell: no group recorded" in _words(face["items"])


def test_nothing_is_advised_beyond_the_longest_group(a_plan):
    """A group at 40 yd at most: 50 and 60 yd say cannot tell, and get no row in the wind and slope tables."""
    cut = ("    - {distance: 60 yd, arrows: 6, mean_radius: 2.6 in, right: 0.0 in, up: -0.3 in}\n", "")
    plan, _ = a_plan("high-basin", cut)
    front = _front(plan)
    for table in _kinds(front, "table"):
        assert [row[i] for row in table["rows"][-2:] for i in (2, 4)] == ["cannot tell"] * 4
        assert [row[2] for row in table["rows"][:-2]] == ["leave"] * 3
    assert "cannot tell: farthest recorded group is at 40 yd. No advice from 50 yd on." in _words(front)
    for face in card_data(plan, faces=["wind", "slope"])["faces"]:
        for table in _kinds(face["items"], "table"):
            assert [row[0] for row in table["rows"]] == ["20", "30", "40"]
        assert "50, 60 yd: cannot tell: farthest group 40 yd." in _words(face["items"])


def test_the_clock_shows_the_reference_where_it_is(a_plan):
    """7:15 is 217.5 degrees clockwise from 12, an hour being 30 degrees; 0.6 in from the middle."""
    plan, _ = a_plan("high-basin")
    (clock,) = _kinds(_front(plan), "clock")
    assert clock["degrees"] % 360 == pytest.approx(217.5, abs=0.01)
    assert clock["offset"] == pytest.approx(0.6 * 0.0254)
    assert clock["big"] == ["7:15", "0.6 in"]
    base = plan.trip.reference.bare_shaft
    assert degrees(atan2(base.right_m, base.up_m)) == pytest.approx(clock["degrees"])


def test_without_a_reference_the_bare_shaft_cannot_be_told(a_plan):
    """No clock is drawn of nothing."""
    line = '  bare_shaft: {distance: 20 yd, clock: "7:15", offset: 0.6 in, pairs: 6}\n'
    plan, _ = a_plan("high-basin", (line, ""))
    front = _front(plan)
    assert _kinds(front, "clock") == []
    assert "cannot tell: no bare-shaft reference recorded" in _words(front)


def test_a_stale_reference_is_a_caution_before_the_first_number(a_plan):
    """Something changed after the reference: the card says so on top."""
    plan, _ = a_plan("high-basin", ("on: 2027-07-30", "on: 2027-08-22"))
    front = _front(plan)
    assert front[0]["kind"] == "caution"
    assert "rests on a bow that is no more" in front[0]["text"]


def test_zeros_stand_with_what_they_may_miss(a_plan):
    """Near and far zero show their place and tolerance as the plan has them."""
    plan, _ = a_plan("high-basin")
    near, far = _kinds(_front(plan), "value")[:2]
    assert near["label"] == "Near zero, 20 yd, 3 arrows"
    for item, check in ((near, plan.checks.near_zero), (far, plan.checks.far_zero)):
        assert item["big"][1] == f"within {check.tolerance_m / 0.0254:.1f} in"


def test_the_drift_picture_holds_the_forecast(a_plan):
    """The picture is of the case that shifts most; bars are 1.96 of the archer's own sigma."""
    plan, _ = a_plan("high-basin")
    (chart,) = _kinds(_front(plan), "chart")
    case = max((case for _, case in plan.forecast.cases), key=lambda case: abs(case.pins[-1].shift_m))
    for point, pin in zip(chart["points"], case.pins, strict=True):
        inches = [pin.shift_m / 0.0254, pin.shift_low_m / 0.0254, pin.shift_high_m / 0.0254]
        assert point["values"] == pytest.approx(inches)
        assert point["group"] == pytest.approx(1.959964 * pin.sigma_m / 0.0254)
        assert max(map(abs, (*inches, point["group"]))) <= chart["top"]


def test_after_a_knock_is_numbered_with_stop_steps_first_in_each_block(a_plan):
    """Every step of the plan's knock stage once, counted through, stop before others in its block."""
    plan, _ = a_plan("high-basin")
    steps = _kinds(_back(plan), "step")
    assert [step["number"] for step in steps] == list(range(1, len(plan.steps_of("knock")) + 1))
    assert {step["title"] for step in steps} == {step.title for step in plan.steps_of("knock")}
    blocks, stops = {s.title: s.block for s in plan.steps_of("knock")}, {}
    for step in steps:
        stops.setdefault(blocks[step["title"]], []).append(step["stop"])
    assert all(block == sorted(block, reverse=True) for block in stops.values())
    assert steps[0]["stop"]


def test_every_caution_stands_before_its_step(a_plan):
    """A caution of a knock step is said before that step, once, by its first sentences; the plan has it in full."""
    plan, _ = a_plan("high-basin")
    back = _back(plan)
    for step in plan.steps_of("knock"):
        at = next(i for i, item in enumerate(back) if item.get("title") == step.title)
        for caution in plan.cautions_before_step(step.id):
            told = [
                i
                for i, item in enumerate(back)
                if item["kind"] == "caution" and caution.text.startswith(item["text"]) and len(item["text"]) >= 41
            ]
            assert len(told) == 1
            assert told[0] < at
    assert "in full in the plan" in _words(back)


def test_a_stop_step_says_what_must_be_so_and_what_if_not(a_plan):
    """STOP steps carry all of their wanted state and the first sentence of what to do; the others one clause and what has a figure."""
    plan, _ = a_plan("high-basin")
    steps = {step.title: step for step in plan.steps_of("knock")}
    for item in _kinds(_back(plan), "step"):
        step = steps[item["title"]]
        if step.stop:
            assert item["lines"] == [step.expect]
            assert step.if_not.startswith(item["if_not"])
        else:
            (line,) = item["lines"]
            assert step.expect.startswith(line[:-1])
            assert all(re.search("[0-9]", clause) for clause in line.split(";")[1:])
            assert "if_not" not in item


def test_a_limit_is_never_cut_off_a_step(a_plan):
    """Short as the card is, a figure behind the first clause stays: no farther than the near pin without a butt."""
    plan, _ = a_plan("high-basin")
    steps = [item for item in card_data(plan, faces=["back"])["faces"][0]["items"] if item["kind"] == "step"]
    said = {item["title"]: item["lines"] for item in steps}
    assert said["No butt at hand"] == ["A distance said aloud; 20 yd unless both agree on more."]
    assert said["Rest"] == ["Rises and drops free."]


def test_every_number_and_line_has_a_name(a_plan):
    """The draw length, the dashed circle, and the bars of the drift picture."""
    data = card_data(a_plan("high-basin")[0])
    assert "66 lb, draw 29.0 in" in data["identity"][0]
    front = data["faces"][0]["items"]
    assert {"kind": "head", "text": "Bare shaft at 20 yd", "small": "dashed: within"} in front
    assert front[-1]["text"] == "Line: shift; dashes: 95 in 100; bar: 95 in 100 arrows."


def test_growth_names_the_cause(a_plan):
    """Doubling the distance doubles a slipped sight's miss, quadruples a speed change's and octuples the air's: 2, 2^2, 2^3."""
    plan, _ = a_plan("high-basin")
    _, table = _kinds(_back(plan), "table")
    growth = {row[1]: row[2] for row in table["rows"] if row[0] == "high or low"}
    assert growth[f"x{2**1}"].startswith("sight")
    assert "speed" in growth[f"x{2**2}"]
    assert growth[f"x{2**3}"].startswith("air")
    assert "common practice, no source" in _words(_back(plan))


def test_left_and_right_are_never_told_apart_without_the_hand(a_plan):
    """No line of the causes says that left alone, or right alone, means something: a left-handed bow mirrors the other."""
    for table in _kinds(_back(a_plan("high-basin")[0]), "table"):
        for row in table["rows"]:
            assert not re.search(r"\b(left|right)\b", " ".join(row).replace("left or right", ""))


def test_stage_faces_have_boxes_and_at_most_seven_steps_a_block(a_plan):
    """Each step of a stage has a box; no heading has more than seven steps under it; stop steps come first there."""
    plan, _ = a_plan("high-basin")
    faces = card_data(plan, faces=["stages"])["faces"]
    assert len(faces) == len(ALL)
    for face, stage in zip(faces, ALL, strict=True):
        steps = _kinds(face["items"], "step")
        assert {step["title"] for step in steps} == {step.title for step in plan.steps_of(stage.key)}
        assert all(step["box"] for step in steps)
        run = []
        for item in [*face["items"], {"kind": "head"}]:
            if item["kind"] == "head":
                assert len(run) <= 7
                assert run == sorted(run, reverse=True)
                run = []
            elif item["kind"] == "step":
                run.append(item["stop"])


def test_a_long_block_is_cut_at_seven(a_plan):
    """A user's block of nine steps stands as two parts."""
    text = (ROOT / "tests" / "bad_packs" / "long-block.yaml").read_text(encoding="utf-8")
    from readiness.rules.packs import read_pack

    pack, _ = read_pack(text, "long-block.yaml")
    plan, _ = a_plan("high-basin", packs=(pack,), instead=True)
    stage = pack.rules[0].stage
    (face,) = card_data(plan, faces=[stage])["faces"]
    counts, heads = [], [item["text"] for item in _kinds(face["items"], "head")]
    for item in face["items"]:
        if item["kind"] == "head":
            counts.append(0)
        elif item["kind"] == "step":
            counts[-1] += 1
    assert max(counts) == 7
    assert any("part 2" in head for head in heads)


@pytest.mark.parametrize("face", FACES)
def test_each_face_can_be_asked_for_alone(a_plan, face):
    """Every name of --faces gives at least one face with something on it."""
    plan, _ = a_plan("cold-snap")
    faces = card_data(plan, faces=[face])["faces"]
    assert faces
    assert all(made["items"] and made["title"] and made["closing"] for made in faces)


def test_every_glyph_that_is_promised_is_in_the_fonts():
    """What glyphs.json says a font has, the font inside the installed typst has, in each face that pages use."""
    spec = importlib.util.spec_from_file_location("glyph_table", ROOT / "tests" / "glyph_table.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def codes(flat):
        return {code for first, last in zip(flat[::2], flat[1::2], strict=True) for code in range(first, last + 1)}

    promised = json.loads(module.TARGET.read_text(encoding="utf-8"))
    found = module.table()
    assert list(promised) == list(module.FAMILIES)
    for family, flat in promised.items():
        assert codes(flat) <= codes(found[family])


def test_what_the_trip_raises_stands_first_on_each_part_of_a_card(a_plan):
    """Whoever holds one face alone reads that this arrow is not shot before any pin; a sound trip has no such box."""
    light = card_data(a_plan("high-basin", ("mass: 445 gr", "mass: 310 gr"))[0], faces=FACES)["faces"]
    for face in light:
        first = face["items"][0]
        assert first["kind"] == "stop"
        assert first["text"].startswith("Arrow too light for this bow. At least 5 grains per pound")
        assert "this one is not shot again. (BAS-010: grains per pound is 4.7, less than 5)" in first["text"]
    sound = card_data(a_plan("high-basin")[0], faces=FACES)["faces"]
    assert not [item for face in sound for item in face["items"] if item["kind"] == "stop"]
