"""The camp log on the disk: whole lines, appended one after the other, never lost once they are acknowledged.

A line is written under a lock with one call, and is on the disk before `append_lines` returns. What a kill or a
full battery has left half written at the end stands without a line end: the next append moves it into a file beside
the log, so that no record ever glues to it.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from typing import TYPE_CHECKING

from readiness.locking import locked
from readiness.problems import Fault, Problem

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

MAX_LOG_BYTES = 500_000  # some thousand sets of six arrows: twenty a day for seven weeks; read in a second
_PATIENCE_S = 10.0


def read_bytes(path: Path) -> bytes | Problem:
    """All bytes of a log; none where there is no file yet; a Problem where it cannot be read or is too large."""
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            return Fault("unreadable", "this is no regular file", "a camp log is a text file").at(str(path), 0, 0)
        if status.st_size > MAX_LOG_BYTES:
            return _too_large(path)
        return path.read_bytes()
    except FileNotFoundError:
        return b""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Fault("unreadable", f"cannot be read: {reason}", "check the path").at(str(path), 0, 0)


def append_lines(
    path: Path, text: str | Callable[[bytes], str], is_whole: Callable[[bytes], bool]
) -> tuple[Problem, ...]:
    """Append whole lines to a log, all or none; on return they are on the disk.

    Parameters
    ----------
    path : the log; it is made where there is none
    text : one or more lines, each with its end; or a function that makes them, or none, of what stands in the log: it
        is called when no other process can change that any more
    is_whole : whether a last line without an end is a whole record all the same

    Returns
    -------
    problems; a warning tells that a torn line was set aside, an error that nothing was written

    """
    try:
        status = path.stat() if path.exists() else None
        if status and not stat.S_ISREG(status.st_mode):
            return (Fault("unwritable", "this is no regular file", "a camp log is a text file").at(str(path), 0, 0),)
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
    except (OSError, ValueError) as error:
        return (_unwritable(path, error),)
    try:
        with locked(handle, _PATIENCE_S):
            return _append(path, handle, text, is_whole)
    except TimeoutError:
        fault = Fault("busy", "another readiness holds this log", "end it, then type the command again")
        return (fault.at(str(path), 0, 0),)
    except OSError as error:
        return (_unwritable(path, error),)
    finally:
        os.close(handle)


def torn_path(path: Path) -> Path:
    """Where the half lines of a log are kept: `trip.log.jsonl` has `trip.log.torn`."""
    return path.with_suffix(".torn")


def torn_tail(data: bytes) -> bytes:
    r"""What stands behind the last line end.

    >>> torn_tail(b'{"a": 1}\n{"b')
    b'{"b'
    """
    return data[data.rfind(b"\n") + 1 :]


def _append(
    path: Path, handle: int, text: str | Callable[[bytes], str], is_whole: Callable[[bytes], bool]
) -> tuple[Problem, ...]:
    """The part under the lock."""
    length = os.fstat(handle).st_size
    if length > MAX_LOG_BYTES:
        return (_too_large(path),)
    data = (text if isinstance(text, str) else text(_all(handle, length))).encode("utf-8")
    if not data:
        return ()
    if length + len(data) + 1 > MAX_LOG_BYTES:
        return (_too_large(path),)
    if length == 0:
        _sync_folder(path)
    tail = _tail(handle, length)
    told: tuple[Problem, ...] = ()
    if tail and is_whole(tail):
        data = b"\n" + data
    elif tail:
        told = (_set_aside(path, tail),)
        length -= len(tail)
        os.ftruncate(handle, length)
    try:
        if os.write(handle, data) != len(data):
            raise OSError(0, "the disk took only a part of it")
        os.fsync(handle)
    except OSError:
        with suppress(OSError):
            os.ftruncate(handle, length)
            os.fsync(handle)
        raise
    return told


def _tail(handle: int, length: int) -> bytes:
    """What stands behind the last line end of an open log: mostly nothing, so its last byte tells."""
    os.lseek(handle, max(0, length - 1), os.SEEK_SET)
    if length == 0 or os.read(handle, 1) == b"\n":
        return b""
    return torn_tail(_all(handle, length))


def _all(handle: int, length: int) -> bytes:
    """Every byte of an open log."""
    os.lseek(handle, 0, os.SEEK_SET)
    data = b""
    while len(data) < length:
        piece = os.read(handle, length - len(data))
        if not piece:
            break
        data += piece
    return data


def _set_aside(path: Path, tail: bytes) -> Problem:
    """Keep a torn line in the file beside the log, safely on the disk before it leaves the log."""
    beside = torn_path(path)
    if beside.exists() and not beside.is_file():  # to open a pipe is to wait for its reader
        raise OSError(0, f"{beside.name} is no regular file")
    with beside.open("ab") as kept:
        kept.write(tail + b"\n")
        kept.flush()
        os.fsync(kept.fileno())
    fault = Fault(
        "torn-line",
        f"the last line was cut off while it was written; it was moved to {beside.name}",
        "it was never acknowledged; if you remember what it was, log it again",
        "warning",
    )
    return fault.at(str(path), 0, 0)


def _sync_folder(path: Path) -> None:
    """A new file's name on the disk too; not every system lets a folder be opened for that."""
    with suppress(OSError):
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _too_large(path: Path) -> Problem:
    fault = Fault(
        "too-large",
        f"over {MAX_LOG_BYTES:,} bytes: it is left as it is",
        "move it away and keep it; a new log begins with the next record",
    )
    return fault.at(str(path), 0, 0)


def _unwritable(path: Path, error: Exception) -> Problem:
    reason = getattr(error, "strerror", None) or str(error)
    fault = Fault("unwritable", f"nothing was logged: {reason}", "make room or check the rights, then type it again")
    return fault.at(str(path), 0, 0)
