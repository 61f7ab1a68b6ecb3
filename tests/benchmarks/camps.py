"""Simulated evenings at camp with a known cause: how often the tool says so, and how sure it is when it is right.

    python tests/benchmarks/camps.py [--evenings 1000] [--seed 1]

Everything is drawn anew for each evening: the archer's home groups and baselines from a true spread, then the arrows
at camp from the same spread, moved by the planted cause. The simulation knows only what an archer would write down.
"""

from __future__ import annotations

import argparse
import random
import sys
from datetime import date
from math import cos, hypot, pi, sin
from pathlib import Path
from typing import NamedTuple

from figures import Figure, show

from readiness.arrival.causes import (
    AIR,
    ANGLES,
    COUPLED,
    GROWTHS,
    NOTHING,
    PRIORS,
    SPEEDS_M_S,
    UNCHANGED,
    diagnose,
)
from readiness.arrival.cells import m_per_m_s
from readiness.arrival.checks import at_place
from readiness.arrival.evening import evening_of
from readiness.arrival.judging import FAIL, judge
from readiness.arrival.records import Log, Shot, ShotSet, Stamp
from readiness.arrival.resight import corrections, known
from readiness.trip.load import load_trip
from readiness.trip.model import BareShaft, BroadheadReference, GroupRecord

ROOT = Path(__file__).resolve().parents[2]
YARD, INCH = 0.9144, 0.0254
# Per-axis sigma at 20, 40 and 60 yd, [in]: invented archers, good, middling and weak.
ARCHERS = {
    "tight": (0.35, 0.75, 1.2),
    "middling": (0.6, 1.3, 2.2),
    "wide": (1.1, 2.4, 4.0),
}
DISTANCES_YD = (20, 40, 60)
HOME_ARROWS = 10
PAIRS_BEFORE = HEADS_BEFORE = 6
PLACE = "Trailhead camp"
TWO_FAULTS = "two faults"  # planted: `other` has to lead
PLANTED = (
    "sight",
    "speed",
    "vertical tune",
    "sideways tune",
    "broadhead flight",
    "bad arrow",
    "spread",
    "other",
    TWO_FAULTS,
)


class Fault(NamedTuple):
    """What is planted: angles move groups in step with distance, square_m at 60 yd with its square. SI."""

    cause: str = NOTHING
    sight: tuple[float, float] = (0.0, 0.0)
    speed_m_s: float = 0.0
    bare: tuple[float, float] = (0.0, 0.0)
    head: tuple[float, float] = (0.0, 0.0)
    arrow: tuple[int, float, float] = (0, 0.0, 0.0)
    growth: float = 1.0
    wind_m: float = 0.0
    own: dict = {}  # noqa: RUF012  (distance in yd, kind) -> right and up, [m]: groups that moved by themselves
    off_m: dict = {}  # noqa: RUF012  distance in yd -> what the air does beyond its forecast, [m]


def trips():
    """The sample trip with two camps, read once."""
    text = (ROOT / "sample_trips" / "high-basin.yaml").read_text(encoding="utf-8")
    trip = load_trip(text, "high-basin.yaml", date(2027, 8, 25)).trip
    place = trip.destinations[0]._replace(temperatures_c=(5.0,))
    return trip._replace(destinations=(place,))


