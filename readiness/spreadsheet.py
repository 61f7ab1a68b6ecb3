"""A cell of a CSV file that no spreadsheet takes for a formula."""

from __future__ import annotations

import re

# What OWASP's "CSV Injection" page lists: = + - @, tab and carriage return at the head of a cell.
_FORMULA = re.compile(r"'*[=+\-@\t\r]")


def as_cell(text: str) -> str:
    """Text with a quote before it where a spreadsheet would take it for a formula.

    A quoted one is quoted once more, so that taking one quote off gives back what went in.

    >>> as_cell("=1+1"), as_cell("'=1"), as_cell("Anna")
    ("'=1+1", "''=1", 'Anna')
    """
    return f"'{text}" if _FORMULA.match(text) else text
