"""The run of a roster: who is to be made, by several processes, each client's papers written whole."""

from __future__ import annotations

import os
import signal
from contextlib import contextmanager
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from readiness import __version__
from readiness.arrival.log import LogFile
from readiness.camp.clients import document_of, fingerprint_of, id_of
from readiness.camp.folders import folder_names
from readiness.camp.ledger import RESERVED, Ledger, MadeClient, remove_papers
from readiness.camp.making import Begun, begin_client, finish_client
from readiness.camp.overview import BAD_FILE, Row
from readiness.camp.papers import PAPERS
from readiness.camp.returned import log_in, log_print, logs_of, unread_logs
from readiness.filenames import folder_key, safe_name
from readiness.files import replace_bytes, sha256_of
from readiness.problems import Fault, Problem
from readiness.render.card import measure_cards

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from concurrent.futures import Future
    from pathlib import Path

    from readiness.camp.clients import Client
    from readiness.camp.making import Made, Setting
    from readiness.documents import Document

# Ctrl-C and the end of a terminal go to all of its processes. An end by `kill` does not, and a worker has to obey it:
# so the pool ends workers when one of them has died.
_OF_A_TERMINAL = tuple(getattr(signal, name) for name in ("SIGINT", "SIGHUP") if hasattr(signal, name))
CHUNK = 24  # most clients that a process takes at a time: their cards are measured together


class Task(NamedTuple):
    """One client to be made, and where its papers go."""

    client: Client
    folder: str
    key: str
    log: Path | None = None


class Roster(NamedTuple):
    """What a run is going to do: clients with their folders, those among them that must be made, and warnings."""

    clients: tuple[Client, ...]
    folders: tuple[str, ...]
    tasks: tuple[Task, ...]
    problems: tuple[Problem, ...]


class Papers(NamedTuple):
    """The folders whose papers a run made, left as they were, and took away; by name."""

    made: tuple[str, ...]
    kept: tuple[str, ...]
    taken_away: tuple[str, ...]


def common_key(setting: Setting) -> str:
    """A hash of everything that goes into every paper: program, day, camp file, rule packs, kinds of papers."""
    parts = [__version__, str(setting.today), setting.camp.document.name, setting.camp.document.text, *PAPERS]
    for pack in setting.packs:
        parts += [pack.name, pack.document.text]
    return sha256_of("\x00".join(parts).encode("utf-8", "surrogatepass"))


def prepare(setting: Setting, clients: Sequence[Client], ledger: Ledger) -> Roster:
    """Give every client its folder, take away what is left of earlier ones, and find who must be made."""
    prints = [fingerprint_of(client) for client in clients]
    ledger.follow({client.name: text for client, text in zip(clients, prints, strict=True) if client.row is not None})
    ids = [_known_id(client, print_, ledger) for client, print_ in zip(clients, prints, strict=True)]
    logs = logs_of(clients, ids)
    stems = [(number, client.stem) for number, client in zip(ids, clients, strict=True)]
    folders = folder_names(stems, RESERVED)
    common = common_key(setting)
    keys = [
        sha256_of(f"{common} {print_} {log_print(log)}".encode("utf-8", "surrogatepass"))
        for print_, log in zip(prints, logs, strict=True)
    ]
    tasks = [
        Task(client, folder, key, log)
        for client, folder, key, log in zip(clients, folders, keys, logs, strict=True)
        if not _is_kept(ledger, client, folder, key)
    ]
    ledger.clear({client.name: folder for client, folder in zip(clients, folders, strict=True)})
    return Roster(tuple(clients), folders, tuple(tasks), (*_repeated_ids(clients, ids), *unread_logs(clients, ids)))


def ids_of(clients: Sequence[Client], ledger: Ledger) -> list[str | None]:
    """The id of each client; read off the ledger where their text has not changed since."""
    return [_known_id(client, fingerprint_of(client), ledger) for client in clients]


