"""Data set on paper by a typst template of this folder. The data goes in as JSON, so nothing in it can be markup."""

from __future__ import annotations

import json
from datetime import UTC, datetime, time
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from readiness.render.glyphs import paper_data

if TYPE_CHECKING:
    from datetime import date

_HERE = Path(__file__).parent


def typeset(
    template: str, data: dict[str, Any], *, form: str, day: date, dpi: int = 300
) -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """A template filled with data.

    Parameters
    ----------
    template : a .typ file of this folder, without its ending
    data : what it prints, JSON
    form : pdf, png or svg
    day : the document's date: the same data and day give the same bytes
    dpi : dots per inch of a PNG, [-]

    Returns
    -------
    bytes of a PDF, a list of pages for PNG and SVG; and the characters that had to be written as numbers

    """
    import typst

    dated = {**data, "day": [day.year, day.month, day.day]}
    shown, missing = paper_data(dated)
    try:
        pages = _compiled(template, shown, form, day, dpi)
    except typst.TypstError:
        # A character that these fonts turn out not to have, whatever glyphs.json says: no page fails for a name.
        shown, missing = paper_data(dated, only_ascii=True)
        if not missing:
            raise
        pages = _compiled(template, shown, form, day, dpi)
    if form == "pdf":
        return bytes(pages), missing
    return [bytes(page) for page in (pages if isinstance(pages, list) else [pages])], missing


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