class Evening:
    """One archer's home records and one evening at camp."""

    def __init__(self, trip, sigmas_in, rng):
        self.rng, self.sigmas = rng, {d: s * INCH for d, s in zip(DISTANCES_YD, sigmas_in, strict=True)}
        self.zeros = {d: self.point(d, 0.3) for d in DISTANCES_YD}
        self.bare_base, self.head_base = (-0.009, -0.012), (0.008, -0.013)
        self.trip = trip._replace(reference=trip.reference._replace(**self.home()))
        # Every distance that is shot is one of the plan's checks but 40 yd, whose zero joins with its group.
        middle = ShotSet(Stamp("0", "t", "v", "s", PLACE), 40 * YARD, "fletched", (Shot(0.0, 0.0),))
        self.camp = at_place(self.trip, evening_of(Log((middle,)), PLACE))

    def point(self, distance, share=1.0):
        sigma = self.sigmas[distance] * share
        return self.rng.gauss(0.0, sigma), self.rng.gauss(0.0, sigma)

    def home(self):
        groups = []
        for d in DISTANCES_YD:
            shots = [self.point(d) for _ in range(HOME_ARROWS)]
            right, up = (sum(s[i] for s in shots) / HOME_ARROWS for i in (0, 1))
            radius = sum(hypot(r - right, u - up) for r, u in shots) / HOME_ARROWS
            zero = self.zeros[d]
            groups.append(GroupRecord(d * YARD, HOME_ARROWS, "mean_radius", radius, right + zero[0], up + zero[1]))
        bare, head = self.difference(20, PAIRS_BEFORE), self.difference(40, HEADS_BEFORE)
        bare_place = (self.bare_base[0] + bare[0], self.bare_base[1] + bare[1])
        return {
            "groups": tuple(groups),
            "bare_shaft": BareShaft(20 * YARD, "7:15", hypot(*bare_place), *bare_place, PAIRS_BEFORE),
            "broadheads": (
                BroadheadReference(
                    "hunting head", 40 * YARD, self.head_base[0] + head[0], self.head_base[1] + head[1], HEADS_BEFORE
                ),
            ),
            "cold_first": (),
        }

    def difference(self, distance, n):
        return self.point(distance, (2.0 / n) ** 0.5)

    def shots(self, distance, n, first, moved, fault):
        out = []
        for i in range(n):
            right, up = self.point(distance, fault.growth)
            number = first + i
            if number == fault.arrow[0]:
                right, up = right + fault.arrow[1] * distance * YARD, up + fault.arrow[2] * distance * YARD
            out.append(
                Shot(self.zeros[distance][0] + moved[0] + right, self.zeros[distance][1] + moved[1] + up, number)
            )
        return tuple(out)

    def log(self, fault, camp):
        stamp = Stamp("0", "t", "v", "s", PLACE)

        def moved(distance, kind="fletched", extra=(0.0, 0.0), offset=(0.0, 0.0)):
            d = distance * YARD
            own = fault.own.get((distance, kind), (0.0, 0.0))
            air = air_at(camp, d) + fault.off_m.get(distance, 0.0) + own[1]
            right = own[0] + (fault.sight[0] + extra[0]) * d + fault.wind_m * (distance / 60.0) ** 2 + offset[0]
            up = (fault.sight[1] + extra[1]) * d + fault.speed_m_s * m_per_m_s(camp, d) + air + offset[1]
            return right, up

        def one(distance, kind, n, first, where, head=None):
            return ShotSet(stamp, distance * YARD, kind, self.shots(distance, n, first, where, fault), head)

        return Log(
            (
                one(20, "fletched", 3, 1, moved(20)),
                one(20, "fletched", 3, 4, moved(20)),
                one(20, "bare", 3, 21, moved(20, "bare", fault.bare, self.bare_base)),
                one(60, "fletched", 6, 1, moved(60)),
                one(40, "fletched", 3, 1, moved(40)),
                one(40, "broadhead", 3, 11, moved(40, "broadhead", fault.head, self.head_base), "hunting head"),
            )
        )


def air_at(camp, distance_m):
    """The forecast's shift at a distance there, [m]."""
    from readiness.verification import zero_at

    return zero_at("zero", camp.trip, camp.forecast, distance_m).forecast_m


def judged(evening, fault):
    """Verdicts and causes of an evening with a fault planted."""
    camp = evening.camp
    found = evening_of(evening.log(fault, camp), PLACE)
    return judge(camp, found), diagnose(camp, found), camp, found


