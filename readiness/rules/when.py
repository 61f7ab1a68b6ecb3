"""The `when:` of a rule: a small closed grammar over flat facts, with three outcomes and a reason.

A leaf is `fact: {keyword: value}` with JSON Schema's const, enum, minimum, maximum, exclusiveMinimum,
exclusiveMaximum and pattern; `all`, `any` and `not` combine. A fact that is missing gives "cannot tell",
never true or false, unless the other branches decide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

APPLIES, DOES_NOT_APPLY, CANNOT_TELL = "applies", "does not apply", "cannot tell"
COMBINATORS = ("all", "any", "not")


class Verdict(NamedTuple):
    """applies, does not apply or cannot tell; and why, in words."""

    outcome: str
    reason: str


class Describe(NamedTuple):
    """How reasons name a fact: its words, its value as shown, and what a trip file must say to have it."""

    words: Callable[[str], str]
    shown: Callable[[str, Any], str]
    needs: Callable[[str], str]


def evaluate(when: Any, facts: Mapping[str, Any], describe: Describe) -> Verdict:
    """Whether a condition holds.

    Parameters
    ----------
    when : the condition; None or an empty one always applies
    facts : name -> value; a fact that is not known is not in it
    describe : how to word the reason

    Returns
    -------
    Verdict

    Examples
    --------
    >>> plain = Describe(lambda name: name, lambda name, value: str(value), lambda name: name)
    >>> evaluate({"climb_m": {"minimum": 600}}, {"climb_m": 2400}, plain)
    Verdict(outcome='applies', reason='climb_m is 2400, at least 600')
    >>> evaluate({"not": {"climb_m": {"minimum": 600}}}, {}, plain)
    Verdict(outcome='cannot tell', reason='missing climb_m')

    """
    if not when:
        return Verdict(APPLIES, "always")
    parts = [_part(key, value, facts, describe) for key, value in when.items()]
    return parts[0] if len(parts) == 1 else _all(parts)


def fact_names(when: Any) -> set[str]:
    """The facts that a condition speaks of.

    >>> sorted(fact_names({"all": [{"a": {"const": 1}}, {"not": {"b": {"const": 2}}}]}))
    ['a', 'b']
    """
    names: set[str] = set()
    for key, value in (when or {}).items():
        if key not in COMBINATORS:
            names.add(key)
        for part in value if isinstance(value, list) else [value] if key == "not" else []:
            names |= fact_names(part)
    return names


def _part(key: str, value: Any, facts: Mapping[str, Any], describe: Describe) -> Verdict:
    if key == "all":
        return _all([evaluate(part, facts, describe) for part in value])
    if key == "any":
        return _any([evaluate(part, facts, describe) for part in value])
    if key == "not":
        return _not(evaluate(value, facts, describe))
    if facts.get(key) is None:
        return Verdict(CANNOT_TELL, f"missing {describe.needs(key)}")
    return _leaf(key, value, facts[key], describe)


def _all(parts: list[Verdict]) -> Verdict:
    for outcome in (DOES_NOT_APPLY, CANNOT_TELL):
        deciding = [part for part in parts if part.outcome == outcome]
        if deciding:
            return Verdict(outcome, _joined(deciding))
    return Verdict(APPLIES, _joined(parts))


def _any(parts: list[Verdict]) -> Verdict:
    for outcome in (APPLIES, CANNOT_TELL):
        deciding = [part for part in parts if part.outcome == outcome]
        if deciding:
            return Verdict(outcome, _joined(deciding))
    return Verdict(DOES_NOT_APPLY, _joined(parts))


def _not(part: Verdict) -> Verdict:
    turned = {APPLIES: DOES_NOT_APPLY, DOES_NOT_APPLY: APPLIES}
    return Verdict(turned.get(part.outcome, part.outcome), part.reason)


def _joined(parts: list[Verdict]) -> str:
    reasons = (reason for part in parts for reason in part.reason.split("; "))
    return "; ".join(dict.fromkeys(reasons))


def _leaf(name: str, tests: Mapping[str, Any], value: Any, describe: Describe) -> Verdict:
    words, is_now = describe.words(name), describe.shown(name, value)
    wanted = []
    for keyword, limit in tests.items():
        holds, phrase = _KEYWORDS[keyword]
        listed = limit if isinstance(limit, list) else [limit]
        target = " or ".join(limit if keyword == "pattern" else describe.shown(name, one) for one in listed)
        if not holds(value, limit):
            return Verdict(DOES_NOT_APPLY, f"{words} is {is_now}, not {phrase}{target}")
        wanted.append(f"{phrase}{target}")
    plain = all(keyword in ("const", "enum") for keyword in tests)
    return Verdict(APPLIES, f"{words} is {is_now}" if plain else f"{words} is {is_now}, {' and '.join(wanted)}")


def _same(value: Any, limit: Any) -> bool:
    """Equality as in JSON: true is not 1."""
    return isinstance(value, bool) == isinstance(limit, bool) and value == limit


def _found(value: Any, limit: Any) -> bool:
    from readiness.patterns import found

    return found(limit, value)


_KEYWORDS: dict[str, tuple[Callable[[Any, Any], bool], str]] = {
    "const": (_same, ""),
    "enum": (lambda value, limit: any(_same(value, one) for one in limit), ""),
    "minimum": (lambda value, limit: value >= limit, "at least "),
    "maximum": (lambda value, limit: value <= limit, "at most "),
    "exclusiveMinimum": (lambda value, limit: value > limit, "more than "),
    "exclusiveMaximum": (lambda value, limit: value < limit, "less than "),
    "pattern": (_found, "like "),
}
