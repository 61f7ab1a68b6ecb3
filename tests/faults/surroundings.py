"""What surrounds a command gone wrong: streams, locale, home, disk, rights, and what stands where it wants to write."""

from __future__ import annotations

import os
import resource
import shutil
import stat
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults import sandbox
from tests.faults.processes import run
from tests.faults.sandbox import ALL, DAY, OLD, Call
from tests.faults.texts import EITHER, REFUSED, TAKEN
from tests.faults.verdict import Row, row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.faults.choice import Choice

_NO_HOME = dict.fromkeys(("HOME", "USER", "LOGNAME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "TERM", "PATH"))
_NO_LOCALE = {"LC_ALL": "C", "LANG": None, "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": None}
_WRITERS = {name: call for name, call in ALL.items() if call.writes}
_TO_A_FILE = {name: call for name, call in _WRITERS.items() if "-o" in call.words and name != "roster"}
QUESTIONS = {"new, asked": Call(("new", "out/new.yaml")), "log, asked": Call(("log", "trip.yaml"))}


def rows(choice: Choice) -> Iterator[Row]:
    """Every fault of the surroundings, and each command that it can touch."""
    parts = {"streams": _streams, "variables": _variables, "places": _places, "rights": _rights, "disk": _disk,
             "names": _names}  # fmt: skip
    with tempfile.TemporaryDirectory(prefix="readiness-faults-") as made:
        good = Path(made) / "good"
        good.mkdir()
        sandbox.build(good)
        faults = ((f"{part}: {name}", make) for part, of in parts.items() for name, make in of(good).items())
        for number, (fault, make) in enumerate(faults):
            if choice.takes(number, fault):
                yield from (found._replace(fault=fault) for found in make())


def _cases(good: Path, calls: dict[str, Call], codes: Callable[[str], frozenset[int]], **how: object) -> Iterator[Row]:
    """The same fault for several commands, each in a folder of its own."""
    for name, call in calls.items():
        with copied(good) as folder:
            yield judged(folder, name, call, codes(name), **how)


def judged(folder: Path, name: str, call: Call, codes: frozenset[int], **how: object) -> Row:
    """One command in a folder, held against the rules."""
    before = sandbox.state(folder)
    ran = run((*call.words, *DAY), folder, stdin=call.stdin, **how)
    return row("", name, ran, codes, sandbox.wrong_files(folder, before, call, done=ran.code in TAKEN))


@contextmanager
def copied(good: Path) -> Iterator[Path]:
    """A copy of the good folder, gone afterwards."""
    folder = good.parent / "case"
    shutil.copytree(good, folder, symlinks=True)
    try:
        yield folder
    finally:
        shutil.rmtree(folder)


def _streams(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    """A product that nobody can have is told; a file that was written is there, whoever listens."""

    def prints(name: str) -> frozenset[int]:
        return TAKEN if ALL[name].writes and name != "roster" else TAKEN if name == "render-one" else REFUSED

    def full(name: str) -> frozenset[int]:
        return prints(name)

    def with_full() -> Iterator[Row]:
        with Path("/dev/full").open("wb") as device:
            yield from _cases(good, ALL, full, stdout=device.fileno())

    def with_gone_reader() -> Iterator[Row]:
        for name, call in ALL.items():
            with copied(good) as folder:
                reader, writer = os.pipe()
                os.close(reader)
                found = judged(folder, name, call, TAKEN, stdout=writer)
                os.close(writer)
                yield found

    taken, asked = (lambda _: TAKEN), (lambda _: frozenset({130}))
    return {
        "standard output closed": lambda: _cases(good, ALL, prints, shell=">&-"),
        "standard output full": with_full,
        "its reader gone": with_gone_reader,
        "| head -1": lambda: _cases(good, ALL, taken, shell="| head -1"),
        "standard error closed": lambda: _cases(good, ALL, taken, shell="2>&-"),
        "standard input closed": lambda: _cases(good, ALL, taken, shell="<&-"),
        "all three closed": lambda: _cases(good, _TO_A_FILE, taken, shell="<&- >&- 2>&-"),
        "questions without standard input": lambda: _cases(good, QUESTIONS, asked, shell="<&-"),
        "questions without an answer": lambda: _cases(good, QUESTIONS, asked),
        "a trip on a closed standard input": lambda: _cases(
            good, {"plan -": Call(("plan", "-"))}, lambda _: REFUSED, shell="<&-"
        ),
    }


def _variables(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    def taken(_: str) -> frozenset[int]:
        return TAKEN

    def gone() -> Iterator[Row]:
        for name, call in {"plan": ALL["plan"], "card": ALL["card"]}.items():
            with copied(good) as folder:
                (folder / "away").mkdir()
                words = [str(folder / word) if word.startswith(("trip.", "out/")) else word for word in call.words]
                found = judged(folder, name, call._replace(words=tuple(words)), TAKEN, shell="",
                               prepare=lambda folder=folder: (os.chdir(folder / "away"), (folder / "away").rmdir()))  # fmt: skip
                yield found._replace(wrong=tuple(wrong for wrong in found.wrong if not wrong.startswith("away")))

    return {
        "no home": lambda: _cases(good, ALL, taken, variables=_NO_HOME),
        "no place for temporary files": lambda: _cases(good, ALL, taken, variables={"TMPDIR": "/no/such/folder"}),
        "no locale": lambda: _cases(good, ALL, taken, variables=_NO_LOCALE),
        "a locale that is not installed": lambda: _cases(good, ALL, taken, variables={"LC_ALL": "xx_YY.ISO-8859-15"}),
        "a folder that was removed": gone,
    }


def _places(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    """What stands where a file is to be written: only a file is ever replaced."""
    odd: dict[str, tuple[Callable[[Path], object], frozenset[int]]] = {
        "a folder": (Path.mkdir, REFUSED),
        "a named pipe": (os.mkfifo, REFUSED),
        "a link to a file": (lambda path: path.symlink_to("mine"), TAKEN),
        "a link to nowhere": (lambda path: path.symlink_to("new"), TAKEN),
        "a link to itself": (lambda path: path.symlink_to(path.name), REFUSED),
        "a link to /dev/stdout": (lambda path: path.symlink_to("/dev/stdout"), REFUSED),
    }
    if os.geteuid() == 0:
        odd["a device"] = (lambda path: os.mknod(path, stat.S_IFCHR | 0o666, os.makedev(1, 3)), REFUSED)

    def of(make: Callable[[Path], object], codes: frozenset[int]) -> Iterator[Row]:
        for name, call in {**_TO_A_FILE, "new --force": Call(("new", "out/new.yaml", "--defaults", "--force"),
                                                             ("out/new.yaml",))}.items():  # fmt: skip
            with copied(good) as folder:
                place = folder / call.writes[0]
                place.unlink(missing_ok=True)
                (place.parent / "mine").write_bytes(OLD)
                make(place)
                kind = _kind(place)
                found = judged(folder, name, call._replace(writes=(*call.writes, "out/mine", "out/new")), codes)
                wrong = [] if _kind(place) == kind else [f"{place.name} is not what it was: {kind}"]
                yield found._replace(wrong=(*found.wrong, *wrong))

    def below(name: str) -> Iterator[Row]:
        for command, call in _TO_A_FILE.items():
            with copied(good) as folder:
                words = tuple(name + Path(word).suffix if word.startswith("out/") else word for word in call.words)
                yield judged(folder, command, call._replace(words=words, writes=()), REFUSED)

    return {
        **{name: (lambda make=make, codes=codes: of(make, codes)) for name, (make, codes) in odd.items()},
        "a folder that is not there": lambda: below("no/such/file"),
        "a file as a folder": lambda: below("trip.yaml/file"),
        "a name of 5,000 letters": lambda: below("x" * 5_000),
        "a name of NUL and half characters": lambda: below("out/\udcff\udcfe\x1b[2J/x"),
        "a roster into a file": lambda: _into_a_file(good),
    }


def _into_a_file(good: Path) -> Iterator[Row]:
    with copied(good) as folder:
        (folder / "out" / "envelopes").write_bytes(OLD)
        found = judged(folder, "roster", ALL["roster"]._replace(writes=()), REFUSED)
        yield found


def _kind(path: Path) -> str:
    mode = path.lstat().st_mode
    return f"{stat.S_IFMT(mode):o} {path.readlink() if stat.S_ISLNK(mode) else ''}"


def _rights(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    """A folder that may be read and not written: mounted so for root, whom no rights bind; else by its rights."""

    def read_only() -> Iterator[Row]:
        for name, call in _WRITERS.items():
            with copied(good) as folder:
                (folder / "out" / "envelopes").mkdir()
                with _unwritable(folder):
                    yield judged(folder, name, call._replace(writes=()), REFUSED)

    def unreadable() -> Iterator[Row]:
        for name, call in sandbox.OF_A_TRIP.items():
            with copied(good) as folder:
                (folder / "trip.yaml").chmod(0)
                yield judged(folder, name, call, REFUSED)

    can_mount = os.geteuid() != 0 or _mounts()
    return ({"a read-only folder": read_only} if can_mount else {}) | (
        {"a trip that may not be read": unreadable} if os.geteuid() else {}
    )


@contextmanager
def _unwritable(folder: Path) -> Iterator[None]:
    if os.geteuid():
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        try:
            yield
        finally:
            for path in (folder, *folder.rglob("*")):
                path.chmod(0o755)
        return
    subprocess.run(["mount", "--bind", folder, folder], check=True)
    try:
        subprocess.run(["mount", "-o", "remount,ro,bind", folder], check=True)
        yield
    finally:
        subprocess.run(["umount", folder], check=True)


def _mounts() -> bool:
    with tempfile.TemporaryDirectory() as folder:
        if subprocess.run(["mount", "-t", "tmpfs", "none", folder], capture_output=True, check=False).returncode:
            return False
        subprocess.run(["umount", folder], check=True)
        return True


def _disk(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    """A disk without room: a small one of memory where root may mount it, and a limit on the size of files."""

    def limited(name: str) -> frozenset[int]:
        return REFUSED if ALL[name].writes else TAKEN

    def small() -> Iterator[Row]:
        for name, call in _WRITERS.items():
            with copied(good) as folder, _small_disk(folder):
                for old in ("plan.pdf", "card.pdf", "trip.html", "trip.ics"):
                    (folder / "out" / old).write_bytes(OLD)
                log = folder / "trip.log.jsonl"
                shutil.move(log, folder / "out" / log.name)
                log.symlink_to(Path("out") / log.name)
                _fill(folder / "out")
                kept = call._replace(writes=(*call.writes, "out/trip.log.jsonl"))
                # The log's last page may have room for a line; what it has no room for is told.
                yield judged(folder, name, kept, EITHER if name == "log" else REFUSED)

    by_limit = {name: call for name, call in ALL.items() if name != "render-one"}
    return {
        "files of 200 bytes at most": lambda: _cases(
            good, {**_WRITERS, "plan": ALL["plan"]}, limited, prepare=lambda: _limit(200), stdout=_somewhere()
        ),
        "files of 20,000 bytes at most": lambda: _cases(
            good, by_limit, lambda _: EITHER, prepare=lambda: _limit(20_000), stdout=_somewhere()
        ),
    } | ({"a full disk": small} if os.geteuid() == 0 and _mounts() else {})


def _somewhere() -> int:
    return os.open(os.devnull, os.O_WRONLY)


def _limit(size: int) -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


@contextmanager
def _small_disk(folder: Path) -> Iterator[None]:
    shutil.rmtree(folder / "out")
    (folder / "out").mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "none", folder / "out"], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", folder / "out"], check=True)


def _fill(folder: Path) -> None:
    """Take all the room that is left."""
    with (folder / "filler").open("wb", buffering=0) as file:
        try:
            while file.write(b"x" * 512):
                pass
        except OSError:
            return


def _names(good: Path) -> dict[str, Callable[[], Iterator[Row]]]:
    """Files with names that are orders to a terminal, or no text."""

    def called(name: str) -> Iterator[Row]:
        for command, call in sandbox.OF_A_TRIP.items():
            with copied(good) as folder:
                for end in (".yaml", ".log.jsonl"):
                    (folder / f"trip{end}").rename(folder / f"{name}{end}")
                words = tuple(f"{name}.yaml" if word == "trip.yaml" else word for word in call.words)
                writes = (*call.writes, f"{name.removeprefix('./')}.log.jsonl") if command == "log" else call.writes
                yield judged(folder, command, call._replace(words=words, writes=writes), TAKEN)

    def camp_of(name: str) -> Iterator[Row]:
        with copied(good) as folder:
            (folder / "camp" / "clients" / "asa.yaml").rename(folder / "camp" / "clients" / f"{name}.yaml")
            yield judged(folder, "roster", ALL["roster"], TAKEN)

    odd = {"an escape sequence": "a\x1b[2Jb\rc", "no UTF-8": "a\udcffb", "directions turned": "a\u202eb",
           "a dash in front": "./-x", "a line end": "a\nb: error[x]: y"}  # fmt: skip
    return {f"a trip called by {name}": (lambda text=text: called(text)) for name, text in odd.items()} | {
        f"a client called by {name}": (lambda text=text: camp_of(text)) for name, text in odd.items() if "/" not in text
    }
