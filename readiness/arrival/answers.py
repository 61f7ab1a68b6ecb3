"""What a written answer to a step means: pass, fail, or nobody can tell."""

from __future__ import annotations

import re
from typing import Literal

Reading = Literal["pass", "fail", "cannot tell"]

_PASS = re.compile(r"(?:pass(?:ed|es)?|ok|okay|yes|good|sound|as expected|as recorded)\b")
_FAIL = re.compile(r"(?:fail(?:ed|s|ure)?\b|not\b|bad\b|no(?![\w'’])(?=\s*(?:[^\w\s]|$)))")
# Behind "pass" or "good" these take it back; where somebody only repeats what was expected, any word more may.
_TAKEN_BACK = re.compile(r"\b(?:but|except|apart from|however|though|although|fail(?:ed|s|ure)?|bad)\b")
_SMALL = re.compile(r"\b(?:and|is|are|was|were|it|its|all|the|a|seen|found|looks|still|both|each|there)\b")


def reading_of(value: str, expect: str) -> Reading:
    """How an answer reads beside what the step expects.

    It passes where it begins with pass, ok, yes, good, sound, as expected or as recorded, or only repeats clauses of
    what is expected. It fails where it begins with fail, not, bad, or a no that stands alone: `no crack` is no failure.
    `pass, but it creaks` cannot be told, and counts as unanswered.

    >>> reading_of("pass: silent", "Smooth to eye and finger, silent; nock whole and seated.")
    'pass'
    >>> reading_of("no crack", "No crack, splinter or white line."), reading_of("no, a crack", "No crack.")
    ('pass', 'fail')
    >>> reading_of("both cams off by a line", "On its mark, both cams.")
    'cannot tell'
    """
    text = _plain(value)
    clauses = sorted(
        filter(None, (_plain(part).strip(" '\"") for part in _CLAUSES.split(expect))), key=len, reverse=True
    )
    rest, repeated = text, 0
    for clause in clauses:
        rest, times = re.subn(rf"(?<!\w){re.escape(clause)}(?!\w)", " ", rest)
        repeated += times
    if _PASS.match(text):
        return "cannot tell" if _TAKEN_BACK.search(rest) else "pass"
    if repeated and not re.search(r"\w", _SMALL.sub(" ", rest)):
        return "pass"
    return "fail" if _FAIL.match(text) else "cannot tell"


_CLAUSES = re.compile(r"[;:]|[.,](?!\d)")  # the point of 1.5 mm and the comma of 8,750 ft end nothing


def _plain(text: str) -> str:
    return " ".join(text.casefold().split()).strip(" .,;:!-–—")
