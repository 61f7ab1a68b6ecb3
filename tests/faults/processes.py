"""One command as a process under limits, with what it took: processor time, the largest memory of any of its processes."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sysconfig
import tempfile
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

ROOT = Path(__file__).resolve().parents[2]
READINESS = str(Path(sysconfig.get_path("scripts")) / "readiness")
PATIENCE_S = 40.0  # on the clock: what has not ended by then hangs
_ROOM = 4_000_000_000  # of addresses: a runaway is stopped before it takes the machine along


class Ran(NamedTuple):
    """How a process ended: exit code (negative: a signal; None: it hung), what it wrote, seconds of processors, MB."""

    code: int | None
    out: bytes
    err: bytes
    seconds: float
    megabytes: float

    @property
    def first(self) -> str:
        """The first line of its message."""
        return self.err.decode("utf-8", "replace").partition("\n")[0]


def environment(**changed: str | None) -> dict[str, str]:
    """Ours, with names changed, or taken out by None; compiled bytecode allowed, as on any user's machine."""
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "PYTHONDONTWRITEBYTECODE")}
    wanted = {name: value for name, value in {**kept, **changed}.items() if value is not None}
    return {str(name): str(value) for name, value in wanted.items()}


def run(
    words: Sequence[str],
    folder: Path,
    *,
    stdin: bytes | Path = b"",
    shell: str = "",
    variables: Mapping[str, str | None] | None = None,
    prepare: Callable[[], object] | None = None,
    stdout: int | None = None,
    act: Callable[[subprocess.Popen[bytes]], object] | None = None,
    program: Sequence[str] = (READINESS,),
) -> Ran:
    """Run one `readiness` command.

    stdin: bytes or a file for standard input, which is empty if left out; shell: redirections behind the command, by a shell;
    prepare: called in the process before it begins; stdout: a file descriptor; act: called while the process runs;
    program: what stands in front of the words.
    """

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (_ROOM, _ROOM))
        os.setsid()
        if prepare:
            prepare()

    command = [*program, *words]
    if shell:
        command = ["bash", "-c", f'exec "$@" {shell}' if "|" not in shell else f'"$@" {shell}', "bash", *command]
    # A file, not its bytes: what this program holds counts as memory of the process that it becomes.
    source = tempfile.TemporaryFile() if isinstance(stdin, bytes) else stdin.open("rb")  # noqa: SIM115
    with source as given, tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        if isinstance(stdin, bytes):
            given.write(stdin)
            given.seek(0)
        process = subprocess.Popen(
            command, cwd=folder, env=environment(**(variables or {})), stdin=given, stderr=err,
            stdout=out if stdout is None else stdout, preexec_fn=limited,  # noqa: PLW1509
        )  # fmt: skip
        watch = threading.Timer(PATIENCE_S, _end_group, (process.pid,))
        watch.start()
        began = time.monotonic()
        if act:
            act(process)
        _, status, used = os.wait4(process.pid, 0)
        watch.cancel()
        process.returncode = os.waitstatus_to_exitcode(status)
        hung = time.monotonic() - began >= PATIENCE_S
        out.seek(0)
        err.seek(0)
        code = None if hung else process.returncode
        return Ran(code, out.read(), err.read(), used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def left_running(group: int) -> list[str]:
    """The processes of a group that still live: orphans of a command that has ended."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(fields[2]) == group and fields[0] != "Z":
                found.append(entry.name)
    return found


def _end_group(group: int) -> None:
    try:
        os.killpg(group, signal.SIGKILL)
    except ProcessLookupError:
        return