def make_all(setting: Setting, roster: Roster, ledger: Ledger, jobs: int, tick: Callable[[int], object]) -> None:
    """Make every client that must be made; tick is called with how many are done, as they are done."""
    if not roster.tasks:
        return
    ledger.begin(roster.folders)
    size = max(1, min(CHUNK, len(roster.tasks) // (4 * jobs)))
    chunks = [roster.tasks[start : start + size] for start in range(0, len(roster.tasks), size)]
    for made in _results(setting, ledger.folder, chunks, min(jobs, len(chunks))):
        for source, entry in made:
            ledger.done(source, entry)
        tick(len(made))


def rows_of(roster: Roster, ledger: Ledger) -> tuple[tuple[Row, ...], tuple[Problem, ...]]:
    """The rows of all clients of a finished run, and their problems."""
    entries = [ledger.entries[client.name] for client in roster.clients]
    rows = tuple(entry.row._replace(folder="" if entry.row.status == BAD_FILE else entry.folder) for entry in entries)
    return rows, (*roster.problems, *(problem for entry in entries for problem in entry.problems))


def papers_of(before: frozenset[str], roster: Roster, ledger: Ledger) -> Papers:
    """What became of the papers in a finished run; before are the folders that had some when it began."""
    has = {ledger.entries[client.name].folder for client in roster.clients if ledger.entries[client.name].files}
    made = {task.folder for task in roster.tasks} & has
    return Papers(*(tuple(sorted(folders)) for folders in (made, has - made, before - has)))


def _repeated_ids(clients: Sequence[Client], ids: Sequence[str | None]) -> Iterator[Problem]:
    """Clients whose id another has, too: neither folder is called so."""
    first: dict[str, str] = {}
    for client, number in zip(clients, ids, strict=True):
        if number is not None:
            key = folder_key(safe_name(number))
            if key in first:
                message = (
                    f"the id {number!r} is that of {first[key]}, too: the folders of both are named by their files"
                )
                yield Fault("repeated-id", message, "give each client an id of its own", "warning").at(
                    client.name, 0, 0
                )
            first.setdefault(key, client.name)


def _known_id(client: Client, fingerprint: str, ledger: Ledger) -> str | None:
    known = ledger.entries.get(client.name)
    if known is not None and fingerprint and known.fingerprint == fingerprint:
        return known.id
    return id_of(document_of(client)[0])


def _is_kept(ledger: Ledger, client: Client, folder: str, key: str) -> bool:
    known = ledger.entries.get(client.name)
    return known is not None and known.key == key and known.folder == folder and ledger.is_whole(known)


def _results(
    setting: Setting, folder: Path, chunks: Sequence[Sequence[Task]], jobs: int
) -> Iterator[list[tuple[str, MadeClient]]]:
    """What is made of each chunk, as it is done; only so many are under way that memory stays flat."""
    if jobs <= 1:
        yield from (_make_chunk(setting, folder, chunk) for chunk in chunks)
        return
    from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
    from multiprocessing import get_context

    waiting = iter(chunks)
    # A fork would copy the locks of typst's threads where this process has set a page before, and wait for ever.
    fresh = get_context("spawn")
    with _without_interrupts():  # it starts a helper of Python's own
        made = ProcessPoolExecutor(jobs, mp_context=fresh, initializer=_start, initargs=(setting, folder))
    with made as pool:
        try:
            running: set[Future[list[tuple[str, MadeClient]]]] = set()
            while True:
                with _without_interrupts():  # the first call starts the workers, who leave those to this process
                    running |= {pool.submit(_work, chunk) for chunk in islice(waiting, 2 * jobs - len(running))}
                if not running:
                    return
                done, running = wait(running, return_when=FIRST_COMPLETED)
                yield from (future.result() for future in done)
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """What a terminal sends to all waits until the end of this; a process that is started here never gets it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _OF_A_TERMINAL)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


_SHARED: dict[str, tuple[Setting, Path]] = {}  # of a worker process: set once when it starts


def _start(setting: Setting, folder: Path) -> None:
    """A worker: it leaves what a terminal sends to its parent, and ends when the parent is gone, however that ended."""
    import gc
    import threading
    from multiprocessing import connection, parent_process

    for number in _OF_A_TERMINAL:
        signal.signal(number, signal.SIG_IGN)
    parent = parent_process()

    def follow() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    threading.Thread(target=follow, daemon=True).start()
    _SHARED["run"] = (setting, folder)
    gc.freeze()  # what is shared by all clients is no garbage: the collector need not walk it for each of them


def _work(tasks: Sequence[Task]) -> list[tuple[str, MadeClient]]:
    return _make_chunk(*_SHARED["run"], tasks)


def _make_chunk(setting: Setting, folder: Path, tasks: Sequence[Task]) -> list[tuple[str, MadeClient]]:
    """Clients begun together, so that all their cards are measured at once; then each finished and written."""
    begun = [_begin(setting, task) for task in tasks]
    measure_cards(made.data.card for _, _, made in begun if isinstance(made, Begun))
    return [
        (task.client.name, _finish(folder, task, document, fingerprint, made))
        for task, (document, fingerprint, made) in zip(tasks, begun, strict=True)
    ]


def _begin(setting: Setting, task: Task) -> tuple[Document | None, str, Begun | Made]:
    document, problems, fingerprint = document_of(task.client)
    log = log_in(task.log)
    if isinstance(log, Problem):
        log = LogFile((), (log,))
    client = task.client
    return document, fingerprint, begin_client(setting, document, problems, fingerprint, client.name, client.stem, log)


def _finish(folder: Path, task: Task, document: Document | None, fingerprint: str, begun: Begun | Made) -> MadeClient:
    made, target = finish_client(begun), folder / task.folder
    if made.papers:
        target.mkdir(exist_ok=True)
        for name, data in made.papers:
            replace_bytes(target / name, data)
    else:
        remove_papers(target)  # of a time when the file was good: nobody may hand them out
    files = {name: len(data) for name, data in made.papers}
    return MadeClient(fingerprint, task.key, id_of(document), task.folder, made.row, made.problems, files)
