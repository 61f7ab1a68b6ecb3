"""Which faults a run tries: all, those with some letters in their names, or every so many of them."""

from __future__ import annotations

from typing import NamedTuple


class Choice(NamedTuple):
    """only: letters of a fault's name; every: 1 takes each, 5 every fifth; moments: of Ctrl-C, for each command."""

    only: str = ""
    every: int = 1
    moments: int = 12

    def takes(self, number: int, name: str) -> bool:
        """Whether the fault with this number and name is tried."""
        return self.only in name and number % self.every == 0
