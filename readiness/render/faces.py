"""A card's items put on faces: what does not fit a face runs on to the next, never smaller, never cut.

Heights come from typst (`typeset.Heights`), which sets each item once; where a face ends is decided here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Item = dict[str, Any]
POINTS_A_MM = 72 / 25.4
_LEAST_ROOM = 78.0  # [pt] for items: with less, long names stand in full on the first face and short on the others
_TALLEST = 112.0  # [pt] of a drawing
_LEAST_TABLE = 80.0  # [pt] of a table that may stay with its heading: it can run on
_ROW = 15.0  # [pt] of the lowest row
_TEXTS = ("text", "caution", "stop", "head")


def filled(data: dict[str, Any], heights: Callable[[dict[str, Any], Sequence[Item]], list[float]]) -> dict[str, Any]:
    """The card's data with `filled`: faces in order, each with its title and the items that fit it.

    Parameters
    ----------
    data : of `card.card_data` with its paper, texts fit to print
    heights : a function of what all items share and a list of items: their heights, [pt]

    """
    paper = data["paper"]
    height = (paper["height"] - paper["top"] - paper["foot"]) * POINTS_A_MM
    shared, every = items_to_measure(data)
    name, identity, faces = data["trip"], data["identity"], data["faces"]
    filler = _Filler(lambda items: heights(shared, items))
    heights(shared, every)  # at once: each run of typst costs time

    def rooms(name: str, identity: list[str]) -> list[float]:
        tops = [{"kind": "top", "title": face["title"], "name": name} for face in faces]
        *tall, foot = heights(shared, [*tops, _foot(identity)])
        return [height - top - foot - 4 for top in tall]

    room = rooms(name, identity)
    if min(room) < _LEAST_ROOM:
        full = [{"kind": "text", "text": text} for text in identity]
        identity = data["brief"]
        room = rooms(name, identity)
        if min(room) < _LEAST_ROOM:
            full.insert(0, {"kind": "text", "text": name})
            name = f"{name[:40]} ..."
            room = rooms(name, identity)
        faces = [{**faces[0], "items": [*full, *faces[0]["items"]]}, *faces[1:]]
    shared["tall"] = min(_TALLEST, *room)
    queues = [_queue(face, wide=_is_wide(paper)) for face in faces]
    pages = [
        {"title": face["title"], "items": items}
        for face, queue, left in zip(faces, queues, room, strict=True)
        for items in filler.fill(queue, left)
    ]
    return {**data, "filled": {"name": name, "identity": identity, "tall": shared["tall"], "faces": pages}}


def items_to_measure(data: dict[str, Any]) -> tuple[dict[str, Any], list[Item]]:
    """What all items of a card share, and every item whose height is asked for first."""
    paper, faces = data["paper"], data["faces"]
    tops = [{"kind": "top", "title": face["title"], "name": data["trip"]} for face in faces]
    items = [item for face in faces for item in _queue(face, wide=_is_wide(paper))]
    return {"paper": paper, "made": data["made"], "tall": _TALLEST}, [*tops, _foot(data["identity"]), *items]


def _is_wide(paper: dict[str, Any]) -> bool:
    return bool(paper["width"] - 2 * paper["side"] > 80)  # [mm]


def _foot(identity: list[str]) -> Item:
    return {"kind": "foot", "identity": identity}


def _queue(face: dict[str, Any], *, wide: bool) -> list[Item]:
    """The items of a part as this card has them, and its closing line, which never stands alone."""
    items = [item for item in face["items"] if wide or not item.get("wide")]
    items = items if wide else [_narrowed(item) for item in items]
    if items and items[-1]["kind"] in ("text", "step", "value"):
        items[-1] = {**items[-1], "keep": True}
    return [*items, {"kind": "closing", "text": face["closing"]}]


class _Filler:
    """Faces of one part of the card after the other, all with the same heights."""

    def __init__(self, heights: Callable[[Sequence[Item]], list[float]]) -> None:
        self.heights = heights

    def fill(self, items: list[Item], room: float) -> list[list[Item]]:
        """Items in lists, each at most room [pt] tall."""
        queue = self._pieces(items)
        faces: list[list[Item]] = []
        now: list[Item] = []
        left = room
        while queue:
            group = queue[: self._group(queue, room)]
            *lead, (last, tall) = group
            need = sum(height for _, height in lead)
            if need + tall <= left:
                now += [item for item, _ in group]
                left -= need + tall
                queue = queue[len(group) :]
                continue
            runs_on = last["kind"] == "table" and not (now and last.get("whole") and need + tall <= room)
            split = self._split(last, left - need, empty=not now) if runs_on else None
            if split:
                heads = [item for item, _ in lead]
                faces.append([*now, *heads, split[0]])
                queue = self._pieces([*_continued(heads), split[1]]) + queue[len(group) :]
            elif now:
                faces.append(now)
            else:
                now, queue, left = self._too_tall(queue, len(group), left)
                continue
            now, left = [], room
        return [*faces, now] if now else faces

    def _pieces(self, items: list[Item]) -> list[tuple[Item, float]]:
        return list(zip(items, self.heights(items), strict=True))

    def _group(self, queue: Sequence[tuple[Item, float]], room: float) -> int:
        """How many items stay together: a heading with what follows, a caution with its step."""

        def count(keeps: Callable[[Item], bool]) -> int:
            return next((n for n, (item, _) in enumerate(queue, 1) if not keeps(item)), len(queue))

        many = count(self._keeps)
        tall = sum(min(height, _LEAST_TABLE) if item["kind"] == "table" else height for item, height in queue[:many])
        return many if tall <= room else count(lambda item: item["kind"] == "head")

    def _keeps(self, item: Item) -> bool:
        return item["kind"] == "head" or bool(item.get("keep"))

    def _split(self, table: Item, left: float, *, empty: bool) -> tuple[Item, Item] | None:
        """As many rows as fit, and the rest, which gets the header again; no lonely row on either face."""
        rows = table["rows"]
        most = max(0, min(len(rows) - 1, int(left / _ROW)))
        fits = 0
        while most and not fits:
            tried = range(max(1, most - 4), most + 1)
            tall = self.heights([{**table, "rows": rows[:n]} for n in tried])
            fits = max((n for n, height in zip(tried, tall, strict=True) if height <= left), default=0)
            most = tried[0] - 1
        if fits == len(rows) - 1 and 2 < fits <= 5:
            fits -= 1
        if fits < (1 if empty else 2):
            return None
        return {**table, "rows": rows[:fits]}, {**table, "rows": rows[fits:]}

    def _too_tall(
        self, queue: list[tuple[Item, float]], many: int, left: float
    ) -> tuple[list[Item], list[tuple[Item, float]], float]:
        """An empty face and something taller: a heading goes alone, anything else is cut at a space and runs on."""
        first, tall = queue[0]
        if many > 1 and tall <= left:
            follows, its_height = queue[1]
            ends = its_height > left - tall and follows["kind"] not in (*_TEXTS, "step")
            return [first], queue[1:], 0.0 if ends else left - tall
        parts = _opened(first) if first["kind"] == "step" and first["lines"] else _halves(first)
        if parts is None:
            return [first], queue[1:], 0.0
        return [], self._pieces(parts) + queue[1:], left


def _narrowed(item: Item) -> Item:
    """A table with fewer columns."""
    if item["kind"] != "table" or not item["wide_only"]:
        return item
    kept = [n for n in range(len(item["columns"])) if n not in item["wide_only"]]
    return {
        **item,
        "columns": [item["columns"][n] for n in kept],
        "header": [item["header"][n] for n in kept],
        "rows": [[row[n] for n in kept] for row in item["rows"]],
        "big": [new for new, n in enumerate(kept) if n in item["big"]],
        "wide_only": [],
    }


def _continued(heads: Sequence[Item]) -> list[Item]:
    """The headings of a table again over its rest."""
    texts = [head["text"].removesuffix(" ...") for head in heads if head["kind"] == "head"]
    return [{"kind": "head", "text": f"{text if len(text) <= 40 else text[:30]} ..."} for text in texts]


def _halves(item: Item) -> list[Item] | None:
    """Text in two halves at a space, or where a long word may be broken; None where there is no such place."""
    if item["kind"] not in _TEXTS:
        return None
    gap = " " if " " in item["text"] else "\u200b"
    words = item["text"].split(gap)
    if len(words) < 2:
        return None
    half = len(words) // 2
    first = {key: value for key, value in item.items() if key != "small"}
    second = {key: value for key, value in item.items() if key != "lead"}
    second["kind"] = "text" if item["kind"] in ("caution", "stop") else item["kind"]
    return [{**first, "text": gap.join(words[:half])}, {**second, "text": gap.join(words[half:])}]


def _opened(step: Item) -> list[Item]:
    """A step as its title and texts under it."""
    title = {key: value for key, value in step.items() if key != "if_not"} | {"lines": []}
    texts: list[Item] = [{"kind": "text", "text": line} for line in step["lines"]]
    if "if_not" in step:
        texts.append({"kind": "text", "lead": "If not", "text": step["if_not"]})
    return [title, *texts]
