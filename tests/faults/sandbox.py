"""A folder with one of everything that commands read and write, and how each command is called in it."""

from __future__ import annotations

import hashlib
import re
import shutil
from pathlib import Path
from typing import NamedTuple

from tests.faults.processes import ROOT, run

SAMPLES = ROOT / "sample_trips"
CAMP = SAMPLES / "larkspur-forks"
DAY = ("--date", "2027-09-11")
OLD = b"what was there before\n"
SHOTS = ("--distance", "20 yd", "--shots", "0.2,1.9@1; -0.3,1.2@2; 0.5,1.6@3", "--at", "Trailhead camp")


class Call(NamedTuple):
    """A command: its words, the files that it may make or replace, and whether it works on the camp's log."""

    words: tuple[str, ...]
    writes: tuple[str, ...] = ()
    stdin: bytes = b""


OF_A_TRIP = {
    "check": Call(("check", "trip.yaml")),
    "plan": Call(("plan", "trip.yaml")),
    "plan -o": Call(("plan", "trip.yaml", "-o", "out/plan.pdf"), ("out/plan.pdf",)),
    "pins": Call(("pins", "trip.yaml")),
    "pack": Call(("pack", "trip.yaml")),
    "card": Call(("card", "trip.yaml", "-o", "out/card.pdf"), ("out/card.pdf",)),
    "handout": Call(("handout", "trip.yaml", "-o", "out/trip.html"), ("out/trip.html",)),
    "calendar": Call(("calendar", "trip.yaml", "-o", "out/trip.ics"), ("out/trip.ics",)),
    "log": Call(("log", "trip.yaml", *SHOTS), ("trip.log.jsonl", "trip.log.torn")),
    "assess": Call(("assess", "trip.yaml")),
}
OF_A_PACK = {
    "lint": Call(("lint", "packs")),
    "plan --checklists": Call(("plan", "trip.yaml", "--checklists", "packs")),
}
OF_A_CAMP = {"roster": Call(("roster", "camp/camp.yaml", "-o", "out/envelopes", "--jobs", "1"), ("out/envelopes",))}
OF_A_LOG = {
    "log --list": Call(("log", "trip.yaml", "--list")),
    "log": OF_A_TRIP["log"],
    "log --undo": Call(("log", "trip.yaml", "--undo"), OF_A_TRIP["log"].writes),
    "assess": OF_A_TRIP["assess"],
}
IMPORT = {"log --import": Call(("log", "trip.yaml", "--import", "other.jsonl"), OF_A_TRIP["log"].writes)}
COLLECT = {
    "roster --collect": Call(
        (*OF_A_CAMP["roster"].words, "--collect", "inbox"), ("out/envelopes", "camp/clients/asa.log.jsonl")
    )
}
LINES = {"render-one": Call(("render-one",))}
NEW = {"new": Call(("new", "out/new.yaml", "--defaults"), ("out/new.yaml",))}
ALL = {
    **NEW, **OF_A_TRIP, **OF_A_CAMP, **LINES, "lint": OF_A_PACK["lint"], "schema": Call(("schema", "trip")),
}  # fmt: skip


def build(folder: Path) -> None:
    """Everything good, with an old file in the place of each output."""
    shutil.copy(SAMPLES / "high-basin.yaml", folder / "trip.yaml")
    for name in ("camp/clients", "packs", "inbox", "out"):
        (folder / name).mkdir(parents=True)
    shutil.copy(CAMP / "camp.yaml", folder / "camp")
    for name in ("asa", "birte"):
        shutil.copy(CAMP / "clients" / f"{name}.yaml", folder / "camp" / "clients")
    pack = re.search(
        r"```yaml\n(pack: river-camp\n.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL
    )
    assert pack
    (folder / "packs" / "river.yaml").write_text(pack[1], encoding="utf-8")
    for name in ("plan.pdf", "card.pdf", "trip.html", "trip.ics"):
        (folder / "out" / name).write_bytes(OLD)
    run(("log", "trip.yaml", *SHOTS, *DAY), folder)
    assert (folder / "trip.log.jsonl").read_bytes().endswith(b"\n")


def state(folder: Path) -> dict[str, str]:
    """Every entry of a folder by its path, with a sum of what is in it."""
    return {str(path.relative_to(folder)): _sum(path) for path in sorted(folder.rglob("*"))}


def wrong_files(folder: Path, before: dict[str, str], call: Call, *, done: bool) -> list[str]:
    """What a command did to files that it should not have done; done: whether its outputs may be new."""
    after = state(folder)
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    own = {name for name in changed if any(name == known or name.startswith(f"{known}/") for known in call.writes)}
    found = [f"{name} was {'changed' if name in after else 'lost'}" for name in sorted(changed - own)]
    for name in sorted(own & after.keys()):
        if Path(name).name.startswith(".") and name.endswith(".part"):
            found.append(f"{name} was left behind")
        elif (folder / name).is_file() and not is_whole(folder / name):
            found.append(f"{name} is not whole")
        elif not done and name.startswith("out/") and not name.startswith("out/envelopes"):
            found.append(f"{name} was written all the same")
    return found + [f"{name} was lost" for name in sorted(own - after.keys()) if name in before]


def is_whole(path: Path) -> bool:
    """Whether a file ends as its kind does."""
    data = path.read_bytes()
    ends = {
        ".pdf": b"%%EOF", ".html": b"</html>", ".ics": b"END:VCALENDAR", ".png": b"IEND\xaeB`\x82", ".svg": b"</svg>",
    }  # fmt: skip
    if path.suffix == ".jsonl":
        return not data or data.endswith(b"\n")
    return data.rstrip().endswith(ends.get(path.suffix, b""))


def _sum(path: Path) -> str:
    if path.is_symlink():
        return f"link to {path.readlink()}"
    if path.is_dir():
        return "folder"
    if path.is_file():
        return hashlib.sha256(path.read_bytes()).hexdigest()
    return f"special {path.stat().st_mode:o}"
