"""What most commands begin with: the trip file read, the rule packs read, the plan made, or the end with problems."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, cast

from readiness.terminal import complain, give_up

if TYPE_CHECKING:
    from pathlib import Path

    from readiness.files import Source
    from readiness.plan import Plan
    from readiness.problems import Problem
    from readiness.rules.packs import Pack
    from readiness.trip.model import Trip
    from readiness.units import UnitSystem


def load(trip_file: str, today: date | None, *, json_too: bool = False) -> tuple[Trip, tuple[Problem, ...], Source]:
    """The trip, its warnings (told on standard error) and its source; an error ends here."""
    from readiness.files import read_source
    from readiness.problems import Problem
    from readiness.trip.load import load_trip

    source = read_source(trip_file)
    if isinstance(source, Problem):
        give_up([source], json_too=json_too)
    loaded = load_trip(source.text, source.name, today or date.today())
    if loaded.trip is None:
        give_up(loaded.problems, json_too=json_too)
    complain(loaded.problems)
    return loaded.trip, loaded.problems, source


def planned(
    trip_file: str,
    today: date | None,
    checklists: tuple[Path, ...] | None,
    *,
    units: str | None = None,
    arrows: int | None = None,
    json_too: bool = False,
) -> tuple[Plan, tuple[Problem, ...], bool]:
    """The plan, the trip file's warnings, and whether a rule pack was broken. Without checklists no pack is read."""
    from readiness.forecast import DEFAULT_ARROWS
    from readiness.plan import make_plan

    trip, warnings, source = load(trip_file, today, json_too=json_too)
    packs, problems = _packs(checklists) if checklists is not None else ((), ())
    made, failed = make_plan(
        trip,
        packs,
        today=today or date.today(),
        units=cast("UnitSystem", units or trip.units),
        arrows=arrows or DEFAULT_ARROWS,
        trip_sha256=source.sha256,
    )
    slips = _slips(made, source)
    complain((*problems, *failed, *slips))
    return made, (*warnings, *slips), bool(problems or failed)


def _slips(made: Plan, source: Source) -> tuple[Problem, ...]:
    """Gear that is misspelt, told where it stands; the file is read for it once more only where there is some."""
    if not any(own.close for own in made.packing.own):
        return ()
    from readiness.documents import read_document
    from readiness.slips import gear_slips

    document, _ = read_document(source.text, source.name)
    return () if document is None else tuple(gear_slips(document, made.trip.gear or (), made.packing))


def _packs(directories: tuple[Path, ...]) -> tuple[tuple[Pack, ...], tuple[Problem, ...]]:
    from readiness.rules.packs import built_in_packs, packs_at

    packs, problems = built_in_packs()
    for directory in directories:
        more, unreadable = packs_at(directory)
        if not more:
            give_up(unreadable)
        packs, problems = (*packs, *more), (*problems, *unreadable)
    if directories:
        from readiness.rules.lint import lint_packs

        problems = (*problems, *lint_packs(packs))
    return packs, problems
