"""What tests of the camp share: a sound record of each kind, files of records, and evenings in yards and inches."""

from math import cos, pi, sin

import pytest

from readiness.arrival.causes import diagnose
from readiness.arrival.checks import at_place
from readiness.arrival.evening import evening_of
from readiness.arrival.judging import judge
from readiness.arrival.lines import to_line
from readiness.arrival.records import Change, Log, Shot, ShotSet, Stamp, StepAnswer

STAMP = {
    "time": "2027-09-11T17:05:12+00:00",
    "version": "0.1.0",
    "setup": "0123456789abcdef",
    "at": "Marsh hut",
}


@pytest.fixture(scope="session")
def entry():
    """A function: the data of a sound record, with keys exchanged; a key given as None is left out."""

    def of(record="shots", number=1, **keys):
        own = {
            "shots": {
                "distance": "20 yd",
                "kind": "fletched",
                "unit": "in",
                "shots": [{"right": 0.3, "up": -0.4, "arrow": 7}, {"outside": True}],
            },
            "change": {"what": "sight back to 42.5"},
            "step": {"step": "ARR-010", "value": "pass: no crack"},
            "form": {"client": "c07", "values": {"draw_weight": "66 lb"}},
            "undo": {"undoes": f"{number - 1:012x}"},
        }.get(record, {})
        data = {"record": record, "id": f"{number:012x}", **STAMP, **own, **keys}
        return {key: value for key, value in data.items() if value is not None}

    return of


@pytest.fixture
def a_log(tmp_path):
    """A function: a log file of some records, or of raw bytes."""

    def written(*entries):
        path = tmp_path / "trip.log.jsonl"
        path.write_bytes(b"".join(e if isinstance(e, bytes) else to_line(e).encode() for e in entries))
        return path

    return written


YARD, INCH = 0.9144, 0.0254


class Camp:
    """The first sample's first camp at a temperature, and what was shot there, in yards and inches."""

    def __init__(self, trip, temperature_c=5.0):
        self.trip, self.records, self.temperature_c = trip, [], temperature_c

    def stamp(self):
        return Stamp(f"{len(self.records):012x}", "2027-09-11T17:00:00+00:00", "0.1.0", "0" * 16, "Trailhead camp")

    def shot(self, yards, shots, kind="fletched", head=None, cold=False):
        """A set of (right, up) or (right, up, number) in inches; None is an arrow outside the butt."""
        placed = tuple(
            Shot(0.0, 0.0, outside=True) if s is None else Shot(s[0] * INCH, s[1] * INCH, s[2] if len(s) > 2 else None)
            for s in shots
        )
        self.records.append(ShotSet(self.stamp(), yards * YARD, kind, placed, head, cold, self.temperature_c))
        return self

    def changed(self, what):
        self.records.append(Change(self.stamp(), what))
        return self

    def answered(self, *steps, value="pass"):
        for step in steps:
            self.records.append(StepAnswer(self.stamp(), step, value))
        return self

    @property
    def log(self):
        return Log(tuple(self.records))

    @property
    def evening(self):
        return evening_of(self.log, "Trailhead camp")

    @property
    def camp(self):
        return at_place(self.trip, self.evening)

    def verdict(self, name, yards=None):
        return next(
            v
            for v in judge(self.camp, self.evening).verdicts
            if v.check.name == name and (yards is None or abs(v.check.distance_m - yards * YARD) < 0.01)
        )

    def causes(self):
        return diagnose(self.camp, self.evening)


def around(right, up, size=0.4, n=3):
    """n shots with this middle, on a small regular figure about it."""
    turns = [2 * pi * i / n for i in range(n)]
    return [(right + size * cos(t), up + size * sin(t)) for t in turns]


@pytest.fixture
def at_camp(a_trip):
    """A function: a camp of the first sample, with pieces of the trip's text exchanged."""

    def made(*changes, temperature_c=5.0):
        return Camp(a_trip("high-basin", *changes), temperature_c)

    return made


@pytest.fixture(scope="session")
def ring():
    """A function: shots around a middle."""
    return around
