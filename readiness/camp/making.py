"""One client at a camp -> overview row, problems, papers. Pure but for the clock that is handed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, cast

from readiness.arrival.log import LogFile
from readiness.camp.clients import id_of, name_of
from readiness.camp.merge import load_client
from readiness.camp.model import words_of
from readiness.camp.overview import Row, bad_row, row_of
from readiness.camp.papers import PAPERS, paper_data_of, unprintable
from readiness.camp.returned import returned_of
from readiness.forecast import DEFAULT_ARROWS
from readiness.plan import make_plan
from readiness.problems import Fault, Problem
from readiness.slips import gear_slips

if TYPE_CHECKING:
    from datetime import date

    from readiness.camp.model import Camp
    from readiness.camp.papers import PaperData
    from readiness.documents import Document
    from readiness.rules.packs import Pack
    from readiness.units import UnitSystem

EMPTY_LOG = LogFile((), ())


class Setting(NamedTuple):
    """What is the same for every client of a run. told are the camp file's own problems."""

    camp: Camp
    packs: tuple[Pack, ...]
    told: tuple[Problem, ...]
    today: date


class Made(NamedTuple):
    """What was made of one client; no papers where the file has errors."""

    row: Row
    problems: tuple[Problem, ...]
    papers: tuple[tuple[str, bytes], ...]


class Begun(NamedTuple):
    """A client whose papers are still to be made: what they are made of, the row, the problems."""

    data: PaperData
    row: Row
    problems: tuple[Problem, ...]


def begin_client(
    setting: Setting,
    document: Document | None,
    problems: tuple[Problem, ...],
    fingerprint: str,
    source: str,
    stem: str,
    log: LogFile = EMPTY_LOG,
) -> Begun | Made:
    """Everything for one client but the papers; where there can be none, the end of it.

    Whatever fails becomes a problem of this client, and the others go on.

    Parameters
    ----------
    setting : camp, rule packs and day
    document : the client's document, or None with the problems that it could not be read for
    problems : those problems
    fingerprint : hash of the client's text, for the papers
    source : the client's file or row for messages, [text]
    stem : what the client is called where the file says neither name nor id, [text]
    log : the client's log, for what came back from them

    """
    if document is None:
        return Made(bad_row(problems, source, stem, None), problems, ())
    try:
        return _begun(setting, document, fingerprint, source, stem, log)
    except Exception as error:  # noqa: BLE001  one client never stops the others: told, and the rest goes on
        return _not_made(error, source, name_of(document) or stem, id_of(document))


def finish_client(begun: Begun | Made) -> Made:
    """The papers of a client that was begun."""
    if isinstance(begun, Made):
        return begun
    try:
        return Made(begun.row, begun.problems, tuple((name, make(begun.data)) for name, make in PAPERS.items()))
    except Exception as error:  # noqa: BLE001  as above
        return _not_made(error, begun.row.source, begun.row.client, begun.row.id)


def _not_made(error: Exception, source: str, name: str, client_id: str | None) -> Made:
    fault = Fault(
        "not-made",
        f"the papers of this client could not be made ({type(error).__name__}: {error}): our fault, not yours",
        "readiness plan with this client's whole trip tells more",
    )
    found = (fault.at(source, 0, 0),)
    return Made(bad_row(found, source, name, client_id), found, ())


def _begun(
    setting: Setting, document: Document, fingerprint: str, source: str, stem: str, log: LogFile
) -> Begun | Made:
    loaded = load_client(document, setting.camp.document, setting.told, setting.today)
    if loaded.trip is None:
        row = bad_row(loaded.problems, source, name_of(document) or stem, id_of(document))
        return Made(row, loaded.problems, ())
    plan, failed = make_plan(
        loaded.trip,
        setting.packs,
        today=setting.today,
        units=cast("UnitSystem", loaded.trip.units),
        arrows=DEFAULT_ARROWS,
        trip_sha256=fingerprint,
    )
    plan = plan._replace(camp_words=words_of(setting.camp))
    slips = gear_slips(document, loaded.trip.gear or (), plan.packing)
    problems = (*loaded.problems, *failed, *slips, *log.problems)
    missing = unprintable(plan)
    if missing:
        message = f"no font of the card has {', '.join(missing)}: it stands there as a number"
        problems = (
            *problems,
            Fault("no-glyph", message, "write the name in other letters", "warning").at(source, 0, 0),
        )
    came = returned_of(loaded.trip, log.log)
    row = row_of(plan, problems, source, stem, came, setting.camp.bring)
    return Begun(paper_data_of(plan), row, problems)