# Two faults that no single cause predicts. A sight and a tune on one axis, or a tune and heads, are what a moved rest with
# followers does, and putting the rest back is the right first step there.
PAIRS = (
    ("sight", "broadhead flight"),
    ("speed", "broadhead flight"),
    ("speed", "sideways tune"),
    ("vertical tune", "sideways tune"),
)


def _both(a, b):
    return tuple(x + y for x, y in zip(a, b, strict=True)) if isinstance(a, tuple) else a + b


def planted(cause, times, evening):
    """A fault of so many times the shift that the plain evening can show."""
    rng = evening.rng
    camp = evening.camp
    plain = judge(camp, evening_of(evening.log(Fault(), camp), PLACE))
    shown = {v.check.name: v.shown_m for v in plain.verdicts}
    far, sign = 60 * YARD, rng.choice((-1.0, 1.0))
    at_far = sign * times * shown["far zero"] / far
    if cause == TWO_FAULTS:
        one, two = (planted(c, times, evening) for c in rng.choice(PAIRS))
        return Fault("other", *(_both(a, b) for a, b in zip(one[1:5], two[1:5], strict=True)))
    if cause == "sight":
        return Fault(cause, sight=(at_far, 0.0) if rng.random() < 0.4 else (0.0, at_far))
    if cause == "speed":
        return Fault(cause, speed_m_s=at_far * far / m_per_m_s(camp, far))
    if cause in ("vertical tune", "sideways tune"):
        angle = sign * times * shown["bare shaft"] / (20 * YARD)
        return Fault(cause, bare=(0.0, angle) if cause == "vertical tune" else (angle, 0.0))
    if cause == "broadhead flight":
        angle, turn = times * shown["broadhead"] / (40 * YARD), rng.uniform(0.0, 2.0 * pi)
        return Fault(cause, head=(angle * cos(turn), angle * sin(turn)))
    if cause == "bad arrow":
        turn = rng.uniform(0.0, 2.0 * pi)
        return Fault(cause, arrow=(rng.randint(1, 3), at_far * cos(turn), at_far * sin(turn)))
    if cause == "spread":
        return Fault(cause, growth=1.0 + times * 0.5)
    return Fault(cause, wind_m=at_far * far)


def drawn(rng):
    """A cause and a size from what the tool believes before the first shot."""
    names = [NOTHING, *PRIORS]
    cause = rng.choices(names, [UNCHANGED, *PRIORS.values()])[0]
    angle, normal = rng.choice(ANGLES), lambda scale: rng.gauss(0.0, scale)
    if cause == "sight":
        axes = rng.choices((("up",), ("right",), ("up", "right")), (0.4, 0.3, 0.3))[0]
        return Fault(cause, sight=tuple(normal(angle) if axis in axes else 0.0 for axis in ("right", "up")))
    if cause == "speed":
        return Fault(cause, speed_m_s=normal(rng.choices(list(SPEEDS_M_S), SPEEDS_M_S.values())[0]))
    if cause in ("vertical tune", "sideways tune"):
        axis, follows = cause == "vertical tune", rng.random() < 0.5
        bare, head, rest = normal(angle), *(normal(COUPLED * angle) * follows for _ in range(2))
        return Fault(
            cause,
            **{name: (0.0, v) if axis else (v, 0.0) for name, v in (("bare", bare), ("head", head), ("sight", rest))},
        )
    if cause == "broadhead flight":
        return Fault(cause, head=(normal(angle), normal(angle)))
    if cause == "bad arrow":
        return Fault(cause, arrow=(rng.randint(1, 6), normal(angle), normal(angle)))
    if cause == "spread":
        return Fault(cause, growth=rng.choice(GROWTHS))
    if cause == "other":
        return rng.choice((wind, on_their_own, two_faults))(rng, angle)
    return Fault()


def wind(rng, angle):
    """Sideways with the square of the distance."""
    return Fault("other", wind_m=rng.gauss(0.0, angle) * 60 * YARD)


