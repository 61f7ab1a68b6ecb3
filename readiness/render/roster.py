"""The overview of a camp's clients, worst first: a short page, and everything for machines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.camp.overview import BAD_FILE, READY, Row, counted, pressing
from readiness.camp.table import Dialect
from readiness.render.elements import Heading, Listing, Paragraph, Table
from readiness.render.keys import rules_page

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from readiness.camp.collect import Collection
    from readiness.camp.columns import Listed
    from readiness.camp.roster import Papers
    from readiness.problems import Problem
    from readiness.render.elements import Element, Page


class Overview(NamedTuple):
    """All clients of a camp, worst first, as of a day; and how the table that they stand in is written."""

    camp: str
    contact: str
    today: date
    rows: tuple[Row, ...]
    dialect: Dialect = Dialect()


_HEADERS = ("status", "client", "folder", "to settle", "limit there", "far pin", "stop now", "updated", "returned")
LEGEND = (
    "To settle: missing, in a wrong bag, or not as the place requires. Limit there: the longest recorded distance at "
    "which nine arrows in ten land in the target zone in the camp's air. Far pin: the most careful advice for the "
    "farthest pin; move only after the marks and the bare shaft pass. Updated: the newest day in the client's own "
    "records of the bow. Returned: the day of their newest return form, and the distance verified in it; one that was "
    "verified with another set-up than theirs of now is said to be so, and does not count."
)
_MOST_TOLD, _MOST_GEAR = 6, 3  # entries for one client on the short page
_MOST_NAMES = 10  # folders that are told by name
WHOLE = "overview.html and overview.csv have each of them."


def overview_page(overview: Overview) -> Page:
    """The overview as a short page: how many stand how, one line a client, then the first that each has to settle."""
    page: list[Element] = [
        Heading(f"{overview.camp}: {clients_of(overview)}, as of {overview.today}", 1),
        Paragraph(summary(overview)),
        Table(_HEADERS, tuple(_line(row) for row in overview.rows), right=(3, 4)),
        Paragraph(LEGEND),
    ]
    for row in overview.rows:
        told = tuple(_in_short(row))
        if told:
            page += [Heading(f"{named(row)}: {row.status}"), Listing(told)]
    return tuple(page)


def named(row: Row) -> str:
    """A client's name with what tells them from one of the same name, or of a name that no font can show."""
    return f"{row.client} ({row.mark})" if row.mark and row.mark != row.client else row.client


def returned_words(row: Row) -> str:
    """What came back, and what was verified; with which set-up, where it is not the one of now."""
    if row.verified_otherwise:
        return f"{row.returned}: {row.verified_otherwise}, but with another set-up"
    return f"{row.returned}{row.verified and f': {row.verified}'}"


def form_words(row: Row) -> tuple[str, ...]:
    """What the newest return form says, a line for each answer."""
    said = (answer.partition(": ") for answer in row.form)
    return tuple(f"{key.replace('_', ' ').replace('.', ', ')}: {value}" for key, _, value in said)


def _in_short(row: Row) -> Iterator[str]:
    """The first of what this client has to hear, and how many more there are."""
    told = pressing(row)
    yield from told[:_MOST_TOLD]
    if len(told) > _MOST_TOLD:
        yield f"and {len(told) - _MOST_TOLD} more; {WHOLE}"
    yield from row.unpacked[:_MOST_GEAR]
    if len(row.unpacked) > _MOST_GEAR:
        yield f"and {len(row.unpacked) - _MOST_GEAR} more things missing or in a wrong bag; {WHOLE}"
    if row.recommended:
        yield f"recommended and not in the gear: {', '.join(row.recommended[:_MOST_GEAR])}" + (
            f" and {len(row.recommended) - _MOST_GEAR} more" if len(row.recommended) > _MOST_GEAR else ""
        )


def papers_elements(papers: Papers) -> Page:
    """What the run made, what it left as it was, and what it took away; names where there are few."""
    made, away = (_few(names) for names in (papers.made, papers.taken_away))
    return (
        Heading("Papers in this run"),
        Paragraph(f"Made: {made}. Kept: {len(papers.kept) or 'none'}. Taken away: {away}."),
    )


def _few(names: tuple[str, ...]) -> str:
    return (", ".join(names) or "none") if len(names) <= _MOST_NAMES else str(len(names))


