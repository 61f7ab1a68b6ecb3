"""What every run has to keep, whatever went wrong: exit code, message, seconds, memory, files."""

from __future__ import annotations

import re
import resource
from typing import TYPE_CHECKING, NamedTuple

from tests.faults.processes import PATIENCE_S

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from tests.faults.processes import Ran

MOST_SECONDS, MOST_MEGABYTES = 2.0, 200.0
_MISTAKE = re.compile(r"^\S.*?(?::\d+)?(?::[\w.#]+)?: error\[[a-z0-9-]+\]: \S", re.MULTILINE)
_USAGE = re.compile(r"^(?:Error: |The output could not be written: |Interrupted|.+: cannot be written: )", re.MULTILINE)
# Controls but line ends and tabs, and what turns the direction of writing: on a terminal these are orders, not text.
_ORDERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class Row(NamedTuple):
    """One line of the table: a fault, a command, how it ended, and what is wrong with that."""

    fault: str
    command: str
    ran: Ran
    wrong: tuple[str, ...]

    @property
    def cells(self) -> list[str]:
        """The line as text."""
        message = "; ".join(self.wrong) or self.ran.first
        code = "hung" if self.ran.code is None else str(self.ran.code)
        told = message.encode("ascii", "backslashreplace").decode()
        return [self.fault, self.command, code, f"{self.ran.seconds:.2f}", f"{self.ran.megabytes:.0f}",
                "FAIL" if self.wrong else "ok", told[:110]]  # fmt: skip


def row(fault: str, command: str, ran: Ran, codes: Collection[int], files: Collection[str] = ()) -> Row:
    """A run held against the rules."""
    return Row(fault, command, ran, (*_wrong(ran, codes), *files))


def _wrong(ran: Ran, codes: Collection[int]) -> Iterator[str]:
    if ran.code is None:
        yield f"did not end within {PATIENCE_S:.0f} s"
        return
    if ran.code not in codes:
        yield f"exit code {ran.code}, not {' or '.join(map(str, sorted(codes)))}: {ran.first}"
    err = ran.err.decode("utf-8", "replace")
    if "Traceback" in err or "our fault" in err:
        yield f"a traceback: {err.strip().splitlines()[-1]}"
    if ran.code == 2 and not (_USAGE.search(err) or (_MISTAKE.search(err) and "hint: " in err)):
        yield f"no message that says what to type: {ran.first}"
    if ran.seconds > MOST_SECONDS:
        yield f"{ran.seconds:.1f} s of a processor"
    # The system counts what this program held as it started the command, so a figure below that says nothing.
    if ran.megabytes > max(MOST_MEGABYTES, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024):
        yield f"{ran.megabytes:.0f} MB"
    if not ran.out.startswith((b"%PDF", b"\x89PNG")):
        order = _ORDERS.search(ran.out.decode("utf-8", "replace")) or _ORDERS.search(err)
        if order:
            yield f"{order[0]!r} is printed as it is"
