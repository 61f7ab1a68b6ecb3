"""Hostile text and odd files in the place of everything that a command reads."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.faults import sandbox, texts
from tests.faults.processes import run
from tests.faults.sandbox import DAY, Call
from tests.faults.verdict import row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from tests.faults.choice import Choice
    from tests.faults.texts import Hostile
    from tests.faults.verdict import Row


class Kind(NamedTuple):
    """One kind of file: its hostile texts, the place that it stands in, and the commands that read it."""

    texts: Mapping[str, Hostile]
    place: str
    calls: Mapping[str, Call]
    always: frozenset[int] = frozenset()  # codes that are right here, too


TAKEN, EITHER = texts.TAKEN, texts.EITHER
KINDS = {
    "trip": Kind(texts.TRIP, "trip.yaml", sandbox.OF_A_TRIP),
    "pack": Kind(texts.PACK, "packs/river.yaml", sandbox.OF_A_PACK, frozenset({1})),
    "camp": Kind(texts.YAML, "camp/camp.yaml", sandbox.OF_A_CAMP),
    "client": Kind(texts.TRIP, "camp/clients/asa.yaml", sandbox.OF_A_CAMP, TAKEN),
    "table": Kind(texts.TABLE, "camp/clients.csv", sandbox.OF_A_CAMP, frozenset({1})),
    "log": Kind(texts.LOG, "trip.log.jsonl", sandbox.OF_A_LOG, EITHER),
    "import": Kind(texts.LOG, "other.jsonl", sandbox.IMPORT, EITHER),
    "inbox": Kind(texts.LOG, "inbox/asa.jsonl", sandbox.COLLECT, TAKEN),
    "stdin": Kind(texts.TRIP, "-", {"plan -": Call(("plan", "-")), "card -": Call(("card", "-", "-o", "out/card.pdf"),
                                                                                 ("out/card.pdf",))}),
    "lines": Kind(texts.LINES, "-", sandbox.LINES),
}  # fmt: skip


def _link(path: Path) -> None:
    path.symlink_to(path.parent.parent / "elsewhere")


def _loop(path: Path) -> None:
    path.symlink_to(path.name)


def _zeros(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _nothing(_: Path) -> None:
    return


# In the place of a file; each of them is told, and none is waited for.
ODD: dict[str, Callable[[Path], object]] = {
    "a named pipe": os.mkfifo, "a folder": Path.mkdir, "a link to nowhere": _link, "a link to itself": _loop,
    "a link to endless zeros": _zeros, "no file": _nothing,
}  # fmt: skip


def rows(choice: Choice) -> Iterator[Row]:
    """Every kind of file, hostile or odd, and each command that reads it."""
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        for number, (fault, kind, wrong) in enumerate(_faults()):
            if choice.takes(number, fault):
                if isinstance(wrong, texts.Hostile):
                    yield from _of_text(good, fault, kind, wrong)
                else:
                    yield from _of_odd(good, fault, kind, wrong)


def _faults() -> Iterator[tuple[str, Kind, Hostile | Callable[[Path], object]]]:
    for kind_name, kind in KINDS.items():
        for name, wrong in {**kind.texts, **(ODD if kind.place != "-" else {})}.items():
            yield f"{kind_name}: {name}", kind, wrong


def _of_text(good: Path, fault: str, kind: Kind, hostile: Hostile) -> Iterator[Row]:
    source = good / {"-": "trip.yaml" if kind.calls is not sandbox.LINES else "camp/camp.yaml"}.get(
        kind.place, kind.place
    )
    file = good.parent / "hostile"
    file.write_bytes(hostile.make(source.read_text(encoding="utf-8") if source.exists() else ""))
    for command, call in kind.calls.items():
        with _copy(good, kind) as folder:
            if kind.place != "-":
                shutil.copyfile(file, folder / kind.place)
            yield _judged(folder, fault, command, call, hostile.codes | kind.always, file if kind.place == "-" else b"")


def _of_odd(good: Path, fault: str, kind: Kind, make: Callable[[Path], object]) -> Iterator[Row]:
    for command, call in kind.calls.items():
        with _copy(good, kind) as folder:
            (folder / kind.place).unlink(missing_ok=True)
            make(folder / kind.place)
            yield _judged(folder, fault, command, call, texts.REFUSED | kind.always | _of_nothing(fault), b"")


def _of_nothing(fault: str) -> frozenset[int]:
    """A client, a log or a file of an inbox that is not there is none that is wrong."""
    return TAKEN if fault.startswith(("client", "log", "inbox")) else frozenset()


def _judged(folder: Path, fault: str, command: str, call: Call, codes: frozenset[int], stdin: bytes | Path) -> Row:
    before = sandbox.state(folder)
    ran = run((*call.words, *DAY), folder, stdin=stdin or call.stdin)
    files = sandbox.wrong_files(folder, before, call, done=ran.code in TAKEN)
    return row(fault, command, ran, codes, files)


class _copy:  # noqa: N801  a context manager, used as a function
    """A copy of the good folder, gone afterwards; for a table the camp names it."""

    def __init__(self, good: Path, kind: Kind) -> None:
        self._folder = good.parent / "case"
        shutil.copytree(good, self._folder)
        if kind.place.endswith(".csv"):
            camp = self._folder / "camp" / "camp.yaml"
            text = camp.read_text(encoding="utf-8")
            camp.write_text(re.sub(r"clients: clients\n?$", "clients: clients.csv\n", text), encoding="utf-8")

    def __enter__(self) -> Path:
        return self._folder

    def __exit__(self, *_: object) -> None:
        shutil.rmtree(self._folder)
