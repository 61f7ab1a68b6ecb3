"""Files as bytes and text: read whole or refused with a reason, written whole or not at all."""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.documents import MAX_BYTES
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


class Source(NamedTuple):
    """A file that was read: its name for messages, its text, and the SHA-256 of its bytes."""

    name: str
    text: str
    sha256: str


def read_source(path: str) -> Source | Problem:
    """Read a text file, or standard input for `-`; over MAX_BYTES it is refused unread.

    Returns
    -------
    Source, or a Problem with code unreadable, too-large or not-utf8

    """
    name = "<stdin>" if path == "-" else path or "''"
    data = _read_bytes(path, name)
    if isinstance(data, Problem):
        return data
    if len(data) > MAX_BYTES:
        return Fault("too-large", f"over {MAX_BYTES:,} bytes", "a file of this kind is a few pages").at(name, 0, 0)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = len(data[data.rfind(b"\n", 0, error.start) + 1 : error.start].decode("utf-8-sig")) + 1
        return Fault("not-utf8", "this is not UTF-8 text from here on", "save the file as UTF-8").at(name, line, column)
    return Source(name, text, sha256_of(data))


def sha256_of(data: bytes) -> str:
    """The SHA-256 of some bytes, as hexadecimal text.

    hashlib loads OpenSSL for it: 3.6 MB and 2 ms for one hash, an eighth of the memory of a plan. The
    interpreter has a SHA-256 of its own, under a name that depends on its version.

    >>> sha256_of(b"abc")[:16]  # FIPS 180-4 example
    'ba7816bf8f01cfea'
    """
    return str(_sha256()(data).hexdigest())


@lru_cache(maxsize=1)
def _sha256() -> Any:
    import importlib

    for module in ("_sha2", "_sha256", "hashlib"):
        try:
            return importlib.import_module(module).sha256
        except ImportError:
            continue
    raise RuntimeError("this Python has no SHA-256")


def write_new(path: Path, text: str, *, replace: bool = False) -> Problem | None:
    """Write a file whole, and onto the disk. An existing file stays unless told otherwise, also one made meanwhile."""
    problem = None if replace else taken_problem(path)
    if problem:
        return problem
    try:
        return write_bytes(path, text.encode("utf-8"), flush=True, replace=replace)
    except UnicodeEncodeError as error:
        return _unwritable(path, error)


def write_bytes(path: Path, *parts: bytes, flush: bool = False, replace: bool = True) -> Problem | None:
    """Write a file that the user named whole, or tell why not; with flush it is on the disk on return.

    Without replace a file of this name stays, and is told.

    A link is followed, so that it stays a link. A device, a pipe or a folder is never replaced by a file. The
    temporary file beside it has a name of this process: two commands at once write one whole file after the other.
    """
    try:
        target = _target(path)
        if isinstance(target, Problem):
            return target
        move = Path.replace if replace else _move_to_free
        _write(target, target.with_name(f".{target.name[:40]}.{os.getpid()}.part"), parts, move, flush=flush)
    except FileExistsError:
        return _taken(path)
    except (OSError, ValueError, RuntimeError) as error:
        return _unwritable(path, error)
    return None


def replace_bytes(path: Path, *parts: bytes) -> None:
    """`replace_parts` of bytes that are at hand."""
    replace_parts(path, parts)


def replace_parts(path: Path, parts: Iterable[bytes]) -> None:
    """Write a file whole, in the place of the one that may be there: a reader sees the old or the new, never a part.

    The temporary file beside it has a fixed name, so that one left by a killed run is used again, not left for ever;
    it is for a folder that one process has for itself. A link is replaced, not followed. OSError where the folder
    does not take it.
    """
    _write(path, part_of(path), parts, Path.replace)


def _write(
    path: Path, temporary: Path, parts: Iterable[bytes], move: Callable[[Path, Path], object], *, flush: bool = False
) -> None:
    try:
        temporary.unlink(missing_ok=True)  # never through a link that someone laid there
        with temporary.open("xb") as file:
            file.writelines(parts)
            if flush:
                file.flush()
                os.fsync(file.fileno())
        move(temporary, path)
    except BaseException:  # Ctrl-C, too
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise


def _move_to_free(temporary: Path, path: Path) -> None:
    """Give a file its name, or FileExistsError where another process has taken that by now.

    A second name of the same file is the one way in which the system itself looks and takes at once. Where a disk
    knows no second names, an empty file takes the name first.
    """
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:
        path.open("xb").close()
        try:
            temporary.replace(path)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
    else:
        temporary.unlink()


def _target(path: Path) -> Path | Problem:
    """Where a file of this name would be written: links followed; a Problem where something else is there."""
    target = path.resolve() if path.is_symlink() else path
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return target
    if stat.S_ISREG(mode) and target.exists():  # /dev/stdout may lead to a file that has no name any more
        return target
    kind = "a folder" if stat.S_ISDIR(mode) else "no regular file"
    fault = Fault("unwritable", f"this is {kind}, so it was not replaced", "name a file, or - for standard output")
    return fault.at(str(path), 0, 0)


def part_of(path: Path) -> Path:
    """The temporary file of `replace_parts`."""
    return path.with_name(f".{path.name}.part")


def kept_problem(path: Path, read: str) -> Problem | None:
    """That a product would take the place of what nobody can make again; None where it may be written.

    That is the trip file that was read, by whatever name, its camp log, any other camp log, and any YAML file. A new
    file may have any name.

    Parameters
    ----------
    path : where the product is to go
    read : the trip file as typed, - for standard input, [text]

    """
    kept = _kept_kind(path, read)
    if kept is None:
        return None
    hint = "name another file, with the ending of what is written, such as .pdf or .html"
    return Fault("kept", f"this is {kept}, so it was not written over", hint).at(str(path), 0, 0)


def _kept_kind(path: Path, read: str) -> str | None:
    try:
        here = path.stat()
    except (OSError, ValueError):  # nothing is there; a name that cannot be used is told when it is written
        return None
    if _is_same(here, read):
        return "the trip file"
    if read != "-" and _is_same(here, str(Path(read).with_suffix(".log.jsonl"))):
        return "the camp log of this trip"
    for name in (path.name.lower(), path.resolve().name.lower()):  # of a link, also where it leads
        if name.endswith((".log.jsonl", ".log.torn")):
            return "a camp log"
        if name.endswith((".yaml", ".yml")):
            return "a file written by hand"
    return None


def _is_same(here: os.stat_result, name: str) -> bool:
    """Whether a name leads to a file, through links of either kind; - is standard input."""
    try:
        return os.path.samestat(here, os.fstat(sys.stdin.fileno()) if name == "-" else Path(name).stat())
    except (OSError, ValueError, AttributeError):  # no such file, or a standard input that is none
        return False


def taken_problem(path: Path) -> Problem | None:
    """That a file of this name is there already, or that the name cannot be used; None where it is free."""
    try:
        if path.exists():
            return _taken(path)
    except (OSError, ValueError) as error:
        return _unwritable(path, error)
    return None


def _taken(path: Path) -> Problem:
    fault = Fault("exists", "there is a file of this name", "choose another name, or add --force")
    return fault.at(str(path), 0, 0)


def _unwritable(path: Path, error: Exception) -> Problem:
    reason = getattr(error, "strerror", None) or "its text holds what no file can hold"
    fault = Fault("unwritable", f"cannot be written: {reason}", "check the folder and its rights")
    return fault.at(str(path), 0, 0)


def _read_bytes(path: str, name: str) -> bytes | Problem:
    try:
        if path == "-":
            return sys.stdin.buffer.read(MAX_BYTES + 1)
        status = Path(path).stat()
        if not stat.S_ISREG(status.st_mode):
            kind = "a folder" if stat.S_ISDIR(status.st_mode) else "no regular file"
            return Fault("unreadable", f"this is {kind}", "name a trip file, or - for standard input").at(name, 0, 0)
        if status.st_size > MAX_BYTES:
            return Fault(
                "too-large",
                f"over {MAX_BYTES:,} bytes, so it was not read",
                "a file of this kind is a few pages",
            ).at(name, 0, 0)
        with Path(path).open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Fault("unreadable", f"cannot be read: {reason}", "check the path").at(name, 0, 0)
