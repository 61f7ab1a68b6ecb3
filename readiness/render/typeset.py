"""Data set on paper by a typst template of this folder. The data goes in as JSON, so nothing in it can be markup."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from datetime import UTC, datetime, time
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from readiness.render.glyphs import paper_data

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import date

    Heights = Callable[[dict[str, Any], Sequence[dict[str, Any]]], list[float]]

_HERE = Path(__file__).parent
_PAGE = re.compile(rb"/MediaBox ?\[ ?0 0 [0-9.]+ ([0-9.]+) ?\]")
_MOST_KEPT = 20_000
_kept: dict[tuple[str, str], float] = {}


def typeset(
    template: str,
    data: dict[str, Any],
    *,
    form: str,
    day: date,
    dpi: int = 300,
    prepared: Callable[[dict[str, Any], Heights], dict[str, Any]] | None = None,
) -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """A template filled with data.

    Parameters
    ----------
    template : a .typ file of this folder, without its ending
    data : what it prints, JSON
    form : pdf, png or svg
    day : the document's date: the same data and day give the same bytes
    dpi : dots per inch of a PNG, [-]
    prepared : a function of the printable data and of the heights that items of the template take: the data to be set

    Returns
    -------
    bytes of a PDF, a list of pages for PNG and SVG; and the characters that had to be written as numbers

    """
    import typst

    def pages_of(shown: Any) -> Any:
        return _compiled(template, prepared(shown, partial(heights, template)) if prepared else shown, form, day, dpi)

    dated = {**data, "day": [day.year, day.month, day.day]}
    shown, missing = paper_data(dated)
    try:
        pages = pages_of(shown)
    except typst.TypstError:
        # A character that these fonts turn out not to have, whatever glyphs.json says: no page fails for a name.
        shown, missing = paper_data(dated, only_ascii=True)
        if not missing:
            raise
        pages = pages_of(shown)
    if form == "pdf":
        return bytes(pages), missing
    return [bytes(page) for page in (pages if isinstance(pages, list) else [pages])], missing


def heights(template: str, shared: dict[str, Any], items: Sequence[dict[str, Any]]) -> list[float]:
    """How tall items are, [pt]: the template, given `measure`, sets each on a page of its own height.

    Kept for the next card, most of whose items are the same. Measured inside the document that they fill, items would
    be laid out again until all is stable.
    """
    common = json.dumps([template, shared])
    keys = [(common, json.dumps(item)) for item in items]
    new = {key: item for key, item in zip(keys, items, strict=True) if key not in _kept}
    if new:
        data = json.dumps({**shared, "title": "heights", "day": [2000, 1, 1], "measure": list(new.values())})
        sources = {"main": _template(template), "data.json": data.encode()}
        pdf = bytes(_compiler().compile(input=sources, format="pdf", pdf_tags=False))
        found = [float(tall) for tall in _PAGE.findall(pdf)]
        if len(_kept) > _MOST_KEPT:
            _kept.clear()
            return heights(template, shared, items)
        _kept.update(zip(new, found, strict=True))
    return [_kept[key] for key in keys]


def keep_heights(template: str, documents: Iterable[tuple[dict[str, Any], Sequence[dict[str, Any]]]]) -> None:
    """Heights of the items of several documents, measured together and kept for when each is set.

    documents are what the items of each share, and its items. Where a character cannot be set, nothing is kept:
    each document then finds its own way.
    """
    import typst

    together: dict[str, tuple[dict[str, Any], list[dict[str, Any]]]] = {}
    for shared, items in documents:
        together.setdefault(json.dumps(shared), (shared, []))[1].extend(items)
    for shared, items in together.values():
        with suppress(typst.TypstError):
            heights(template, shared, items)


def _compiled(template: str, data: Any, form: str, day: date, dpi: int) -> Any:
    return _compiler().compile(
        input={"main": _template(template), "data.json": json.dumps(data).encode()},
        format=form,
        ppi=dpi if form == "png" else None,
        pdf_standards=["ua-1"] if form == "pdf" else [],
        timestamp=datetime.combine(day, time(), UTC),
    )


@cache
def _compiler() -> Any:
    """One compiler for every page of the process: it keeps its fonts and what it has read of the templates."""
    import typst

    return typst.Compiler(root=_HERE, font_paths=[_HERE / "fonts"], ignore_system_fonts=True)


@cache
def _template(name: str) -> bytes:
    return (_HERE / f"{name}.typ").read_bytes()
