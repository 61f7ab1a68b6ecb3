"""Plan -> the handout: one HTML file for a phone that ticks, measures and judges without any network.

The page is static and complete without its script; the script keeps ticks and arrows, and judges them. The policy in
the file lets nothing load and only these two texts run: the style sheet and the script, each by its hash.
"""

from __future__ import annotations

import re
from base64 import b64encode
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from readiness import stages
from readiness.files import sha256_of
from readiness.render.elements import Heading
from readiness.render.handout_camp import arrows_section, carry_section
from readiness.render.handout_data import handout_data
from readiness.render.handout_form import form_section
from readiness.render.handout_parts import causes_section, packing_section, raised_section, stops_section
from readiness.render.html import Html, joined, plain, script_data, tag
from readiness.render.html_elements import USUAL_SOURCE, body_of
from readiness.render.kit import requirement_elements
from readiness.render.pages import camp_elements, plan_page

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.plan import Plan
    from readiness.render.elements import Element
    from readiness.stages import Stage

_FOLDER = Path(__file__).parent
_TEXTS = re.compile(r'("(?:[^"\\]|\\.)*")')  # in a line of the script


def handout_html(plan: Plan) -> str:
    """The whole page: the same plan gives the same text.

    Parameters
    ----------
    plan : the plan; its units are those of the page

    Returns
    -------
    HTML, [text]

    """
    style, script, policy = _fixed()
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=policy),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", _title(plan)),
        tag("style", Html(style)),
    )
    data = tag("script", script_data(handout_data(plan)), type="application/json", id="data")
    body = tag("body", *_body(plan), data, tag("script", Html(script)))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def _title(plan: Plan) -> str:
    """Whose it is stands first: a browser cuts the end off."""
    trip = plan.trip
    number = f"({trip.hunter_id})" if trip.hunter_name and trip.hunter_id else trip.hunter_id
    who = " ".join(filter(None, (trip.hunter_name, number)))
    return f"{', '.join(filter(None, (who, trip.name)))}: handout"


def _body(plan: Plan) -> Iterator[Html]:
    title, stops, *sections = _sections(plan_page(plan._replace(camp_words=())))
    del stops  # told here with the state of each step beside it
    answer, expectations, *in_stages = sections[: 2 + len(stages.ALL)]
    pins = [element for section in sections[2 + len(stages.ALL) :] for element in section]
    yield tag("a", "Skip to the answer", href="#answer", class_="skip")
    yield tag("header", body_of(title), _controls(plan), _links(), id="top")
    yield _bar()
    yield tag(
        "main",
        raised_section(plan),
        tag("p", class_="alarm", id="alarm", role="alert", hidden=True),
        tag("section", body_of(answer), id="answer"),
        stops_section(plan),
        *([_fold("camp", camp_elements(plan))] if plan.camp_words else []),
        _fold("show", expectations),
        tag("p", f"Where a step names no source, it is {USUAL_SOURCE}."),
        *(
            joined(_stage(plan, stage, section), arrows_section(plan) if stage.key == "arrival" else "")
            for stage, section in zip(stages.ALL, in_stages, strict=True)
        ),
        packing_section(plan),
        _fold("pins", pins[:-2]),
        *_requirements(plan),
        causes_section(plan),
        carry_section(),
        form_section(plan),
    )
    yield tag("footer", _validity(plan), body_of(pins[-2:]))


def _sections(page: Sequence[Element]) -> list[list[Element]]:
    """The page cut before each heading of the second level."""
    sections: list[list[Element]] = [[]]
    for element in page:
        if isinstance(element, Heading) and element.level == 2:
            sections.append([])
        sections[-1].append(element)
    return sections


def _controls(plan: Plan) -> Html:
    """Where the reader is, and how the screen shows it."""
    places = [tag("option", place.name, value=str(i)) for i, place in enumerate(plan.trip.destinations)]
    looks = (("auto", "as the phone"), ("paper", "black on white"), ("red", "dark red"))
    return tag(
        "div",
        tag("p", "The script of this page does not run here: it keeps no ticks and judges no arrows.", id="no-script"),
        tag("label", "You are at ", tag("select", *places, id="place"), hidden=len(places) < 2),
        tag("label", "Screen ", tag("select", *(tag("option", text, value=v) for v, text in looks), id="look")),
        tag("p", id="memory", role="status"),
        class_="controls",
    )


