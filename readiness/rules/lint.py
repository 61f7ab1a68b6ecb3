"""What a rule pack may say: its grammar by schema, then the craft of a checklist, then its own examples."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from readiness.packing import plain
from readiness.patterns import LONGEST
from readiness.problems import Fault, Problem, closest, sort_and_dedupe
from readiness.rules.craft import craft_findings
from readiness.rules.facts import FACTS, PLACEHOLDERS
from readiness.rules.packs import SWEEP
from readiness.rules.when import APPLIES, CANNOT_TELL, DOES_NOT_APPLY, Describe, evaluate
from readiness.trip.validate import validate

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from readiness.documents import Path
    from readiness.rules.packs import Pack

PACK_SCHEMA_FILE = FilePath(__file__).parent / "pack.schema.json"
_BRACES = re.compile(r"\{([^{}]*)\}|[{}]")

Finding = tuple["Path", Fault]


@lru_cache(maxsize=1)
def pack_schema() -> dict[str, Any]:
    """The rule pack's JSON Schema (draft 2020-12), with the known facts and what may be asked of each."""
    schema: dict[str, Any] = json.loads(PACK_SCHEMA_FILE.read_text(encoding="utf-8"))
    conditions, examples = (schema["$defs"][name]["properties"] for name in ("condition", "facts"))
    schema["$defs"]["rule"]["properties"]["at"]["enum"] = list(SWEEP)
    for fact in FACTS.values():
        if fact.is_condition:
            kind = "number" if fact.is_number else fact.kind
            conditions[fact.name] = {"$ref": f"#/$defs/{kind}", "description": fact.about}
            if fact.kind == "count":
                schema["$defs"]["need"]["properties"]["per"]["enum"].append(fact.name)
            examples[fact.name] = {"type": {"number": "number", "flag": "boolean", "text": "string"}[kind]}
            if kind == "text":
                examples[fact.name]["maxLength"] = LONGEST
    return schema


def lint_packs(packs: Iterable[Pack]) -> tuple[Problem, ...]:
    """Everything wrong with some packs read together; ids must be unique over all of them."""
    packs = tuple(packs)
    problems: list[Problem] = []
    seen: dict[str, str] = {}
    names: dict[str, str] = {}
    for pack in packs:
        schema_problems = validate(pack.document, pack_schema())
        problems.extend(schema_problems)
        for path, fault in _names_and_words(pack, seen, names):
            problems.append(pack.document.problem(path, fault))
        if not schema_problems:  # examples of a condition that is no condition would only repeat it
            problems.extend(pack.document.problem(path, fault) for path, fault in _examples(pack))
    known = {rule.id for pack in packs for rule in pack.rules}
    problems.extend(pack.document.problem(path, fault) for pack in packs for path, fault in _unknown_steps(pack, known))
    return sort_and_dedupe(problems)


def _names_and_words(pack: Pack, seen: dict[str, str], names: dict[str, str]) -> Iterator[Finding]:
    for entry, path in _entries(pack):
        if entry.id in seen:
            yield (
                (*path, "id"),
                Fault(
                    "repeated-id",
                    f"{entry.id} stands in {seen[entry.id]} already",
                    "give it an id of its own",
                ),
            )
        seen.setdefault(entry.id, pack.document.name)
    for rule in pack.rules:
        path = ("rules", rule.position)
        for key in ("title", "do", "expect", "if_not"):
            yield from _placeholders((*path, key), getattr(rule, key))
    for caution in pack.cautions:
        yield from _placeholders(("cautions", caution.position, "text"), caution.text)
    yield from _items(pack, names)
    yield from craft_findings(pack)


def _items(pack: Pack, names: dict[str, str]) -> Iterator[Finding]:
    """A name belongs to one item, and an item's own bags are not those it may not fly in."""
    for item in pack.items:
        path = ("items", item.position)
        for name in (item.item, *item.aliases):
            owner = names.setdefault(plain(name), item.id)
            if owner != item.id:
                yield (
                    path,
                    Fault("repeated-name", f"{name!r} is a name of {owner} already", "give it to one of the two"),
                )
        clash = sorted(set(item.air) & set(item.never))
        if clash:
            message = f"{item.id} is sent by air in the {clash[0]} bag, in which it may not fly"
            yield (*path, "never"), Fault("forbidden-bag", message, "take that bag out of air:")
        if item.battery and "checked" not in item.never:
            yield (
                path,
                Fault("forbidden-bag", f"{item.id} carries lithium and may ride in the hold", "add never: [checked]"),
            )


def _entries(pack: Pack) -> Iterator[tuple[Any, Path]]:
    yield from ((rule, ("rules", rule.position)) for rule in pack.rules)
    yield from ((caution, ("cautions", caution.position)) for caution in pack.cautions)
    yield from ((item, ("items", item.position)) for item in pack.items)


def _placeholders(path: Path, text: str) -> Iterator[Finding]:
    for match in _BRACES.finditer(text):
        name = match[1]
        if name in PLACEHOLDERS:
            continue
        close = closest(name or "", PLACEHOLDERS)
        hint = f"did you mean {{{close}}}?" if close else "a placeholder is the name of a fact, without its unit"
        yield path, Fault("unknown-placeholder", f"{match[0]} is no fact", hint)


def _examples(pack: Pack) -> Iterator[Finding]:
    for entry, path in _entries(pack):
        raw = pack.document.data[path[0]][path[1]]
        examples = raw.get("examples", {})
        if entry.when and not ("applies" in examples and "skips" in examples):
            yield (
                path,
                Fault(
                    "no-example",
                    f"{entry.id} has a condition without an example of each kind",
                    "add examples: with applies: and skips:",
                ),
            )
        for key, outcome in (("applies", APPLIES), ("skips", DOES_NOT_APPLY), ("cannot_tell", CANNOT_TELL)):
            for index, facts in enumerate(examples.get(key, ())):
                verdict = evaluate(entry.when, facts, _PLAIN)
                if verdict.outcome != outcome:
                    message = f"{entry.id}: under these facts it {_SAYS[verdict.outcome]}: {verdict.reason}"
                    yield (
                        (*path, "examples", key, index),
                        Fault("wrong-example", message, "mend the condition or the example"),
                    )


def _unknown_steps(pack: Pack, known: set[str]) -> Iterator[Finding]:
    named: list[tuple[Path, str]] = [
        (("cautions", caution.position, "before", index), step)
        for caution in pack.cautions
        for index, step in enumerate(caution.before)
    ]
    named += [(("causes", cause, index), step) for cause, steps in pack.causes for index, step in enumerate(steps)]
    named += [(("marks", index), step) for index, step in enumerate(pack.marks)]
    for path, step in named:
        if step not in known:
            yield path, Fault("unknown-step", f"no rule has the id {step}", "write the id of a rule")


_PLAIN = Describe(lambda name: name, lambda _, value: str(value), lambda name: name)
_SAYS = {APPLIES: "applies", DOES_NOT_APPLY: "does not apply", CANNOT_TELL: "cannot tell"}
