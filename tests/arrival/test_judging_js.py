"""The handout's arithmetic beside the Python's: the same log, the same verdicts, whatever was shot.

The expected values are those of readiness.arrival, which its own tests hold against independent libraries; the
JavaScript is the file that ships, run by node.
"""

import json
import os
import random
import shutil
import subprocess
from datetime import date
from itertools import pairwise
from math import inf
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import f as f_distribution

from readiness.arrival.answers import reading_of
from readiness.arrival.checks import at_place
from readiness.arrival.evening import evening_of
from readiness.arrival.judging import judge
from readiness.arrival.judging_data import RULES, distance_text, judging_data, known_distances
from readiness.arrival.lines import to_line
from readiness.arrival.log import read_lines, setup_hash
from readiness.forecast import forecast
from readiness.groups import SAME_DISTANCE_M
from readiness.plan import make_plan
from readiness.rules.packs import built_in_packs
from readiness.trip.load import load_trip
from readiness.trip.quantities import read_si

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = ROOT / "readiness" / "render" / "handout_judge.js"
NODE = shutil.which("node")
NEEDED = os.environ.get("CI") == "true"
DAYS = {
    "high-basin": date(2027, 8, 25),
    "river-breaks": date(2027, 10, 25),
    "cold-snap": date(2027, 12, 1),
    "terraces-metric": date(2027, 9, 10),
}

pytestmark = pytest.mark.skipif(NODE is None and not NEEDED, reason="node is not installed, so no JavaScript runs here")


