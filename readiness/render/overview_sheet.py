"""The overview on one sheet to hang up: for each client the gravest in short, as many lines as the page holds.

Up to about seventeen clients have a block each; more have a line or two each, with the gravest thing and how many more
there are; beyond about forty the sheet has the worst, and says how many it leaves out.
"""

from __future__ import annotations

import re
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from readiness.camp.overview import pressing
from readiness.render.roster import clients_of, returned_words, summary
from readiness.render.typeset import typeset

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from readiness.camp.overview import Row
    from readiness.render.roster import Overview

    Heights = Callable[[dict[str, Any], Sequence[dict[str, Any]]], list[float]]

_PAPER = {"width": 612, "height": 792, "side": 36, "top": 30, "foot": 34}  # [pt] Letter, which A4 holds but for 6 mm
_SIZES = (10, 9, 8)  # [pt]
_SLACK = 4.0  # [pt]
_MOST_BLOCKS = 24  # clients whose blocks are tried: a block has three lines at least
_MOST_LINES = 60  # clients whose lines are tried
_MOST_ENTRIES = 8  # of one client
_LONGEST_NAME, _LONGEST_ENTRY = 60, 150  # letters
_MOST_DEEP = 3  # lines of letters for a client who has no block
_LETTERS_WHO, _LETTERS_GRAVEST = 28, 48  # of usual width in one of these lines
_CODE = re.compile(r"error\[[a-z0-9-]+\]: ")  # of a mistake: there is no room for it in a line
_HEADS = ("who", "how far", "what to settle, the gravest first")
_HEADS_SHORT = ("status", "who", "limit, far pin", "the gravest", "more")
_LEGEND = (
    "Limit: the longest recorded distance at which nine arrows in ten land in the target zone there. Far pin: the most "
    "careful advice for it; move only after the marks and the bare shaft pass. Returned: the newest return form, and "
    "the distance verified in it."
)


def overview_pdf(overview: Overview) -> bytes:
    """One page, however many clients there are."""
    rows = overview.rows
    made, _ = typeset(
        "overview",
        {
            "title": overview.camp,
            "paper": _PAPER,
            "foot": f"Made {overview.today}. overview.html and overview.csv, beside this sheet, have everything.",
            "top": {
                "kind": "top",
                "title": _cut(f"{overview.camp}: {clients_of(overview)}", 120),
                "lines": [f"As of {overview.today}: {summary(overview)}", *filter(None, (overview.contact,))],
            },
            "heads": _HEADS,
            "heads-short": _HEADS_SHORT,
            "blocks": [_block(row) for row in rows] if len(rows) <= _MOST_BLOCKS else [],
            "lines": [[_line(row, deep) for row in rows[:_MOST_LINES]] for deep in range(1, _MOST_DEEP + 1)],
            "number": len(rows),
        },
        form="pdf",
        day=overview.today,
        prepared=_filled,
    )
    assert isinstance(made, bytes)
    return made


def _filled(data: dict[str, Any], heights: Heights) -> dict[str, Any]:
    """The data with what stands on the page: `rows` with blocks, or `short` with lines."""
    blocks, legend = data["blocks"], {"kind": "words", "text": _LEGEND}
    for size in _SIZES if blocks else ():
        rows = _blocks_on_page({**data, "size": size}, legend, heights, may_cut=size == _SIZES[-1])
        if rows is not None:
            return {**data, "size": size, "rows": rows, "short": [], "deep": 0, "words": [legend]}
    return {**data, "size": _SIZES[-1], "rows": [], **_lines_on_page(data, legend, heights)}


def _blocks_on_page(
    data: dict[str, Any], legend: dict[str, Any], heights: Heights, *, may_cut: bool
) -> list[dict[str, Any]] | None:
    """Every client's block with as many entries as the page holds, one to each in turn; None where none would fit."""
    blocks = data["blocks"]
    whole = [min(len(block["entries"]), _MOST_ENTRIES) for block in blocks]
    tall = _Tall(data, heights)
    room = tall.room(legend)
    least = whole if not may_cut else [min(1, number) for number in whole]
    shown, left = list(least), room - sum(map(tall.of, blocks, least))
    if left < 0:
        return None
    for level in range(2, _MOST_ENTRIES + 1):
        for index, block in enumerate(blocks):
            if shown[index] < min(level, whole[index]):
                more = tall.of(block, shown[index] + 1) - tall.of(block, shown[index])
                if more <= left:
                    shown[index], left = shown[index] + 1, left - more
    return [_with_entries(block, number) for block, number in zip(blocks, shown, strict=True)]


