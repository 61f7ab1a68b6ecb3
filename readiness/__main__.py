"""The `readiness` command, and `python -m readiness`, start here."""

from __future__ import annotations

import gc
import os
import sys
from typing import NoReturn


def run() -> NoReturn:
    """Run the command line.

    The process is short: looking for garbage while it imports, and taking every object apart at its end, took
    a seventh of the time of `plan` (measured: 218 ms against 187). Output is flushed before the end; nothing
    else waits for it.
    """
    gc.disable()
    from readiness.cli import run as run_command_line

    code: object = 0
    try:
        run_command_line()
    except SystemExit as ending:
        code = ending.code
    sys.stderr.flush()
    os._exit(code if isinstance(code, int) else 1)


if __name__ == "__main__":
    run()