def _javascript(expression, given_data):
    """The value of an expression in the shipped file, with `given` bound to some data."""
    source = f"{SCRIPT.read_text(encoding='utf-8')}\nconst given = JSON.parse(require('fs').readFileSync(0, 'utf8'));\n"
    source += f"process.stdout.write(JSON.stringify({expression}));"
    done = subprocess.run(
        [NODE, "-e", source],
        input=json.dumps(given_data),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_both_take_the_same_distances_for_one():
    """The script has no way to ask for the constant of the Python."""
    assert _javascript("SAME_DISTANCE", None) == SAME_DISTANCE_M


def _plan(name, *changes):
    text = (ROOT / "sample_trips" / f"{name}.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    loaded = load_trip(text, "trip.yaml", DAYS[name])
    assert loaded.trip is not None, loaded.problems
    packs, _ = built_in_packs()
    return make_plan(loaded.trip, packs, today=DAYS[name], units=loaded.trip.units, arrows=12, trip_sha256="0" * 64)[0]


def _without_groups(plan):
    trip = plan.trip._replace(reference=plan.trip.reference._replace(groups=()))
    return plan._replace(trip=trip, forecast=forecast(trip))


@pytest.fixture(scope="module")
def plans():
    """Every sample, and the first one without a recorded group and without a bare-shaft reference."""
    made = {name: _plan(name) for name in DAYS}
    made["no groups"] = _without_groups(made["high-basin"])
    reference = made["high-basin"].trip.reference._replace(bare_shaft=None)
    made["no bare shaft"] = made["high-basin"]._replace(trip=made["high-basin"].trip._replace(reference=reference))
    return made


def _evening(plan, place, rng):
    """Random records as the page writes them: right bows and wrong ones, few arrows and many, undone and changed."""
    trip, units = plan.trip, plan.units
    unit, scale = ("in", 39.37) if units == "imperial" else ("cm", 100.0)
    distances = known_distances(trip, units)
    heads = [head.name for head in trip.hunting_heads]
    records, wide, slip = [], rng.choice((0.0, 0.3, 1.0, 4.0)), rng.choice((0.0, 0.0, 0.002, 0.01))

    def stamped(record, /, **rest):
        stamp = {"record": record, "id": f"{rng.getrandbits(48):012x}", "time": "2027-09-11T17:05:12+00:00"}
        return {
            **stamp,
            "version": "0.1.0",
            "setup": setup_hash(trip),
            "at": rng.choice([place, place, trip.destinations[0].name]),
            **rest,
        }

    def arrow(distance):
        if rng.random() < 0.03:
            return {"outside": True}
        where = (rng.gauss(slip * distance, wide * distance / 1000.0) for _ in "xy")
        return dict(zip(("right", "up"), (round(w * scale, 2) for w in where), strict=True))

    def shots():
        distance = rng.choice(distances)
        kind = rng.choice(("fletched", "fletched", "bare", *(["broadhead"] if heads else [])))
        more = {"head": rng.choice(heads)} if kind == "broadhead" else {}
        more |= {"cold": True} if rng.random() < 0.1 else {}
        n = rng.choice((1, 2, 3, 3, 6, 9))
        text = distance_text(distance, units)
        return stamped("shots", distance=text, kind=kind, **more, unit=unit, shots=[arrow(distance) for _ in range(n)])

    for _ in range(rng.choice((0, 2, 6, 14))):
        records.append(shots())
        if rng.random() < 0.08:
            records.append(
                stamped("change", what=rng.choice(("rest back to its line", "20 yd pin moved", "Pin BACK to its mark")))
            )
        if rng.random() < 0.08:
            records.append(stamped("form", values={"verified_distance": "40 yd", "second_release": "no"}))
        if rng.random() < 0.08:
            undone = rng.choice(records)
            if undone["record"] != "undo" and all(r.get("undoes") != undone["id"] for r in records):
                records.append(stamped("undo", undoes=undone["id"]))
    return records


def _python(plan, place, records):
    log = read_lines("".join(map(to_line, records)).encode(), "camp.log.jsonl")
    assert log.problems == ()
    evening = evening_of(log.log, place)
    return judge(at_place(plan.trip, evening), evening)


def _near(mine, theirs):
    if mine is None or theirs is None:
        return mine is theirs
    return mine == theirs or abs(mine - theirs) <= 1e-9 * max(1e-3, abs(theirs))


def _same(found, wanted):
    assert [v["check"]["name"] for v in found["verdicts"]] == [v.check.name for v in wanted.verdicts]
    assert [(m["check"]["name"], m["missing"]) for m in found["notShot"]] == [(c.name, w) for c, w in wanted.not_shot]
    for mine, theirs in zip(found["verdicts"], wanted.verdicts, strict=True):
        assert (mine["outcome"], mine["reason"]) == (theirs.outcome, theirs.reason)
        assert (mine["check"]["head"], mine["arrows"], mine["outside"]) == (
            theirs.check.head,
            theirs.arrows,
            theirs.outside,
        )
        assert bool(mine.get("wider")) == theirs.wider
        assert _near(mine["off"], theirs.off_m)
        assert _near(mine["circle"], theirs.circle_m)
        assert _near(mine["p"], theirs.p_value)
        assert _near(mine["spent"], theirs.p_spent)
        if theirs.reason == "too few arrows":
            assert mine["needed"] == theirs.needed


def test_every_evening_gets_the_verdicts_of_the_python(plans):
    """400 random evenings over every sample and place: outcome, reason, p, circle and arrows needed are the same."""
    rng = random.Random(20270911)
    given_data, wanted = [], []
    places = {name: judging_data(plan) for name, plan in plans.items()}
    for number in range(400):
        name = list(plans)[number % len(plans)]
        plan = plans[name]
        at = rng.randrange(len(plan.trip.destinations))
        place = plan.trip.destinations[at].name
        records = _evening(plan, place, rng)
        given_data.append({"place": places[name][at], "records": records})
        wanted.append(_python(plan, place, records))
    expression = "given.cases.map((c) => judge(c.place, eveningOf(c.records, c.place.name), given.rules))"
    found = _javascript(expression, {"cases": given_data, "rules": dict(RULES)})
    seen = [v.outcome for judgement in wanted for v in judgement.verdicts]
    reasons = {v.reason for judgement in wanted for v in judgement.verdicts}
    assert min(seen.count(outcome) for outcome in ("pass", "fail", "cannot tell")) >= 40
    assert reasons == {
        "",
        "too few arrows",
        "outside its circle",
        "outside the butt",
        "no group recorded",
        "groups too wide",
    }
    assert any(v.wider for judgement in wanted for v in judgement.verdicts)
    for mine, theirs in zip(found, wanted, strict=True):
        _same(mine, theirs)


def _walk(plan, place, rng):
    """Random records of shots, answers, changes to sight and bow, and what takes one back."""
    elsewhere = plan.trip.destinations[0].name
    whats = ("new string", "20 yd pin moved", "peep back to its mark", "sight tape cleaned", "rest moved")
    records = []
    for number in range(rng.randrange(14)):
        stamp = {"id": f"{number:012x}", "time": f"2027-09-{11 + number // 5}T17:05:12+00:00", "version": "0.1.0"}
        stamp |= {"setup": setup_hash(plan.trip), "at": rng.choice((place, place, elsewhere))}
        kind = rng.choice(("shots", "step", "step", "change", "undo"))
        rest = {
            "shots": {"distance": "20 yd", "kind": "fletched", "unit": "in", "shots": [{"right": 0.0, "up": 0.0}]},
            "step": {"step": rng.choice(("ARR-010", "ARR-020", "ARR-060")), "value": rng.choice(("pass", "fail"))},
            "change": {"what": rng.choice(whats)},
            "undo": {},
        }[kind]
        gone = {record.get("undoes") for record in records}
        free = [r["id"] for r in records if r["record"] != "undo" and r["id"] not in gone]
        if kind == "undo" and not free:
            continue
        rest = {"undoes": rng.choice(free)} if kind == "undo" else rest
        records.append({"record": kind, **stamp, **rest})
    return records


def test_answers_hold_and_lapse_as_in_python(plans):
    """A change to the bow ends all of them, one to the sight those that are no stop steps; so do two days, but failures."""
    rng, plan, cases, wanted = random.Random(20270912), plans["high-basin"], [], []
    for _ in range(300):
        place = rng.choice(plan.trip.destinations).name
        records = _walk(plan, place, rng)
        log = read_lines("".join(map(to_line, records)).encode(), "camp.log.jsonl")
        assert log.problems == ()
        today = rng.choice(("2027-09-11", "2027-09-12", "2027-09-13", "2027-09-14"))
        evening = evening_of(log.log, place, date.fromisoformat(today))
        cases.append([records, place, today])
        wanted.append((dict(evening.answers), dict(evening.kept), sorted(evening.answered_since)))
    found = _javascript("given.map(([records, place, today]) => answersOf(records, place, today))", cases)
    assert [(f["answers"], f["kept"], sorted(set(f["since"]))) for f in found] == wanted
    assert min(sum(bool(part) for part in parts) for parts in zip(*wanted, strict=True)) >= 30


_SPEED = ["ARR-010", "ARR-020"]


@pytest.mark.parametrize(
    ("name", "up", "outcome", "reason", "arrows", "since", "due"),
    [
        ("far zero", -0.1, "fail", "", 2, [], _SPEED),
        ("zero", -0.001, "fail", "", 3, ["ARR-010", "ARR-060"], ["ARR-020"]),
        ("far zero", -0.1, "cannot tell", "outside its circle", 3, [], _SPEED),
        ("near zero", -0.1, "fail", "", 3, _SPEED, []),
        ("far zero", 0.1, "fail", "", 3, [], []),
        ("far zero", -0.1, "pass", "", 3, [], []),
        ("far zero", -0.1, "cannot tell", "too few arrows", 3, [], []),
        ("far zero", -0.1, "cannot tell", "outside its circle", 1, [], []),
        ("bare shaft", -0.1, "fail", "", 3, [], []),
        ("broadhead", -0.1, "fail", "", 3, [], []),
    ],
)
def test_a_low_zero_asks_for_limbs_string_and_cams_again(name, up, outcome, reason, arrows, since, due):
    """Until each of their steps is answered after the last shots; no pass, no single arrow, no other check does."""
    verdicts = [{"check": {"name": "bare shaft"}, "outcome": "pass", "reason": "", "arrows": 3, "up": -1.0}]
    verdicts.append({"check": {"name": name}, "outcome": outcome, "reason": reason, "arrows": arrows, "up": up})
    assert _javascript("dueAgain(given[0], given[1], given[2])", [verdicts, since, _SPEED]) == due


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(1e-3, 50.0), st.integers(1, 40), st.floats(1.0, 300.0)), min_size=1, max_size=20))
def test_the_tail_of_f_agrees_with_an_independent_library(cases):
    """The finite sum for an even first number of degrees of freedom is scipy's F distribution."""
    cases = [(f, 2 * half, dof) for f, half, dof in cases]
    found = _javascript("given.map(([f, a, b]) => fTail(f, a, b))", cases)
    for (f, dof1, dof2), value in zip(cases, found, strict=True):
        assert value == pytest.approx(f_distribution.sf(f, dof1, dof2), rel=1e-9, abs=1e-15)


