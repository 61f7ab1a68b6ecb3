"""readiness card: the field card on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.commands.options import (
    arrows_option,
    checklists_option,
    today_option,
    trip_argument,
    units_option,
)
from readiness.commands.paper import FORMS, form_of, no_glyph_problem, write_pages
from readiness.commands.reading import planned
from readiness.terminal import DONE, NOT_READY, complain, finish, say

if TYPE_CHECKING:
    from datetime import date

_FACES = "front, back, drift, wind, slope, stages, or one stage by its name"


@click.command("card")
@trip_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, allow_dash=True),
    metavar="FILE",
    help="The file; - for standard output.",
)
@click.option(
    "--size",
    type=click.Choice(["pocket", "a6", "letter", "a4"]),
    default="pocket",
    show_default=True,
    help="3 x 5 in, A6, or sheets of Letter or A4 to cut.",
)
@click.option("--per-page", type=int, metavar="N", help="Cards on a sheet of Letter or A4: 1, 2 or 4; 4 if left out.")
@click.option("--faces", default="front,back", show_default=True, metavar="LIST", help=f"Of: {_FACES}.")
@click.option("--format", "form", type=click.Choice([*FORMS, "json"]), help="Told by the file's name if left out.")
@units_option
@checklists_option
@arrows_option
@today_option
def card(
    trip_file: str,
    output: Path | None,
    size: str,
    per_page: int | None,
    faces: str,
    form: str | None,
    units: str | None,
    checklists: tuple[Path, ...],
    arrows: int,
    today: date | None,
) -> None:
    """The field card of TRIP: pins and zeros in front, what to do after a knock on the back; more if asked for."""
    from readiness.render.card import PER_PAGE, card_bytes, card_data

    wanted = _faces(faces)
    if per_page not in (None, *PER_PAGE[size]):
        some = " or ".join(map(str, sorted(PER_PAGE[size])))
        raise click.BadParameter(f"write {some} with --size {size}", param_hint="--per-page")
    form = form_of(output, form, "card", json_too=True)
    made, _, broken = planned(trip_file, today, checklists, units=units, arrows=arrows)
    if form == "json":
        from readiness.render.data import to_json

        text = to_json(card_data(made, faces=wanted))
        pages: bytes | list[bytes] = text.encode()
        if output is None:
            say(text)
            finish(NOT_READY if broken else DONE)
        missing: tuple[str, ...] = ()
    else:
        pages, missing = card_bytes(made, size=size, form=form, per_page=per_page, faces=wanted)
    if missing:
        complain([no_glyph_problem(trip_file, missing)])
    assert output is not None
    write_pages(output, pages, trip_file)
    finish(NOT_READY if broken else DONE)


def _faces(text: str) -> tuple[str, ...]:
    from readiness.problems import closest
    from readiness.render.card import FACES

    wanted = tuple(filter(None, (name.strip() for name in text.split(","))))
    for name in wanted:
        if name not in FACES:
            near = closest(name, FACES)
            raise click.BadParameter(
                f"there is no face {name!r}{f', did you mean {near}?' if near else ''} "
                f"Write some of {_FACES}, with commas",
                param_hint="--faces",
            )
    if not wanted:
        raise click.BadParameter(f"write some of {_FACES}, with commas", param_hint="--faces")
    return wanted
