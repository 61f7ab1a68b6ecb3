"""The pages of what to pack and of what stands between a trip and ready."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.packing import NO_BAG, PACKED
from readiness.render.elements import Heading, Listing, Paragraph, Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.packing import OwnItem, PackingList, PackRow
    from readiness.problems import Problem
    from readiness.readying import Readiness
    from readiness.render.elements import Element, Page
    from readiness.rules.packs import Pack
    from readiness.rulings import Ruling
    from readiness.trip.model import Trip

_COLUMNS = {
    "air": (("body", "on you"), ("cabin", "carry-on"), ("checked", "checked")),
    "road": (("body", "on you"), ("vehicle", "truck")),
}


def packing_page(trip: Trip, packing: PackingList) -> Page:
    """The packing list: what is missing first, then what is in a wrong bag, then the rest, by bag."""
    packed = "by air" if trip.travel == "air" else "by road"
    who = ", ".join(filter(None, (trip.hunter_name, trip.hunter_id)))  # first: printed lists lie in one heap
    title = f"{f'{who}. ' if who else ''}{trip.name}: packing list, {packed}, {trip.starts} to {trip.ends}"
    page: list[Element] = [Heading(title, 1)]
    page.append(Paragraph(_bag_words(trip.travel)))
    if not packing.compared:
        page.append(Paragraph("No gear is listed, so nothing is compared: this is the list to pack by."))
    grouped: dict[str, list[PackRow]] = {}
    for row in packing.rows:
        if row.bag != NO_BAG or row.outcome != PACKED:
            grouped.setdefault(row.outcome, []).append(row)
    titles = {
        "missing": "Missing" if packing.compared else "To pack",
        "wrong bag": "In the wrong bag",
        "packed": "Packed",
    }
    for outcome, rows in grouped.items():  # the rows come missing first
        if rows:
            page += [
                Heading(f"{titles[outcome]} ({len(rows)})"),
                _item_table(rows, trip.travel, compared=packing.compared),
            ]
    page += _stays(packing)
    page += _own(packing)
    page += _cases(packing)
    page += [
        Heading("Why, and who says so"),
        Listing(tuple(f"{row.item}: {row.reason}. ({row.source})" for row in packing.rows)),
    ]
    page.append(
        Paragraph(
            "Rules of agencies and airlines change: read them anew in the week you fly. "
            "The officer at the gate decides."
        )
    )
    return tuple(page)


def _bag_words(travel: str) -> str:
    """What the trip file calls the bags of this page."""
    words = (f"bag: {bag} is {title}" for bag, title in _COLUMNS[travel] if title != bag)
    return f"In the trip file, {', '.join(words)}."


def _item_table(rows: Sequence[PackRow], travel: str, *, compared: bool) -> Table:
    """A row for each item: how many, where they go, and where the gear lines say that they are."""
    columns = _COLUMNS[travel]
    titles = dict(columns)
    table = []
    for row in rows:
        goes = dict(row.bags)
        now = ", ".join(f"{count} {titles.get(place, place)}" for place, count in row.places) or "-"
        wanted = (str(goes.get(bag, "")) for bag, _ in columns)
        have, is_in = ((str(row.have),), (now,)) if compared else ((), ())
        table.append(("[ ]", row.item, str(row.need), *have, *wanted, *is_in))
    have, is_in = (("have",), ("is now",)) if compared else ((), ())
    headers = ("", "item", "need", *have, *(title for _, title in columns), *is_in)
    return Table(headers, tuple(table), right=tuple(range(2, len(headers) - len(is_in))))


def _stays(packing: PackingList) -> Iterator[Element]:
    rows = [row for row in packing.rows if row.bag == NO_BAG and row.outcome == "packed"]
    if rows:
        yield Heading("Flies in no bag")
        yield Listing(tuple(f"{row.item}{f', {row.have} listed' if row.have else ''}: {row.reason}" for row in rows))


def _own(packing: PackingList) -> Iterator[Element]:
    if packing.own:
        yield Heading("Your own, which this list does not know")
        yield Listing(tuple(map(_own_words, packing.own)))


def _own_words(own: OwnItem) -> str:
    line = own.line
    close = f"; did you mean {own.close}?" if own.close else ""
    warning = f"; {own.warning}" if own.warning else ""
    return f"[ ] {line.how_many} {line.item}, {line.bag or 'no bag stated'}{close}{warning}"


def _cases(packing: PackingList) -> Iterator[Element]:
    if packing.cases:
        yield Heading("Checked bags against the airline's limits you entered")
        yield Listing(tuple(f"{case.item}: {case.outcome}; {case.reason}" for case in packing.cases))


def check_page(found: Readiness, problems: tuple[Problem, ...]) -> Page:
    """What a trip file lacks. The problems themselves go to the error stream with their places."""
    page: list[Element] = [Heading(f"{found.trip.name}: no errors in the trip file", 1)]
    if found.waiting:
        page += [Heading(f"Not ready: {len(found.waiting)} to settle"), Listing(found.waiting)]
    page += requirement_elements(found.rulings)
    if found.doubts:
        page += [Heading("Doubtful, and told in the plan too"), Listing(found.doubts)]
    if found.gaps:
        page += [
            Heading("Left out, so it cannot be told"),
            Listing(tuple(f"{gap.missing}: {gap.costs}" for gap in found.gaps)),
        ]
    else:
        page.append(Paragraph("Nothing that this format knows is left out."))
    warnings = sum(problem.severity == "warning" for problem in problems)
    if warnings:
        told = "1 warning stands" if warnings == 1 else f"{warnings} warnings stand"
        page.append(Paragraph(f"{told} in the error output with place and remedy: settle it before you travel."))
    if not found.waiting:
        page.append(Paragraph("Nothing listed stands in the way. Next: readiness plan."))
    return tuple(page)


def requirement_elements(rulings: Sequence[Ruling]) -> Iterator[Element]:
    """Each requirement with its outcome, the reason, the user's own source and the day to read it again."""
    if not rulings:
        return
    yield Heading("What the place requires, as you copied it")
    yield Listing(tuple(map(_ruling, rulings)))
    yield Paragraph("These are your own notes held against your own gear, not law. The agency's present text decides.")


def _ruling(ruling: Ruling) -> str:
    requirement = ruling.requirement
    where = ", ".join(filter(None, (requirement.place, requirement.applies_to)))
    older = " An older copy; the newer one decides." if ruling.superseded else ""
    notes = f" Note: {'; '.join(ruling.notes)}." if ruling.notes else ""
    return (
        f"{ruling.outcome.upper()}: {requirement.topic}{f' ({where})' if where else ''}, {requirement.rule}: "
        f"{ruling.because}. Source: {requirement.source}, read {requirement.read_on}; read it again "
        f"{'now' if ruling.recheck_is_due else f'by {ruling.recheck_by}'}.{older}{notes}"
    )


def lint_page(packs: Sequence[Pack], problems: Sequence[Problem]) -> Page:
    """What lint read, and how many problems it found; they are told in the error output, each at its place."""
    steps, cautions, items = (sum(len(_parts(pack)[part]) for pack in packs) for part in range(3))
    counted = ((len(packs), "pack"), (steps, "step"), (cautions, "caution"), (items, "item"))
    read = ", ".join(_counted(number, what) for number, what in counted)
    return (Paragraph(f"{read}: {_counted(len(problems), 'problem')}"),)


def _parts(pack: Pack) -> tuple[Sequence[object], ...]:
    return pack.rules, pack.cautions, pack.items


def _counted(number: int, what: str) -> str:
    return f"{number or 'no'} {what}{'' if number == 1 else 's'}"