def on_their_own(rng, angle):
    """Every group by itself."""
    cells = ((20, "fletched"), (20, "bare"), (60, "fletched"), (40, "fletched"), (40, "broadhead"))
    return Fault("other", own={(d, k): tuple(rng.gauss(0.0, angle * d * YARD) for _ in "xy") for d, k in cells})


def two_faults(rng, angle):
    """Two of sight, speed, tune and heads; a speed that does at 60 yd what the angle does."""
    two = lambda: (rng.gauss(0.0, angle), rng.gauss(0.0, angle))  # noqa: E731
    fps = 0.6 * INCH / 0.3048  # what a foot per second does at 60 yd, by the reference tables: 0.6 in
    faults = {
        "sight": two(),
        "speed_m_s": rng.gauss(0.0, angle) * 60 * YARD / fps,
        "bare": two(),
        "head": two(),
    }
    return Fault("other", **{name: faults[name] for name in rng.sample(sorted(faults), 2)})


def unchanged(cause):
    """nothing and air are one claim: the bow is as it was."""
    return NOTHING if cause == AIR else cause


def calibration(trip, evenings, rng):
    """Stated probability against how often it comes true: of the leading cause, and of every cause."""
    leading, every = [], []
    for _ in range(evenings):
        fault = drawn(rng)
        evening = Evening(trip, rng.choice(list(ARCHERS.values())), rng)
        _, found, _, _ = judged(evening, fault)
        shares = {}
        for cause in found.causes:
            shares[unchanged(cause.name)] = shares.get(unchanged(cause.name), 0.0) + cause.probability
        best = max(shares, key=shares.get)
        leading.append((shares[best], best == fault.cause))
        every += [(share, name == fault.cause) for name, share in shares.items()]
    return leading, every


def reliability(pairs, bins=10):
    """(bin, how many, mean stated, share true) a bin, and the expected calibration error."""
    rows, error = [], 0.0
    for i in range(bins):
        inside = [(p, true) for p, true in pairs if i / bins <= p < (i + 1) / bins or (p == 1.0 and i == bins - 1)]
        if inside:
            stated, true = (sum(values) / len(inside) for values in zip(*inside, strict=True))
            rows.append((f"{i / bins:.1f}-{(i + 1) / bins:.1f}", len(inside), stated, true))
            error += len(inside) / len(pairs) * abs(stated - true)
    return rows, error


def coverage(trip, sigmas, evenings, rng):
    """Share of the 95 % re-sight bands that hold where the pin's arrows really land, over pins and evenings."""
    held = bands = 0
    for _ in range(evenings):
        evening = Evening(trip, sigmas, rng)
        camp = evening.camp
        offset, faster, drag, air = (rng.gauss(0.0, 1.0) for _ in range(4))
        prior = {d: known(camp, d * YARD).columns for d in DISTANCES_YD}
        extra = {d: offset * c[0] + faster * c[1] + drag * c[2] + air * c[3] for d, c in prior.items()}
        shot = evening_of(evening.log(Fault(off_m=extra), camp), PLACE)
        for one in corrections(camp, shot):
            d = round(one.distance_m / YARD)
            if d in DISTANCES_YD:
                true = evening.zeros[d][1] + air_at(camp, one.distance_m) + extra[d]
                held += one.shift_low_m <= true <= one.shift_high_m
                bands += 1
    return held / bands


def leads(trip, sigmas, cause, times, evenings, rng):
    """How often a planted cause leads, and what leads instead."""
    instead = {}
    for _ in range(evenings):
        evening = Evening(trip, sigmas, rng)
        _, found, _, _ = judged(evening, planted(cause, times, evening))
        instead[found.leading.name] = instead.get(found.leading.name, 0) + 1
    return instead.pop("other" if cause == TWO_FAULTS else cause, 0) / evenings, instead