_EXPECT = "Smooth to the wall, no click or creak; peep opens full within 1.5 mm (8,750 ft)."
_WORDS = "pass Pass: fail FAILED not no No, nothing ok okay good bad but it creaks is all 42 – … éclat"
_PARTS = st.sampled_from(
    [*_WORDS.split(), "no crack", "smooth to the wall", "no click or creak", "within 1.5 mm (8,750 ft)"]
)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.lists(_PARTS, min_size=1, max_size=5).map(" ".join), min_size=40, max_size=40))
def test_answers_to_steps_read_as_in_python(answers):
    """pass, fail or cannot tell: the same for every answer."""
    found = _javascript("given.answers.map((a) => readingOf(a, given.expect))", {"answers": answers, "expect": _EXPECT})
    assert found == [reading_of(answer, _EXPECT) for answer in answers]


def test_the_clock_is_the_hour_hand(plans):
    """30 degrees an hour clockwise from 12, and back to the nearest quarter of an hour."""
    bare = plans["high-basin"].trip.reference.bare_shaft
    hour, minutes = map(int, bare.clock.split(":"))
    at = _javascript("fromClock(given[0], given[1], given[2])", [hour, minutes, bare.offset_m])
    assert at == pytest.approx({"right": bare.right_m, "up": bare.up_m}, abs=1e-12)
    back = _javascript(
        "given.map(([h, m]) => { const p = fromClock(h, m, 0.6); return toClock(p.right, p.up); })",
        [[h, m] for h in range(1, 13) for m in (0, 15, 30, 45)],
    )
    assert [(b["hour"], b["minutes"]) for b in back] == [(h, m) for h in range(1, 13) for m in (0, 15, 30, 45)]
    assert all(abs(b["offset"] - 0.6) < 1e-12 for b in back)


def test_distances_come_back_as_they_were_written(plans):
    """A distance in the log's text is found again by both: within a millimetre of the trip's."""
    for plan in plans.values():
        distances = known_distances(plan.trip, plan.units)
        found = _javascript("given.map(distanceOf)", [distance_text(d, plan.units) for d in distances])
        assert max(abs(a - b) for a, b in zip(found, distances, strict=True)) < 1e-3
        assert min((b - a for a, b in pairwise(distances)), default=inf) >= 0.01


def test_distances_of_another_hand_are_read_or_refused():
    """What `readiness log` keeps as it was typed; a fraction is not read, and so not guessed."""
    texts = [
        "20yd",
        "20 yards",
        "1 yard",
        "18.5 m",
        "18 metres",
        "60 ft",
        "20 1/2 yd",
        "20",
        "yd",
        "",
        "1e3 m",
        "20 mi",
    ]
    found = _javascript("given.map(distanceOf)", texts)
    known = [read_si(text, "length") for text in texts[:6]]
    assert found[:6] == pytest.approx(known)
    assert found[6:] == [None] * 6  # NaN in JSON
