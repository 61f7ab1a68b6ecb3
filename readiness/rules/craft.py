"""The craft of a checklist: short blocks, stop steps first, one action a line, answers that need a look.

Each finding is a path in the pack and a fault. What these rules rest on: people skip steps of long lists, answer
"checked" without looking, and lose their place when the eye must jump (studies of flight-deck and surgical
checklists, read second-hand; the figures are common practice).
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from readiness.problems import Fault
from readiness.rules.packs import SWEEP

if TYPE_CHECKING:
    from collections.abc import Iterator

    from readiness.documents import Path
    from readiness.rules.packs import Pack, Rule

MOST_STEPS_IN_A_BLOCK = 7
MOST_STOPS_IN_A_BLOCK = 3

# A response that can be given without looking. The wanted thing is a value or a state.
_EMPTY_RESPONSES = re.compile(
    r"\b(?:check(?:ed)?|as required|as needed|is set)\b"
    r"|(?:^|[;,.] ?)(?:all )?(?:ok|okay|fine|good|well)(?=[;,.]|$)|\bok(?:ay)?\b",
    re.IGNORECASE,
)
_EMPTY_ORDERS = re.compile(r"\b(?:ensure that|make sure|as required|as needed|if necessary)\b", re.IGNORECASE)
_DOUBLE_NEGATIVE = re.compile(r"\bnot? (?:un\w+(?:ed|en|ble)|unlike|without|missing|absent)\b", re.IGNORECASE)
_VERBS = (
    "look|shoot|measure|pull|touch|count|mark|paint|tape|weigh|slap|flex|see|let|press|move|put|draw|tie|watch|box|"
    "open|bend|run|twist|point|turn|photograph|stand|walk|range|spin|lay|leave|hold|read|set|find|repeat|compare|carry|"
    "check|tighten|rinse|wax|clean|wipe|dry|oil|loosen|cut|serve|replace|remove|fit|screw|unscrew|nock|aim|pack|ask"
)
# Two actions in one line. To note, write or listen to the result of an action belongs to it; a word such as draw
# is a noun unless it has an object: `and draw the bow`, but `brace height and draw weight`.
_SECOND_ACTION = re.compile(
    rf";|\bthen (?:{_VERBS})\b|\. [A-Z]"
    rf"|(?:\band (?:then )?|, )(?:{_VERBS})"
    r"(?= (?:the|each|every|it|them|its|their|an?|your|both|all|one|two|slowly|gently|again|twice|once"
    r"|from|at|for|into|through|along|back|up|down)\b)"
)

Finding = tuple["Path", Fault]


def craft_findings(pack: Pack) -> Iterator[Finding]:
    """Everything in a pack that a good checklist would not have."""
    for rule in pack.rules:
        yield from _wording(rule)
    yield from _blocks(pack)
    yield from _sweep(pack)


def _wording(rule: Rule) -> Iterator[Finding]:
    path = ("rules", rule.position)
    tests = (
        (
            "expect",
            _EMPTY_RESPONSES,
            "empty-words",
            "can be answered without looking",
            "name the wanted value or state",
        ),
        ("do", _EMPTY_ORDERS, "empty-words", "says nothing that can be done", "name the action"),
        ("do", _SECOND_ACTION, "two-actions", "begins a second action", "one action a line: make two steps of it"),
        ("expect", _DOUBLE_NEGATIVE, "double-negative", "says no twice", "say what is there"),
    )
    for key, refused, code, why, hint in tests:
        match = refused.search(getattr(rule, key))
        if match:
            yield (*path, key), Fault(code, f"{match[0].strip()!r} {why}", hint)


def _blocks(pack: Pack) -> Iterator[Finding]:
    """At most seven steps in a block, at most three that stop, and those first."""
    sizes = Counter((rule.stage, rule.block) for rule in pack.rules)
    steps: Counter[tuple[str, str]] = Counter()
    stops: Counter[tuple[str, str]] = Counter()
    for rule in pack.rules:
        block, path = (rule.stage, rule.block), ("rules", rule.position)
        if rule.stop and steps[block] > stops[block]:
            hint = "move the stop steps to the head of their block"
            yield (*path, "stop"), Fault("late-stop", "a stop step stands behind one that is not", hint)
        steps[block] += 1
        stops[block] += rule.stop
        name = ": ".join(filter(None, block))
        if steps[block] == MOST_STEPS_IN_A_BLOCK + 1:
            message = f"the block {name} has {sizes[block]} steps; more than {MOST_STEPS_IN_A_BLOCK} are not read"
            yield path, Fault("long-block", message, "begin another block: here, or drop steps")
        if rule.stop and stops[block] == MOST_STOPS_IN_A_BLOCK + 1:
            message = f"the block {name} has more than {MOST_STOPS_IN_A_BLOCK} stop steps; then none stands out"
            yield (*path, "stop"), Fault("many-stops", message, "begin another block: here")


def _sweep(pack: Pack) -> Iterator[Finding]:
    """Steps that name a place on the bow follow one sweep over it; the stop steps of a block are one of their own."""
    farthest: dict[tuple[str, str, bool], str] = {}
    for rule in pack.rules:
        if not rule.at:
            continue
        block = (rule.stage, rule.block, rule.stop)
        before = farthest.get(block)
        if before and SWEEP.index(rule.at) < SWEEP.index(before):
            message = f"{rule.at} stands behind {before}: the hand has to go back"
            yield ("rules", rule.position, "at"), Fault("out-of-sweep", message, f"the order is {', '.join(SWEEP)}")
        else:
            farthest[block] = rule.at
