"""Run `readiness` and send it a signal at one of its calls to the system, counted from its first file that is written.

    python tests/faults/at_call.py NUMBER SIGNAL words of the command

The clock hits the few milliseconds in which a command writes once in a hundred times; this hits each step of them.
With NUMBER 0 nothing is sent, and the last line of standard error says how many calls there are.
"""

import os
import sys
from pathlib import Path

_CALLS = {
    "open", "write", "writelines", "flush", "fsync", "ftruncate", "replace", "rename", "link", "unlink", "mkdir",
    "rmdir", "flock", "lseek", "read", "stat", "close", "scandir",
}  # fmt: skip


class _Counter:
    def __init__(self, number: int, signal: int) -> None:
        self.number, self.signal = number, signal
        self.counted, self.begun = 0, False

    def opened(self, event: str, args: tuple[object, ...]) -> None:
        """An audit hook: from the first file on that is opened to be written, count. Compiled bytecode is none of ours."""
        writes = os.O_WRONLY | os.O_RDWR | os.O_CREAT
        if self.begun or event != "open" or not isinstance(args[2], int) or not args[2] & writes:
            return
        if "__pycache__" not in str(args[0]):
            self.begun = True
            sys.setprofile(self.called)

    def called(self, _: object, event: str, function: object) -> None:
        """A profile function: before each call that counts."""
        if event == "c_call" and getattr(function, "__name__", "") in _CALLS:
            self.counted += 1
            if self.counted == self.number:
                sys.setprofile(None)
                os.kill(os.getpid(), self.signal)


def main() -> None:
    """Start the command line with the counter in it."""
    counter = _Counter(int(sys.argv[1]), int(sys.argv[2]))
    sys.argv = ["readiness", *sys.argv[3:]]
    sys.path[0] = str(Path(__file__).resolve().parents[2])
    leave = os._exit

    def last(code: int) -> None:
        sys.setprofile(None)
        if counter.number == 0:
            os.write(2, f"\n{counter.counted}\n".encode())
        leave(code)

    os._exit = last  # type: ignore[assignment]
    from readiness.__main__ import run

    sys.addaudithook(counter.opened)
    run()


if __name__ == "__main__":
    main()
