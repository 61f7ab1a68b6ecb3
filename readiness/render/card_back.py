"""The back of the field card: safety, after a knock, the causes; and the blocks of a stage with boxes to fill."""

from __future__ import annotations

import json
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
MOST_STEPS = 7  # in one block of a printed checklist


def back_face(plan: Plan) -> dict[str, Any]:
    """Safety, then what to do after a knock, then what a miss means."""
    return {"title": "After a knock", "closing": _closing(plan, "knock"), "items": [*_knock(plan), *_causes()]}


def _knock(plan: Plan) -> Iterator[Item]:
    """Cautions of the moment, then every step with a number, its own cautions before it."""
    yield from _cautions(plan.cautions_before_stage("knock"), set())
    told = {caution.id for caution in plan.cautions_before_stage("knock")}
    number = 0
    for (block, mode), group in groupby(plan.steps_of("knock"), key=lambda step: (step.block, step.mode)):
        steps = _stop_first(group)
        yield {"kind": "head", "text": f"{block or 'After a knock'} ({mode})"}
        for step in steps:
            number += 1
            yield from _cautions(plan.cautions_before_step(step.id), told)
            yield _step(step, number=number)
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
            items.append(_step(step, box=True))
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


def _step(step: Step, *, number: int | None = None, box: bool = False) -> Item:
    """A step where the words are read while it is done says what to do; one that is confirmed only what must be so."""
    lines = [step.do] if step.mode != "do, then confirm" else []
    return {
        "kind": "step",
        "number": number,
        "box": box,
        "stop": step.stop,
        "title": step.title,
        "lines": [*lines, step.expect],
        "if_not": step.if_not,
    }


def _cautions(cautions: Sequence[PlanCaution], told: set[str]) -> Iterator[Item]:
    """Each in full where the card says it first; told already, it is not said again."""
    for caution in cautions:
        if caution.id not in told:
            told.add(caution.id)
            doubt = f" ({caution.reason})" if caution.outcome == "cannot tell" else ""
            yield {"kind": "caution", "text": f"{caution.text}{doubt}", "keep": bool(caution.before)}


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
    bare, fletched = data["bare shaft"], data["fletched"]
    yield {"kind": "head", "text": bare["title"]}
    yield {"kind": "text", "text": bare["lead"], "keep": True}
    yield from ({"kind": "text", "lead": landed, "text": text} for landed, text in bare["rows"])
    yield {"kind": "head", "text": fletched["title"]}
    yield {"kind": "text", "text": fletched["lead"], "keep": True}
    rows = [[growth, {"lead": landed, "text": text}] for growth, landed, text in fletched["rows"]]
    yield {
        "kind": "table",
        "columns": ["auto", "1fr"],
        "wide_only": [],
        "header": fletched["header"],
        "rows": rows,
        "big": [0],
    }
    yield {"kind": "text", "text": f"({data['basis']})"}
    yield {"kind": "head", "text": data["stop"]["title"]}
    yield from ({"kind": "text", "text": f"- {line}"} for line in data["stop"]["lines"])


@cache
def _cause_data() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(Path(__file__).with_name("causes.json").read_text(encoding="utf-8"))
    return data
