"""A measured figure with its goal, and the one table in which benchmarks print them."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from tabulate import tabulate


class Figure(NamedTuple):
    """One measured value and the range that it should be in."""

    what: str
    value: float
    least: float = -inf
    most: float = inf
    unit: str = ""

    @property
    def met(self) -> bool:
        """Whether the goal is met."""
        return self.least <= self.value <= self.most

    @property
    def goal(self) -> str:
        """The goal in words."""
        if self.least == -inf:
            return f"at most {self.most:g}"
        return f"at least {self.least:g}" if self.most == inf else f"{self.least:g} to {self.most:g}"


def show(figures: list[Figure]) -> int:
    """Print a table of figures; 1 if a goal is missed."""
    rows = [
        (figure.what, f"{figure.value:.3g}", figure.unit, figure.goal, "met" if figure.met else "MISSED")
        for figure in figures
    ]
    aligned = ("left", "right", "left", "left", "left")
    print()
    print(tabulate(rows, ("what", "measured", "", "goal", ""), colalign=aligned, disable_numparse=True))
    return 0 if all(figure.met for figure in figures) else 1
