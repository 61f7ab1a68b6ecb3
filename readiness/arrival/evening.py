"""What was shot at one place since the last change: the groups, the cold arrows, the answers to steps."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.answers import reading_of
from readiness.arrival.changes import is_of_sight, is_sight_moved
from readiness.arrival.records import Change, ShotSet, StepAnswer
from readiness.groups import SAME_DISTANCE_M

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from readiness.arrival.records import Log, Shot


class Group(NamedTuple):
    """Arrows of one kind at one distance, judged together.

    The middle and the squares are those of the arrows that have a place; an arrow outside the butt has none, and is
    counted in outside. sets is how many times arrows were added: each is a look at the same question.
    """

    distance_m: float
    kind: str
    head: str | None
    shots: tuple[Shot, ...]
    outside: int
    sets: int

    @property
    def arrows(self) -> int:
        """Arrows that have a place, [-]."""
        return len(self.shots)

    @property
    def right_m(self) -> float:
        """The middle, right of the aiming point, [m]."""
        return sum(shot.right_m for shot in self.shots) / len(self.shots)

    @property
    def up_m(self) -> float:
        """The middle, above the aiming point, [m]."""
        return sum(shot.up_m for shot in self.shots) / len(self.shots)

    @property
    def squares_m2(self) -> float:
        """Squared distances of the arrows from their middle, summed over both axes, [m2]."""
        return squares_m2(self.shots)

    @property
    def dof(self) -> int:
        """Degrees of freedom of those squares, [-]."""
        return 2 * (len(self.shots) - 1) if self.shots else 0


class Evening(NamedTuple):
    """One place's shots since the last change to the bow, and its answers to steps."""

    place: str
    groups: tuple[Group, ...]
    cold: tuple[Group, ...]
    temperature_c: float | None
    answers: Mapping[str, str]
    kept: Mapping[str, str]  # answers of before a change to sight or peep: they still hold for stop steps
    changes: tuple[str, ...]
    answered_since: frozenset[str] = frozenset()  # steps answered after the last shots
    sight_moved: bool = False  # on purpose, so that the zeros recorded at home no longer hold
    twice: bool = False  # a set that is the same to the last digit as one before it

    @property
    def outside(self) -> tuple[Group, ...]:
        """The groups with an arrow outside the butt, near to far."""
        return tuple(group for group in self.groups if group.outside)

    def group(self, kind: str, distance_m: float, head: str | None = None) -> Group | None:
        """The group of a kind at a distance, if it was shot."""
        return _find(self.groups, kind, distance_m, head)

    def cold_at(self, distance_m: float) -> Group | None:
        """The first cold arrows at a distance, fletched with field points as their reference is."""
        return _find(self.cold, "fletched", distance_m, None)


def evening_of(log: Log, place: str, today: date | None = None) -> Evening:
    """The evening at a place.

    A change to the bow, at whatever place, begins a new run: older shots are left out, and the answers of before it
    lapse, all but those to stop steps where the change was to sight or peep alone. Answers older than a day lapse too,
    but for failures: what failed stands until it is answered anew.

    Parameters
    ----------
    log : the standing records of one set-up
    place : name of a destination, [text]
    today : the day that answers are old from; none is if left out

    """
    run = _Run()
    for record in log.judged:
        if isinstance(record, Change):
            run.changed(record.what)
        elif record.stamp.at == place:
            run.take(record)
    run.forget_before(today)
    sets = [part for record in run.sets for part in _parts(record)]
    temperatures = [s.temperature_c for s in run.sets if s.temperature_c is not None]
    return Evening(
        place,
        _grouped(s for s in sets if not s.cold),
        _grouped(s for s in sets if s.cold),
        sum(temperatures) / len(temperatures) if temperatures else None,
        run.answers,
        run.kept,
        tuple(run.changes),
        frozenset(run.since),
        is_sight_moved(run.changes),
        _is_twice(run.sets),
    )


class _Run:
    """What counts after a walk over the records."""

    def __init__(self) -> None:
        self.sets: list[ShotSet] = []
        self.answers: dict[str, str] = {}
        self.kept: dict[str, str] = {}
        self.days: dict[str, str] = {}
        self.changes: list[str] = []
        self.since: set[str] = set()

    def changed(self, what: str) -> None:
        """A change to the bow."""
        self.sets.clear()
        self.since.clear()
        self.changes.append(what)
        self.kept = {**self.kept, **self.answers} if is_of_sight(what) else {}
        self.answers = {}

    def forget_before(self, today: date | None) -> None:
        """Leave out the answers from before yesterday that are no failures."""
        for answers in (self.answers, self.kept):
            for step in [step for step, value in answers.items() if reading_of(value, "") != "fail"]:
                if today is not None and self.days[step] < (today - timedelta(days=1)).isoformat():
                    del answers[step]

    def take(self, record: ShotSet | StepAnswer) -> None:
        """Shots, or an answer that stands for the step from now on."""
        if isinstance(record, StepAnswer):
            self.answers[record.step] = record.value
            self.days[record.step] = record.stamp.time[:10]
            self.since.add(record.step)
        else:
            self.sets.append(record)
            self.since.clear()


def _parts(record: ShotSet) -> tuple[ShotSet, ...]:
    """A set that began with the first cold arrow of the day: that arrow, and the others."""
    if not record.cold:
        return (record,)
    rest = record._replace(shots=record.shots[1:], cold=False)
    return (record._replace(shots=record.shots[:1]), *([rest] if rest.shots else []))


def _is_twice(sets: list[ShotSet]) -> bool:
    seen = [(s.distance_m, s.kind, s.head, s.shots) for s in sets]
    return len(set(seen)) < len(seen)


def squares_m2(shots: Iterable[Shot]) -> float:
    """Squared distances of shots from their middle, summed over both axes, [m2]; 0 for none."""
    shots = tuple(shots)
    if not shots:
        return 0.0
    right = sum(shot.right_m for shot in shots) / len(shots)
    up = sum(shot.up_m for shot in shots) / len(shots)
    return sum((shot.right_m - right) ** 2 + (shot.up_m - up) ** 2 for shot in shots)


def _grouped(sets: Iterable[ShotSet]) -> tuple[Group, ...]:
    groups: list[Group] = []
    for record in sets:
        inside = tuple(shot for shot in record.shots if not shot.outside)
        lost = len(record.shots) - len(inside)
        before = _find(groups, record.kind, record.distance_m, record.head)
        if before is None:
            groups.append(Group(record.distance_m, record.kind, record.head, inside, lost, 1))
        else:
            groups[groups.index(before)] = before._replace(
                shots=before.shots + inside, outside=before.outside + lost, sets=before.sets + 1
            )
    return tuple(sorted(groups, key=lambda group: (group.distance_m, group.kind, group.head or "")))


def _find(groups: Iterable[Group], kind: str, distance_m: float, head: str | None) -> Group | None:
    for group in groups:
        if (group.kind, group.head) == (kind, head) and abs(group.distance_m - distance_m) < SAME_DISTANCE_M:
            return group
    return None
