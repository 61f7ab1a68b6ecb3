"""Problem: a mistake a user can make, as a value with its place, and how it prints.

Nothing below the command line raises for such a mistake or prints it: functions return problems beside
their result, all of them, and the command line shows them sorted by place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

Severity = Literal["error", "warning"]

_WIDEST_LINE = 160


class Problem(NamedTuple):
    """What is wrong, where (1-based line and column), and what to type instead.

    source is the line of the file, shown with a caret under the column. A problem without a place of its
    own (a file that cannot be read) has line 0. In a table, line is the row, column its place in the row, cell
    the name of the column, and source the text of the cell.
    """

    file: str
    line: int
    column: int
    code: str
    message: str
    hint: str = ""
    severity: Severity = "error"
    source: str = ""
    cell: str = ""

    def as_dict(self) -> dict[str, Any]:
        """The problem as JSON gives it."""
        keys = ("severity", "code", "file", "line", "column", "message", "hint")
        return {key: getattr(self, key) for key in keys} | ({"cell": self.cell} if self.cell else {})


class Fault(NamedTuple):
    """A problem that does not know its place yet: what a parser of a single value returns."""

    code: str
    message: str
    hint: str = ""
    severity: Severity = "error"

    def at(self, file: str, line: int, column: int, source: str = "") -> Problem:
        """The same fault, put in its place."""
        return Problem(file, line, column, self.code, self.message, self.hint, self.severity, source)


def show(problem: Problem) -> str:
    """A problem as text: place and message, the source line with a caret, and the hint.

    >>> print(show(Fault("bare-number", "620 has no unit", "write 620 ft").at("trip.yaml", 3, 14, "  elevation: 620")))
    trip.yaml:3:14: error[bare-number]: 620 has no unit
      |   elevation: 620
      |              ^
      hint: write 620 ft
    """
    file = printable(problem.file)
    column = 1 if problem.cell else problem.column
    places = (str(problem.line or ""), printable(problem.cell) or str(column or ""))
    place = ":".join((file, *filter(None, places)))
    lines = [f"{place}: {problem.severity}[{problem.code}]: {printable(problem.message)}"]
    if problem.source:
        start = max(0, column - _WIDEST_LINE // 2) if column > _WIDEST_LINE - 20 else 0
        before = printable(problem.source[start : column - 1].replace("\t", " "))
        after = printable(problem.source[column - 1 : start + _WIDEST_LINE].replace("\t", " "))
        lines.append(f"  | {before}{after}")
        lines.append(f"  | {' ' * len(before)}^")
    if problem.hint:
        lines.append(f"  hint: {printable(problem.hint)}")
    return "\n".join(lines)


def printable(text: str) -> str:
    r"""Text with control and direction-changing characters made visible, so a file cannot drive a terminal.

    >>> print(printable("a\x1b[31mb"))
    a\x1b[31mb
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def excerpt(text: str) -> str:
    """The text as a message repeats it: forty characters, and an ellipsis where there are more.

    >>> excerpt("a" * 50) == "a" * 37 + "..."
    True
    """
    return text if len(text) <= 40 else f"{text[:37]}..."


def sort_and_dedupe(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Each problem once, by place."""
    return tuple(sorted(set(problems)))


def has_errors(problems: Iterable[Problem]) -> bool:
    """Whether any problem is an error and not a warning."""
    return any(p.severity == "error" for p in problems)


def closest(word: str, known: Iterable[str], likeness: float = 0.6) -> str | None:
    """The known word that a misspelt one probably means; likeness is 0 to 1.

    >>> closest("letoff", ["draw_weight", "let_off"])
    'let_off'
    """
    from difflib import get_close_matches

    return next(iter(get_close_matches(word.lower(), list(known), n=1, cutoff=likeness)), None)