def false_alarms(trip, sigmas, evenings, rng):
    """With nothing planted: share of evenings with any fail, and with a fail or a wrong cause above one half."""
    fails = alarms = 0
    for _ in range(evenings):
        verdicts, found, _, _ = judged(Evening(trip, sigmas, rng), Fault())
        failed = any(v.outcome == FAIL for v in verdicts.verdicts)
        wrong = unchanged(found.leading.name) != NOTHING and found.leading.probability > 0.5
        fails, alarms = fails + failed, alarms + (failed or wrong)
    return fails / evenings, alarms / evenings


def false_alarms_at_any_look(trip, sigmas, evenings, rng):
    """The same, judged after every set: share of evenings with an alarm at any look."""
    fails = alarms = 0
    for _ in range(evenings):
        evening = Evening(trip, sigmas, rng)
        records = evening.log(Fault(), evening.camp).records
        failed = wrong = False
        for seen in range(1, len(records) + 1):
            found = evening_of(Log(records[:seen]), PLACE)
            failed |= any(v.outcome == FAIL for v in judge(evening.camp, found).verdicts)
            causes = diagnose(evening.camp, found)
            wrong |= unchanged(causes.leading.name) != NOTHING and causes.leading.probability > 0.5
        fails, alarms = fails + failed, alarms + (failed or wrong)
    return fails / evenings, alarms / evenings


def alarms(trip, evenings, rng):
    """Nothing planted: any fail, or a wrong cause above 0.5."""
    found = []
    for name, sigmas in ARCHERS.items():
        fails, wrong = false_alarms(trip, sigmas, evenings, rng)
        print(f"  nothing planted, {name}: any fail {fails:.3f}")
        found.append(Figure(f"nothing planted, {name} groups: a fail, or a wrong cause above 0.5", wrong, most=0.05))
    for name, sigmas in ARCHERS.items():
        fails, wrong = false_alarms_at_any_look(trip, sigmas, evenings // 2, rng)
        print(f"  the same judged after every set, {name}: any fail at any look {fails:.3f}, any alarm {wrong:.3f}")
    return found


def leading(trip, evenings, rng):
    """Planted causes: how often each leads, at 3 times what the farthest group can show and at 2 times."""
    least = {}
    for name, sigmas in ARCHERS.items():
        for cause in PLANTED:
            (three, instead), (two, _) = (leads(trip, sigmas, cause, t, evenings // 4, rng) for t in (3, 2))
            print(f"  {name:10}{cause:20}3 times {three:5.2f}, 2 times {two:5.2f}  {instead or ''}")
            least[cause] = min(three, least.get(cause, 1.0))
    return [
        Figure(f"planted at 3 times: {cause} leads, worst archer", share, least=0.9) for cause, share in least.items()
    ]


def calibrated(trip, evenings, rng):
    """Stated probabilities against what comes true."""
    found = []
    for title, pairs in zip(("leading cause", "every cause"), calibration(trip, evenings * 2, rng), strict=True):
        rows, error = reliability(pairs)
        for label, count, stated, true in rows:
            print(f"  {title:14} {label}{count:8} stated {stated:5.2f}, true {true:5.2f}")
        found.append(Figure(f"expected calibration error, {title}", error, most=0.05))
    return found


def covered(trip, evenings, rng):
    """95 % re-sight bands that hold the truth."""
    return [
        Figure(f"95 % re-sight bands that hold the truth, {name}", coverage(trip, sigmas, evenings, rng), 0.93, 0.97)
        for name, sigmas in ARCHERS.items()
    ]


def figures(evenings, seed):
    """Everything that this script measures."""
    trip, rng = trips(), random.Random(seed)
    print(f"  {evenings} evenings of each kind, seed {seed}")
    return [figure for part in (alarms, leading, calibrated, covered) for figure in part(trip, evenings, rng)]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--evenings", type=int, default=1000, help="of each kind; a planted cause gets a quarter of it")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    return show(figures(args.evenings, args.seed))


if __name__ == "__main__":
    sys.exit(main())