def _links() -> Html:
    links = (
        ("answer", "Answer"),
        ("stops", "STOP steps"),
        ("show", "What it must show"),
        ("stage-arrival", "Arrival"),
        ("butt", "Arrows"),
        ("stage-morning", "Morning"),
        ("stage-knock", "After a knock"),
        ("pack", "Packing"),
        ("pins", "Pins"),
        ("causes", "Causes"),
        ("carry", "Carry home"),
        ("form", "Return form"),
    )
    return tag("nav", *(tag("a", text, href=f"#{target}") for target, text in links), aria_label="On this page")


def _bar() -> Html:
    return tag(
        "div",
        tag("span", id="progress", role="status"),
        tag("a", "Arrows", href="#butt"),
        tag("a", "Top", href="#top"),
        class_="bar",
    )


def _fold(name: str, section: Sequence[Element]) -> Html:
    """A section that the script can close. What its heading explains behind a colon opens its text."""
    heading, *rest = section
    assert isinstance(heading, Heading)
    title, _, about = heading.text.partition(": ")
    told = tag("p", f"{about[:1].upper()}{about[1:]}.") if about else ""
    return tag("section", tag("h2", title), tag("div", told, body_of(rest), class_="body"), id=name, class_="fold")


def _stage(plan: Plan, stage: Stage, section: Sequence[Element]) -> Html:
    heading, *rest = section
    assert isinstance(heading, Heading)
    assert heading.text.startswith(stage.title)
    over = stages.over_after(stage, plan.trip)
    return tag(
        "section",
        tag("h2", heading.text),
        tag("div", body_of(rest), class_="body"),
        id=f"stage-{stage.key}",
        class_="fold stage",
        data_to=None if over is None else str(over),
    )


def _requirements(plan: Plan) -> Iterator[Html]:
    elements = list(requirement_elements(plan.rulings))
    if elements:
        yield _fold("required", elements)


def _validity(plan: Plan) -> Html:
    shot = plan.trip.reference.shot_on
    since = f"since {shot}" if shot else "since the reference was shot (its day is not recorded)"
    return tag(
        "p",
        tag("b", f"Not valid if strings, rest, sight or arrows changed {since}. "),
        f"Made for {plain(plan.trip.name)} on {plan.today}.",
    )


@cache
def _fixed() -> tuple[str, str, str]:
    """The style sheet, the script, and the policy that lets these two run and nothing else."""
    style, script = _close_style(_source("handout.css")), _close_script(_source("handout_judge.js", "handout.js"))
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    return style, script, policy


def _source(*names: str) -> str:
    """Files of this folder as one text, without indentation and the lines that are only comment."""
    lines = [line for name in names for line in (_FOLDER / name).read_text(encoding="utf-8").splitlines()]
    kept = (line.strip() for line in lines)
    return "\n".join(line for line in kept if line and not line.startswith(("//", "/*")))


def _close_style(style: str) -> str:
    """A style sheet without the spaces that it can do without; those of its texts stay."""
    return re.sub(r'(?<!"):\s', ":", re.sub(r"\s*([{};,])\s*", r"\1", style)).replace(";}", "}")


def _close_script(script: str) -> str:
    """A script without the spaces around signs that stand in none of its texts, and the ends of lines it can spare."""
    script = re.sub(" (=>|===|!==|&&|[?]{2}|[|]{2}|[?:<>*/+=-]) (?=[^+-])", r"\1", re.sub("  //.*| // .*", "", script))
    script = re.sub("(?<={) | (?=})|(?<=[)]) (?={)|(?<=\\bif) (?=[(])|(?<=\\bfor) (?=[(])", "", script)
    return re.sub("(?<=[{;,([])\n", "", "\n".join(map(_close_line, script.split("\n"))))


def _close_line(line: str) -> str:
    """A line of the script without the spaces behind its commas, but for texts and lines with a template."""
    if "`" in line or "/" in line:
        return line
    return "".join(part if i % 2 else part.replace(", ", ",") for i, part in enumerate(_TEXTS.split(line)))


def _hash(text: str) -> str:
    return f"sha256-{b64encode(bytes.fromhex(sha256_of(text.encode('utf-8')))).decode('ascii')}"