class _Tall:
    """How tall things are on a page of one size of letters, [pt]."""

    def __init__(self, data: dict[str, Any], heights: Heights) -> None:
        self._data = data
        self._heights = partial(heights, {"paper": _PAPER, "size": data["size"]})
        blocks = data["blocks"]
        variants = [(block, number) for block in blocks for number in range(len(block["entries"][:_MOST_ENTRIES]) + 1)]
        self._heights([_as_item(*variant) for variant in variants])  # at once: each run of typst costs time
        (self._head,) = self._heights([{"kind": "rows", "rows": []}])

    def room(self, *words: dict[str, Any]) -> float:
        """What is left of the page for clients."""
        around = self._heights([self._data["top"], *words])
        return _PAPER["height"] - _PAPER["top"] - _PAPER["foot"] - _SLACK - self._head - sum(around)

    def of(self, block: dict[str, Any], number: int) -> float:
        """A client's block with so many of its entries."""
        (height,) = self._heights([_as_item(block, number)])
        return height - self._head


def _as_item(block: dict[str, Any], number: int) -> dict[str, Any]:
    return {"kind": "rows", "rows": [_with_entries(block, number)]}


def _with_entries(block: dict[str, Any], number: int) -> dict[str, Any]:
    left = len(block["entries"]) - number
    return {**block, "entries": [*block["entries"][:number], *([f"and {left} more"] if left else [])]}


def _lines_on_page(data: dict[str, Any], legend: dict[str, Any], heights: Heights) -> dict[str, Any]:
    """A client in as many lines of letters as all have room for, the worst first; and how many have none."""
    shared, number = {"paper": _PAPER, "size": _SIZES[-1]}, data["number"]
    around = heights(shared, [data["top"], legend, {"kind": "words", "text": _left_words(number)}])
    room = _PAPER["height"] - _PAPER["top"] - _PAPER["foot"] - _SLACK - sum(around)
    for deep in range(_MOST_DEEP, 0, -1):
        lines = data["lines"][deep - 1]
        head, one = heights(shared, [{"kind": "short", "deep": deep, "rows": lines[:some]} for some in (0, 1)])
        fitting = int((room - head) // (one - head))
        if fitting >= number or deep == 1:
            break
    left = number - min(fitting, number)
    told = [{"kind": "words", "text": _left_words(left)}] if left else []
    return {"short": lines[:fitting], "deep": deep, "words": [*told, legend]}


def _left_words(left: int) -> str:
    clients = "client" if left == 1 else "clients"
    return f"And {left} more {clients}, less pressing: overview.html and overview.csv have them."


def _block(row: Row) -> dict[str, Any]:
    """A client as three cells; the mark stands in full, so that they can be told apart whatever the name."""
    name, mark = _cut(row.client, _LONGEST_NAME), row.mark
    figures = [
        f"limit: {row.limit}" if row.limit else "",
        f"far pin {row.far_pin}: {row.far_advice}" if row.far_pin else "",
        f"updated {row.updated}" if row.updated else "",
        f"returned {returned_words(row)}" if row.returned else "",
    ]
    return {
        "status": row.status,
        "who": [name, *([mark] if mark and mark != name else [])],
        "figures": [*filter(None, figures)],
        "entries": [_cut(entry, _LONGEST_ENTRY) for entry in _entries(row)],
    }


def _line(row: Row, deep: int) -> list[str]:
    """A client in one row of cells, each so many lines deep; the mark first, so that no long name hides it."""
    far = f"{row.far_pin}: {row.far_advice}" if row.far_pin else ""
    who = f"{row.mark}: {row.client}" if row.mark and row.mark != row.client else row.client
    first, *others = [*_entries(row), "-"]
    return [
        row.status,
        _cut(who, deep * _LETTERS_WHO),
        ", ".join(filter(None, (row.limit, far))) or "-",
        _cut(_CODE.sub("", first), deep * _LETTERS_GRAVEST),
        str(len(others) - 1) if len(others) > 1 else "",
    ]


def _entries(row: Row) -> Iterator[str]:
    """What this client has to settle, one line for all of the gear."""
    file = PurePath(row.source).name
    for entry in pressing(row):
        yield f"{file}{entry.removeprefix(row.source)}" if entry.startswith(row.source) else entry
    if row.unpacked:
        names = ", ".join(entry.partition(": ")[0] for entry in row.unpacked[:4])
        more = f" and {len(row.unpacked) - 4} more" if len(row.unpacked) > 4 else ""
        yield f"{len(row.unpacked)} missing or in a wrong bag: {names}{more}"
    if row.recommended:
        yield f"recommended and not in the gear: {', '.join(row.recommended)}"


def _cut(text: str, most: int) -> str:
    """Text of at most so many letters, cut behind a word where one ends."""
    if len(text) <= most:
        return text
    begun = text[: most - 3]
    words = begun.rpartition(" ")[0]
    return f"{words if len(words) > most // 2 else begun}..."