def collected_elements(collection: Collection) -> Page:
    """What was taken in of the files that came back, and what nobody can tell of them."""
    from readiness.camp.collect import NO_PROOF

    lines = tuple(f"{one.file}: {one.client}, {one.new} new, {one.known} there already" for one in collection.taken)
    refused = len({problem.file for problem in collection.problems})
    number = len(collection.taken)
    told = f"{number} file{'' if number == 1 else 's'} taken in, {refused} refused. {NO_PROOF}"
    page: list[Element] = [Heading("Collected"), Paragraph(told), *([Listing(lines)] if lines else [])]
    return (*page, *_passed_over(collection.passed_over))


def _passed_over(names: tuple[str, ...]) -> Iterator[Element]:
    if names:
        number = f"{len(names)} more {'was' if len(names) == 1 else 'were'}"
        first = ", ".join(names[:_MOST_TOLD])
        more = f" and {len(names) - _MOST_TOLD} more" if len(names) > _MOST_TOLD else ""
        hint = "Only files whose names end in .jsonl are; where one of these is a log, name it so and collect again."
        yield Paragraph(f"{number} in the inbox and not read: {first}{more}. {hint}")


def collected_data(collection: Collection) -> dict[str, Any]:
    """The same for machines."""
    from readiness.camp.collect import NO_PROOF

    return {
        "files": [one._asdict() for one in collection.taken],
        "refused": sorted({problem.file for problem in collection.problems}),
        "not_read": list(collection.passed_over),
        "note": NO_PROOF,
    }


def clients_of(overview: Overview) -> str:
    """How many clients there are."""
    n = len(overview.rows)
    return f"{n} client{'' if n == 1 else 's'}"


def summary(overview: Overview) -> str:
    """How many clients stand how, worst first."""
    return ", ".join(f"{number} {status}" for status, number in counted(overview.rows) if number) + "."


def overview_data(overview: Overview, problems: tuple[Problem, ...]) -> dict[str, Any]:
    """The overview with its keys for machines."""
    return {
        "camp": overview.camp,
        "date": str(overview.today),
        "ready": all(row.status == READY for row in overview.rows),
        "counts": dict(counted(overview.rows)),
        "clients": [row.for_machines() for row in overview.rows],
        "problems": [problem.as_dict() for problem in problems],
    }


def columns_page(columns: Sequence[Listed], gear: Sequence[str], *, as_table: bool) -> Page:
    """The columns that a table of clients may have, and the names of gear that the packing list knows."""
    rows = tuple(
        (f"{one.column}{'*' if one.is_required else ''}", one.meaning, one.example, one.allowed) for one in columns
    )
    listed = Listing(tuple(map(_column_words, rows)))
    return (
        Heading("Table of a camp's clients: one row a client", 1),
        Paragraph(
            "Columns stand in any order; leave out what you do not use. * is required. Quantities are text with a "
            "unit. A column beginning with # is your own and is not read. Entries of a list are counted from 1, and "
            "more than are shown here may follow. An empty cell says nothing; none is a list known to be empty. A cell "
            "beginning with = + - or @ may have a quote (') before it."
        ),
        Table(("column", "meaning", "example", "allowed"), rows) if as_table else listed,
        Heading("Gear that the packing list knows"),
        Paragraph(
            "In brackets: other names for it. Small or capital letters and plurals make no difference. What your "
            "camp's file asks clients to bring counts, too; any other name is kept as the client's own."
        ),
        Listing(tuple(gear)),
        *rules_page(),
    )


def _column_words(row: tuple[str, ...]) -> str:
    name, meaning, example, allowed = row
    told = (meaning, f"such as {example}" if example else "", f"allowed: {allowed}" if allowed else "")
    return f"{name}: {'; '.join(filter(None, told))}"


def _line(row: Row) -> tuple[str, ...]:
    far = f"{row.far_pin}: {row.far_advice}" if row.far_pin else "-"
    settle = str(len(row.waiting)) if row.status != BAD_FILE else "-"
    stops = "; ".join(stop.partition(":")[0] for stop in row.stops) or "-"
    return (
        row.status,
        row.client,
        row.folder or (f"none (id {row.id})" if row.id else "none"),
        settle,
        row.limit or "-",
        far,
        stops,
        row.updated or "-",
        returned_words(row) or "-",
    )
