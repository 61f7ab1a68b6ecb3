"""What a requirement may say: the closed list of topics, and how a rule's text is read into a limit.

Limits are exact fractions of what was written.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from readiness.problems import Fault
from readiness.units import exact, read_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date
    from fractions import Fraction

LOWER = ("at least", "more than")
UPPER = ("at most", "less than")
BAN = ("not allowed", "required")
NO_EDITION = "the edition is not stated"


# How a rule says what is measured: our word for it, and the words in which it may stand behind the number.
_MEASURED = {
    "open": r"(?:when |while )?open(?:ed)?",
    "closed": r"(?:when |while )?closed",
    "peak": r"(?:at )?(?:the )?peak(?: weight)?",
    "at the archer's draw": r"(?:at|within) the archer's draw(?: length)?|at draw",
    "at a draw length": r"(?:at|up to) ([0-9][0-9./ ]* ?(?:in|cm|mm))(?: of)?(?: draw)?(?: length)?",
}


class Topic(NamedTuple):
    """What a requirement of a topic may say: its dimension, its comparisons, how it may be measured."""

    dimension: str
    comparisons: tuple[str, ...]
    measured: tuple[str, ...] = ()


TOPICS: dict[str, Topic] = {
    "draw weight": Topic("force", (*LOWER, *UPPER), ("peak", "at the archer's draw", "at a draw length")),
    "let-off": Topic("ratio", UPPER),
    "arrow mass": Topic("mass", LOWER),
    "arrow mass per draw weight": Topic("mass per force", LOWER),
    "arrow length": Topic("length", LOWER),
    "head mass": Topic("mass", LOWER),
    "cutting width": Topic("length", LOWER, ("open", "closed")),
    "blade count": Topic("count", LOWER),
    "fixed head": Topic("", BAN),
    "mechanical head": Topic("", BAN),
    "lighted nock": Topic("", BAN),
    "powered sight": Topic("", BAN),
    "sight magnification": Topic("count", (*UPPER, "not allowed")),
    "education": Topic("", ("required",)),
    "document": Topic("", ("required",)),
}


# What stands behind a comparison, by dimension; a rule of none has nothing there.
_NUMBERS = {
    "force": "50 lb",
    "ratio": "80 %",
    "mass": "100 gr",
    "mass per force": "6 gr per lb",
    "length": "1 in",
    "count": "2",
}
_IN_WORDS = {"at a draw length": "at 28 in of draw"}


def rule_forms() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Each topic with the forms that its rule may have, with a made-up number; ... is any that has one.

    >>> dict(rule_forms())["education"], dict(rule_forms())["blade count"]
    (('required',), ('at least 2', 'more than 2'))
    """
    return tuple((name, tuple(_forms(topic))) for name, topic in TOPICS.items())


def _forms(topic: Topic) -> Iterator[str]:
    for comparison in topic.comparisons:
        yield comparison if comparison in BAN else f"{comparison} {_NUMBERS[topic.dimension]}"
    yield from (f"... {_IN_WORDS.get(way, way)}" for way in topic.measured)


class Limit(NamedTuple):
    """A rule that was read: its comparison, its exact limit in SI, how it is measured, the number as written."""

    comparison: str
    value: Fraction | None
    measured: str
    written: str


def read_rule(topic: str, rule: str) -> Limit | Fault:
    """Read a rule such as `at least 50 lb`, `more than 8.1 g`, `at least 7/8 in open`, `not allowed`.

    >>> read_rule("blade count", "at least 2").written
    '2'
    >>> read_rule("let-off", "at least 80 %").hint
    'write at most or less than'
    """
    about = TOPICS[topic]
    text = " ".join(rule.split())
    comparison = next((word for word in (*LOWER, *UPPER, *BAN) if text.lower().startswith(word)), None)
    if comparison is None or comparison not in about.comparisons:
        return Fault("bad-rule", f"{rule!r} is no rule about {topic}", f"write {' or '.join(about.comparisons)}")
    rest = text[len(comparison) :].strip()
    rest, measured = _how_measured(rest, about.measured)
    if comparison in BAN:
        return (
            Fault("bad-rule", f"{rest!r} is not understood", f"write {comparison}")
            if rest
            else Limit(comparison, None, "", "")
        )
    value = _limit_value(about.dimension, comparison, rest)
    if isinstance(value, Fault):
        return value
    if value <= 0:
        return Fault("bad-rule", f"{rest!r} is no limit", "write a value above nothing")
    return Limit(comparison, value, measured, rest)


def _how_measured(text: str, ways: tuple[str, ...]) -> tuple[str, str]:
    """The number of a rule, and how it is measured where the rule says so."""
    for way, words in _MEASURED.items():
        match = re.search(rf"[\s,(]+(?:measured\s+)?(?:{words})\)?$", text, re.IGNORECASE) if way in ways else None
        if match:
            return text[: match.start()], match[1] if match.groups() else way
    return text, ""


def _limit_value(dimension: str, comparison: str, text: str) -> Fraction | Fault:
    from fractions import Fraction

    if dimension == "count":
        if re.fullmatch(r"[0-9]{1,4}(?:\.[0-9]{1,4})?", text):
            return Fraction(text)
        return Fault("bad-rule", f"{text!r} is not a number", f"write a number, such as {comparison} 1")
    if dimension == "mass per force":
        parts = re.split(r"\s*(?:/|per)\s*", text)
        mass = read_quantity(parts[0], "mass")
        force = read_quantity(f"1 {parts[-1]}", "force")
        if len(parts) != 2 or isinstance(mass, Fault) or isinstance(force, Fault):
            return Fault("bad-rule", f"{text!r} is no mass per draw weight", "write for example at least 6 gr per lb")
        return exact(mass, "mass") / exact(force, "force")
    found = read_quantity(text, dimension)
    return found if isinstance(found, Fault) else exact(found, dimension)


def age_notes(read_on: date, edition: str | None, starts: date, today: date) -> Iterable[str]:
    """Why a copied rule may be out of date by the time of the hunt."""
    if max(today, starts) > _a_year_after(read_on):
        yield f"read on {read_on}, more than 12 months before the hunt"
    if edition is None:
        yield NO_EDITION
        return
    years = re.findall(r"(?:19|20)[0-9]{2}", edition)
    following = re.findall(r"^\D*[0-9]{4}[-/]([0-9]{2})$", edition)  # 2027-28, but not 2027-06-02
    seasons = {int(year) for year in years} | {int(f"{years[0][:2]}{end}") for end in following if years}
    if seasons and not min(seasons) <= starts.year <= max(seasons):
        yield f"edition {edition}, another season than the hunt's {starts.year}"


def _a_year_after(day: date) -> date:
    try:
        return day.replace(year=day.year + 1)
    except ValueError:  # the 29th of February
        return day.replace(year=day.year + 1, month=3, day=1)
