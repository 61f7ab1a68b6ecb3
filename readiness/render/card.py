"""The field card of a plan: what stands on which face, and the faces set by typst as PDF, PNG or SVG."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness import stages
from readiness.render.card_back import back_face, stage_face
from readiness.render.card_front import drift_face, front_face
from readiness.render.faces import filled, items_to_measure
from readiness.render.glyphs import BLANK, is_readable, paper_data, whose
from readiness.render.pages import stop_words
from readiness.render.typeset import keep_heights, typeset
from readiness.showing import shown, shown_celsius

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from readiness.plan import Plan

SIZES = ("pocket", "a6", "letter", "a4")
FACES = ("front", "back", "drift", "wind", "slope", "stages", *stages.KEYS)
DEFAULT_FACES = ("front", "back")
PER_PAGE = {"pocket": (1,), "a6": (1,), "letter": (4, 2, 1), "a4": (4, 2, 1)}
PNG_DPI = 300


class _Paper(NamedTuple):
    """A card's outside and its margins in [mm]; the foot is where the thumb lies. sheet is the page it is cut from."""

    width: float
    height: float
    top: float
    side: float
    foot: float
    sheet: tuple[float, float] | None = None


# A6: the area of 95 x 130 mm fits both families of paper. Quarters of Letter are 9 mm lower than A6, and those of A4
# are made alike, so that the same card comes from both; a thumb's width stays free at the foot of each. A pocket card
# has no room to spare for it: it is held by its edges.
_PAPERS = {
    "pocket": _Paper(76.2, 127.0, 4.0, 3.5, 4.0),
    "a6": _Paper(105.0, 148.0, 5.0, 5.0, 13.0),
    "letter": _Paper(105.0, 139.5, 5.0, 5.0, 12.0, (215.9, 279.4)),
    "a4": _Paper(105.0, 139.5, 5.0, 5.0, 12.0, (210.0, 297.0)),
}


def card_data(plan: Plan, *, faces: Iterable[str] = DEFAULT_FACES) -> dict[str, Any]:
    """What stands on the card, face by face, in reading order. A face that is too long runs on to further ones.

    Parameters
    ----------
    plan : the plan
    faces : of FACES; stages is every stage, and a stage by its name that one

    Returns
    -------
    dict with trip, identity and faces; each face has a title, items of a few kinds, and a closing line

    """
    wanted = tuple(faces)
    made = []
    if "front" in wanted:
        made.append(front_face(plan, picture="drift" not in wanted))
    if "back" in wanted:
        made.append(back_face(plan))
    if "drift" in wanted:
        made.append(drift_face(plan))
    if "wind" in wanted or "slope" in wanted:
        from readiness.render.card_field import field_faces

        made += field_faces(plan, wanted)
    for stage in stages.ALL:
        if "stages" in wanted or stage.key in wanted:
            made.append(stage_face(plan, stage))
    # What stops this trip already stands first on each part: whoever holds one of them alone must read it.
    raised = [{"kind": "stop", "text": stop_words(step)} for step in plan.raised_stops]
    return {
        "trip": plan.trip.name,
        "made": f"made {plan.today}",
        "identity": _identity(plan),
        "brief": _brief(plan),
        "faces": [{**face, "items": [*raised, *face["items"]]} for face in made],
    }


def card_bytes(
    plan: Plan,
    *,
    size: str = "pocket",
    form: str = "pdf",
    per_page: int | None = None,
    faces: Iterable[str] = DEFAULT_FACES,
) -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """The card as one PDF, or as one PNG or SVG a page.

    Parameters
    ----------
    plan : the plan
    size : of SIZES
    form : pdf, png or svg
    per_page : cards on a sheet, of PER_PAGE[size]; the most that fit if left out, [-]
    faces : of FACES

    Returns
    -------
    bytes of the PDF, or a list with the bytes of each page; and the characters that no font has, such as U+9AD8

    """
    return set_card(card_on_paper(plan, size=size, per_page=per_page, faces=faces), plan.today, form=form)


def card_on_paper(
    plan: Plan, *, size: str = "pocket", per_page: int | None = None, faces: Iterable[str] = DEFAULT_FACES
) -> dict[str, Any]:
    """What stands on the card, and the paper that it goes on: what `set_card` and `measure_cards` take."""
    paper = _PAPERS[size]
    return {
        **card_data(plan, faces=faces),
        "paper": paper._replace(sheet=None)._asdict(),
        "sheet": paper.sheet and {"size": paper.sheet, "cards": per_page or PER_PAGE[size][0]},
        "title": f"{plan.trip.name}: field card",
    }


def set_card(data: dict[str, Any], day: date, *, form: str = "pdf") -> tuple[bytes | list[bytes], tuple[str, ...]]:
    """The pages of a card, as `card_bytes` gives them; day is the date of the document."""
    return typeset("card", data, form=form, day=day, dpi=PNG_DPI, prepared=filled)


def measure_cards(cards: Iterable[dict[str, Any]]) -> None:
    """Measure several cards in one run of typst. Each is then set the same, but sooner: its heights are known."""
    keep_heights("card", [items_to_measure(paper_data(card)[0]) for card in cards])


def _identity(plan: Plan) -> list[str]:
    """Whose card, for which bow, from which reference: an outdated card must look outdated."""
    trip = plan.trip
    return _identity_of(plan, whose(trip.hunter_name, trip.hunter_id), trip.home.name)


def _brief(plan: Plan) -> list[str]:
    """The same with long names cut short, for faces on which they leave no room; the first has them in full."""
    trip = plan.trip
    who = next((said for said in (trip.hunter_id, trip.hunter_name) if said and is_readable(said)), BLANK)
    return [*_identity_of(plan, _cut(who), _cut(trip.home.name)), "In full: first faces."]


def _cut(name: str) -> str:
    return name if len(name) <= 24 else f"{name[:20].rstrip()} ..."


def _identity_of(plan: Plan, who: str, home: str) -> list[str]:
    trip, units = plan.trip, plan.units
    at = plan.forecast.home
    length = shown(trip.bow.draw_length_m, "offset", units)
    bow = f"{shown(trip.bow.draw_weight_n, 'force', units)}, draw {length}"
    temperature = shown_celsius(at.air.temperature_c, units)
    elevation = shown(at.elevation_m, "elevation", units)
    stated = "" if trip.home.temperatures_c else " (standard air)"
    shot = trip.reference.shot_on
    return [
        f"{who}, {bow}, {units}.",
        f"Baseline: {home}, {elevation}, {temperature}{stated}.",
        f"Not valid if strings, rest, sight, arrows changed since {shot or 'the sight was set, date not recorded'}.",
        f"v{plan.version}.",
    ]
