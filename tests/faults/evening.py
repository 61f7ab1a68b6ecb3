"""An evening that was shot with a trip of its own, and the files that two clients sent back: what is taken in."""

from __future__ import annotations

import json
import shutil
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from tests.faults import sandbox
from tests.faults.processes import run
from tests.faults.sandbox import DAY, Call

if TYPE_CHECKING:
    from pathlib import Path

_ANSWERED = tuple(f"ARR-{number:03}" for number in (*range(10, 120, 10), 160))
_SETS = (
    ("--distance", "20 yd", "--shots", "0.2,1.9@1; -0.3,1.2@2; 0.5,1.6@3", "--temperature", "41 F"),
    ("--distance", "20 yd", "--kind", "bare", "--shots", "-0.2,0.9; -0.5,1.4; 0.1,1.1"),
    ("--distance", "60 yd", "--shots", "1.2,5.5@1; -2.0,3.1@2; 0.6,7.2@3; -1.1,4.0@4; 2.2,4.8@5; 0.1,6.6@6"),
)
_COPY = "shot.trailhead-camp-2027-09-11.yaml"
CALLS = {
    "log --import": Call(("log", "trip.yaml", "--import", "shot.log.jsonl"), ("trip.log.jsonl", "trip.log.torn")),
    "log --import, the first": Call(("log", "fresh.yaml", "--import", "shot.log.jsonl"), ("fresh.log.jsonl",)),
    "roster --collect": Call(
        sandbox.COLLECT["roster --collect"].words,
        ("out/envelopes", *(f"camp/clients/{name}.log.{end}" for name in ("asa", "birte") for end in ("jsonl", "torn"))),
    ),
    "assess --write": Call(("assess", "shot.yaml", "--write"), (_COPY,)),
}  # fmt: skip


class _Client(NamedTuple):
    name: str
    id: str
    records: int


def build(folder: Path) -> None:
    """Into a sandbox: two more copies of its trip, one with a whole evening, and an inbox with a file of each client."""
    for name in ("shot", "fresh"):
        shutil.copy(folder / "trip.yaml", folder / f"{name}.yaml")
    answers = [word for step in _ANSWERED for word in ("--step", step, "--value", "pass")]
    for words in (answers, *_SETS):
        run(("log", "shot.yaml", "--at", "Trailhead camp", *words, *DAY), folder)
    assert (folder / "shot.log.jsonl").read_bytes().count(b"\n") == len(_ANSWERED) + len(_SETS)
    for client in (_Client("asa", "lf01", 40), _Client("birte", "lf02", 3)):
        _send_back(folder, client)


def _send_back(folder: Path, client: _Client) -> None:
    """A file as a handout saves it: changes, each with a note, and at its end the return form."""
    from readiness.arrival.lines import to_line
    from readiness.arrival.log import setup_hash
    from readiness.camp.clients import clients_of, document_of
    from readiness.camp.merge import load_client
    from readiness.camp.opening import open_camp

    camp, day = folder / "camp" / "camp.yaml", date.fromisoformat(DAY[1])
    setting = open_camp(camp.read_text(encoding="utf-8"), str(camp), camp.parent, day, ()).setting
    assert setting
    (own,) = (one for one in clients_of(setting.camp, camp.parent).clients if one.stem == client.name)
    document = document_of(own)[0]
    assert document
    trip = load_client(document, setting.camp.document, setting.told, day).trip
    assert trip
    stamp = {"time": "2027-09-10T18:00:00-06:00", "version": "0.1.0", "setup": setup_hash(trip), "at": "Barn meadow"}
    records = [{"record": "change", "what": f"string twist {number}"} for number in range(client.records - 1)]
    form = {"record": "form", "client": client.id, "values": {"verified_distance": "50 yd"}}
    lines = [to_line({**one, "id": f"{number:012x}", **stamp}) for number, one in enumerate([*records, form], 1)]
    assert all(json.loads(line) for line in lines)
    (folder / "inbox" / f"{client.id}.jsonl").write_text("".join(lines), encoding="utf-8")
