"""What the fonts of a printed page can show. A character that none of them has is written as its number.

glyphs.json holds the characters of each font that comes with typst; `python tests/glyph_table.py` writes it anew.
"""

from __future__ import annotations

import json
import re
import unicodedata
from bisect import bisect_right
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

_LONGEST_WORD = 12  # longer ones may be broken, so that they never run off a narrow card
_BREAK = "\u200b"
_AS_NUMBER = re.compile(r"\[U\+[0-9A-F\u200b]+\]")
BLANK = "Hunter: ________"


@lru_cache(maxsize=16_384)  # cards of one run have most of their texts in common
def paper_text(text: str, *, only_ascii: bool = False) -> tuple[str, tuple[str, ...]]:
    """Text that prints whole, and the characters that had to be written as numbers; with only_ascii all others.

    >>> paper_text("Camp 高")
    ('Camp [U+9AD8]', ('U+9AD8',))
    """
    if text.isascii() and text.isprintable():
        return _breakable(text), ()
    missing: dict[str, None] = {}
    parts = []
    for cluster in _clusters(_spaced(text)):
        whole = len(cluster) == 1 or any(all(map(has, cluster)) for has in _fonts())
        for place, character in enumerate(cluster):
            printable = character.isascii() if only_ascii else (whole or place == 0)
            if printable and _is_covered(character):
                parts.append(character)
            else:
                name = f"U+{ord(character):04X}"
                missing[name] = None
                parts.append(f"[{name}]")
    return _breakable("".join(parts)), tuple(missing)


def paper_data(data: Any, *, only_ascii: bool = False) -> tuple[Any, tuple[str, ...]]:
    """Every text in nested lists and dictionaries made fit to print, and what had to be written as numbers."""
    missing: dict[str, None] = {}

    def walk(value: Any) -> Any:
        if isinstance(value, str):
            shown, absent = paper_text(value, only_ascii=only_ascii)
            missing.update(dict.fromkeys(absent))
            return shown
        if isinstance(value, dict):
            return {key: walk(item) for key, item in value.items()}
        if isinstance(value, list | tuple):
            return [walk(item) for item in value]
        return value

    return walk(data), tuple(missing)


def whose(name: str | None, client_id: str | None) -> str:
    """Whose a page is, by name and id.

    The id comes first where no font has all of the name, and a blank for a pen where nothing of either can be read.

    >>> whose("Anna", "c07"), whose("\u9ad8", "c07"), whose("\u9ad8", None)
    ('Anna, c07', 'c07, \u9ad8', 'Hunter: ________, \u9ad8')
    """
    said = [text for text in (name, client_id) if text]
    if name and client_id and paper_text(name)[1]:
        said.reverse()
    return ", ".join(said if any(map(is_readable, said)) else (BLANK, *said))


def is_readable(text: str) -> bool:
    """Whether a letter or digit of a text is printed as itself."""
    left = _AS_NUMBER.sub("", paper_text(text)[0])
    return any(character.isalnum() for character in left)


def _spaced(text: str) -> str:
    """Every kind of white space as a plain space."""
    return "".join(" " if c.isspace() or unicodedata.category(c).startswith("Z") else c for c in text)


def _clusters(text: str) -> Iterator[str]:
    """Each character with the marks that stand on it: one font must have them all."""
    start = 0
    for place in range(1, len(text) + 1):
        if place == len(text) or not unicodedata.category(text[place]).startswith("M"):
            yield text[start:place]
            start = place


def _is_covered(character: str) -> bool:
    """Whether any font has it. What no eye sees, or turns the direction of others, is never printed as it is."""
    category = unicodedata.category(character)
    return category[0] != "C" and any(has(character) for has in _fonts())


def _breakable(text: str) -> str:
    """Long words with places at which a line may end."""
    if all(len(word) <= _LONGEST_WORD for word in text.split(" ")):
        return text
    return " ".join(word if len(word) <= _LONGEST_WORD else _BREAK.join(_pieces(word)) for word in text.split(" "))


def _pieces(word: str) -> Iterator[str]:
    """A long word in pieces of a few characters; after a hyphen or slash first, never before a mark."""
    piece = ""
    for cluster in _clusters(word):
        piece += cluster
        if len(piece) >= _LONGEST_WORD or cluster in "-/_]":
            yield piece
            piece = ""
    if piece:
        yield piece


@cache
def _fonts() -> tuple[Any, ...]:
    """For each font a test whether it has a character."""
    table = json.loads(Path(__file__).with_name("glyphs.json").read_text(encoding="utf-8"))

    def tester(flat: list[int]) -> Any:
        firsts, lasts = flat[::2], flat[1::2]

        def has(character: str) -> bool:
            code = ord(character)
            place = bisect_right(firsts, code) - 1
            return place >= 0 and code <= lasts[place]

        return has

    return tuple(map(tester, table.values()))
