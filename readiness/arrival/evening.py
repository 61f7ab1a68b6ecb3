"""What was shot at one place since the last change: the groups, the cold arrows, the answers to steps."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from readiness.arrival.records import Change, ShotSet, StepAnswer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from readiness.arrival.records import Log, Shot

_SAME_DISTANCE_M = 0.01


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
    changes: tuple[str, ...]
    answered_since: frozenset[str] = frozenset()  # steps answered after the last shots

    def group(self, kind: str, distance_m: float, head: str | None = None) -> Group | None:
        """The group of a kind at a distance, if it was shot."""
        return _find(self.groups, kind, distance_m, head)

    def cold_at(self, distance_m: float) -> Group | None:
        """The first cold arrows at a distance."""
        return next((g for g in self.cold if abs(g.distance_m - distance_m) < _SAME_DISTANCE_M), None)


def evening_of(log: Log, place: str) -> Evening:
    """The evening at a place. A change to the bow, at whatever place, begins a new run: older shots are left out."""
    sets: list[ShotSet] = []
    answers: dict[str, str] = {}
    changes: list[str] = []
    since: set[str] = set()
    for record in log.records:
        if isinstance(record, Change):
            sets.clear()
            changes.append(record.what)
        elif record.stamp.at == place:
            if isinstance(record, StepAnswer):
                answers[record.step] = record.value
                since.add(record.step)
            else:
                sets.append(record)
                since.clear()
    temperatures = [s.temperature_c for s in sets if s.temperature_c is not None]
    return Evening(
        place,
        _grouped(s for s in sets if not s.cold),
        _grouped(s for s in sets if s.cold),
        sum(temperatures) / len(temperatures) if temperatures else None,
        answers,
        tuple(changes),
        frozenset(since),
    )


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
        if (group.kind, group.head) == (kind, head) and abs(group.distance_m - distance_m) < _SAME_DISTANCE_M:
            return group
    return None
