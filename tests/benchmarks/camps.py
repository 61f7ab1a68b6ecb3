"""Simulated evenings at camp with a known cause: how often the tool says so, and how sure it is when it is right.

    python tests/benchmarks/camps.py [--evenings 1000] [--seed 1]

Everything is drawn anew for each evening: the archer's home groups and baselines from a true spread, then the arrows
at camp from the same spread, moved by the planted cause. The simulation knows only what an archer would write down.
"""

from __future__ import annotations

import argparse
import random
import sys
from math import cos, hypot, pi, sin
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from datetime import date  # noqa: E402

from readiness.arrival.causes import AIR, NOTHING, diagnose  # noqa: E402
from readiness.arrival.checks import camp_of  # noqa: E402
from readiness.arrival.evening import evening_of  # noqa: E402
from readiness.arrival.evidence import m_per_m_s  # noqa: E402
from readiness.arrival.judging import FAIL, judge  # noqa: E402
from readiness.arrival.records import Log, Shot, ShotSet, Stamp  # noqa: E402
from readiness.trip.load import load_trip  # noqa: E402
from readiness.trip.model import BareShaft, BroadheadReference, GroupRecord  # noqa: E402

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
PLANTED = ("sight", "speed", "vertical tune", "sideways tune", "broadhead flight", "bad arrow", "spread", "other")
CHECK_OF = {"vertical tune": "bare shaft", "sideways tune": "bare shaft", "broadhead flight": "broadhead"}


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
    with_air: bool = True


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

        def moved(distance, extra=(0.0, 0.0), offset=(0.0, 0.0)):
            d = distance * YARD
            air = air_at(camp, d) if fault.with_air else 0.0
            right = (fault.sight[0] + extra[0]) * d + fault.wind_m * (distance / 60.0) ** 2 + offset[0]
            up = (fault.sight[1] + extra[1]) * d + fault.speed_m_s * m_per_m_s(camp, d) + air + offset[1]
            return right, up

        def one(distance, kind, n, first, where, head=None):
            return ShotSet(stamp, distance * YARD, kind, self.shots(distance, n, first, where, fault), head)

        return Log(
            (
                one(20, "fletched", 3, 1, moved(20)),
                one(20, "fletched", 3, 4, moved(20)),
                one(20, "bare", 3, 21, moved(20, fault.bare, self.bare_base)),
                one(60, "fletched", 6, 1, moved(60)),
                one(40, "fletched", 3, 1, moved(40)),
                one(40, "broadhead", 3, 11, moved(40, fault.head, self.head_base), "hunting head"),
            )
        )


def air_at(camp, distance_m):
    """The forecast's shift at a distance there, [m]."""
    from readiness.verification import zero_at

    return zero_at("zero", camp.trip, camp.forecast, distance_m).forecast_m


def judged(evening, fault):
    """Verdicts and causes of an evening with a fault planted."""
    empty = camp_of(evening.trip, evening_of(Log(), PLACE))
    found = evening_of(evening.log(fault, empty), PLACE)
    camp = camp_of(evening.trip, found)
    return judge(camp, found), diagnose(camp, found), camp, found


def planted(cause, times, evening):
    """A fault of so many times the shift that the plain evening can show."""
    rng = evening.rng
    plain, _, camp, _ = judged(evening, Fault())
    shown = {v.check.name: v.shown_m for v in plain.verdicts}
    far, sign = 60 * YARD, rng.choice((-1.0, 1.0))
    at_far = sign * times * shown["far zero"] / far
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


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--evenings", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    trip = trips()
    for name, sigmas in ARCHERS.items():
        rng = random.Random(args.seed)
        alarms = fails = 0
        for _ in range(args.evenings):
            j, d, _, _ = judged(Evening(trip, sigmas, rng), Fault())
            failed = any(v.outcome == FAIL for v in j.verdicts)
            fails += failed
            alarms += failed or (d.leading.name not in (NOTHING, AIR) and d.leading.probability > 0.5)
        print(
            f"{name}: nothing planted: any fail {fails / args.evenings:.3f}, false alarm {alarms / args.evenings:.3f}"
        )
        for cause in PLANTED:
            for times in (3, 2):
                right, confused = 0, {}
                n = max(20, args.evenings // 4)
                for _ in range(n):
                    e = Evening(trip, sigmas, rng)
                    _, d, _, _ = judged(e, planted(cause, times, e))
                    right += d.leading.name == cause
                    if d.leading.name != cause:
                        confused[d.leading.name] = confused.get(d.leading.name, 0) + 1
                print(f"  {cause:18} x{times} {right / n:.2f} {confused}")
