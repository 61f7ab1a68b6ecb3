"""The `readiness` command, and `python -m readiness`, start here."""

from __future__ import annotations

import gc
import os
import signal
import sys
from contextlib import suppress
from typing import NoReturn

_INTERRUPTED = 130
_ENDS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


def run() -> NoReturn:
    """Run the command line.

    The process is short: looking for garbage while it imports, and taking every object apart at its end, took
    a seventh of the time of `plan` (measured: 218 ms against 187). Output is flushed before the end; nothing
    else waits for it.
    """
    code: object = 0
    try:
        _tidy_up_when_stopped()
        gc.disable()
        from readiness.cli import run as run_command_line

        run_command_line()
    except SystemExit as ending:
        code = ending.code
    except KeyboardInterrupt:  # while it still imports, or in the middle of its last words
        code = _INTERRUPTED
    except _StoppedError as stopped:
        _end_by(stopped.number)
    with suppress(OSError, AttributeError, KeyboardInterrupt):  # nobody reads it, it was closed, Ctrl-C once more
        sys.stderr.flush()
    os._exit(code if isinstance(code, int) else 1)


class _StoppedError(BaseException):
    """Somebody ends this process: `kill`, or a terminal that closes. On its way out every half file is taken away."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def _tidy_up_when_stopped() -> None:
    """Make an error of each such signal, but of one that the caller had ignored, as `nohup` does."""

    def stop(number: int, _: object) -> None:
        for other in _ENDS:  # one is enough: a second would cut the tidying off
            signal.signal(other, signal.SIG_IGN)
        raise _StoppedError(number)

    for number in _ENDS:
        if signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, stop)


def _end_by(number: int) -> None:
    """End by a signal after all, so that who sent it sees that it worked."""
    signal.signal(number, signal.SIG_DFL)
    os.kill(os.getpid(), number)


if __name__ == "__main__":
    run()
