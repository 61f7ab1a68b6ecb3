"""The back of the field card: safety, after a knock, the causes; and the blocks of a stage with boxes to fill."""

from __future__ import annotations

import json
import re
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from readiness import stages

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.plan import Plan, PlanCaution, Step
    from readiness.stages import Stage

Item = dict[str, Any]
LEAST_CAUTION = 60  # letters: a shorter first sentence names a danger and no way around it
MOST_STEPS = 7  # in one block of a printed checklist


def back_face(plan: Plan) -> dict[str, Any]:
    """Safety, then what to do after a knock, then what a miss means."""
    return {"title": "After a knock", "closing": _closing(plan, "knock"), "items": [*_knock(plan), *_causes()]}


def _knock(plan: Plan) -> Iterator[Item]:
    """Cautions of the moment, then every step with a number, its own cautions before it; short, for cold hands."""
    modes = {step.mode for step in plan.steps_of("knock")}
    mode = modes.pop() if len(modes) == 1 else ""
    short = "In short; in full in the plan."
    yield {"kind": "text", "lead": mode.capitalize(), "text": short} if mode else {"kind": "text", "text": short}
    for caution in _cautions(plan.cautions_before_stage("knock"), set()):
        yield {**caution, "text": sentences(caution["text"])[0]}
    told = {caution.id for caution in plan.cautions_before_stage("knock")}
    number = 0
    for (block, its_mode), group in groupby(plan.steps_of("knock"), key=lambda step: (step.block, step.mode)):
        steps = _stop_first(group)
        yield {"kind": "head", "text": (block or "After a knock") + ("" if mode or not its_mode else f" ({its_mode})")}
        for step in steps:
            number += 1
            yield from _cautions(plan.cautions_before_step(step.id), told, short=True)
            yield _short_step(step, number)
    if number == 0:
        yield {"kind": "text", "text": "cannot tell: no step for a knock in the rule packs"}
    yield from _unknown(plan, "knock")


def stage_face(plan: Plan, stage: Stage) -> dict[str, Any]:
    """A stage: blocks of at most seven steps, each step with a box and room for what was found."""
    told: set[str] = set()
    items: list[Item] = list(_cautions(plan.cautions_before_stage(stage.key), told))
    for title, mode, steps in _blocks(plan.steps_of(stage.key)):
        if title or mode:
            items.append({"kind": "head", "text": f"{title} ({mode})" if title and mode else title or mode})
        for step in steps:
            items += _cautions(plan.cautions_before_step(step.id), told)
            items.append(_step(step))
    items += _unknown(plan, stage.key)
    if not items:
        items.append({"kind": "text", "text": "No step of this stage concerns this trip."})
    return {"title": f"{stage.title}: {stage.moment}", "closing": _closing(plan, stage.key), "items": items}


def _blocks(steps: Sequence[Step]) -> Iterator[tuple[str, str, list[Step]]]:
    """Blocks as their pack names them, cut at seven steps."""
    for (block, mode, _), group in groupby(steps, key=lambda step: (step.block, step.mode, step.closing)):
        whole = _stop_first(group)
        parts = [whole[i : i + MOST_STEPS] for i in range(0, len(whole), MOST_STEPS)]
        for number, part in enumerate(parts, 1):
            yield (f"{block}, part {number}" if len(parts) > 1 else block), mode, part


def _stop_first(steps: Any) -> list[Step]:
    """Stop steps before the others of their block; the blocks themselves keep their order: look, marks, then arrows."""
    return sorted(steps, key=lambda step: not step.stop)


def _short_step(step: Step, number: int) -> Item:
    """One line: title, what must be so, no limit left out. A STOP step says all, and what to do if it is not so."""
    item = {"kind": "step", "number": number, "box": False, "stop": step.stop, "title": step.title}
    if step.stop:
        return {**item, "lines": [step.expect], "if_not": f"{sentences(step.if_not)[0]}"}
    first, *more = re.split(r"[.](?= )", step.expect)[0].removesuffix(".").split(";")
    return {**item, "lines": [f"{';'.join([first, *(part for part in more if re.search('[0-9]', part))])}."]}


def _step(step: Step) -> Item:
    """A step where the words are read while it is done says what to do; one that is confirmed only what must be so."""
    lines = [step.do] if step.mode != "do, then confirm" else []
    return {
        "kind": "step",
        "number": None,
        "box": True,
        "stop": step.stop,
        "title": step.title,
        "lines": [*lines, step.expect],
        "if_not": step.if_not,
    }


def sentences(text: str) -> list[str]:
    """Whole sentences; a full stop ends one where a space and a capital follow.

    >>> sentences("Stop. Rest 1.5 h. Then look.")
    ['Stop.', 'Rest 1.5 h.', 'Then look.']
    """
    return re.split(r"(?<=[.!?]) (?=[A-Z])", text)


def shortened(text: str) -> str:
    """The first sentence of a caution, and further ones until it says not only the danger but what to do.

    >>> shortened("A bare shaft can leave the line. Begin at 5 yd; broad butt, nobody forward. Field points only.")
    'A bare shaft can leave the line. Begin at 5 yd; broad butt, nobody forward.'
    """
    kept = ""
    for sentence in sentences(text):
        if len(kept) >= LEAST_CAUTION:
            break
        kept = f"{kept} {sentence}".strip()
    return kept


def _cautions(cautions: Sequence[PlanCaution], told: set[str], *, short: bool = False) -> Iterator[Item]:
    """Each where the card comes to it first; told already, it is not said again."""
    for caution in cautions:
        if caution.id not in told:
            told.add(caution.id)
            doubt = f" ({caution.reason})" if caution.outcome == "cannot tell" else ""
            text = shortened(caution.text) if short else caution.text
            yield {"kind": "caution", "text": f"{text}{doubt}", "keep": bool(caution.before)}


def _unknown(plan: Plan, stage: str) -> Iterator[Item]:
    unknown = plan.steps_of(stage, "cannot tell")
    if unknown:
        yield {"kind": "head", "text": "Cannot tell"}
        yield from ({"kind": "text", "text": f"{step.title}: {step.reason}"} for step in unknown)


def _closing(plan: Plan, stage: str) -> str:
    steps = plan.steps_of(stage)
    title = next(s.title for s in stages.ALL if s.key == stage)
    return steps[-1].closing if steps and steps[-1].closing else title


def _causes() -> Iterator[Item]:
    """What a miss means, by how it grows: the data of causes.json."""
    data = _cause_data()
    for part in data["tables"]:
        yield {"kind": "head", "text": part["title"]}
        yield {"kind": "text", "text": part["lead"], "keep": True}
        yield {
            "kind": "table",
            "columns": part["columns"],
            "wide_only": [],
            "header": part["header"],
            "rows": part["rows"],
            "big": [],
        }
    yield {"kind": "text", "text": f"({data['basis']})"}
    yield {"kind": "head", "text": data["stop"]["title"]}
    yield {"kind": "text", "text": data["stop"]["text"]}


@cache
def _cause_data() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(Path(__file__).with_name("causes.json").read_text(encoding="utf-8"))
    return data
