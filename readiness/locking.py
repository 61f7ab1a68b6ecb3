"""One writer at a time: a lock on an open file that the system lets go with the process, however that ends."""

from __future__ import annotations

import os
import time
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_LOCKED_BYTE = 1 << 40  # far beyond any file: where there are only locks on bytes, nobody reads or writes this one


@contextmanager
def locked(handle: int, patience_s: float) -> Iterator[None]:
    """A file for one process alone; TimeoutError where another holds it for longer than patience_s [s]."""
    lock, unlock = _lock_calls()
    until = time.monotonic() + patience_s
    while True:
        try:
            lock(handle)
            break
        except (BlockingIOError, PermissionError) as error:  # what a taken lock is called here and there
            if time.monotonic() > until:
                raise TimeoutError from error
            time.sleep(0.005)
    try:
        yield
    finally:
        unlock(handle)


def _lock_calls() -> tuple[Callable[[int], object], Callable[[int], object]]:
    """How a file is locked without waiting, and unlocked, on this system."""
    try:
        fcntl: Any = import_module("fcntl")
    except ImportError:
        msvcrt: Any = import_module("msvcrt")

        def call(handle: int, mode: int) -> None:
            os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
            msvcrt.locking(handle, mode, 1)

        return lambda handle: call(handle, msvcrt.LK_NBLCK), lambda handle: call(handle, msvcrt.LK_UNLCK)
    return lambda handle: fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB), lambda handle: fcntl.flock(
        handle, fcntl.LOCK_UN
    )
